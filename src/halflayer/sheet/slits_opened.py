"""Openings for the head in a sleeve laid layer by layer, opened: where on each piece its slits begin and end."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.base.result import Derived
from halflayer.order.equipment import Blanket
from halflayer.scene.build import Built
from halflayer.scene.head_openings import flat_openings_m
from halflayer.scene.sleeves import all_layers
from halflayer.scene.wrap_layers import OVERLAP, WrapLayer
from halflayer.sheet.laying import hood_of

GEOMETRY = "elementary geometry"


def slit_figures(laid: Sequence[WrapLayer], built: Built, blanket: Blanket) -> list[Derived]:
    """Middle, lower and upper end of every opening, by piece; nothing of a wound sleeve, large pieces, no head."""
    hood = hood_of(built)
    if hood is None or built.wrap.lay is not None or any(one.turn or one.patch for one in laid):
        return []
    layers = all_layers(built, tuple(laid), blanket)
    opened = flat_openings_m(layers, blanket, hood.along / 2, hood.across / 2)
    half = Derived("half the head", hood.along / 2, "m", basis="along the pipe")
    length = Derived("length", blanket.length_m, "m", source="kit of the order")
    lap = Derived("lap", OVERLAP, "1", basis="share of a piece that lies over its neighbour, our choice")
    found, number = [], 0
    for layer in layers:
        one = layer.one
        seam = Derived("seam", abs(one.seam_clock_rad), "rad", basis="from the source's clock")
        turn = Derived("round", one.round_m, "m", basis=f"opened under layer_{layer.number}_round")
        for low, _ in layer.pieces:
            edge = Derived("edge at -x", low, "m", basis="along the pipe from the weld, + to the right")
            for i in range(one.lengths):
                number += 1
                place = Derived("place in its width", i + 1, "1")
                for n, (at, a, b) in enumerate(opened[number - 1], start=1):
                    name = f"piece_{number}_slit_{n}"
                    found.append(
                        Derived(
                            name,
                            at,
                            "m",
                            formula="(1 - seam / 2 pi) x round + further turns - (place in its width - 1) x length x "
                            "(1 - lap)",
                            inputs=(seam, turn, place, length, lap),
                            source=GEOMETRY,
                            basis="middle of the opening for the head, from the piece's beginning, over the far side",
                        )
                    )
                    for word, x in (("begins", a), ("ends", b)):
                        found.append(
                            Derived(
                                f"{name}_{word}",
                                x,
                                "m",
                                formula=f"{'-' if word == 'begins' else ''}half the head - edge at -x, on the piece",
                                inputs=(half, edge),
                                source=GEOMETRY,
                                basis="from the piece's edge at -x",
                            )
                        )
    return found
