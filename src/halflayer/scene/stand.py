"""Head, clamp, legs and stop of a stand as solids at clock 0."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from halflayer.order.equipment import Head
from halflayer.order.models import Order
from halflayer.order.stand_kit import Clamp
from halflayer.order.weld import Weld
from halflayer.scene.frame import Vec3, add, dot, leaned, scaled
from halflayer.scene.matter import order_material
from halflayer.scene.pipework import WIDER, X
from halflayer.scene.solids import Axes, Box, Frustum, Solid, Sphere, Tube
from halflayer.scene.stop import StopPiece

LEG_RADIUS_M = 0.008  # our own demo stand: two steel rods
CLAMP_THICKNESS_M = 0.02
SHAPE_MARGIN_M = 0.002
KEPT_OFF_M = 0.005  # between a stop and what it may not run into: our choice


def head_axes(lean_rad: float) -> Axes:
    """The head's own axes in the weld frame when it leans back over the weld by `lean_rad`."""
    return (
        leaned((1.0, 0.0, 0.0), lean_rad),
        (0.0, 1.0, 0.0),
        leaned((0.0, 0.0, 1.0), lean_rad),
    )


def head_corners(head: Head, source: Vec3, lean_rad: float) -> tuple[Vec3, ...]:
    """The eight corners of the head's body where it stands [m]."""
    axes = head_axes(lean_rad)
    low, high = -head.source_to_face_m, head.body[2] - head.source_to_face_m
    return tuple(
        add(source, add(add(scaled(axes[0], x), scaled(axes[1], y)), scaled(axes[2], z)))
        for x in (-head.body[0] / 2, head.body[0] / 2)
        for y in (-head.body[1] / 2, head.body[1] / 2)
        for z in (low, high)
    )


def head_solids(
    order: Order, head: Head, source: Vec3, lean_rad: float, opening: tuple[float, float]
) -> list[Solid]:
    """The head about the source: its shield where it is given as solids, else its body as scattered photons meet it.

    `opening` is the beam's half width at the front face along and across the pipe [m]: the port left open in
    a body whose leakage is measured. A body without a stated shell is open to scattered photons.
    """
    axes = head_axes(lean_rad)

    def place(p: Vec3) -> Vec3:
        return add(source, add(add(scaled(axes[0], p[0]), scaled(axes[1], p[1])), scaled(axes[2], p[2])))

    def turn(d: Vec3) -> Vec3:
        return add(add(scaled(axes[0], d[0]), scaled(axes[1], d[1])), scaled(axes[2], d[2]))

    if head.solids is not None:
        out: list[Solid] = []
        for n, s in enumerate(head.solids, start=1):
            matter, name, centre, axis = (
                order_material(order, s.material),
                f"head {n}",
                place(s.centre),
                turn(s.axis),
            )
            if s.shape == "box":
                assert s.size is not None
                out.append(Box(name, centre, s.size, matter, axes))
            elif s.shape == "sphere":
                assert s.outer_radius_m is not None
                out.append(Sphere(name, centre, s.outer_radius_m, s.wall_m, matter))
            elif s.shape == "tube":
                assert s.outer_radius_m is not None and s.length_m is not None
                out.append(Tube(name, centre, axis, s.outer_radius_m, s.wall_m, s.length_m, matter))
            else:
                assert s.radius_start_m is not None and s.radius_end_m is not None and s.length_m is not None
                out.append(
                    Frustum(
                        name, centre, axis, s.radius_start_m, s.radius_end_m, s.wall_m, s.length_m, matter
                    )
                )
        return out
    bx, by, bz = head.body
    air = order_material(order, "air")
    middle = place((0.0, 0.0, bz / 2 - head.source_to_face_m))
    if head.shell_material is None or head.shell_m is None:
        return [Box("head", middle, (bx, by, bz), air, axes)]
    t = head.shell_m
    shell = order_material(order, head.shell_material)
    port = (2 * (opening[0] + SHAPE_MARGIN_M), 2 * (opening[1] + SHAPE_MARGIN_M), head.source_to_face_m)
    return [
        Box("head", middle, (bx, by, bz), shell, axes),
        Box("head cavity", middle, (bx - 2 * t, by - 2 * t, bz - 2 * t), air, axes),
        Box("head port", place((0.0, 0.0, -head.source_to_face_m / 2)), port, air, axes),
    ]


def stand_solids(
    order: Order,
    weld: Weld,
    clamp: Clamp,
    clamp_x_m: float,
    head: Head,
    source: Vec3,
    *,
    clear_y_m: float = 0.0,
) -> list[Solid]:
    """Clamp round the pipe, an arm on either side from it to the weld, and on its pin there a leg to the head.

    Arms and legs stand `clear_y_m` and more from the middle plane: clear of a shroud and of the beam.
    The pins lie on a line through the axis at the weld: so the legs, whose holes set their length, swing the source
    about it at one distance.
    """
    steel = order_material(order, "steel")
    r = weld.pipe.od / 2 + weld.insulation_at_m(clamp_x_m)
    ring = Tube("clamp", (clamp_x_m, 0, 0), X, r + CLAMP_THICKNESS_M, CLAMP_THICKNESS_M, clamp.width_m, steel)
    legs: list[Solid] = [ring]
    for side in (-1.0, 1.0):
        y = side * legs_y_m(weld, head, clear_y_m=clear_y_m)
        which = "left" if side < 0 else "right"
        for name, a, b in (
            ("arm", (clamp_x_m, y, 0.0), (0.0, y, 0.0)),
            ("leg", (0.0, y, 0.0), (source[0], y, source[2])),
        ):
            d = (b[0] - a[0], 0.0, b[2] - a[2])
            length = dot(d, d) ** 0.5
            mid = ((a[0] + b[0]) / 2, y, (a[2] + b[2]) / 2)
            legs.append(Tube(f"{name} {which}", mid, d, LEG_RADIUS_M, None, length, steel))
    return legs


def legs_y_m(weld: Weld, head: Head, *, clear_y_m: float = 0.0) -> float:
    """How far the middles of arms, pins and legs stand from the plane through pipe axis and source [m]."""
    thick = weld.insulation.thickness_m if weld.insulation else 0.0
    return max(head.body[1] / 2, weld.pipe.od / 2 + thick + CLAMP_THICKNESS_M, clear_y_m) + 2 * LEG_RADIUS_M


def stop_box(piece: StopPiece, layers: int, *, top_z: float, axis_x: float) -> Box:
    """The layers of a stop as one box, its top at `top_z`, its middle under the beam axis."""
    t = layers * piece.thickness_m
    centre = (axis_x, 0.0, top_z - t / 2)
    return Box("stop", centre, (piece.along_m, piece.across_m, t), piece.matter)


def kept_off(box: Box, solids: Sequence[Solid]) -> Box:
    """The stop moved along the pipe, as little as it must, off whatever wider stands round the pipe beside it.

    A flange, a valve or the clamp is in the way where it reaches farther out than the stop's near face; the stop's
    whole length stays `KEPT_OFF_M` off it. Between two that leave it no room it stays in the middle of them. What of
    the beam then passes beside it is in the dose.
    """
    near, half = abs(box.centre[2]) - box.size[2] / 2, box.size[0] / 2
    low, high = -math.inf, math.inf
    for s in solids:
        if not isinstance(s, Tube) or s.name.split()[0] not in (*WIDER, "clamp") or s.outer_radius_m <= near:
            continue
        a, b = sorted(s.centre[0] + sign * s.length_m / 2 for sign in (-1, 1)) if s.length_m else (0.0, 0.0)
        if s.centre[0] < 0.0:
            low = max(low, b + KEPT_OFF_M + half)
        else:
            high = min(high, a - KEPT_OFF_M - half)
    x = (low + high) / 2 if low > high else min(max(box.centre[0], low), high)
    return replace(box, centre=(x, *box.centre[1:]))


def box_corners(box: Box) -> tuple[Vec3, ...]:
    """The eight corners of an upright box."""
    return tuple(
        (
            box.centre[0] + i * box.size[0] / 2,
            box.centre[1] + j * box.size[1] / 2,
            box.centre[2] + k * box.size[2] / 2,
        )
        for i in (-1, 1)
        for j in (-1, 1)
        for k in (-1, 1)
    )
