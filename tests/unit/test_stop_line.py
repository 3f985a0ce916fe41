"""The red line that stops a weld stands wholly between its rules, however many conditions it names.

Common practice, no source: a line that stops work is read whole or it does not stop it.
"""

from __future__ import annotations

import io
from dataclasses import replace
from typing import Any

import pytest
from pypdf import PdfReader

import safety_plan
from halflayer.sheet import pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Paper, Sheet
from halflayer.sheet.only_if import READY

DESCENT = 0.25  # of the size of type, below its base line: what no letter of the shipped typeface passes
CAPITALS = 0.75  # of it, above


def _drawn(page: Any) -> tuple[list[tuple[str, float, float]], list[float]]:
    """Pieces of text with base line and size of type, and the heights of lines across the page [pt from its foot]."""
    words: list[tuple[str, float, float]] = []
    rules: list[float] = []
    begun: list[tuple[float, float]] = []

    def at(m: Any, x: float, y: float) -> tuple[float, float]:
        return m[0] * x + m[2] * y + m[4], m[1] * x + m[3] * y + m[5]

    def text(piece: str, cm: Any, tm: Any, _font: Any, size: float) -> None:
        if piece.strip():
            words.append((piece, at(cm, tm[4], tm[5])[1], abs(size * tm[3] * cm[3])))

    def stroke(op: bytes, args: Any, cm: Any, _tm: Any) -> None:
        if op == b"m":
            begun[:] = [at(cm, float(args[0]), float(args[1]))]
        elif op == b"l" and begun:
            x, y = at(cm, float(args[0]), float(args[1]))
            if abs(y - begun[0][1]) < 0.1 and abs(x - begun[0][0]) > 400.0:
                rules.append(y)

    page.extract_text(visitor_text=text, visitor_operand_before=stroke)
    return words, rules


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
    words, rules = _drawn(PdfReader(io.BytesIO(pdf.render(sheet))).pages[0])
    begins = next(n for n, (t, _, _) in enumerate(words) if READY in t)
    ends = next(n for n, (t, _, _) in enumerate(words) if n > begins and "rope stands at" in t)
    line = words[begins:ends]
    told = " ".join(" ".join(t for t, _, _ in line).split())
    assert all(name in told for name in names) and told.endswith("part 1, and part 2")
    _, first_y, size = line[0]
    above = min(y for y in rules if y > first_y)
    below = max(y for y in rules if y < first_y)
    assert first_y + CAPITALS * size < above
    assert all(below + DESCENT * z < y for _, y, z in line)
