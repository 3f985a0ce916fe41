"""Every place inside the distances kept from a travelling source is named, with what it gets: none is left out."""

from __future__ import annotations

import dataclasses

import pytest

import plan_factory as pf
from halflayer import conditions as all_conditions
from halflayer.base.result import Derived
from halflayer.conditions_of_travel import ON_ITS_WAY
from halflayer.order.crew import ChangePlace
from halflayer.order.models import Order
from halflayer.plan import Condition, WeldPlan
from halflayer.shielding.reach import within_reach
from halflayer.shielding.travelling import travel_of

H = 3600.0
SIDE = "the barrier's rate limit is reached beside the tube at"
LINE = "the barrier's rate limit is reached in line with the tube at"


def at(name: str, dose_Sv: float, peak_Sv_s: float) -> Derived:
    inputs = (
        Derived("largest one way", dose_Sv / 2, "Sv"),
        Derived("highest dose rate on the way", peak_Sv_s, "Sv/s"),
    )
    return Derived(name, dose_Sv, "Sv", inputs=inputs)


def moved(spots: dict[str, tuple[float, float, str]]) -> tuple[Order, WeldPlan]:
    """W-03 with a tube that runs to it along x from 4 m away, and places by their distance along and across the way."""
    base = Order.from_json(pf.plan().order)
    w = next(w for w in pf.plan().welds if w.weld == "W-03")
    weld = base.weld("W-03")
    x, y, z = *weld.at, weld.floor_level_m + weld.height_m
    made = base.as_json()
    made["places"] = [
        {"id": n, "name": n, "kind": kind, "at": [x - 4.0 + dx, y + dy, z]}
        for n, (dx, dy, kind) in spots.items()
    ]
    for one in made["welds"]:
        if one["id"] == "W-03":
            one["guide_from"] = [x - 4.0, y, z]
    order = Order.from_json(made)
    quiet = [at(n, 2.31e-9, 1.04e-6 / H) for n in spots]  # under every limit: only its place is asked for
    figure = Derived(
        "transit_dose",
        1e-6,
        "Sv",
        inputs=(
            *quiet,
            at("barrier at 4 m, worst of 24 directions", 1e-6, 9e-6 / H),
            Derived(LINE, 96.3, "m"),
            Derived(SIDE, 10.2, "m"),
        ),
    )
    assert w.shielding
    return order, dataclasses.replace(w, shielding=dataclasses.replace(w.shielding, derived=(figure,)))


SPOTS = {
    "beside": (2.0, 10.0, "people"),  # 10 m from the way
    "past": (2.0, 12.0, "people"),  # 12 m: outside both distances
    "behind": (-60.0, 0.0, "people"),  # in line, 60 m behind the container
    "far": (-98.0, 0.0, "people"),  # in line, beyond 97 m
    "aslant": (-50.0, 29.0, "people"),  # 30 degrees off the line: atan(29 / 50)
    "gauge": (2.0, 3.0, "level gauge"),
}


def told(order: Order, w: WeldPlan) -> Condition:
    (found,) = (c for c in all_conditions.conditions(order, w) if c.short == ON_ITS_WAY)
    return found


def test_places_within_the_kept_distances_are_found_by_plane_geometry() -> None:
    """By hand: distance from a segment, and from its axis by angle; 10.2 m and 96.3 m are kept as 11 m and 97 m."""
    order, w = moved(SPOTS)
    found = [p.name for p, _ in within_reach(order, order.weld("W-03"), travel_of(w.shielding))]
    assert found == ["beside", "behind", "gauge"]
    none = dataclasses.replace(w.shielding, derived=()) if w.shielding else None
    assert within_reach(order, order.weld("W-03"), travel_of(none)) == []


def test_who_is_within_reach_is_named_with_rate_and_dose_of_the_way() -> None:
    order, w = moved(SPOTS)
    c = told(order, w)
    clause = next(t for t in c.text.split("; ") if t.startswith("inside it, so empty too: "))
    assert clause.removeprefix("inside it, so empty too: ") == (
        "beside (up to 1.1 µSv/h, 0.0024 µSv in all), behind (up to 1.1 µSv/h, 0.0024 µSv in all)"
    )
    assert "(so not at beside, behind) but the crew" in c.in_brief
    assert "gauge" not in c.in_brief


def test_without_people_in_reach_none_are_named() -> None:
    order, w = moved({n: SPOTS[n] for n in ("past", "far", "aslant", "gauge")})
    assert "inside it" not in told(order, w).text
    assert "so not at" not in told(order, w).in_brief


@pytest.mark.parametrize(("rate_uSv_h", "named"), [(7.0, False), (8.0, True)])
def test_a_place_between_side_and_line_is_in_reach_by_its_own_rate(rate_uSv_h: float, named: bool) -> None:
    """Between the two the limit lies between the two: what a place gets decides there, against 7.5 uSv/h."""
    order, w = moved({"aslant": SPOTS["aslant"]})
    figure = travel_of(w.shielding)
    assert figure and w.shielding
    louder = dataclasses.replace(
        figure, inputs=(at("aslant", 1e-9, rate_uSv_h * 1e-6 / H), *figure.inputs[1:])
    )
    assert bool(within_reach(order, order.weld("W-03"), louder)) is named


def test_who_keeps_the_source_s_way_is_said_by_name_on_order_and_weld_sheet_alike() -> None:
    """Whom the weld names, else who keeps the line at the source changes, else plainly the owner of the area.

    That the crew keeps no line so far off is common practice, no source."""
    order, w = moved({"beside": SPOTS["beside"]})
    weld = order.weld(w.weld)
    nobody = order.model_copy(update={"source_changes_at": None})
    c = told(nobody, w)
    owner = "the owner of the area must keep that line and say so by name before the start"
    assert owner in c.text and owner in c.in_brief
    place = ChangePlace.model_construct(name="Bay", at=(0.0, 0.0, 1.0), kept_by="Foreman of the hall")
    changed = order.model_copy(update={"source_changes_at": place})
    assert "Foreman of the hall keeps that line and says so before the start" in told(changed, w).text
    named = weld.model_copy(update={"way_kept_by": "Gate keeper"})
    own = changed.model_copy(update={"welds": tuple(named if x.id == weld.id else x for x in order.welds)})
    c = told(own, w)
    assert "Gate keeper keeps that line and says so before the start, not the crew" in c.text
    assert "Gate keeper says so first" in c.in_brief and "Foreman" not in c.text
