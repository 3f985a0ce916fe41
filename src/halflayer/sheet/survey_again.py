"""Which survey points are read again at a later exposure: those that read clearly more there than in the first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from halflayer.exposure.first_survey import round_s
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import floor_points
from halflayer.sheet.beam_points import beam_points
from halflayer.sheet.figures import Show
from halflayer.sheet.first_exposure import MORE, First, first_of
from halflayer.sheet.points_of_weld import first_shot, points_of, ropes_of
from halflayer.shielding.lost_far import tell_tales
from halflayer.shielding.resets import laid_anew
from halflayer.shielding.rope_readings import screens
from halflayer.shielding.survey_points import relied_on

NAME = "survey again"
# A point that reads alike in all exposures has one line.
LINE = ", by the row's lower line or its only one"
LOWER = 2  # exposures whose figures the lower line of a row has room for


def words(order: Order, w: WeldPlan) -> str:
    """The points of the sheet by the exposure at which each is read again; empty where the first tells all of them.

    A point has the figures of the exposure shot first in its row, and under them those of the one that brings it most:
    read in the first alone it says nothing of a head elsewhere. Points that are not read are left out, and such as are
    lost in background; but not those behind a wall or body that the rope relies on, which come first: only a reading
    in the beam on it tells that it is whole or full. Before all come those that tell whether a shield that is laid
    anew for each exposure lacks a piece, in each of them.
    """
    first, from_exposure = every_exposure(order, w)
    shot = first_shot(order, w)
    found = _once(order, w, first)
    if not found and not first:
        return ""
    shots = len(w.chosen.shots) if w.chosen else 0
    when = (
        "every exposure" if from_exposure == 1 else f"exposures 2 to {shots}" if shots > 2 else "exposure 2"
    )
    anew = (
        [
            f"{', '.join(first)} first in {when} (shield laid anew{_too_long(order, w, first)}"
            f"{_between(order, w, from_exposure)})"
        ]
        if first
        else []
    )
    each: list[str] = []
    for at in sorted(found, key=lambda n: (n < shot, n)):
        each.append(f"{', '.join(found[at])} at {'' if each else 'exposure '}{at}")
    return "; ".join([*anew, *each]) + LINE


def asked(order: Order, w: WeldPlan) -> dict[int, list[str]]:
    """By exposure the numbers of all points read again in it, as `words` has them, rope points in a beam last."""
    first, from_exposure = every_exposure(order, w)
    shots = len(w.chosen.shots) if w.chosen else 0
    told: dict[int, list[str]] = {n: [*first] for n in range(from_exposure, shots + 1)} if first else {}
    for at, numbers in _once(order, w, first).items():
        told.setdefault(at, []).extend(numbers)
    for n, p in enumerate(beam_points(order, w), start=1):
        for at in p.exposures:
            told.setdefault(at, []).append(f"X{n}")
    return {at: told[at] for at in sorted(told)}


def _once(order: Order, w: WeldPlan, first: Sequence[str]) -> dict[int, list[str]]:
    """By exposure the points read again in that one alone, those behind what the rope relies on first."""
    found: dict[int, list[str]] = {}
    for n, at in (*_behind(order, w), *_points(order, w)):
        if n not in first:
            found.setdefault(at, []).append(n)
    return found


def every_exposure(order: Order, w: WeldPlan) -> tuple[list[str], int]:
    """The points that tell that nothing is lost of a shield laid anew, and the exposure from which each reads them.

    Without a film before it, or in exposure 1, the first survey is of a shield that is opened again.
    """
    if w.shielding is None or w.chosen is None or not laid_anew(order, w.chosen, w.shielding):
        return [], 1
    told = tell_tales(order.weld(w.weld), points_of(order, w), w.safety.lost if w.safety else None)
    survey = w.exposure.first_survey if w.exposure else None
    return [str(n) for n in sorted(told)], 1 + bool(survey and survey.in_first)


def _own(order: Order, w: WeldPlan) -> dict[int, dict[int, First]]:
    """By point read first in every exposure: its readings in those that bring it clearly less than the most.

    By the line of the exposure that brings a point most a lost piece would not be told in one that brings it less.
    """
    if w.shielding is None or w.chosen is None:
        return {}
    told, ropes = set(every_exposure(order, w)[0]), ropes_of(order, w)
    out: dict[int, dict[int, First]] = {}
    for n, p in points_of(order, w).read if told else ():
        if str(n) not in told:
            continue
        rope = ropes.get(p.name)
        back, times = (rope.turn_back_Sv_s, rope.times) if rope else (p.turn_back_Sv_s, 1.0)
        for at in range(1, len(w.chosen.shots) + 1):
            if (found := first_of(order, p, back, w.shielding.k, times, at)) is not None:
                out.setdefault(n, {})[at] = found
    return out


def in_lower_line(order: Order, w: WeldPlan) -> dict[int, dict[tuple[int, ...], First | None]]:
    """Of such points those whose row has room for each exposure: what stands in its lower line, by its exposures.

    None: the figures of the exposure that brings the point most. Exposures whose turn-back readings a meter does not
    tell apart share those of the higher one.
    """
    shot, shots = first_shot(order, w), len(w.chosen.shots) if w.chosen else 0
    out: dict[int, dict[tuple[int, ...], First | None]] = {}
    for n, each in _own(order, w).items():
        own = sorted((at for at in each if at != shot), key=lambda at: -each[at].back_Sv_s)
        groups: list[list[int]] = []
        for at in own:
            if groups and each[groups[-1][0]].back_Sv_s <= MORE * each[at].back_Sv_s:
                groups[-1].append(at)
            else:
                groups.append([at])
        lines: dict[tuple[int, ...], First | None] = {tuple(sorted(g)): each[g[0]] for g in groups}
        rest = tuple(at for at in range(1, shots + 1) if at != shot and at not in own)
        lines |= {rest: None} if rest else {}
        if own and len(lines) <= LOWER:
            out[n] = dict(sorted(lines.items()))
    return out


def _between(order: Order, w: WeldPlan, from_exposure: int) -> str:
    """What turns back at such points in exposures that have no line of the row; empty where every line holds."""
    show, told, shown = Show(order.units), list[str](), in_lower_line(order, w)
    left = {n: each for n, each in _own(order, w).items() if n not in shown}
    for at in range(max(from_exposure, 2), (len(w.chosen.shots) if w.chosen else 0) + 1):
        each = [
            f"point {n} at {show.floor(of[at].back_Sv_s, 'equivalent_rate', digits=2)}"
            for n, of in left.items()
            if at in of
        ]
        told += [f"in {'' if told else 'exposure '}{at}: {', '.join(each)}"] if each else []
    return f"; turn back {'; '.join(told)}" if told else ""


def _too_long(order: Order, w: WeldPlan, numbers: Sequence[str]) -> str:
    """What is done where an exposure does not last as long as these readings; empty where it does."""
    names = [p.name for n, p in points_of(order, w).read if str(n) in numbers]
    shortest = (
        min((float(s.seconds.value or 0.0) for s in w.exposure.shots), default=0.0) if w.exposure else 0.0
    )
    fits = round_s(order, order.weld(w.weld), names) <= shortest
    return "" if fits else "; longer than an exposure: read without film before it"


def _behind(order: Order, w: WeldPlan) -> Iterator[tuple[str, int]]:
    """Points lost in background behind what the rope relies on, whose figure is that of a later exposure."""
    line = w.safety.contour if w.safety else None
    if w.shielding is None or line is None:
        return
    weld, relied, again = order.weld(w.weld), relied_on(line), {n for n, _ in _points(order, w)}
    shot = first_shot(order, w)
    for n, p in points_of(order, w).read:
        rates = p.by_exposure_Sv_s
        later = p.at_exposure not in (0, shot) and rates and rates[p.at_exposure - 1] > MORE * rates[shot - 1]
        if later and str(n) not in again and relied & set(screens(order, weld, p, line)):
            yield str(n), p.at_exposure


def _points(order: Order, w: WeldPlan) -> Iterator[tuple[str, int]]:
    """Number of every point that is read with the source out and again later, and the exposure then."""
    if w.shielding is None:
        return
    roped, k, shot = ropes_of(order, w), w.shielding.k, first_shot(order, w)
    for n, p in points_of(order, w).read:
        rope = roped.get(p.name)
        back, times = (rope.turn_back_Sv_s, rope.times) if rope else (p.turn_back_Sv_s, 1.0)
        if (first := first_of(order, p, back, k, times, shot)) is not None:
            yield str(n), first.at
    for n, f in enumerate(floor_points.pressing(w), start=1):
        if f.ok is not False:
            first = first_of(order, f, floor_points.turn_back_Sv_s(order, f), k, shot=shot)
            if first is not None:
                yield f"F{n}", first.at
