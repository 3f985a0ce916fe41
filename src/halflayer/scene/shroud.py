"""A rigid shroud between head and stop as solids at clock 0: four walls and a lid, cut level at its foot."""

from __future__ import annotations

import math

from halflayer.order.equipment import Shroud
from halflayer.order.models import Order
from halflayer.physics.materials import Material
from halflayer.scene.frame import Vec3, add, scaled
from halflayer.scene.matter import order_material
from halflayer.scene.pipework import X
from halflayer.scene.solids import Box, Solid, Tube
from halflayer.scene.stand import SHAPE_MARGIN_M, head_axes

BEYOND_M = 1e-4  # a cut reaches so far past what it cuts, so that no film of matter is left


def foot_of(shroud: Shroud, *, face: Vec3, aim: Vec3) -> Vec3:
    """Where the beam axis meets the shroud's foot [m]; the stop lies at that height."""
    return add(face, scaled(aim, shroud.length_m))


def outer_halves_m(shroud: Shroud) -> tuple[float, float]:
    """Half of the outer size along (at right angles to the beam) and across the pipe [m]."""
    return shroud.inner[0] / 2 + shroud.wall_m, shroud.inner[1] / 2 + shroud.wall_m


def shroud_solids(
    order: Order,
    shroud: Shroud,
    *,
    face: Vec3,
    aim: Vec3,
    lean_rad: float,
    pipe_radius_m: float,
    port_halves_m: tuple[float, float],
) -> tuple[Solid, ...]:
    """The shroud in painting order; what stands in it and the pipe are painted over it.

    `face` is the middle of the head's front face, where the lid begins; `port_halves_m` half of the beam's
    size under the lid, along and across. The walls lean with the beam and end on the level of the foot: they
    are drawn too long and the end is cut off by a box of air. The cut-outs are a bore of air about the pipe.
    """
    matter, air = order_material(order, shroud.material), order_material(order, "air")
    axes = head_axes(lean_rad)
    along, across = outer_halves_m(shroud)
    rest = along * math.tan(abs(lean_rad))  # how much longer the longer side is than the axis
    length = shroud.length_m + rest

    def leaned_box(name: str, size: tuple[float, float], start: float, end: float, material: Material) -> Box:
        middle = add(face, scaled(aim, (start + end) / 2))
        return Box(name, middle, (size[0], size[1], end - start), material, axes)

    solids: list[Solid] = [
        leaned_box("shroud", (2 * along, 2 * across), 0.0, length, matter),
        leaned_box("in the shroud", shroud.inner, shroud.wall_m, length + BEYOND_M, air),
        leaned_box(
            "port of the shroud",
            (2 * (port_halves_m[0] + SHAPE_MARGIN_M), 2 * (port_halves_m[1] + SHAPE_MARGIN_M)),
            0.0,
            shroud.wall_m + BEYOND_M,
            air,
        ),
    ]
    foot = foot_of(shroud, face=face, aim=aim)
    if rest > 0:
        deep = 2 * along * math.sin(abs(lean_rad)) + 2 * BEYOND_M  # from the foot to the lowest corner
        wide = 2 * (along + length * math.sin(abs(lean_rad)))
        solids.append(
            Box(
                "under the shroud",
                (foot[0], 0.0, foot[2] - deep / 2),
                (wide, 2 * across + 2 * BEYOND_M, deep),
                air,
            )
        )
    if shroud.slot_gap_m > 0:
        reach = 2 * (
            along / math.cos(lean_rad) + (pipe_radius_m + shroud.slot_gap_m) * math.tan(abs(lean_rad))
        )
        bore = pipe_radius_m + shroud.slot_gap_m
        solids.append(Tube("cut-outs for the pipe", (0.0, 0.0, 0.0), X, bore, None, reach + BEYOND_M, air))
    return tuple(solids)
