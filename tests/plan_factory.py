"""A made-up plan of four placements and a stopped weld, built through the dataclasses; figures are only plausible.

For tests of sheets, records and doors that need a plan without computing one. Nothing here is a result.
"""

from __future__ import annotations

import hashlib
import json
import math
from dataclasses import replace
from typing import Any

from halflayer.base.result import Derived, Finding
from halflayer.cautions import cautions
from halflayer.exposure.result import Density, Exposure, ShotTime
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.scene.build import build_scene
from halflayer.shielding.result import BudgetLine, Fitting, Item, LimitCheck, PointDose, Shielding
from halflayer.technique.result import Candidate, Geometry, Iqi, RuleVerdict, Shot, Technique

H = 3600.0
USV_H = 1e-6 / H
STANDARD = "ISO 17636-1:2013"


def order_data(*, units: str = "metric", places: int = 5, note: str | None = None) -> dict[str, Any]:
    """The order as stored JSON: Python names and SI numbers."""
    named = [
        ("walkway", "Walkway on level 2", "people", (6.0, 3.0, 1.0)),
        ("control", "Control room, west wall", "people", (-7.5, 2.0, 1.0)),
        ("smoke-4", "Smoke detector SD-4", "smoke detector", (1.5, 2.5, 4.2)),
        ("gauge", "Level gauge, feed tank", "level gauge", (3.2, -2.8, 1.6)),
        ("crew", "Crew position at the winch", "crew", (-5.0, -4.0, 1.0)),
    ]
    for k in range(len(named), places):
        angle = 2 * math.pi * k / max(places, 1)
        named.append(
            (
                f"place-{k + 1}",
                f"Stair landing {k + 1} beside the north pipe rack",
                "people",
                (7 * math.cos(angle), 7 * math.sin(angle), 1.0),
            )
        )
    limit = {"rate_Sv_s": 7.5 * USV_H, "basis": "site rule SR-12: 7.5 uSv/h at the barrier, instantaneous"}
    return {
        "order": "TM-0147",
        "title": "Night shift, feed water line 2",
        "revision": "B",
        "units": units,
        "site": {
            "name": "Tarn Mill energy centre",
            "area": "boiler house, level 2",
            "adviser": "Site radiation protection adviser",
            "local_rules": "LR-7 issue 3",
        },
        "code": STANDARD,
        "test_class": "A",
        "agreements": ["se75-from-5mm"],
        "limits": {
            "barrier": limit,
            "barrier_within_m": 8.0,
            "crew": {"per_shift_Sv": 20e-6, "basis": "company dose constraint DC-2 per shift and person"},
        },
        "shift": {"starts": "2026-03-14T21:00:00Z", "ends": "2026-03-15T05:00:00Z"},
        "places": [
            {"id": i, "name": n, "kind": k, "at": at, "limit": None if k == "crew" else limit}
            for i, n, k, at in named[:places]
        ],
        "obstacles": [
            {
                "id": "wall-w",
                "name": "west wall",
                "material": "brick",
                "centre": (-4.0, 0.0, 1.5),
                "size": (0.24, 6.0, 3.0),
            }
        ],
        "sources": [
            {
                "id": "SE-2041",
                "nuclide": "Se-75",
                "activity_Bq": 2.4e12,
                "on": "2026-02-01T12:00:00Z",
                "diameter_m": 0.003,
                "length_m": 0.003,
            },
            {
                "id": "IR-0911",
                "nuclide": "Ir-192",
                "activity_Bq": 0.9e12,
                "on": "2026-03-01T12:00:00Z",
                "diameter_m": 0.002,
                "length_m": 0.002,
            },
        ],
        "heads": [
            {
                "id": "H-2",
                "nuclides": ["Se-75", "Ir-192"],
                "placements": ["over", "lean-out", "strap"],
                "apertures": [
                    {"id": "round-15", "shape": "round", "half_angle_rad": math.radians(15)},
                    {
                        "id": "slot-8x20",
                        "shape": "rectangular",
                        "half_along_rad": math.radians(8),
                        "half_across_rad": math.radians(20),
                    },
                ],
                "solids": [
                    {
                        "shape": "box",
                        "material": "tungsten heavy alloy 95",
                        "centre": (0.0, 0.0, 0.034),
                        "size": (0.1, 0.1, 0.052),
                    },
                    {
                        "shape": "frustum",
                        "material": "tungsten heavy alloy 95",
                        "centre": (0.0, 0.0, -0.02),
                        "radius_start_m": 0.042,
                        "radius_end_m": 0.05,
                        "wall_m": 0.03,
                        "length_m": 0.056,
                    },
                ],
                "body": (0.12, 0.12, 0.12),
                "source_to_face_m": 0.048,
                "mass_kg": 14.0,
            },
            {
                "id": "SPIDER-1",
                "kind": "spider",
                "nuclides": ["Ir-192", "Se-75"],
                "placements": ["bore"],
                "body": (0.05, 0.05, 0.05),
                "source_to_face_m": 0.001,
                "mass_kg": 1.5,
            },
        ],
        "detectors": [
            {
                "id": "C4-10x24",
                "film_class": "C4",
                "dose_for_density_2_Gy": 8e-3,
                "dose_uncertainty": 0.12,
                "basis": "the crew's own step wedge of 12 January",
                "processing": "manual, 5 min at 20 degC",
                "screens": {"front_m": 0.0001, "back_m": 0.00015, "backing_lead_m": 0.001},
                "sheet": (0.1, 0.24),
            },
        ],
        "kit": {
            "carriers": [
                {
                    "id": "FR",
                    "kind": "tent frame",
                    "heights": [0.5, 3.0],
                    "opening": [1.2, 1.5],
                    "width_m": 0.04,
                }
                | {"carries_kg": 200.0, "mass_kg": 12.0},
                {"id": "PP", "kind": "pipe prop", "heights": [0.3, 2.5], "width_m": 0.06, "count": 2}
                | {"carries_kg": 900.0, "mass_kg": 9.0},
                {
                    "id": "HB",
                    "kind": "hood strap",
                    "length_m": 4.0,
                    "carries_kg": 300.0,
                    "mass_kg": 1.0,
                    "count": 2,
                },
            ],
            "plates": [
                {"id": "PB-2", "thickness_m": 0.002, "along_m": 0.25, "across_m": 0.25, "count": 20},
                {"id": "PB-5", "thickness_m": 0.005, "along_m": 0.25, "across_m": 0.25, "count": 8},
            ],
            "blankets": [
                {
                    "id": "WB-25",
                    "material": "tungsten rubber",
                    "areal_density_kg_m2": 25.0,
                    "thickness_m": 0.0055,
                    "width_m": 0.3,
                    "length_m": 1.2,
                    "count": 32,
                }
            ],
            "clamps": [
                {
                    "id": "C-40-130",
                    "diameter_min_m": 0.04,
                    "diameter_max_m": 0.13,
                    "from_weld_m": 0.12,
                    "mass_kg": 2.4,
                }
            ],
            "legs": [
                {
                    "id": "L-500",
                    "reach_min_m": 0.15,
                    "reach_max_m": 0.5,
                    "hole_pitch_m": 0.025,
                    "lean_max_rad": 0.35,
                    "lean_step_rad": math.radians(1),
                    "carries_kg": 25.0,
                    "mass_kg": 3.6,
                }
            ],
        },
        "crew": [
            {
                "id": "ric",
                "name": "M. Okafor",
                "role": "radiographer in charge",
                "dose_this_year_Sv": 0.42e-3,
            },
            {"id": "rad2", "name": "J. Lindqvist", "role": "radiographer"},
            {"id": "sentry", "name": "P. Adeyemi", "role": "sentry"},
        ],
        "instruments": [
            {"id": "SM-17", "kind": "survey meter", "calibrated_until": "2026-11-30T00:00:00Z"},
            {"id": "PA-3", "kind": "personal alarm", "calibrated_until": "2026-03-10T00:00:00Z"},
        ],
        "welds": [
            _weld("W-01", od=0.0603, wall=0.0055, at=(0.0, 0.0), note=note, placements=("lean-out",)),
            _weld("W-02", od=0.0424, wall=0.0049, at=(1.0, 0.5), runs="vertical", placements=("over",)),
            _weld("W-03", od=0.2191, wall=0.0082, at=(2.0, -1.0), placements=("strap",), contents="water"),
            _weld("W-04", od=0.3239, wall=0.0095, at=(-1.0, 2.0), placements=("bore",), open_end=True),
            _weld("W-05", od=0.1683, wall=0.0183, at=(3.0, 1.0), placements=("strap",)),
        ],
    }


def _weld(
    id: str,
    *,
    od: float,
    wall: float,
    at: tuple[float, float],
    runs: str = "horizontal",
    note: str | None = None,
    placements: tuple[str, ...] = (),
    contents: str = "air",
    open_end: bool = False,
) -> dict[str, Any]:
    return {
        "id": id,
        "pipe": {"outer_diameter_m": od, "wall_m": wall, "material": "steel"},
        "cap": {"width_m": max(0.008, 1.6 * wall), "height_m": 0.0015, "root_m": 0.001},
        "contents": {"material": contents},
        "at": at,
        "height_m": 1.1,
        "floor_material": "concrete",
        "runs": runs,
        "heading_rad": 0.35,
        "left": {"kind": "elbow", "distance_m": 0.42},
        "right": {"kind": "open end" if open_end else "pipe", "distance_m": 0.8},
        "access_inside": open_end,
        "placements": placements,
        "note": note,
    }


def figure(name: str, value: float | None, unit: str, sigma: float | None = None, **rest: Any) -> Derived:
    """A figure with a short trail."""
    rest.setdefault("source", "made up for a test")
    return Derived(name, value, unit, sigma, **rest)


def _rules(*, broken: str | None = None) -> tuple[RuleVerdict, ...]:
    rows = [
        (
            "source range",
            "5 to 40 mm of steel, by agreement from 5 mm",
            "11.0 mm",
            f"{STANDARD}, 7.2, Table 2, with agreement",
        ),
        ("source to object distance", "at least 346 mm", "350 mm", f"{STANDARD}, 7.6, formula (1)"),
        ("ellipse: outside diameter", "at most 100 mm", "60.3 mm", f"{STANDARD}, 7.1.6"),
        ("ellipse: wall", "at most 8 mm", "5.5 mm", f"{STANDARD}, 7.1.6"),
        ("ellipse: weld width", "at most De/4 = 15.1 mm", "8.8 mm", f"{STANDARD}, 7.1.6"),
        ("ellipse opening", "about 8.8 mm, 3 mm at least", "8.9 mm", f"{STANDARD}, 7.1.6"),
        ("number of exposures", "2 at 90 degrees", "2 at 90 degrees", f"{STANDARD}, 7.1.6, t/De = 0.091"),
        ("film class", "C5 or better", "C4", f"{STANDARD}, Table 3"),
        ("front screen", "lead, 0.02 to 0.2 mm", "0.1 mm", f"{STANDARD}, Table 3"),
        ("density", "2.0 at least", "2.3 to 2.9", f"{STANDARD}, 7.8, Table 5"),
        ("IQI wire", "W13", "W13 laid", "ISO 17636-1:2013, Table B.3; from memory, unverified"),
        ("geometric unsharpness", "not asked by this code", "0.52 mm", f"{STANDARD}"),
    ]
    out = []
    for rule, required, reached, source in rows:
        verdict = "breaks" if rule == broken else "not asked" if required.startswith("not asked") else "holds"
        out.append(RuleVerdict(rule, required, reached, verdict, source))  # type: ignore[arg-type]
    return tuple(out)


def candidate(
    order: Order, weld_id: str, *, arrangement: str, shots: int, broken: str | None = None
) -> Candidate:
    """A candidate of that arrangement with plausible geometry."""
    weld = order.weld(weld_id)
    od, wall = weld.pipe.od, weld.pipe.wall
    stand = arrangement in ("over", "lean-out")
    standoff = {"over": 0.27, "lean-out": 0.35, "strap": 0.055, "bore": 0.0}[arrangement]
    offset = 0.105 if arrangement == "lean-out" else 0.0
    b = od if stand else wall
    f = {"strap": standoff + od - wall, "bore": od / 2 - wall}.get(arrangement, standoff)
    step = {2: 90, 3: 60, 4: 90}.get(shots, 0)
    clocks = [math.radians(step * k) for k in range(shots)]
    opposite = 0.0 if arrangement == "bore" else math.pi
    arc = math.radians(105) if arrangement == "strap" else 2 * math.pi
    return Candidate(
        technique={
            "over": "DWDI in plane",
            "lean-out": "DWDI ellipse",
            "strap": "DWSI contact",
            "bore": "SWSI panoramic",
        }[arrangement],
        arrangement=arrangement,  # type: ignore[arg-type]
        source="IR-0911" if arrangement == "bore" else "SE-2041",
        head="SPIDER-1" if arrangement == "bore" else "H-2",
        aperture=None if arrangement == "bore" else "slot-8x20" if arrangement == "lean-out" else "round-15",
        detector="C4-10x24",
        clamp="C-40-130" if stand else None,
        clamp_x_m=-0.12 if stand else None,
        legs="L-500" if stand else None,
        leg_hole=9 if stand else None,
        geometry=Geometry(
            source_to_detector_m=f + b,
            source_to_object_m=f,
            object_to_detector_m=b,
            minimum_source_to_object_m=0.9 * f,
            unsharpness_m=0.003 * b / f,
            axial_offset_m=offset,
            tilt_rad=math.atan2(offset, standoff + od / 2),
            standoff_m=standoff,
            opening_m=0.0089 if arrangement == "lean-out" else None,
            nominal_m=2 * wall if arrangement != "bore" else wall,
            iqi_thickness_m=2 * wall if arrangement != "bore" else wall,
            crossed_m=2 * wall + 0.003,
            focal_m=0.003,
        ),
        shots=tuple(Shot(c, (c + opposite) % (2 * math.pi), arc) for c in clocks),
        usable_rad=arc if arrangement == "strap" else None,
        density_min=2.0,
        density_max=4.0,
        iqi=Iqi(
            "wire",
            "W13 (10 FE EN)",
            "W13",
            0.0002,
            "source side" if stand else "film side",
            f"{STANDARD}, Table B.3",
            1,
        ),
        rules=_rules(broken=broken),
        verdict="refused" if broken else "admissible",
        agreements_used=("se75-from-5mm",) if arrangement != "bore" else (),
        derived=(
            figure(
                "geometric_unsharpness",
                0.003 * b / f,
                "m",
                0.02 * 0.003 * b / f,
                symbol="Ug",
                formula="Ug = d b / f",
                inputs=(
                    figure("focal_size", 0.003, "m", basis="certificate"),
                    figure("object_to_detector", b, "m", basis="geometry"),
                    figure("source_to_object", f, "m", basis="geometry"),
                ),
                source=f"{STANDARD}, 7.6",
            ),
            figure(
                "minimum_source_to_object",
                0.9 * f,
                "m",
                symbol="f_min",
                formula="f_min = 7.5 d b^(2/3)",
                source=f"{STANDARD}, 7.6, formula (1)",
                basis="rule, exact",
            ),
        ),
    )


def exposure(order: Order, chosen: Candidate) -> Exposure:
    """Times of all shots, with a trail of a few steps."""
    activity = figure(
        "activity_at_shot",
        1.86e12 if chosen.source == "SE-2041" else 0.79e12,
        "Bq",
        0.11e12,
        symbol="A",
        formula="A = A0 x 2^(-t / T)",
        inputs=(
            figure("certificate_activity", 2.4e12, "Bq", 0.146e12, source="certificate of SE-2041"),
            figure("half_life", 119.78 * 86400, "s", 0.02 * 86400, source="DDEP"),
        ),
    )
    shots = []
    for k, _ in enumerate(chosen.shots):
        seconds = figure(
            "exposure_time",
            205.0 + 31.0 * (k % 2),
            "s",
            24.0,
            symbol="t",
            formula="t = D / (K x F)",
            inputs=(
                activity,
                figure(
                    "film_dose",
                    9.3e-3,
                    "Gy",
                    0.6e-3,
                    symbol="D",
                    source="the crew's own step wedge of 12 January",
                ),
                figure("kerma_rate", 4.5e-5, "Gy/s", 0.3e-5, symbol="K"),
            ),
        )
        shots.append(
            ShotTime(
                seconds, Density(2.3, 2.05, 2.9, 0.2, "weld crown", "beside the cap"), 4.5e-5, 0.62, 0.02
            )
        )
    return Exposure(activity, tuple(shots), (Finding("note", "film dose is a crew figure"),))


def shielding(order: Order, weld_id: str, chosen: Candidate) -> Shielding:
    """Doses at the order's places and at 24 barrier points."""
    stand = chosen.arrangement in ("over", "lean-out")
    fitting = Fitting(
        plates=7 if stand else 0, plate="PB-2" if stand else None, layers=3 if stand else 6, blanket="WB-25"
    )
    points = []
    x, y = order.weld(weld_id).at
    barrier = [
        (f"barrier {15 * k} deg, {4.2 + 0.2 * (k % 3):.3g} m", 4.2 + 0.2 * (k % 3), k * math.pi / 12)
        for k in range(24)
    ]
    for n, (name, at) in enumerate(
        [(p.name, p.at) for p in order.places]
        + [(n, (x + r * math.cos(a), y + r * math.sin(a), 1.0)) for n, r, a in barrier]
    ):
        rate = (0.4 + 0.71 * (n * 37 % 11)) * USV_H * 0.7
        upper = rate * 1.05 * 1.31
        limited = n >= len(order.places) or order.places[n].limit is not None
        points.append(
            PointDose(
                name,
                at,
                rate,
                0.021,
                upper,
                reliable=n != 2,
                limit_Sv_s=7.5 * USV_H if limited else None,
                ok=None if n == 2 or not limited else upper <= 7.5 * USV_H,
                shares={
                    "from the pipe": 0.52,
                    "through the stop": 0.24,
                    "from the head": 0.13,
                    "from the floor": 0.07,
                    "other": 0.04,
                },
                turn_back_Sv_s=7.5 * USV_H if limited else 2 * upper,
            )
        )
    return Shielding(
        fitting=fitting,
        stop_thickness_m=fitting.plates * 0.002,
        items=tuple(
            i
            for i in (
                Item("C-40-130", "clamp", 1, 2.4) if stand else None,
                Item("L-500", "legs", 1, 3.6) if stand else None,
                Item(chosen.head, "head", 1, 14.0),
                Item("PB-2", "stop plate 2 mm lead", 7, 9.93, "250 x 250 mm") if stand else None,
                Item(
                    "WB-25", "blanket 25 kg/m2", 9 if stand else 14, 81.0 if stand else 126.0, "0.3 x 1.2 m"
                ),
            )
            if i
        ),
        added_mass_kg=91.0 if stand else 126.0,
        footprint_m=(0.142, 0.318),
        footprint_on="stop" if stand else "blanket",
        budget=(
            BudgetLine("activity of the source", 0.10, "certificate SE-2041"),
            BudgetLine("stop plates", 0.05, "thickness tolerance of PB-2"),
            BudgetLine("blankets", 0.07, "areal density tolerance of WB-25"),
            BudgetLine("gaps between pieces", 0.05, "stated in the order's kit"),
            BudgetLine("head leakage", 0.20, "measured once, 2026-01-12"),
        ),
        k=0.31,
        points=tuple(points),
        limits=(
            LimitCheck(
                "barrier", "in any one hour", "planned exposures, 60 min", 3.1e-6, 4.4e-6, 20e-6, True
            ),
            LimitCheck(
                "Walkway on level 2", "per shift", "all exposures of the order", 1.9e-6, 2.6e-6, 5e-6, True
            ),
        ),
        barrier_m=figure(
            "barrier_distance", 4.6, "m", 0.1, formula="largest over 8 directions at 1 m height, 7.5 uSv/h"
        ),
        barrier_hour_m=figure("barrier_distance_hour", None, "m", basis="no such limit in the order"),
        barrier_by_direction=tuple((k * math.pi / 12, 4.2 + 0.4 * math.cos(k * 1.3)) for k in range(24)),
        crew=tuple(figure(p.id, (1.3 - 0.4 * k) * 1e-6, "Sv", 0.2e-6) for k, p in enumerate(order.crew)),
        proved=True,
        seeds=(11, 12),
        derived=(
            figure(
                "stop_plates",
                fitting.plates,
                "",
                formula="fewest plates that hold every limit",
                basis="integer",
                source="sizing on seed 11",
            ),
            figure(
                "blanket_layers",
                fitting.layers,
                "",
                formula="fewest layers that hold every limit",
                basis="integer",
                source="sizing on seed 11",
            ),
        ),
        findings=(Finding("note", "one more layer lowers no place by more than 4 %"),),
    )


def weld_plan(order: Order, weld_id: str, arrangement: str, shots: int) -> WeldPlan:
    """A ready weld."""
    weld = order.weld(weld_id)
    chosen = candidate(order, weld_id, arrangement=arrangement, shots=shots)
    others = [
        candidate(order, weld_id, arrangement=a, shots=2, broken=b)
        for a, b in (("over", "source to object distance"), ("strap", "source range"))
        if a != arrangement
    ]
    shield = shielding(order, weld_id, chosen)
    built = build_scene(order, weld, chosen, chosen.shots[0], shield.fitting)  # type: ignore[arg-type]
    times = exposure(order, chosen)
    return WeldPlan(
        weld_id,
        "ready",
        Technique(weld_id, (chosen, *others), ()),
        chosen,
        times,
        shield,
        built.scene,
        (*times.findings, *shield.findings),
        cautions(order, weld, chosen),
    )


def stopped_plan(order: Order, weld_id: str) -> WeldPlan:
    """A weld that no candidate of the order can shoot."""
    tries = tuple(
        candidate(order, weld_id, arrangement=a, shots=4, broken=b)
        for a, b in (("strap", "source to object distance"), ("over", "ellipse: outside diameter"))
    )
    stop = Finding(
        "stop",
        "No candidate reaches the smallest source to object distance of class A with the sources of the order.",
        f"{STANDARD}, 7.6",
        ("a source with a focal size of 2.1 mm or less", "access to the inside for a source in the bore"),
    )
    return WeldPlan(
        weld_id, "stopped", Technique(weld_id, tries, (stop,)), None, None, None, None, (stop,), ()
    )


def plan(**of_order: Any) -> Plan:
    """The whole plan; keyword arguments go to `order_data`."""
    data = order_data(**of_order)
    order = Order.from_json(data)
    stored = order.as_json()
    welds = (
        weld_plan(order, "W-01", "lean-out", 2),
        weld_plan(order, "W-02", "over", 3),
        weld_plan(order, "W-03", "strap", 4),
        weld_plan(order, "W-04", "bore", 1),
        stopped_plan(order, "W-05"),
    )
    content = hashlib.sha256(json.dumps(stored, sort_keys=True).encode()).hexdigest()
    return Plan(stored, "2026-03-14T21:00:00+00:00", "0.1.0", content, welds)


def renamed(one: WeldPlan, **changes: Any) -> WeldPlan:
    """A weld plan with fields replaced."""
    return replace(one, **changes)
