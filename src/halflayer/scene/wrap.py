"""Blankets round a set-up: tent over a stand, sleeve and hood of a strapped head, sleeve and end covers of a bore."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.equipment import Blanket, Head
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.frame import Vec3, add, dot, scaled
from halflayer.scene.matter import blanket_material, order_material
from halflayer.scene.pipework import X, outside_radius, pipe_span
from halflayer.scene.solids import Box, Frustum, Solid, Tube

MARGIN_M = 0.015  # slack between the wrap and what it goes round, our choice
OVERLAP = 0.10  # share of a piece that lies over its neighbour, our choice; printed on the sheet
END_COVER_M = 0.10  # an end cover reaches so far beyond the pipe's outside, our choice
SLEEVE_BESIDE_M = 0.10  # a sleeve reaches so far beyond the beam's footprint on each side, our choice


@dataclass(frozen=True)
class Wrap:
    """The solids of a wrap and, per layer, the area that its pieces have to cover [m2] and the least pieces."""

    solids: tuple[Solid, ...]
    layer_area_m2: float
    least_pieces: int
    outline: str  # in words, for the sheet
    pieces_beside: int = 1  # widths side by side along the pipe
    shroud: str | None = None  # the rigid shroud that stands in place of a wrap


def pieces_per_layer(wrap: Wrap, blanket: Blanket) -> int:
    """Blankets of a kind that one layer needs, overlaps included."""
    useful = blanket.width_m * blanket.length_m * (1 - OVERLAP) ** 2
    return max(wrap.least_pieces, math.ceil(wrap.layer_area_m2 / useful - 1e-9))


def tent(
    order: Order,
    blanket: Blanket,
    layers: int,
    *,
    face: Vec3,
    aim: Vec3,
    head: Head,
    corners: tuple[Vec3, ...],
) -> Wrap:
    """A tent from the head's face down to below the stop, closed underneath.

    `face` is the middle of the head's front face, `corners` what must fit inside (film pack, stop). The tent
    is a cone about the beam axis; its wall is measured along the radius, so that the layer's thickness is
    the one at right angles to the cloth.
    """
    t = layers * blanket.thickness_m
    top = math.hypot(head.body[0], head.body[1]) / 2 + MARGIN_M
    along = [dot(aim, (c[0] - face[0], c[1] - face[1], c[2] - face[2])) for c in corners]
    height = max(along) + MARGIN_M
    bottom = top
    for c, s in zip(corners, along, strict=True):
        foot = add(face, scaled(aim, s))
        off = math.dist(c, foot) + MARGIN_M
        bottom = max(bottom, top + (off - top) * height / max(s, 1e-6) if s > 0 else off)
    slope = math.atan2(bottom - top, height)
    matter = blanket_material(order, blanket)
    wall = t / math.cos(slope)
    middle = add(face, scaled(aim, height / 2))
    end = add(face, scaled(aim, height + t / 2))
    side = Frustum("wrap", middle, aim, top + wall, bottom + wall, wall, height, matter) if layers else None
    under = Tube("wrap below", end, aim, bottom + wall, None, t, matter) if layers else None
    slant = math.hypot(height, bottom - top)
    area = math.pi * (top + bottom) * slant + math.pi * bottom**2
    return Wrap(
        solids=tuple(s for s in (side, under) if s),
        layer_area_m2=area,
        least_pieces=2,
        outline=(
            f"tent from the head's face to below the stop: {2 * top * 1000:.0f} mm across at the head, "
            f"{2 * bottom * 1000:.0f} mm at the foot, {height * 1000:.0f} mm high, closed underneath"
        ),
    )


def sleeve_with_hood(
    order: Order,
    weld: Weld,
    blanket: Blanket,
    layers: int,
    *,
    head: Head,
    source_z: float,
    footprint_along_m: float,
    pack_m: float,
) -> Wrap:
    """A sleeve round pipe and film, and a hood over the head, for a head strapped on the pipe at clock 0."""
    t = layers * blanket.thickness_m
    matter = blanket_material(order, blanket)
    air = order_material(order, "air")
    inner = outside_radius(weld) + pack_m + MARGIN_M / 3
    useful = blanket.width_m * (1 - OVERLAP)
    wanted = max(footprint_along_m + 2 * SLEEVE_BESIDE_M, head.body[0] + 2 * SLEEVE_BESIDE_M)
    beside = max(1, math.ceil((wanted - blanket.width_m) / useful + 1 - 1e-9))
    width = blanket.width_m + (beside - 1) * useful
    bx, by, bz = head.body
    face_z = source_z - head.source_to_face_m
    foot = -0.0  # the hood stands on the pipe's middle plane so that no gap is left beside the head
    solids: list[Solid] = []
    if layers:
        outer_h = face_z + bz + t - foot
        solids = [
            Tube("wrap", (0, 0, 0), X, inner + t, t, width, matter),
            Box("wrap over head", (0, 0, foot + outer_h / 2), (bx + 2 * t, by + 2 * t, outer_h), matter),
            Box("under the hood", (0, 0, foot + (outer_h - t) / 2), (bx, by, outer_h - t), air),
        ]
    hood = 2 * (bx + by) * bz + bx * by
    area = 2 * math.pi * (inner + t / 2) * width + hood
    return Wrap(
        solids=tuple(solids),
        layer_area_m2=area,
        least_pieces=beside + 1,
        outline=(
            f"sleeve round the pipe over the film, {width * 1000:.0f} mm long ({beside} wide), "
            "and a hood over the head"
        ),
        pieces_beside=beside,
    )


def sleeve_with_end_covers(
    order: Order, weld: Weld, blanket: Blanket, layers: int, *, film_radius_m: float, pack_m: float
) -> Wrap:
    """A sleeve outside the film of a source in the bore, and a cover over each open end.

    The sleeve is so long that beyond it the slanting way through the pipe wall holds as much mass as the
    straight way through wall and blankets, or it ends at the pipe's end.
    """
    t = layers * blanket.thickness_m
    matter = blanket_material(order, blanket)
    steel = order_material(order, weld.pipe.material)
    inner = film_radius_m + pack_m + MARGIN_M / 3
    own = weld.pipe.wall * steel.density_kg_m3
    sine = own / (own + max(layers, 1) * blanket.areal_density_kg_m2)
    half = (weld.pipe.od / 2) * math.sqrt(1 - sine**2) / sine
    left, right = pipe_span(weld)
    a, b = max(-half, left), min(half, right)
    useful = blanket.width_m * (1 - OVERLAP)
    beside = max(1, math.ceil((b - a - blanket.width_m) / useful + 1 - 1e-9))
    solids: list[Solid] = []
    cover = outside_radius(weld) + END_COVER_M
    ends = [x for x, n in ((left, weld.left), (right, weld.right)) if n.kind == "open end"]
    if layers:
        solids.append(Tube("wrap", ((a + b) / 2, 0, 0), X, inner + t, t, b - a, matter))
        for x in ends:
            out = math.copysign(t / 2, x)
            solids.append(
                Tube(f"end cover {'right' if x > 0 else 'left'}", (x + out, 0, 0), X, cover, None, t, matter)
            )
    area = 2 * math.pi * (inner + t / 2) * (b - a) + len(ends) * math.pi * cover**2
    return Wrap(
        solids=tuple(solids),
        layer_area_m2=area,
        least_pieces=beside + len(ends),
        outline=(
            f"sleeve outside the film from x = {a * 1000:.0f} to {b * 1000:.0f} mm ({beside} wide)"
            + (f", covers over {len(ends)} open end{'s' if len(ends) > 1 else ''}" if ends else "")
        ),
        pieces_beside=beside,
    )
