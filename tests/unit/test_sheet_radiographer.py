"""What a radiographer reads the sheets for: a log, laps that fit the pipe, no lap below nothing."""

from __future__ import annotations

import re
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

import plan_factory
from halflayer.exposure.budget import sheets_for
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.plan import Plan
from halflayer.scene.sleeves import sleeves
from halflayer.scene.wrap import sleeve_with_end_covers
from halflayer.sheet import dims
from halflayer.sheet.figures import Show
from halflayer.sheet.log_table import SPARE, log_data
from halflayer.sheet.stand_rows import stand_rows
from halflayer.sheet.svg import Canvas
from halflayer.sheet.typeface import text_width
from halflayer.sheet.ways_in import alike

EXAMPLE = Path(__file__).parents[2] / "examples" / "tarn-mill.yaml"


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_factory.plan()


def test_every_exposure_has_a_row_of_the_log_and_a_stopped_weld_has_none(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    for w in plan.welds:
        log = log_data(order, w)
        if w.status != "ready" or w.chosen is None:
            assert log is None
            continue
        sheets = sheets_for(order, order.weld(w.weld), w.chosen)  # of a bore each sheet is read by itself
        assert log is not None and len(log["shots"]) == len(w.chosen.shots) * sheets + SPARE
        assert log["people"] == [p.name for p in order.crew]


def test_the_sleeve_of_a_bore_overhangs_no_end() -> None:
    """By hand: 870 mm from end to end, three widths of 300 mm lapping 30 mm are 840 mm, so 15 mm to and fro of +15.

    Wound on, for two lengths of 1.2 m would leave a metre of each round of 1.1 m over; with lengths of 0.7 m two close
    1.1 m and leave 0.16 m, so that each layer is laid for itself.
    """
    order = read_order(EXAMPLE)
    weld, blanket = order.weld("W10"), order.kit.blankets[0]
    wrap = sleeve_with_end_covers(order, weld, blanket, 4, film_radius_m=0.1638, pack_m=0.005)
    assert [one.along_m for one in wrap.layers] == pytest.approx([0.84] * 4)
    for one in wrap.layers:
        assert one.seams_x_m == pytest.approx((-0.120, 0.150))
        assert one.turn is not None and one.turn.low_m == pytest.approx(-0.405)
        assert one.turn.aslant_m == pytest.approx(0.015)
    assert "from x = -405 to 435 mm" in wrap.outline
    short = blanket.model_copy(update={"length_m": 0.7})
    wrap = sleeve_with_end_covers(order, weld, short, 4, film_radius_m=0.1638, pack_m=0.005)
    for n, one in enumerate(wrap.layers):
        expected = (-0.105, 0.165) if n % 2 == 0 else (-0.135, 0.135)
        assert one.turn is None
        assert one.seams_x_m == pytest.approx(expected)
        # a lap is 30 mm wide, a piece goes on 285 mm beyond its middle
        assert one.seams_x_m[0] - 0.285 >= -0.420 - 1e-9 and one.seams_x_m[-1] + 0.285 <= 0.450 + 1e-9
    assert "from x = -390 to 450 mm" in wrap.outline and "from x = -420 to 420 mm" in wrap.outline


def test_every_layer_of_a_spread_sleeve_ends_with_the_pipe() -> None:
    """Two widths of 700 mm on 870 mm lap 530 mm from -250 to 280 in every layer, middle +15; of four of 300 mm, 110 mm
    of lap each, the two inner ones lie 30 mm to and fro: -230 + 30 to 70 + 30 after an edge at -120.
    """
    order = read_order(EXAMPLE)
    weld = order.weld("W10")
    wide = next(b for b in order.kit.blankets if b.width_m == 0.7)
    for blanket, seams in (
        (wide, [(0.015,), (0.015,)]),
        (order.kit.blankets[0].model_copy(update={"length_m": 0.75}),
         [(-0.160, 0.045, 0.220), (-0.190, -0.015, 0.190)]),
    ):  # fmt: skip
        wrap = sleeve_with_end_covers(order, weld, blanket, 6, film_radius_m=0.1638, pack_m=0.005)
        assert all(one.turn is None for one in wrap.layers)
        assert [one.seams_x_m for one in wrap.layers] == [pytest.approx(x) for x in seams * 3]
        built: Any = SimpleNamespace(scene=SimpleNamespace(solids=wrap.solids))
        for strip in sleeves(built, wrap.layers, blanket):
            assert (strip.pieces[0][0], strip.pieces[-1][1]) == (pytest.approx(-0.42), pytest.approx(0.45))
            assert all(b - a == pytest.approx(blanket.width_m) for a, b in strip.pieces)
        assert "from x = -420 to 450 mm" in wrap.outline


def test_reasons_that_differ_by_a_distance_stand_once() -> None:
    assert alike(["opens 1.9 m outside", "is locked", "opens 400 mm outside", "opens 3 m outside"]) == [
        "opens 400 mm to 3 m outside",
        "is locked",
    ]


def test_a_figure_stands_beside_the_line_that_would_strike_it() -> None:
    """On a line 30 mm long: in its middle, beside a line that comes down there, and under it where no gap holds it."""

    def left(lines: list[dims.Dim]) -> tuple[float, float]:
        canvas = Canvas(100.0, 40.0)
        dims.below(canvas, [dims.Dim((20.0, 0.0), (50.0, 0.0), "30 mm"), *lines], y=10.0)
        x, y = re.search(r'x="([\d.]+)" y="([\d.]+)"[^>]*>30 mm<', canvas.render()).groups()  # type: ignore[union-attr]
        return float(x), float(y)

    wide = text_width("30 mm", dims.SIZE_MM)
    on = 10.0 - 0.7
    assert left([]) == (pytest.approx(35.0 - wide / 2, abs=0.01), on)
    x, y = left([dims.Dim((35.0, 0.0), (70.0, 0.0), "35 mm", 1)])
    assert y == on and (x + wide < 35.0 or x > 35.0)
    four = [dims.Dim((20.0 + 6.0 * k, 0.0), (80.0, 0.0), "x", k) for k in range(1, 5)]
    assert left(four) != (pytest.approx(35.0 - wide / 2, abs=0.01), on)


def test_a_clamp_goes_round_the_insulation(plan: Plan) -> None:
    """48.3 mm of pipe (the example's W5) in 25 mm of wool is 98.3 mm round which the clamp goes."""
    order = read_order(EXAMPLE)
    weld = order.weld("W5")
    chosen = next(w.chosen for w in plan.welds if w.chosen and w.chosen.clamp_x_m is not None)
    assert weld.insulation is not None and weld.insulation.removed_m == 0.4
    off = stand_rows(order, weld, chosen, Show())[0]["note"]
    assert "on the pipe, insulation off (48.3 mm)" in off or "on the pipe, insulation off (48 mm)" in off
    left = weld.insulation.model_copy(update={"removed_m": None})
    clamp = stand_rows(order, weld.model_copy(update={"insulation": left}), chosen, Show())[0]
    assert (
        "round the insulation (98.3 mm)" in clamp["note"] or "round the insulation (98 mm)" in clamp["note"]
    )
    bare = weld.model_copy(update={"insulation": None})
    assert "insulation" not in stand_rows(order, bare, chosen, Show())[0]["note"]
