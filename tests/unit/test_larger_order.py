"""A larger order: 30 rows of kit more, names twice as long. Pages may grow; nothing is cut, overlaps, leaves its page.

Our own standard, no source: what a crew reads is whole on every order, not on the example alone.
"""

from __future__ import annotations

import io
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest
from pypdf import PdfReader

import safety_plan
from halflayer.order.models import Order
from halflayer.sheet import pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Paper
from on_paper import Piece, on_page

EDGE_PT, FOOT_PT = 20.0, 18.0  # of the edges of paper that printers leave white: common, no source
TIGHTEST = 0.8  # of the size of type, from base line to base line: less would strike letters


def _longer(x: Any, names: list[str]) -> Any:
    if isinstance(x, str):
        for name in names:
            x = x.replace(name, f"{name} {name}")
        return x
    if isinstance(x, dict):
        return {k: _longer(v, names) for k, v in x.items()}
    return [_longer(v, names) for v in x] if isinstance(x, (list, tuple)) else x


def _struck(words: list[Piece]) -> list[tuple[Piece, Piece]]:
    """Pieces that begin at one left end with less than a line between them."""
    by_left: dict[int, list[Piece]] = {}
    for piece in (p for p in words if len(p[0]) > 3):  # drawings have their letters one by one
        by_left.setdefault(round(piece[1] * 2), []).append(piece)
    found = []
    for column in by_left.values():
        for low, high in pairwise(sorted(column, key=lambda p: p[2])):
            if 0.5 < high[2] - low[2] < TIGHTEST * min(low[3], high[3]):
                found.append((low, high))
    return found


@pytest.mark.parametrize("paper", [pytest.param("a4", marks=pytest.mark.slow), "letter"])
def test_pages_grow_and_nothing_is_lost_or_struck(paper: Paper) -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    sheet = compose(plan, paper=paper)[0]
    names = [*(p.name for p in order.crew), *(p.name for p in order.places)]
    row = sheet.data["kit"][0]
    more = [
        row
        | {
            "id": f"ITEM-{n:02}-OF-A-LONG-NAME",
            "what": f"thing {n} of a name as long again as most",
            "note": f"note {n}, long as well, in the cell of its thing, of which no word is left out",
        }
        for n in range(30)
    ]
    data = _longer(sheet.data | {"kit": [*sheet.data["kit"], *more]}, names)
    pages = PdfReader(io.BytesIO(pdf.render(replace(sheet, data=data)))).pages
    drawn = [(p, on_page(p)[0]) for p in pages]
    told = "".join("".join(t for t, *_ in words) for _, words in drawn)
    bare = "".join(told.split()).replace("\u00ad", "")
    for k in more:
        assert all(k[part].replace(" ", "") in bare for part in ("id", "what", "note")), k["id"]
    assert all(f"{p.name} {p.name}".replace(" ", "") in bare for p in order.crew)
    for page, words in drawn:
        wide, high = float(page.mediabox.width) - EDGE_PT, float(page.mediabox.height) - FOOT_PT
        assert not [p for p in words if not (EDGE_PT < p[1] < wide and FOOT_PT < p[2] < high)]
        assert not _struck(words)
