"""The condition of a source that travels: who may not be within its reach on the way, by name, and what is closed."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.base.units import kept, show
from halflayer.order.limits import Place
from halflayer.order.models import Order
from halflayer.plan import Condition, WeldPlan
from halflayer.shielding.reach import within_reach
from halflayer.shielding.stuck_steps import runs_plant
from halflayer.shielding.travelling import (
    AT_BARRIER,
    REACH,
    OnTheWay,
    above_rate,
    travel_of,
    ways_above,
)
from halflayer.shielding.way_posts import not_kept, way_off
from halflayer.shift.change_place import who_keeps_way

ON_ITS_WAY = "source's way kept clear"
NOT_CLEARED = (
    "NOT CLEARED"  # then the source is not bared: nobody is asked to agree to a limit that is passed
)
PEOPLE = (
    "people",
    "crew",
)  # kinds of places that are emptied; all others are instruments and film, isolated or moved


def on_its_way(order: Order, w: WeldPlan, inside: Sequence[str]) -> Condition | None:
    """The travelling source brings places, the barrier or ways in that stay open above their rate limits.

    `inside`: places that must be empty anyhow, named by a condition of their own.
    """
    figure = travel_of(w.shielding)
    above = [name for name, _, _ in above_rate(order, figure)]
    ways = ways_above(order, figure)
    opened = [r.name for r, _ in ways if not r.locked]
    shut = _shut(w)
    if not above and not opened:
        return None
    kinds = {p.name: p.kind for p in order.places}
    there = within_reach(order, order.weld(w.weld), figure) if AT_BARRIER in above else []
    near = [(p, way) for p, way in there if p.kind == "people"]
    names = [p.name for p, _ in near]
    people = [n for n in above if kinds.get(n) in PEOPLE and n not in inside and n not in names]
    things = [name for name in above if name in kinds and kinds[name] not in PEOPLE]
    locked = [r.name for r, _ in ways if r.locked or r.name in shut]
    opened = [name for name in opened if name not in shut]
    parts, do = [], []
    far = [
        f"{kept(float(d.value))} {d.name.removeprefix(REACH).strip().removesuffix(' at')}"
        for d in (figure.inputs if figure else ())
        if d.name.startswith(REACH) and isinstance(d.value, int | float)
    ]
    if people:
        parts.append(f"nobody at {', '.join(people)}")
        do.append(parts[-1])
    if AT_BARRIER in above:
        within = f"within {' and '.join(far)}" if far else "at the barrier"
        weld = order.weld(w.weld)
        keeper = who_keeps_way(order, weld)
        parts.append(f"nobody {within} but {control_position(order, tube='tube' in within)}: {keeper}")
        parts += [f"inside it, so empty too: {', '.join(_told(p, way) for p, way in near)}"] if near else []
        named = f" (so not at {', '.join(names)})" if near else ""
        keeper = who_keeps_way(order, weld, brief=True)
        do.append(f"nobody {within}{named} but the crew: {keeper}")
    if locked:
        parts.append(f"kept locked: {', '.join(locked)}")
        do.append(parts[-1])
    if opened:
        told, brief = _watched(order, w)
        parts.append(f"{told}: {', '.join(opened)}")
        do.append(f"{brief}: {', '.join(opened)}")
    if things:
        parts.append(f"isolated or moved: {', '.join(things)}")
        do.append(parts[-1])
    if things and (people or near):
        parts.append(plant_words(order))
    if not parts:
        return None
    text = f"while the source travels: {'; '.join(parts)}; {NOT_CLEARED}: not shot, on to the next weld"
    rests = "dose of the source on its way, upper values"
    return Condition(ON_ITS_WAY, text, rests, "; ".join(do))


def _shut(w: WeldPlan) -> set[str]:
    """Ways in that are locked for the weld alone, as nobody may be behind them: no post watches these."""
    routes = w.safety.access.routes if w.safety and w.safety.access else ()
    return {r.name for r in routes if not r.sentry}


def _watched(order: Order, w: WeldPlan) -> tuple[str, str]:
    """How an open way in is kept while the source travels, in full and in brief: from a post that can be kept then.

    Whoever stands there is of the crew, whose dose of the way is counted nearer.
    """
    weld, travel = order.weld(w.weld), travel_of(w.shielding)
    off = way_off(order, weld, travel)
    access = w.safety.access if w.safety else None
    posts = access.posts[: sum(r.sentry for r in access.routes)] if access else ()
    if off is None or off.away_m is None or not_kept(order, weld, travel, posts):
        return "closed, nobody at it", "closed, nobody at it"
    line = ", out of line of the tube" if off.line_rad is not None else ""
    away = show(off.away_m, "length")
    return (
        f"closed, or watched from its post ({away} or more from the way{line}: dose in the crew's)",
        "closed, or watched from its post",
    )


def plant_words(order: Order) -> str:
    """What becomes of a plant whose posts are empty and whose instruments are isolated: never run without both."""
    return f"plant run from elsewhere or shut down, agreed before by {runs_plant(order)}"


def control_position(order: Order, *, tube: bool) -> str:
    """Who may stand inside the travelling source's reach, and where; their dose is in the crew's."""
    away = order.crew_times.transit_distance_m
    if away is None:
        return "who winds the source (distance not stated, crew_times: transit_distance; dose there not computed)"
    line = "; out of line of the tube" if tube else ""
    return (
        f"the crew at the control position and posts ({away:g} m or more from the way: the order's distance, the "
        f"sketches' chain line, outside the rope{line}; dose on the crew page, counted there)"
    )


def _told(place: Place, way: OnTheWay) -> str:
    """A place within reach with what the travelling source brings there: highest rate, dose of all ways."""
    rate = show(way.peak_Sv_s, "equivalent_rate", digits=2, round_up=True)
    return f"{place.name} (up to {rate}, {show(way.dose_Sv, 'equivalent', digits=2, round_up=True)} in all)"
