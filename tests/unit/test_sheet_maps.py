"""Maps and sketches: the crew's line, ways of sources, heights, and words that keep off lines and marks."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from test_placement_strap_guided import order as strap_guided

import field_factory
import placement_orders as po
import plan_factory
import safety_plan
from halflayer.base.result import Derived
from halflayer.order.limits import FloorLevel
from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet import crew_line, isodose
from halflayer.sheet.access_page import rope_row
from halflayer.sheet.figures import Show
from halflayer.sheet.heights import floors_said, heights
from halflayer.sheet.kit_gear import crew_away_m
from halflayer.sheet.placing import Places, dense
from halflayer.sheet.site_sketch import rope_sketch
from halflayer.sheet.survey import height
from halflayer.sheet.travel_sketch import travel_sketches
from halflayer.shielding.contour import crossed
from halflayer.shielding.result import PointDose
from halflayer.shielding.rope_path import rope_path
from halflayer.shielding.travelling import FIGURE, REACH


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


def no_crew_place(plan: Plan) -> Order:
    """The order without a place of the crew: then the distances that doses are counted at stand for it."""
    order = Order.from_json(plan.order)
    return order.model_copy(update={"places": tuple(p for p in order.places if p.kind != "crew")})


def test_the_outline_of_a_way_is_as_far_from_it_everywhere() -> None:
    """Straight edges beside a straight way and half circles about its ends: by geometry."""
    ((loop),) = crew_line.offset([([(0.0, 0.0), (6.0, 0.0)], 2.0)])
    for x, y in loop:
        away = abs(y) if 0.0 <= x <= 6.0 else math.hypot(x - (6.0 if x > 6.0 else 0.0), y)
        assert away == pytest.approx(2.0, abs=0.01)
    assert max(x for x, _ in loop) == pytest.approx(8.0, abs=0.02)


def test_two_distances_give_the_outer_line() -> None:
    """A circle of 3 m about the weld and one of 1 m about a point inside it: the outer one alone is drawn."""
    ((loop),) = crew_line.offset([([(0.0, 0.0)], 3.0), ([(1.0, 0.0)], 1.0)])
    assert all(math.hypot(x, y) == pytest.approx(3.0, abs=0.01) for x, y in loop)


def test_the_crews_line_is_the_distance_that_its_doses_are_counted_at(plan: Plan) -> None:
    order = no_crew_place(plan)
    weld = order.welds[0]
    within = weld.barrier_within_m or order.limits.barrier_within_m
    line = crew_line.crew_line(order, weld, plan.welds[0].chosen, Show())
    ((loop),) = line.loops
    for x, y in loop:
        assert math.dist((x, y), weld.at) == pytest.approx(within, rel=0.01)
    assert "the survey ring" in line.words


def test_nobody_stands_nearer_than_the_order_says_though_a_barrier_must(plan: Plan) -> None:
    """A weld's own nearer barrier brings no one to the source: remote and card are for the order's distance."""
    order = no_crew_place(plan)
    usual = order.limits.barrier_within_m
    weld = order.welds[0].model_copy(update={"barrier_within_m": 0.6 * usual})
    line = crew_line.crew_line(order, weld, plan.welds[0].chosen, Show())
    ((loop,),) = (line.loops,)
    assert min(math.dist(p, weld.at) for p in loop) == pytest.approx(usual, rel=0.01)
    assert "the order's distance, dose counted at the survey ring" in line.words
    assert crew_away_m(order, weld) == usual
    assert crew_away_m(order, weld.model_copy(update={"barrier_within_m": 1.2 * usual})) == 1.2 * usual


def test_where_no_distance_from_the_way_is_stated_the_line_says_so() -> None:
    order = strap_guided(guide_from=[3.0, 0.0, 0.3])
    weld = order.welds[0]
    c = po.best(order, "strap-guided")
    assert "not stated (crew_times: transit_distance)" in crew_line.crew_line(order, weld, c, Show()).words
    times = order.crew_times.model_copy(update={"transit_distance_m": 9.0})
    known = order.model_copy(update={"crew_times": times})
    line = crew_line.crew_line(known, weld, c, Show())
    assert "9 m from the way of the source" in line.words
    far = max(math.dist(p, (3.0, 0.0)) for loop in line.loops for p in loop if p[0] > 3.0)
    assert far == pytest.approx(9.0, rel=0.02)
    # Nearer than the wanted barrier distance: who cranks is counted there, so that the weld has no line of its own.
    near = known.model_copy(
        update={"crew_times": order.crew_times.model_copy(update={"transit_distance_m": 2.0})}
    )
    line = crew_line.crew_line(near, weld, c, Show())
    assert line.words == "2 m from the way of the source (the order's distance)"
    (loop,) = line.loops
    assert min(math.dist(p, weld.at) for p in loop) == pytest.approx(2.0, rel=0.02)


def test_a_place_of_the_crew_stands_for_the_line(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    first = order.places[0].model_copy(update={"kind": "crew", "name": "Behind the pump"})
    named = order.model_copy(update={"places": (first, *order.places[1:])})
    line = crew_line.crew_line(named, named.welds[0], plan.welds[0].chosen, Show())
    assert line.loops == () and "Behind the pump" in line.words


def test_words_keep_off_a_line_where_there_is_room_beside_it() -> None:
    taken = Places((0.0, 0.0, 40.0, 40.0))
    taken.mark((20.0, 20.0), 0.5)
    taken.line([(21.0, 10.0), (21.0, 30.0)], closed=False)  # runs through the room on the right
    found = taken.beside((20.0, 20.0), 4.0, 2.0, rings=(1.0,))
    assert found is not None
    assert taken.crossed(found[0]) == 0
    again = taken.beside((20.0, 20.0), 4.0, 2.0, rings=(1.0,))
    assert again is not None
    a, b = found[0], again[0]
    assert a[2] < b[0] or b[2] < a[0] or a[3] < b[1] or b[3] < a[1]
    taken.boxes.append((0.0, 0.0, 40.0, 40.0))
    assert taken.beside((20.0, 20.0), 4.0, 2.0, rings=(1.0,)) is None
    assert len(dense([(0.0, 0.0), (10.0, 0.0)])) == 10


def test_a_ropes_sketch_has_the_line_of_the_control_position(plan: Plan) -> None:
    order = no_crew_place(plan)
    w = next(w for w in plan.welds if w.safety and w.safety.contour)
    assert w.safety and w.safety.contour
    svg, _ = rope_sketch(
        order, w.weld, w.safety.contour, Show(), width_mm=60.0, height_mm=54.0, candidate=w.chosen
    )
    assert svg.count('class="control position"') == 1


def test_a_source_on_its_way_has_a_sketch_of_where_nobody_may_be(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.status == "ready" and w.shielding)
    assert w.shielding
    assert travel_sketches(order, [w], Show(), width_mm=92.0, height_mm=92.0) == []  # nothing travels
    reach = (
        Derived(f"{REACH} in line with the tube at", 80.0, "m"),
        Derived(f"{REACH} beside the tube at", 6.0, "m"),
    )
    figure = Derived(FIGURE, 1e-6, "Sv", inputs=reach)
    on_way = replace(w, shielding=replace(w.shielding, derived=(*w.shielding.derived, figure)))
    weld = order.weld(w.weld)
    guided = weld.model_copy(update={"guide_from": (weld.at[0] + 4.0, weld.at[1], 0.3)})
    others = tuple(guided if x.id == weld.id else x for x in order.welds)
    (one,) = travel_sketches(
        order.model_copy(update={"welds": others}), [on_way], Show(), width_mm=92.0, height_mm=92.0
    )
    assert "within 6 m beside the tube" in one["words"] and "80 m in line with it" in one["words"]
    for kind, many in (("container", 1), ("way of the source", 1), ("nobody", 1), ("in line", 2)):
        assert one["svg"].count(f'class="{kind}"') == many
    # Six metres beside the way of 4 m: at the scale stated the outline is 16 m long.
    scale = float(one["scale"].split(":")[1])
    path = re.search(r'<path d="([^"]+)"[^>]*class="nobody"', one["svg"])
    assert path
    xs = [float(v) for v in re.findall(r"-?\d+\.?\d*", path[1])][::2]
    assert (max(xs) - min(xs)) * scale / 1000 == pytest.approx(16.0, rel=0.01)


def test_heights_are_to_scale_and_floors_are_named_or_said_not_to_be_stated(plan: Plan) -> None:
    order = Order.from_json(plan.order).model_copy(update={"floors": ()})
    assert "states no floor above or below" in floors_said(order, Show())
    above = FloorLevel.model_validate({"id": "f1", "name": "Gallery", "level_m": "4 m"})
    order = order.model_copy(update={"floors": (above,)})
    svg, stated, said = heights(order, Show(), width_mm=188.0, most_mm=90.0)
    assert "Gallery at 4 m" in said and "Gallery, 4 m" in svg
    scale = float(stated.split(":")[1])
    floors = [float(y) for y in re.findall(r'<path d="M[\d.]+ ([\d.]+)L[\d. ]+"[^>]*class="floor"', svg)]
    assert len(floors) == 2
    assert abs(floors[0] - floors[1]) * scale / 1000 == pytest.approx(4.0, abs=0.01)


def test_the_height_of_a_place_is_printed_where_it_is_not_about_a_metre_up(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    weld = order.welds[0]
    w = next(w for w in plan.welds if w.shielding and w.shielding.points)
    assert w.shielding
    point: PointDose = w.shielding.points[0]
    floor = weld.floor_level_m
    for z, words in ((1.1, ""), (5.2, "5.2 m up"), (-2.0, "2 m below")):
        one = replace(point, name="Office", at=(0.0, 0.0, floor + z))
        assert height(weld, one, Show()) == words
    assert height(weld, replace(point, name="barrier 90 deg, 8 m", at=(0.0, 0.0, 9.0)), Show()) == ""


def test_no_two_isodose_lines_share_a_style_and_every_mark_is_in_the_legend() -> None:
    made = field_factory.with_level(plan_factory.plan(), "W-01")
    order = Order.from_json(made.order)
    level = made.welds[0].dose_field
    assert level is not None and level.limit_Sv_s is not None
    styles = [dash for _, _, _, dash, _ in isodose._levels(order, level, Show())]
    assert len(styles) >= 5 and len(set(styles)) == len(styles)
    assert len({*isodose.DASHES, *isodose.OTHER_DASHES}) == len(isodose.DASHES) + len(isodose.OTHER_DASHES)
    data = isodose.isodose_data(order, order.weld("W-01"), made.welds[0], Show(), width_mm=188.0)
    assert data is not None
    marks = {line.get("mark") for line in data["lines"]}
    for kind, mark in (("sign", "sign"), ("place", "place"), ("obstacle", "body")):
        assert (f'class="{kind}"' in data["svg"]) == (mark in marks)
    assert "weld" in marks


def _with_box(plan: Plan, centre: tuple[float, float, float], size: tuple[float, float, float]) -> Order:
    order = Order.from_json(plan.order)
    box = order.obstacles[0].model_copy(update={"name": "Box", "centre": centre, "size": size})
    return order.model_copy(update={"obstacles": (box,)})


def test_a_rope_goes_round_a_body_on_the_outside(plan: Plan) -> None:
    """By geometry: a 2 m cube whose middle lies 0.5 m inside a straight side; two corners, 10 cm clear of it, and no
    line of the rope then crosses the cube."""
    order = _with_box(plan, (4.5, 0.0, 1.0), (2.0, 2.0, 2.0))
    sites = [(5.0, -5.0, 1.0), (5.0, 5.0, 1.0), (-5.0, 5.0, 1.0), (-5.0, -5.0, 1.0)]
    path = rope_path(order, sites, closed=True)
    assert {(round(x, 6), round(y, 6)) for x, y in path.points} >= {(5.6, -1.1), (5.6, 1.1)}
    assert not path.ties
    for (x0, y0), (x1, y1) in zip(path.points, (*path.points[1:], path.points[0]), strict=True):
        assert not [f for f in crossed(order.obstacles, (x0, y0, 1.0), (x1, y1, 1.0)) if f[1] <= 1.0]
    straight = math.dist((5.0, -5.0), (5.0, 5.0))
    by_hand = 2 * math.dist((5.0, -5.0), (5.6, -1.1)) + 2.2
    assert path.longer_m == pytest.approx(by_hand - straight)


def test_a_rope_is_tied_to_both_faces_of_a_wall(plan: Plan) -> None:
    order = _with_box(plan, (0.0, 5.0, 1.0), (0.3, 8.0, 2.0))
    sites = [(5.0, -5.0, 1.0), (5.0, 5.0, 1.0), (-5.0, 5.0, 1.0), (-5.0, -5.0, 1.0)]
    path = rope_path(order, sites, closed=True)
    assert path.longer_m == 0.0 and len(path.points) == 4
    ((a, b),) = path.ties
    assert sorted((a[0], b[0])) == pytest.approx([-0.15, 0.15]) and a[1] == b[1] == 5.0


def test_every_wall_between_weld_and_rope_is_named(plan: Plan) -> None:
    """One too far off to be in the dose stands in the row all the same, and is said to be in no dose."""
    w = next(w for w in plan.welds if w.safety and w.safety.contour)
    assert w.safety and w.safety.contour
    contour = w.safety.contour
    weld = Order.from_json(plan.order).weld(w.weld)
    far = max(p.at_m or 0.0 for p in contour.points)
    order = _with_box(plan, (weld.at[0] + 0.6 * far, weld.at[1], 1.0), (0.2, 0.2, 4.0))
    clean = replace(contour, points=tuple(replace(p, behind=()) for p in contour.points))
    row = rope_row(1, w, clean, Show(), order)
    assert row["behind"] == "passed, not in the dose: Box"
    assert rope_row(1, w, clean, Show())["behind"] == "none in these lines"
