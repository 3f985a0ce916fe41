"""Rules of the code that persons set aside, in words for page 1 and for the order's summary."""

from __future__ import annotations

from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show


def overrides(w: WeldPlan, show: Show) -> list[dict[str, str]]:
    """Each rule set aside in the chosen way with person, reason and what was reached; empty without a chosen way."""
    if w.chosen is None:
        return []
    return [
        {"weld": w.weld, "text": show.converted(f"{r.rule} (required {r.required}) {r.reached}")}
        for r in w.chosen.rules
        if r.verdict == "overridden"
    ]
