"""The dose of a source change: leakage and bare ways by hand, in each person's sum, or not computed."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

import plan_factory as pf
import safety_plan
from halflayer.base.result import Derived
from halflayer.conditions_of_change import CHANGE, after_change, change_condition
from halflayer.order.models import Order
from halflayer.sheet import alarm_words
from halflayer.sheet.figures import Show
from halflayer.shift import changing
from halflayer.shift.after_change import can_go_before, must_come_before, stand_on
from halflayer.shift.begun_by import begun_by_s, changed_before, in_turn_s
from halflayer.shift.change_place import beside, distances_m, place_of, who_is_there
from halflayer.shift.changing import change_steps
from halflayer.shift.result import Job, PlaceRate
from halflayer.shift.schedule import schedule

H = 3600.0
SE, IR = "SE-2041", "IR-0911"


def an_order(**times: Any) -> Order:
    """Two heads and a changer with readings of 1 TBq: 2, 4 and 6 uSv/h at 1 m from the surface."""
    data = pf.order_data()

    def stored(rate: float) -> dict[str, Any]:
        return {"activity_Bq": 1e12, "surface_Sv_s": None, "at_1m_Sv_s": rate * 1e-6 / H}

    first = data["heads"][0]
    data["heads"] = [first | {"id": "A", "stored": stored(2)}, first | {"id": "B", "stored": stored(4)}]
    data["kit"]["changers"] = [{"id": "XC", "stored": stored(6)}]
    data["crew_times"] = data.get("crew_times", {}) | {
        "source_change_s": 600.0,
        "source_change_distance_m": 0.5,
        "source_change_way_s": 2.0,
        "source_change_away_m": 5.0,
    } | times  # fmt: skip
    return Order.from_json(data)


@pytest.fixture(autouse=True)
def steady(monkeypatch: pytest.MonkeyPatch) -> None:
    """1 TBq each at the shift and 0.09 Sv/h bare at 1 m with the certificate's uncertainty, so that hands can add."""
    monkeypatch.setattr(changing, "activity_at_start_Bq", lambda *_: 1e12)
    monkeypatch.setattr(changing, "bare_1m_Sv_s", lambda *_: 0.09 / H)


def job(weld: str, source: str, head: str, device: str = "") -> Job:
    crew = tuple(Derived(f"crew_dose_{n}", 2e-6, "Sv") for n in range(3))
    return Job(
        weld, (0.0, 0.0), 600.0, (120.0,), 300.0, 100.0,
        crew_Sv=crew, source=source, device=device or head, head=head,
    )  # fmt: skip


SWAP = [job("W-01", SE, "A"), job("W-02", IR, "A")]


def test_a_swap_by_hand() -> None:
    """Beside: each source at worst in the changer, 6 / 0.5^2 = 24 uSv/h, two of them for 600 s are 8 uSv. On its way:
    0.09 / 25 Sv/h for 2 s are 2 uSv, once each: one out, one in. Together 12 uSv beside 4 uSv of the welds."""
    plan = schedule(an_order(), SWAP)
    (change,) = plan.changes
    assert change.moved == ((IR, 1), (SE, 1))
    assert dict(change.rests) == {IR: ("XC", "A"), SE: ("A", "XC")}
    doses = {s.what: s.dose_Sv for _, s in plan.crew[0].changes}
    assert doses["beside head and changer"] == pytest.approx(8e-6)
    assert doses[f"{IR} bare on its way"] == doses[f"{SE} bare on its way"] == pytest.approx(2e-6)
    assert plan.crew[0].dose.value == pytest.approx(16e-6)
    (shift,) = [c for c in plan.crew[0].limits if c.kind == "per shift"]
    assert (shift.upper_Sv, shift.ok) == (pytest.approx(16e-6), True)
    assert "source changes" in shift.averaging
    sentry = next(p for p, who in zip(plan.crew, an_order().crew, strict=True) if who.role == "sentry")
    assert [s.what for _, s in sentry.changes] == [f"{IR} bare on its way", f"{SE} bare on its way"]
    assert sentry.dose.value == pytest.approx(8e-6)


def test_a_source_out_of_another_head_goes_through_the_changer() -> None:
    """Two ways of the same source; it rests in turn in both heads and in the changer, at worst there: 24 uSv/h."""
    plan = schedule(an_order(), [job("W-01", SE, "A"), job("W-02", SE, "B", "the container of B")])
    (change,) = plan.changes
    assert (change.moved, change.rests) == (((SE, 2),), ((SE, ("A", "XC", "B")),))
    by_what = {s.what: s for _, s in plan.crew[0].changes}
    assert by_what[f"{SE} bare on its way"].dose_Sv == pytest.approx(4e-6)
    assert by_what["beside head and changer"].dose_Sv == pytest.approx(4e-6)


def test_a_source_that_stays_in_the_changer_is_there_for_the_next_change() -> None:
    """SE goes into the changer before W2 and is still in it when IR goes into the other head before W3."""
    plan = schedule(an_order(), [*SWAP, job("W-03", IR, "B")])
    assert dict(plan.changes[1].rests) == {IR: ("A", "XC", "B"), SE: ("XC",)}


def test_others_than_those_who_change_it_stand_at_the_control_position() -> None:
    order = an_order(transit_distance_m=10.0)
    plan = schedule(order, SWAP)
    sentry = next(p for p in order.crew if p.role == "sentry")
    assert [s.distance_m for s in change_steps(order, plan.changes[0], sentry)] == [10.0, 10.0]
    assert [s.distance_m for s in change_steps(order, plan.changes[0], order.crew[0])] == [0.5, 5.0, 5.0]


@pytest.mark.parametrize(
    "lacking", ["source_change_distance_m", "source_change_way_s", "source_change_away_m"]
)
def test_what_is_not_stated_is_in_no_sum_and_nothing_then_holds(lacking: str) -> None:
    plan = schedule(an_order(**{lacking: None}), SWAP)
    assert not plan.crew[0].changes_known
    assert plan.crew[0].dose.value == pytest.approx(4e-6)
    assert "without source changes" in plan.crew[0].dose.basis
    assert [c.ok for c in plan.crew[0].limits] == [None]
    (told,) = [f for f in plan.findings if "source changes in this shift" in f.text]
    assert lacking.removesuffix("_m").removesuffix("_s") in told.text


def test_a_changer_without_a_reading_leaves_the_change_not_computed() -> None:
    data = an_order().as_json()
    data["kit"]["changers"] = [{"id": "XC"}]
    plan = schedule(Order.from_json(data), SWAP)
    beside = plan.crew[0].changes[0][1]
    assert beside.dose_Sv is None and "no reading of XC" in beside.basis


def test_the_bare_source_is_decayed_to_the_shift_and_as_strong_as_its_certificate_allows(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Half-life 119.78 d by hand; about 0.055 to 0.063 mSv/h per GBq at 1 m (from memory, by capsule and table)."""
    monkeypatch.undo()
    order = an_order()
    source = order.sources[0]
    days = (order.shift.starts - source.on).total_seconds() / 86400.0
    activity = 2.4e12 * 2.0 ** (-days / 119.78)
    assert changing.activity_at_start_Bq(order, source) == pytest.approx(activity, rel=1e-3)
    per_GBq = (
        changing.bare_1m_Sv_s(order, source) / (1.0 + source.activity_uncertainty) / (activity / 1e9) * H
    )
    assert 0.050e-3 < per_GBq < 0.066e-3


def test_how_far_a_source_change_is_from_people_by_hand() -> None:
    """Limit 7.5 uSv/h: two sources at rest read 12 at 1 m, sqrt(12 / 7.5) = 1.26 m; bare 0.09 Sv/h: 109.5 m."""
    order = an_order()
    limit = order.limits.barrier.rate_Sv_s
    assert limit == pytest.approx(7.5e-6 / H)
    rest, bare = distances_m(order, schedule(order, SWAP).changes)
    assert rest == pytest.approx(1.2649, rel=1e-4)
    assert bare == pytest.approx(109.545, rel=1e-4)
    assert distances_m(order, ()) == (None, None)


def test_a_change_without_a_reading_has_no_distance_at_rest() -> None:
    data = an_order().as_json()
    data["kit"]["changers"] = [{"id": "XC"}]
    order = Order.from_json(data)
    rest, bare = distances_m(order, schedule(order, SWAP).changes)
    assert rest is None and bare is not None


def placed(**more: Any) -> Order:
    """A change at a stated bay, 30 m from an office and 10 m from a door that stays open; rope limit 7.5 uSv/h."""
    data = an_order().as_json() | {
        "source_changes_at": {"name": "bay", "at": (0.0, 0.0, 1.0)},
        "places": [
            {"id": "o", "name": "Office", "at": (30.0, 0.0, 1.0), "kind": "people",
             "limit": {"rate_Sv_s": 7.5e-6 / H, "per_shift_Sv": 4e-6, "basis": "x"}},
        ],
        "access": [{"id": "d", "name": "Door", "at": (0.0, 10.0, 1.0), "kind": "door"}],
    } | more  # fmt: skip
    return Order.from_json(data)


def test_what_a_change_brings_to_a_place_by_hand() -> None:
    """At rest 12 / 900 uSv/h for 600 s; bare 0.09 / 900 Sv/h = 100 uSv/h, two ways of 2 s: 0.0022 + 0.1111 uSv."""
    order = placed()
    changes = schedule(order, SWAP).changes
    office, door = beside(order, changes)
    assert (office.distance_m, door.distance_m) == (30.0, 10.0)
    assert office.rest_Sv_s == pytest.approx(12e-6 / 900 / H)
    assert office.bare_Sv_s == pytest.approx(100e-6 / H)
    assert office.dose_Sv == pytest.approx(12e-6 / 900 / H * 600 + 100e-6 / H * 4)
    assert (office.above, door.kind, door.above) == (True, "way in", True)


def test_a_change_is_in_the_sums_of_places_and_its_rate_in_the_moment() -> None:
    """The office gets nothing from the welds of these jobs: its shift is that of the change, its peak 100 uSv/h."""
    order = placed()
    jobs = [replace(j, rates={"Office": PlaceRate(0.0, 0.0, True)}) for j in SWAP]
    rows = {r.kind: r for r in schedule(order, jobs).places if r.place == "Office"}
    dose = 12e-6 / 900 / H * 600 + 100e-6 / H * 4
    for kind in ("in any one hour", "per shift", "per week"):
        assert rows[kind].upper == pytest.approx(dose), kind
        assert rows[kind].value == pytest.approx(dose), kind
    top = rows["instantaneous"]
    assert top.upper == pytest.approx((100e-6 + 12e-6 / 900) / H)
    assert (top.ok, top.standing) == (False, 0.0)
    assert "source change" in top.averaging
    assert rows["per shift"].ok is True


def test_a_change_that_is_not_computed_lets_no_place_hold() -> None:
    order = placed(crew_times=an_order(source_change_way_s=None).crew_times.model_dump(mode="json"))
    jobs = [replace(j, rates={"Office": PlaceRate(0.0, 0.0, True)}) for j in SWAP]
    rows = {r.kind: r for r in schedule(order, jobs).places if r.place == "Office"}
    assert rows["per shift"].ok is None


def test_the_weld_after_a_change_is_ready_only_if_who_is_near_is_seen_to() -> None:
    """109.5 m bare (by hand above), rounded up; one statement of who is nearer, and who keeps the others away."""
    order = placed()
    plan = schedule(order, SWAP)
    told = change_condition(order, plan, "W-02")
    assert told is not None
    assert told.text.count("NOT CLEARED") == 1 and "none: none is left after it" in told.text
    free = change_condition(order, plan, "W-02", ["W-03"])
    assert free is not None and "on to the welds that need none (W-03), each by its own list" in free.text
    assert "at bay, site x 0, y 0: while a source is bare " in told.text
    where = (
        "everyone of the crew, and any extra sentry, stands 5 m away or more; nobody else within 110 m: the owner "
        "of the area must keep that line and say so by name before the start; the crew has nobody for it"
    )
    assert where in told.text
    named = who_is_there(order, within="110 m")
    makers, others = (
        " and ".join(p.name for p in order.crew if (p.role == "sentry") is posted) for posted in (False, True)
    )
    assert named.startswith(
        f"{makers}, who make it, stand 5 m away or more; {others}, and any extra sentry, 5 m away or more (doses are "
        "counted there); nobody"
    )
    kept = order.source_changes_at
    assert kept is not None
    kept = kept.model_copy(update={"kept_by": "Shift foreman of the hall"})
    by = who_is_there(order.model_copy(update={"source_changes_at": kept}), within="110 m", short=True)
    assert by.endswith(
        "110 m: Shift foreman of the hall keeps that line and says so before the start, not the crew"
    )
    away = order.crew_times.model_copy(update={"transit_distance_m": 9.0})
    apart = who_is_there(order.model_copy(update={"crew_times": away}), within="110 m", short=True)
    assert f"{others}, and any extra sentry, 9 m away or more" in apart
    assert "nobody at Office" in told.text
    assert "; closed: Door" in told.text
    assert told.text.endswith("Office would get up to 100 µSv/h then, limit 7.5 µSv/h")
    assert change_condition(order, plan, "W-01") is None


def test_a_weld_after_the_change_asks_for_it_where_the_first_of_them_is_left_out() -> None:
    """W-02 and W-03 are of the source that is changed in before W-02; W-01 is of the one that goes out, W-04 of
    another. Where W-02 is left out W-03 has the change made, with its time and line (110 m, as above)."""
    order = placed()
    other = replace(job("W-04", "YB", "C"), crew_Sv=job("W-04", SE, "B").crew_Sv)
    plan = schedule(order, [*SWAP, job("W-03", IR, "A"), other])
    sources = {"W-01": SE, "W-02": IR, "W-03": IR, "W-04": "YB"}
    (change,) = plan.changes
    assert stand_on(plan, sources, change) == ["W-02", "W-03"]
    assert must_come_before(plan, sources, "W-01") == change
    assert must_come_before(plan, sources, "W-03") is None is must_come_before(plan, sources, "W-04")
    assert can_go_before(plan, sources, "W-02") == ["W-04"]
    told = after_change(order, plan, sources, "W-03")
    assert told is not None and told.short == CHANGE
    assert told.text == (
        f"if not done before W-02: now (10 min, nobody else within 110 m), in full on the sheet of "
        f"W-02: {change.words}"
    )
    for none in ("W-01", "W-02", "W-04"):
        assert after_change(order, plan, sources, none) is None, none
    assert after_change(order, None, sources, "W-03") is None


def test_until_when_a_weld_is_begun_leaves_time_for_what_must_follow_it_by_hand() -> None:
    """Each weld takes 820 s, the change 600 s: of 10 h W-04 is begun by 35 180 s, W-02 and W-03, the change first as
    whoever is left out has not made it, by 34 580 s; W-01, whose source the change takes away, has change, W-02 and
    W-03 behind it, the change once: 36 000 - 600 - 3 x 820.
    """
    order = placed()
    plan = schedule(order, [*SWAP, job("W-03", IR, "A"), job("W-04", "YB", "C")])
    sources = {"W-01": SE, "W-02": IR, "W-03": IR, "W-04": "YB"}
    takes = {d.name: d.value for d in plan.ends_with_reshoots.inputs} if plan.ends_with_reshoots else {}
    assert takes == {"W-01": 820.0, "W-02": 1420.0, "W-03": 820.0, "W-04": 820.0}
    found = begun_by_s(plan, sources, 36000.0)
    assert found == {"W-01": 32940.0, "W-02": 34580.0, "W-03": 34580.0, "W-04": 35180.0}
    assert begun_by_s(plan, sources, 100.0)["W-01"] == 0.0
    assert begun_by_s(None, sources, 36000.0) == {}
    # All after it kept, 3880 s in all: by hand from the end, at W-03 the change of W-02 again.
    in_turn = in_turn_s(plan, sources, 36000.0)
    assert in_turn == {"W-01": 32120.0, "W-02": 32940.0, "W-03": 33760.0, "W-04": 35180.0}
    assert in_turn_s(plan, sources, 100.0)["W-01"] == 0.0 and in_turn_s(None, sources, 36000.0) == {}
    assert [c.weld for c in changed_before(plan, sources, ["W-03", "W-04"])] == ["W-02"]
    assert changed_before(plan, sources, ["W-02", "W-03"]) == []  # W-02's own time holds it


def test_without_a_stated_place_a_change_is_counted_at_the_weld_that_it_comes_before() -> None:
    order = an_order()
    (change,) = schedule(order, SWAP).changes
    weld = order.weld("W-02")
    name, at = place_of(order, change)
    assert name.startswith("weld W-02")
    assert at == (*weld.at, weld.floor_level_m + weld.height_m)


def test_the_alarms_of_a_change_sound_for_the_seconds_that_a_source_is_bare() -> None:
    """By hand: 0.09 / 25 Sv/h = 3.6 mSv/h for 2 s, once for each source; beside both at rest 48 uSv/h for 600 s, where
    an alarm set to 5 uSv/h would sound all along and one set to 50 would not. No outside source."""
    order = an_order()
    first = order.instruments[0]
    alarms = tuple(
        first.model_copy(
            update={"id": n, "kind": "personal alarm", "range_Sv_s": None, "alarm_Sv_s": r * 1e-6 / H}
        )
        for n, r in (("LOW", 5.0), ("HIGH", 50.0))
    )
    order = order.model_copy(update={"instruments": alarms})
    plan = replace(safety_plan.plan(), schedule=schedule(order, SWAP))
    told = alarm_words.at_changes(plan, order, Show())
    assert "2 s each, twice, up to 3.6 mSv/h" in told and "Longer than 4 s: source stuck out" in told
    assert "beside head and changer wear HIGH: LOW would sound all along" in told and "min" not in told
    loud = order.model_copy(update={"instruments": (alarms[0].model_copy(update={"alarm_Sv_s": 0.01 / H}),)})
    assert alarm_words.at_changes(plan, loud, Show()) == ""


def test_a_floor_is_among_the_places_of_a_change_at_its_nearest_point() -> None:
    """(3, 0, 5) is 5 m from the bay at (0, 0, 1): 0.09 / 25 Sv/h bare; the change's own floor is left out. By hand."""
    limit = {"rate_Sv_s": 2.5e-6 / H, "basis": "x"}
    floors = [
        {
            "id": "f",
            "name": "First floor",
            "level_m": 4.0,
            "area": [[3.0, -9.0], [20.0, 9.0]],
            "limit": limit,
        },
        {"id": "g", "name": "Own floor", "level_m": 0.0},
        {"id": "u", "name": "Cellar", "level_m": -3.0},
    ]
    order = placed(floors=floors)
    plan = schedule(order, SWAP)
    found = {b.place: b for b in plan.beside_changes}
    assert found["First floor"].distance_m == pytest.approx(5.0)
    assert found["First floor"].bare_Sv_s == pytest.approx(0.09 / 25 / H) and found["First floor"].above
    assert found["Cellar"].distance_m == pytest.approx(3.0)  # straight below, 1 m above it
    assert found["Cellar"].limit_Sv_s == order.limits.barrier.rate_Sv_s
    assert "Own floor" not in found
    told = change_condition(order, plan, "W-02")
    assert told is not None and "nobody at Office, First floor, Cellar" in told.text
    assert told.text.endswith("First floor would get up to 3.6 mSv/h then, limit 2.5 µSv/h")


def test_a_floor_has_its_sums_of_the_shift() -> None:
    """Nothing from the welds: the change's own dose, by the floor's distance of 5 m, 12 / 25 uSv/h and 3.6 mSv/h."""
    floors = [{"id": "f", "name": "First floor", "level_m": 4.0, "area": [[3.0, -9.0], [20.0, 9.0]]}]
    order = placed(floors=floors)
    jobs = [replace(j, rates={"First floor": PlaceRate(0.0, 0.0, True)}) for j in SWAP]
    rows = {r.kind: r for r in schedule(order, jobs).places if r.place == "First floor"}
    assert rows["per shift"].upper == pytest.approx(12e-6 / 25 / H * 600 + 0.09 / 25 / H * 4)
    assert rows["instantaneous"].limit == order.limits.barrier.rate_Sv_s
    assert not [
        r for r in schedule(order, SWAP).places if r.place == "First floor"
    ]  # a weld without a figure there
