"""The file `plan.json`: a plan in the shape that other people's scripts rely on, every key always present.

Names carry the unit. What a stopped weld did not reach is null (a list: empty). Figures that are not finite
are null: they are not known. `figures` holds every figure with its trail, so that the file alone can be
explained; `unit` and `value` there are SI.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from halflayer.base.result import Derived, Finding
from halflayer.base.ring_words import ring_words_in
from halflayer.exposure.budget import TimeBudget
from halflayer.exposure.decay_days import decay_days
from halflayer.exposure.result import Exposure, ShotTime
from halflayer.opened import opened, opened_order
from halflayer.order.codes import CLASSED
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.radiograph.files import verdict_json
from halflayer.sheet.carrying import beside_sums
from halflayer.sheet.figures import Show
from halflayer.shielding import safety_json
from halflayer.shielding.field_result import field_json
from halflayer.shielding.proof import proved_to
from halflayer.shielding.result import LimitCheck, PointDose, Shielding
from halflayer.shielding.stuck import StuckSource
from halflayer.shift.left import cards
from halflayer.technique.looked_at import candidate_json, looked_at_json
from halflayer.technique.result import Candidate, Shot

PER_HOUR = 3600.0
LENGTHS = {  # name in the file (in mm) and of the field of `Geometry` (in m)
    "source_to_detector": "source_to_detector",
    "source_to_object": "source_to_object",
    "object_to_detector": "object_to_detector",
    "minimum_source_to_object": "minimum_source_to_object",
    "unsharpness": "unsharpness",
    "axial_offset": "axial_offset",
    "standoff": "standoff",
    "opening": "opening",
    "focal": "focal",
    "nominal_thickness": "nominal",
    "iqi_thickness": "iqi_thickness",
    "crossed": "crossed",
}


def plan_json(plan: Plan, *, files: Iterable[str] = ()) -> dict[str, Any]:
    """The plan as plain JSON data; `files` names the sheets that lie beside it."""
    data = {
        "order": plan.order["order"],
        "title": plan.order["title"],
        "revision": plan.order["revision"],
        "code": plan.order["code"],
        "class": plan.order["test_class"],
        "units": plan.order["units"],
        "made_at": plan.made_at,
        "version": plan.version,
        "content": plan.content,
        "files": list(files),
        "findings": [_line(f) for f in plan.findings],
        "shift": _shift(plan),
        "schedule": safety_json.plain(plan.schedule) if plan.schedule else None,
        "stuck_sources": safety_json.plain(_cards(plan)),
        "figures": {n: _trail(f) for n, f in opened_order(plan).items()},
        "welds": [weld_json(plan, w) for w in plan.welds],
    }
    return ring_words_in(data)


def _cards(plan: Plan) -> tuple[StuckSource, ...]:
    """The contingency cards less what the plan already gives, carrying and a survey of a source still out too."""
    order = Order.from_json(plan.order)
    beside = beside_sums(plan, order, Show(order.units))
    return cards(plan.stuck, plan.schedule, plan.order["crew"], beside)


def weld_json(plan: Plan, weld: WeldPlan) -> dict[str, Any]:
    """One weld of the plan."""
    chosen, shielding = weld.chosen, weld.shielding
    return {
        "weld": weld.weld,
        "status": weld.standing,
        "only_if": [{"what": c.short, "text": c.text, "source": c.source} for c in weld.conditions],
        **_code(plan.order, weld.weld),
        "technique": chosen.technique if chosen else None,
        "arrangement": chosen.arrangement if chosen else None,
        "source": chosen.source if chosen else None,
        "nuclide": _nuclide(plan.order, chosen.source) if chosen else None,
        "activity_Bq": _number(weld.exposure.activity.value) if weld.exposure else None,
        "head": chosen.head if chosen else None,
        "aperture": chosen.aperture if chosen else None,
        "clamp": chosen.clamp if chosen else None,
        "legs": chosen.legs if chosen else None,
        "leg_hole": chosen.leg_hole if chosen else None,
        "shroud": chosen.shroud if chosen else None,
        "guide": chosen.guide if chosen else None,
        "settings": [_setting(d) for d in chosen.settings] if chosen else [],
        "geometry": _geometry(chosen),
        "exposures": _exposures(chosen, weld.exposure),
        "coverage": _coverage(weld.exposure),
        "iqi": _iqi(chosen),
        "radiographs": [{"exposure": r.shot + 1, **verdict_json(r.verdict)} for r in weld.radiographs],
        "shielding": _shielding(shielding),
        "beam_footprint_mm": [_mm(v) for v in shielding.footprint_m] if shielding else None,
        "beam_footprint_on": shielding.footprint_on if shielding else None,
        "dose": {
            "proved": shielding.proved if shielding else None,
            "proved_to": proved_to(shielding) if shielding else None,
            "quantity": "H*(10)",
            "k": shielding.k if shielding else None,
            "points": [_point(p) for p in shielding.points] if shielding else [],
            "limits": [
                *([_limit(c) for c in shielding.limits] if shielding else []),
                *safety_json.averages_json(weld.safety),
            ],
        },
        "barrier_distance_m": _number(shielding.barrier_m.value) if shielding else None,
        "barrier_distance_any_hour_m": _number(shielding.barrier_hour_m.value) if shielding else None,
        "barrier_stands_m": _number(shielding.barrier_stands_m.value) if shielding else None,
        "barrier_stands_for": None
        if shielding is None or _number(shielding.barrier_stands_m.value) is None
        else "any one hour"
        if shielding.barrier_by_hour
        else "rate",
        **safety_json.at_barrier_json(Order.from_json(plan.order), weld.exposure, weld.chosen),
        "dose_field": field_json(weld.dose_field),
        "crew_dose_Sv": _crew(plan.order, shielding) if shielding else {},
        "time_budget": _budget(weld.budget),
        "decay": _decay(plan, weld),
        "safety": safety_json.safety_json(weld.safety),
        "candidates": [candidate_json(c) for c in weld.technique.candidates],
        "looked_at": looked_at_json(weld.technique),
        "findings": [_line(f) for f in weld.findings],
        "cautions": list(weld.cautions),
        "figures": {n: _trail(f) for n, f in opened(Order.from_json(plan.order), weld).items()},
    }


def _shift(plan: Plan) -> dict[str, Any] | None:
    shift = plan.shift
    if shift is None:
        return None
    return {
        "total_s": shift.total_s,
        "shift_s": shift.shift_s,
        "teams": shift.teams,
        "fits": shift.fits,
        "welds": [{"weld": weld, "seconds": seconds} for weld, seconds in shift.welds],
    }


def _budget(budget: TimeBudget | None) -> dict[str, Any]:
    """The time budget of a weld; nulls where it is stopped."""
    return {
        "total_s": budget.total_s if budget else None,
        "steps": [
            {"what": s.what, "times": s.times, "each_s": s.each_s, "total_s": s.total_s}
            for s in (budget.steps if budget else ())
        ],
        "films": [{"detector": name, "sheets": sheets} for name, sheets in (budget.films if budget else ())],
        "planned_exposures": budget.planned if budget else None,
        "exposures": budget.exposures if budget else None,
        "trial": budget.trial if budget else None,
        "extra_dose": [
            {"name": d.name, "dose_Sv": _number(d.extra_Sv)} for d in (budget.extra_doses if budget else ())
        ],
        "basis": budget.basis if budget else None,
    }


def _decay(plan: Plan, weld: WeldPlan) -> list[dict[str, Any]]:
    """Thirty days of activity and times from the planned moment on; empty where there is no exposure."""
    nuclide = _nuclide(plan.order, weld.chosen.source) if weld.chosen else None
    if nuclide is None or weld.exposure is None or _number(weld.exposure.activity.value) is None:
        return []
    return [
        {
            "day": d.day,
            "when": d.when.isoformat(),
            "activity_Bq": _number(d.activity_Bq),
            "factor": _number(d.factor),
            "seconds": [_number(t) for t in d.seconds],
        }
        for d in decay_days(nuclide, weld.exposure, moment=datetime.fromisoformat(plan.made_at))
    ]


def _nuclide(order: dict[str, Any], source: str) -> str | None:
    return next((s["nuclide"] for s in order["sources"] if s["id"] == source), None)


def _setting(figure: Derived) -> dict[str, Any]:
    """What hands set: a name, its value (SI, or an id), its unit, and in words where and how."""
    value = figure.value if isinstance(figure.value, str) else _number(figure.value)
    return {"name": figure.name, "value": value, "unit": figure.unit, "basis": figure.basis}


def _geometry(chosen: Candidate | None) -> dict[str, float | None]:
    g = chosen.geometry if chosen else None
    data = {
        f"{name}_mm": _mm(getattr(g, f"{attribute}_m")) if g else None for name, attribute in LENGTHS.items()
    }
    return data | {"tilt_deg": _degrees(g.tilt_rad) if g else None}


def _exposures(chosen: Candidate | None, exposure: Exposure | None) -> list[dict[str, Any]]:
    if chosen is None:
        return []
    times: list[ShotTime | None] = list(exposure.shots) if exposure else []
    times += [None] * (len(chosen.shots) - len(times))
    return [_exposure(chosen, shot, time) for shot, time in zip(chosen.shots, times, strict=True)]


def _exposure(chosen: Candidate, shot: Shot, time: ShotTime | None) -> dict[str, Any]:
    density, snr, second = (time.density, time.snr, time.second) if time else (None, None, None)
    return {
        "source_clock_deg": _degrees(shot.source_clock_rad),
        "detector_clock_deg": _degrees(shot.detector_clock_rad),
        "evaluated_deg": _degrees(shot.evaluated_rad),
        "seconds": _number(time.seconds.value) if time else None,
        "seconds_sigma": _number(time.seconds.sigma) if time else None,
        "detector": chosen.detector,
        "density": {
            "weld": _number(density.weld) if density else None,
            "least": _number(density.least) if density else None,
            "most": _number(density.most) if density else None,
            "sigma": _number(density.sigma) if density else None,
        },
        "second_film": {
            "detector": second.detector if second else None,
            "density": {
                "weld": _number(second.density.weld) if second else None,
                "least": _number(second.density.least) if second else None,
                "most": _number(second.density.most) if second else None,
                "sigma": _number(second.density.sigma) if second else None,
            },
        },
        "signal_to_noise": {
            "weld": _number(snr.weld) if snr else None,
            "beside_least": _number(snr.beside_least) if snr else None,
            "most": _number(snr.most) if snr else None,
            "required": _number(snr.required) if snr else None,
            "sigma": _number(snr.sigma) if snr else None,
            "frames": snr.frames if snr else None,
        },
        "scatter_to_primary": _number(time.scatter_to_primary) if time else None,
    }


def _coverage(exposure: Exposure | None) -> dict[str, list[dict[str, Any]]]:
    """The weld unrolled: stretches by exposure and wall, and those that no exposure covers."""
    found = exposure.coverage if exposure else None
    return {
        "covered": [
            {
                "exposure": c.exposure,
                "wall": c.wall,
                "from_deg": _degrees(c.start_rad),
                "length_deg": _degrees(c.length_rad),
                "ends": list(c.ends),
            }
            for c in (found.covered if found else ())
        ],
        "uncovered": [
            {"from_deg": _degrees(start), "length_deg": _degrees(length)}
            for start, length in (found.uncovered if found else ())
        ],
    }


def _iqi(chosen: Candidate | None) -> dict[str, Any]:
    iqi = chosen.iqi if chosen else None
    return {
        "type": iqi.type if iqi else None,
        "designation": iqi.designation if iqi else None,
        "required": iqi.required if iqi else None,
        "position": iqi.position if iqi else None,
        "diameter_mm": _mm(iqi.diameter_m) if iqi else None,
        "pieces": iqi.pieces if iqi else None,
        "equivalents": list(iqi.equivalents) if iqi else [],
        "source": iqi.table if iqi else None,
    }


def _shielding(shielding: Shielding | None) -> dict[str, Any]:
    fitting = shielding.fitting if shielding else None
    return {
        "stop_plates": fitting.plates if fitting else None,
        "stop_plate": fitting.plate if fitting else None,
        "stop_thickness_mm": _mm(shielding.stop_thickness_m) if shielding else None,
        "blanket_layers": fitting.layers if fitting else None,
        "blanket": fitting.blanket if fitting else None,
        "added_mass_kg": _number(shielding.added_mass_kg) if shielding else None,
        "items": [
            {"id": i.id, "what": i.what, "pieces": i.pieces, "mass_kg": _number(i.mass_kg), "note": i.note}
            for i in (shielding.items if shielding else ())
        ],
    }


def _crew(order: dict[str, Any], shielding: Shielding) -> dict[str, float | None]:
    """Dose by the names of the order's crew, which stand in the same sequence; two of one name by name and id."""
    crew = order["crew"]
    names = [person["name"] for person in crew]
    keys = [n if names.count(n) == 1 else f"{n} ({p['id']})" for n, p in zip(names, crew, strict=True)]
    return {key: _number(d.value) for key, d in zip(keys, shielding.crew, strict=True)}


def _point(p: PointDose) -> dict[str, Any]:
    limited = p.limit_Sv_s is not None
    return {
        "name": p.name,
        "at_m": list(p.at),
        "rate_Sv_per_h": _per_hour(p.rate_Sv_s),
        "sigma_rel": _number(p.sigma_rel),
        "upper_Sv_per_h": _per_hour(p.upper_Sv_s),
        "limit_Sv_per_h": _per_hour(p.limit_Sv_s),
        "ok": p.ok if limited else None,
        "reliable": p.reliable,
        "turn_back_Sv_per_h": _per_hour(p.turn_back_Sv_s),
        "at_exposure": p.at_exposure,
        "by_exposure_Sv_per_h": [_per_hour(v) for v in p.by_exposure_Sv_s],
        "by_exposure_sigma_rel": [_number(v) for v in p.by_exposure_sigma_rel],
        "shares": {name: _number(share) for name, share in p.shares.items()},
    }


def _limit(c: LimitCheck) -> dict[str, Any]:
    return {
        "place": c.place,
        "kind": c.kind,
        "averaging": c.averaging,
        "value_Sv": _number(c.value_Sv),
        "upper_Sv": _number(c.upper_Sv),
        "limit_Sv": _number(c.limit_Sv),
        "ok": c.ok,
    }


def _code(order: dict[str, Any], weld_id: str) -> dict[str, str | None]:
    """Code and class that a weld is judged by: its own, else the order's."""
    own: dict[str, Any] = next((w for w in order["welds"] if w["id"] == weld_id), {})
    code = own.get("code") or order["code"]
    classed = own.get("test_class") or order["test_class"]
    return {"code": code, "class": classed if code in CLASSED else None}


def _line(finding: Finding) -> str:
    """A finding as one line: level, text, source, and what would lift it."""
    text = f"{finding.level}: {finding.text}"
    if finding.source:
        text += f" ({finding.source})"
    if finding.relax:
        text += f"; would be lifted by: {', or '.join(finding.relax)}"
    return text


def _trail(figure: Derived) -> dict[str, Any]:
    data = figure.as_json()
    data["value"] = figure.value if isinstance(figure.value, str) else _number(figure.value)
    data["sigma"] = _number(figure.sigma)
    data["inputs"] = [_trail(i) for i in figure.inputs]
    return data


def _number(value: Any) -> float | int | None:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    return value if math.isfinite(value) else None


def _mm(metres: float | None) -> float | None:
    """Millimetres without the last-digit noise of the conversion (kept to a nanometre)."""
    value = _number(metres)
    return None if value is None else round(value * 1e3, 6)


def _degrees(radians: float | None) -> float | None:
    value = _number(radians)
    return None if value is None else round(math.degrees(value), 9)


def _per_hour(per_second: float | None) -> float | None:
    value = _number(per_second)
    return None if value is None else value * PER_HOUR
