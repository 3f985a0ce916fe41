"""Whether the exposures show the whole weld: the rule's verdict, who may set it aside, and how many would do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.exposure import film_zones, fine_clock, judged, variation
from halflayer.exposure.covered import FARTHER, TURN, gaps
from halflayer.exposure.first_film import FirstFilm
from halflayer.exposure.result import Coverage, Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate, RuleVerdict
from halflayer.technique.words import mm

RULE = "whole weld shown"
REQUIRED = "every place by one exposure at least"
SOURCE = "the rules above, by place"
SHOTS_AT_MOST = 16  # so many exposures are tried in words: our choice, nobody shoots more of one weld
DOUBLE_AT_MOST = 4  # of double images, so many are tried for narrower arcs: our choice
NARROW = 0.3  # of the first film's window, between densities: our choice, the margin that a plan keeps
NARROW_SOURCE = "window of the first film: our choice"
ONE_MORE = (NARROW_SOURCE, fine_clock.SOURCE, variation.SOURCE)  # what one exposure more may mend
STRETCHES = 6  # named in the finding; the unrolled weld shows all
ENDS = "; what ends the stretches: "


def verdict(weld: Weld, candidate: Candidate, found: Coverage) -> RuleVerdict:
    """The rule that no place is left out, as the exposures meet it; `overridden` where a person set it aside."""
    if not found.uncovered:
        return RuleVerdict(RULE, REQUIRED, f"the whole turn{_laps(weld, candidate, found)}", "holds", SOURCE)
    reached = f"{_degrees(found):.0f} degrees by none"
    aside = next((o for o in weld.overrides if o.rule == RULE), None)
    if aside is None:
        return RuleVerdict(RULE, REQUIRED, reached, "breaks", SOURCE)
    return RuleVerdict(
        RULE, REQUIRED, f"set aside by {aside.by}: {aside.reason}; reached: {reached}", "overridden", SOURCE
    )


def findings(weld: Weld, candidate: Candidate, found: Coverage, *, on_film: bool) -> list[Finding]:
    """A stop for stretches that no exposure covers, with what would cover them; a warning where that is set aside.

    A weld that is asked for whole and not shown whole is no finished examination: it is not ready by a warning.
    """
    aside = next((o for o in weld.overrides if o.rule == RULE), None)
    if not found.uncovered:
        if aside is None:
            return []
        text = f'{weld.id}: the override of "{RULE}" is not needed: every place is covered'
        return [Finding("note", text, "the order: overrides")]
    text = f"{_degrees(found):.0f} degrees of the weld are covered by no exposure, at clock {_where(weld, found)}."
    if aside is not None:
        words = f" The rule is set aside by {aside.by}: {aside.reason}. What is not covered is not examined."
        return [Finding("warn", text + words, SOURCE)]
    return [Finding("stop", text, SOURCE, _relax(candidate, found, on_film=on_film))]


def least_lap_rad(found: Coverage) -> float | None:
    """Least stretch that two exposures, both walls together, cover in common [rad]; 0: they touch. None: none needed.

    Formula: the farthest end so far less the start of the next stretch round the pipe. A stretch ends at its last
    covered place, so the laps are no shorter than this.
    """
    if found.uncovered or any(c.length_rad >= TURN - 1e-6 for c in found.covered):
        return None
    least = judged.least_lap_rad([(c.start_rad, c.length_rad) for c in found.covered])
    return None if least is None else max(least, 0.0)


def judged_lap_rad(candidate: Candidate, found: Coverage) -> float | None:
    """Least stretch that two exposures, both walls together, judge in common [rad]; None: none needed."""
    return judged.least_lap_rad([(s.start_rad, s.length_rad) for s in judged.sectors(candidate, found)])


def short_lap(weld: Weld, candidate: Candidate, found: Coverage) -> list[Finding]:
    """Neighbours that judge less in common than the lap asked: a stop where more exposures lap enough, else a warning.

    What a film shows past what is judged on it is reserve and no lap. Nothing where a stretch is left out altogether
    (a stop already).
    """
    least = None if found.uncovered else judged_lap_rad(candidate, found)
    if least is None or least >= candidate.lap_rad - 1e-6:
        return []
    n = shots_needed(candidate, found, lap_rad=candidate.lap_rad)
    stop = n is not None and not any(o.rule == RULE for o in weld.overrides)
    return [
        Finding(
            "stop" if stop else "warn",
            f"{weld.id}: what neighbouring exposures judge laps by {_both(weld, max(least, 0.0))} only, "
            f"{_both(weld, candidate.lap_rad)} is asked: past that the film is too light or too dark, or the place is "
            "beside film or beam.",
            "lap of the order; left out 10 mm, of double images at most 10 degrees: common practice, no source",
            (
                *((f"{n} exposures (exposures: {n} in the order)",) if n is not None else ()),
                "a smaller lap agreed for the order (lap)",
            ),
        )
    ]


def narrow_window(weld: Weld, candidate: Candidate, first: FirstFilm | None) -> list[Finding]:
    """A stop for two double images whose first film would hardly ever lie in its window: three judge narrower arcs.

    The window is what the lightest place may read so that the darkest stays in range too. A film's own uncertainty is
    of the width of the margin that a plan keeps, so a window narrower than that is missed by every second film.
    """
    if (
        first is None
        or first.most is None
        or any(o.rule == RULE for o in weld.overrides)
        or len(candidate.shots) != 2
        or not candidate.technique.startswith("DWDI")
        or first.most - first.least >= NARROW - 1e-9
    ):
        return []
    return [
        Finding(
            "stop",
            f"{weld.id}: with two exposures the lightest place must read {first.least:.2f} to "
            f"{int(first.most * 100 + 1e-6) / 100:.2f} on the first film, a window narrower than {NARROW:g}: three "
            "judge narrower arcs, whose densities spread less.",
            NARROW_SOURCE,
            ("3 exposures (exposures: 3 in the order)",),
        )
    ]


def _both(weld: Weld, angle_rad: float) -> str:
    """An angle about the axis with its length round the outside of the pipe."""
    return f"{mm(angle_rad * weld.pipe.od / 2)} ({math.degrees(angle_rad):.1f} deg)"


def _laps(weld: Weld, candidate: Candidate, found: Coverage) -> str:
    """How neighbours lap, and how far the films are dark enough beyond; empty where every exposure shows all."""
    least = judged_lap_rad(candidate, found)
    if least is None:
        return ""
    reserve = judged.least_reserve_rad(judged.sectors(candidate, found))
    more = f"; reserve past both ends {_both(weld, reserve)} or more" if reserve > math.radians(0.05) else ""
    return f", judged sectors lap by {_both(weld, least)} or more{more}"


def laps(weld: Weld, candidate: Candidate, found: Coverage, tolerance_rad: float) -> list[Finding]:
    """A warning where the clocks of two neighbouring exposures, each off by the tolerance, may leave a stretch out."""
    least, room = least_lap_rad(found), judged.growth_room_rad(candidate)
    short = []
    if room is not None and room < tolerance_rad - 1e-9:
        many = len(candidate.shots) + 1
        short = [
            Finding(
                "warn",
                f"{weld.id}: a clock off by more than {math.floor(math.degrees(room) * 10 + 1e-6) / 10:.1f} deg takes "
                f"a marker out of the usable arc (wall crossed at most {candidate.growth_max or 0.0:.0%} more; beam; "
                f"film), and {math.degrees(tolerance_rad):.3g} deg is reckoned with (clock_tolerance): set the head to "
                "its mark.",
                fine_clock.ORDERED,
                (f"{many} exposures (exposures: {many} in the order)",),
            )
        ]
    if least is None or least >= 2.0 * tolerance_rad - 1e-9:
        return short
    n = shots_needed(candidate, found, lap_rad=2.0 * tolerance_rad)
    more = (f"{n} exposures (exposures: {n} in the order)",) if n is not None else ()
    return [
        *short,
        Finding(
            "warn",
            f"{weld.id}: neighbouring exposures lap by {math.degrees(least):.1f} deg at least "
            f"({show(least * weld.pipe.od / 2, 'length', digits=2)} round the pipe): a clock may be off by no more "
            f"than {math.degrees(least) / 2:.1f} deg, and {math.degrees(tolerance_rad):.3g} deg is reckoned with "
            "(clock_tolerance). Mark the clocks with a tape, and look for the lap on the films.",
            "what each exposure covers; tolerance of the order",
            (*more, "a second, slower film beside it"),
        ),
    ]


def shots_needed(candidate: Candidate, found: Coverage, *, lap_rad: float = 0.0) -> int | None:
    """Fewest exposures, evenly turned round the pipe, that leave nothing uncovered; None where no number up to 16 does.

    `lap_rad`: by so much neighbours are to lap at least. What the first exposure covers is turned with it (a stretch
    ends at its last covered place, so it is not too long). Double images come twice in a turn, so that theirs are
    spread over half of it. Times and densities stay as they are.
    """
    own = [(c.start_rad, c.length_rad) for c in found.covered if c.exposure == 1]
    spread = math.pi if candidate.technique.startswith("DWDI") else TURN
    for n in range(len(candidate.shots) + 1, SHOTS_AT_MOST + 1):
        arcs = [
            (
                (start + lap_rad / 2 + k * spread / n) % TURN,
                length if length >= TURN - 1e-6 else length - lap_rad,
            )
            for k in range(n)
            for start, length in own
            if length > lap_rad
        ]
        if own and not gaps(arcs):
            return n
    return None


def with_more_shots(
    order: Order, weld: Weld, candidate: Candidate, exposure: Exposure | None
) -> Candidate | None:
    """The same way with as many exposures as leave nothing uncovered and lap as asked; None where these do already,
    or no number does it.

    A code says how many exposures at least; a crew that sees a gap on the film takes more of them.
    """
    found = exposure.coverage if exposure is not None else None
    if exposure is None or found is None or any(o.rule == RULE for o in weld.overrides):
        return None
    n = shots_needed(candidate, found, lap_rad=candidate.lap_rad)
    if (
        any(
            f.level == "stop" and f.source in (NARROW_SOURCE, fine_clock.SOURCE, variation.SOURCE)
            for f in exposure.findings
        )
        and not found.uncovered
    ):
        n = len(candidate.shots) + 1
    elif found.uncovered:
        n = next(
            (m for m in (n, shots_needed(candidate, found), _narrower(candidate, found)) if m is not None),
            None,
        )
    elif not short_lap(weld, candidate, found):
        return None
    if n is None:
        return None
    asked = choose_technique(order, weld.model_copy(update={"exposures": n}))
    return next((c for c in asked.admissible if _same_way(c, candidate) and len(c.shots) >= n), None)


def _narrower(candidate: Candidate, found: Coverage) -> int | None:
    """One exposure more of a double image whose densities spread too far: each then judges a narrower arc."""
    n = len(candidate.shots) + 1
    too_wide = not found.covered or any(e.startswith("too ") for e in _ends(found))
    return n if candidate.technique.startswith("DWDI") and n <= DOUBLE_AT_MOST and too_wide else None


def _same_way(one: Candidate, other: Candidate) -> bool:
    names = ("technique", "arrangement", "source", "head", "detector", "aperture", "shroud", "guide")
    return all(getattr(one, n) == getattr(other, n) for n in names)


def with_rule(weld: Weld, candidate: Candidate, exposure: Exposure) -> Candidate:
    """The candidate with the verdicts of the exposure and this rule's behind those of the technique.

    A verdict of the exposure takes the place of the technique's of the same name, and the further indicators that
    its densities ask for are added to those laid.
    """
    told = {r.rule for r in exposure.rules}
    rules = (*(r for r in candidate.rules if r.rule not in told), *exposure.rules)
    if exposure.coverage is not None:
        rules = (*rules, verdict(weld, candidate, exposure.coverage))
    iqi = candidate.iqi
    places = variation.further(exposure.shots) or film_zones.further(candidate, exposure.shots)
    if iqi is not None and places:
        iqi = replace(iqi, pieces=iqi.pieces + len(places), further=places)
    return replace(candidate, rules=rules, iqi=iqi)


def _relax(candidate: Candidate, found: Coverage, *, on_film: bool) -> tuple[str, ...]:
    """What would show the whole weld, the nearest first."""
    n, now = shots_needed(candidate, found), len(candidate.shots)
    ends = _ends(found)
    out = []
    if n is not None:
        spread = 180.0 if candidate.technique.startswith("DWDI") else 360.0
        out.append(
            f"{n} exposures in place of {now}, {spread / n:.3g} degrees apart (exposures: {n} in the order)"
        )
    if on_film and (not ends or any(e.startswith("too ") for e in ends)):
        out.append("two films of other speeds in one holder, of one sheet, both admitted by the code")
    if "film" in ends or "beam" in ends:
        out.append("a wider aperture or sheet")
    if n is None:
        out.append("another way to shoot: no number of exposures like these does it")
    return (*out, f'agreed in writing that this is not examined (override "{RULE}")')


def tried_first(tried: Candidate, planned: Candidate, stopped: str) -> str:
    """Two sentences on a way that was given up: what stopped it, and what is planned in its place.

    The stretches of a weld that is not covered are left out: nobody lays out by a way that is not taken.
    """
    n, now = len(tried.shots), len(planned.shots)
    number = "1 exposure" if n == 1 else f"{n} exposures"
    what, at, rest = stopped.partition(", at clock ")
    ends = rest.partition(ENDS)[2].rstrip(".")
    why = f"{what}{f' ({ends})' if ends else ''}." if at else f"{stopped.rstrip('.')}."
    first = f"{tried.arrangement} with {tried.source} was tried first with {number} and given up: {why}"
    if (tried.arrangement, tried.source) != (planned.arrangement, planned.source):
        return f"{first} Planned is {planned.arrangement} with {planned.source}."
    return f"{first} Planned are {now} exposures." if now != n else first


def _degrees(found: Coverage) -> float:
    """Of the turn uncovered [deg]; a part of a degree is told as one, so that no gap reads as none."""
    return max(math.degrees(math.fsum(length for _, length in found.uncovered)), 1.0)


def _where(weld: Weld, found: Coverage) -> str:
    words = [
        f"{math.degrees(a):.0f} to {math.degrees(a + length) % 360:.0f} degrees"
        + f" ({show(length * weld.pipe.od / 2, 'length')})"
        for a, length in found.uncovered[:STRETCHES]
    ]
    more = f" and {len(found.uncovered) - STRETCHES} more" if len(found.uncovered) > STRETCHES else ""
    ends = _ends(found)
    return ", ".join(words) + more + (f"{ENDS}{', '.join(ends)}" if ends else "")


def _ends(found: Coverage) -> Sequence[str]:
    return list(dict.fromkeys(e for c in found.covered for e in c.ends if e not in ("", FARTHER)))
