"""The contingency card of one source as printed texts: bare and shielded rates, stay times, turn-back readings."""

from __future__ import annotations

from typing import Any

from halflayer.sheet.contingency import HEADLINE
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.shielding.stuck import StuckSource


def stuck_card(stuck: StuckSource, show: Show) -> dict[str, Any]:
    """Content of the card. Doses and rates rounded up, times to a dose and turn-back readings rounded down."""
    heads = [show.converted(s.what) for s in stuck.shields]
    stays: dict[tuple[str, float], list[dict[str, Any]]] = {}
    for t in stuck.stays:
        cells = [_time(t.bare_s, show), *(_time(v, show) for v in t.shielded_s)]
        stays.setdefault((t.what, t.dose_Sv), []).append({"at": _at(t.distance_m, show), "cells": cells})
    # One unit for each column: who reads down it in a hurry reads figures only.
    by_row = [(r.bare_Sv_s, *r.shielded_Sv_s) for r in stuck.rows]
    rates = [show.column(c, "equivalent_rate") for c in zip(*by_row, strict=True)]
    closed, turn_back, out = (
        show.column([getattr(a, n) for a in stuck.approach], "equivalent_rate", floor=n == "turn_back_Sv_s")
        for n in ("closed_Sv_s", "turn_back_Sv_s", "out_Sv_s")
    )
    limit = stuck.limit_distance
    reliable = [s for s in stuck.shields if isinstance(s.factor.value, int | float)]
    return {
        "source": stuck.source,
        "nuclide": stuck.nuclide,
        "activity": show.of(stuck.activity),
        "shields": heads,
        "rows": [
            {
                "distance": _at(r.distance_m, show),
                "cells": list(cells),
            }
            for r, cells in zip(stuck.rows, zip(*rates, strict=True), strict=True)
        ],
        "stays": [
            {"what": f"{what}, {show.floor(dose, 'equivalent')}", "rows": rows}
            for (what, dose), rows in stays.items()
        ],
        "limit_distance": show.up(float(limit.value), "length")
        if isinstance(limit.value, int | float)
        else NOT_COMPUTED,
        "limit_basis": limit.basis,
        "approach": [
            {
                "distance": _at(a.distance_m, show),
                "closed": closed[n],
                "turn_back": turn_back[n],
                "out": out[n],
            }
            for n, a in enumerate(stuck.approach)
        ],
        "approach_basis": stuck.approach_basis,
        "basis": f"{stuck.at_1m.basis}; {stuck.at_1m.source}. Shielded: "
        + (
            # Shields differ in what follows the common part: each part once.
            "; ".join(
                dict.fromkeys(
                    part for s in reliable or stuck.shields for part in s.factor.basis.split("; ") if part
                )
            )
            or "no shield in the kit"
        ),
        "headline": HEADLINE,
        "steps": [show.converted(s) for s in stuck.steps],
    }


def _at(distance_m: float, show: Show) -> str:
    return show.value(distance_m, "length", digits=3)


def _time(seconds: float | None, show: Show) -> str:
    """A stay rounded down; more than a day is more than anyone stays."""
    if seconds is None:
        return NOT_COMPUTED
    if seconds >= 86400.0:
        return "over a day"
    if seconds < 1.0:
        return "under 1 s"
    step = 1 if seconds < 600.0 else 60
    return show.value(float(int(seconds / step) * step), "time", digits=3)
