"""No label lies on another, and no line runs through one: of every drawing of the example order that needs no dose."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

import safety_plan
from drawn import struck, text_boxes
from halflayer.order.models import Order
from halflayer.order.read import read_order
from halflayer.plan import Plan
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.sheet import dims
from halflayer.sheet.content import MAIN_MM
from halflayer.sheet.figures import Show
from halflayer.sheet.heights import heights
from halflayer.sheet.placing import Places
from halflayer.sheet.plan_map import plan_map
from halflayer.sheet.setup_drawing import setup_drawing
from halflayer.sheet.site_sketch import rope_sketch, site_sketch
from halflayer.sheet.subject import Subject
from halflayer.sheet.svg import Canvas
from halflayer.technique.choose import choose_technique

EXAMPLE = Path(__file__).parents[2] / "examples" / "tarn-mill.yaml"
# plates and layers about as the plan of the example has them: what is drawn, not what shields
FITTINGS = {
    "W1": (0, 0), "W2": (0, 1), "W3": (1, 0), "W4": (2, 0), "W5": (1, 0), "W6": (0, 3),
    "W7": (0, 3), "W9": (0, 5), "W10": (0, 5), "W11": (1, 0), "W12": (0, 0),
}  # fmt: skip


@cache
def example() -> Order:
    return read_order(EXAMPLE)


@cache
def plan() -> Plan:
    return safety_plan.plan()


@pytest.mark.parametrize("weld_id", list(FITTINGS))
def test_no_figure_of_a_set_up_lies_on_a_line_or_on_another(weld_id: str) -> None:
    order = example()
    weld = order.weld(weld_id)
    plates, layers = FITTINGS[weld_id]
    chosen = choose_technique(order, weld).admissible[0]
    fitting = Fitting(plates, "PB-4" if plates else None, layers, "BN-25" if layers else None)
    built = build_scene(order, weld, chosen, chosen.shots[0], fitting)
    subject = Subject(order, weld, chosen, fitting, built, built.scene, Show(order.units))
    for tall in (160.2, 130.0, 118.0):  # long settings and lists leave the drawing less of the page
        assert struck(setup_drawing(subject, width_mm=122.0, height_mm=tall).svg) == []
    wide, tall = MAIN_MM["phone"]
    phone = setup_drawing(subject, width_mm=wide, height_mm=tall).svg
    assert struck(phone) == []
    assert all(x0 > -0.1 and x1 < wide + 0.1 for x0, _, x1, _ in text_boxes(phone))


def test_a_figure_keeps_off_the_leader_of_another() -> None:
    """Two figures too long for their lines are led past a third one, upright on its line, never through it."""
    canvas = Canvas(100.0, 60.0)
    dims.beside(
        canvas,
        [
            dims.Dim((0.0, 20.0), (0.0, 25.5), "166 mm"),
            dims.Dim((0.0, 14.6), (0.0, 25.4), "323.8 mm", 1),
            dims.Dim((0.0, 11.3), (0.0, 28.7), "524 mm", 2),
        ],
        x=40.0,
    )
    assert struck(canvas.render()) == []


def test_an_extension_line_does_not_run_through_a_figure_nearer_to_the_outline() -> None:
    """A short one in the middle of a long one: no room on its line, beside it the long one's line comes down."""
    canvas = Canvas(100.0, 60.0)
    dims.below(
        canvas,
        [dims.Dim((40.0, 0.0), (47.0, 0.0), "140 mm"), dims.Dim((39.0, 0.0), (54.0, 0.0), "300 mm", 1)],
        y=10.0,
    )
    assert struck(canvas.render()) == []


def test_what_lies_on_what_is_found() -> None:
    """The check itself: a line under words, over them, hidden by paper; words on words."""
    canvas = Canvas(60.0, 60.0)
    canvas.line((0.0, 9.0), (60.0, 9.0))
    canvas.text((5.0, 10.0), "under", size_mm=3.0)
    canvas.text((25.0, 10.0), "rim", size_mm=3.0, halo=True)
    canvas.plate((40.0, 7.5, 50.0, 10.5))
    canvas.text((41.0, 10.0), "paper", size_mm=3.0)
    canvas.text((5.0, 30.0), "crossed", size_mm=3.0, halo=True)
    canvas.line((0.0, 29.0), (60.0, 29.0))
    canvas.text((5.0, 50.0), "first", size_mm=3.0)
    canvas.text((7.0, 51.0), "second", size_mm=3.0)
    found = {(f.text, f.over, f.bare) for f in struck(canvas.render())}
    assert found == {
        ("under", False, True),
        ("rim", False, False),
        ("crossed", True, False),
        ("second", False, False),
    }


def test_the_sketch_of_the_site_has_its_names_off_walls_and_axes() -> None:
    order = example()
    contour = next(w.safety.contour for w in plan().welds if w.safety is not None and w.safety.contour)
    ropes = [(w.id, contour) for w in order.welds]  # so many are not drawn here: only their welds
    svg, _ = site_sketch(order, ropes, Show(order.units), width_mm=188.0, height_mm=85.0)
    found = struck(svg)
    assert not [f for f in found if f.over or f.bare]
    # Where the welds stand close a rim of paper round a letter is all that is left: at most one letter's height.
    assert sum(f.length_mm for f in found) < 2.5, found


def test_the_heights_of_the_site_have_their_names_off_walls() -> None:
    order = example()
    svg, _, _ = heights(order, Show(order.units), width_mm=188.0, most_mm=60.0)
    found = struck(svg)
    assert not [f for f in found if f.over or f.bare or f.on == "obstacle"]
    # Drop lines of 0.12 mm, dashed, with a rim of paper round the letters: few names are left on one.
    assert len(found) <= 4, found


@pytest.mark.parametrize("width_mm", [60.0, 94.0])
def test_letters_of_ropes_and_maps_lie_on_nothing(width_mm: float) -> None:
    p = plan()
    order = Order.from_json(p.order)
    show = Show(order.units)
    for w in p.welds:
        if w.safety is None or w.safety.contour is None or w.shielding is None:
            continue
        weld = order.weld(w.weld)
        rope, _ = rope_sketch(
            order, w.weld, w.safety.contour, show, width_mm=width_mm, height_mm=52.0, candidate=w.chosen
        )
        plan_view, _, _ = plan_map(
            order,
            weld,
            w.shielding,
            show,
            width_mm=width_mm,
            height_mm=60.0,
            contour=w.safety.contour,
            candidate=w.chosen,
        )
        for svg in (rope, plan_view):
            found = struck(svg)
            assert not [f for f in found if f.over or f.bare], (w.weld, found)
            assert sum(f.length_mm for f in found) < 4.0, (w.weld, found)


def test_words_that_stand_as_near_to_another_mark_are_led() -> None:
    """Two marks 5.5 mm apart: words between them would name either, so they go to the other side."""
    places = Places((0.0, 0.0, 100.0, 50.0), mistaken_mm=9.0)
    places.mark((50.0, 25.0), 1.0)
    places.mark((55.5, 25.0), 1.0)
    found = places.beside((50.0, 25.0), 3.0, 2.0, rings=(1.2,), around=((1.0, 0.0), (-1.0, 0.0)))
    assert found is not None and found[0][2] < 50.0
