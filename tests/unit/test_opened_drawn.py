"""Every dimension that a drawing of the example's set-ups prints has a name, and its value from its own inputs."""

from __future__ import annotations

import math
import re
from functools import cache

import pytest

from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.scene.build import Built, build_scene
from halflayer.scene.fitting import Fitting
from halflayer.sheet.covers_laid import as_laid
from halflayer.sheet.drawn_opened import drawn_figures, edge_figures
from halflayer.sheet.figures import Show
from halflayer.sheet.laying import laying
from halflayer.sheet.settings import by_id
from halflayer.sheet.setup_drawing import setup_drawing
from halflayer.sheet.subject import Subject
from halflayer.shielding.kit import blanket_kind
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate
from order_cases import EXAMPLES

# plates and layers about as the plan has them
FITTINGS = {
    "W3": (1, 0),
    "W4": (2, 0),
    "W5": (1, 0),
    "W7": (0, 3),
    "W10": (0, 5),
    "W11": (1, 0),
    "W12": (0, 0),
}


@cache
def example() -> Order:
    return read_order(EXAMPLES / "tarn-mill.yaml")


def set_up(weld_id: str) -> tuple[Candidate, Fitting, Built]:
    order = example()
    plates, layers = FITTINGS[weld_id]
    chosen = choose_technique(order, order.weld(weld_id)).admissible[0]
    fitting = Fitting(plates, "PB-4" if plates else None, layers, "BN-25" if layers else None)
    return chosen, fitting, build_scene(order, order.weld(weld_id), chosen, chosen.shots[0], fitting)


def values(found: list[Derived]) -> dict[str, float]:
    return {d.name: float(d.value) for d in found if isinstance(d.value, int | float)}


@pytest.mark.parametrize("weld_id", list(FITTINGS))
def test_every_dimension_of_page_1_is_opened(weld_id: str) -> None:
    order, show = example(), Show(example().units)
    weld = order.weld(weld_id)
    chosen, fitting, built = set_up(weld_id)
    found = drawn_figures(order, weld, chosen, fitting, built)
    scene = as_laid(weld, built.scene, blanket_kind(order, fitting))
    subject = Subject(order, weld, chosen, fitting, built, scene, show)
    svg = setup_drawing(subject, width_mm=122.0, height_mm=160.2).svg
    printed = set(re.findall(r'class="figure">([^<]+?)(?: gap| stop)?<', svg))
    named = values(found)
    told = {show.drawn(v) for v in named.values()} | {show.outside(weld.pipe.od)}
    # the plate across the pipe in the end elevation is a size of the kit
    told |= {show.drawn(p.across_m) for p in order.kit.plates if p.id == fitting.plate}
    assert printed and printed <= told
    for d in found:
        ends = {i.name: float(i.value) for i in d.inputs if isinstance(i.value, int | float)}
        if "from" in ends:
            assert d.value == pytest.approx(abs(ends["to"] - ends["from"]))


def test_a_stop_stands_its_gap_behind_film_and_pack() -> None:
    """W11: the film lies inside, and the plates the order's 30 mm off the pipe."""
    order = example()
    chosen, fitting, built = set_up("W11")
    named = values(drawn_figures(order, order.weld("W11"), chosen, fitting, built))
    assert named["drawn_pipe_to_stop"] == pytest.approx(order.kit.stop_gap_m)
    assert named["drawn_stop_along"] == pytest.approx(0.3)


def test_a_skewed_shroud_is_longer_at_its_level_foot() -> None:
    """170 mm inside and two walls of 5 mm, cut level under a lean: by elementary geometry."""
    order = example()
    chosen, fitting, built = set_up("W4")
    named = values(drawn_figures(order, order.weld("W4"), chosen, fitting, built))
    assert named["drawn_shroud_foot"] == pytest.approx(0.180 / math.cos(chosen.geometry.tilt_rad))
    show = Show(order.units)
    shield = type("S", (), {"fitting": fitting, "items": ()})()
    drawn = laying(order, order.weld("W4"), chosen, shield, built, show)
    assert drawn is not None and f">{show.drawn(named['drawn_shroud_foot'])}<" in drawn["svg"]


@pytest.mark.parametrize("weld_id", ["W7", "W10"])
def test_edges_of_pieces_and_their_laps_are_opened(weld_id: str) -> None:
    """Widths of 300 mm side by side: each ends 300 mm on, a lap lies in the middle of two edges."""
    order = example()
    _, fitting, built = set_up(weld_id)
    blanket = by_id(order.kit.blankets, fitting.blanket)
    assert blanket is not None
    named = values(edge_figures(built.wrap.layers[: fitting.layers], built, blanket))
    n = 1
    while f"layer_1_width_{n}_begins" in named:
        ends = named[f"layer_1_width_{n}_ends"]
        assert ends - named[f"layer_1_width_{n}_begins"] == pytest.approx(blanket.width_m)
        if (after := named.get(f"layer_1_width_{n + 1}_begins")) is not None:
            assert named[f"layer_1_lap_{n}"] == pytest.approx((ends + after) / 2)
        n += 1
    assert n > 2
