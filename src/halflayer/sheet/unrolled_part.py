"""The unrolled weld beside the predicted film: its drawing, the words under it, and the marks of two indicators."""

from __future__ import annotations

from typing import Any

from halflayer.exposure.result import Exposure
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.sectors import lap_words
from halflayer.sheet.two_films_words import laid_clocks
from halflayer.sheet.unrolled import unrolled
from halflayer.technique.result import Candidate


def unrolled_part(
    weld: Weld, c: Candidate, exposure: Exposure | None, show: Show, *, width_mm: float
) -> dict[str, Any]:
    """`laps` and `unrolled` of the page; empty where nothing is known of what exposures judge."""
    coverage = exposure.coverage if exposure else None
    if not c.shots or (c.usable_rad is None and coverage is None):
        return {}
    laid = laid_clocks(c, exposure)
    marks = (f"{what}: IQI of {one[0]}" for what, one in zip(("filled", "open"), laid, strict=False))
    words = [lap_words(c, exposure, weld, show), *marks]
    svg, _ = unrolled(c, coverage, width_mm=width_mm, laid=[clocks for _, clocks, _ in laid])
    return {"laps": "; ".join(w for w in words if w), "unrolled": svg}
