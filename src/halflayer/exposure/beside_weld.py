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
SMALL_MARKERS_M = (
    0.0025,
    0.0015,
)  # the same of small ones, where the beam leaves no room for more: our choice
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
class MarkerSides:
    """From where lead markers lie beside the zone judged [m], along the pipe from the weld's middle to the near edge.

    Signed: positive towards the head.
    """

    source_m: float  # of the source-side wall, away from the head
    film_m: float  # of the film-side wall, towards it
    over_m: float  # of the source-side wall towards the head, where a set of wires takes its own side


@dataclass(frozen=True)
class _Images:
    """Where places along the pipe fall along the film: x (1 + near) - L near of the source-side wall, far of the other.

    Source: similar triangles, as of the opening.
    """

    near: float
    far: float
    offset_m: float

    def to_far(self, x_m: float) -> float:
        """The place on the film-side wall with the image of a place on the source-side wall [m]."""
        return (x_m * (1 + self.near) - self.offset_m * (self.near - self.far)) / (1 + self.far)

    def to_near(self, x_m: float) -> float:
        """The other way round [m]."""
        return (x_m * (1 + self.far) + self.offset_m * (self.near - self.far)) / (1 + self.near)


def _images(weld: Weld, c: Candidate, end_rad: float = 0.0) -> _Images:
    """Of places at a clock from the source's on the source-side wall and at its supplement on the other."""
    g, od = c.geometry, weld.pipe.od
    down = od / 2 * (1.0 - math.cos(end_rad))
    near = (g.object_to_detector_m - down) / (g.standoff_m + down)
    far = (max(g.object_to_detector_m - od, 0.0) + down) / (g.standoff_m + od - down)
    return _Images(near, far, abs(g.axial_offset_m))


def film_side_m(weld: Weld, c: Candidate, x_m: float) -> float:
    """The place on the film-side wall with the image of a place on the source-side wall, positive towards the head."""
    return _images(weld, c).to_far(x_m)


def marker_sides(order: Order, weld: Weld, c: Candidate) -> MarkerSides:
    """The sides on which no marker's image falls on the zone judged of either wall.

    One wall's markers on either side: in plane too, where two that stand at one place of the film could not be told
    apart on one side.
    """
    half = rules_for(order, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    images = _images(weld, c)
    return MarkerSides(-half, max(half, images.to_far(half)), max(half, images.to_near(half)))


@dataclass(frozen=True)
class EndMarker:
    """Where a lead marker of the source-side wall lies that has a set of wires at its clock.

    `at_m` along the pipe from the weld's middle to its nearer edge, positive towards the head, 0 where neither side is
    free; `film_m` alike of the film-side wall's marker at the same place of the film; `half_m` of either; `reached`:
    lit by the beam.
    """

    end_rad: float
    at_m: float
    reached: bool
    film_m: float
    half_m: float = MARKER_M


def markers_beside(
    order: Order, weld: Weld, c: Candidate, clocks_rad: Sequence[float], ends_rad: Sequence[float]
) -> tuple[float, list[EndMarker]]:
    """Longest wires [m] with which every end of what is judged has a side free of sets, and the markers at a set.

    `clocks_rad` of both films' sets from the source's, the first away from the head, the second towards it; `ends_rad`
    of the source-side wall alike. Towards the head a marker's image keeps off the zone judged of the other wall, and
    off that wall's marker at the same place of the film.
    """
    sides, radius = marker_sides(order, weld, c), weld.pipe.od / 2
    for length in WIRE_LENGTHS_M:
        found = []
        for end in ends_rad:
            off = [abs((end - at + math.pi) % math.tau - math.pi) * radius for at in clocks_rad]
            free = [a >= length / 2 + MARKER_M - 1e-9 for a in off]
            if all(free):
                continue
            if free[-1]:
                found.append(_towards_head(order, weld, c, end, sides))
            else:
                at_m = sides.source_m if free[0] else 0.0
                reached = _marked(order, weld, c, end, at_m - MARKER_M)
                found.append(EndMarker(end, at_m, reached, sides.film_m))
        if all(m.at_m for m in found) or length == WIRE_LENGTHS_M[-1]:
            return length, found
    return 0.0, []


def _towards_head(order: Order, weld: Weld, c: Candidate, end_rad: float, sides: MarkerSides) -> EndMarker:
    """The first that the beam reaches: out past the other wall's marker, that one out past it, both with small ones.

    The other wall's marker stands at the supplement of the end, on its own wall at about the same place of the film.
    """
    images, tried = _images(weld, c, end_rad), []
    for half in (MARKER_M, *SMALL_MARKERS_M):
        out = max(sides.over_m, images.to_near(sides.film_m + 2 * half))
        far = max(sides.film_m, images.to_far(sides.over_m + 2 * half))
        for at, film in ((out, sides.film_m), (sides.over_m, far)):
            # Of a small one the whole, for nothing of its place is room.
            whole = min(2 * half, MARKER_M)
            reached = _marked(order, weld, c, end_rad, at + whole) and _marked(
                order, weld, c, math.pi - end_rad, film + whole
            )
            tried.append(EndMarker(end_rad, at, reached, film, half))
    return next((m for m in tried if m.reached), tried[0])


def _marked(order: Order, weld: Weld, c: Candidate, from_source_rad: float, x_m: float) -> bool:
    """Whether the beam reaches a place on the pipe, x positive towards the head."""
    x = -x_m if c.geometry.axial_offset_m < 0.0 else x_m
    return is_lit(order, weld, c, wire_points(weld, x_m=x, from_source_rad=from_source_rad, length_m=0.0))


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
