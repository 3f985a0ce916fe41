"""How far the worst lost shielding of a weld reaches: where the rope's limit holds again, what named places get."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

from halflayer.order.models import Order
from halflayer.order.weld import Obstacle
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.head_place import HEAD
from halflayer.shielding.contour import out_m
from halflayer.shielding.off_walls import gap_m
from halflayer.shielding.past_walls import is_wall
from halflayer.shielding.safety_result import Contour, Lost, LostCase
from halflayer.shielding.walk import rope_towards_m

LATER = "drawn in once its points are read"
FIRST_ROPE, DRAWN_IN = "first survey: rope ", f"; the reader alone inside; {LATER}"
FIRST_ROPE_THERE = "rope there in the first survey"
# Too far for a rope: what holds in its place.
COUNTED = "no rope there: counts signed by two, people's places told here empty until first survey read"
FIRST_ROPE_NAME = "rope, first survey"
ALL_ROUND = "shroud open"
AT = re.compile(r"^barrier (?:line |rope )?(-?[0-9.]+) deg, ([0-9.]+) m")


def words(order: Order, w: WeldPlan, lost: Lost, show: Show) -> str:
    """Of the case that reaches farthest: where the limit holds again, and the places over theirs; empty: none breaks.

    Formula: d x sqrt(rate / limit) and rate x (d / distance)^2 from the upper rate at the rope, d from the weld, as if
    every place lay in that direction with no wall before it. Source: inverse square law; no look was made there.
    """
    limit = order.limits.barrier.rate_Sv_s
    over = _over(order, lost)
    if limit is None or not over:
        return ""
    found = _worst(w, over)
    if found is None:
        return f"{over[0].name}: where the limit holds again {NOT_COMPUTED}"
    at_1m, case = found
    told = _places(order, w, at_1m, show)
    rope = first_rope(order, w, lost, show)
    first = f" ({FIRST_ROPE_THERE})" if rope.endswith(DRAWN_IN) else f" ({rope})" if rope else ""
    return f"{case.name}: limit again at {show.kept(math.sqrt(at_1m / limit))}{first}" + (
        f"; over theirs: {told}" if told else ""
    )


def first_rope(order: Order, w: WeldPlan, lost: Lost | None, show: Show) -> str:
    """Where the rope stands in the first survey, which finds what is lost: so many times as far out, or why not there.

    At walls it ends; not where the rope may not stand. Empty where no lost shielding passes the limit at the rope.
    """
    times = first_rope_times(order, w, lost)
    rope = w.safety.contour if w.safety else None
    if times is None:
        return ""
    if rope is None:
        return COUNTED
    far = out_m(max(p.at_m or 0.0 for p in rope.points), times)
    weld = order.weld(w.weld)
    if far > max(weld.barrier_within_m or 0.0, order.limits.barrier_within_m):
        return COUNTED
    walls = [o.name for o in order.obstacles if is_wall(o) and _passes(rope, weld.at, o, times)]
    up_to = f", up to {', '.join(walls)}" if walls else ""
    own = rope.length_m.value
    long = f", {show.up(own * times, 'length', digits=3)} long" if isinstance(own, int | float) else ""
    return f"{FIRST_ROPE}each corner {times:g} × as far out, to {show.kept(far)}{long}{up_to}{DRAWN_IN}"


def row(order: Order, used: Sequence[WeldPlan], show: Show) -> tuple[list[tuple[str, str]], list[str]]:
    """The line of the list about that rope, and the welds that it is ticked for; both empty where none has one."""
    told = {
        w.weld: rope.removeprefix(FIRST_ROPE).removesuffix(DRAWN_IN)
        for w in used
        if w.safety and (rope := first_rope(order, w, w.safety.lost, show)).endswith(DRAWN_IN)
    }
    words = f"{'; '.join(f'{weld} {far}' for weld, far in told.items())}; {LATER}."
    return ([(FIRST_ROPE_NAME, words)], list(told)) if told else ([], [])


def first_rope_times(order: Order, w: WeldPlan, lost: Lost | None) -> float | None:
    """So many times as far out every corner holds the limit with the worst that may be lost; None: none, or not known.

    Formula: sqrt(upper rate / limit), up to a tenth: the worst that a look found at a corner is taken at each.
    Source: inverse square law. A head that is off is set by the weld's sheet.
    """
    limit = order.limits.barrier.rate_Sv_s
    over = [c for c in _over(order, lost) if c.name not in HEAD] if lost else []
    worst = max((c.barrier_upper_Sv_s or 0.0 for c in over), default=0.0)
    if limit is None or worst <= limit:
        return None
    return math.ceil(math.sqrt(worst / limit) * 10 - 1e-9) / 10


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


def _over(order: Order, lost: Lost) -> list[LostCase]:
    """The cases that pass the barrier's limit at the rope."""
    limit = order.limits.barrier.rate_Sv_s
    return [c for c in lost.cases if limit is not None and (c.barrier_upper_Sv_s or 0.0) > limit]


def _worst(w: WeldPlan, over: list[LostCase]) -> tuple[float, LostCase] | None:
    """Of these the one that reaches farthest, with its rate at 1 m [Sv/s m2]; None where one is not known."""
    known = [
        (c.barrier_upper_Sv_s * far_m**2, c) for c in over if c.barrier_upper_Sv_s and (far_m := _far_m(w, c))
    ]
    return max(known, key=lambda k: k[0]) if over and len(known) == len(over) else None


def _far_m(w: WeldPlan, case: LostCase) -> float | None:
    """How far from the weld the case is told [m]: the rope's own corner, farther than its name by what that rounds."""
    found = AT.search(case.barrier_where)
    if found is None:
        return None
    rope = w.safety.contour if w.safety else None
    if case.name == ALL_ROUND and rope is not None:
        # It leaves on all sides: the worst at any corner may be at the farthest.
        return max((p.at_m or 0.0 for p in rope.points), default=None)
    own = rope_towards_m(rope, math.radians(float(found[1]))) if rope else None
    named = float(found[2])
    return max(named, own) if own is not None and abs(own - named) < 0.1 * named else named


def _places(order: Order, w: WeldPlan, at_1m: float, show: Show) -> str:
    weld = order.weld(w.weld)
    middle = (*weld.at, weld.floor_level_m + weld.height_m)
    over = [
        (p.name, rate)
        for p in order.places
        if p.limit is not None
        and p.limit.rate_Sv_s is not None
        and (rate := at_1m / math.dist(middle, p.at) ** 2) > p.limit.rate_Sv_s
    ]
    rates = show.column([rate for _, rate in over], "equivalent_rate", smallest=True)
    return ", ".join(f"{name} {rate}" for (name, _), rate in zip(over, rates, strict=True))


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
