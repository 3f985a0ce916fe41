"""What stands beside the weld and what the stand carries: unequal walls, load of the legs, settings on the sheet."""

from __future__ import annotations

from dataclasses import replace

import pytest
from test_placement_strap_guided import order as guided

import order_factory as of
import placement_orders as po
from halflayer.physics import nuclides
from halflayer.plan import Plan, WeldPlan
from halflayer.plan_json import weld_json
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.trace import materials_along
from halflayer.sheet import time_row
from halflayer.sheet.figures import Show
from halflayer.sheet.settings import settings as sheet_rows
from halflayer.shielding.look import Setting
from halflayer.shielding.trail import load_findings
from halflayer.technique.choose import choose_technique
from order_cases import order as read
from order_cases import refusal

UNEQUAL = {
    "od": 168.3,
    "wall": 7.11,
    "cap": 12.0,
    "right": {"kind": "pipe", "distance_m": 1.0, "wall_m": 0.011},
}


@pytest.mark.parametrize("placement", ["strap", "over", "outside"])
def test_unequal_walls_are_crossed_as_they_are_and_said(placement: str) -> None:
    made = po.order(placement, weld={**UNEQUAL, "access_inside": True})
    c = po.best(made, placement)
    verdict = po.rule(c, "unequal walls")
    assert verdict.verdict == "not asked"
    assert "7.1 mm and 11 mm on the right" in verdict.reached
    b = build_scene(made, made.welds[0], c, replace(c.shots[0], source_clock_rad=0.0), Fitting())
    for x, wall in ((-0.03, 0.00711), (0.03, 0.011)):
        way = materials_along(b.scene, (x, 0.0, 0.0), (0.0, 0.0, -1.0), 0.08415)
        steel = sum(d for m, _, d in way if m == "steel")
        assert steel == pytest.approx(wall, abs=1e-9)


def test_equal_walls_say_nothing() -> None:
    made = po.order("strap", weld={"od": 168.3, "wall": 7.11, "cap": 12.0})
    assert all(r.rule != "unequal walls" for r in po.best(made, "strap").rules)
    assert any("unequal walls" in f.text for f in choose_technique(*_unequal()).findings)


def _unequal():
    made = po.order("strap", weld=UNEQUAL, film=of.film())
    return made, made.welds[0]


def test_a_thinner_side_is_bad_input() -> None:
    old = "    left: {distance: 1 m}\n"
    assert read((old, "    left: {distance: 1 m, wall: 8 mm}\n")).welds[0].left.wall_m == 0.008
    assert "thinner than the pipe's" in refusal((old, "    left: {distance: 1 m, wall: 3 mm}\n"))
    assert "thinner than the pipe's" in refusal((old, "    left: {distance: 1 m, wall: 40 mm}\n"))


def test_the_legs_carry_head_and_stop_or_the_plan_stops() -> None:
    """9 kg of head and plates of 200 x 250 x 3 mm lead, 1.70 kg each: 18 kg carry five of them, not six."""
    made = po.order("over", kit={"legs": [{**of.kit()["legs"][0], "carries_kg": 18.0}]})
    c = po.best(made, "over")
    se = nuclides.nuclide("Se-75")
    setting = Setting(
        made, made.welds[0], c, made.sources[0], made.heads[0], 1e12, se.energies_keV, se.photons_per_decay
    )
    assert load_findings(setting, Fitting(5, "PB3")) == []
    (stop,) = load_findings(setting, Fitting(6, "PB3"))
    assert stop.level == "stop"
    assert stop.text.startswith("head and stop weigh 19.2 kg, L1 carries 18 kg")
    assert stop.relax == ("legs that carry 20 kg",)


def test_plan_json_holds_the_settings() -> None:
    made = po.order("lean-out-shrouded", kit={"shrouds": [po.shroud("skewed")]})
    technique = choose_technique(made, made.welds[0])
    weld = WeldPlan("W1", "stopped", technique, technique.candidates[0], None, None, None, (), ())
    plan = Plan(made.as_json(), "2026-03-02T20:00:00+00:00", "0", "0", (weld,))
    data = weld_json(plan, weld)
    assert (data["shroud"], data["guide"]) == ("SH-skewed", None)
    by_name = {s["name"]: s for s in data["settings"]}
    assert by_name["leg_hole"]["value"] == technique.candidates[0].leg_hole
    assert by_name["lean"]["unit"] == "rad"


def rows(made, name: str) -> dict[str, dict]:
    c = po.best(made, name)
    weld = made.welds[0]
    b = build_scene(made, weld, c, c.shots[0], Fitting())
    return {r["label"]: r for r in sheet_rows(made, weld, c, None, None, b, Show("metric"))}


def test_the_sheet_says_steps_of_lean_shroud_and_guide_tube() -> None:
    made = po.order("lean-out-shrouded", kit={"shrouds": [po.shroud("skewed")]})
    found = rows(made, "lean-out-shrouded")
    assert "steps of 1° from upright" in found["Offset"]["note"]
    assert found["Shroud"]["value"] == "SH-skewed"
    assert "behind the film" in found["Shroud"]["note"]
    tube = rows(guided(), "strap-guided")["Guide tube"]
    assert tube["value"] == "GT"
    # Beside the time of the shots, with which the way of the source comes on top.
    assert "its way, 8 s each, on top" in time_row._starts(
        guided(), po.best(guided(), "strap-guided"), Show("metric")
    )
    stated = guided()
    near = stated.welds[0]
    x, y, z = (*near.at, near.floor_level_m + near.height_m)
    length = stated.kit.guides[0].length_m
    for short_m, bent in ((0.5, True), (0.05, False)):
        here = near.model_copy(update={"guide_from": (x, y - (length - short_m), z), "guide_by": ()})
        note = rows(stated.model_copy(update={"welds": (here,)}), "strap-guided")["Guide tube"]["note"]
        assert ("the 500 mm more than the way in one wide bend" in note) is bent
        assert (", straight;" in note) is not bent
