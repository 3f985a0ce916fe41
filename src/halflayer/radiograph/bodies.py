"""The solids that an image needs: pipework with a smooth cap and root, and the wires of an indicator laid on it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics.materials import Material
from halflayer.scene.build import Built
from halflayer.scene.frame import about_x
from halflayer.scene.matter import order_material
from halflayer.scene.pipework import X, outside_radius, pipework
from halflayer.scene.solids import Frustum, Scene, Solid, Tube
from halflayer.technique.result import Iqi
from halflayer.technique.wire_sets import WIRE_PITCH_M, WIRE_SEEN_M, wire_set

SLICES = (
    10  # our choice: cones along a bead; the profile then lies within 2.5 % of its height of a smooth one
)
WIRE_LENGTHS_M = (0.010, 0.025, 0.050)  # ISO 19232-1 (from memory, unverified)
# Stands of the scene that may come into an image, by the first word of their name. The head shapes the beam and is
# taken as its aperture; wrap, stop, floor and walls stand beside or behind the film.
BESIDE = ("clamp",)


@dataclass(frozen=True)
class Wire:
    """One wire of an indicator: a straight rod along the pipe."""

    designation: str
    diameter_m: float
    clock_rad: float
    radius_m: float  # of its middle, from the pipe axis
    length_m: float
    material: Material


def bead_height(x: float, width_m: float, height_m: float) -> float:
    """Height of a smooth bead at x from its middle [m]: a flat arc (parabola), zero at its toes (our choice)."""
    s = 2.0 * x / width_m
    return height_m * max(0.0, 1.0 - s * s)


def _slices(width_m: float) -> np.ndarray:
    """Stations along a bead, closer towards the toes where it is steepest."""
    return 0.5 * width_m * np.sin(np.linspace(-0.5 * math.pi, 0.5 * math.pi, SLICES + 1))


def _cones(
    name: str, at_toe_m: float, height_m: float, width_m: float, shell_m: float, material: Material
) -> list[Solid]:
    """A bead of revolution as conical shells: outer radius `at_toe_m` plus the bead's height (negative: inwards)."""
    stations = _slices(width_m)
    out: list[Solid] = []
    for a, b in zip(stations[:-1], stations[1:], strict=True):
        out.append(
            Frustum(
                name,
                (0.5 * (a + b), 0.0, 0.0),
                X,
                at_toe_m + bead_height(float(a), width_m, height_m),
                at_toe_m + bead_height(float(b), width_m, height_m),
                shell_m,
                float(b - a),
                material,
            )
        )
    return out


def smooth(solids: Sequence[Solid], weld: Weld) -> list[Solid]:
    """The solids of a pipe with cap and root as smooth bodies in place of the tubes that stand for them.

    The shells of cap and root reach half way into the wall, steel into steel.
    """
    wall, outer, inner = weld.pipe.wall, weld.pipe.od / 2, weld.pipe.bore / 2
    out: list[Solid] = []
    for solid in solids:
        if solid.name == "weld cap":
            out += _cones("weld cap", outer, weld.cap.height_m, weld.cap.width_m, wall / 2, solid.material)
        elif solid.name == "weld root" and isinstance(solid, Tube):
            toe = inner + wall / 2
            out += _cones("weld root", toe, -weld.cap.root_m, solid.length_m, wall / 2, solid.material)
        else:
            out.append(solid)
    return out


@dataclass(frozen=True)
class Side:
    """The side of the pipe on which an indicator lies: clock of its middle, radius of what it lies on, which way up.

    `outwards` is 1 on the outside of the pipe and -1 in its bore; `room_m` is what a film close by leaves above it.
    """

    clock_rad: float
    radius_m: float
    outwards: float
    room_m: float = math.inf


def side_of(weld: Weld, built: Built, *, source_side: bool, source_clock_rad: float) -> Side:
    """Where an indicator on the source's or the film's side lies, on the wall beside the weld.

    A source in the bore has its side there; so has a film in it.
    """
    film = built.film
    film_clock = math.atan2(-film.centre[1], film.centre[2])
    inside = math.hypot(built.source_at[1], built.source_at[2]) < weld.pipe.bore / 2
    if film.radius_m is not None and not film.hollow:  # the film lies in the bore
        inside = not source_side
    elif not source_side:
        inside = False
    if inside:
        return Side(film_clock, weld.pipe.bore / 2, -1.0)
    radius = outside_radius(weld)
    if source_side:
        return Side(source_clock_rad, radius, 1.0)
    near = film.radius_m is not None and film.hollow
    return Side(film_clock, radius, 1.0, film.radius_m - radius if near and film.radius_m else math.inf)


def wires(order: Order, weld: Weld, asked: Iqi | None, side: Side) -> tuple[Wire, ...]:
    """The set of wires that the technique asks for, along the pipe across the weld, its middle at a clock angle.

    The wires of the set lie 5 mm apart round the pipe, thickest first. On a pipe too small for
    a whole set within 60 degrees to either side, the wires about the required one that fit there.
    """
    if asked is None or asked.type != "wire":
        return ()
    table = wire_set(asked.required, asked.designation)
    names = list(table)
    steel = order_material(order, weld.pipe.material)
    bead = weld.cap.root_m if side.outwards < 0.0 else weld.cap.height_m
    lift = min(bead if weld.insulation_at_weld is None else 0.0, max(side.room_m - table[names[0]], 0.0))
    radius = side.radius_m + side.outwards * lift
    pitch = WIRE_PITCH_M / radius
    while len(names) > 1 and (len(names) - 1) / 2 * pitch > math.radians(60.0):
        # drop the end that is farther from the required wire
        at = names.index(asked.required)
        names = names[1:] if at > len(names) - 1 - at else names[:-1]
    wanted = weld.cap.width_m + 2.0 * WIRE_SEEN_M
    length = next((v for v in WIRE_LENGTHS_M if v >= wanted), WIRE_LENGTHS_M[-1])
    middle = (len(names) - 1) / 2
    return tuple(
        Wire(
            name,
            table[name],
            side.clock_rad + (n - middle) * pitch,
            radius + side.outwards * table[name] / 2,
            length,
            steel,
        )
        for n, name in enumerate(names)
    )


def wire_solids(found: Sequence[Wire]) -> list[Solid]:
    """The wires as rods."""
    return [
        Tube(
            f"wire {w.designation}",
            about_x((0.0, 0.0, w.radius_m), w.clock_rad),
            X,
            w.diameter_m / 2,
            None,
            w.length_m,
            w.material,
        )
        for w in found
    ]


def image_scene(
    order: Order,
    weld: Weld,
    built: Built,
    found: Sequence[Wire] = (),
    flaws: Sequence[Solid] = (),
    plates: Sequence[Solid] = (),
) -> Scene:
    """What an image is made of: the pipe with a smooth weld, what is clamped to it, flaws, wires and plates."""
    own = {s.name for s in pipework(order, weld)}
    kept = [s for s in built.scene.solids if s.name in own or s.name.split(" ")[0] in BESIDE]
    return replace(built.scene, solids=(*smooth(kept, weld), *flaws, *wire_solids(found), *plates))
