"""Where sources lie while they are not at work, by hand; who has which meter. Common practice, no source."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any, cast

import pytest

import safety_plan
from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet import at_a_glance, bodies, contingency, gather, settled_first, stand_off, store_spans
from halflayer.sheet.at_a_glance import _instead
from halflayer.sheet.figures import Show
from halflayer.shielding.meter_holders import holders
from halflayer.shift.at_rest import AtRest, Held, at_rest, beside_store, carried_Sv, rate_beside_Sv_s
from halflayer.shift.result import CLEARING, ShiftPlan, Slot, SourceChange

HELD = {
    "A": Held("S1", "H1", "H1"),
    "B": Held("S2", "H2", "H2"),
    "C": Held("S2", "H1", "H1"),
}
CHANGE = SourceChange("C", "S2", "H1", "S1", "XC", 600.0, moved=(("S2", 2), ("S1", 1)), clearing_s=900.0)
SLOTS = (
    Slot(1, "A", "set-up", None, 0.0, 1000.0),
    Slot(1, "A", "exposure", 1, 1000.0, 2000.0),
    Slot(1, "B", "set-up", None, 2000.0, 3000.0),
    Slot(1, "C", CLEARING, None, 3000.0, 3900.0),
    Slot(1, "C", "source change", None, 3900.0, 4500.0),
    Slot(1, "C", "exposure", 1, 4500.0, 6000.0),
)
END_S = 10000.0


def shift(*changes: SourceChange) -> ShiftPlan:
    return ShiftPlan(1, SLOTS, Derived("ends", 6000.0, "s"), True, (), (), (), changes=changes)


def test_every_source_has_a_place_for_each_stretch_in_which_it_is_not_at_work() -> None:
    """S1 in H1 is idle from A's end to the clearing and lies in the changer after it; S2 from the start to B, and at
    the end in H1. No second of the shift is without one."""
    found = [(r.source, r.device, r.start_s, r.end_s) for r in at_rest(shift(CHANGE), HELD, END_S)]
    assert found == [
        ("S1", "H1", 2000.0, 3000.0),
        ("S1", "XC", 4500.0, END_S),
        ("S2", "H2", 0.0, 2000.0),
        ("S2", "H1", 6000.0, END_S),
    ]


def test_a_source_that_comes_in_the_changer_lies_in_it_until_the_change() -> None:
    came = replace(CHANGE, moved=(("S2", 1), ("S1", 1)))
    found = at_rest(shift(came), {w: h for w, h in HELD.items() if w != "B"}, END_S)
    assert ("S2", "XC", 0.0, 3000.0) in [(r.source, r.device, r.start_s, r.end_s) for r in found]


def test_the_dose_beside_the_store_adds_what_lies_there_together(example: Order) -> None:
    """Two sources, 1 h and 2 h, the second hour together: rates by inverse square from readings, added by hand."""
    rests = (AtRest("SE-2", "XC-1", "XC-1", 0.0, 7200.0), AtRest("YB-1", "HY-1", "HY-1", 3600.0, 7200.0))
    places = beside_store(example, rests)
    assert places and [p.place for p in places] == [p.name for p in example.places if p.kind == "people"]
    for p in places:
        at = next(o.at for o in example.places if o.name == p.place)
        away = sum((a - b) ** 2 for a, b in zip(at, example.site.source_store_at or (), strict=True)) ** 0.5
        one, two = (rate_beside_Sv_s(example, r, away) for r in rests)
        assert one and two and p.rate_Sv_s == pytest.approx(one + two)
        assert p.dose_Sv == pytest.approx(7200.0 * one + 3600.0 * two)
    near = rate_beside_Sv_s(example, rests[0], example.crew_times.moving_distance_m)
    assert near and carried_Sv(example, rests[0]) == pytest.approx(
        near * (example.crew_times.moving_s or 0.0)
    )
    unplaced = example.model_copy(update={"site": example.site.model_copy(update={"source_store_at": None})})
    assert beside_store(unplaced, rests) is None


def test_the_line_says_where_each_lies_or_that_its_dose_is_not_computed() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    told = store_spans.words(plan, order, Show())
    assert all(w.chosen.source in told for w in in_shift(plan) if w.chosen)
    assert "not computed" in told and "source_store_at" in told
    assert store_spans.words(replace(plan, schedule=None), order, Show()) == ""


def test_the_nearest_post_to_the_store_has_the_sum_of_what_may_lie_there(example: Order) -> None:
    """Posts 2.0 m and 5.0 m off the store: both sources at the nearer one, each as it reads most, added by hand."""
    at = example.site.source_store_at
    assert at
    posts = ((at[0] + 2.0, at[1]), (at[0], at[1] + 5.0))
    weld = SimpleNamespace(weld="W1", safety=SimpleNamespace(access=SimpleNamespace(posts=posts)))
    other = SimpleNamespace(weld="W9", safety=SimpleNamespace(access=SimpleNamespace(posts=(at[:2],))))
    plan = SimpleNamespace(welds=(weld, other), schedule=SimpleNamespace(slots=(SimpleNamespace(weld="W1"),)))
    rests = (AtRest("SE-2", "XC-1", "XC-1", 0.0, 7200.0), AtRest("YB-1", "HY-1", "HY-1", 3600.0, 7200.0))
    both = sum(rate_beside_Sv_s(example, r, 2.0) or 0.0 for r in rests)
    told = store_spans._posts(plan, example, rests, Show())  # type: ignore[arg-type]
    rate = Show().up(both, "equivalent_rate", digits=2)
    assert told == f" At the nearest post, 2 m off (W1), at most {rate}, in no sum."


def test_the_meter_that_overloads_last_is_the_reader_s_and_the_other_the_rope_s(example: Order) -> None:
    """SM-1 reads up to 10 mSv/h, SM-2 up to 100 mSv/h; the radiographer reads while who leads is free to."""
    h = holders(example)
    assert (h.own, h.others, h.reader) == ("SM-2", ("SM-1", "SM-3", "SM-4", "SM-5"), "Tomas Fennimore")
    assert (h.at_rope, h.crank) == ("a sentry", "Ada Brackwater")
    none = example.model_copy(update={"instruments": ()})
    assert holders(none).own == ""
    two = example.model_copy(update={"crew": example.crew[:2]})
    assert holders(two).at_rope == "Ada Brackwater"
    alone = example.model_copy(update={"crew": example.crew[:1]})
    assert holders(alone).reader == "Ada Brackwater" and holders(alone).at_rope == "" == holders(alone).crank


def test_with_a_source_out_everybody_has_one_place_and_one_meter(example: Order) -> None:
    """Common practice, no source: nobody waits at a way in that a bare source passes the limit at, by inverse square:
    0.01 Sv/h at 1 m, 6 m off the door 280 uSv/h. One of 0.0001 Sv/h reads 2.8 there, and a sentry with a meter does."""
    w1 = next(w for w in example.welds if w.id == "W1")
    near = math.dist(w1.at, example.access[0].at[:2])

    def of(at_1m_Sv_h: float) -> Plan:
        told = "Second try: 20 s" if at_1m_Sv_h < 0.01 else "No second try by the crew"
        card = SimpleNamespace(source="SE-2", at_1m=SimpleNamespace(value=at_1m_Sv_h / 3600.0), steps=(told,))
        shot = SimpleNamespace(weld="W1", chosen=SimpleNamespace(source="SE-2"), status="ready", safety=None)
        return cast(Plan, SimpleNamespace(welds=(shot,), schedule=None, stuck=(card,)))

    nobody = of(0.01)
    found = {r["who"]: (r["to"], r["meter"]) for r in gather.rows(nobody, example, Show())}
    assert found["Ines Holloway-Moor"] == ("the retreat, by “Ways out”, its arrow on the rope sketch", "SM-3")
    left = next(to for who, (to, _) in found.items() if "gatehouse" in who)
    assert left.startswith(
        "by telephone, has these left and kept shut from beyond: Door to the control room (bare up to "
    )
    assert "Nobody without a meter nearer than" in left
    assert "Stair to the first floor (" in left and "Gate" not in left  # the gate is locked
    assert gather.bare_at_Sv_s(nobody, example, example.access[0]) == pytest.approx(0.01 / 3600 / near**2)
    nobody = of(0.0001)
    found = {r["who"]: (r["to"], r["meter"]) for r in gather.rows(nobody, example, Show())}
    assert found["Ada Brackwater"] == ("the retreat, by “Ways out”, its arrow on the rope sketch", "SM-1")
    back, meter = found["Tomas Fennimore"]
    assert (
        back == "the retreat, by “Ways out”, its arrow on the rope sketch; second try: step 5"
        and meter == "SM-2"
    )
    watched, meter = found["Ines Holloway-Moor"]
    assert (watched, meter) == ("Door to the control room, on its far side", "SM-3")
    assert found["Rafe Oakshott-Lunn"] == ("Stair to the first floor, on its far side", "SM-4")
    alone = example.model_copy(update={"crew": example.crew[:3]})
    found = {r["who"]: (r["to"], r["meter"]) for r in gather.rows(nobody, alone, Show())}
    left = next(to for who, (to, _) in found.items() if "gatehouse" in who)
    assert left.startswith(
        "by telephone, has these left and kept shut from beyond: Stair to the first floor (bare"
    )
    none = example.model_copy(update={"instruments": ()})
    crew = {p.name for p in example.crew}
    assert all(
        r["to"] == "the retreat, by “Ways out”, its arrow on the rope sketch" and r["meter"] == "none"
        for r in gather.rows(nobody, none, Show())
        if r["who"] in crew
    )
    # Where all withdraw nobody is sent on to the retreat once more.
    far, near = (gather.rows(of(rate), example, Show()) for rate in (0.01, 0.0001))
    assert "Who has no meter" not in gather.rule(example, Show(), far)
    assert "Who has no meter" in gather.rule(example, Show(), near)


def test_a_level_is_held_while_its_gauge_is_isolated(example: Order) -> None:
    gauge = next(p.name for p in example.places if p.kind == "level gauge")
    told = bodies._held(example, [gauge])
    assert gauge in told and "valves" in told and "the plant says how and signs" in told
    assert bodies._held(example, ["Smoke detector SD-4"]) == ""


def test_only_what_a_weld_has_may_be_lost() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.shielding and w.chosen)
    assert w.shielding and w.chosen
    bare = replace(w.shielding, fitting=replace(w.shielding.fitting, plates=0, layers=0))
    laid = replace(w.shielding, fitting=replace(w.shielding.fitting, plates=1, layers=1))
    without, with_it = (replace(w, weld=n, shielding=s) for n, s in (("N", bare), ("P", laid)))
    alone = contingency.likeliest(order, [without])
    assert "plate" not in alone and "blanket" not in alone and "the head turned" in alone
    both = contingency.likeliest(order, [without, with_it])
    assert "a plate left out (P)" in both and "a blanket slipped (P)" in both and "the head turned;" in both
    assert "Lost shielding" not in contingency.likeliest(order, [])


def test_a_weld_that_waits_for_nothing_goes_in_where_another_is_not_cleared(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Not one whose source a change moves: going first it would want the change first; nor one that waits for a
    signature."""
    monkeypatch.setattr(at_a_glance, "own_open", lambda *_: [])
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    names = [w.weld for w in in_shift(plan)]
    same = order.weld(names[0]).model_copy(update={"id": "F"})
    order = order.model_copy(update={"welds": (*order.welds, same)})
    open_, free = in_shift(plan)[0], replace(in_shift(plan)[0], weld="F", conditions=())
    open_ = replace(open_, conditions=(SimpleNamespace(short="x"),))  # type: ignore[arg-type]
    made = replace(plan, welds=(open_, free))
    assert "the next settled one goes first (F waits for nothing of its own)" in _instead(
        made, order, [*names, "F"]
    )
    assert _instead(replace(plan, welds=(free,)), order, ["F"]) == ""
    assert made.schedule and free.chosen
    monkeypatch.setattr(at_a_glance, "own_open", lambda *_: ["source size d"])
    assert "(F waits" not in _instead(made, order, [*names, "F"])
    monkeypatch.setattr(at_a_glance, "own_open", lambda *_: [])
    change = SourceChange("F", free.chosen.source, "H", "", "XC", 600.0, moved=((free.chosen.source, 1),))
    moved = replace(made, schedule=replace(made.schedule, changes=(change,)))
    told = _instead(moved, order, [*names, "F"])
    assert "settled one, its source loaded, goes first; it follows" in told and "F" not in told


def test_a_sentry_s_way_out_is_reckoned_from_the_nearest_post(example: Order) -> None:
    """Posts 5 m and 3 m off; without posts the rope's nearest corner, 2 m: 0.0768 Sv/h at 1 m brings from there more
    than an exposure's 20 uSv, and the rule says from where it does not (by hand in test_stuck_source.py)."""
    at = example.weld("W1").at

    def shot(*away_m: float) -> SimpleNamespace:
        posts = tuple((at[0] + d, at[1]) for d in away_m)
        line = SimpleNamespace(
            points=(SimpleNamespace(at_m=2.0), SimpleNamespace(at_m=4.0)), read_from_m=None
        )
        safety = SimpleNamespace(access=SimpleNamespace(posts=posts), contour=line)
        return SimpleNamespace(
            weld="W1", chosen=SimpleNamespace(source="SE-2"), status="ready", safety=safety
        )

    assert stand_off.nearest_post(example, cast(Any, shot(5.0, 3.0))) == (pytest.approx(3.0), "W1")
    assert stand_off.nearest_post(example, cast(Any, shot())) == (2.0, "W1")
    card = SimpleNamespace(source="SE-2", at_1m=SimpleNamespace(value=0.0768 / 3600.0))
    plan = cast(Plan, SimpleNamespace(welds=(shot(),), schedule=None, stuck=(card,)))
    told = stand_off.note(plan, example, Show())
    (own,) = stand_off.stand_offs(plan, example)
    assert own.over and own.keep_m is not None
    keep = Show().paced(own.keep_m)
    assert told.startswith("Who reads nearer than a sentry may stand leaves after the reading: ")
    assert "from 2 m (W1) brings " in told
    # No word of where to stand at work in the card of a source that is out.
    assert gather.rule(example, Show(), []) == ""
    assert told.endswith(", over 20 µSv.")
    # Page 1 of the weld and the table of ropes say the same figure; a post that stands beyond it needs no word.
    here = cast(Any, shot())
    assert stand_off.words(plan, example, here, Show()) == f"not nearer than {keep} to the source"
    assert stand_off.words(plan, example, cast(Any, shot(own.keep_m + 0.1)), Show()) == ""


def test_the_years_that_the_order_does_not_state_are_asked_for(example: Order) -> None:
    asked = settled_first.year(example)
    assert all((p.name in asked) is (p.dose_this_year_Sv is None) for p in example.crew)
