"""The safety results as plain JSON for other people's scripts: names carry the unit, what is not known is null."""

from __future__ import annotations

import math
from dataclasses import fields, is_dataclass
from typing import Any

from halflayer.base.result import Derived, Finding
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.shielding.barrier_kinds import barrier_kinds
from halflayer.shielding.safety_result import AveragedDose, Safety
from halflayer.technique.result import Candidate

PER_HOUR = 3600.0
PARTS = ("crew", "contour", "floors", "access", "lost")


def safety_json(safety: Safety | None) -> dict[str, Any]:
    """Crew, barrier line, floors, access and lost shielding of a weld; every key there, null where not reached."""
    if safety is None:
        return dict.fromkeys(PARTS)
    return {name: plain(getattr(safety, name)) for name in PARTS}


def at_barrier_json(
    order: Order, exposure: Exposure | None, candidate: Candidate | None = None
) -> dict[str, float | int | None]:
    """What there is at most at a weld's barrier by both kinds, whichever of them has a limit."""
    at = barrier_kinds(order, exposure, candidate)
    return {
        "barrier_rate_Sv_per_h": _scaled(at.rate.value, PER_HOUR),
        "barrier_any_hour_Sv": _scaled(at.hour.value, 1.0),
    }


def averages_json(safety: Safety | None) -> list[dict[str, Any]]:
    """The averaging rules side by side, in the shape of the plan's other limits; rates have keys of their own."""
    return [_average(a) for a in safety.averages] if safety else []


def _average(a: AveragedDose) -> dict[str, Any]:
    rate = a.unit == "Sv/s"
    dose, per_hour = (1.0, None) if not rate else (None, PER_HOUR)
    return {
        "place": a.place,
        "kind": a.kind,
        "averaging": a.averaging,
        "value_Sv": _scaled(a.value, dose),
        "upper_Sv": _scaled(a.upper, dose),
        "limit_Sv": _scaled(a.limit, dose),
        "rate_Sv_per_h": _scaled(a.value, per_hour),
        "upper_Sv_per_h": _scaled(a.upper, per_hour),
        "limit_Sv_per_h": _scaled(a.limit, per_hour),
        "ok": a.ok,
    }


def plain(value: Any) -> Any:
    """A result as plain data: Sv/s to Sv/h and rad to degrees with their names, figures without their trails."""
    if isinstance(value, Derived):
        return {
            "name": value.name,
            "value": value.value if isinstance(value.value, str) else _scaled(value.value, 1.0),
            "unit": value.unit,
            "sigma": _scaled(value.sigma, 1.0),
            "basis": value.basis,
        }
    if isinstance(value, Finding):
        return f"{value.level}: {value.text}"
    if is_dataclass(value) and not isinstance(value, type):
        return dict(_named(f.name, getattr(value, f.name)) for f in fields(value))
    if isinstance(value, tuple | list):
        return [plain(v) for v in value]
    if isinstance(value, float):
        return _scaled(value, 1.0)
    return value


def _named(name: str, value: Any) -> tuple[str, Any]:
    for suffix, wanted, factor in (("_Sv_s", "_Sv_per_h", PER_HOUR), ("_rad", "_deg", 180.0 / math.pi)):
        if name.endswith(suffix):
            return name.removesuffix(suffix) + wanted, _scaled(value, factor)
    return name, plain(value)


def _scaled(value: Any, factor: float | None) -> float | int | None:
    if factor is None or isinstance(value, bool) or not isinstance(value, int | float):
        return None
    if not math.isfinite(value):
        return None
    return value if factor == 1.0 else value * factor
