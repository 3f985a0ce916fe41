"""What is signed off as empty, closed or locked: ways held locked for the shift, and all of it before a change."""

from __future__ import annotations

from halflayer.conditions_of_change import WAYS_IN
from halflayer.conditions_of_travel import PEOPLE
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import Plan, WeldPlan
from halflayer.scene.beam_bearings import upwards
from halflayer.sheet import emptied, notice_words
from halflayer.sheet.figures import Show
from halflayer.sheet.ways_in import shut_for, shut_inside
from halflayer.shielding.meter_holders import holders
from halflayer.shielding.rope_view import SHUT
from halflayer.shielding.stuck_steps import runs_plant


def locked(order: Order, used: list[WeldPlan]) -> list[tuple[str, str]]:
    """Ways in that are held locked for the shift: agreed with whose they are, opened by who reads what is beyond.

    Not at a weld whose rope they lie inside: nobody goes through it with the source out.
    """
    names = [r.name for r in order.access if r.locked]
    if not names:
        return []
    # Whoever leads is at the crank while the source is out: the key goes with the one who reads.
    reads = holders(order).reader or "who reads"
    not_at = "".join(
        f" but {_name(name, names)}at {', '.join(on)} (in its rope)"
        for name, on in shut_inside(order, used).items()
    )
    return [
        (
            "ways locked",
            f"{', '.join(names)}: owner agrees, escape kept; key: {reads}, opened to read{not_at}.",
        )
    ]


def _name(name: str, names: list[str]) -> str:
    return f"{name} " if len(names) > 1 else ""


def empty(order: Order, used: list[WeldPlan], show: Show) -> str:
    """What is seen to on the way out before each exposure: nobody inside, doors shut, as doses are reckoned."""
    doors = [r.name for r in order.access if r.kind in SHUT and not r.locked]
    # Doses behind it are reckoned with it shut, with a sentry at it or without.
    by = holders(order).reader or "name ________"
    shut = "".join(f"; {_door(order, used, d, by)}" for d in doors)
    # The order's time for a search is one round of a floor: other levels are no part of it.
    t = order.crew_times.search_s
    took = f" ({show.value(t, 'time')})" if t else ""
    return (
        f"Searched by {by}, last out: levels, roof, ducts once before the first exposure, not timed; the weld's own "
        f"level before each weld{took}{_roof(order, used)}{shut}; sentries posted."
    )


def _door(order: Order, used: list[WeldPlan], door: str, by: str) -> str:
    """How one door is kept at each weld: by its sentry, locked on nobody, or locked on people who are told.

    Where what lies behind it is to be empty, nobody is told to stay: seen empty first, then locked (one truth a weld).
    """
    alone = shut_for(order, used).get(door, [])
    on = {w.weld: emptied.behind(order, door) & emptied.places(order, w) for w in used if w.weld in alone}
    nobody, told = [w for w in alone if on.get(w)], [w for w in alone if not on.get(w)]
    posts = [w.weld for w in used if _sentry_at(w, door)]
    # No key is the order's: whoever is locked in leaves by another way, or the door stays watched.
    ways = [f"shut, its sentry behind it{_at(posts)}"] if posts or not used else []
    if nobody:
        ways.append(f"nobody behind it, seen empty first, then locked{_at(nobody)}")
    if told or not used:
        ways.append(f"{'' if used else 'else '}locked, those behind told, with another way out{_at(told)}")
    return f"{door}: {'; '.join(ways)}; key: {by}"


def _at(welds: list[str]) -> str:
    return f" ({', '.join(welds)})" if welds else ""


def _sentry_at(w: WeldPlan, door: str) -> bool:
    access = w.safety.access if w.safety else None
    return any(r.name == door and r.sentry for r in (access.routes if access else ()))


def _roof(order: Order, used: list[WeldPlan]) -> str:
    """Before which welds the roof is searched again and its access locked: those whose beam goes up to it.

    A stated floor above a weld has doses, ways and a watch of its own; of a roof nothing is known.
    """
    told = [f"{w.weld} (exposures {', '.join(map(str, up))})" for w in used if (up := to_roof(order, w))]
    if not told:
        return ""
    where = ", ".join(told)
    return (
        f"; beam upwards, no floor stated: {where}: roof again, its access locked by ________, key ________"
    )


def to_roof(order: Order, w: WeldPlan) -> tuple[int, ...]:
    """Exposures whose beam goes up where no stated floor lies above the weld."""
    weld = order.weld(w.weld)
    return () if _under_floor(order, weld) else upwards(order, weld, w.chosen)


def _under_floor(order: Order, weld: Weld) -> bool:
    """Whether a stated floor lies above the weld in plan; one without an area lies above every weld."""
    return any(
        f.level_m > weld.floor_level_m + weld.height_m
        and (
            f.area is None
            or all(min(a, b) <= at <= max(a, b) for a, b, at in zip(*f.area, weld.at, strict=True))
        )
        for f in order.floors
    )


def cleared(plan: Plan, order: Order) -> list[str]:
    """What is signed off before a change, a box each: what a bare source brings over its limit, and the plant.

    Places and floors by who answers for them, who alone knows that they are empty; ways in; instruments isolated.
    """
    above = [b for b in (plan.schedule.beside_changes if plan.schedule else ()) if b.above]
    people = list(dict.fromkeys(b.place for b in above if b.kind in PEOPLE))
    told = [
        f"{', '.join(names)}: {by}, time ____"
        for by, names in notice_words.by_contact(order, people, number=False)
    ]
    state = dict(zip(WAYS_IN, ("closed", "locked"), strict=True))
    told += [f"{b.place} {state[b.kind]}" for b in above if b.kind in state]
    things = any(b.kind not in (*PEOPLE, *state) for b in above)  # by name in the part before: `equipment`
    told += ["instruments isolated"] if things else []
    told += [f"plant run from elsewhere or shut down: {runs_plant(order)}"] if people or things else []
    return list(dict.fromkeys(told))
