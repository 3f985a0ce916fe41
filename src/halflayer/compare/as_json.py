"""A comparison as plain JSON: names carry the unit, every key is there, null where a way was not looked at."""

from __future__ import annotations

from typing import Any

from halflayer.base.result import Derived
from halflayer.compare.result import Comparison, Look, Way
from halflayer.shielding.safety_json import plain


def comparison_json(found: Comparison) -> dict[str, Any]:
    """The whole comparison; `goes`: a look puts a way under every limit, no rule broken."""
    return {
        "weld": found.weld,
        "goes": found.goes,
        "seed": found.seed,
        "basis": "looks: short dose runs of one exposure of each way, not proved",
        "ways": [_way(w) for w in found.ways],
        "judged": list(found.judged),
        "relaxations": plain(found.relaxations),
        "findings": plain(found.findings),
        "cautions": list(found.cautions),
    }


def _way(w: Way) -> dict[str, Any]:
    c = w.candidate
    return {
        "technique": c.technique,
        "arrangement": c.arrangement,
        "source": c.source,
        "head": c.head,
        "aperture": c.aperture,
        "detector": c.detector,
        "verdict": c.verdict,
        "exposures": w.exposures,
        "exposure_s": _value(w.exposure_s),
        "exposure_sigma_s": w.exposure_s.sigma if w.exposure_s else None,
        "set_up_min": _minutes(w.set_up_s),
        "whole_min": _minutes(w.whole_s),
        "added_mass_kg": w.mass_kg,
        "crew_Sv": _value(w.crew_Sv),
        "crew_basis": w.crew_Sv.basis if w.crew_Sv else None,
        "look": _look(w.look, w.folded) if w.look else None,
        "note": w.note,
        # the dose verdict is look.standing; these are what the exposure itself breaks
        "rules_broken": [f.text for f in w.stops] if w.look else None,
        "rules": plain(c.rules),
    }


def _look(look: Look, folded: bool) -> dict[str, Any]:
    data: dict[str, Any] = plain(look)
    fitting = data.pop("fitting")
    return {
        "stop_plates": fitting["plates"],
        "stop_plate": fitting["plate"],
        "stop_of": "folded blankets" if folded else "plates",
        "blanket_layers": fitting["layers"],
        "blanket": fitting["blanket"],
        **data,
        "shares": look.shares,
    }


def _value(figure: Derived | None) -> float | None:
    return float(figure.value) if figure is not None and isinstance(figure.value, int | float) else None


def _minutes(figure: Derived | None) -> float | None:
    seconds = _value(figure)
    return None if seconds is None else seconds / 60.0
