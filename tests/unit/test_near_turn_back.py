"""What a supervisor reads the same on every sheet: turn-back readings, who stands where, what is lacking."""

from __future__ import annotations

import math
import re
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import safety_plan
from halflayer.base.result import Derived
from halflayer.base.units import parse
from halflayer.conditions_of_floors import limit_bases
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.limits import FloorLevel
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet import (
    at_a_glance,
    averages,
    beside_work,
    crew_line,
    near_turn_back,
    order_limits,
    order_sheet,
    sentry_words,
    survey,
)
from halflayer.sheet.before import before_list
from halflayer.sheet.figures import Show
from halflayer.sheet.heights import floors_said
from halflayer.sheet.order_sheet import crew_rows
from halflayer.shielding.barrier import directions_rad
from halflayer.shielding.contour import contour
from halflayer.shielding.result import PointDose, Shielding
from halflayer.shielding.safety_result import AveragedDose, Contour, RopePoint
from halflayer.shielding.stuck_steps import steps
from halflayer.shielding.survey_points import arrange
from halflayer.shielding.turn_back import reads_under_at_m

H = 3600.0


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


def point(
    at: tuple[float, float], rate: float, turn_back: float, name: str = "barrier 0 deg, 8 m"
) -> PointDose:
    limit = 7.5e-6 / H
    return PointDose(name, (*at, 1.0), rate * 1e-6 / H, 0.0, rate * 1e-6 / H, limit, True, {},
                     turn_back_Sv_s=turn_back * 1e-6 / H)  # fmt: skip


def test_a_rope_goes_out_to_where_estimate_and_error_stay_under_the_turn_back_reading(plan: Plan) -> None:
    """By hand: 5 uSv/h with an error of 20 % is 6 at most; 4 at 8 m x sqrt(6 / 4) = 9.798 m, up to 9.8 m."""
    order = Order.from_json(plan.order)
    weld = order.welds[0]
    x, y = weld.at
    k = 0.2 * 1.645
    assert reads_under_at_m(order, weld, point((x + 8.0, y), 5.0, 4.0), k) == 9.8
    assert (
        reads_under_at_m(order, weld, point((x + 8.0, y), 5.0, 6.0), k) is None
    )  # no nearer than it has to be
    assert reads_under_at_m(order, weld, point((x + 8.0, y), 5.0, 4.0, "Office"), k) is None  # no rope there


def test_it_stands_on_page_1_of_the_weld_and_in_the_list_before_the_first_exposure(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.shielding and w.status == "ready")
    assert w.shielding
    x, y = order.weld(w.weld).at
    shielding = replace(w.shielding, k=0.2 * 1.645, points=(point((x, y - 8.0), 5.0, 4.0),))
    assert w.safety is not None

    def roped(s: Shielding) -> WeldPlan:
        return replace(
            w, shielding=s, safety=replace(w.safety, contour=contour(order, order.weld(w.weld), s))
        )

    # 9.8 m / cos 7.5 deg = 9.885 m, rounded up: the corner, and nothing else is told for that direction.
    near = roped(shielding)
    told = near_turn_back.words(order, near, Show())
    assert told.startswith("ROPE PAST THE BARRIER LINE: 9.9 m at 270°,")
    assert told.endswith("Survey point 1 is read at the rope.")
    assert near_turn_back.in_list([near], Show()).endswith(f"{w.weld} 9.9 m at 270°.")
    (row,) = survey.rows(
        order.weld(w.weld),
        shielding,
        arrange(order, order.weld(w.weld), shielding),
        Show(),
        near.safety.contour,
    )
    assert row["rope"] == row["read_at"] == "9.9 m"
    quiet = roped(replace(shielding, points=(point((x, y - 8.0), 5.0, 6.1),)))
    assert near_turn_back.words(order, quiet, Show()) == near_turn_back.in_list([quiet], Show()) == ""


RATES = st.lists(st.floats(0.1, 7.0), min_size=24, max_size=24)


@given(RATES, st.floats(0.0, 0.6), st.lists(st.floats(1.0, 8.0), min_size=24, max_size=24))
@settings(max_examples=60, deadline=None)
def test_the_rope_encloses_every_distance_that_is_told(
    rates: list[float], k: float, limits: list[float]
) -> None:
    """Geometry of a polygon: in each direction the rope lies at the limit's distance or farther, and the reading there,
    by inverse square from 8 m, with its error is under the turn-back reading."""
    order = Order.from_json(safety_plan.plan().order)
    order = order.model_copy(update={"obstacles": (), "places": ()})
    weld = order.welds[0]
    turn_back = least_reading_Sv_s(order, 7.5e-6 / H) * H * 1e6
    points = []
    for n, rate in enumerate(rates):
        a = math.radians(15 * n)
        at = (weld.at[0] + 8.0 * math.cos(a), weld.at[1] + 8.0 * math.sin(a))
        points.append(point(at, rate, min(rate * (1 + k), turn_back)))
    some = next(w for w in safety_plan.plan().welds if w.shielding)
    assert some.shielding
    line = tuple((a, d) for a, d in zip(directions_rad(), limits, strict=True))
    rope = contour(order, weld, replace(some.shielding, k=k, points=tuple(points), barrier_by_direction=line))
    assert rope.closed
    for n, corner in enumerate(rope.points):
        assert corner.at_m is not None
        assert corner.at_m >= limits[n]
        away = max(corner.at_m, 8.0)  # nearer than 8 m the point itself is read
        most = rates[n] * (1 + k / 1.645) * (8.0 / away) ** 2
        assert most <= min(turn_back, rates[n] * (1 + k)) * (1 + 1e-9)
        told = max(corner.reads_under_at_m or 0.0, limits[n])
        # The chords on both sides: their middles lie at least as far out as what is told for this direction.
        for other in (rope.points[n - 1], rope.points[(n + 1) % 24]):
            assert corner.site and other.site
            for f in (0.0, 0.25, 0.5):
                p = [corner.site[i] + f * (other.site[i] - corner.site[i]) for i in (0, 1)]
                assert math.dist(p, weld.at) >= told - 1e-9


def test_the_control_position_is_never_inside_the_rope(plan: Plan) -> None:
    """A rope of 24 corners 12 m off a line 8 m off: its chords come to 12 cos 7.5 deg = 11.9 m, no nearer."""
    order = Order.from_json(plan.order)
    order = order.model_copy(
        update={
            "places": (),
            "limits": order.limits.model_copy(update={"barrier_within_m": 8.0}),
            "welds": tuple(w.model_copy(update={"barrier_within_m": None}) for w in order.welds),
        }
    )
    weld = order.welds[0]
    turns = [math.radians(15 * n) for n in range(24)]
    points = tuple(
        RopePoint(t, r, r, (weld.at[0] + r * math.cos(t), weld.at[1] + r * math.sin(t), 1.0))
        for t in turns
        for r in ([12.0] if math.cos(t) > -0.1 else [6.0])
    )
    rope = Contour(1.0, "", points, True, Derived("rope", 60.0, "m"), (), ())
    line = crew_line.crew_line(order, weld, None, Show(), rope)
    assert line.words == "8 m from the weld (the survey ring), outside the rope"
    (loop,) = line.loops
    east = [math.dist(p, weld.at) for p in loop if p[0] - weld.at[0] > 4.0]
    west = [math.dist(p, weld.at) for p in loop if p[0] - weld.at[0] < -4.0]
    # half a metre behind the rope, so that it is seen beside it all round (our choice)
    assert min(east) > 11.8 + crew_line.BEHIND_M and max(east) < 12.1 + crew_line.BEHIND_M
    assert min(west) == pytest.approx(
        8.0, rel=0.01
    )  # the rope runs nearer there: the order's distance stands
    opened = crew_line.crew_line(order, weld, None, Show(), replace(rope, closed=False))
    assert max(math.dist(p, weld.at) for p in opened.loops[0]) == pytest.approx(8.0, rel=0.01)


def test_a_floor_prints_its_limit_with_what_it_rests_on(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    stated = {
        "id": "f",
        "name": "Loft",
        "level_m": "4 m",
        "limit": {"rate": "2.5 uSv/h", "basis": "lease of the loft"},
    }
    floors = (
        FloorLevel.model_validate(stated),
        FloorLevel.model_validate({"id": "g", "name": "Cellar", "level_m": "-3 m"}),
    )
    order = order.model_copy(update={"floors": floors})
    rows = [r for r in order_limits.limit_rows(order, Show()) if "Loft" in r["where"]]
    assert [(r["value"], r["basis"]) for r in rows] == [("2.5 µSv/h", "lease of the loft")]
    bases = limit_bases(order)
    assert bases["Loft"] == "lease of the loft"
    assert bases["Cellar"] == order.limits.barrier.basis  # left out: the barrier's limit holds there
    said = floors_said(order, Show())
    assert "of Loft, none (the order states none)" in said
    for o in order.obstacles:
        assert f"{o.name}, {o.material}" in said


def test_a_sentry_at_the_rope_gets_a_total_of_the_shift(plan: Plan) -> None:
    """At most as printed, less its exposures as planned, and 7.5 uSv/h over all exposures with reshoots."""
    order = Order.from_json(plan.order)
    mine = [w for w in plan.welds if w.exposure is not None and w.status == "ready"]
    member = next(p for w in mine if w.safety for p in w.safety.crew)
    planned = math.fsum(
        s.dose_Sv or 0.0
        for w in mine
        if w.safety
        for p in w.safety.crew
        if p.name == member.name
        for s in p.steps
        if s.what == "exposures"
    )
    told = beside_work.at_the_rope(plan, order, Show(), {member.name: 20e-6})
    found = re.search(
        rf"([\d.]+) µSv with what may be shot again.*; {member.name} then at most ([\d.]+) µSv", told
    )
    assert found
    assert float(found[2]) == pytest.approx(20.0 - planned * 1e6 + float(found[1]), abs=0.2)
    assert "then at most" not in beside_work.at_the_rope(plan, order, Show())
    # Rate x time as printed is no more than the dose as printed: who multiplies finds nothing rounded down.
    whole = re.search(r"counted at the limit, ([\d.]+) µSv/h, for (.*?), ([\d.]+) µSv, ", told)
    assert whole
    assert float(whole[1]) * parse(whole[2], "time") / 3600.0 <= float(whole[3]) * (1 + 1e-9)


def test_page_one_prints_what_the_rope_brings_a_sentry_and_it_decides(plan: Plan) -> None:
    """The larger of survey ring and rope stands under "at most", and breaks the limit where it alone does."""
    order = Order.from_json(plan.order)
    ring = crew_rows(order, plan, Show())
    (own,) = (r for r in ring if r["role"] == "sentry")
    (told,) = (r for r in at_a_glance.placed(plan, order, Show(), ring) if r["role"] == "sentry")
    most = {own["name"]: parse(own["most"], "equivalent")}
    assert (
        parse(told["most"], "equivalent") == beside_work.rope_most_Sv(plan, order, Show(), most)[own["name"]]
    )
    assert parse(told["most"], "equivalent") > most[own["name"]]
    assert told["verdict"] == "holds"
    middle = (parse(told["most"], "equivalent") + most[own["name"]]) / 2  # holds at the ring, not at the rope
    strict = order.as_json()
    strict["limits"]["crew"]["per_shift_Sv"] = middle
    tight = Order.from_json(strict)
    (broken,) = (r for r in at_a_glance.placed(plan, tight, Show(), ring) if r["role"] == "sentry")
    assert broken["verdict"] == "breaks"
    assert [r["verdict"] for r in ring] == ["holds"] * len(ring)


def test_places_say_at_which_welds_their_rate_is_not_reliable(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.shielding and w.status == "ready")
    assert w.shielding
    name = next(p.name for p in w.shielding.points if not p.name.startswith("barrier "))
    points = tuple(replace(p, reliable=p.name != name) for p in w.shielding.points)
    one = replace(w, shielding=replace(w.shielding, points=points))
    noisy = replace(plan, welds=(one,), schedule=None)
    rows = {r["place"]: r["there"] for r in averages.average_rows(noisy, order, Show())}
    if name in rows:
        assert rows[name].rpartition(" (up to ")[0].endswith(f"not reliable at {w.weld}")
    assert averages._vague(noisy, order, name, Show()).startswith(f"not reliable at {w.weld} (up to ")
    assert averages._vague(noisy, order, "nowhere", Show()) == ""


def test_what_the_kit_lacks_is_one_condition_of_every_weld() -> None:
    def row(what: str, *, short: bool = False, note: str = "") -> dict[str, object]:
        return {"what": what, "short": short, "note": note, "pieces": "4", "stock": "3"}

    kit = [
        row("radio, one a person", short=True),
        row("head"),
        row("dosimeter, direct", note="not in the order: bring"),
    ]
    (told,) = order_sheet._to_bring(kit, 4)
    assert told["welds"] == "every weld"
    assert told["text"].endswith("radio: 4 needed, 3 in the kit; dosimeter 4 (not in the order)")
    assert order_sheet._to_bring([row("head")], 3) == []


def test_sentries_stand_outside_the_rope_and_the_list_goes_on_to_handing_back(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    ready = [w for w in plan.welds if w.status == "ready" and w.safety is not None]
    if any(r.sentry for w in ready if w.safety and w.safety.access for r in w.safety.access.routes):
        assert sentry_words.posts(ready, order, Show()).startswith("Sentries stand outside the rope")
    assert sentry_words.posts([], order, Show()) == ""
    rows = {r["subject"]: r["what"] for r in before_list(plan, order, Show())}
    # 7.5 uSv/h over a minute are 0.125 uSv, rounded up.
    assert "at most 0.13 µSv a minute at the rope" in rows["first exposure"]
    assert "the area handed back in writing to " in rows["at the end"]


def test_the_contingency_card_sends_the_barrier_to_the_same_reading(plan: Plan) -> None:
    """The limit of 7.5 uSv/h less a meter's 20 % is 6 uSv/h, on the card as at the rope."""
    order = Order.from_json(plan.order)
    meter = order.instruments[0].model_copy(update={"kind": "survey meter", "tolerance": 0.2})
    order = order.model_copy(update={"instruments": (meter,)})
    told = steps(order, 1e-3 / H)
    # where the crew goes, where a telephone may be used and lead be fetched; where it watches stands in the table
    assert sum("where the meter shows less than 6 µSv/h" in t for t in told) == 3
    assert sum("only where the meter shows less than 6 µSv/h" in t for t in told) == 2
    assert not any("{" in t for t in told)


def test_nobody_reads_inside_a_rope_that_is_farther_out_than_the_barrier(plan: Plan) -> None:
    """A point computed at the barrier's distance is read at a rope 1 m farther out; at a nearer rope where it is."""
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.shielding and w.safety and w.safety.contour)
    assert w.shielding and w.safety and w.safety.contour
    weld, line = order.weld(w.weld), w.safety.contour
    barrier = float(w.shielding.barrier_m.value or 0.0)
    for more, beyond in ((1.0, True), (-0.5, False)):
        rope = replace(line, points=tuple(replace(p, at_m=barrier + more) for p in line.points))
        points = arrange(order, weld, w.shielding)
        for row in survey.rows(weld, w.shielding, points, Show(), rope):
            assert row["beyond"] is (beyond and row["barrier"])
            at = row["rope"] if row["beyond"] else row["distance"]
            assert row["read_at"] == at


def test_the_rope_stands_where_at_most_its_reading_is_expected(plan: Plan) -> None:
    """By hand: 7.5 uSv/h at 8 m are 6, a meter's 20 % less, at 8 x sqrt(7.5 / 6) = 8.944 m, over cos 7.5 deg 9.02 m."""
    order = Order.from_json(plan.order)
    meters = tuple(
        i.model_copy(update={"tolerance": 0.2}) if i.kind == "survey meter" else i for i in order.instruments
    )
    order = order.model_copy(update={"instruments": meters})
    assert least_reading_Sv_s(order, 7.5) == pytest.approx(6.0)
    w = next(w for w in plan.welds if w.shielding)
    assert w.shielding
    order = order.model_copy(update={"obstacles": ()})
    line = tuple((a, 8.0) for a in directions_rad())
    rope = contour(order, order.weld(w.weld), replace(w.shielding, points=(), barrier_by_direction=line))
    assert [p.at_m for p in rope.points] == pytest.approx([9.1] * 24)
    assert [p.limit_at_m for p in rope.points] == [8.0] * 24


def test_a_place_that_holds_where_it_gets_most_says_where_and_what_is_left_to_measure() -> None:
    """1.1 of 2 at W11, known; what less other welds bring is not: no bare "not known" beside it."""
    usv_h = 1e-6 / H
    d = AveragedDose("Gauge", "instantaneous", "", "Sv/s", 1.0 * usv_h, 1.1 * usv_h, 2.0 * usv_h, None)
    (cell,) = averages._cells(
        [("", d)], [True], [("W11", 1.1 * usv_h)], [(True, 0.9 * usv_h, "W1, W4")], Show()
    )
    assert cell["verdict"] == "holds; measured first at W1, W4"
    # Where a first survey does not read it: 0.08 is 25 times under 2, 0.9 is not 2.5 times under.
    for most, said in ((0.08, "not said to hold"), (0.9, "not known")):
        (cell,) = averages._cells(
            [("", d)], [True], [("W11", 1.1 * usv_h)], [(False, most * usv_h, "W1, W4")], Show()
        )
        assert cell["verdict"] == f"holds; {said} at W1, W4"
    (cell,) = averages._cells([("", d)], [True], [("", 0.0)], [(False, 0.9 * usv_h, "W1, W4")], Show())
    assert cell["verdict"] == "not known"
