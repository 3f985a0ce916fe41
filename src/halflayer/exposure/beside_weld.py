"""Where the indicators of two films in one holder lie beside the weld of a double image, out of both its images."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from halflayer.exposure.beam_room import BeamRoom, is_lit, room_of, wire_points
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.technique.choose import rules_for
from halflayer.technique.geometry import Vec3
from halflayer.technique.result import Candidate
from halflayer.technique.wire_sets import WIRE_PITCH_M, WIRE_SEEN_M, other_sets, wire_set

WIRE_LENGTHS_M = (0.025, 0.010)  # that a small pipe takes, ISO 19232-1 (from memory, unverified)
MARKER_M = 0.005  # half of a lead marker's size with its room: our choice
TOE_M = 0.002  # off the cap's foot and off the other image, so that the nearest wire can be read: our choice


@dataclass(frozen=True)
class Beside:
    """An indicator's place along the pipe, on the source-side wall, from the middle of the weld [m].

    `from_m` is where its image parts from those of the weld; `wire_m` where the wire asked lies with the finest wire
    there. Both signed: positive towards the head.
    """

    from_m: float
    wire_m: float


def beside(weld: Weld, c: Candidate) -> tuple[Beside, Beside]:
    """The places away from the head and towards it, with no image of the weld under the wires.

    Formula: x of the source-side wall falls on x (1 + b/a) - L b/a, the far cap on ± w/2 (1 + k) - L k, k = g/(a + De);
    away from the head nothing but its own cap lies there. Source: similar triangles, as of the opening.
    """
    g, od = c.geometry, weld.pipe.od
    gap, offset = max(g.object_to_detector_m - od, 0.0), abs(g.axial_offset_m)
    near, far = g.object_to_detector_m / g.standoff_m, gap / (g.standoff_m + od)
    half = weld.cap.width_m / 2
    clear = max(half, (half * (1 + far) + offset * (near - far)) / (1 + near)) + TOE_M
    names = _names(c)
    across = (len(names) - 1 - names.index(c.iqi.required)) * WIRE_PITCH_M if names and c.iqi else 0.0
    return Beside(-half - TOE_M, -half - TOE_M - across), Beside(clear, clear + across)


@dataclass(frozen=True)
class EndMarker:
    """Where a lead marker lies that has a set of wires at its clock.

    `at_m` along the pipe from the weld's middle to its nearer edge, positive towards the head, 0 where neither side is
    free; `reached`: lit by the beam.
    """

    end_rad: float
    at_m: float
    reached: bool


def markers_beside(
    order: Order, weld: Weld, c: Candidate, clocks_rad: Sequence[float], ends_rad: Sequence[float]
) -> tuple[float, list[EndMarker]]:
    """Longest wires [m] with which every end of what is judged has a side free of sets, and the markers at a set.

    `clocks_rad` of both films' sets from the source's, the first away from the head, the second towards it; `ends_rad`
    of the source-side wall alike. Towards the head a marker lies as far out as keeps its image off the zone judged of
    the other wall: as `beside`, half of the zone in place of the cap's.
    """
    half = rules_for(order, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    g, radius = c.geometry, weld.pipe.od / 2
    near = g.object_to_detector_m / g.standoff_m
    far = max(g.object_to_detector_m - weld.pipe.od, 0.0) / (g.standoff_m + weld.pipe.od)
    over = max(half, (half * (1 + far) + abs(g.axial_offset_m) * (near - far)) / (1 + near))
    sign = -1.0 if g.axial_offset_m < 0.0 else 1.0
    for length in WIRE_LENGTHS_M:
        found = []
        for end in ends_rad:
            off = [abs((end - at + math.pi) % math.tau - math.pi) * radius for at in clocks_rad]
            free = [a >= length / 2 + MARKER_M - 1e-9 for a in off]
            if all(free):
                continue
            at_m = over if free[-1] else -half if free[0] else 0.0
            x = sign * (at_m + math.copysign(MARKER_M, at_m))
            points = wire_points(weld, x_m=x, from_source_rad=end, length_m=0.0)
            found.append(EndMarker(end, at_m, is_lit(order, weld, c, points)))
        if all(m.at_m for m in found) or length == WIRE_LENGTHS_M[-1]:
            return length, found
    return 0.0, []


def _names(c: Candidate) -> list[str]:
    """Wires of the set that is laid, thickest first; empty for another kind of indicator."""
    return (
        list(wire_set(c.iqi.required, c.iqi.designation))
        if c.iqi is not None and c.iqi.type == "wire"
        else []
    )


@dataclass(frozen=True)
class Laid:
    """How one set lies: its thickest wire nearest to the weld or its finest, and the room of the wire asked.

    `room`: how far the head may be off with the middle 10 mm of that wire lit; None without an opening. `dark`: wires
    that are not so lit, the head as planned.
    """

    turned: bool
    room: BeamRoom | None
    dark: tuple[str, ...]

    @property
    def reached(self) -> bool:
        """Whether the beam reaches the wire asked, the head as planned."""
        return self.room is None or self.room.turn_rad > 0.0


def laid_sets(order: Order, weld: Weld, c: Candidate, clocks_rad: Sequence[float]) -> list[Laid]:
    """How the sets of the films lie, by the clock of each from the source's [rad].

    The finest wire lies nearest to the weld, as it is the hardest to see. The set is turned about where the wire asked
    has not the room that the order's head may be off by (`head_shift`, `head_turn`) and more of it so.
    """
    sign = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    names = _names(c)
    out: list[Laid] = []
    if not clocks_rad:
        return out
    for one, clock in zip(beside(weld, c), clocks_rad, strict=False):
        if not names or c.iqi is None:
            out.append(Laid(False, None, ()))
            continue
        asked, step = names.index(c.iqi.required), math.copysign(WIRE_PITCH_M, one.from_m)
        near = {False: [len(names) - 1 - n for n in range(len(names))], True: list(range(len(names)))}

        def seen(
            wires_off: int, from_m: float = one.from_m, step: float = step, at: float = clock
        ) -> tuple[Vec3, ...]:
            x = sign * (from_m + wires_off * step)
            return wire_points(weld, x_m=x, from_source_rad=at, length_m=WIRE_SEEN_M)

        both = {turned: room_of(order, weld, c, seen(off[asked])) for turned, off in near.items()}
        turned = _share(order, both[False]) < 1.0 and _share(order, both[True]) > _share(order, both[False])
        dark = [
            n for n, off in zip(names, near[turned], strict=True) if not is_lit(order, weld, c, seen(off))
        ]
        out.append(Laid(turned, both[turned], tuple(dark)))
    return out


def _share(order: Order, room: BeamRoom | None) -> float:
    """The room as a share of what the order's head may be off, the least of turn and shift."""
    if room is None:
        return math.inf
    kit = order.kit
    return min(
        have / asked if asked > 0.0 else math.inf
        for have, asked in (
            (room.turn_rad, kit.head_turn_rad),
            (room.towards_m, kit.head_shift_m),
            (room.away_m, kit.head_shift_m),
        )
    )


def easier_set(order: Order, weld: Weld, c: Candidate, exposure: Exposure) -> Candidate:
    """The way with the set of wires on which the wire asked asks least of the head's place.

    Of two films' indicators, where the set in whose middle the wire stands leaves less room than the order's head may
    be off: another set that holds the wire, if it leaves more and a finer wire on it can still show what is in hand.
    """
    clocks = pair_clocks_rad(c, exposure)
    if c.iqi is None or not clocks:
        return c

    def least(one: Candidate) -> float:
        sets = laid_sets(order, weld, one, clocks)
        return min((_share(order, s.room) for s in sets), default=math.inf)

    best, most = c, least(c)
    for designation in other_sets(c.iqi):
        if list(wire_set(c.iqi.required, designation))[-1] == c.iqi.required:
            continue
        other = replace(c, iqi=replace(c.iqi, designation=designation))
        if most < 1.0 and least(other) > most:
            best, most = other, least(other)
    return best


def pair_clocks_rad(c: Candidate, exposure: Exposure | None) -> list[float]:
    """Clocks of two films' indicators in exposure 1, from the source's [rad]; empty for one film or another rule."""
    pair = exposure.shots[0].pair if exposure and exposure.shots else None
    if pair is None or c.density_variation is not None:
        return []
    return [z.indicator.from_middle_rad for z in pair.zones if z.indicator is not None]
