"""The red line that stops a weld stands wholly between its rules, however many conditions it names.

Common practice, no source: a line that stops work is read whole or it does not stop it.
"""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

import safety_plan
from halflayer.sheet import pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Paper, Sheet
from halflayer.sheet.only_if import READY
from on_paper import on_page

DESCENT = 0.25  # of the size of type, below its base line: what no letter of the shipped typeface passes
CAPITALS = 0.75  # of it, above


@pytest.fixture(scope="module")
def weld() -> Sheet:
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.status == "ready" and w.safety and w.safety.contour)
    return compose(replace(plan, welds=(w,)))[1]


@pytest.mark.parametrize(("many", "paper"), [(1, "a4"), (14, "a4"), (14, "letter")])
def test_the_line_that_stops_a_weld_is_wholly_in_its_box(many: int, paper: Paper, weld: Sheet) -> None:
    names = [f"condition number {n} of the weld kept" for n in range(1, many + 1)]
    stop = weld.data["go"] | {"word": READY, "stop": True, "why": "; ".join([*names, "part 1, and part 2"])}
    sheet = replace(weld, paper=paper, data=weld.data | {"go": stop})
    words, rules = on_page(PdfReader(io.BytesIO(pdf.render(sheet))).pages[0])
    begins = next(n for n, (t, *_) in enumerate(words) if READY in t)
    ends = next(n for n, (t, *_) in enumerate(words) if n > begins and "rope stands at" in t)
    line = [(t, y, z) for t, _, y, z in words[begins:ends]]
    told = " ".join(" ".join(t for t, _, _ in line).split())
    assert all(name in told for name in names) and told.endswith("part 1, and part 2")
    _, first_y, size = line[0]
    above = min(y for y in rules if y > first_y)
    below = max(y for y in rules if y < first_y)
    assert first_y + CAPITALS * size < above
    assert all(below + DESCENT * z < y for _, y, z in line)
