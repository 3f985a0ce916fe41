"""The sheets of the whole example: how many the order takes, none nearly empty. Shares and counts are our choice."""

from __future__ import annotations

import io
from dataclasses import replace
from functools import cache

import pytest
from pypdf import PdfReader

from drawn import struck
from halflayer.conditions import SIGNED
from halflayer.flow import plan_order
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.plan import Plan, in_shift
from halflayer.sheet import pdf, to_sign
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Paper
from order_cases import EXAMPLES

MOST_UNDER_MM = 1.7  # less than the height of a letter, with its rim of paper on the line
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


@pytest.mark.parametrize(
    ("name", "paper", "most"),
    [
        ("tarn-mill.yaml", "a4", 12),
        ("tarn-mill.yaml", "letter", 13),  # 17.6 mm shorter each
        ("asme-imperial.yaml", "a4", 9),
        ("asme-imperial.yaml", "letter", 9),
    ],
)
def test_the_order_s_summary_takes_few_sheets_none_nearly_empty(name: str, paper: Paper, most: int) -> None:
    sheet = compose(planned(name), paper=paper)[0]
    pages = PdfReader(io.BytesIO(pdf.render(sheet))).pages
    assert len(pages) <= most
    for n, page in enumerate(pages):
        high = float(page.mediabox.height)
        share = 1.0 - lowest_pt(page) / high
        assert share > (0.5 if n + 1 < len(pages) else 0.25), (n + 1, share)


@pytest.mark.parametrize(
    ("paper", "units"), [("a4", "metric"), ("a4", "imperial"), ("letter", "metric"), ("letter", "imperial")]
)
def test_each_weld_takes_four_sheets_with_its_signatures_on_the_first(paper: Paper, units: str) -> None:
    """Two sheets of paper, both sides, in a crew's pocket (our choice); who signs page 1 signs what it says."""
    plan = planned("tarn-mill.yaml")
    order = Order.from_json(plan.order).model_copy(update={"units": units})
    for sheet in compose(replace(plan, order=order.as_json()), paper=paper)[1:]:
        pages = PdfReader(io.BytesIO(pdf.render(sheet))).pages
        assert len(pages) <= 4, (sheet.file, len(pages))
        if sheet.kind == "weld":
            assert "exposures done, source home, time" in " ".join(pages[0].extract_text().split()), (
                sheet.file
            )


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_figure_of_a_set_up_lies_on_another_or_under_a_line(paper: Paper) -> None:
    """Of the drawings as planned, whose height hangs on what else page 1 bears. The share of line is our choice."""
    for sheet in compose(planned("tarn-mill.yaml"), paper=paper)[1:]:
        if sheet.kind == "weld":
            found = struck(sheet.data["drawing"])
            assert not [f for f in found if f.over or f.bare or f.length_mm > MOST_UNDER_MM], (
                sheet.file,
                found,
            )


def test_each_condition_stands_in_the_red_line_the_boxes_and_the_order_s_list() -> None:
    """What a weld waits for is one list in three places: nothing in a box alone, nothing in the red line alone."""
    plan = planned("tarn-mill.yaml")
    head, *rest = compose(plan)
    order = Order.from_json(dict(plan.order))
    listed = [*head.data["conditions"], *head.data["other_conditions"]]
    for w in plan.welds:
        if w.status != "ready":
            continue
        short = [c.short for c in w.conditions]
        own = next(s for s in rest if s.file == f"{w.weld}.pdf").data
        # All signatures of a weld stand in one box, behind what else it waits for; in the shift's list in one row.
        waits = [c for c in short if c != SIGNED]
        signs = [to_sign.NAME] if to_sign.on_page_1(order, w) else []
        boxes = [b["what"] for b in own["first"]]
        short = [*waits, *signs]
        assert boxes[: len(short)] == short and boxes.count(to_sign.NAME) == len(signs)
        mine = sorted(r["short"] for r in listed if w.weld in r["welds"].split(", "))
        assert mine == sorted(short if w in in_shift(plan) else waits), w.weld
        # Words of a condition stand in no box that is none.
        others = " ".join(b["do"] for b in own["first"][len(short) :])
        assert "moved out" not in others and "not known to hold" not in others
        front = " ".join(
            PdfReader(io.BytesIO(pdf.render(next(s for s in rest if s.file == f"{w.weld}.pdf"))))
            .pages[0]
            .extract_text()
            .split()
        )
        assert all(c in front for c in short), (w.weld, short)
