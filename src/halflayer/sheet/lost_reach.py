"""How far the worst lost shielding of a weld reaches: where the rope's limit holds again, what named places get."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.conditions_of_lost import emptied
from halflayer.order.models import Order
from halflayer.order.weld import Obstacle
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.points_of_weld import first_shot
from halflayer.shielding.contour import out_m
from halflayer.shielding.lost_far import first_rope_times, no_first_rope, over_limit, places_over, worst
from halflayer.shielding.off_walls import gap_m
from halflayer.shielding.past_walls import is_wall
from halflayer.shielding.safety_result import Contour, Lost, LostCase
from halflayer.shielding.walk import rope_towards_m

FIRST_ROPE = "first survey: rope "
READER = "; reader alone between; "
FIRST_ROPE_THERE = "at each corner: inside the first survey's rope"
# Too far for a rope: what holds in its place.
COUNTED = "no rope there: counts signed by two"
FIRST_ROPE_NAME = "rope, first survey"
EMPTY_ALL_SHIFT = " (told empty: notices)"  # nobody there in the shift, by who answers for it


def words(order: Order, w: WeldPlan, lost: Lost, show: Show) -> str:
    """Of the case that reaches farthest: where the limit holds again, and the places over theirs; empty: none breaks.

    Formula: d x sqrt(rate / limit) and rate x (d / distance)^2 from the upper rate at the rope, d from the weld, as if
    every place lay in that direction with no wall before it. Source: inverse square law; no look was made there.
    """
    limit = order.limits.barrier.rate_Sv_s
    over = over_limit(order, lost)
    if limit is None or not over:
        return ""
    found = worst(w.safety.contour if w.safety else None, over)
    if found is None:
        return f"{over[0].name}: where the limit holds again {NOT_COMPUTED}"
    at_1m, case = found
    told = _places(order, w, at_1m, show)
    rope = first_rope(order, w, lost, show)
    if (nobody := emptied(order, w)) is not None and rope == COUNTED:
        rope = f"{rope}; nobody {nobody[0]}"
    first = f" ({FIRST_ROPE_THERE})" if rope.startswith(FIRST_ROPE) else f" ({rope})" if rope else ""
    return f"{case.name}: limit again at {show.kept(math.sqrt(at_1m / limit))}{first}" + (
        f"; over theirs: {told}" if told else ""
    )


def limit_again(order: Order, w: WeldPlan, case: LostCase, show: Show) -> str:
    """Where the limit holds again with a case, of one that reaches farther than a rope may stand; else empty."""
    limit, rope = order.limits.barrier.rate_Sv_s, w.safety.contour if w.safety else None
    lost = w.safety.lost if w.safety else None
    if limit is None or not no_first_rope(order, order.weld(w.weld), lost, rope):
        return ""
    found = worst(rope, [case])
    return show.kept(math.sqrt(found[0] / limit)) if found is not None and found[0] > 0.0 else ""


def first_rope(order: Order, w: WeldPlan, lost: Lost | None, show: Show) -> str:
    """Where the rope stands in the first survey, which finds what is lost: so many times as far out, or why not there.

    At walls it ends; not where the rope may not stand. Empty where no lost shielding passes the limit at the rope.
    """
    times = first_rope_times(order, lost)
    rope = w.safety.contour if w.safety else None
    if times is None:
        return ""
    weld = order.weld(w.weld)
    if rope is None or no_first_rope(order, weld, lost, rope):
        return COUNTED
    far = out_m(max(p.at_m or 0.0 for p in rope.points), times)
    walls = [o.name for o in order.obstacles if is_wall(o) and _passes(rope, weld.at, o, times)]
    up_to = f", up to {', '.join(walls)}" if walls else ""
    own = rope.length_m.value
    long = f", {show.up(own * times, 'length', digits=3)} long" if isinstance(own, int | float) else ""
    out = f"each corner {times:g} × as far out, to {show.kept(far)}{long}{up_to}"
    return f"{FIRST_ROPE}{out}{READER}{_drawn_in(order, w)}"


def _drawn_in(order: Order, w: WeldPlan) -> str:
    """When that rope is drawn in to the planned one: nobody handles it with the source out."""
    survey = w.exposure.first_survey if w.exposure else None
    return f"drawn in after {f'exposure {first_shot(order, w)}' if survey and survey.in_first else 'it, source home'}"


def row(order: Order, used: Sequence[WeldPlan], show: Show) -> tuple[list[tuple[str, str]], list[str]]:
    """The line of the list about that rope, and the welds that it is ticked for; both empty where none has one."""
    told = {
        w.weld: rope.removeprefix(FIRST_ROPE)
        for w in used
        if w.safety and (rope := first_rope(order, w, w.safety.lost, show)).startswith(FIRST_ROPE)
    }
    words = f"{'. '.join(f'{weld} {far}' for weld, far in told.items())}."
    return ([(FIRST_ROPE_NAME, words)], list(told)) if told else ([], [])


def _passes(rope: Contour, weld_at: tuple[float, float], wall: Obstacle, times: float) -> bool:
    """Whether a wall stands nearer than that rope in its direction, and not inside the rope as it stands later."""
    return any(
        p.at_m is not None
        and p.site is not None
        and wall.name not in p.behind
        and gap_m(wall, weld_at, _at(weld_at, p.direction_rad, p.at_m * times)) <= 0.0
        for p in rope.points
    )


def _at(weld_at: tuple[float, float], turn: float, away_m: float) -> tuple[float, float]:
    return weld_at[0] + away_m * math.cos(turn), weld_at[1] + away_m * math.sin(turn)


def _places(order: Order, w: WeldPlan, at_1m: float, show: Show) -> str:
    over = places_over(order, order.weld(w.weld), at_1m)
    rates = show.column([rate for _, rate in over], "equivalent_rate", smallest=True)
    return ", ".join(
        f"{p.name} {rate}{EMPTY_ALL_SHIFT * (p.kind == 'people' and p.occupancy == 0.0)}"
        for (p, _), rate in zip(over, rates, strict=True)
    )


def instruments_over(order: Order, used: Sequence[WeldPlan], show: Show) -> str:
    """Detectors and gauges that one missing piece takes over their limit, for their owner to sign; empty: none.

    Nobody is asked of people's places and of stored film here: those are emptied, or looked at by the adviser.
    """
    found: dict[str, list[tuple[str, float]]] = {}
    for w in used:
        lost = w.safety.lost if w.safety else None
        rope = w.safety.contour if w.safety else None
        most = worst(rope, over_limit(order, lost)) if lost else None
        for p, rate in places_over(order, order.weld(w.weld), most[0]) if most else []:
            if p.kind not in ("people", "crew", "stored film"):
                found.setdefault(p.name, []).append((w.weld, rate))
    told = []
    for name, each in found.items():
        rates = show.column([rate for _, rate in each], "equivalent_rate", smallest=True)
        held = ", ".join(f"{weld} {rate}" for (weld, _), rate in zip(each, rates, strict=True))
        told.append(f"{name} ({held}) ________")
    if not told:
        return ""
    return (
        " Over the limit with the worst piece missing, its owner accepts it or isolates for these welds: "
        f"{'; '.join(told)}."
    )


def inside_rope(order: Order, w: WeldPlan, show: Show) -> str:
    """Where the crew's line or a place of the crew lies inside a weld's rope: nobody stands there. Empty: nowhere."""
    rope, weld = w.safety.contour if w.safety else None, order.weld(w.weld)
    if rope is None or not rope.closed:
        return ""
    own = [p for p in order.places if p.kind == "crew"]
    if own:
        names = [p.name for p in own if _within(rope_towards_m(rope, _turn(weld.at, p.at)), weld.at, p.at)]
        return f"{', '.join(names)}: inside the rope, not to be used" if names else ""
    line = max(weld.barrier_within_m or 0.0, order.limits.barrier_within_m)
    turns = [
        f"{math.degrees(p.direction_rad) % 360:.0f}°"
        for p in rope.points
        if p.at_m is not None and p.at_m > line
    ]
    if not turns:
        return ""
    return f"crew's {show.paced(line)} line inside the rope at {', '.join(turns)}: not to be used"


def _turn(weld_at: tuple[float, float], at: tuple[float, ...]) -> float:
    return math.atan2(at[1] - weld_at[1], at[0] - weld_at[0])


def _within(rope_m: float | None, weld_at: tuple[float, float], at: tuple[float, ...]) -> bool:
    return rope_m is not None and math.dist(weld_at, at[:2]) < rope_m
