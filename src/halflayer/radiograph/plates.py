"""Step-hole and hole-type indicators: plates with holes beside the weld, as solids, and which hole is asked."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics.materials import Material
from halflayer.radiograph.bodies import Side
from halflayer.radiograph.project import rod_points
from halflayer.scene.frame import Vec3
from halflayer.scene.matter import order_material
from halflayer.scene.pipework import X
from halflayer.scene.solids import Box, Solid, Tube
from halflayer.technique import asme_v_art2_2007 as asme
from halflayer.technique import code_tables, step_holes
from halflayer.technique import iqi as wire_names
from halflayer.technique.result import Candidate, Iqi

TWO_UNDER_M = (
    0.0008  # step-hole plates have two holes in thinner steps, ISO 19232-2 (from memory, unverified)
)
# Hole-type plates, ASTM E1025 (from memory, unverified): largest designation, length and width [m].
PLAQUES = ((50, 0.0381, 0.0127), (160, 0.0572, 0.0254), (math.inf, 0.0635, 0.0381))
HOLES_OF_PLAQUE = ("4T", "1T", "2T")  # along the plate, evenly (our choice of places)
BESIDE_M = 0.003  # our choice: from the foot of the cap, or from the end of the wires, to the plate
RIM_M = 3e-4  # our choice: points along a rim lie so close
IMAGES = {
    "source side": {True: "double wall double image", False: "single wall"},
    "film side": {True: "", False: "double wall"},
}


@dataclass(frozen=True)
class Hole:
    """One hole through a plate: its middle, the way through it, and what it is called."""

    designation: str
    diameter_m: float
    depth_m: float
    at: Vec3
    through: Vec3


@dataclass(frozen=True)
class Plates:
    """An indicator of plates: its name, the hole asked, its solids and its holes, thickest plate last."""

    name: str
    required: str
    solids: tuple[Solid, ...]
    holes: tuple[Hole, ...]
    source: str


def required_hole(order: Order, weld: Weld, candidate: Candidate) -> tuple[str, str] | None:
    """Hole that the technique asks, or that the code asks in place of its wire, and its source; None without one.

    Of a wire, ISO 17636: the step-hole table of the same arrangement, side and class, with as many numbers of
    relief as the wire has. ASME V: the 2T hole that Table T-276 sets beside the wire.
    """
    asked = candidate.iqi
    if asked is None:
        return None
    if asked.type == "step-hole":
        return asked.required, asked.table
    if asked.required.startswith("W"):
        return _by_iso(order.class_of(weld), candidate, asked)
    for other in asked.equivalents:
        if other.startswith("hole "):
            return other.removeprefix("hole "), "ASME V Article 2 (2007) Table T-276"
    return None


def _by_iso(test_class: str | None, candidate: Candidate, asked: Iqi) -> tuple[str, str] | None:
    wanted = {
        "image": IMAGES[asked.position][candidate.technique.startswith("DWDI")],
        "iqi_side": asked.position,
        "class": test_class or "A",
    }
    hole, wire = (
        code_tables.row_for(
            "iso17636_1_2013_iqi", candidate.geometry.iqi_thickness_m, iqi_type=kind, **wanted
        )
        for kind in ("step/hole", "wire")
    )
    if hole is None:
        return None
    relief = 0
    if wire is not None:
        number = wire_names.wire_number(str(wire["required"]))
        relief = max(number - wire_names.wire_number(asked.required), 0)
    source = f"ISO 17636-1:2013 Table {hole['table']} (from memory, unverified)"
    return step_holes.larger(str(hole["required"]), relief), source


def plates(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    side: Side,
    *,
    beyond_m: float = 0.0,
    direction: float = 1.0,
    turned: bool = False,
) -> Plates | None:
    """The indicator of plates on the wall beside the weld, its row of holes along the pipe; None without a row.

    `beyond_m`: it begins beyond so far from the weld's middle where wires lie there; `direction` along the pipe;
    `turned`: a step-hole plate has its thickest step next to the weld and not its thinnest.
    """
    asked = required_hole(order, weld, candidate)
    if asked is None:
        return None
    name, source = asked
    steel = order_material(order, weld.pipe.material)
    air = order_material(order, "air" if side.outwards > 0.0 else weld.contents.material)
    start = max(weld.cap.width_m / 2, beyond_m) + BESIDE_M
    if name.startswith("H"):
        return _stepped(name, source, side, start, direction, steel, air, turned=turned)
    return _plaque(name, source, side, start, direction, steel, air)


def _stepped(
    name: str,
    source: str,
    side: Side,
    start: float,
    direction: float,
    steel: Material,
    air: Material,
    *,
    turned: bool,
) -> Plates:
    """Six steps, the thinnest next to the weld, or the thickest where the plate is `turned`."""
    table = step_holes.holes()
    first = step_holes.plate_with(step_holes.hole_number(name))
    width, length = step_holes.PLATES[first]
    solids: list[Solid] = []
    holes: list[Hole] = []
    for n in range(step_holes.STEPS):
        size = table[f"H{first + n}"]
        place = step_holes.STEPS - 1 - n if turned else n
        x = direction * (start + (place + 0.5) * length)
        solids.append(_plate(f"plate H{first + n}", side, x, length, width, size, steel))
        places = (-width / 4, width / 4) if size < TWO_UNDER_M else (0.0,)
        holes += [
            _hole(f"H{first + n}", side, x, aside, width, diameter=size, depth=size) for aside in places
        ]
    return Plates(f"step-hole plate H{first}", name, _drilled(solids, holes, air), tuple(holes), source)


def _plaque(
    name: str, source: str, side: Side, start: float, direction: float, steel: Material, air: Material
) -> Plates:
    """One plate of a thickness with its three holes."""
    number = int(name.split("-")[0])
    sizes = asme.holes()[number]
    thick = sizes["thickness"]
    length, width = next((long, wide) for most, long, wide in PLAQUES if number <= most)
    solids: list[Solid] = [
        _plate(f"plate {number}", side, direction * (start + length / 2), length, width, thick, steel)
    ]
    holes = [
        _hole(
            f"{number}-{hole}",
            side,
            direction * (start + length * (n + 1) / (len(HOLES_OF_PLAQUE) + 1)),
            0.0,
            width,
            diameter=sizes[hole],
            depth=thick,
        )
        for n, hole in enumerate(HOLES_OF_PLAQUE)
        if not math.isnan(sizes[hole])
    ]
    return Plates(f"hole-type plate {number}", name, _drilled(solids, holes, air), tuple(holes), source)


def outlines(found: Plates) -> list[Vec3]:
    """Points on the edges of the plates and the rims of the holes, where an image must be looked at closely."""
    out: list[Vec3] = []
    for solid in found.solids:
        if isinstance(solid, Box):
            (long, w, _), (ax, ay, _) = solid.size, solid.axes
            for a, b, axis, length in (
                (0.0, w / 2, ax, long),
                (0.0, -w / 2, ax, long),
                (long / 2, 0.0, ay, w),
                (-long / 2, 0.0, ay, w),
            ):
                c = solid.centre
                out += rod_points((c[0] + a, c[1] + b * ay[1], c[2] + b * ay[2]), axis, length)
        elif isinstance(solid, Tube):
            turn = (-solid.axis[2], solid.axis[1])  # at right angles to the axis, across the pipe
            count = max(8, math.ceil(2.0 * math.pi * solid.outer_radius_m / RIM_M))
            for n in range(count):
                p = solid.outer_radius_m * math.cos(2.0 * math.pi * n / count)
                q = solid.outer_radius_m * math.sin(2.0 * math.pi * n / count)
                c = solid.centre
                out.append((c[0] + p, c[1] + q * turn[0], c[2] + q * turn[1]))
    return out


def _frame(side: Side) -> tuple[Vec3, Vec3]:
    """Unit vectors away from what the plate lies on, and round the pipe."""
    s, c = math.sin(side.clock_rad), math.cos(side.clock_rad)
    return (0.0, -s * side.outwards, c * side.outwards), (0.0, -c, -s)


def _point(side: Side, x: float, aside: float, above: float) -> Vec3:
    up, round_ = _frame(side)
    foot = side.radius_m * side.outwards + above
    return (x, round_[1] * aside + up[1] * foot, round_[2] * aside + up[2] * foot)


def _plate(
    name: str, side: Side, x: float, length: float, width: float, thick: float, steel: Material
) -> Box:
    up, round_ = _frame(side)
    return Box(
        name,
        _point(side, x, 0.0, _lift(side, width) + thick / 2),
        (length, width, thick),
        steel,
        (X, round_, up),
    )


def _hole(
    name: str, side: Side, x: float, aside: float, width: float, *, diameter: float, depth: float
) -> Hole:
    at = _point(side, x, aside, _lift(side, width) + depth / 2)
    return Hole(name, diameter, depth, at, _frame(side)[0])


def _lift(side: Side, width: float) -> float:
    """How far the middle of a flat plate is off the wall: in the bore it stands on its edges, by the sagitta."""
    if side.outwards > 0.0:
        return 0.0
    return side.radius_m - math.sqrt(max(side.radius_m**2 - (width / 2) ** 2, 0.0))


def _drilled(solids: list[Solid], holes: list[Hole], air: Material) -> tuple[Solid, ...]:
    """The plates with their holes painted over them."""
    rods = [
        Tube(f"hole {h.designation}", h.at, h.through, h.diameter_m / 2, None, h.depth_m, air) for h in holes
    ]
    return (*solids, *rods)
