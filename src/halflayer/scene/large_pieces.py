"""A layer of a strapped head's sleeve in two widths of one cloth: large pieces in the beam, small ones for the rest."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.order.equipment import Blanket
from halflayer.scene.wrap_layers import OVERLAP, Patch, WrapLayer, covered_m, widths_for

BEYOND_M = 0.10  # large pieces reach so far beyond the beam's footprint on each side, our choice


def larger_of_same_cloth(kinds: Sequence[Blanket], blanket: Blanket, *, along_m: float) -> Blanket | None:
    """The widest kind in stock that lies in the beam in place of `blanket`; None where its own width covers the beam.

    Of the same cloth (material, mass per area, thickness, tolerance), so that a layer is a layer wherever it is
    looked at, and what was computed for it holds for both: our choice.
    """
    if along_m <= blanket.width_m:
        return None
    cloth = _cloth(blanket)
    wider = [b for b in kinds if b.count and b.width_m > blanket.width_m and _cloth(b) == cloth]
    return max(wider, key=lambda b: b.width_m, default=None)


def _cloth(b: Blanket) -> tuple[str, float, float, float]:
    return b.material, b.areal_density_kg_m2, b.thickness_m, b.tolerance


def patch_of(large: Blanket, *, footprint_m: tuple[float, float], round_m: float, hood_m2: float) -> Patch:
    """Large pieces of one layer: over the beam's footprint (along, round) and its rim, and over the head.

    An open arc takes (arc - length) / (length (1 - overlap)) + 1 lengths, rounded up, a closed turn
    turn / (length (1 - overlap)): whichever is fewer.
    """
    along, across = (f + 2 * BEYOND_M for f in footprint_m)
    step = large.length_m * (1 - OVERLAP)
    closed = max(1, math.ceil(round_m / step - 1e-9))
    lengths = min(closed, max(1, math.ceil((across - large.length_m) / step + 1 - 1e-9)))
    beside = widths_for(along, large)
    return Patch(
        blanket=large.id,
        beside=beside,
        lengths=lengths,
        over_head=math.ceil(hood_m2 / (large.width_m * step * (1 - OVERLAP)) - 1e-9),
        along_m=covered_m(beside, large),
        round_m=round_m if lengths == closed else large.length_m + (lengths - 1) * step,
    )


def mixed_layer(
    small: Blanket,
    large: Blanket,
    patch: Patch,
    *,
    span_m: tuple[float, float],
    round_m: float,
    number: int,
    seam_rad: float = math.pi / 2,
) -> tuple[WrapLayer, float]:
    """The layer from `span_m[0]` to `span_m[1]` about the patch, and the middle of what its whole pieces cover [m].

    Rings of small widths on both sides of the patch, each lapping over its neighbour by a tenth of the small
    width; where the patch does not go all round, small pieces close the turn on the head's side. Seams of
    every second layer lie shifted to the other side, by that lap.
    """
    lap, half = OVERLAP * small.width_m, patch.along_m / 2
    step = small.width_m - lap
    left, right = (max(0, math.ceil((reach - half) / step - 1e-9)) for reach in (-span_m[0], span_m[1]))
    closing = small.length_m * (1 - OVERLAP)
    open_m = round_m - patch.round_m
    # The pieces that close the turn lap over the patch at both ends.
    fill = widths_for(patch.along_m, small) * math.ceil((open_m + OVERLAP * small.length_m) / closing - 1e-9)
    side = 1.0 if number % 2 else -1.0
    seams = [-half + lap / 2 - n * step for n in reversed(range(left))]
    wide = large.width_m * (1 - OVERLAP)
    seams += [wide * (n - (patch.beside - 2) / 2) for n in range(patch.beside - 1)]
    seams += [half - lap / 2 + n * step for n in range(right)]
    layer = WrapLayer(
        round_m=round_m,
        along_m=patch.along_m + (left + right) * step,
        beside=left + right,
        lengths=max(1, math.ceil(round_m / closing - 1e-9)) if left + right else 0,
        more=fill if open_m > 1e-9 else 0,
        seams_x_m=tuple(x + side * lap for x in seams),
        seam_clock_rad=side * seam_rad,
        patch=patch,
    )
    return layer, (right - left) * step / 2
