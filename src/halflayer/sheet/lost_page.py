"""Lost shielding of each weld: the figures of every case, the tolerance that still holds, what a survey points to."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from halflayer.base.result import Derived
from halflayer.base.ring_words import ring_words
from halflayer.base.units import parse
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, worked
from halflayer.sheet import bodies, lost_reach
from halflayer.sheet.alarm_near import spot_of
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.lost_words import HEAD
from halflayer.sheet.points_of_weld import points_of, ropes_of
from halflayer.sheet.survey import ring_name, rope_at
from halflayer.shielding.lost import OTHER
from halflayer.shielding.safety_result import Lost, LostCase, SurveyHint
from halflayer.shielding.survey_points import DIRECTION, is_barrier, is_told, look_at
from halflayer.shielding.tolerance import MOST_LOOKED_AT, NOT_APPLICABLE

# Of an estimate over the limit whose noise is too large to vouch for it: doubt is for what lies under the limit.
BREAKS_ALL_THE_SAME = "breaks (figure not reliable)"
MAY_BREAK = "may break"  # the upper bound is over the limit, the estimate is not
UNTOLD = "no point tells it: look at the set-up itself"  # no meter tells the rise where the looks found it
SENT_BACK = "turn back"  # the limit holds, yet the reading at which the rope is left is passed


def lost_page(plan: Plan, order: Order, show: Show) -> dict[str, Any]:
    """Content of the page; `welds` is empty where nothing was looked at."""
    found = [(w, w.safety.lost) for w in worked(plan) if w.safety and w.safety.lost]
    steps = list(dict.fromkeys(s for _, lost in found for s in lost.steps))
    limit = order.limits.barrier.rate_Sv_s
    least = None if limit is None else least_reading_Sv_s(order, limit)
    return {
        "welds": [
            _with_bodies(order, w, weld_rows(w, lost, show, least, limit))
            | {"reach": [x for x in (lost_reach.words(order, w, lost, show), _not_used(order, w, show)) if x]}
            for w, lost in found
        ],
        "turn_back": "" if least is None else show.floor(least, "equivalent_rate", digits=2),
        "hints": [
            {
                "weld": w.weld if n == 0 else "",
                "likely": show.converted(h.likely),
                "where": _look_there(order, w, h, lost.shot, show),
                "factor": _times(h.factor),
            }
            for w, lost in found
            for n, h in enumerate(lost.hints)
        ],
        "quiet": [w.weld for w, lost in found if not lost.hints],
        "steps": [show.converted(s) for s in steps],
    }


def _not_used(order: Order, w: WeldPlan, show: Show) -> str:
    """Where the crew's line lies inside the rope, of a weld whose map has no crank to say it at."""
    return "" if spot_of(order, w) is not None else lost_reach.inside_rope(order, w, show)


def _look_there(order: Order, w: WeldPlan, h: SurveyHint, shot: int, show: Show) -> str:
    """The survey point of the weld's sheet at which a meter shows the rise: it has an expected figure beside it.

    With the exposure in which it shows: the one looked at, and of what another brings most the one that does.

    The looks ask directions of their own; of them the nearest of the numbered points that are read stands there.
    """
    if w.shielding is None:
        return show.converted(ring_words(ring_name(h.where)))
    weld = order.weld(w.weld)
    points = points_of(order, w)
    roped, told = ropes_of(order, w), []
    for one in look_at(weld, points, h.where):
        if isinstance(one, str):
            told.append(show.converted(ring_words(ring_name(one))) if DIRECTION.search(one) else one)
            continue
        n, p = one
        name = show.converted(ring_words(ring_name(p.name))).partition(",")[0] if is_barrier(p) else p.name
        if p.name in roped:
            # By the name that its row has.
            stands = rope_at(weld, p, w.safety.contour if w.safety else None)
            off = stands is not None and stands < roped[p.name].away_m
            name = name.replace("ring ", "off rope " if off else "rope ")
        if is_told(points, p, h.factor):
            at = p.at_exposure if told else shot
            told.append(f"point {n}, {name} ({at})")
    return "; most ".join(dict.fromkeys(told)) or UNTOLD


def weld_rows(
    w: WeldPlan, lost: Lost, show: Show, turn_back_Sv_s: float | None, limit_Sv_s: float | None = None
) -> dict[str, Any]:
    """One weld's cases and the tolerance of its head; `sent_back`: within it the rope's turn-back reading is passed."""
    head = [c for c in lost.cases if c.name in HEAD and c.holds is True]
    return {
        "sent_back": any(_above(c, turn_back_Sv_s, show) for c in head),
        "weld": w.weld,
        "shot": f"{lost.shot} of {len(w.chosen.shots)}" if w.chosen else str(lost.shot),
        "cases": _cases(lost.cases, show, turn_back_Sv_s, limit_Sv_s),
        "off": off(lost, show),
        "basis": _basis(lost, show),
    }


def _with_bodies(order: Order, w: WeldPlan, row: dict[str, Any]) -> dict[str, Any]:
    """A weld's cases and those that nobody looked at: a body that the rope relies on, emptied or moved."""
    more = [
        {
            "name": "body emptied or moved",
            "what": name,
            "barrier": NOT_COMPUTED,
            "above": False,
            "where": "rope behind it: too near",
            "crew": "–",
            "exposure": "–",
            "factor": "–",
            "holds": bodies.FIRST,
            "basis": "",
        }
        for name in bodies.names(order, w)
    ]
    return row | {"cases": [*row["cases"], *more]}


def off(lost: Lost, show: Show) -> str:
    """How far the head may be off, in words: what holds, or what does not and what to do then; never left out."""
    turn, shift = lost.tolerance.turn, lost.tolerance.shift
    told = [tolerance(f, show) for f in (turn, shift)]
    if turn.basis.startswith(NOT_APPLICABLE) and shift.basis.startswith(NOT_APPLICABLE):
        return f"how far the head may be off: {show.converted(turn.basis)}"
    known = [t for t, f in zip(told, (turn, shift), strict=True) if isinstance(f.value, int | float)]
    rest = [
        f"{name}: {t}"
        for name, t, f in zip(("turned", "shifted"), told, (turn, shift), strict=True)
        if not isinstance(f.value, int | float)
    ]
    first = [f"limits hold with the head off by {' or '.join(known)}"] if known else []
    return "; ".join([*first, *rest])


def _basis(lost: Lost, show: Show) -> str:
    """On what both tolerances rest; said once where it is the same. One that is not known says it beside its name."""
    turn, shift = lost.tolerance.turn, lost.tolerance.shift
    told = [show.converted(f.basis) if isinstance(f.value, int | float) else "" for f in (turn, shift)]
    if told[0] == told[1]:
        return told[0]
    return "; ".join(f"{name}: {t}" for name, t in zip(("turn", "shift"), told, strict=True) if t)


def tolerance(figure: Derived, show: Show) -> str:
    """A tolerance, rounded down to a tenth of a degree, a millimetre or a tenth of an inch: never more than holds."""
    if not isinstance(figure.value, int | float):
        return show.converted(figure.basis) or NOT_COMPUTED
    # No more was tried: what is printed is a lower bound, and says so.
    return ("at least " if MOST_LOOKED_AT in figure.basis else "") + _rounded_down(
        float(figure.value), figure, show
    )


def _rounded_down(value: float, figure: Derived, show: Show) -> str:
    if figure.unit == "rad":
        return f"{math.floor(math.degrees(value) * 10 + 1e-9) / 10:.1f}°"
    if show.system == "imperial":
        return f"{int(value / 0.0254 * 100 + 1e-9) / 100:.2f} in"
    return f"{int(value * 1000 + 1e-9)} mm"


def _above(c: LostCase, turn_back_Sv_s: float | None, show: Show) -> bool:
    """True for what holds every limit and, as printed, reads the rope's turn-back reading or more all the same."""
    if turn_back_Sv_s is None or c.holds is not True or c.barrier_upper_Sv_s is None:
        return False
    printed = parse(show.up(c.barrier_upper_Sv_s, "equivalent_rate", digits=2), "equivalent_rate")
    return printed >= parse(show.floor(turn_back_Sv_s, "equivalent_rate", digits=2), "equivalent_rate")


def _cases(
    cases: Sequence[LostCase], show: Show, turn_back_Sv_s: float | None, limit_Sv_s: float | None
) -> list[dict[str, Any]]:
    """The cases as printed, all their rates in one unit."""
    rates = show.column(
        [v for c in cases for v in (c.barrier_upper_Sv_s, c.crew_upper_Sv_s)], "equivalent_rate"
    )
    return [
        _case(c, rates[2 * n], rates[2 * n + 1], show, limit_Sv_s)
        | {"above": (above := _above(c, turn_back_Sv_s, show))}
        | ({"holds": SENT_BACK} if above else {})
        for n, c in enumerate(cases)
    ]


def _case(c: LostCase, barrier: str, crew: str, show: Show, limit_Sv_s: float | None) -> dict[str, Any]:
    return {
        "name": c.name,
        "what": show.converted(c.what),
        "barrier": barrier,
        "where": show.converted(ring_name(c.barrier_where)).replace(f"; {OTHER}", " ‡"),
        "crew": crew,
        "exposure": NOT_COMPUTED if c.exposure_Sv is None else show.up(c.exposure_Sv, "equivalent"),
        "factor": NOT_COMPUTED if c.factor is None else _in_noise(c) if c.within_noise else _times(c.factor),
        "holds": _verdict(c, limit_Sv_s),
        "basis": show.converted(c.basis),
    }


def _verdict(c: LostCase, limit_Sv_s: float | None) -> str:
    """Whether every limit holds with a case; what is not known may break it where the most at the rope is over it."""
    if c.holds is not None:
        return "holds" if c.holds else "breaks"
    if c.over:
        return BREAKS_ALL_THE_SAME
    most = c.barrier_upper_Sv_s
    return MAY_BREAK if limit_Sv_s is not None and most is not None and most > limit_Sv_s else "not known"


def _in_noise(c: LostCase) -> str:
    """A rise that the looks cannot tell; where the limit breaks all the same nobody may read it as harmless."""
    return "not told" if c.holds is False or c.over else "in noise"


def _times(factor: float) -> str:
    """A rise in plain figures, two digits, no power of ten however large.

    >>> _times(143.0), _times(1.27)
    ('140 ×', '1.3 ×')
    """
    return f"{float(f'{factor:.2g}'):g} ×"
