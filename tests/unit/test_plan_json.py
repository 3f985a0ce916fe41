"""`plan.json` has every key of its contract, for ready and stopped welds alike, in the units that the names say."""

from __future__ import annotations

import dataclasses
import json
import math
from typing import Any

import pytest

from halflayer.plan_json import plan_json
from halflayer.shielding.safety_result import FloorDose
from halflayer.shielding.worst_place import worst_place
from small_plan import ready, small_plan, stopped

# The shape that other people's scripts rely on: names at the top, of a weld and below it.
TOP = {"order", "code", "class", "made_at", "version", "welds"}
WELD: dict[str, set[str] | None] = {
    "weld": None,
    "status": None,
    "code": None,
    "class": None,
    "technique": None,
    "arrangement": None,
    "source": None,
    "nuclide": None,
    "activity_Bq": None,
    "geometry": {
        "source_to_detector_mm",
        "source_to_object_mm",
        "object_to_detector_mm",
        "minimum_source_to_object_mm",
        "unsharpness_mm",
        "axial_offset_mm",
        "tilt_deg",
        "nominal_thickness_mm",
        "iqi_thickness_mm",
        "crossed_mm",
    },
    "exposures": {"source_clock_deg", "detector_clock_deg", "seconds", "detector"},
    "iqi": {"type", "designation", "required", "position"},
    "shielding": {"stop_plates", "stop_thickness_mm", "blanket_layers", "added_mass_kg", "items"},
    "beam_footprint_mm": None,
    "dose": {"proved", "quantity", "points", "limits"},
    "barrier_distance_m": None,
    "crew_dose_Sv": None,
    "candidates": {"technique", "arrangement", "verdict", "rules"},
    "findings": None,
    "cautions": None,
}
POINT = {"name", "rate_Sv_per_h", "sigma_rel", "upper_Sv_per_h", "limit_Sv_per_h", "ok"}
LIMIT = {"place", "kind", "averaging", "value_Sv", "upper_Sv", "ok"}
RULE = {"rule", "required", "reached", "verdict", "source"}


def _names(value: Any) -> set[str]:
    return set(value[0] if isinstance(value, list) else value)


def test_a_weld_is_said_to_be_under_its_own_code() -> None:
    own = small_plan()
    own.order["welds"][1] |= {"code": "ASME V Article 2:2007"}
    said = [(w["code"], w["class"]) for w in plan_json(own)["welds"]]
    assert said == [("ISO 17636-1:2013", "A"), ("ASME V Article 2:2007", None)]


def test_every_key_of_the_contract_is_there() -> None:
    data = plan_json(small_plan())
    assert set(data) >= TOP
    for weld in data["welds"]:
        assert set(weld) >= set(WELD)
        for name, below in WELD.items():
            if below and not (name == "exposures" and weld["status"] == "stopped"):
                assert _names(weld[name]) >= below, name
    first = data["welds"][0]
    assert _names(first["dose"]["points"]) >= POINT
    assert _names(first["dose"]["limits"]) >= LIMIT
    assert _names(first["candidates"][0]["rules"]) >= RULE


def test_ready_and_stopped_welds_have_the_same_keys() -> None:
    def keys(value: Any) -> Any:
        if isinstance(value, dict):
            return {k: keys(v) for k, v in value.items() if k not in ("figures", "crew_dose_Sv")}
        return None

    one, two = plan_json(small_plan())["welds"]
    assert keys(one) == keys(two)


def test_values_are_in_the_units_of_their_names() -> None:
    weld = plan_json(small_plan())["welds"][0]
    assert weld["activity_Bq"] == 1.62e12
    assert weld["nuclide"] == "Se-75"
    assert weld["geometry"]["source_to_object_mm"] == 400.0
    assert weld["geometry"]["minimum_source_to_object_mm"] == 346.0
    assert weld["geometry"]["tilt_deg"] == pytest.approx(math.degrees(0.19))
    assert [e["source_clock_deg"] for e in weld["exposures"]] == [0.0, 90.0]
    assert [e["detector_clock_deg"] for e in weld["exposures"]] == [180.0, 270.0]
    assert weld["exposures"][0]["seconds"] == 71.2
    assert weld["shielding"]["stop_thickness_mm"] == 20.0
    assert weld["beam_footprint_mm"] == [210.0, 140.0]
    gate, loft = weld["dose"]["points"]
    assert gate["rate_Sv_per_h"] == pytest.approx(4.1e-6, rel=1e-12)
    assert gate["limit_Sv_per_h"] == pytest.approx(7.5e-6, rel=1e-12)
    assert (gate["ok"], loft["ok"], loft["limit_Sv_per_h"]) == (True, None, None)
    assert weld["barrier_distance_m"] == 4.3
    assert weld["crew_dose_Sv"] == {"R. Alder": 1.2e-6}


def test_what_a_stopped_weld_did_not_reach_is_null() -> None:
    weld = plan_json(small_plan())["welds"][1]
    for name in ("technique", "arrangement", "source", "nuclide", "activity_Bq", "barrier_distance_m"):
        assert weld[name] is None
    assert weld["beam_footprint_mm"] is None
    assert set(weld["geometry"].values()) == {None}
    assert weld["shielding"]["stop_plates"] is None
    assert weld["dose"]["proved"] is None
    assert (weld["exposures"], weld["shielding"]["items"], weld["dose"]["points"]) == ([], [], [])
    assert weld["findings"][0].startswith("stop: no admissible source")
    assert "would be lifted by: agreement se75-from-5mm" in weld["findings"][0]


def test_a_weld_stopped_after_the_technique_keeps_what_it_reached() -> None:
    half = dataclasses.replace(ready("W3"), status="stopped", exposure=None, shielding=None)
    weld = plan_json(small_plan(welds=(half,)))["welds"][0]
    assert weld["technique"] == "DWDI ellipse"
    assert [e["seconds"] for e in weld["exposures"]] == [None, None]
    assert weld["exposures"][1]["source_clock_deg"] == 90.0


def test_it_is_strict_json_also_where_a_figure_is_not_finite() -> None:
    weld = ready()
    assert weld.shielding is not None
    odd = dataclasses.replace(weld.shielding.points[0], sigma_rel=math.inf, upper_Sv_s=math.nan)
    shield = dataclasses.replace(weld.shielding, points=(odd,))
    data = plan_json(small_plan(welds=(dataclasses.replace(weld, shielding=shield),)))
    assert json.loads(json.dumps(data, allow_nan=False)) == data
    assert data["welds"][0]["dose"]["points"][0]["sigma_rel"] is None


def test_figures_keep_their_trail() -> None:
    figures = plan_json(small_plan())["welds"][0]["figures"]
    assert figures["exposure_time"]["inputs"][0]["name"] == "activity"
    assert figures["unsharpness"]["inputs"][0]["source"] == "test table"


def test_the_worst_place_is_the_nearest_to_its_limit() -> None:
    shielding = ready().shielding
    assert shielding is not None
    gate = shielding.points[0]
    near = dataclasses.replace(gate, name="near", upper_Sv_s=1.1 * (gate.limit_Sv_s or 0))
    assert worst_place(dataclasses.replace(shielding, points=(gate, near, *shielding.points[1:]))) == near
    no_rates = dataclasses.replace(shielding, points=shielding.points[1:])
    assert worst_place(no_rates) == shielding.limits[0]  # a dose in any one hour is a limit too
    assert worst_place(dataclasses.replace(no_rates, limits=())) is None
    floor = FloorDose(
        "Loft", "above", "", (0, 0, 4), 8e-9, 0.1, 9e-9, True, 2e-9, False, ""
    )  # 4.5 times its limit
    assert worst_place(shielding, [floor]) == floor
    assert stopped().shielding is None
