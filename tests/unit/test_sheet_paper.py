"""Sheets on Letter and as phone pages: sizes, nothing lost, the same bytes twice."""

from __future__ import annotations

import io
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

import plan_factory
import safety_plan
from halflayer.plan import Plan
from halflayer.sheet import pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Paper, Sheet

LETTER_PT = (612.0, 792.0)  # ANSI/ASME Y14.1 size A: 8.5 x 11 in at 72 points an inch
MM = 72 / 25.4
HIGHEST_PT = 1000 * MM + 0.1  # of a phone's page


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


def _text(reader: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def test_letter_pages_have_its_size_and_a_weld_four_at_most_with_its_log(plan: Plan) -> None:
    for sheet in compose(plan, paper="letter"):
        reader = PdfReader(io.BytesIO(pdf.render(sheet)))
        for page in reader.pages:
            assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
                LETTER_PT, abs=0.02
            )
        if sheet.kind == "weld":
            first = " ".join(reader.pages[0].extract_text().split())
            assert "hole 9" in first and "exposures done, source home, time" in first
            assert len(reader.pages) <= 4 and "Log of" in reader.pages[-1].extract_text()


def test_letter_says_what_a4_says(plan: Plan) -> None:
    a4, letter = compose(plan)[1], compose(plan, paper="letter")[1]
    for key in ("settings", "survey", "cautions"):
        assert a4.data[key] == letter.data[key]


def _phone_pages(sheet: Sheet) -> PdfReader:
    """The pages of a phone sheet, none wider than a phone's column nor higher than a reader of PDF shows."""
    reader = PdfReader(io.BytesIO(pdf.render(sheet)))
    for page in reader.pages:
        assert float(page.mediabox.width) == pytest.approx(100 * MM, abs=0.02)
        # ISO 32000-1:2008, annex C: 14,400 units at most (from memory); a fifth of it is our choice.
        assert 0.0 < float(page.mediabox.height) <= HIGHEST_PT < 14_400 / 4
    return reader


def test_phone_pages_are_narrow_with_everything_hands_need(plan: Plan) -> None:
    summary, weld, _ = compose(plan, paper="phone")
    assert (summary.file, weld.file) == ("order.phone.pdf", "W-01.phone.pdf")
    reader = _phone_pages(weld)
    words = _text(reader)
    for row in weld.data["settings"]:
        assert " ".join(row["value"].split()) in words, row
    for row in weld.data["survey"]["rows"]:
        assert row["expected"] in words and row["turn_back"] in words
    assert "Layers, from inside" in words and "more cautions further on" not in words
    assert "Marking plan" in words and "on every holder's back" in words
    assert f"page 1 of {len(reader.pages)}" in words and len(reader.pages) > 1


def test_a_weld_on_a_phone_has_what_stands_behind_its_set_up(plan: Plan) -> None:
    """Everything of the weld's pages but the log, which is written on paper."""
    weld = compose(plan, paper="phone")[1]
    b, words = weld.data["back"], _text(_phone_pages(weld))
    assert b["days"] and all(f"{r['when']} {r['time']}" in words for r in b["days"])
    assert b["places"] and all(f"at most {p['upper']}" in words for p in b["places"])
    assert b["rules"] and all(" ".join(r["required"].split()) in words for r in b["rules"])
    assert b["budget"] and all(r["what"] in words for r in b["budget"])
    assert b["figures"] and all(f"{f['name']} {f['value']}" in words for f in b["figures"])
    assert b["maps"] and "Barrier in plan" in words and b["map_wide"] == [94.0]
    # The bookmarks of the file lead to the same sections.
    titles = [str(o["/Title"]) for o in _phone_pages(weld).outline if not isinstance(o, list)]
    assert {"Set up", "Survey", "Rules", "Decay"} <= set(titles)


def test_a_phone_shows_film_unrolled_weld_and_time_budget_where_there_are_any(plan: Plan) -> None:
    weld = compose(plan, paper="phone")[1]
    svg = '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><rect width="9" height="9"/></svg>'
    shown = {"film": svg, "film_words": "finest wire seen W14", "unrolled": svg, "laps": "lap by 5 mm"}
    shown |= {
        "work": [{"what": "setting up", "times": "", "each": "", "total": "8 min"}],
        "work_note": "all told",
    }
    words = _text(_phone_pages(replace(weld, data=weld.data | {"back": weld.data["back"] | shown})))
    for part in (
        "Film 1, predicted",
        "finest wire seen W14",
        "Weld unrolled",
        "lap by 5 mm",
        "setting up 8 min",
        "all told",
    ):
        assert part in words, part


def test_the_phone_summary_has_list_loads_ropes_and_card(plan: Plan) -> None:
    summary = compose(plan, paper="phone")[0]
    words = _text(_phone_pages(summary))
    for part in (
        "Before the first exposure",
        "leak test",
        "Loads",
        "Ways in, sentries",
        "Rope of W-01",
        "SE-2041",
        "60 s",
        "A survey reads more than expected",
        "Dose by step",
        "Limits and what they rest on",
        "Sources, instruments",
    ):
        assert part in words, part
    assert "local rules: LR-7 issue 3" in words
    d = summary.data
    assert d["limits"] and all(f"{r['where']}, {r['kind']} {r['value']}" in words for r in d["limits"])
    assert d["instruments"] and all(i["until"] in words for i in d["instruments"])
    steps = [r for t in d["people"]["crew"] for r in t["rows"]]
    assert steps and all(c["dose"] in words for r in steps for c in r["cells"] if c["dose"] != "–")


def test_a_section_longer_than_a_phone_page_runs_over_several(plan: Plan) -> None:
    weld = compose(plan, paper="phone")[1]
    long = [
        f"caution number {n} of many, each of them a line or two of words on a phone." for n in range(300)
    ]
    short = _phone_pages(weld)
    data = weld.data | {"back": weld.data["back"] | {"cautions": long}}
    reader = _phone_pages(replace(weld, data=data))
    words = _text(reader)
    assert all(f"caution number {n} of" in words for n in (0, 150, 299))
    assert len(reader.pages) > len(short.pages) + 1


def test_a_stopped_weld_says_so_on_a_phone() -> None:
    made = plan_factory.plan()
    sheet = compose(replace(made, welds=made.welds[-1:]), paper="phone")[1]
    words = _text(PdfReader(io.BytesIO(pdf.render(sheet))))
    assert "STOPPED" in words and "do not build, do not expose" in words


def test_every_paper_gives_the_same_bytes_twice(tmp_path: Path) -> None:
    for name in ("a", "b"):
        (tmp_path / name).mkdir()
        made = safety_plan.plan(welds=(("W-01", "lean-out", 2),))  # composed anew
        paths = pdf.write(made, tmp_path / name, paper="letter", phone=True)
        assert [p.name for p in paths] == ["order.pdf", "W-01.pdf", "order.phone.pdf", "W-01.phone.pdf"]
    for path in (tmp_path / "a").iterdir():
        assert path.read_bytes() == (tmp_path / "b" / path.name).read_bytes()


def test_a_weld_named_like_a_phone_page_overwrites_none() -> None:
    made = plan_factory.plan()
    stopped = made.welds[-1]
    order = {**made.order, "welds": [{**made.order["welds"][4], "id": name} for name in ("A", "A.phone")]}
    welds = tuple(replace(stopped, weld=name) for name in ("A", "A.phone"))
    named = replace(made, order=order, welds=welds)
    files = [s.file for paper in ("a4", "phone") for s in compose(named, paper=paper)]
    assert len({f.lower() for f in files}) == len(files) == 6


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_word_or_unit_is_smaller_than_seven_points(plan: Plan, paper: Paper) -> None:
    """Seven points is the least that is read outdoors by torchlight (common practice, no source)."""
    for sheet in compose(plan, paper=paper):
        small: list[tuple[int, float, str]] = []
        for n, page in enumerate(PdfReader(io.BytesIO(pdf.render(sheet))).pages, start=1):

            def look(text: str, cm: Any, tm: Any, _: Any, size: float, n: int = n) -> None:
                across = math.hypot(tm[0], tm[1]) * math.hypot(cm[0], cm[1])
                if text.strip() and size and size * across < 6.9:
                    small.append((n, round(size * across, 1), text.strip()))  # noqa: B023

            page.extract_text(visitor_text=look)
        assert not small, (sheet.file, small[:10])
