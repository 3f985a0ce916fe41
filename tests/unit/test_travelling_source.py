"""A source on its way to the weld counts: at the bore, at the barrier, in doses at places, in the shift's verdicts."""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from test_shift_schedule import an_order, job, rows

import order_factory as of
import placement_orders as po
import plan_factory as pf
from halflayer import conditions as all_conditions
from halflayer.base.result import Derived
from halflayer.cli.plan_text import plan_lines
from halflayer.order.models import Order
from halflayer.physics import dosimetry, nuclides
from halflayer.plan import Plan, WeldPlan
from halflayer.scene.matter import order_material
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.sheet.people import average_rows
from halflayer.sheet.travel import route, transit_rows
from halflayer.shielding.access import access
from halflayer.shielding.averaging import AT_BARRIER, averages
from halflayer.shielding.bare import bare_h10_rate_Sv_s
from halflayer.shielding.barrier import directions_rad
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety import _way_at_rope_Sv
from halflayer.shielding.safety_result import Access, Contour, RopePoint, Safety
from halflayer.shielding.travelling import (
    on_the_way,
    transit_findings,
    ways_above,
    with_travel,
)
from halflayer.shift.result import PlaceRate
from halflayer.shift.schedule import schedule
from halflayer.technique.result import Candidate


def conditions(order, w):
    """All conditions but the signature that the factory's order lacks: it is asked for elsewhere."""
    return tuple(c for c in all_conditions.conditions(order, w) if c.short != "agreement signed")


H = 3600.0
WEIGHT = float(dosimetry.h10_per_fluence(np.array([400.0]))[0])
CERTIFICATE = 0.10  # the order's source states none: 10 % by default
AT_1M = (
    (1 + CERTIFICATE) * 1e12 * WEIGHT / (4 * math.pi)
)  # Sv/s of 1 TBq of one 400 keV line at 1 m, upper value


def bore(places: list[dict] | None = None, **weld: object) -> tuple[Order, Candidate]:
    """A pipe whose source comes through its open end from a container 4 m away, in 8 s."""
    given = {"od": 323.8, "wall": 9.5, "access_inside": True, "guide_from": [4.0, 0.0, 1.2], **weld}
    spider = of.spider(travel_s=8.0, stored={"activity_Bq": 3e12, "at_1m_Sv_s": 1e-9, "surface_Sv_s": 1e-7})
    made = of.order(
        welds=[of.weld(**given, placements=["bore"])],
        heads=[spider],
        detectors=[of.film(sheet=[0.10, 0.24])],
        places=places or [],
    )
    return made, po.best(made, "bore")


def place(ident: str, at: list[float], **limit: float) -> dict:
    return {"id": ident, "name": ident, "at": at, "kind": "people",
            "limit": {**limit, "basis": "example"} if limit else None}  # fmt: skip


def figure_of(made: Order, c: Candidate) -> Derived:
    found = po.way_figure(made, c)
    assert found is not None
    return found


def test_a_source_that_goes_into_the_bore_is_bare_all_the_way() -> None:
    """Elementary calculus: h beside the start of a straight way of length l run at v it is K atan(l/h) / (v h)."""
    made, c = bore([place("beside", [4.0, 2.0, 1.2], rate_Sv_s=7.5e-6 / H)])
    found = on_the_way(figure_of(made, c))["beside"]
    once = AT_1M * math.atan(4.0 / 2.0) / (4.0 / 8.0 * 2.0)
    assert found.once_Sv == pytest.approx(once, rel=1e-6)
    assert found.dose_Sv == pytest.approx(2 * once, rel=1e-6)
    assert found.peak_Sv_s == pytest.approx(AT_1M / 4.0, rel=1e-6)
    (told,) = [f for f in transit_findings(made, figure_of(made, c)) if f.level == "warn"]
    assert "beside (up to" in told.text
    assert "barrier (up to" in told.text


def test_the_bare_rate_is_that_of_the_stuck_source_s_card() -> None:
    """Both are upper values of the same source: 8 % of its certificate are in each, by the definition of the card."""
    made, c = bore()
    source = made.sources[0].model_copy(update={"activity_uncertainty": 0.08})
    made = made.model_copy(update={"sources": (source,)})
    figure = next(d for d in figure_of(made, c).inputs if d.name == "bare source at 1 m")
    assert figure.value == pytest.approx(AT_1M / 1.10 * 1.08, rel=1e-12)
    assert on_the_way(figure_of(made, c))["barrier"].peak_Sv_s == pytest.approx(
        on_the_way(figure_of(*bore()))["barrier"].peak_Sv_s / 1.10 * 1.08, rel=1e-9
    )


def test_a_bore_without_its_container_is_told_not_guessed() -> None:
    made, c = bore([place("beside", [4.0, 2.0, 1.2])], guide_from=None)
    figure = figure_of(made, c)
    assert figure.value is None
    (told,) = transit_findings(made, figure)
    assert told.level == "warn"
    assert "not computed: the weld does not say where the container stands" in told.text
    assert route(made.welds[0], Show()) == ""


def test_the_barrier_while_the_source_travels_is_the_nearest_point_of_the_ring() -> None:
    """The way ends 4 m from the weld on site x: the ring of radius r comes within r - 4 m of it, inverse square."""
    made, c = bore()
    figure = figure_of(made, c)
    within = made.limits.barrier_within_m
    assert within is not None and within > 4.0
    near = math.hypot(within - 4.0, 0.2)  # the ring lies 1 m above the floor, the way 1.2 m
    assert on_the_way(figure)["barrier"].peak_Sv_s == pytest.approx(AT_1M / near**2, rel=1e-3)
    reach = next(d for d in figure.inputs if "rate limit is reached" in d.name)
    rate = made.limits.barrier.rate_Sv_s
    assert rate is not None
    assert reach.value == pytest.approx(math.sqrt(AT_1M / rate), rel=1e-9)


def test_page_one_says_how_far_people_must_be_while_the_source_travels() -> None:
    """And who must not be there, on page 1 of weld and order, in the list to do first and on the terminal."""
    plan, order, w = planned_w3()
    assert w.shielding
    moved = travelled(order, 1e-6, 9e-6 / H)
    reach = Derived("the barrier's rate limit is reached in line with the tube at", 96.3, "m")
    beside = Derived("the barrier's rate limit is reached beside the tube at", 10.2, "m")
    moved = dataclasses.replace(moved, inputs=(*moved.inputs, reach, beside))
    w = dataclasses.replace(w, shielding=dataclasses.replace(w.shielding, derived=(moved,)))
    (told,) = conditions(order, w)
    assert told.short == "source's way kept clear"
    assert "nobody within 97 m in line with the tube and 11 m beside the tube but " in told.text
    assert "who winds the source (distance not stated" in told.text
    near = Order.from_json(order.as_json() | {"crew_times": {"transit_distance_m": 8.0}})
    position = (
        "at the control position and posts (8 m or more from the way: the order's distance, the sketches' "
    )
    assert position + "chain line, outside the rope; out of line of the tube" in conditions(near, w)[0].text
    assert told.text.endswith("NOT CLEARED: not shot, on to the next weld")
    ready = dataclasses.replace(w, conditions=(told,))
    assert (w.standing, ready.standing) == ("ready", "ready only if")
    whole = dataclasses.replace(plan, welds=tuple(ready if x.weld == "W-03" else x for x in plan.welds))
    sheets = {s.file: s.data for s in compose(whole)}
    page = sheets["W-03.pdf"]
    assert page["only_if"] == "DO NOT START UNTIL: source's way kept clear"
    assert any(r["what"] == told.short and r["do"].startswith("nobody within 97 m") for r in page["first"])
    assert any(c.startswith("source's way kept clear: while") for c in page["back"]["until"])
    summary = sheets["order.pdf"]
    (row,) = (c for c in summary["conditions"] if c["welds"] != "every weld" and c["short"] != "signed")
    assert row["welds"] == "W-03" and "97 m in line with the tube" in row["text"]
    assert next(r for r in summary["welds"] if r["weld"] == "W-03")["status"] == "do not start until"
    assert any(r["subject"] == told.short and "W-03: while" in r["what"] for r in summary["before"])
    assert page["survey"]["barrier_way"] == "97 m in line with the tube, 11 m beside it"
    kept = page["survey"]["kept_when"]
    assert kept.startswith(
        "Kept clear: 97 m in line with the tube, 11 m beside it, from before the source leaves"
    )
    assert kept.endswith(f"; {page['survey']['barrier']} only while it stands at the weld")
    assert {d["survey"]["kept_when"] for f, d in sheets.items() if "survey" in d and f != "W-03.pdf"} == {""}
    assert next(r for r in summary["welds"] if r["weld"] == "W-03")["barrier_way"] == "97 m"
    assert {r["barrier_way"] for r in summary["welds"] if r["weld"] != "W-03"} == {""}
    lines = "\n".join(plan_lines(whole))
    assert "1 for what is listed below (W-03)" in lines and "source's way kept clear" in lines


def test_who_is_inside_the_rope_is_out_for_as_long_as_the_source_is() -> None:
    """10 CFR 34.51: nobody but the crew in the area; a circle of 10 m holds what lies 8 m off, whatever holds there."""
    plan = pf.plan()
    base = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.weld == "W-03")
    x, y = base.weld("W-03").at
    spots = [
        {"id": n, "name": n, "kind": kind, "at": [x + dx, y + dy, z]}
        for n, kind, dx, dy, z in (
            ("office", "people", 5.6, 5.6, 4.0),
            ("gate", "people", 0.0, 12.0, 1.0),
            ("gauge", "other", -8.0, 0.0, 1.0),
            ("cab", "crew", 0.0, -8.0, 1.0),
        )
    ]
    order = Order.from_json(base.as_json() | {"places": spots})
    rope = Contour(1.0, "", tuple(RopePoint(a, 10.0, 10.0, None) for a in directions_rad()), True,
                   Derived("rope", 62.9, "m"), (), ())  # fmt: skip
    access = Access((), Derived("sentries_needed", 0, "people"), 0, ())
    safe = Safety((), (), rope, access=access)
    told = conditions(order, dataclasses.replace(w, safety=safe))
    # Its corners 10 m off stand farther than the order's 8 m besides.
    assert [c.short for c in told] == ["people out of the rope", "rope accepted"]
    assert "nobody at office while the source is out or travels; empty, or moved" in told[0].text
    small = dataclasses.replace(rope, points=tuple(dataclasses.replace(p, at_m=7.5) for p in rope.points))
    assert conditions(order, dataclasses.replace(w, safety=dataclasses.replace(safe, contour=small))) == ()


def test_a_way_in_above_the_limit_while_the_source_travels_is_closed_or_watched() -> None:
    """Inverse square: 3 m beside the end of the way the bare source gives AT_1M / 9, far above the barrier's limit.

    The rope is so near that both doors lie outside it: nothing else would ask for a sentry there.
    """
    doors = [
        {"id": "D-1", "name": "Open door", "at": [4.0, 3.0, 0.0]},
        {"id": "D-2", "name": "Locked door", "at": [4.0, -3.0, 0.0], "locked": True},
    ]
    first, c = bore()
    made = Order.from_json(first.as_json() | {"access": doors})
    figure = figure_of(made, c)
    assert figure is not None
    up = 0.2  # 1 m above its floor against the way's 1.2 m
    peaks = {r.id: peak for r, peak in ways_above(made, figure)}
    assert peaks == {i: pytest.approx(AT_1M / (9.0 + up**2), rel=1e-3) for i in ("D-1", "D-2")}
    near = Contour(1.0, "", tuple(RopePoint(a, 1.0, 1.0, None) for a in directions_rad()), True,
                   Derived("rope", 6.3, "m"), (), ())  # fmt: skip
    plain, moved = (access(made, made.welds[0], near, f) for f in (None, figure))
    assert [r.sentry for r in plain.routes] == [False, False]
    assert [r.sentry for r in moved.routes] == [True, False]
    assert "above the barrier's limit while the source travels" in moved.routes[0].why


def test_a_way_that_is_above_its_limit_only_by_locked_doors_is_no_condition_for_them() -> None:
    plan, order, w = planned_w3()
    assert w.shielding
    quiet = travelled(order, 1e-9, 1e-9 / H)
    door = Derived("way in: D", 1e-9, "Sv", inputs=(
        Derived("largest one way", 1e-9, "Sv"), Derived("highest dose rate on the way", 1.0 / H, "Sv/s")))  # fmt: skip
    quiet = dataclasses.replace(quiet, inputs=(*quiet.inputs, door))
    w = dataclasses.replace(w, shielding=dataclasses.replace(w.shielding, derived=(quiet,)))
    way = {"id": "D", "name": "D", "at": [1.0, 1.0, 0.0]}
    shut = Order.from_json(order.as_json() | {"access": [way | {"locked": True}]})
    opened = Order.from_json(order.as_json() | {"access": [way]})
    assert conditions(shut, w) == ()
    (told,) = conditions(opened, w)
    assert "closed, nobody at it: D" in told.text  # where the source's way runs is not stated


def test_where_the_container_stands_is_in_words() -> None:
    made, _ = bore(guide_by=[[1.0, 0.0, 1.2]])
    assert route(made.welds[0], Show()) == ("container at site x 4, y 0, 1.2 m up, by x 1, y 0, 1.2 m up")
    assert "13.12" in route(made.welds[0], Show("imperial"))


def planned_w3() -> tuple[Plan, Order, WeldPlan]:
    """The small plan, its order, and the weld that stands in it with everything worked out."""
    plan = pf.plan()
    return plan, Order.from_json(plan.order), next(w for w in plan.welds if w.weld == "W-03")


def travelled(order: Order, dose_Sv: float, peak_Sv_s: float) -> Derived:
    def at(name: str) -> Derived:
        inputs = (
            Derived("largest one way", dose_Sv / 2, "Sv"),
            Derived("highest dose rate on the way", peak_Sv_s, "Sv/s"),
        )
        return Derived(name, dose_Sv, "Sv", inputs=inputs)

    names = [*(p.name for p in order.places), "barrier at 4 m, worst of 24 directions"]
    return Derived("transit_dose", dose_Sv, "Sv", inputs=tuple(at(n) for n in names))


def test_doses_at_places_hold_the_source_on_its_way_and_break_with_it() -> None:
    order = an_order(limit={"per_shift_Sv": 1e-6, "basis": "rule X"}, occupancy=0.5)
    chosen = pf.candidate(order, "W-02", arrangement="over", shots=2)
    check = LimitCheck("Office", "per shift", "this weld's exposures", 0.4e-6, 0.6e-6, 1e-6, True)
    shield = dataclasses.replace(
        pf.shielding(order, "W-02", chosen), limits=(check,), derived=(travelled(order, 1e-6, 1e-9),)
    )
    counted, found = with_travel(order, shield)
    (one,) = counted.limits
    assert one.upper_Sv == pytest.approx(0.6e-6 + 0.5 * 1e-6)  # half of the time someone is there
    assert one.ok is False
    assert [f.level for f in found] == ["stop"]
    assert found[0].source == "rule X"
    still = dataclasses.replace(shield, derived=())
    assert with_travel(order, still) == (still, [])


def test_a_weld_s_verdict_of_the_moment_is_that_of_the_source_on_its_way() -> None:
    order = an_order(limit={"rate_Sv_s": 7.5e-6 / H, "basis": "x"})
    chosen = pf.candidate(order, "W-02", arrangement="over", shots=2)
    shield = pf.shielding(order, "W-02", chosen)
    point = dataclasses.replace(
        shield.points[0], name="Office", rate_Sv_s=1e-6 / H, upper_Sv_s=2e-6 / H, reliable=True
    )
    times = pf.exposure(order, chosen)
    moving = dataclasses.replace(shield, points=(point,), derived=(travelled(order, 1e-7, 40e-6 / H),))
    found = {r.kind: r for r in averages(order, chosen, times, moving) if r.place == "Office"}
    assert found["instantaneous"].ok is False
    assert found["instantaneous"].upper == pytest.approx(40e-6 / H)
    assert found["instantaneous"].standing == pytest.approx(2e-6 / H)
    out = sum(float(s.seconds.value or 0.0) for s in times.shots)
    # Two exposures, of which a tenth may be shot again, are three, each with its way.
    assert found["per shift"].upper == pytest.approx(1.5 * (2e-6 / H * out + 1e-7))
    unknown = dataclasses.replace(
        moving, derived=(Derived("transit_dose", None, "Sv", basis="not computed"),)
    )
    rows_ = averages(order, chosen, times, unknown)
    assert all(r.ok is None for r in rows_ if r.place != AT_BARRIER)


def test_the_shift_s_table_breaks_where_the_source_on_its_way_does() -> None:
    """At the weld 1.2 uSv/h of 7.5; on its way 2.4 mSv/h and 1 uSv each way: two exposures are four ways."""
    limit = {"rate_Sv_s": 7.5e-6 / H, "per_shift_Sv": 3e-6, "basis": "x"}
    rate = PlaceRate(1e-6 / H, 1.2e-6 / H, True, peak_Sv_s=2.4e-3 / H, way_Sv=1e-6)
    order = an_order(limit=limit)
    plan = schedule(order, [job("A", rates={"Office": rate}, travel_s=8.0)])
    found = rows(plan)
    assert found["instantaneous"].ok is False
    assert found["instantaneous"].upper == pytest.approx(2.4e-3 / H)
    assert found["instantaneous"].standing == pytest.approx(1.2e-6 / H)
    assert found["per shift"].upper == pytest.approx(4e-6 + 240 * 1.2e-6 / H)
    assert found["per shift"].ok is False
    assert found["in any one hour"].upper == pytest.approx(4e-6 + 240 * 1.2e-6 / H)
    unknown = schedule(
        order, [job("A", rates={"Office": PlaceRate(1e-9 / H, 1e-9 / H, True)}, travel_known=False)]
    )
    assert rows(unknown)["instantaneous"].ok is None
    made = dataclasses.replace(pf.plan(), schedule=plan)
    (row,) = average_rows(made, order, Show())
    assert row["cells"][0]["verdict"] == "breaks"
    assert row["cells"][0]["standing"] == "1.2 µSv/h"


def test_the_table_of_the_way_says_the_barrier_too() -> None:
    plan, order, w = planned_w3()
    assert w.shielding
    moved = dataclasses.replace(w.shielding, derived=(travelled(order, 1e-6, 9e-6 / H),))
    table = transit_rows(order, dataclasses.replace(w, shielding=moved), Show())
    last = table["rows"][-1]
    assert last["place"] == "survey ring at 4 m, worst of 24 directions"
    assert last["above"] is True


def test_the_rope_by_the_hour_knows_what_the_way_of_the_source_brings() -> None:
    """Elementary calculus as above, 2 m beside the way's start: K atan(l/h) / (v h), out and back, each exposure."""
    made, c = bore()
    never = made.allowance.model_copy(update={"trial": "never"})
    made = made.model_copy(update={"allowance": never})
    times = pf.exposure(made, c)
    corner = RopePoint(0.0, 4.5, 4.5, (4.0, 2.0, 1.2))
    line = Contour(1.0, "", (corner,), True, Derived("rope", 28.0, "m"), (), ())
    # Limited by the rate: its reading is no dose's.
    assert _way_at_rope_Sv(made, made.welds[0], c, times, line) == 0.0
    limit = made.limits.barrier.model_copy(update={"in_any_hour_Sv": 2e-5})
    hourly = made.model_copy(update={"limits": made.limits.model_copy(update={"barrier": limit})})
    assert isinstance(times.activity.value, float)
    source = made.sources[0]
    capsule = order_material(made, source.capsule_material)
    energies, yields = nuclides.filtered(nuclides.nuclide(source.nuclide), capsule, source.capsule_wall_m)
    k = (1 + source.activity_uncertainty) * bare_h10_rate_Sv_s(
        activity_Bq=times.activity.value, energies_keV=energies, photons_per_decay=yields, distance_m=1.0
    )
    once = k * math.atan(4.0 / 2.0) / (4.0 / 8.0 * 2.0)
    n = len(times.shots) + 1  # a tenth of them shot again is a whole one
    assert _way_at_rope_Sv(hourly, hourly.welds[0], c, times, line) == pytest.approx(2 * once * n, rel=1e-3)
