"""Two films in one holder, in words: what lies behind what, which film judges where, an indicator on each."""

from __future__ import annotations

import math

from halflayer.exposure.budget import RESHOOTS, TimeBudget, change_often_fails, reshoots_allowed
from halflayer.exposure.film import DENSITY_MAX
from halflayer.exposure.result import Exposure, Indicator, PairReading, ShotTime, Stretch
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.pair_indicators import laid_words
from halflayer.sheet.rear_letter import rear_letter_words
from halflayer.sheet.shift_clock import minutes_up
from halflayer.technique.result import Candidate, Shot

TURN = 2 * math.pi
BOTH = (
    1.3  # least density of each film where both are viewed at once, ISO 17636-1 7.8 (from memory, unverified)
)
# Lead letter of the rear film alone: R is a repair, B radiation from behind, F the film's side (our own rule).
REAR = "Z"
ALIKE_RAD = math.radians(0.5)  # stretches that differ by less are printed once


def pair_of(exposure: Exposure | None) -> PairReading | None:
    """Who judges what in exposure 1; None for one film."""
    return exposure.shots[0].pair if exposure and exposure.shots else None


def zone_densities(shots: tuple[ShotTime, ...]) -> str:
    """Film by film, front and rear, the densities of what is judged on it, over all exposures; empty for one film."""
    films: dict[str, list[float]] = {}
    for s in shots:
        for z in s.pair.zones if s.pair else ():
            films.setdefault(z.film, []).extend((z.least, z.most))
    slow = {s.pair.slow for s in shots if s.pair}
    return ", ".join(
        f"{'rear' if f in slow else 'front'} {f} {min(d):.2f} to {max(d):.2f}" for f, d in films.items()
    )


def films_words(order: Order, weld: Weld, c: Candidate, exposure: Exposure, show: Show) -> str:
    """How the two lie, what the second gets, and where a reader takes the other."""
    pair = pair_of(exposure)
    if pair is None:
        return ""
    films = {f.id: f for f in order.detectors}
    second = exposure.shots[0].second
    ids = (c.detector, second.detector if second else c.detector)
    fast = next(i for i in ids if i != pair.slow)
    s = films[fast].screens
    out = (
        f"{fast}, the faster, towards the pipe, {pair.slow} behind it, each between its own screens (our choice); "
        f"{pair.behind:.2f} of the kerma comes to {pair.slow} through {show.drawn(s.front_m + s.back_m, exact=True)} "
        f"of {s.material} and the first film (by the lines behind the weld and scatter; its densities hold it). "
    )
    place = rear_letter_words(order, weld, c, exposure, show) or "beside the shot number"
    out += f"Lead {REAR} between the two films, {place}: shows on {pair.slow}, the rear one, only (our own rule). "
    return out.strip()


def reading_table(code: str, c: Candidate, exposure: Exposure, show: Show) -> list[tuple[str, str]]:
    """Rows of film and words: the densities of what each film judges, read alone, and where; both at once.

    The rear film by the front one's density, with the arcs that are planned so; the front one judges all else.
    Densities over all exposures.
    """
    pair = pair_of(exposure)
    second = exposure.shots[0].second
    if pair is None or second is None:
        return []
    spans: dict[str, list[float]] = {}
    for s in exposure.shots:
        for z in s.pair.zones if s.pair else ():
            spans.setdefault(z.film, []).extend((z.least, z.most))
    fast = next((f for f in (c.detector, second.detector) if f != pair.slow), c.detector)

    def alone(film: str) -> str:
        d = spans.get(film)
        return f"{film} read alone, {min(d):.2f} to {max(d):.2f} expected" if d else f"{film} judges nothing"

    both = f"superimposed, {BOTH} or more on each film (7.8; m): not planned, nothing is judged so"
    most = min(c.density_max, DENSITY_MAX)
    rows = [("front film", f"{alone(fast)}: judged where it reads {c.density_min:.2f} to {most:.2f}")]
    where = f"judged where the front one reads over {most:.2f}, expected within"
    rows.append(("rear film", f"{alone(pair.slow)}: {where} {_judged_by_rear(c, exposure, show)}"))
    return [*rows, ("both at once", both)] if code.startswith("ISO 17636-1") else rows


def _judged_by_rear(c: Candidate, exposure: Exposure, show: Show) -> str:
    """By exposure the arcs in which the plan changes film, crown and both sides of the cap together.

    Where a film comes out lighter or darker than planned the same density lies at another clock.
    """
    told = [_stretches(pair_one, shot, show) for pair_one, shot in _each(c, exposure)]
    first = told[0]
    if len(told) > 1 and _turned(exposure):
        step = show.degrees((c.shots[1].source_clock_rad - c.shots[0].source_clock_rad) % TURN)
        rest = "; exposure 2: " + f"{step} on" + (", each further one as much again" if len(told) > 2 else "")
        return f"exposure 1: {first}{rest}"
    return "; ".join(f"exposure {n}: {t}" for n, t in enumerate(told, start=1)) if len(told) > 1 else first


def _each(c: Candidate, exposure: Exposure) -> list[tuple[PairReading, Shot]]:
    return [(t.pair, s) for t, s in zip(exposure.shots, c.shots, strict=True) if t.pair is not None]


def _turned(exposure: Exposure) -> bool:
    """Whether every exposure hands over at the same clocks from its middle."""
    first = exposure.shots[0].pair
    return all(
        s.pair is not None
        and first is not None
        and len(s.pair.stretches) == len(first.stretches)
        and all(
            a.wall == b.wall
            and a.what == b.what
            and abs(a.from_rad - b.from_rad) < ALIKE_RAD
            and abs(a.to_rad - b.to_rad) < ALIKE_RAD
            for a, b in zip(s.pair.stretches, first.stretches, strict=True)
        )
        for s in exposure.shots
    )


def middle_of(wall: str, shot: Shot) -> float:
    """Clock of the middle of what an exposure judges of a wall."""
    return shot.source_clock_rad if wall == "source-side wall" else shot.detector_clock_rad


def _stretches(pair: PairReading, shot: Shot, show: Show) -> str:
    walls: dict[str, list[Stretch]] = {}
    for t in pair.stretches:
        walls.setdefault(t.wall, []).append(t)
    return ", ".join(f"{wall} {' and '.join(_spans(each, shot, show))}" for wall, each in walls.items())


def _spans(stretches: list[Stretch], shot: Shot, show: Show) -> list[str]:
    """Arcs of one wall, those of crown and cap's sides that have a part in common as one."""
    joined: list[tuple[float, float]] = []
    for t in sorted(stretches, key=lambda t: t.from_rad):
        if joined and t.from_rad <= joined[-1][1] + ALIKE_RAD:
            joined[-1] = (joined[-1][0], max(joined[-1][1], t.to_rad))
        else:
            joined.append((t.from_rad, t.to_rad))
    middle = middle_of(stretches[0].wall, shot)
    return [f"{_clock(middle + a, show)} to {_clock(middle + b, show)}" for a, b in joined]


def _clock(clock_rad: float, show: Show) -> str:
    """A clock to the whole degree: no hand places a reading nearer."""
    return show.degrees(math.radians(round(math.degrees(clock_rad)) % 360))


def indicators_words(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show) -> str:
    """Where the wire asked lies for each film, by exposure; empty unless two films have an indicator each."""
    laid: list[tuple[str, float]] = []
    for film, clocks, spot in laid_clocks(c, exposure):
        words = f"for {film} at {', '.join(_clock(at, show) for at in clocks)}"
        laid.append((f"{words} ({spot.least:.2f} to {spot.most:.2f})", spot.from_middle_rad))
    return "; ".join(laid_words(order, weld, c, show, laid)) if laid else ""


def laid_clocks(c: Candidate, exposure: Exposure | None) -> list[tuple[str, list[float], Indicator]]:
    """Film, clocks by exposure [rad] and the first exposure's reading of the wire asked on it; empty without a pair."""
    pair = pair_of(exposure)
    if pair is None or exposure is None or c.density_variation is not None:
        return []
    told = []
    for z in pair.zones:
        if z.indicator is None:
            continue
        clocks = [
            middle_of(z.indicator.wall, shot) + i.from_middle_rad
            for one, shot in _each(c, exposure)
            for zone in one.zones
            if zone.film == z.film and (i := zone.indicator) is not None
        ]
        told.append((z.film, clocks, z.indicator))
    return told


def allowed_for_change(order: Order, c: Candidate, shot: ShotTime, budget: TimeBudget | None = None) -> str:
    """For how many of the exposures that a failed change of films asks for sheets and time are planned.

    `budget`: of the weld, whose time for one exposure more tells what all the others would take at least.
    """
    n = len(c.shots)
    timed = min(reshoots_allowed(order, n), n)
    sheets = n if change_often_fails(order, c, shot) else timed
    each_s = max((s.each_s for s in budget.steps if s.what == RESHOOTS), default=0.0) if budget else 0.0
    rest = n - timed
    others = f"the other{'s' * (rest > 1)}" if timed else f"all {n}"
    more = (
        f"; time for {others}, {minutes_up(rest * each_s)} min at least, is not planned: who leads decides before it"
        if rest and each_s
        else ""
    )
    if sheets == timed:
        said = (
            f"sheets and time (reshoots) for {timed} of {n} planned" if timed else "no sheets or time planned"
        )
        return said + more
    return f"sheets for {sheets} of {n}, time (reshoots) for {timed} planned{more}"
