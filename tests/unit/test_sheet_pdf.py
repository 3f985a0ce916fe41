"""Sheets on paper: A4, two pages, the same bytes for the same plan, user text printed as it is."""

from __future__ import annotations

import io
import json
import threading
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

import plan_factory
from halflayer.plan import Plan
from halflayer.sheet import pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Sheet
from halflayer.sheet.typeface import FONTS, font_folder, lines_within, text_width

A4_PT = (595.276, 841.890)  # ISO 216: 210 x 297 mm at 72/25.4 points a mm


@pytest.fixture(scope="module")
def plan() -> Plan:
    return plan_factory.plan()


@pytest.fixture(scope="module")
def read(plan: Plan) -> dict[str, PdfReader]:
    return {s.file: PdfReader(io.BytesIO(pdf.render(s))) for s in compose(plan)}


def _text(reader: PdfReader) -> str:
    return " ".join(" ".join(page.extract_text() for page in reader.pages).split())


def test_every_page_is_a4_and_a_weld_has_at_most_four_with_its_log(read: dict[str, PdfReader]) -> None:
    for reader in read.values():
        for page in reader.pages:
            assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(A4_PT, abs=0.01)
    # set-up, what stands behind it on two sheets, log
    assert all(len(read[f"W-0{n}.pdf"].pages) <= 4 for n in (1, 2, 3, 4))
    # summary, its kit list, list to do (with a blank for all that this bare order leaves open), its end, contingency
    assert len(read["order.pdf"].pages) == 5
    assert len(read["W-05.pdf"].pages) == 1


def test_what_hands_need_is_on_page_one(read: dict[str, PdfReader]) -> None:
    first = " ".join(read["W-01.pdf"].pages[0].extract_text().split())
    for words in (
        "W-01",
        "DWDI ellipse",
        "hole 9",
        "C-40-130",
        "105 mm",
        "7 × 2 mm",
        "3 layers",
        "25 s",
        "± 24 s",
    ):
        assert words in first, words
    for words in ("scale 1 : 20", "4.60 ± 0.10 m", "turn back", "measured", "4.3 ± 0.9 µSv/h", "7.5 µSv/h"):
        assert words in first, words
    assert "the meter decides where the barrier stands" in first
    assert "sheet 1 of 4" in first
    second = " ".join(" ".join(p.extract_text() for p in read["W-01.pdf"].pages[1:]).split())
    for words in (
        "Uncertainty budget",
        "For the inspector",
        "holds",
        "Decay",
        "agreements",
        "Barrier in plan",
    ):
        assert words in second, words


def test_stopped_and_missing_are_said_on_paper(plan: Plan, read: dict[str, PdfReader]) -> None:
    stopped = _text(read["W-05.pdf"])
    assert "STOPPED" in stopped and "do not build, do not expose" in stopped and "not computed" in stopped
    bare = replace(plan.welds[0], exposure=None, shielding=None, scene=None)
    sheet = next(s for s in compose(replace(plan, welds=(bare,))) if s.kind == "weld")
    assert _text(PdfReader(io.BytesIO(pdf.render(sheet)))).count("not computed") >= 4


def test_summary_carries_kit_crew_limits_and_contingency(read: dict[str, PdfReader]) -> None:
    words = _text(read["order.pdf"])
    for part in (
        "348 kg",
        "M. Okafor",
        "5.2 ± 0.8 µSv",
        "site rule SR-12",
        "SM-17",
        "out of date in this shift",
    ):
        assert part in words, part
    for part in ("STOPPED", "Follow your own contingency plan", "Ir-192", "LR-7 issue 3"):
        assert part in words, part


def test_equal_plans_give_equal_bytes(plan: Plan, tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "b").mkdir()
    first = pdf.write(replace(plan, welds=plan.welds[2:4]), tmp_path / "a")
    again = plan_factory.plan()
    second = pdf.write(replace(again, welds=again.welds[2:4]), tmp_path / "b")
    assert [p.name for p in first] == [p.name for p in second]
    assert [p.read_bytes() for p in first] == [p.read_bytes() for p in second]


def test_many_sheets_are_set_by_other_processes_and_are_the_same(plan: Plan, tmp_path: Path) -> None:
    """The typesetter gives memory back by ending only: this process must not set them, and nothing may differ."""
    sheets = compose(plan)
    assert len(sheets) > pdf.HERE_UP_TO
    threads = [t for t in threading.enumerate() if t.name.startswith("weld")]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(pdf, "_compiler", lambda: pytest.fail("set in this process"))
        paths = pdf.write(plan, tmp_path, sheets=sheets)
    assert [p.name for p in paths] == [s.file for s in sheets]
    for path, sheet in list(zip(paths, sheets, strict=True))[:3]:
        assert path.read_bytes() == pdf.render(sheet), sheet.file
    assert [t for t in threading.enumerate() if t.name.startswith("weld")] == threads


def test_a_sheet_that_cannot_be_set_elsewhere_says_so_with_its_name(plan: Plan, tmp_path: Path) -> None:
    sheets = [replace(s, dated="no date") if s.kind == "order" else s for s in compose(plan)]
    with pytest.raises(RuntimeError, match=r"order\.pdf.*no date"):
        pdf.write(plan, tmp_path, sheets=sheets)


def test_document_is_dated_as_the_plan(read: dict[str, PdfReader]) -> None:
    meta = read["W-01.pdf"].metadata
    assert meta is not None and meta.creation_date is not None
    assert meta.creation_date.isoformat() == "2026-03-14T21:00:00+00:00"
    assert meta.title == "TM-0147 W-01"


MARKUP = '#panic("x") *bold* _it_ $x^2$ <label> @ref [link] \\ & // comment = head #import "y"'


def test_markup_in_user_text_prints_as_it_is(plan: Plan) -> None:
    order = json.loads(json.dumps(plan.order))
    order["title"] = MARKUP
    order["welds"][0]["note"] = MARKUP
    order["places"][0]["name"] = "*Walkway* #1"
    bare = replace(plan.welds[0], scene=None)
    for sheet in compose(replace(plan, order=order, welds=(bare,))):
        words = _text(PdfReader(io.BytesIO(pdf.render(sheet))))
        assert MARKUP in words


def test_long_names_many_places_and_four_shots_still_fit(plan: Plan) -> None:
    """24 places, ids of 40 characters and four exposures: page 1 stays one page, nothing is lost."""
    data = plan_factory.order_data(places=24, units="imperial", note="A long note. " * 12)
    text = json.dumps(data).replace('"H-2"', f'"H-{"2" * 38}"').replace("W-01", "W" * 40)
    from halflayer.order.models import Order

    order = Order.from_json(json.loads(text))
    head = order.heads[0].id
    weld = order.welds[0].id
    chosen = replace(plan_factory.candidate(order, weld, arrangement="lean-out", shots=4), head=head)
    wide = replace(
        plan_factory.weld_plan(Order.from_json(plan_factory.order_data(places=24)), "W-01", "lean-out", 4),
        weld=weld,
        chosen=chosen,
    )
    sheet = compose(replace(plan, order=order.as_json(), welds=(wide,)))[1]
    reader = PdfReader(io.BytesIO(pdf.render(sheet)))
    assert 2 <= len(reader.pages) <= 4  # the fourth: how the wrap is laid
    first = " ".join(reader.pages[0].extract_text().split())
    assert "exposures done, source home, time" in first and "more: sheet 2" in first
    rest = " ".join(" ".join(p.extract_text() for p in reader.pages[1:]).split())
    for p in order.places:
        assert p.name in first or p.name in rest
    assert head in "".join(first.split())


def test_a_marking_plan_longer_than_a_page_goes_on_in_the_next_column(plan: Plan) -> None:
    """Of many exposures the plan is longer than a column bears: nothing runs off the sheet, no page stays bare."""
    sheet = _first_weld(plan)
    rows = [{"subject": f"of {n}", "what": f"lead {n} of the row: " + "words " * 40} for n in range(1, 61)]
    data = {**sheet.data, "back": {**sheet.data["back"], "marking": rows}}
    reader = PdfReader(io.BytesIO(pdf.render(replace(sheet, data=data))))
    assert all(len(page.extract_text()) > 400 for page in reader.pages)
    text = _text(reader)
    assert all(f"lead {n} of the row" in text for n in range(1, 61)) and "Marking plan, 2 of" in text


def test_all_shipped_fonts_are_found_and_no_other_is_used(read: dict[str, PdfReader]) -> None:
    assert {p.stem for p in font_folder().glob("*.ttf")} == set(FONTS)
    assert (font_folder() / "OFL.txt").read_text().startswith("Copyright")
    assert sum(p.stat().st_size for p in font_folder().iterdir()) < 1.5e6
    used = set()
    for page in read["W-01.pdf"].pages:
        fonts = page["/Resources"]["/Font"]  # type: ignore[index]
        used |= {fonts[f].get_object()["/BaseFont"].split("+")[1].rsplit("-Identity", 1)[0] for f in fonts}
    assert used <= set(FONTS) | {"IBMPlexSans", "IBMPlexMono", "IBMPlexSansCond", "IBMPlexSansCond-Bold"}, (
        used
    )


def test_label_widths_are_those_that_are_typeset() -> None:
    """Widths reckoned from the font files against typst's own layout, within 1 % (kerning)."""
    import typst

    words = "pipe 114.3 × 6.02 mm, 7 plates µSv/h"
    source = (
        "#set page(width: auto, height: auto, margin: 0pt)\n"
        '#text(font: "IBM Plex Sans", stretch: 75%, size: 10mm, sys.inputs.words)'
    )
    compiler = typst.Compiler(source.encode(), font_paths=[str(font_folder())], ignore_system_fonts=True)
    page = PdfReader(io.BytesIO(compiler.compile(format="pdf", sys_inputs={"words": words}))).pages[0]  # type: ignore[arg-type]
    assert text_width(words, 10.0) == pytest.approx(float(page.mediabox.width) / 72 * 25.4, rel=0.01)


def test_words_are_shortened_to_their_room() -> None:
    for line in lines_within("clamp CLAMP-OF-FORTY-TO-130-MM-LONG-IDENT", 2.8, 25.0):
        assert text_width(line, 2.8) <= 25.0


def test_pictures_of_the_pages(plan: Plan) -> None:
    pages = pdf.render_png(_first_weld(plan), ppi=36)
    assert len(pages) == 4
    assert all(p.startswith(b"\x89PNG") for p in pages)


def _first_weld(plan: Plan) -> Sheet:
    return next(s for s in compose(plan) if s.kind == "weld")
