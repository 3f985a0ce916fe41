"""What an inspector asks: the time recomputed, markers at ends, relief as margin, pieces as they are laid."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import plan_factory
from exposure_cases import MOMENT, built, candidate, order, without_monte_carlo
from halflayer.exposure.judged import Sector, end_markers
from halflayer.exposure.time import expose
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.radiograph.result import Quick, Verdict
from halflayer.radiograph.visible import Seen
from halflayer.scene.build import build_scene
from halflayer.sheet.figures import Show
from halflayer.sheet.film_picture import film_words, relief_words
from halflayer.sheet.kit_gear import gear_loads, needs
from halflayer.sheet.marking import compared, marking_plan
from halflayer.sheet.settings import _iqi
from halflayer.sheet.trail import GAMMA, entry
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Iqi

EXAMPLE = Path("examples/tarn-mill.yaml")
WIRE = Iqi("wire", "W13 (10 FE EN)", "W13", 2e-4, "source side", "table", 1)


def test_the_time_is_recomputed_by_a_pocket_calculator(monkeypatch: pytest.MonkeyPatch) -> None:
    """K' = A G T (1 + S/P) / R^2 and t = K / K' of the printed inputs, by hand; Ir-192's constant from tables."""
    without_monte_carlo(monkeypatch)
    made = order(nuclide="Ir-192")
    way = candidate(made)
    time = expose(made, made.welds[0], way, built(made, way), moment=MOMENT).shots[0].seconds
    activity, rate, kerma = time.inputs
    by = {i.name: float(i.value) for i in rate.inputs if isinstance(i.value, int | float)}
    far = next(i for i in rate.inputs[0].inputs if i.name == "distance source to film").value
    assert isinstance(far, float) and isinstance(activity.value, float) and isinstance(kerma.value, float)
    straight = activity.value * by["source constant"] * by["transmission"] / far**2
    found = straight * (1 + by["scatter to primary"])
    assert rate.value == pytest.approx(found, rel=1e-9)
    assert time.value == pytest.approx(kerma.value / found, rel=1e-9)
    # 0.11 to 0.13 mGy/h for a GBq at 1 m (handbooks, from memory): behind the capsule
    assert 100.0 < by["source constant"] * GAMMA < 130.0 and 0.0 < by["transmission"] < 1.0
    told = " ".join(entry(time, Show())["inputs"])
    assert "= A Γ T (1 + S/P) / R²" in told and "free in air" not in told and "for density" in told


def test_markers_stand_at_every_end_of_what_is_judged() -> None:
    """Two walls, each a sector: four ends (by hand); a whole turn has none, nor has a tape round a bore."""
    way = candidate(order())
    two = [Sector(n, w, 0.0, 1.0) for n in (1, 2) for w in ("source-side wall", "film-side wall")]
    assert end_markers(way, two) == 4
    assert end_markers(way, [Sector(1, "wall", 0.0, 7.0)]) == 0
    assert end_markers(replace(way, arrangement="bore"), two) == 0


def seen(name: str, size_m: float, visible: bool) -> Seen:
    return Seen(name, size_m, 0.02, 9.0 if visible else 2.0, visible, 0.99, 0.0, 0.0)


def test_relief_is_told_as_margin_only_where_the_finer_wire_is_predicted() -> None:
    iqi = replace(WIRE, relief="W14 without relief, 1 less with Se-75 agreed (6.8)")
    for shown, words in ((True, "margin, wire W13 alone is asked"), (False, "stands on the relief")):
        wires = (seen("W13", 2e-4, True), seen("W14", 1.6e-4, shown))
        best = "W14" if shown else "W13"
        v = Verdict(None, False, wires, (), "W13", best, True, None, None, None, 1e-4, 1e-4, ())
        one = Quick(0, v, "", 0.1, 0.1)
        assert words in relief_words(one, iqi) and words in film_words(one, Show(), None, iqi)
        assert ("no margin" in film_words(one)) is not shown
        assert relief_words(one, WIRE) == ""


def test_only_single_wall_compares_its_film_side_indicator() -> None:
    """ISO 17636-1 6.7 (from memory, unverified): a comparison exposure once; not for double-wall exposures, for which
    Annex B has tables of the film side. What is asked outside all figures is said to be so."""
    assert "in no figure of this plan" in compared("SWSI panoramic", "ISO 17636-1:2013")
    assert (
        compared("DWSI contact", "ISO 17636-1:2013")
        == compared("SWSI outside", "ASME V Article 2:2007")
        == ""
    )
    made = read_order(EXAMPLE)
    for weld, clause in (("W6", "6.7"), ("W9", "T-277.1(b)")):
        way = choose_technique(made, made.weld(weld)).admissible[0]
        assert way.iqi is not None and way.iqi.position == "film side"
        rows = {r["subject"]: r["what"] for r in marking_plan(made, made.weld(weld), way, None, Show())}
        # Half the set of 25.4 mm and a marker's 5 mm clockwise, past what is judged, not on the end markers' side.
        assert f"off its middle, 18 mm clockwise of it ({clause}; m), middle at the clock" in rows["IQI"]
        assert "lead F right of the weld, near edge" in rows["IQI"]
        assert ("T-275.1(b)" in rows["exposures"]) is (weld == "W9")
        row = _iqi(made, made.weld(weld), way)
        assert "lead F beside it" in row["note"] and "compared" not in row["note"]


def test_a_tent_takes_the_pieces_that_its_lay_has() -> None:
    plan = plan_factory.plan()
    made = Order.from_json(plan.order)
    tents = 0
    for w in plan.welds:
        if w.chosen is None or w.shielding is None:
            continue
        scene = build_scene(made, made.weld(w.weld), w.chosen, w.chosen.shots[0], w.shielding.fitting)
        if scene.wrap.lay is not None:
            tents += 1
            assert all(one.pieces >= scene.wrap.lay.pieces for one in scene.wrap.layers)
            area = scene.wrap.layer_area_m2
            blanket = next(b for b in made.kit.blankets if b.id == w.shielding.fitting.blanket)
            useful = blanket.width_m * blanket.length_m * 0.9**2  # a tenth laps on both sides, by hand
            assert scene.wrap.layers[0].pieces == max(scene.wrap.lay.pieces, -int(-area // useful), 2)
    assert tents


def test_a_shrouds_strap_stands_in_kit_and_load_plan() -> None:
    made = read_order(Path("examples/tarn-mill.yaml"))
    plan = plan_factory.plan()
    base = next(w for w in plan.welds if w.status == "ready" and w.chosen)
    assert base.chosen is not None
    w4 = replace(
        base,
        weld="W4",
        chosen=replace(base.chosen, shroud="SH-K", arrangement="lean-out-shrouded", head="HY-1"),
    )
    mine = replace(plan, order=made.as_json(), welds=(w4,), schedule=None)
    # Halves that part at the pipe's axis: a strap round both would lie in the beam or under the plates.
    assert not [n for n in needs(made, mine, Show()) if n.what == "strap for the shroud"]
    parted = [s.model_copy(update={"parts": "along the beam"}) for s in made.kit.shrouds]
    made = made.model_copy(update={"kit": made.kit.model_copy(update={"shrouds": parted})})
    (need,) = (n for n in needs(made, mine, Show()) if n.what == "strap for the shroud")
    # 170 x 260 mm inside, walls of 5 mm: 2 (180 + 270) = 900 mm outside, by hand
    assert need.pieces == 1 and "900 mm" in need.note
    assert [(x.id, x.pieces, x.each_kg) for x in gear_loads(made, mine) if x.what == need.what] == [
        ("ST-1", 1, 1.0)
    ]
