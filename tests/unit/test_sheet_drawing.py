"""The set-up drawing: true to its scale, hatched by material, and no label on another."""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

import plan_factory
from drawn import struck
from halflayer.order.models import Order
from halflayer.physics import materials
from halflayer.plan import WeldPlan
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.solids import Box, Frustum, HalfSpace, Sphere, Tube
from halflayer.sheet import dims, hatch, labels, section
from halflayer.sheet.figures import Show
from halflayer.sheet.section import View
from halflayer.sheet.setup_drawing import Drawing, setup_drawing
from halflayer.sheet.subject import Subject
from halflayer.sheet.svg import Canvas

SVG = "{http://www.w3.org/2000/svg}"
SIDE = View((0, 0, 0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0))
WINDOW = [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)]
STEEL = materials.material("steel")


@pytest.fixture(scope="module")
def order() -> Order:
    return Order.from_json(plan_factory.order_data())


ARRANGED = [("W-01", "lean-out", 2), ("W-02", "over", 3), ("W-03", "strap", 4), ("W-04", "bore", 1)]


def _draw(order: Order, w: WeldPlan, show: Show | None = None) -> Drawing:
    assert w.chosen and w.shielding and w.scene
    weld = order.weld(w.weld)
    fitting = w.shielding.fitting
    built = build_scene(order, weld, w.chosen, w.chosen.shots[0], fitting)
    subject = Subject(order, weld, w.chosen, fitting, built, w.scene, show or Show(order.units))
    return setup_drawing(subject, width_mm=122.0, height_mm=166.0)


def _paths(svg: str, kind: str) -> list[list[tuple[float, float]]]:
    """Points of every path of a class, in mm."""
    out = []
    for node in ET.fromstring(svg).iter(f"{SVG}path"):
        if node.get("class", "").startswith(kind):
            numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", node.get("d", ""))]
            out.append(list(zip(numbers[::2], numbers[1::2], strict=True)))
    return out


def _wide(points: list[tuple[float, float]]) -> float:
    return max(p[0] for p in points) - min(p[0] for p in points)


def _tall(points: list[tuple[float, float]]) -> float:
    return max(p[1] for p in points) - min(p[1] for p in points)


@pytest.mark.parametrize(("weld", "arrangement", "shots"), ARRANGED)
def test_scale_bar_and_stop_measure_what_the_scale_says(
    order: Order, weld: str, arrangement: str, shots: int
) -> None:
    drawing = _draw(order, plan_factory.weld_plan(order, weld, arrangement, shots))
    root = ET.fromstring(drawing.svg)
    # One user unit is one millimetre of paper.
    assert root.get("width") == f"{drawing.width_mm:g}mm"
    assert root.get("viewBox") == f"0 0 {drawing.width_mm:g} {drawing.height_mm:g}"
    bars = [n.get("class", "") for n in root.iter(f"{SVG}path") if "scale-bar" in n.get("class", "")]
    step = float(bars[0].split()[1])
    for field in _paths(drawing.svg, "scale-bar"):
        assert _wide(field) == pytest.approx(step / drawing.scale, abs=0.002)
    # so that a bar of 100 mm measures 100 mm / scale
    assert 100.0 / step * _wide(_paths(drawing.svg, "scale-bar")[0]) == pytest.approx(
        100.0 / drawing.scale, rel=1e-3
    )
    if arrangement in ("over", "lean-out"):
        stops = _paths(drawing.svg, "cut stop")
        longest = max(max(_wide(p), _tall(p)) for p in stops)
        assert longest == pytest.approx(250.0 / drawing.scale, rel=1e-3)


@pytest.mark.parametrize(("weld", "arrangement", "shots"), ARRANGED)
def test_pipe_is_drawn_at_its_diameter(order: Order, weld: str, arrangement: str, shots: int) -> None:
    drawing = _draw(order, plan_factory.weld_plan(order, weld, arrangement, shots))
    od_mm = order.weld(weld).pipe.od * 1000
    pipes = _paths(drawing.svg, "cut pipe")
    sizes = [min(_wide(p), _tall(p)) for p in pipes]
    assert any(size == pytest.approx(od_mm / drawing.scale, rel=2e-3) for size in sizes)


@pytest.mark.parametrize("units", ["metric", "imperial"])
@pytest.mark.parametrize(("weld", "arrangement", "shots"), ARRANGED)
def test_no_label_lies_on_another_or_off_the_sheet(
    weld: str, arrangement: str, shots: int, units: str
) -> None:
    order = Order.from_json(plan_factory.order_data(units=units))
    drawing = _draw(order, plan_factory.weld_plan(order, weld, arrangement, shots))
    boxes = [p.box for p in drawing.labels]
    assert len(boxes) >= 5
    for n, a in enumerate(boxes):
        assert a[0] >= -0.1 and a[1] >= 0 and a[3] <= drawing.height_mm
        for b in boxes[:n]:
            assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] + 1e-6 or b[3] <= a[1] + 1e-6


def test_dimensions_of_the_set_up_are_on_the_drawing(order: Order) -> None:
    svg = _draw(order, plan_factory.weld_plan(order, "W-01", "lean-out", 2)).svg
    words = {n.text for n in ET.fromstring(svg).iter(f"{SVG}text")}
    assert {"350 mm", "60.3 mm", "120 mm", "105 mm", "250 mm"} <= words
    assert {"head H-2", "source, Se-75", "stop, 7 plates", "tent, 3 layers", "weld W-01"} <= words


def test_every_material_has_its_own_hatch_and_the_legend_names_those_drawn(order: Order) -> None:
    drawing = _draw(order, plan_factory.weld_plan(order, "W-01", "lean-out", 2))
    assert {"lead", "blanket", "steel", "tungsten or uranium"} == set(drawing.hatches)
    words = {n.text for n in ET.fromstring(drawing.svg).iter(f"{SVG}text")}
    assert set(drawing.hatches) <= words
    patterns = {n.get("id"): ET.tostring(n[0]) for n in ET.fromstring(drawing.svg).iter(f"{SVG}pattern")}
    tiles = [
        (n.get("width"), n.get("patternTransform"), n[0].get("d"))
        for n in ET.fromstring(drawing.svg).iter(f"{SVG}pattern")
    ]
    # the film's base and the floor under the window have patterns too, but are too thin or not in the picture
    assert len(patterns) >= len(drawing.hatches)
    assert len(set(tiles)) == len(tiles)


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("steel", "steel"),
        ("stainless steel 316", "steel"),
        ("nickel alloy 625", "alloy"),
        ("copper-nickel 90/10", "alloy"),
        ("aluminium", "light metal"),
        ("titanium", "light metal"),
        ("lead", "lead"),
        ("tungsten heavy alloy 95", "heavy metal"),
        ("tungsten rubber 85", "blanket"),
        ("lead rubber 85", "blanket"),
        ("concrete", "stone"),
        ("mineral wool", "wool"),
        ("water", "liquid"),
        ("oil", "liquid"),
        ("polyester", "polymer"),
        ("air", "air"),
        ("vacuum", "air"),
    ],
)
def test_hatch_follows_what_a_material_is_made_of(name: str, kind: str) -> None:
    assert hatch.kind_of(materials.material(name)) == kind


def test_every_built_in_material_has_a_hatch() -> None:
    for name in materials.names():
        kind = hatch.kind_of(materials.material(name))
        assert kind == "air" or kind in hatch.HATCHES


def test_a_name_with_markup_stays_text(order: Order) -> None:
    canvas = Canvas(10, 10)
    canvas.text((1, 1), '<script> & "quote"', size_mm=3)
    (node,) = ET.fromstring(canvas.render())
    assert node.text == '<script> & "quote"'


# --- sections -------------------------------------------------------------------------------------------


def _area(loops: list[section.Polygon]) -> float:
    """Even-odd area of an outline with at most one hole inside it."""

    def one(p: section.Polygon) -> float:
        return abs(sum(p[i - 1][0] * p[i][1] - p[i][0] * p[i - 1][1] for i in range(len(p)))) / 2

    return one(loops[0]) - sum(one(p) for p in loops[1:])


def test_section_along_a_tube_is_its_two_walls() -> None:
    tube = Tube("pipe", (0, 0, 0), (1, 0, 0), 0.05, 0.006, 0.4, STEEL)
    cut = section.cut(tube, SIDE, WINDOW)
    assert cut is not None
    assert _area(cut.loops) == pytest.approx(2 * 0.006 * 0.4, rel=1e-9)
    # the lines at the open ends stop at the bore
    ends = [math.dist(a, b) for a, b in cut.edges if abs(a[0] - b[0]) < 1e-9]
    assert ends == pytest.approx([0.006] * 4, rel=1e-6)


def test_section_across_a_tube_is_a_ring() -> None:
    tube = Tube("pipe", (0, 0, 0), (1, 0, 0), 0.05, 0.006, 0.4, STEEL)
    end = View((0, 0, 0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0))
    cut = section.cut(tube, end, WINDOW)
    assert cut is not None
    # 72 sides: 0.13 % less than the circle's area
    assert _area(cut.loops) == pytest.approx(math.pi * (0.05**2 - 0.044**2), rel=2e-3)
    assert section.cut(tube, View((0.3, 0, 0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0)), WINDOW) is None


def test_section_of_frustum_sphere_box_and_floor() -> None:
    cone = Frustum("wrap", (0, 0, 0), (0, 0, 1), 0.1, 0.05, 0.01, 0.2, STEEL)
    cut = section.cut(cone, SIDE, WINDOW)
    assert cut is not None
    assert _area(cut.loops) == pytest.approx(2 * 0.01 * 0.2, rel=1e-6)  # wall measured along the radius
    ball = section.cut(Sphere("s", (0, 0.03, 0), 0.05, None, STEEL), SIDE, WINDOW)
    assert ball is not None
    assert _area(ball.loops) == pytest.approx(math.pi * (0.05**2 - 0.03**2), rel=2e-3)
    box = section.cut(Box("b", (0, 0, 0), (0.2, 0.1, 0.04), STEEL), SIDE, WINDOW)
    assert box is not None
    assert _area(box.loops) == pytest.approx(0.2 * 0.04)
    floor = section.cut(HalfSpace("floor", (0, 0, 1), (0, 0, -0.5), STEEL), SIDE, WINDOW)
    assert floor is not None
    assert _area(floor.loops) == pytest.approx(2.0 * 0.5)
    assert {p[1] for p in floor.edges[0]} == {-0.5}
    assert section.cut(HalfSpace("floor", (0, 0, 1), (0, 0, -5), STEEL), SIDE, WINDOW) is None


def test_labels_that_want_one_place_are_spread_without_crossing_leaders() -> None:
    wanted = [(f"thing {n}", (40.0 + 3 * n, 20.0)) for n in range(8)]
    placed = labels.column(wanted, x=0, width=24, low=0, high=60, size_mm=2.8)
    tops = [p.box[1] for p in placed]
    assert tops == sorted(tops)
    assert all(b.box[1] >= a.box[3] - 1e-9 for a, b in zip(placed, placed[1:], strict=False))
    assert min(tops) >= 0 and max(p.box[3] for p in placed) <= 60


@pytest.mark.parametrize("od", [0.0213, 0.0603, 0.1683, 0.762])
@pytest.mark.parametrize("clock", [0.0, math.pi / 2, math.pi, 2.1])
def test_extreme_set_ups_find_a_scale(od: float, clock: float) -> None:
    for arrangement, runs in (
        ("over", "horizontal"),
        ("lean-out", "vertical"),
        ("strap", "vertical"),
        ("bore", "horizontal"),
    ):
        data = plan_factory.order_data()
        data["welds"] = [plan_factory._weld("W", od=od, wall=0.1 * od, at=(0.0, 0.0), runs=runs)]
        order = Order.from_json(data)
        chosen = plan_factory.candidate(order, "W", arrangement=arrangement, shots=1)
        shot = replace(chosen.shots[0], source_clock_rad=clock)
        stand = arrangement in ("over", "lean-out")
        fitting = Fitting(12 if stand else 0, "PB-2" if stand else None, 16, "WB-25")
        built = build_scene(order, order.welds[0], chosen, shot, fitting)
        subject = Subject(order, order.welds[0], chosen, fitting, built, built.scene, Show())
        drawing = setup_drawing(subject, width_mm=122.0, height_mm=166.0)
        assert drawing.scale <= 50
        assert drawing.stated in drawing.svg


def test_a_long_sleeve_is_cut_so_that_a_strapped_head_is_drawn_large(order: Order) -> None:
    w = plan_factory.weld_plan(order, "W-03", "strap", 4)
    drawing = _draw(order, w)
    assert w.chosen and w.shielding
    built = build_scene(order, order.weld("W-03"), w.chosen, w.chosen.shots[0], w.shielding.fitting)
    sleeve = built.wrap.layers[0].along_m
    told = [" ".join(p.lines) for p in drawing.labels if "sleeve" in p.lines[0]]
    assert told == [f"sleeve, {w.shielding.fitting.layers} layers, {sleeve * 1000:.0f} mm long"]
    widest = max(_wide(p) for p in _paths(drawing.svg, "cut head"))
    assert widest > 12.0  # mm of paper
    assert len(_paths(drawing.svg, "break")) == 2


@pytest.mark.parametrize(("weld", "arrangement", "shots"), ARRANGED)
def test_the_title_of_a_view_lies_clear_of_the_labels(
    order: Order, weld: str, arrangement: str, shots: int
) -> None:
    drawing = _draw(order, plan_factory.weld_plan(order, weld, arrangement, shots))
    root = ET.fromstring(drawing.svg)
    titles = [t for t in root.iter(f"{SVG}text") if t.get("class") == "caption"]
    side = float(next(t for t in titles if (t.text or "").startswith("Side")).get("y", "nan"))
    assert all(side <= p.box[1] for p in drawing.labels)


def test_a_longer_dimension_keeps_off_a_figure_that_stands_under_the_line_above() -> None:
    """Three in a chain, the middle one too short for its figure: it stands a step under, where a longer one passes."""
    canvas = Canvas(100.0, 40.0)
    chain = [
        dims.Dim((a, 0.0), (b, 0.0), t) for a, b, t in ((10, 25, "15"), (25, 33, "88.9 mm"), (33, 60, "27"))
    ]
    dims.below(canvas, [*chain, dims.Dim((25.0, 0.0), (48.0, 0.0), "266 mm", 1)], y=10.0)
    assert struck(canvas.render()) == []
