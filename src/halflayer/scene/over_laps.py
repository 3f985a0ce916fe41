"""Pieces laid last, outside all layers, where laps along the pipe leave too little of the lap round it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from halflayer.order.equipment import Blanket
from halflayer.scene.wrap_layers import OVERLAP, WrapLayer, lap_m, round_laps_m


def covered_laps(layers: Sequence[WrapLayer], blanket: Blanket) -> tuple[WrapLayer, ...]:
    """The layers, the outermost with a piece over every lap round that is too short, as far as the stock goes.

    Only where one length closes a turn: then a piece once round, its middle on the seam, or at clock 0 where seams on
    both sides are short, reaches past all of them. As they were where the stock or a piece's size does not do: then a
    finding says what is left open. What the piece adds is in the mass, not in the dose.
    """
    laid = tuple(layers)
    at = _middles_m(laid, blanket)
    if not at or sum(one.pieces for one in laid) + len(at) > blanket.count:
        return laid
    return (*laid[:-1], replace(laid[-1], over_laps_m=at))


def short_laps(layers: Sequence[WrapLayer], blanket: Blanket) -> list[tuple[WrapLayer, float, float]]:
    """Layer, place along the pipe and lap round [m] where less than asked is left."""
    asked = OVERLAP * blanket.length_m
    return [one for one in round_laps_m(layers, blanket) if one[2] < asked - 0.0005]


def _middles_m(layers: tuple[WrapLayer, ...], blanket: Blanket) -> tuple[float, ...]:
    """Middles along the pipe of the fewest pieces that cover the short laps; none where a piece does not reach."""
    short = short_laps(layers, blanket)
    if not short or any(one.lengths != 1 for one, _, _ in short):
        return ()
    across = len({round(one.seam_clock_rad, 6) for one, _, _ in short}) > 1
    reach = layers[-1].round_m / 2 if across else 0.0
    if blanket.length_m < reach + 2 * OVERLAP * blanket.length_m:
        return ()
    spans = sorted((x - lap_m(one, blanket) / 2, x + lap_m(one, blanket) / 2) for one, x, _ in short)
    found: list[list[float]] = []
    for low, high in spans:
        if found and max(high, found[-1][1]) - found[-1][0] <= blanket.width_m + 1e-9:
            found[-1][1] = max(high, found[-1][1])
        else:
            found.append([low, high])
    return tuple((low + high) / 2 for low, high in found)
