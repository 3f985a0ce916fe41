"""Any weld, any placement: what is proposed can be built, its source stands in air, the transport takes the scene."""

from __future__ import annotations

from typing import get_args

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_placement_strap_guided import GUIDE

import order_factory as of
import placement_orders as po
from halflayer.base.serial import from_json, to_json
from halflayer.order.equipment import ON_A_STAND, SHROUDED, PlacementName
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.trace import material_at
from halflayer.shielding import kit
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate
from halflayer.transport.problem import prepare

OUTSIDE = tuple(n for n in get_args(PlacementName) if n != "bore")
KINDS = st.sampled_from(["pipe", "elbow", "flange", "valve", "tee", "reducer", "cap", "open end"])
SMALL = {**of.kit()["blankets"][0], "id": "N", "width_m": 0.2, "length_m": 0.8}


@pytest.mark.slow
@settings(deadline=None, max_examples=100)
@given(
    name=st.sampled_from(OUTSIDE),
    od=st.floats(21.0, 600.0),
    share=st.floats(0.02, 0.3),
    runs=st.sampled_from(["horizontal", "vertical"]),
    left=st.tuples(KINDS, st.floats(0.0, 1.0)),
    right=st.tuples(KINDS, st.floats(0.0, 1.0)),
    wool=st.sampled_from([None, 0.03]),
    clearances=st.fixed_dictionaries(
        {}, optional={"right_m": st.floats(0.05, 0.3), "above_m": st.floats(0.05, 0.6)}
    ),
    layers=st.integers(0, 5),
    plates=st.integers(0, 5),
)
def test_what_is_proposed_can_be_built(
    name, od, share, runs, left, right, wool, clearances, layers, plates
) -> None:
    wall = max(share * od / 2, 1.0)
    made = po.order(
        name,
        weld={
            "od": od,
            "wall": wall,
            "cap": min(8.0, od / 3),
            "runs": runs,
            "height_m": 1.5,
            "left": {"kind": left[0], "distance_m": left[1]},
            "right": {"kind": right[0], "distance_m": right[1]},
            "insulation": {"material": "mineral wool", "thickness_m": wool} if wool else None,
            "clearances": clearances,
            "access_inside": True,
            "guide_from": [3.0, 1.0, 0.2],
        },
        kit={
            "shrouds": [po.shroud(), po.shroud("skewed")],
            "guides": [GUIDE],
            "blankets": [SMALL, *of.kit()["blankets"]],
        },
    )
    weld = made.welds[0]
    for c in choose_technique(made, weld).candidates:
        assert c.arrangement == name
        assert from_json(Candidate, to_json(c)) == c
        assert bool(c.shroud) == (name in SHROUDED)
        stop, wrap = kit.kinds_to_compare(made, c)[0]
        assert (stop is not None) == (name in ON_A_STAND)
        fitting = Fitting(
            plates if stop else 0, stop.id if stop else None, layers if wrap else 0, wrap.id if wrap else None
        )
        for shot in c.shots[:2]:
            b = build_scene(made, weld, c, shot, fitting)
            assert material_at(b.scene, b.source_at).name == "air"
            prepare(po.problem(b, {"p": b.to_local((30.0, 30.0, 1.0))}))
        assert kit.added_mass_kg(made, fitting, b.wrap) >= 0
        assert all(i.pieces > 0 for i in kit.items(made, weld, c, fitting, b.wrap))
