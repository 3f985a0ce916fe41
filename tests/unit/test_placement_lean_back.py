"""Leaning back over the clamp: when, which way round, and small blankets in place of the stop's plates."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import order_factory as of
import placement_orders as po
import plan_factory as pf
from halflayer.compare.look import Stock
from halflayer.order.models import Order
from halflayer.physics import photons
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.matter import blanket_material
from halflayer.scene.stop import stop_piece
from halflayer.scene.trace import materials_along
from halflayer.shielding import kit
from halflayer.shielding.budget import budget
from halflayer.shielding.lost import lost_shielding
from halflayer.shielding.spots import setting_of
from halflayer.technique.choose import choose_technique
from halflayer.transport.problem import prepare

SMALL = {
    "id": "N20",
    "material": "tungsten rubber",
    "areal_density_kg_m2": 20.0,
    "thickness_m": 0.005,
    "width_m": 0.2,
    "length_m": 0.85,
    "count": 9,
}
BOTH = [SMALL, of.kit()["blankets"][0]]
# A flange keeps the clamp on the left, and there is no room on the right for a head that leans away from it.
TIGHT = {"clearances": {"right_m": 0.12}, "right": {"kind": "flange", "distance_m": 0.16}}


def order(*placements: str, **weld: object) -> Order:
    return po.order(*placements, weld=weld, kit={"blankets": BOTH})


def test_it_is_taken_where_the_far_side_has_no_room() -> None:
    made = order("lean-out", "lean-back", **TIGHT)
    found = choose_technique(made, made.welds[0])
    first = found.candidates[0]
    assert (first.arrangement, first.verdict) == ("lean-back", "admissible"), first.broken
    assert "room round the weld" in po.broken(po.best(made, "lean-out"))
    reached = po.rule(first, "leaning back only where the far side has no room").reached
    assert reached.startswith("120 mm free on the right")


def test_it_stands_on_the_clamps_side_in_the_hole_and_lean_of_lean_out() -> None:
    out = po.best(order("lean-out", "lean-back"), "lean-out")
    back = po.best(order("lean-out", "lean-back", **TIGHT), "lean-back")
    assert out.clamp_x_m == back.clamp_x_m == pytest.approx(-0.15)
    assert back.geometry.axial_offset_m == pytest.approx(-out.geometry.axial_offset_m)
    assert back.geometry.axial_offset_m < 0
    assert back.geometry.opening_m == pytest.approx(out.geometry.opening_m)
    for name in ("leg_hole", "lean_steps"):
        assert po.setting(back, name) == po.setting(out, name)
    assert next(d for d in back.settings if d.name == "lean").basis.count("left of the weld") == 1


def test_where_there_is_room_it_is_refused_unless_the_order_asks_for_it() -> None:
    refused = po.best(order("lean-out", "lean-back"), "lean-back")
    assert po.broken(refused) == ["leaning back only where the far side has no room"]
    asked = po.best(order("lean-back", "lean-out"), "lean-back")
    assert asked.verdict == "admissible"


def test_a_valve_in_the_way_of_lean_out_is_a_reason() -> None:
    """The valve stands on the far side; low legs bring the head down to it."""
    legs = [{**of.kit()["legs"][0], "reach_min_m": 0.06}]
    made = po.order(
        "lean-out",
        "lean-back",
        weld=of.weld(od=95, wall=6, right={"kind": "valve", "distance_m": 0.02}),
        kit={"blankets": BOTH, "legs": legs},
        sources=[of.source(mm=0.3)],
        head={"source_to_face_m": 0.03},
    )
    out, back = po.best(made, "lean-out"), po.best(made, "lean-back")
    assert "distance to neighbours" in po.broken(out)
    assert po.rule(back, "leaning back only where the far side has no room").verdict == "holds"


def test_no_blankets_no_stop() -> None:
    made = po.order("lean-back", kit={"blankets": []})
    assert "blankets for the stop" in po.broken(po.best(made, "lean-back"))


@settings(deadline=None)
@given(layers=st.integers(1, 12))
def test_the_axis_meets_the_folded_layers_under_the_film(layers: int) -> None:
    made = order("lean-back")
    c = po.best(made, "lean-back")
    b = build_scene(made, made.welds[0], c, c.shots[0], Fitting(layers, "N20", 2, "W25"))
    crossed = materials_along(b.scene, b.source_at, b.aim, 1.0)
    slant = 1 / math.cos(c.geometry.tilt_rad)
    assert sum(m for _, n, m in crossed if n == "stop") == pytest.approx(layers * 0.005 * slant, abs=1e-9)
    names = [n for _, n, _ in crossed]
    assert names.index("film") < names.index("stop") < names.index("wrap below")
    # Between film pack and stop nothing but the small gap: the pack's lead ends 2 mm above the stop.
    air = crossed[names.index("stop") - 1]
    assert (air[0], air[2]) == ("air", pytest.approx(0.002 * slant, abs=1e-9))


def test_the_scene_passes_the_transports_check_at_all_clocks() -> None:
    made = order("lean-back")
    c = po.best(made, "lean-back")
    for shot in c.shots:
        prepare(
            po.problem(
                build_scene(made, made.welds[0], c, shot, Fitting(8, "N20", 3, "W25")), {"p": (2, 1, 0.5)}
            )
        )


def test_a_blanket_folds_into_whole_layers_and_is_counted_in_whole_pieces() -> None:
    """850 mm of 200 mm width fold in 4 (200 x 212.5 mm); 0.2 x 0.85 m at 20 kg/m2 weigh 3.4 kg."""
    made = order("lean-back")
    piece = stop_piece(made, "N20")
    assert piece is not None
    assert (piece.per_piece, piece.count) == (4, 36)
    assert (piece.along_m, piece.across_m) == (0.2, 0.2125)
    assert [piece.pieces(n) for n in (0, 1, 4, 5)] == [0, 1, 1, 2]
    assert [piece.whole(n) for n in (0, 1, 4, 5)] == [0, 4, 4, 8]  # a piece lies there with all its layers
    assert piece.mass_kg(5) == pytest.approx(6.8)
    assert piece.matter == blanket_material(made, made.kit.blankets[0])


def test_a_stop_is_sized_and_lost_in_whole_folded_pieces() -> None:
    """Folded in four: no fitting has a part of a piece, and what is left out when one is missing are four layers."""
    made = order("lean-back")
    c = po.best(made, "lean-back")
    times = pf.exposure(made, c)
    shield = replace(pf.shielding(made, made.welds[0].id, c), fitting=Fitting(8, "N20", 0, "W25"), points=())
    lost = lost_shielding(setting_of(made, made.welds[0], c, times), times, shield, seed=3)
    (missing,) = [x for x in lost.cases if x.name.endswith("missing")]
    assert (missing.name, missing.what) == (
        "one folded piece missing",
        "1 in place of 2 folded pieces in the stop",
    )
    assert missing.factor is not None and missing.factor > 1.5
    assert Stock("N20", 36, "W25", 9, 4).fit(5, 2).plates == 8
    assert Stock("N20", 36, "W25", 9, 4).fit(40, 2).plates == 36


def test_kit_list_and_kinds() -> None:
    made = order("lean-back")
    c = po.best(made, "lean-back")
    pairs = kit.kinds_to_compare(made, c)
    assert {(s.id if s else None, b.id if b else None) for s, b in pairs} == {("N20", "W25"), ("N20", "N20")}
    shared = next((s, b) for s, b in pairs if b and b.id == "N20")
    assert (shared[0].count, shared[1].count) == (3 * 4, 6)  # a third of nine pieces for the stop
    fitting = Fitting(6, "N20", 2, "W25")
    b = build_scene(made, made.welds[0], c, c.shots[0], fitting)
    (stop,) = [i for i in kit.items(made, made.welds[0], c, fitting, b.wrap) if i.what == "folded blanket"]
    assert (stop.id, stop.pieces, stop.mass_kg) == ("N20", 2, pytest.approx(6.8))
    assert "6 layers" in stop.note


def test_the_budget_takes_the_blankets_tolerance_for_the_stop() -> None:
    """One line: 7 % of 6 x 20 kg/m2 is exp(mu 0.07 x 30 mm) - 1 with mu of the blanket as a sheet."""
    made = order("lean-back")
    lines, _ = budget(made, made.sources[0], Fitting(6, "N20"), np.array([400.0]), np.array([1.0]))
    mu = float(photons.mu_per_m(blanket_material(made, made.kit.blankets[0]), np.array([400.0]))[0])
    by_name = {b.what: b.relative for b in lines}
    assert by_name["mass of the stop"] == pytest.approx(math.exp(mu * 0.07 * 0.030) - 1, rel=1e-9)
