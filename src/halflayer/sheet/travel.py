"""The dose at places while the source travels through a guide tube, as a table for the sheet."""

from __future__ import annotations

from typing import Any

from halflayer.base.result import Finding
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show

NOBODY_THERE = ("nobody there while the source travels",)  # what lifts a rate above its limit on the way


def told_by_table(f: Finding) -> bool:
    """True for what the table says itself: doses by place, and rates above their limits, marked there."""
    return f.relax == NOBODY_THERE or f.text.startswith("source on its way, all exposures out and back")


def travel_cautions(w: WeldPlan) -> list[str]:
    """One caution for page 1 where the source on its way brings places above their rate limits; none elsewhere."""
    above = [f.text.split(":")[0] for f in w.findings if f.relax == NOBODY_THERE]
    if not above:
        return []
    return [
        f"WHILE THE SOURCE TRAVELS the rate is above its limit at {', '.join(above)} (table overleaf): the survey here "
        "is for the source at the weld. Clear these places first; an instrument there gets it all the same."
    ]


def transit_rows(order: Order, w: WeldPlan, show: Show) -> dict[str, Any]:
    """`rows` of place, doses and highest rate with their limit, and a `note`; no rows without a guide tube."""
    figures = w.shielding.derived if w.shielding is not None else ()
    figure = next((f for f in figures if f.name == "transit_dose"), None)
    if figure is None:
        return {"rows": [], "note": ""}
    inputs = {f.name: f for f in figure.inputs}
    rows = []
    for place in order.places:
        dose = inputs.get(place.name)
        if dose is None:
            continue
        once, peak = dose.inputs
        limit = place.limit.rate_Sv_s if place.limit else None
        high = float(peak.value or 0.0)
        rows.append(
            {
                "place": place.name,
                "dose": show.of(dose, digits=2),
                "once": show.of(once, digits=2),
                "peak": show.of(peak, digits=2),
                "limit": "–" if limit is None else show.floor(limit, "equivalent_rate"),
                "above": limit is not None and high > limit,
            }
        )
    if not rows:
        return {"rows": [], "note": show.converted(figure.basis)}
    parts = [f"{f.name} {show.of(f)}" for name, f in inputs.items() if name in _SAID]
    return {"rows": rows, "note": "; ".join(["upper values, every exposure out and back", *parts])}


_SAID = ("bare source at 1 m", "speed", "share through the tube, sideways")
