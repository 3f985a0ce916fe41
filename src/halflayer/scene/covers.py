"""How pieces of blanket make a cover over a pipe's open end: upright strips, folded where they are long enough."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.order.equipment import Blanket
from halflayer.scene.wrap_layers import OVERLAP, covered_m, widths_for


@dataclass(frozen=True)
class CoverLay:
    """How pieces make a cover over an open end: upright strips side by side, each piece whole.

    A piece long enough is folded, none is cut: `folds` layers at a time; a short one is pieced `end_to_end`.
    """

    strips: int
    folds: int
    end_to_end: int

    def pieces(self, layer: int) -> int:
        """Pieces of one cover that a layer, counted from 1, brings; none where a fold of the one before is it."""
        return self.strips * self.end_to_end if (layer - 1) % self.folds == 0 else 0


def cover_lay(across_m: float, blanket: Blanket) -> CoverLay:
    """The lay of a cover so far across.

    >>> from types import SimpleNamespace as S
    >>> cover_lay(0.524, S(width_m=0.3, length_m=1.2))
    CoverLay(strips=2, folds=2, end_to_end=1)
    """
    strips = widths_for(across_m, blanket)
    folds = max(1, math.floor(blanket.length_m / across_m + 1e-9))
    if blanket.length_m >= across_m:
        return CoverLay(strips, folds, 1)
    return CoverLay(strips, 1, math.ceil(across_m / (blanket.length_m * (1 - OVERLAP)) - 1e-9))


def cover_size_m(lay: CoverLay, blanket: Blanket) -> tuple[float, float]:
    """How wide and how high a cover is as it is laid, of whole pieces: more than it has to be [m]."""
    run = blanket.length_m * (1 + (lay.end_to_end - 1) * (1 - OVERLAP))
    return covered_m(lay.strips, blanket), run / lay.folds


def covers_said(ends: Sequence[float], cover_m: float, lay: CoverLay) -> str:
    """Size, place and pieces of the covers, in words."""
    where = " and ".join(f"x = {x * 1000:.0f} mm" for x in ends)
    n = lay.pieces(1)
    each = f"{n} piece{'s' if n > 1 else ''}"
    how = f"{each} a layer" if lay.folds == 1 else f"{each} for {lay.folds} layers, folded"
    both = ", each" if len(ends) > 1 else ""
    return (
        f"; last of all a cover over the open end at {where}, {2 * cover_m * 1000:.0f} mm across: {how}{both}"
    )
