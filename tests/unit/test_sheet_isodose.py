"""The plan view of a dose field: lines at the right distance, limits named on them, words, page and files."""

from __future__ import annotations

import io
import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from pathlib import Path

import pytest
from pypdf import PdfReader

import field_factory
import plan_factory
from halflayer.base.serial import from_json, to_json
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.plan_json import plan_json
from halflayer.sheet import isodose, isodose_files, pdf
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.sheet.svg import Canvas
from halflayer.sheet.typeface import text_width

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def plan() -> Plan:
    return field_factory.with_level(plan_factory.plan(), "W-01")


@pytest.fixture(scope="module")
def view(plan: Plan) -> tuple[ET.Element, float]:
    order = Order.from_json(plan.order)
    svg, scale, _ = isodose.isodose_view(
        order, order.weld("W-01"), plan.welds[0], Show("metric"), width_mm=188.0
    )
    return ET.fromstring(svg), scale


def paths(root: ET.Element, kind: str) -> list[ET.Element]:
    return [e for e in root.iter(f"{SVG}path") if e.get("class") == kind]


def test_the_line_of_the_limit_is_a_circle_to_scale(view: tuple[ET.Element, float]) -> None:
    """Inverse square: 7.5 uSv/h at 3 m, ten times that at 3 / sqrt(10) m; half a cell at most beside it."""
    root, scale = view
    found = []
    for path in paths(root, "isodose"):
        numbers = [float(v) for v in re.findall(r"-?\d+\.?\d*", path.get("d") or "")]
        places = list(zip(numbers[::2], numbers[1::2], strict=True))
        found.append({round(((x - 94.0) ** 2 + (y - 94.0) ** 2) ** 0.5 * scale / 1000, 1) for x, y in places})
    assert any(radii <= {2.9, 3.0, 3.1} for radii in found)
    assert any(radii <= {0.9, 1.0} for radii in found)


def test_limits_are_named_on_the_lines(view: tuple[ET.Element, float]) -> None:
    names = ["".join(e.itertext()) for e in view[0].iter(f"{SVG}text") if e.get("class") == "isodose-name"]
    assert "7.5 µSv/h: barrier limit" in names
    assert "75 µSv/h" in names
    assert len(names) == len(set(names))


def test_cells_that_are_not_reliable_are_hatched(plan: Plan, view: tuple[ET.Element, float]) -> None:
    assert len(paths(view[0], "vague")) == 59  # one strip in each row of open cells
    level = plan.welds[0].dose_field
    assert level is not None
    sure = replace(plan.welds[0], dose_field=replace(level, reliable=(True,) * 3600))
    order = Order.from_json(plan.order)
    svg, _, _ = isodose.isodose_view(order, order.weld("W-01"), sure, Show("metric"), width_mm=188.0)
    assert paths(ET.fromstring(svg), "vague") == []


def test_the_words_say_what_is_known_and_never_more(plan: Plan) -> None:
    level = plan.welds[0].dose_field
    assert level is not None
    said = " ".join(isodose.words(level, Show("metric")))
    assert "99.3 % are known to 10 %" in said  # 99.37 %, not rounded up
    assert "295 of 3540" in said
    assert "highest of 2 exposures" in said
    assert "12 % printed budget" in said


def test_the_page_is_on_the_sheet_that_has_a_field_and_on_no_other(plan: Plan) -> None:
    sheets = {s.file: s for s in compose(plan)}
    pages = PdfReader(io.BytesIO(pdf.render(sheets["W-01.pdf"]))).pages
    assert len(pages) <= 5
    text = " ".join(pages[-1].extract_text().split())
    for words in (
        "Dose rate 1 m above the floor",
        "where the meter says",
        "7.5 µSv/h: barrier limit",
        "Hatched",
    ):
        assert words in text
    assert sheets["W-02.pdf"].data["isodose"] is None
    other = PdfReader(io.BytesIO(pdf.render(sheets["W-02.pdf"]))).pages
    assert len(other) <= 4 and not any("Dose rate 1 m above the floor" in p.extract_text() for p in other)


def test_a_phone_page_carries_it_too(plan: Plan) -> None:
    sheet = next(s for s in compose(plan, paper="phone") if s.file == "W-01.phone.pdf")
    pages = PdfReader(io.BytesIO(pdf.render(sheet))).pages
    text = " ".join(" ".join(p.extract_text() for p in pages).split())
    assert "Dose rate 1 m above the floor" in text


def test_files_of_its_own(plan: Plan, tmp_path: Path) -> None:
    names = isodose_files.write(compose(plan), tmp_path)
    assert names == {"W-01": ["W-01.isodose.svg", "W-01.isodose.png"]}
    assert ET.parse(tmp_path / "W-01.isodose.svg").getroot().get("width") == "188mm"
    assert (tmp_path / "W-01.isodose.png").read_bytes()[:8] == b"\x89PNG\r\n\x1a\n"


def test_a_level_goes_through_json_without_loss(plan: Plan) -> None:
    assert from_json(Plan, to_json(plan)) == plan
    data = plan_json(plan)["welds"]
    assert data[0]["dose_field"]["share_known"] == 0.9937
    assert data[0]["dose_field"]["limit_Sv_per_h"] == pytest.approx(7.5e-6)
    assert data[1]["dose_field"] is None


def test_without_a_limit_there_are_no_lines(plan: Plan) -> None:
    level = plan.welds[0].dose_field
    assert level is not None
    free = replace(plan.welds[0], dose_field=replace(level, limit_Sv_s=None, limit_words="none"))
    order = Order.from_json(plan.order)
    data = isodose.isodose_data(order, order.weld("W-01"), free, Show("metric"), width_mm=188.0)
    assert data is not None
    assert "isodose" not in data["svg"].replace("clip-isodose", "")


def test_a_barrier_outside_the_volume_is_said(plan: Plan) -> None:
    """The factory's volume ends 6 m from the weld: 5.9 m along an axis is inside, 8.4 m at 45 degrees (5.94 m) too."""
    shielding = plan.welds[0].shielding
    assert shielding is not None
    order = Order.from_json(plan.order)

    def said(*line: tuple[float, float]) -> str:
        w = replace(plan.welds[0], shielding=replace(shielding, barrier_by_direction=line))
        data = isodose.isodose_data(order, order.weld("W-01"), w, Show("metric"), width_mm=188.0)
        assert data is not None
        return " ".join(data["words"])

    assert "no line is drawn" not in said((0.0, 5.9), (math.pi / 4, 8.4), (1.0, math.inf))
    assert "ends 6 m from the weld and the barrier lies up to 9.31 m away" in said((0.0, 5.9), (1.0, 9.304))


def test_a_name_without_room_on_its_line_is_led_to_it_and_lies_on_no_line() -> None:
    """A narrow line inside another: a name on it would cover both and be read as the other's."""

    def loop(half_x: float, half_y: float) -> list[tuple[float, float]]:
        corners = [(half_x, half_y), (-half_x, half_y), (-half_x, -half_y), (half_x, -half_y)]
        return isodose._dense([(50.0 + x, 50.0 + y) for x, y in (*corners, corners[0])])

    inner, outer = loop(2.0, 12.0), loop(4.5, 20.0)
    canvas = Canvas(100.0, 100.0)
    isodose._label(canvas, "750 µSv/h", [inner], outer, [], (0.4, 0.4, 99.6, 99.6))
    drawn = canvas.render()
    assert drawn.count("isodose-leader") == 2
    text = re.search(r'<text[^>]*x="([\d.]+)"[^>]*y="([\d.]+)"', drawn)
    assert text is not None
    wide = text_width("750 µSv/h", isodose.LABEL_MM, bold=True)
    x, y = float(text[1]), float(text[2])
    box = (x - wide / 2, y - isodose.LABEL_MM * 0.7, x + wide / 2, y)
    assert not any(box[0] < a < box[2] and box[1] < b < box[3] for a, b in (*inner, *outer))
    # With room on it the name stands on its line.
    alone = Canvas(100.0, 100.0)
    isodose._label(alone, "75 µSv/h", [loop(30.0, 30.0)], [], [], (0.4, 0.4, 99.6, 99.6))
    assert "isodose-leader" not in alone.render()
