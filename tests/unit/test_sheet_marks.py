"""Marks of the sketches in plan: shapes of their own, letters explained, coordinates where the site has them."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

import order_factory as of
import placement_orders as po
import safety_plan
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import marks
from halflayer.sheet.figures import Show
from halflayer.sheet.going_in import going_in
from halflayer.sheet.heights import heights
from halflayer.sheet.site_sketch import rope_sketch, site_sketch
from halflayer.sheet.svg import Canvas


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


def test_every_kind_of_mark_has_a_shape_of_its_own() -> None:
    shapes = []
    for mark in (marks.way_in_mark, marks.container_mark, marks.change_mark):
        canvas = Canvas(10.0, 10.0)
        mark(canvas, (5.0, 5.0), 1.0)
        shapes.append(re.sub(r' class="[^"]+"', "", canvas.render()))
    assert len(set(shapes)) == 3


def test_letters_are_all_told_apart_and_all_in_the_key(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    letters = [*marks.way_letters(order).values(), *marks.place_letters(order).values()]
    assert len(set(letters)) == len(letters) == len(order.access) + len(order.places)
    key = marks.key_of(order)
    assert all(f"{a} {r.name}" in key for a, r in zip(letters, (*order.access, *order.places), strict=True))


def test_ticks_stand_where_the_site_s_coordinates_are() -> None:
    """By hand: 4 mm a metre, origin at (10, 50): ticks of 2 m, 8 mm apart, so x = 10 m stands at 10 + 40 = 50 mm."""
    canvas = Canvas(80.0, 60.0)
    marks.site_axes(canvas, lambda x, y: (10.0 + 4.0 * x, 50.0 - 4.0 * y), 80.0, 60.0, Show())
    svg = canvas.render()
    assert svg.count('class="origin"') == 2 and "site x, y, m" in svg
    assert re.search(r'<text x="50" [^>]*>10</text>', svg)
    ys = [float(y) for y in re.findall(r'd="M0\.2 ([\d.]+)L1\.3 [\d.]+"[^>]*class="tick"', svg)]
    assert sorted(ys) == [10.0, 18.0, 26.0, 34.0, 42.0, 50.0]


def test_where_sources_are_changed_is_marked_and_named(plan: Plan) -> None:
    data = dict(plan.order)
    order = Order.from_json(data | {"source_changes_at": {"name": "South bay", "at": [8.0, 1.0, 1.0]}})
    safety = plan.welds[0].safety
    assert safety is not None and safety.contour is not None
    svg, _ = site_sketch(order, [("W-01", safety.contour)], Show(), width_mm=188.0, height_mm=118.0)
    assert svg.count('class="source change"') == 1 and "source changes: South bay" in svg


def test_a_ropes_sketch_shows_every_way_in_and_the_crew_s_line_whole(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.safety and w.safety.contour)
    assert w.safety and w.safety.contour
    svg, _ = rope_sketch(order, w.weld, w.safety.contour, Show(), width_mm=60.0, height_mm=54.0)
    found = re.findall(r'<path d="M([^"]+?)Z?"[^>]*class="(way in|control position|rope)"', svg)
    assert sum(kind == "way in" for _, kind in found) == len(order.access)
    for data, _ in found:
        for point in data.split("L"):
            x, y = (float(v) for v in point.split(" "))
            assert 0.2 <= x <= 59.8 and 0.2 <= y <= 54.0 - 0.4


def test_a_weld_that_only_seems_to_lie_in_a_body_is_said_not_to(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    w = order.welds[0]
    z = w.floor_level_m + w.height_m
    for dy, words in (
        (-3.0, f"{w.id} stands behind Tank, not in it"),
        (3.0, f"{w.id} stands before Tank, not in it"),
    ):
        changes = {"name": "Tank", "centre": (w.at[0], w.at[1] + dy, z), "size": (1.0, 1.0, 2.0)}
        tank = order.obstacles[0].model_copy(update=changes)
        _, _, said = heights(
            order.model_copy(update={"obstacles": (tank,)}), Show(), width_mm=188.0, most_mm=90.0
        )
        assert words in said


def test_only_a_source_sent_through_a_tube_has_a_way_back_in_of_its_own(plan: Plan) -> None:
    w = next(w for w in plan.welds if w.status == "ready" and w.chosen is not None)
    order = Order.from_json(plan.order)
    assert going_in(order, w) == ""
    guide = {"id": "GT", "material": "tungsten", "wall_m": 0.01, "bore_m": 0.012, "length_m": 6.0, "speed_m_s": 0.75,
             "mass_kg": 30.0}  # fmt: skip
    guided = po.order(
        "strap-guided",
        weld={"od": 168.3, "wall": 7.11, "cap": 12.0, "guide_from": [5.0, 0.0, 0.3]},
        head={"apertures": of.head()["apertures"], "travel_s": 8.0, "source_to_face_m": 0.03},
        film=of.film(),
        kit={"guides": [guide]},
    )
    words = going_in(guided, replace(w, chosen=po.best(guided, "strap-guided")))
    assert "out of line with the tube's ends" in words and "collimator" in words
