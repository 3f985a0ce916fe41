"""What the list before the first exposure and the site sketch say of people, signals and the far distance."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest

import safety_plan
from halflayer.order.contacts import Contact
from halflayer.order.gear import Gear
from halflayer.order.limits import AccessRoute, Place
from halflayer.order.models import Order
from halflayer.sheet import call_words, cleared, floor_points, lost_words, notice_words, signal_words
from halflayer.sheet.far_inset import Far, draw
from halflayer.sheet.figures import Show
from halflayer.sheet.site_sketch import site_sketch
from halflayer.sheet.svg import Canvas
from halflayer.shielding.safety_result import Route


@pytest.fixture(scope="module")
def order() -> Order:
    return Order.from_json(safety_plan.plan().order)


def test_a_way_held_locked_is_agreed_and_opened_for_who_reads_beyond_it(order: Order) -> None:
    """Common practice, no source: whose area it is agrees, escape is kept, one person has the key."""
    gate = AccessRoute.model_construct(id="g", name="Gate", at=(9.0, 1.0, 0.0), locked=True)
    ((subject, told),) = cleared.locked(order.model_copy(update={"access": (gate,)}), [])
    assert subject == "ways locked" and told.startswith("Gate: owner agrees, escape kept;")
    assert told.endswith(", opened to read.")
    # Nobody goes through it while it lies inside a weld's rope.
    inside = Route("g", "Gate", "passage", "same floor", (9.0, 1.0, 0.0), 1.0, True, False, "")
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.safety and w.safety.access)
    assert w.safety and w.safety.access
    near = replace(w, safety=replace(w.safety, access=replace(w.safety.access, routes=(inside,))))
    ((_, told),) = cleared.locked(order.model_copy(update={"access": (gate,)}), [near])
    assert told.endswith(f", opened to read but at {w.weld} (in its rope).")
    shut = gate.model_copy(update={"locked": False})
    assert cleared.locked(order.model_copy(update={"access": (shut,)}), []) == []


def test_a_change_is_cleared_by_who_answers_for_each_place_and_the_plant_is_seen_to(order: Order) -> None:
    """A neighbour's floor is not the shift manager's to report empty: a box for each who answers, then ways, plant."""
    plan = safety_plan.plan()
    assert plan.schedule is not None
    who = Contact(role="site manager", name="Edda Marlowe", phone="extension 305")
    places = (
        Place.model_construct(id="a", name="Office", at=(1.0, 1.0, 1.0), contact=who),
        Place.model_construct(id="d", name="Gauge", at=(9.0, 1.0, 1.0), kind="level gauge"),
    )
    beside = tuple(
        SimpleNamespace(place=name, kind=kind, above=True)
        for name, kind in (("Office", "people"), ("Gauge", "level gauge"), ("Door", "way in"))
    )
    made = replace(plan, schedule=replace(plan.schedule, beside_changes=beside))  # type: ignore[arg-type]
    plant = Contact(role="shift manager", name="Wyn Cardale", phone="extension 214")
    own = order.model_copy(update={"places": places, "floors": (), "contacts": (plant,)})
    assert cleared.cleared(made, own) == [
        "Office: Edda Marlowe, time ____",
        "Door closed",
        "instruments isolated",
        "plant run from elsewhere or shut down: Wyn Cardale (extension 214)",
    ]


def test_who_answers_is_named_once_with_the_number_and_a_blank_stands_for_nobody(order: Order) -> None:
    """Common practice, no source: who is told stands on the list by name and number."""
    who = Contact(role="site manager", name="Edda Marlowe", phone="extension 305")
    places = (
        Place.model_construct(id="a", name="Office", at=(1.0, 1.0, 1.0), contact=who),
        Place.model_construct(id="b", name="Loft", at=(1.0, 1.0, 4.0), contact=who),
        Place.model_construct(id="c", name="Yard", at=(9.0, 1.0, 1.0)),
        Place.model_construct(id="d", name="Gauge", at=(9.0, 1.0, 1.0), kind="level gauge"),
    )
    words = notice_words.words(order.model_copy(update={"places": places, "floors": ()}))
    assert words.endswith(
        "; Office, Loft: site manager Edda Marlowe extension 305; Yard: name, phone ________."
    )


def test_signals_are_those_of_the_kit(order: Order) -> None:
    gear = (
        Gear(id="HN-1", kind="horn"),
        Gear(id="BE-1", kind="beacon", count=4),
        Gear(id="RA-1", kind="radio"),
    )
    whole = order.model_copy(update={"kit": order.kit.model_copy(update={"gear": gear})})
    words = signal_words.words(whole)
    assert "“clear” from every sentry by RA-1" in words and "HN-1 long" in words
    assert "BE-1 lit" in words and "Not in the order" not in words
    bare = signal_words.words(order.model_copy(update={"kit": order.kit.model_copy(update={"gear": ()})}))
    assert bare.endswith("Not in the order: horn, beacon, radio.") and "a call long" in bare


def test_a_sentry_at_a_stair_has_a_figure_where_a_place_of_the_order_stands_there(order: Order) -> None:
    w = next(w for w in safety_plan.plan().welds if w.shielding and w.shielding.points and w.safety)
    assert w.shielding and w.safety
    point = w.shielding.points[0]
    stair = AccessRoute.model_construct(
        id="s", name="Stair", at=(point.at[0], point.at[1], point.at[2] - 1.0), side="above"
    )
    there = Place.model_construct(id="p", name=point.name, at=point.at)
    floor = SimpleNamespace(side="above", ok=False)
    w = replace(w, safety=replace(w.safety, floors=(floor,)))  # type: ignore[arg-type]
    with_place = order.model_copy(update={"access": (stair,), "places": (there,)})
    assert "reckoned: up to" in floor_points._expected(with_place, w, Show())
    without = order.model_copy(update={"access": (stair,), "places": ()})
    assert "no place of the order there" in floor_points._expected(without, w, Show())


def test_layers_are_counted_whether_a_miscount_breaks_a_limit_or_not(order: Order) -> None:
    w = next(w for w in safety_plan.plan().welds if w.shielding and w.safety)
    assert w.shielding
    fit = replace(w.shielding.fitting, layers=3, blanket="B25")
    w = replace(w, shielding=replace(w.shielding, fitting=fit), safety=replace(w.safety, lost=None))
    told = lost_words.check_words(order, w, Show())
    assert told.startswith("count 3 layers; the head's angle within ") and "; the leg's hole" in told
    assert told.endswith(
        "; aperture slot-8x20 by its mark (another: no barrier holds). Not checked: do not expose"
    )
    # Where nothing but the count is looked at it is the count that stops.
    assert w.chosen
    bare = replace(w, chosen=replace(w.chosen, arrangement="bore", aperture=None))
    assert lost_words.check_words(order, bare, Show()) == "count 3 layers. Not counted: do not expose"
    # Of a head strapped to the pipe no survey shows angle or place either.
    strapped = lost_words.check_words(
        order, replace(bare, chosen=replace(w.chosen, arrangement="strap", aperture=None)), Show()
    )
    assert strapped == "count 3 layers; the head's angle and place. Not checked: do not expose"


def test_the_far_distance_is_drawn_to_scale_beside_the_site() -> None:
    """140 m all round a spot is 280 m; in 39.6 x 57.6 mm at 1 : 7500 (the next 500 over 280 m / 39.6 mm = 7071)."""
    canvas = Canvas(200.0, 70.0)
    site = [(-10.0, -10.0), (20.0, -10.0), (20.0, 20.0), (-10.0, 20.0)]
    far = (Far("SE-1", 140.0, ((5.0, 5.0),)),)
    assert draw(canvas, far, site, Show(), at=(0.0, 0.0), size=(42.0, 68.0)) == 7500
    assert "SE-1 140 m" in canvas.render()


def test_the_site_sketch_holds_the_store(order: Order) -> None:
    """Near the welds it stands on the sketch, whose scale shows it; far off an arrow points to it from the edge."""
    w = next(w for w in safety_plan.plan().welds if w.safety and w.safety.contour)
    assert w.safety and w.safety.contour
    rope = w.safety.contour

    def drawn(at: tuple[float, float, float] | None) -> tuple[str, float]:
        placed = order.model_copy(update={"site": order.site.model_copy(update={"source_store_at": at})})
        return site_sketch(placed, [(w.weld, rope)], Show(), width_mm=188.0, height_mm=118.0)

    (plain, least), (near, scale), (far, same) = (
        drawn(None),
        drawn((3.0, -20.0, 1.0)),
        drawn((3.0, -60.0, 1.0)),
    )
    assert "store" in near and scale > least and "far off" not in near
    assert "store" in far and same == least and "far off" in far
    assert "store" not in plain


def test_who_signs_in_the_shift_has_a_number_or_a_blank(example: Order) -> None:
    """Common practice, no source: whose signature a weld waits for at night is reached, or is asked for before."""
    told = call_words.to_sign_words(example)
    assert (
        told
        == "Joss Amberley-Finch extension 262, Ruth Calder-Wynn extension 261, Nell Ashgrove extension 263"
    )
    assert call_words.numbers_lacking(example) == []
    none = example.model_copy(update={"to_sign": ()})
    assert call_words.to_sign_words(none).count("phone ____") == 2
    assert len(call_words.numbers_lacking(none)) == 2
    # Nothing is left to sign: only the code's figures and the set-ups taken down are.
    signed = example.model_copy(update={"agreements": ()})
    assert call_words.to_sign_words(signed) == told
    waited = signed.model_copy(update={"films_read": None})
    assert (
        call_words.to_sign_words(waited) == "Joss Amberley-Finch extension 262, Nell Ashgrove extension 263"
    )


def test_who_answers_for_an_empty_place_says_that_it_is(example: Order) -> None:
    told = notice_words.words(example)
    assert "Edda Marlowe extension 305, who says before 22:00 that nobody is there to the end" in told
    assert "Wyn Cardale extension 214;" in told  # of places with people in them nothing is said
