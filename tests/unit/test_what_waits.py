"""What a shift waits for: signatures in one row, welds counted by name, blanks that are open, who has no post.

Common practice, no source: whoever starts a shift reads what is missing in one place.
"""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

import safety_plan
from halflayer.base.result import Derived
from halflayer.conditions import SIGNED
from halflayer.exposure.result import FirstSurvey
from halflayer.order.limits import AccessRoute
from halflayer.order.models import Order
from halflayer.plan import Condition, Plan
from halflayer.sheet import (
    agreements_table,
    go,
    lost_reach,
    only_if,
    sentry_words,
    settled_first,
    standing_counts,
    store_spans,
    to_sign,
)
from halflayer.sheet.figures import Show
from halflayer.sheet.inspection import left_open, own_open
from halflayer.sheet.kit_list import unweighed
from halflayer.sheet.limit_matrix import limit_matrix
from halflayer.sheet.log_table import log_data
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import FloorDose
from halflayer.shift.at_rest import AtRest


@pytest.fixture(scope="module")
def plan() -> Plan:
    return safety_plan.plan()


SIZE = "source size d"
AGREED, ROPE = Condition(SIGNED, "x", "x"), Condition("rope accepted", "in writing", "x")


def _waiting(plan: Plan, monkeypatch: pytest.MonkeyPatch, *conditions: tuple[Condition, ...]) -> Plan:
    """The first ready welds with these conditions; the first of all has a source size to sign for too."""
    ready = [w for w in plan.welds if w.status == "ready"]
    ready += [replace(ready[0], weld=f"more {n}") for n in range(len(ready), len(conditions))]
    ready = ready[: len(conditions)]
    first = ready[0].weld
    for module in (to_sign, standing_counts):
        monkeypatch.setattr(module, "left_open", lambda _, w: [SIZE] if w.weld == first else [])
    welds = tuple(replace(w, conditions=c) for w, c in zip(ready, conditions, strict=True))
    return replace(plan, welds=welds)


def test_welds_are_counted_by_what_they_wait_for(plan: Plan, monkeypatch: pytest.MonkeyPatch) -> None:
    """A condition that is a signature makes no weld one that waits for more than signatures."""
    order = Order.from_json(plan.order)
    told = _waiting(plan, monkeypatch, (), (AGREED,), (AGREED, ROPE))
    a, b, c = (w.weld for w in told.welds)
    words = standing_counts.counted(told, order)
    assert words == f"3 wait: 2 for signatures alone ({a}, {b}), 1 for what is listed below ({c})"
    assert (
        standing_counts.counted(_waiting(plan, monkeypatch, ()), order)
        == f"1 waits for signatures alone ({a})"
    )
    monkeypatch.setattr(standing_counts, "left_open", lambda *_: [])
    assert standing_counts.counted(replace(told, welds=told.welds[:1]), order) in ("1 ready",)


def test_all_signatures_stand_in_one_row_of_the_list_and_one_of_page_1(
    plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    order = Order.from_json(plan.order)
    told = _waiting(plan, monkeypatch, (), (AGREED,))
    a, b = (w.weld for w in told.welds)
    rows = [{"welds": a, "short": "kit", "text": "x"}, {"welds": b, "short": SIGNED, "text": "y"}]
    kit, row = to_sign.in_one_row(told, order, rows)
    assert kit["short"] == "kit" and (row["short"], row["of"]) == (to_sign.NAME, "agreed")
    assert f"{SIZE}: {a}; agreement: {b}" in row["text"]
    assert to_sign.in_one_row(replace(told, welds=()), order, rows) == rows
    first = go.first_of_all(order, told.welds[0], Show())[0]
    assert first["what"] == "signed" and first["do"].startswith(f"{SIZE}: in the order's")
    whole = replace(told.welds[0], conditions=(ROPE, AGREED))
    names = [f["what"] for f in go.first_of_all(order, whole, Show())]
    assert names[:2] == ["rope accepted", "signed"] and SIGNED not in names


def test_blanks_of_list_and_card_are_among_what_is_open(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    lead = next(p.name for p in order.crew if p.role == "radiographer in charge")
    one = order.model_copy(update={"site": order.site.model_copy(update={"supervisor": lead})})
    assert "deputy, relief" in settled_first.blanks(plan, one, Show())
    other = order.model_copy(update={"site": order.site.model_copy(update={"supervisor": "somebody else"})})
    assert "deputy, relief" not in settled_first.blanks(plan, other, Show())
    crew = tuple(p.model_copy(update={"dose_this_year_Sv": None}) for p in order.crew)
    limits = order.limits.model_copy(
        update={"crew": order.limits.crew.model_copy(update={"per_year_Sv": 0.02})}
    )
    asked = order.model_copy(update={"crew": crew, "limits": limits})
    assert any(
        t.startswith(f"year so far of {len(crew)} person") for t in settled_first.blanks(plan, asked, Show())
    )


def test_page_1_names_everybody_with_a_post_who_watches_a_way_and_who_has_none(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    at: Any = ("13 m", "11 m", "0 m")  # as an order writes it
    stair = AccessRoute(id="s", name="Back stair", at=at, kind="stair", side="above")
    sentry = next(p for p in order.crew if p.role == "sentry")
    more = [sentry.model_copy(update={"id": f"p{n}", "name": f"A. {n}"}) for n in ("Post", "Watch", "Idle")]
    order = order.model_copy(
        update={
            "access": (*order.access, stair),
            "crew": (*(p for p in order.crew if p is not sentry), *more),
        }
    )
    w = next(w for w in plan.welds if w.status == "ready" and w.safety and w.safety.access)
    assert w.safety and w.safety.access
    floor = FloorDose(
        floor="Loft",
        side="above",
        at=(1.0, 1.0, 5.2),
        rate_Sv_s=1e-11,
        sigma_rel=0.5,
        upper_Sv_s=1e-10,
        where="x",
        limit_Sv_s=1e-9,
        ok=None,
        reliable=False,
        basis="x",
    )
    alone = replace(w.safety.access, sentries_needed=Derived("sentries", 1, ""), routes=(), posts=())
    told = sentry_words.post(
        replace(w, safety=replace(w.safety, floors=(floor,), access=alone)), Show(), order=order
    )
    assert told.startswith("Post, outside the rope")
    assert told.endswith("; Watch, Back stair until floor is read, then at the crank; Idle at the crank")


def test_a_first_survey_before_film_has_a_row_in_the_log_whatever_form_the_log_takes(plan: Plan) -> None:
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.status == "ready" and w.exposure and w.chosen)
    assert w.exposure
    for survey, rows in (
        (FirstSurvey(8, 100.0, 217.0), [["survey", "3 min 37 s"]]),
        (FirstSurvey(8, 100.0, 217.0, in_first=True), [["survey", "points left over"]]),
        (None, []),
    ):
        log = log_data(order, replace(w, exposure=replace(w.exposure, first_survey=survey)))
        assert log is not None and log["surveyed"] == rows
        assert log["exposed"][0][0] == "1"  # the exposures' own rows are never its


def test_persons_of_the_same_doses_share_a_row_and_places_never_do(plan: Plan) -> None:
    crew = next(w.safety.crew for w in plan.welds if w.safety and len(w.safety.crew) > 1)
    one = crew[0]
    names = ("A. One", "B. Two", "Gauge", "Store")
    checks = tuple(LimitCheck(n, "per shift", "this weld only", 1e-6, 1e-6, 6e-5, True) for n in names)
    persons = tuple(replace(one, name=n) for n in names[:2])
    rows = limit_matrix(checks, Show(), persons)["rows"]
    assert [r["place"] for r in rows] == ["A. One, B. Two", "Gauge", "Store"]


def test_what_no_one_has_signed_of_a_weld_is_the_same_wherever_it_is_told(plan: Plan) -> None:
    """Title strip, tick on page 1, the order's row: the figures and their edition wait at every weld; who is in the
    order's table of every weld as unsigned is so in the weld's own words."""
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.status == "ready")
    year = order.code_of(order.weld(w.weld)).rpartition(":")[2]
    common = f"m/r figures, edition {year}"
    assert left_open(order, w)[0] == common and own_open(order, w) == left_open(order, w)[1:]
    assert common in go.go(order, w, Show())["why"] and common in to_sign.on_page_1(order, w)
    assert "unsigned at the start: not shot" in to_sign.on_page_1(order, w)
    table = [r["text"] for r in agreements_table.accepted(plan, order)]
    assert any(t.startswith("m/r figures") for t in table) and any(f"edition {year}" in t for t in table)
    assert only_if.in_brief(replace(w, conditions=(ROPE, AGREED)), []) == ["rope accepted", "signed"]
    assert only_if.in_brief(replace(w, conditions=()), [common]) == ["signed"]
    assert left_open(order, replace(w, status="stopped")) == []


def test_what_is_not_weighed_is_named_for_somebody_to_carry() -> None:
    kit = [
        {"what": "rope, with what holds it up", "note": "", "mass": "not known", "pieces": "52 m"},
        {"what": "head", "note": "", "mass": "14 kg", "pieces": "1"},
        {"what": "survey meter, one each: reader", "note": "", "mass": "not known", "pieces": "5"},
        {"what": "IQI", "note": "of another shift", "mass": "not known", "pieces": "0"},
    ]
    assert unweighed(kit) == "rope"


def test_each_way_of_a_source_out_of_its_store_and_into_it_has_a_row(
    plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """By hand: A is at work for the first hour, B from then to the end of the third; each is out once, in once."""
    order = Order.from_json(plan.order)
    end = (order.shift.ends - order.shift.starts).total_seconds()
    rests = (
        AtRest("A", "H", "H", 3600.0, end),
        AtRest("B", "K", "K", 0.0, 3600.0),
        AtRest("B", "K", "K", 10800.0, end),
    )
    monkeypatch.setattr(store_spans.carrying, "rests", lambda *_: rests)
    found = store_spans.moves(plan, order)
    assert [(m["source"], m["way"]) for m in found] == [
        ("A", store_spans.OUT),
        ("A", store_spans.INTO),
        ("B", store_spans.OUT),
        ("B", store_spans.INTO),
        *[("", store_spans.AGAIN)] * 2,  # blank: another sequence, or one shot again
    ]
    assert found[0]["planned"].startswith("before ") and found[1]["planned"] == found[2]["planned"]


def test_the_owner_signs_for_an_instrument_that_a_missing_piece_takes_over_its_limit(
    plan: Plan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Inverse square from 1 Sv/s at 1 m: over any limit; people and film are not the owner's to isolate."""
    order = Order.from_json(plan.order)
    used = [w for w in plan.welds if w.status == "ready"][:1]
    monkeypatch.setattr(lost_reach, "worst", lambda *_: (1.0, None))
    monkeypatch.setattr(lost_reach, "over_limit", lambda *_: [])
    lost: Any = SimpleNamespace(lost=True, contour=None)
    told = lost_reach.instruments_over(order, [replace(used[0], safety=lost)], Show())
    own = [p for p in order.places if p.limit and p.limit.rate_Sv_s]
    for p in own:
        assert (p.name in told) is (p.kind not in ("people", "crew", "stored film"))
    assert "________" in told
    assert lost_reach.instruments_over(order, [replace(used[0], safety=None)], Show()) == ""
