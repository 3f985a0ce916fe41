"""How far a head may be off its place: one figure for each way, the least of all that bounds it, with its reason."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from halflayer.base.result import Derived
from halflayer.exposure.beam_room import beam_room
from halflayer.exposure.beside_weld import Laid, laid_sets, pair_clocks_rad
from halflayer.exposure.result import Exposure
from halflayer.order.equipment import ON_A_STAND
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.shielding.head_unknown import together
from halflayer.shielding.safety_result import LostCase, Tolerance
from halflayer.technique.ellipse import play_m
from halflayer.technique.result import Candidate

TURNED, SHIFTED = "head turned", "head shifted"  # names of the looks
HEAD = (TURNED, SHIFTED)

Room = tuple[float, str]  # [m] or [rad], and what it is the room of
OPENING, BEAM, IQI, DOSE = "opening", "beam", "IQI", "dose"


@dataclass(frozen=True)
class Bounds:
    """The least of what bounds the head's place towards the weld and away from it [m], and its angle [rad]."""

    towards: Room | None
    away: Room | None
    turn: Room | None


def bounds(
    order: Order, weld: Weld, c: Candidate, tolerance: Tolerance | None, exposure: Exposure | None
) -> Bounds:
    """What bounds the head's place and angle: opening, beam, indicators and dose."""
    towards: list[Room] = []
    away: list[Room] = []
    turn: list[Room] = []
    play = play_m(c, outer_m=weld.pipe.od, cap_m=weld.cap.width_m)
    if play is not None:
        towards, away = [(play[0], OPENING)], [(play[1], OPENING)]
    beam = beam_room(order, weld, c)
    if beam is not None:
        towards.append((beam.towards_m, BEAM))
        away.append((beam.away_m, BEAM))
        turn.append((beam.turn_rad, BEAM))
    for lies in _sets(order, weld, c, exposure):
        if lies.room is not None and lies.reached:
            towards.append((lies.room.towards_m, IQI))
            away.append((lies.room.away_m, IQI))
            turn.append((lies.room.turn_rad, IQI))
    if tolerance is not None:
        if isinstance(shift := tolerance.shift.value, float):
            towards.append((shift, DOSE))
            away.append((shift, DOSE))
        if isinstance(angle := tolerance.turn.value, float):
            turn.append((angle, DOSE))
    return Bounds(min(towards, default=None), min(away, default=None), min(turn, default=None))


def _sets(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> list[Laid]:
    """How the indicators of two films lie beside the weld; empty for one film."""
    return laid_sets(order, weld, c, pair_clocks_rad(c, exposure))


def length(room: Room | None, show: Show) -> str:
    """A length that a head may be off, with its reason."""
    return NOT_COMPUTED if room is None else f"{show.drawn(down(room[0], show))} ({room[1]})"


def angle(room: Room) -> str:
    """An angle that a head may be off, never rounded up, with its reason."""
    return f"{math.floor(math.degrees(room[0]) * 10 + 1e-6) / 10:.1f}° ({room[1]})"


def down(length_m: float, show: Show) -> float:
    """A tolerance, never rounded up: whole millimetres, hundredths of an inch."""
    unit = 0.000254 if show.system == "imperial" else 0.001
    return math.floor(max(length_m, 0.0) / unit + 1e-6) * unit


def near(order: Order, w: WeldPlan) -> list[LostCase]:
    """Looks at a head on legs that hold every limit, but bring the rope above its turn-back reading."""
    limit = order.limits.barrier.rate_Sv_s
    # A strapped head lies on the pipe: it is one on legs that is set.
    if limit is None or w.chosen is None or w.chosen.arrangement not in ON_A_STAND:
        return []
    most = least_reading_Sv_s(order, limit)
    looks = w.safety.lost.cases if w.safety and w.safety.lost else ()
    return [c for c in looks if c.name in HEAD and c.holds and (c.barrier_upper_Sv_s or 0.0) > most]


def by_dose(order: Order, w: WeldPlan) -> Tolerance | None:
    """How far the head may be off by the dose, where that was looked at.

    No farther than the order states where the rope then reads above its turn-back reading: nobody sets a head so that
    the source comes home, though the limits would hold still more.
    """
    found = w.safety.lost.tolerance if w.safety and w.safety.lost else None
    if found is None:
        return None
    names = {c.name for c in near(order, w)}
    turn = _capped(found.turn, order.kit.head_turn_rad) if TURNED in names else found.turn
    shift = _capped(found.shift, order.kit.head_shift_m) if SHIFTED in names else found.shift
    return replace(found, turn=turn, shift=shift)


def _capped(found: Derived, stated: float) -> Derived:
    value = found.value
    return replace(found, value=stated) if not isinstance(value, float) or value > stated else found


def looks(order: Order, w: WeldPlan) -> list[LostCase]:
    """Looks at a head on legs for which its angle or place is checked: those that do not hold, and those `near`."""
    found = w.safety.lost.cases if w.safety and w.safety.lost else ()
    if w.chosen is None or w.chosen.arrangement not in ON_A_STAND:
        return []
    return [*(c for c in found if c.name in HEAD and c.holds is not True), *near(order, w)]


def checked(w: WeldPlan) -> bool:
    """True where the check before each exposure says how far the head may be off, so that no caution says it too.

    Every head on legs: one turned, shifted or in the wrong hole is the likeliest fault, though all limits hold with it.
    """
    return w.chosen is not None and w.chosen.arrangement in ON_A_STAND


def within_words(order: Order, w: WeldPlan, show: Show) -> tuple[str, bool]:
    """Angle and place of a head that is checked, each within the least of what bounds it, as the marking plan says it.

    And whether these are just as far off as was looked at. What no figure is known for is named without one.
    """
    if w.chosen is None:
        return "", False
    kit = order.kit
    # A film's figure as wide as what no look of the dose holds tells nobody to set the head so far off.
    unheld = {c.name for c in looks(order, w) if c.holds is not True}
    b = bounds(order, order.weld(w.weld), w.chosen, by_dose(order, w), w.exposure)
    told, rooms = [], []
    if b.turn and (TURNED not in unheld or b.turn[0] < kit.head_turn_rad - 1e-9):
        told.append(f"the head's angle within {angle(b.turn)}{_one_step(order, w.chosen, b.turn[0])}")
        rooms.append(b.turn[0] / kit.head_turn_rad)
    else:
        told.append("the head's angle as planned")
    sides = ((b.towards, " towards the weld"), (b.away, " away from it"))
    ways = [
        (room, where)
        for room, where in sides
        if room and (SHIFTED not in unheld or room[0] < kit.head_shift_m - 1e-9)
    ]
    lengths = [length(room, show) for room, _ in ways]
    rooms += [room[0] / kit.head_shift_m for room, _ in ways]
    if len(ways) == 2 and lengths[0] == lengths[1]:
        told.append(f"its place within {lengths[0]}")
    elif ways:
        each = [f"{size}{where}" for size, (_, where) in zip(lengths, ways, strict=True)]
        told.append(f"its place within {', '.join(each)}")
    else:
        told.append("its place as planned")
    if nearer := nearer_words(order, w.chosen, show):
        told.append(nearer)
    return ", ".join(told), bool(rooms) and all(abs(r - 1.0) < 1e-6 for r in rooms)


def _one_step(order: Order, c: Candidate, room_rad: float) -> str:
    """That one step of the legs off breaks it, where they step wider than the head may be off; else empty."""
    step = next((legs.lean_step_rad for legs in order.kit.legs if legs.id == c.legs), 0.0)
    if room_rad >= step - 1e-9:
        return ""
    return f": one step of {math.degrees(step):.3g}° off breaks it, a second person signs"


def nearer_words(order: Order, c: Candidate, show: Show) -> str:
    """How much nearer to the pipe a head on legs may stand by the least distance; empty where that is more than enough.

    Formula: f - least f, against the order's shift of a head.
    """
    g = c.geometry
    room = g.source_to_object_m - g.minimum_source_to_object_m
    if c.arrangement not in ON_A_STAND or room >= order.kit.head_shift_m - 1e-9:
        return ""
    size = down(room, show)
    return f"{show.drawn(size)} nearer to the pipe at most (f)" if size > 0.0 else "no nearer to the pipe (f)"


def close_words(
    order: Order,
    weld: Weld,
    c: Candidate | None,
    show: Show,
    tolerance: Tolerance | None = None,
    exposure: Exposure | None = None,
    *,
    told: bool = False,
) -> str:
    """A caution for page 1 where opening, beam, IQI or dose stand less than the order's head may be off; else empty.

    `told`: the check before each exposure says the figures. A figure of the film's never stands alone where none is
    known to hold the doses.
    """
    if c is None:
        return ""
    b = bounds(order, weld, c, tolerance, exposure)
    kit, each = order.kit, []
    alike = length(b.towards, show) == length(b.away, show)
    for room, where in ((b.towards, "towards the weld"), (b.away, "away from the weld")):
        if room is not None and room[0] < kit.head_shift_m - 1e-9:
            each.append(length(room, show) if alike else f"{length(room, show)} {where}")
    if b.turn is not None and b.turn[0] < kit.head_turn_rad - 1e-9:
        each.append(angle(b.turn))
    each += [nearer] if (nearer := nearer_words(order, c, show)) else []
    dark = not all(lies.reached for lies in _sets(order, weld, c, exposure))
    unlit = f"The beam does NOT reach {c.iqi.required} of an IQI (marking plan)." if dark and c.iqi else ""
    if not each or told:
        return unlit
    best = f"{' and '.join(dict.fromkeys(each))} or better"
    unheld = together(tolerance)
    if unheld is not None:
        size = show.converted(unheld.least)
        return f"Head: by dose no {size} is known to hold; for the film alone {best} (marking plan). {unlit}".strip()
    return f"Set the head to {best} (marking plan). {unlit}".strip()
