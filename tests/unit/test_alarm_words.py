"""Alarms that sound as planned are told with their time: by hand from made-up orders, no outside source."""

from __future__ import annotations

from dataclasses import replace

import pytest

import safety_plan
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.sheet import alarm_posts, alarm_words, before_tools, further_people
from halflayer.sheet.alarm_words import at_weld, lowest_Sv_s
from halflayer.sheet.figures import Show
from halflayer.sheet.plain_words import plain_words
from halflayer.shielding.safety_result import CrewStep

H = 3600.0


def an_order(**alarms: float) -> Order:
    """The made-up order with personal alarms that sound at so many Sv/h."""
    order = Order.from_json(safety_plan.plan().order)
    first = order.instruments[0]
    own = [
        first.model_copy(update={"id": name, "kind": "personal alarm", "alarm_Sv_s": rate / H})
        for name, rate in alarms.items()
    ]
    return order.model_copy(update={"instruments": tuple(own)})


def test_each_set_point_is_for_somebody_and_a_sentry_without_one_is_told() -> None:
    """At 7.5 uSv/h a meter of the made-up order turns back: 5 is a sentry's, 50 is silent at the rope, by hand."""
    plan = safety_plan.plan()
    order = an_order(LOW=5e-6, HIGH=50e-6)
    most = least_reading_Sv_s(order, order.limits.barrier.rate_Sv_s or 0.0) * H
    assert 5e-6 < most < 50e-6
    sentry = order.crew[0].model_copy(update={"id": "S", "role": "sentry"})
    one = order.model_copy(update={"crew": (order.crew[0], sentry)})
    low, high, *_ = alarm_posts.rows(one, plan, Show())
    assert [low[k] for k in ("who", "alarm", "at")] == ["sentry at the rope", "LOW", "5 µSv/h"]
    # Nothing is known of these heads: one set point for the whole shift, which says what it is for.
    assert [high[k] for k in ("who", "alarm", "at")] == ["crank, reader", "HIGH", "50 µSv/h"]
    assert (
        high["means"]
        == "a bare source; at the rope the meter tells; set by each wearer before the start and kept"
    )
    lacking = further_people.missing(plan)
    two = one.model_copy(update={"crew": (*one.crew, sentry)})
    last = alarm_posts.rows(two, plan, Show())[-1]
    assert last["who"].startswith(f"{lacking + 1} sentr") and last["at"].endswith(" or less")
    assert (lowest_Sv_s(order) or 0.0) * H == 5e-6


@pytest.mark.parametrize(
    ("expected", "says"), [(4.5e-6, "may sound in normal work"), (1e-6, "silent in normal work")]
)
def test_an_alarm_near_the_planned_reading_may_sound_in_normal_work(
    expected: float, says: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Planned up to 4.5 uSv/h, an alarm at 5 sounds where the meter is a fifth high; at 1 it does not."""
    monkeypatch.setattr(alarm_posts, "expected_Sv_s", lambda *_: expected / H)
    assert says in alarm_posts.rows(an_order(LOW=5e-6), safety_plan.plan(), Show())[0]["means"]


def test_each_alarm_has_its_own_sentence_and_a_closed_head_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """What to do at a dose alarm is not what to do at a rate alarm; the closed head, by its reading, sounds one too."""
    monkeypatch.setattr(alarm_posts, "expected_Sv_s", lambda *_: 4.5e-6 / H)
    monkeypatch.setattr(alarm_posts, "stored_rate_Sv_s", lambda *_: 7.2e-6 / H)
    plan, order = safety_plan.plan(), an_order(LOW=5e-6)
    crew = order.limits.crew.model_copy(update={"per_shift_Sv": 60e-6})
    order = order.model_copy(update={"limits": order.limits.model_copy(update={"crew": crew})})
    assert "at a closed head 7.2 µSv/h: may sound" in alarm_posts.rows(order, plan, Show())[0]["means"]
    told = before_tools.of_alarms(plan, order, [], Show())
    back = Show().floor(
        least_reading_Sv_s(order, order.limits.barrier.rate_Sv_s or 0.0), "equivalent_rate", digits=2
    )
    assert "Dose alarm sounds: outside, source home" in told
    assert f"Rate alarm sounds: read the meter; source out, {back} or above: source home." in told


def test_who_holds_the_meters_and_which_post_is_without() -> None:
    """Three meters, the head, the crank and one sentry: enough; two sentries: one post without, where both are."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    meter = order.instruments[0].model_copy(update={"kind": "survey meter"})
    dated = meter.model_copy(update={"calibrated_until": order.shift.ends})
    two = order.model_copy(
        update={"instruments": tuple(dated.model_copy(update={"id": n}) for n in ("A", "B", "C"))}
    )
    w = next(w for w in plan.welds if w.safety and w.safety.access)
    assert w.safety and w.safety.access

    def told(sentries: int) -> str:
        needed = replace(w.safety.access.sentries_needed, value=float(sentries))
        access = replace(w.safety.access, sentries_needed=needed)
        one = replace(w, safety=replace(w.safety, access=access))
        return alarm_posts.meters(two, replace(plan, welds=(one,), schedule=None), Show())

    reader = next(p for p in order.crew if p.role == "radiographer")
    leads = next(p for p in order.crew if p.role == "radiographer in charge")
    assert told(1) == (
        f" A with {reader.name}: points, readings before exposures, in to the head; B with {leads.name} at the crank; "
        "C with a sentry at the rope."
    )
    assert f"1 post without ({w.weld}): bring 1 meter, or do not start there" in told(2)
    assert alarm_posts.meters_short(two, plan)[1] == 3
    only = two.model_copy(update={"instruments": two.instruments[:1]})
    assert f"none for {leads.name} at the crank" in alarm_posts.meters(only, plan, Show())
    assert alarm_posts.meters(order.model_copy(update={"instruments": ()}), plan, Show()) == ""


def test_no_alarm_is_expected_where_the_source_stays_in_its_head() -> None:
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.chosen and w.chosen.guide is None and w.chosen.arrangement != "bore")
    assert at_weld(an_order(LOW=1e-9), replace(w), Show()) == ""


def test_the_rate_at_which_alarms_sound_is_told_with_its_distance(monkeypatch: pytest.MonkeyPatch) -> None:
    """A rate of the bare source holds at one distance: who stands at a gate nearer to its way hears more (by hand)."""
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.chosen and w.safety and w.safety.crew)
    assert w.safety
    monkeypatch.setattr(alarm_words, "travels", lambda *_: True)
    way = CrewStep(alarm_words.ON_ITS_WAY, 6.0, 2, 290e-6 / H, 8.0, 1e-6, "x")
    for step, words in (
        (way, "(up to 290 µSv/h at 8 m, nearer more)"),
        (replace(way, distance_m=None), "290 µSv/h);"),
    ):
        people = (replace(w.safety.crew[0], steps=(step,)),)
        moved = replace(w, safety=replace(w.safety, crew=people))
        assert words in at_weld(an_order(LOW=5e-6), moved, Show())


def test_each_word_is_explained_once() -> None:
    words = [r["word"] for r in plain_words()]
    assert len(words) == len(set(words)) and {"look", "in noise", "QR code"} <= set(words)
