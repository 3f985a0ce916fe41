"""The sheets of the whole example: how many the order takes, none nearly empty. Shares and counts are our choice."""

from __future__ import annotations

import io
from functools import cache

import pytest
from pypdf import PdfReader

from halflayer.flow import plan_order
from halflayer.order.read import read_order
from halflayer.plan import Plan
from halflayer.sheet import pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Paper
from order_cases import EXAMPLES

FOOT_PT = 12.0 / 25.4 * 72.0  # the line under each page is none of its text

pytestmark = pytest.mark.slow


@cache
def planned(name: str) -> Plan:
    return plan_order(read_order(EXAMPLES / name))


def lowest_pt(page: object) -> float:
    """Height of the lowest line of text over the foot of a page."""
    found: list[float] = []

    def seen(text: str, cm: list[float], tm: list[float], *_: object) -> None:
        y = cm[1] * tm[4] + cm[3] * tm[5] + cm[5]
        if text.strip() and y > FOOT_PT:
            found.append(y)

    page.extract_text(visitor_text=seen)  # type: ignore[attr-defined]
    return min(found)


@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize(("name", "most"), [("tarn-mill.yaml", 12), ("asme-imperial.yaml", 8)])
def test_the_order_s_summary_takes_few_sheets_none_nearly_empty(name: str, most: int, paper: Paper) -> None:
    sheet = compose(planned(name), paper=paper)[0]
    pages = PdfReader(io.BytesIO(pdf.render(sheet))).pages
    assert len(pages) <= most
    for n, page in enumerate(pages):
        high = float(page.mediabox.height)
        share = 1.0 - lowest_pt(page) / high
        assert share > (0.5 if n + 1 < len(pages) else 0.25), (n + 1, share)
