"""The second page of a build sheet: layers as they are laid, limits side by side, the source on its way."""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import pytest
from pypdf import PdfReader

import plan_factory
from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.scene.build import build_scene
from halflayer.sheet import home_witness, pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.sheet.layers import layer_rows
from halflayer.sheet.limit_matrix import limit_matrix
from halflayer.sheet.second_page import LONGEST_IN_LIST, refused, told_apart
from halflayer.shielding.result import LimitCheck
from halflayer.technique.result import RuleVerdict


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_factory.plan()


def back(plan: Plan, weld: str) -> dict[str, Any]:
    sheet = next(s for s in compose(plan) if s.file == f"{weld}.pdf")
    found = sheet.data["back"]
    assert isinstance(found, dict)
    return found


def test_each_layer_says_its_length_pieces_and_mass(plan: Plan) -> None:
    """Pieces of 0.3 m x 1.2 m at 25 kg/m2 weigh 9 kg; laps are 10 % of a piece; the drawing counts the same pieces."""
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.weld == "W-03")
    assert w.chosen and w.shielding
    built = build_scene(order, order.weld("W-03"), w.chosen, w.chosen.shots[0], w.shielding.fitting)
    told = layer_rows(order, w.shielding, built, Show())
    layers = built.wrap.layers
    assert len(told["rows"]) == w.shielding.fitting.layers == len(layers)
    for row, one in zip(told["rows"], layers, strict=True):
        assert row["mass"] == Show().value(9.0 * one.pieces, "mass")
        assert row["round"] == f"{one.round_m * 1000:.0f} mm"
        assert row["pieces"].startswith(f"{one.pieces}: {one.beside} × {one.lengths}")
    seams = [row["seam"] for row in told["rows"]]
    assert seams[0] != seams[1]  # no seam lies on another
    assert "laps 30 mm along, at least 120 mm round" in told["note"]


def test_limits_stand_side_by_side_with_the_verdict_that_is_not_well() -> None:
    checks = (
        LimitCheck("A. Person", "per shift", "this weld only", 1e-6, 2e-6, 20e-6, True),
        LimitCheck("A. Person", "per year", "with the dose of this year so far", 1e-3, 1e-3, 20e-3, None),
        LimitCheck("Store", "per shift", "this weld's exposures", 1e-6, 30e-6, 20e-6, False),
    )
    found = limit_matrix(checks, Show())
    assert found["kinds"] == ["per shift", "per year"]
    person, store = found["rows"]
    assert [c["verdict"] for c in person["cells"]] == ["holds", "not known"]
    assert store["cells"][0] == {"upper": "30 µSv", "limit": "20 µSv", "verdict": "breaks"}
    assert store["cells"][1] is None
    assert found["note"] == "per year: with the dose of this year so far"


def test_what_breaks_is_never_among_the_rules_told_by_name_only() -> None:
    rules = (
        RuleVerdict("clamp", "a", "b", "holds", "kit of the order"),
        RuleVerdict("legs", "a", "b", "breaks", "kit of the order"),
        RuleVerdict("density", "a", "b", "holds", "ISO 17636-1:2013, 7.8"),
        RuleVerdict("geometric unsharpness", "no limit", "Ug = 0.5 mm", "not asked", "ISO 17636-1:2013, 7.6"),
        RuleVerdict("unequal walls", "both", "8 and 10 mm: check on site", "not asked", "geometry"),
        RuleVerdict("image quality indicator", "W13", "to be read on the radiograph", "not asked", "Annex B"),
    )
    listed, fine, idle = told_apart(rules)
    assert [r.rule for r in listed] == ["legs", "density", "unequal walls", "image quality indicator"]
    assert [r.rule for r in fine] == ["clamp"]
    assert [r.rule for r in idle] == ["geometric unsharpness"]


def test_the_film_s_width_is_told_by_name_where_it_holds_and_in_full_where_it_breaks() -> None:
    """A rule of the code (ISO 17636-1, 7.7, from memory), but one of kit: a sheet is wide enough or not."""
    of_width = [
        RuleVerdict("film width along the pipe", ">= 31 mm", reached, verdict, "ISO 17636-1:2013 7.7")
        for reached, verdict in (("100 mm", "holds"), ("20 mm", "breaks"))
    ]
    listed, fine, _ = told_apart(tuple(of_width))  # type: ignore[arg-type]
    assert ([r.reached for r in fine], [r.reached for r in listed]) == (["100 mm"], ["20 mm"])


def test_source_on_its_way_has_its_table(plan: Plan) -> None:
    """A source in a guide tube: every place with dose, highest rate and what is above its rate limit."""
    w = next(w for w in plan.welds if w.weld == "W-03")
    assert w.shielding
    order = Order.from_json(plan.order)
    peaks = [3e-6 / 3600, 9e-6 / 3600]
    places = tuple(
        Derived(
            p.name,
            1e-6,
            "Sv",
            inputs=(Derived("largest one way", 2e-7, "Sv"), Derived("highest dose rate on the way", peak, "Sv/s")),
        )
        for p, peak in zip(order.places[:2], peaks, strict=True)
    )  # fmt: skip
    figure = Derived("transit_dose", 1e-6, "Sv", inputs=(*places, Derived("speed", 0.75, "m/s")))
    guided = replace(w, shielding=replace(w.shielding, derived=(*w.shielding.derived, figure)))
    changed = replace(plan, welds=(guided,))
    transit = back(changed, "W-03")["transit"]
    assert [r["place"] for r in transit["rows"]] == [p.name for p in order.places[:2]]
    assert [r["peak"] for r in transit["rows"]] == ["3 µSv/h", "9 µSv/h"]
    assert [r["above"] for r in transit["rows"]] == [False, True]  # both have 7.5 uSv/h
    words = " ".join(p.extract_text() for p in PdfReader(io.BytesIO(_pdf(changed, "W-03"))).pages)
    assert "Source on its way" in words and "nobody may be there" in words
    assert back(plan, "W-03")["transit"]["rows"] == []


def test_the_layers_are_on_paper(plan: Plan) -> None:
    pages = PdfReader(io.BytesIO(_pdf(plan, "W-03"))).pages
    # the set-up, what stands behind it on two pages at most, the log
    assert len(pages) <= 4 and "Log of W-03" in pages[-1].extract_text()
    assert "Layers of the wrap" in "".join(p.extract_text() for p in pages[1:])


def _pdf(plan: Plan, weld: str) -> bytes:
    return pdf.render(next(s for s in compose(plan) if s.file == f"{weld}.pdf"))


def test_a_report_finds_spot_distances_film_and_processing(plan: Plan) -> None:
    """What an inspector's report asks for: made-up plan, W-01: SE-2041 of 3 x 3 mm, f 350 mm, b 60.3 mm, C4 by hand."""
    rows = dict(back(plan, "W-01")["inspection"])
    said = " ".join(rows.values())
    for words in (
        "3 × 3 mm (diameter × length)", "at least 346 mm (7.6, formula): holds; 350 mm",
        "source to film 410.3 mm", "class C4",
        "manual, 5 min at 20 °C",
    ):  # fmt: skip
        assert words in said, words
    # sqrt(3^2 + 3^2) mm: what the strictest reading of the source's size would ask is told beside the code's
    assert "by the diagonal, 4.24 mm" in rows["source"]
    # The code bounds f and not Ug: what Ug the least distance would give, d b / f_min.
    (c,) = (w.chosen for w in plan.welds if w.weld == "W-01")
    assert c is not None
    g = c.geometry
    most = g.focal_m * g.object_to_detector_m / g.minimum_source_to_object_m
    assert f"; at the least f {Show().value(most, 'length', digits=2)}; the code bounds f, not Ug)" in said


def test_film_and_plates_say_where_their_middle_lies(plan: Plan) -> None:
    """The ellipse's film lies off the weld, away from the source: by similar triangles, 105 (30.15 + b) / 380 mm."""
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.weld == "W-01")
    assert w.chosen and w.shielding
    built = build_scene(order, order.weld("W-01"), w.chosen, w.chosen.shots[0], w.shielding.fitting)
    sheet = next(s for s in compose(plan) if s.file == "W-01.pdf")
    note = {r["label"]: r["note"] for r in sheet.data["settings"]}
    assert built.film.centre[0] < -0.002
    assert f"middle {Show().drawn(-built.film.centre[0])} left of the weld" in note["Film"]
    assert "left of the weld" in note["Plates"]


def test_the_source_home_reads_on_page_one_what_it_rests_in() -> None:
    """1.5 uSv/h at 1 m for 3 TBq, at 2 m a quarter by inverse square; a guide tube's source rests in its container."""
    plan = plan_factory.plan()
    order = Order.from_json(plan.order)
    w = next(x for x in plan.welds if x.weld == "W-01")
    assert w.chosen and w.exposure and isinstance(w.exposure.activity.value, float)
    stored = {"activity_Bq": 3e12, "at_1m_Sv_s": 1.5e-6 / 3600, "surface_Sv_s": 150e-6 / 3600}
    data = order.as_json()
    data["heads"] = [h | {"leakage": None, "stored": stored} for h in data["heads"]]
    read = Order.from_json(data)
    at_1m = 1.5e-6 / 3600 * w.exposure.activity.value / 3e12
    show = Show()
    told = home_witness.line(read, w, show)
    near = show.up(at_1m, "equivalent_rate").removesuffix(" µSv/h")
    assert told.startswith(f"head {w.chosen.head}: ")
    far = show.up(at_1m / 4, "equivalent_rate").removesuffix(" µSv/h")
    assert f"; 2 m off {far}, turn back " in told
    assert told.endswith(f"; 1 m {near}, turn back {show.floor(2 * at_1m, 'equivalent_rate', digits=2)}")
    guided = replace(w, chosen=replace(w.chosen, guide="GT-1"))
    assert home_witness.line(read, guided, show).startswith(f"container of {w.chosen.head}: ")
    silent = Order.from_json(data | {"heads": [h | {"stored": None} for h in data["heads"]]})
    assert home_witness.line(silent, w, show).endswith("; beside it: not stated in the order, not computed")


def test_what_refuses_a_way_is_told_whole_unless_a_length_is_asked(plan: Plan) -> None:
    w = next(w for w in plan.welds if w.technique.candidates)
    long = "a requirement in many words " * 12
    rule = RuleVerdict("a rule", long, "as long: " + long, "breaks", "6.1")
    bad = replace(w.technique.candidates[0], rules=(rule,), verdict="refused")
    (row,) = refused((bad,), None, "ISO", Show())
    assert row["broken"][0]["required"] == long and "…" not in row["broken"][0]["reached"]
    (row,) = refused((bad,), None, "ISO", Show(), longest=LONGEST_IN_LIST)
    assert row["broken"][0]["required"].endswith("…")
    assert len(row["broken"][0]["required"]) <= LONGEST_IN_LIST + 2
