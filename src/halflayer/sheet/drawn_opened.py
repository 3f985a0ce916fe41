"""Dimensions that a weld's sheet prints in its drawings alone, opened: the set-up on page 1, the sleeve unrolled."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.base.result import Derived
from halflayer.order.equipment import Blanket, Shroud
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.fitting import Fitting
from halflayer.scene.sleeves import all_layers, sleeves
from halflayer.scene.wrap_layers import WrapLayer
from halflayer.sheet.covers_laid import as_laid
from halflayer.sheet.figures import Show
from halflayer.sheet.settings import by_id
from halflayer.sheet.subject import Subject
from halflayer.shielding.kit import blanket_kind
from halflayer.technique.result import Candidate

BUILT = "exact geometry of the set-up of exposure 1, as it is drawn"


def drawn_figures(order: Order, weld: Weld, c: Candidate, fitting: Fitting, built: Built) -> list[Derived]:
    """Every dimension of the side elevation by name, and how long a shroud is at its foot."""
    scene = as_laid(weld, built.scene, blanket_kind(order, fitting))
    s = Subject(order, weld, c, fitting, built, scene, Show(order.units))
    along = "from the weld along the pipe, + to the right (of an upright pipe: up)"
    across = "from the pipe's axis, + towards the source"
    found = []
    for spans, origin in ((s.axial, along), (s.across, across)):
        for span in spans:
            ends = (
                Derived("from", span.a_m, "m", basis=origin),
                Derived("to", span.b_m, "m", basis=origin),
            )
            found.append(
                Derived(
                    span.name,
                    abs(span.b_m - span.a_m),
                    "m",
                    formula="|to - from|",
                    inputs=ends,
                    source=BUILT,
                    basis="dimension of the side elevation on page 1",
                )
            )
    shroud = by_id(order.kit.shrouds, c.shroud)
    return [*found, _foot(shroud, c)] if shroud is not None else found


def _foot(shroud: Shroud, c: Candidate) -> Derived:
    """How long a shroud is at its foot, along the pipe: cut level where its walls lean with the head."""
    inside = Derived("inside along", shroud.inner[0], "m", source="kit of the order")
    wall = Derived("wall", shroud.wall_m, "m", source="kit of the order")
    lean = Derived("lean", c.geometry.tilt_rad, "rad", basis="of the head")
    return Derived(
        "drawn_shroud_foot",
        (shroud.inner[0] + 2 * shroud.wall_m) / math.cos(c.geometry.tilt_rad),
        "m",
        formula="(inside along + 2 x wall) / cos(lean)",
        inputs=(inside, wall, lean),
        source="elementary geometry",
        basis="outside, along the pipe, where the shroud is drawn closed",
    )


def edge_figures(laid: Sequence[WrapLayer], built: Built, blanket: Blanket) -> list[Derived]:
    """Where the pieces of a layer begin and end along the pipe, and where their laps lie; nothing of a tent."""
    if built.wrap.lay is not None or any(one.patch for one in laid):
        return []
    found = []
    width = Derived("width", blanket.width_m, "m", source="kit of the order")
    basis = "along the pipe from the weld, + to the right"
    each = sleeves if laid[0].turn is not None else all_layers
    for strip in each(built, tuple(laid), blanket):
        for n, (begin, end) in enumerate(strip.pieces, start=1):
            at = Derived("begin", begin, "m", basis=basis)
            for word, x in (("begins", begin), ("ends", end)):
                found.append(
                    Derived(
                        f"layer_{strip.number}_width_{n}_{word}",
                        x,
                        "m",
                        formula="begin" if word == "begins" else "begin + width",
                        inputs=(at,) if word == "begins" else (at, width),
                        source="widths side by side over the sleeve, with their laps",
                        basis=f"{basis}; width {n} of layer {strip.number}",
                    )
                )
    for n, one in enumerate(laid, start=1):
        for k, x in enumerate(one.seams_x_m, start=1):
            found.append(
                Derived(
                    f"layer_{n}_lap_{k}",
                    x,
                    "m",
                    formula="middle of the lap of two widths",
                    source="widths side by side over the sleeve, with their laps",
                    basis=f"{basis}; lap {k} of layer {n}",
                )
            )
    return found
