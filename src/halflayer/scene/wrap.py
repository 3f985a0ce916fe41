"""Blankets round a set-up: tent over a stand, sleeve and hood of a strapped head, sleeve and end covers of a bore."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from halflayer.order.equipment import Blanket, Head
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.covers import cover_lay, covers_said
from halflayer.scene.frame import Vec3, add, dot, scaled
from halflayer.scene.large_pieces import larger_of_same_cloth, mixed_layer, patch_of
from halflayer.scene.matter import blanket_material, order_material
from halflayer.scene.outline import circle, round_m
from halflayer.scene.over_laps import covered_laps
from halflayer.scene.pipework import X, outside_radius, pipe_span
from halflayer.scene.solids import Box, Frustum, Solid, Tube
from halflayer.scene.tent_pieces import TentLay, tent_lay, tent_said
from halflayer.scene.winding import fills, wound
from halflayer.scene.wrap_layers import OVERLAP, Patch, WrapLayer, covered_m, layer, widths_for

__all__ = ["OVERLAP", "Wrap", "sleeve_with_end_covers", "sleeve_with_hood", "tent"]

MARGIN_M = 0.015  # slack between the wrap and what it goes round, our choice
END_COVER_M = 0.10  # an end cover reaches so far beyond the pipe's outside, our choice
SLEEVE_BESIDE_M = 0.10  # a sleeve reaches so far beyond the beam's footprint on each side, our choice


@dataclass(frozen=True)
class Wrap:
    """The solids of a wrap, and how each layer is laid out in pieces, from inside.

    `layers` holds one entry for each layer that stands, and the first one of a bare set-up (what a layer would
    take); `layer_area_m2` is the area of the innermost layer [m2].
    """

    solids: tuple[Solid, ...]
    layer_area_m2: float
    outline: str  # in words, for the sheet
    pieces_beside: int = 1  # widths side by side along the pipe, of the widest layer
    shroud: str | None = None  # the rigid shroud that stands in place of a wrap
    layers: tuple[WrapLayer, ...] = ()
    lay: TentLay | None = None  # how the pieces of a layer make a tent

    def patches(self, layers: int) -> tuple[Patch, ...]:
        """The patches of large pieces in so many layers, from inside."""
        return tuple(one.patch for one in self.layers[:layers] if one.patch is not None)

    def pieces(self, layers: int) -> int:
        """Blankets that so many layers of this wrap take; layers beyond those laid out count as the largest.

        Of the wrap's own kind: large pieces stand in `patches`.
        """
        if not self.layers:
            return 0
        laid = self.layers[:layers]
        most = max(one.pieces for one in self.layers) if layers > len(laid) else 0
        return sum(one.pieces for one in laid) + (layers - len(laid)) * most


def tent(
    order: Order,
    blanket: Blanket,
    layers: int,
    *,
    face: Vec3,
    aim: Vec3,
    head: Head,
    head_corners: Sequence[Vec3],
    corners: Sequence[Vec3],
    pipe_radius_m: float,
) -> Wrap:
    """A tent from the head's face down to below the stop, closed underneath.

    `face` is the middle of the head's front face, `corners` what must fit inside (film pack, stop). The tent
    is a cone about the beam axis; its wall is measured along the radius, so that the layer's thickness is
    the one at right angles to the cloth. Pieces go round the convex outline of head, pipe, film and stop
    across the pipe, as far along it as the tent is wide; a layer takes at least what the tent's area does, and as many
    pieces as it is laid of (`tent_lay`).
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
    area = math.pi * (top + bottom) * math.hypot(height, bottom - top) + math.pi * bottom**2
    section = [(c[1], c[2]) for c in (*head_corners, *corners)] + list(circle(pipe_radius_m))
    widths = widths_for(2 * bottom, blanket)
    lay = tent_lay(blanket, top_m=top, foot_m=bottom, high_m=height)
    least = max(math.ceil(area / _useful_m2(blanket) - 1e-9), lay.pieces if lay else 0)
    laid = tuple(
        layer(
            blanket,
            round_m=round_m(section, off_m=MARGIN_M + (n - 0.5) * blanket.thickness_m),
            widths=widths,
            number=n,
            least=max(least, 2),
            seam_rad=math.radians(30),
        )
        for n in range(1, max(layers, 1) + 1)
    )
    if lay is not None:  # counted as they are laid: no piece is carried that has no place
        own = lay.across * lay.lengths
        laid = tuple(replace(one, lengths=lay.lengths, more=max(least, 2) - own) for one in laid)
    return Wrap(
        solids=tuple(s for s in (side, under) if s),
        layer_area_m2=area,
        outline=(
            f"tent from the head's face to its floor below film and stop: {2 * top * 1000:.0f} mm across at the head, "
            f"{2 * bottom * 1000:.0f} mm at the foot, {height * 1000:.0f} mm along the beam; "
            + (
                f"each layer {tent_said(lay)}"
                if lay
                else "the pieces slit where the pipe goes through, edges lapped close round it, closed underneath"
            )
        ),
        pieces_beside=widths,
        layers=laid,
        lay=lay,
    )


def _useful_m2(blanket: Blanket) -> float:
    return blanket.width_m * blanket.length_m * (1 - OVERLAP) ** 2


def sleeve_with_hood(
    order: Order,
    weld: Weld,
    blanket: Blanket,
    layers: int,
    *,
    head: Head,
    source_z: float,
    footprint_m: tuple[float, float],
    pack_m: float,
) -> Wrap:
    """A sleeve round pipe and film, and a hood over the head, for a head strapped on the pipe at clock 0.

    Each layer is as long as its own share of the shield asks (`_reaches_m`): one length for all would let the
    same dose past its ends however many layers lie on it. Where the beam's footprint (along, round) outgrows
    the blanket's width, larger pieces of the same cloth go on the far side and over the head, from inside as
    far as their stock goes. Without them a sleeve whose layers would leave much of their lengths over is wound on.
    """
    t = blanket.thickness_m
    matter = blanket_material(order, blanket)
    air = order_material(order, "air")
    inner = outside_radius(weld) + pack_m + MARGIN_M / 3
    least = max(footprint_m[0], head.body[0]) / 2 + SLEEVE_BESIDE_M
    spans = [
        _span_m(weld, half, least=least)
        for half in _reaches_m(order, weld, blanket, layers, footprint_along_m=footprint_m[0])
    ]
    large = larger_of_same_cloth(order.kit.blankets, blanket, along_m=footprint_m[0])
    left = large.count if large else 0
    bx, by, bz = head.body
    hood = 2 * (bx + by) * bz + bx * by
    laid, pipes = [], []
    rounds = [2 * math.pi * (inner + (n - 0.5) * t) for n in range(1, len(spans) + 1)]
    if large is None and not fills(blanket, rounds):
        turns = wound(blanket, spans_m=spans, rounds_m=rounds, more_m2=hood, opening_m=by / 2)
        laid = [one for one, _ in turns]
        pipes = [(n, middle, one.along_m) for n, (one, middle) in enumerate(turns, start=1)]
    for n, ((a, b), turn) in enumerate(zip(spans, rounds, strict=True) if not laid else (), start=1):
        middle = (a + b) / 2
        patch = patch_of(large, footprint_m=footprint_m, round_m=turn, hood_m2=hood) if large else None
        if large and patch and patch.pieces <= left:
            left -= patch.pieces
            one, middle = mixed_layer(blanket, large, patch, span_m=(a, b), round_m=turn, number=n)
        else:
            widths = widths_for(b - a, blanket)
            one = layer(blanket, round_m=turn, widths=widths, number=n, middle_m=middle, more_m2=hood)
        laid.append(one)
        # Whole pieces cover a little more than was asked for: they are drawn as they lie.
        pipes.append((n, middle, laid[-1].along_m))
    solids: list[Solid] = []
    if layers:
        solids += _sleeve(pipes, inner, t, blanket, order)
        whole, face_z = layers * t, source_z - head.source_to_face_m
        outer_h = (
            face_z + bz + whole
        )  # from the pipe's middle plane up, so that no gap is left beside the head
        solids += [
            Box("wrap over head", (0, 0, outer_h / 2), (bx + 2 * whole, by + 2 * whole, outer_h), matter),
            Box("under the hood", (0, 0, (outer_h - whole) / 2), (bx, by, outer_h - whole), air),
        ]
    widest = laid[0]
    wide = widest.beside + (widest.patch.beside if widest.patch else 0)
    return Wrap(
        solids=tuple(solids),
        layer_area_m2=widest.round_m * widest.along_m + hood,
        outline=(
            f"sleeve round the pipe over the film, {widest.along_m * 1000:.0f} mm long ({wide} wide)"
            + (
                f", outer layers down to {laid[-1].along_m * 1000:.0f} mm"
                if laid[-1].beside != widest.beside
                else ""
            )
            + (", wound on in turns" if layers and widest.turn else "")
            + ", slit for the head; hood over the head, down both sides to the pipe's middle"
            + (_large_said(laid) if layers and widest.patch else "")
        ),
        pieces_beside=wide,
        layers=tuple(laid),
    )


def _large_said(laid: Sequence[WrapLayer]) -> str:
    """Where the large pieces lie, in words."""
    patches = [one.patch for one in laid if one.patch is not None]
    first, n = patches[0], len(patches)
    which = "all layers" if n == len(laid) else "layer 1" if n == 1 else f"layers 1 to {n}"
    return (
        f"; {first.blanket} on the far side, {first.along_m * 1000:.0f} mm along the pipe, and over the head in "
        f"{which}"
    )


def _reaches_m(
    order: Order, weld: Weld, blanket: Blanket, layers: int, *, footprint_along_m: float
) -> list[float]:
    """Half lengths of the layers of a sleeve from inside, from the weld [m]; one for a bare set-up.

    What the beam scatters out of the lit patch crosses the bore and leaves through the wall beside the sleeve
    on a slant. Layer j of N must reach to where the slant way through the wall and the j - 1 layers under it
    holds as much mass as the straight way through the wall and all N: sin(angle) = (w + (j-1) a) / (w + N a)
    with w and a the masses per area of wall and layer, and the distance from the patch's edge is the inside
    diameter / tan(angle). Source: elementary geometry; equal mass as equal shield, our choice.
    """
    wall = weld.pipe.wall * order_material(order, weld.pipe.material).density_kg_m3
    a, n = blanket.areal_density_kg_m2, max(layers, 1)
    found = []
    for under in range(n):
        sine = (wall + under * a) / (wall + n * a)
        found.append(footprint_along_m / 2 + weld.pipe.bore * math.sqrt(1 - sine**2) / sine)
    return found


def _span_m(weld: Weld, half_m: float, *, least: float) -> tuple[float, float]:
    """From x to x of a sleeve that reaches `half_m` to both sides but not beyond straight pipe; at least `least`."""
    left, right = pipe_span(weld)
    return -max(least, min(half_m, -left)), max(least, min(half_m, right))


def _sleeve(
    pipes: Sequence[tuple[int, float, float]], inner: float, t: float, blanket: Blanket, order: Order
) -> list[Solid]:
    """Layers (number, middle, length) as tubes; neighbours of one length are one tube, the longest innermost first."""
    matter = blanket_material(order, blanket)
    solids: list[Solid] = []
    start = 0
    for i in range(1, len(pipes) + 1):
        if i < len(pipes) and pipes[i][1:] == pipes[start][1:]:
            continue
        _, middle, length = pipes[start]
        wall = (i - start) * t
        solids.append(Tube("wrap", (middle, 0, 0), X, inner + i * t, wall, length, matter))
        start = i
    return solids


def _to_and_fro(
    left: float, right: float, laid_m: float, middle_m: float, blanket: Blanket, layers: int
) -> tuple[float, float]:
    """Middle of a bore's sleeve and how far its layers lie to and fro of it, so that none overhangs an end [m].

    One overlap to and fro as in every wrap, less where there is less room between the pipe's ends.
    """
    room = max(right - left - laid_m, 0.0) / 2
    shift = min(blanket.width_m * OVERLAP, room) if layers > 1 else 0.0
    low, high = left + laid_m / 2 + shift, right - laid_m / 2 - shift
    return (min(max(middle_m, low), high) if low <= high else middle_m), shift


def _spread_shift(blanket: Blanket, step_m: float) -> float:
    """How far the inner widths of a spread sleeve lie to and fro: one overlap, and a lap keeps as much."""
    lap = blanket.width_m * OVERLAP
    return max(min(lap, blanket.width_m - step_m - lap), 0.0)


def _inner_to_and_fro(one: WrapLayer, blanket: Blanket, number: int) -> WrapLayer:
    """A layer spread between the pipe's ends: its outermost widths lie along them, those between to and fro.

    Two widths have none between: their lap, several hands wide, lies at one place in every layer.
    """
    if one.beside < 3:
        return one
    step = (one.along_m - blanket.width_m) / (one.beside - 1)
    by = math.copysign(_spread_shift(blanket, step), 1.0 if number % 2 else -1.0)
    moved = [0.0, *(by for _ in range(one.beside - 2)), 0.0]
    seams = tuple(x + (a + b) / 2 for x, a, b in zip(one.seams_x_m, moved, moved[1:], strict=False))
    return replace(one, seams_x_m=seams, low_m=one.seams_x_m[0] - step / 2 - blanket.width_m / 2)


def _from_to(middle: float, shift: float, laid_m: float, layers: int) -> str:
    """Where the layers of a sleeve begin and end along the pipe, in words."""

    def ends(x: float) -> str:
        return f"from x = {(x - laid_m / 2) * 1000:.0f} to {(x + laid_m / 2) * 1000:.0f} mm"

    if layers < 2 or shift < 0.0005:
        return ends(middle)
    return f"layers 1, 3 and so on {ends(middle + shift)}, the others {ends(middle - shift)}"


def sleeve_with_end_covers(
    order: Order, weld: Weld, blanket: Blanket, layers: int, *, film_radius_m: float, pack_m: float
) -> Wrap:
    """A sleeve outside the film of a source in the bore, and a cover over each open end.

    The sleeve is so long that beyond it the slanting way through the pipe wall holds as much mass as the
    straight way through wall and blankets, or it ends at the pipe's end. It is drawn and counted as long as its whole
    pieces lie, at most to the pipe's ends.
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
    widths = widths_for(b - a, blanket)
    laid_m, step = covered_m(widths, blanket), None
    if (
        widths > 1 and laid_m > right - left
    ):  # spread with wider laps, to end with the pipe: nothing stands over its ends
        laid_m, step = right - left, (right - left - blanket.width_m) / (widths - 1)
    # Slid along where it would overhang an end; a single width longer than the pipe is folded back at both ends.
    a = min(max((a + b - laid_m) / 2, left), max(right - laid_m, left))
    b = min(a + laid_m, right)
    solids: list[Solid] = []
    cover = outside_radius(weld) + END_COVER_M
    cover_of = cover_lay(2 * cover, blanket)
    ends = [x for x, n in ((left, weld.left), (right, weld.right)) if n.kind == "open end"]
    if layers:
        solids.append(Tube("wrap", ((a + b) / 2, 0, 0), X, inner + t, t, b - a, matter))
        for x in ends:
            out = math.copysign(t / 2, x)
            solids.append(
                Tube(f"end cover {'right' if x > 0 else 'left'}", (x + out, 0, 0), X, cover, None, t, matter)
            )
    rounds = [2 * math.pi * (inner + (n - 0.5) * blanket.thickness_m) for n in range(1, max(layers, 1) + 1)]
    if fills(blanket, rounds):
        middle, shift = _to_and_fro(left, right, laid_m, (a + b) / 2, blanket, layers)
        own = shift if step is None else 0.0  # spread, its outermost widths lie along the pipe's ends
        laid = tuple(
            layer(blanket, round_m=r, widths=widths, number=n, middle_m=middle, shift_m=own, step_m=step)
            for n, r in enumerate(rounds, start=1)
        )
        if step is not None:
            laid = tuple(_inner_to_and_fro(one, blanket, n) for n, one in enumerate(laid, start=1))
    else:
        # As long as its whole pieces lie in every turn, so that each width has all of them.
        middle, slant = _to_and_fro(left, right, laid_m, (a + b) / 2, blanket, 2)
        shift, span = 0.0, (middle - laid_m / 2, middle + laid_m / 2)
        if step is not None:
            slant = _spread_shift(blanket, step) if widths > 2 else 0.0
        turns = wound(blanket, spans_m=[span] * len(rounds), rounds_m=rounds, aslant_m=slant, step_m=step)
        laid = tuple(one for one, _ in turns)
    laid = tuple(replace(one, more=len(ends) * cover_of.pieces(n)) for n, one in enumerate(laid, start=1))
    laid = covered_laps(laid, blanket)
    return Wrap(
        solids=tuple(solids),
        layer_area_m2=2 * math.pi * (inner + t / 2) * (b - a) + len(ends) * math.pi * cover**2,
        outline=(
            f"sleeve outside the film, {laid_m * 1000:.0f} mm long ({widths} wide"
            + (", wound on in turns), " if layers and laid[0].turn else "), ")
            + _from_to(middle, shift, laid_m, layers)
            + (covers_said(ends, cover, cover_of) if ends else "")
        ),
        pieces_beside=widths,
        layers=laid,
    )
