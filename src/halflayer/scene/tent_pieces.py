"""How the pieces of one layer make a tent: under the stop and up the flanks, along the pipe up both ends, a collar."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.equipment import Blanket
from halflayer.scene.wrap_layers import OVERLAP, covered_m, widths_for

MOST_END_TO_END = 4  # lengths laid end to end in one run, our choice


@dataclass(frozen=True)
class TentLay:
    """Pieces of one layer of a tent, a cone about the beam axis [m].

    `across` widths side by side lie under the stop, across the pipe, and come up both flanks; `along` lie under it
    along the pipe and come up both ends, slit for the pipe; each of `lengths` pieces end to end. `collar` pieces go
    round the top under the head's face, in `rows` rows, and lap over the others.
    """

    top_m: float  # inner radius at the head's face
    foot_m: float  # and at the foot
    high_m: float
    across: int
    along: int
    lengths: int
    collar: int
    rows: int
    up_m: float  # how far the pieces from below come up the cone's side
    down_m: float  # how far the collar comes down it
    gap_m: float  # between the edges of the pieces across, at each end of the foot, where those along lie

    @property
    def pieces(self) -> int:
        """Pieces of one layer."""
        return (self.across + self.along) * self.lengths + self.collar

    @property
    def side_m(self) -> float:
        """Length of the cone's side from the head's face to the foot."""
        return math.hypot(self.high_m, self.foot_m - self.top_m)


def tent_lay(blanket: Blanket, *, top_m: float, foot_m: float, high_m: float) -> TentLay | None:
    """The lay with the fewest pieces that leaves nothing of the cone and its foot open; None where none is found.

    A run of n lengths comes up (length run - 2 foot) / 2 on both sides. The collar starts at the head's face and laps
    over it; where it has to close it goes round 2 pi r of the cone. What the pieces across leave open of the foot's
    circle at each end is pi foot - their width. Source: elementary geometry; laps as everywhere (`OVERLAP`).
    """
    w, length = blanket.width_m, blanket.length_m
    side = math.hypot(high_m, foot_m - top_m)
    across = widths_for(2 * foot_m, blanket)
    gap = math.pi * foot_m - covered_m(across, blanket)
    along = widths_for(gap + 2 * OVERLAP * w, blanket) if gap > 0 else 0
    found: list[TentLay] = []
    for n in range(1, MOST_END_TO_END + 1):
        up = (length + (n - 1) * length * (1 - OVERLAP) - 2 * foot_m) / 2
        if up <= 0:
            continue
        up = min(up, side)
        need = side - up + (OVERLAP * w if up < side else 0.0)
        rows = widths_for(need, blanket) if need > 1e-9 else 0
        closes = 2 * math.pi * (top_m + (foot_m - top_m) * min(need, side) / side)
        collar = rows * max(1, math.ceil(closes / (length * (1 - OVERLAP)) - 1e-9)) if rows else 0
        down = min(covered_m(rows, blanket), side) if rows else 0.0
        found.append(TentLay(top_m, foot_m, high_m, across, along, n, collar, rows, up, down, max(gap, 0.0)))
    return min(found, key=lambda one: one.pieces, default=None)


def tent_said(lay: TentLay) -> str:
    """The lay in words, for one layer, its pieces by number in the order in which they are laid."""
    run = f" ({lay.lengths} end to end each)" if lay.lengths > 1 else ""
    several = "side by side from the left, the last on top, " if lay.across > 1 else ""
    a, b = lay.along * lay.lengths, lay.across * lay.lengths
    words = f"{pieces_said(1 + a, b)} {several}across the pipe underneath and up both flanks{run}"
    if lay.along:
        words = f"{pieces_said(1, a)} along the pipe underneath and up both ends, slit over the pipe{run}, then {words}"
    up = f", each {lay.up_m * 1000:.0f} mm up" if lay.up_m < lay.side_m else ", up to the head's face"
    if not lay.collar:
        return words + up
    return (
        f"{words}{up}; the collar, {pieces_said(1 + a + b, lay.collar)}, round the top, tied in round the head at its "
        f"face, {lay.down_m * 1000:.0f} mm down over the others"
    )


def pieces_said(first: int, n: int) -> str:
    """Pieces by their numbers.

    >>> pieces_said(1, 1), pieces_said(2, 2), pieces_said(4, 3)
    ('piece 1', 'pieces 2 and 3', 'pieces 4 to 6')
    """
    last = first + n - 1
    return f"piece {first}" if n == 1 else f"pieces {first} {'and' if n == 2 else 'to'} {last}"
