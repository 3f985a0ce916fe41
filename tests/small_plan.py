"""A small made-up plan with one ready and one stopped weld, for tests of what is done with a plan.

The numbers mean nothing: no test compares them with the world.
"""

from __future__ import annotations

import json
import math
from typing import Any

from halflayer.base.result import Derived, Finding
from halflayer.exposure.result import Density, Exposure, ShotTime
from halflayer.physics.materials import material
from halflayer.plan import Plan, WeldPlan
from halflayer.scene.solids import Box, HalfSpace, Scene, Tube
from halflayer.shielding.result import BudgetLine, Fitting, Item, LimitCheck, PointDose, Shielding
from halflayer.technique.result import Candidate, Geometry, Iqi, RuleVerdict, Shot, Technique
from plan_factory import order_data

USV_H = 1e-6 / 3600.0


def order_json(**changes: Any) -> dict[str, Any]:
    """A stored order with the welds, the source and the person of the plan; the rest is that of `plan_factory`."""
    whole = order_data()
    first, second = whole["welds"][:2]
    of_its_own = (
        whole
        | {
            "order": "T-1",
            "title": "Small test order",
            "crew": [{"id": "ric", "name": "R. Alder", "role": "radiographer in charge"}],
            "sources": [whole["sources"][0] | {"id": "S1", "nuclide": "Se-75", "activity_Bq": 2e12}],
            "welds": [first | {"id": "W1"}, second | {"id": "W2"}, second | {"id": "W3"}],
        }
        | changes
    )
    return dict(json.loads(json.dumps(of_its_own)))  # lists, as it is read back from the records


def candidate(**changes: Any) -> Candidate:
    """An admissible ellipse."""
    halves = Derived("half_life", 119.78 * 86400.0, "s", 4320.0, "T", source="test table")
    values: dict[str, Any] = {
        "technique": "DWDI ellipse",
        "arrangement": "lean-out",
        "source": "S1",
        "head": "H-2",
        "aperture": "round-15",
        "detector": "C4-10x24",
        "clamp": "C-40-130",
        "clamp_x_m": -0.25,
        "legs": "L-500",
        "leg_hole": 4,
        "geometry": Geometry(
            source_to_detector_m=0.47,
            source_to_object_m=0.4,
            object_to_detector_m=0.0603,
            minimum_source_to_object_m=0.346,
            unsharpness_m=0.0004,
            axial_offset_m=0.08,
            tilt_rad=0.19,
            standoff_m=0.4,
            opening_m=0.009,
            nominal_m=0.0111,
            iqi_thickness_m=0.0131,
            crossed_m=0.0151,
            focal_m=0.003,
        ),
        "shots": (Shot(0.0, math.pi, 2 * math.pi), Shot(math.pi / 2, 1.5 * math.pi, 2 * math.pi)),
        "usable_rad": None,
        "density_min": 2.0,
        "density_max": 4.0,
        "iqi": Iqi("wire", "W13 (10 FE EN)", "W13", 2e-4, "source side", "test table", 1),
        "rules": (RuleVerdict("unsharpness", "<= 0.5 mm", "0.4 mm", "holds", "test clause"),),
        "verdict": "admissible",
        "agreements_used": ("se75-from-5mm",),
        "derived": (
            Derived("unsharpness", 0.0004, "m", None, "Ug", "d b / f", (halves,), "test clause", "exact"),
        ),
    }
    return Candidate(**(values | changes))


def ready(weld: str = "W1") -> WeldPlan:
    """A weld with all stages."""
    chosen = candidate()
    refused = candidate(
        technique="DWSI contact",
        arrangement="strap",
        verdict="refused",
        rules=(RuleVerdict("f_min", ">= 120 mm", "61 mm", "breaks", "test clause"),),
    )
    activity = Derived("activity", 1.62e12, "Bq", 1e10, "A", "A0 2^(-t/T)", (), "test table")
    seconds = Derived("exposure_time", 71.2, "s", 6.0, "t", "K / rate", (activity,), "test method")
    shot = ShotTime(seconds, Density(2.4, 2.2, 2.9, 0.2, "crown", "flank"), 1e-4, 0.8, 0.02)
    scene = Scene(
        (
            HalfSpace("floor", (0, 0, 1), (0, 0, -1.2), material("concrete")),
            Tube("pipe", (0, 0, 0), (1, 0, 0), 0.03015, 0.00554, 2.0, material("steel")),
            Box("stop", (0, 0, -0.1), (0.3, 0.3, 0.02), material("lead")),
        ),
        material("air"),
    )
    point = PointDose(
        "gate",
        (5.0, 0.0, 1.0),
        4.1 * USV_H,
        0.03,
        5.2 * USV_H,
        True,
        7.5 * USV_H,
        True,
        {"pipe": 1.0},
        9 * USV_H,
    )
    shielding = Shielding(
        fitting=Fitting(5, "PB-2", 2, "WB-25"),
        stop_thickness_m=0.02,
        items=(Item("PB-2", "lead plate 300 x 300 x 4 mm", 5, 20.4), Item("WB-25", "blanket", 4, 40.0)),
        added_mass_kg=60.4,
        footprint_m=(0.21, 0.14),
        footprint_on="stop",
        budget=(BudgetLine("activity", 0.1, "certificate"),),
        k=0.14,
        points=(point, PointDose("loft", (0, 0, 4), 1e-12, 0.6, 3e-12, False, None, None, {"head": 1.0})),
        limits=(LimitCheck("gate", "in any one hour", "1 h", 1e-6, 2e-6, 2e-5, True),),
        barrier_m=Derived(
            "barrier", 4.3, "m", None, "", "largest over directions", (), "test", "upper bound"
        ),
        barrier_hour_m=Derived("barrier_hour", None, "m", basis="no such limit"),
        barrier_by_direction=((0.0, 4.3), (math.pi, 3.9)),
        crew=(Derived("crew_dose R. Alder", 1.2e-6, "Sv", 2e-7),),
        proved=False,
        seeds=(1, 2),
        derived=(Derived("footprint", 0.21, "m", basis="exact projection"),),
        findings=(),
    )
    return WeldPlan(
        weld=weld,
        status="ready",
        technique=Technique(weld, (chosen, refused), ()),
        chosen=chosen,
        exposure=Exposure(activity, (shot, shot), ()),
        shielding=shielding,
        scene=scene,
        findings=(Finding("note", "the certificate is dated ahead", "order"),),
        cautions=("Film pack: backing lead, letter B.",),
    )


def stopped(weld: str = "W2") -> WeldPlan:
    """A weld that no technique fits."""
    refused = candidate(
        verdict="refused",
        rules=(RuleVerdict("source range", "10 to 40 mm", "7.1 mm", "breaks", "test clause"),),
    )
    finding = Finding("stop", "no admissible source for 7.1 mm", "test clause", ("agreement se75-from-5mm",))
    return WeldPlan(
        weld, "stopped", Technique(weld, (refused,), (finding,)), None, None, None, None, (finding,), ()
    )


def small_plan(*, content: str = "ab" * 32, welds: tuple[WeldPlan, ...] | None = None, **order: Any) -> Plan:
    """A plan of two welds, or of those given."""
    return Plan(
        order=order_json(**order),
        made_at="2026-03-02T20:00:00+00:00",
        version="0.1.0",
        content=content,
        welds=welds if welds is not None else (ready(), stopped()),
        findings=(Finding("warn", "all welds together come near the shift limit", "test"),),
    )
