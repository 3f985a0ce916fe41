"""Blankets of a wrap, layer by layer from inside: length round, extent along the pipe, pieces, where seams lie."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.order.equipment import Blanket

OVERLAP = 0.10  # share of a piece that lies over its neighbour, our choice; printed on the sheet


@dataclass(frozen=True)
class Patch:
    """Large pieces within a layer: on the far side, where the beam outgrows the small ones, and over the head [m]."""

    blanket: str
    beside: int
    lengths: int
    over_head: int
    along_m: float
    round_m: float  # the arc they cover; the whole turn where they close it

    @property
    def pieces(self) -> int:
        """Large pieces of the layer."""
        return self.beside * self.lengths + self.over_head


@dataclass(frozen=True)
class Turn:
    """A layer as a turn of a wound sleeve [m]: what is wound under it, where it lies, where pieces begin."""

    before_m: float  # length of the turns under it
    low_m: float  # its lower end along the pipe
    begins_m: tuple[float, ...]  # of the pieces that begin in it, from the turn's own beginning
    opening_m: float | None  # half the width round of the opening for the head; None without a head
    aslant_m: (
        float  # a piece begins so far to one side of its place along the pipe and ends so far to the other
    )
    step_m: float  # from a width to the next along the pipe
    ends_straight: bool = False  # the outermost widths lie along the pipe's ends and are not laid aslant


@dataclass(frozen=True)
class WrapLayer:
    """One layer, counted from inside [m]: what its pieces go round and along, how many, where their seams lie.

    Of a wound sleeve (`turn`) `lengths` counts the pieces of each width that begin in this layer.
    `seams_x_m` are the middles of the overlaps between widths; `seam_clock_rad` the clock of the closing seam,
    from the source's clock on. Where there is a `patch` of large pieces, all other figures speak of the small ones.
    """

    round_m: float
    along_m: float
    beside: int  # widths side by side along the pipe
    lengths: int  # lengths end to end round it
    more: int  # further pieces: hood, underside, end covers
    seams_x_m: tuple[float, ...]
    seam_clock_rad: float
    patch: Patch | None = None
    turn: Turn | None = None
    low_m: float | None = None  # lower end along the pipe, where only the inner widths lie to and fro
    over_laps_m: tuple[float, ...] = ()  # middles of pieces laid last, outside all, over laps round too short

    @property
    def pieces(self) -> int:
        """Pieces of this layer, those of its patch left out."""
        return self.beside * self.lengths + self.more + len(self.over_laps_m)


def widths_for(along_m: float, blanket: Blanket) -> int:
    """Widths side by side that cover an extent along the pipe.

    Formula: ceil((along - width) / (width (1 - overlap)) + 1), at least 1.
    """
    step = blanket.width_m * (1 - OVERLAP)
    return max(1, math.ceil((along_m - blanket.width_m) / step + 1 - 1e-9))


def covered_m(widths: int, blanket: Blanket) -> float:
    """Extent along the pipe that so many widths with their overlaps cover [m]."""
    return blanket.width_m + (widths - 1) * blanket.width_m * (1 - OVERLAP)


def layer(
    blanket: Blanket,
    *,
    round_m: float,
    widths: int,
    number: int,
    middle_m: float = 0.0,
    more_m2: float = 0.0,
    least: int = 0,
    seam_rad: float = math.pi / 2,
    shift_m: float | None = None,
    step_m: float | None = None,
) -> WrapLayer:
    """One layer laid out in pieces.

    `number` from 1 on turns the closing seam to the other side in every second layer, and shifts the widths by one
    overlap to and fro, so that no seam lies on another; `more_m2` is what has to
    be covered beside the turn round (hood, underside);
    `shift_m` in place of one overlap where there is less room; `step_m` from a width to the next where they lap by
    more than the one overlap; `least` pieces in all. A closed turn takes
    ceil(round / (length (1 - overlap))) lengths: the last laps over the first.
    """
    lengths = max(1, math.ceil(round_m / (blanket.length_m * (1 - OVERLAP)) - 1e-9))
    piece = blanket.width_m * blanket.length_m * (1 - OVERLAP) ** 2
    more = math.ceil(more_m2 / piece - 1e-9) if more_m2 > 0 else 0
    more += max(0, least - widths * lengths - more)
    step = blanket.width_m * (1 - OVERLAP) if step_m is None else step_m
    side = 1.0 if number % 2 else -1.0
    start = middle_m + side * (blanket.width_m * OVERLAP if shift_m is None else shift_m)
    seams = tuple(start + step * (i - (widths - 2) / 2) for i in range(widths - 1))
    along = blanket.width_m + (widths - 1) * step
    return WrapLayer(round_m, along, widths, lengths, more, seams, side * seam_rad)


def lap_m(one: WrapLayer, blanket: Blanket) -> float:
    """By how much neighbouring widths of a layer lap along the pipe [m]; of one with large pieces the small ones."""
    if one.beside < 2 or one.patch is not None:
        return blanket.width_m * OVERLAP
    return (one.beside * blanket.width_m - one.along_m) / (one.beside - 1)


def least_round_lap_m(layers: Sequence[WrapLayer], blanket: Blanket) -> float:
    """The least by which lengths round the pipe lap, where the laps of widths along it lie one over another [m].

    Formula: lengths less the round, its middle 2 pi thickness farther out in all for every lap under it (its own one
    too), shared among the lengths; never above the lap asked. Of a wound sleeve and beside large pieces the lap asked.
    """
    return min([OVERLAP * blanket.length_m, *(left for _, _, left in round_laps_m(layers, blanket))])


def round_laps_m(layers: Sequence[WrapLayer], blanket: Blanket) -> list[tuple[WrapLayer, float, float]]:
    """Layer, place along the pipe and what is left of the lap round it there [m] (`least_round_lap_m`)."""
    found = []
    for n, one in enumerate(layers):
        if one.turn is not None or one.patch is not None:
            continue
        for x in one.seams_x_m:
            under = 1 + sum(
                any(abs(x - s) < (lap_m(one, blanket) + lap_m(other, blanket)) / 2 for s in other.seams_x_m)
                for other in layers[:n]
            )
            over = one.lengths * blanket.length_m - one.round_m - 2 * math.pi * blanket.thickness_m * under
            # Where a piece is longer than asked the row of pieces is drawn out: more than asked is no matter here.
            found.append((one, x, over / one.lengths))
    return found


def said(layers: tuple[WrapLayer, ...]) -> str:
    """The layers in words, equal neighbours together: what to lay, from inside."""
    groups: list[list[WrapLayer]] = []
    for one in layers:
        if groups and _alike(groups[-1][0]) == _alike(one):
            groups[-1].append(one)
        else:
            groups.append([one])
    parts, first = [], 1
    for group in groups:
        last = first + len(group) - 1
        name = f"layer {first}" if last == first else f"layers {first} to {last}"
        parts.append(f"{name}: {_wound_said(group) if group[0].turn else _pieces_said(group[-1])}")
        first = last + 1
    return "; ".join(parts)


def _alike(one: WrapLayer) -> tuple[int, ...]:
    p = one.patch
    if one.turn:
        return (one.beside, -1, one.more)  # pieces go from turn to turn
    more = one.more + len(one.over_laps_m)
    return (one.beside, one.lengths, more, *((p.beside, p.lengths, p.over_head) if p else ()))


def _wound_said(group: list[WrapLayer]) -> str:
    begun, others = sum(one.beside * one.lengths for one in group), sum(one.more for one in group)
    more = f" and {others} more" if others else ""
    last = group[-1]
    return (
        f"{last.beside} wide, wound on, {begun} begun{more} "
        f"({last.along_m * 1000:.0f} mm along, up to {last.round_m * 1000:.0f} mm round)"
    )


def _pieces_said(one: WrapLayer) -> str:
    others = one.more + len(one.over_laps_m)
    more = f" and {others} more" if others else ""
    own = f"{one.beside} wide x {one.lengths} round{more}"
    if one.patch is not None:
        p = one.patch
        sides = f", beside it {own}" if one.beside else (f",{more.removeprefix(' and')}" if more else "")
        own = f"{p.blanket} {p.beside} wide x {p.lengths} round on the far side and {p.over_head} over the head{sides}"
    return f"{own} ({one.along_m * 1000:.0f} mm along, up to {one.round_m * 1000:.0f} mm round)"
