"""The point that tells that a source is home falls plainly; a shielded live head may read less than the head closed.

By hand, the way of a survey is common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

import safety_plan
from halflayer.cautions import ALWAYS
from halflayer.conditions import HOME, conditions
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import home_witness
from halflayer.sheet.compose import compose
from halflayer.sheet.figures import Show
from halflayer.shielding import survey_points
from halflayer.shielding.home_points import untold
from halflayer.shielding.result import PointDose
from halflayer.shielding.survey_points import arrange, due
from plan_factory import USV_H


def planned(*rates: tuple[float, ...], reliable: bool = True) -> tuple[Order, WeldPlan]:
    """A weld with points of the ring at 8 m, without a rope: expected rates [uSv/h] of each exposure."""
    plan = safety_plan.plan()
    order = Order.from_json(plan.order).model_copy(update={"places": (), "obstacles": (), "floors": ()})
    w = next(w for w in plan.welds if w.shielding and w.safety and w.exposure)
    weld = order.weld(w.weld)
    assert w.shielding and w.safety and w.exposure
    points = tuple(
        PointDose(
            f"barrier {60 * n} deg, 8 m",
            (weld.at[0] + 8 * math.cos(n * math.pi / 3), weld.at[1] + 8 * math.sin(n * math.pi / 3), 1.0),
            max(by) * USV_H,
            0.1,
            1.2 * max(by) * USV_H,
            reliable,
            7.5 * USV_H,
            True,
            by_exposure_Sv_s=tuple(r * USV_H for r in by),
            turn_back_Sv_s=1.3 * max(by) * USV_H,
        )
        for n, by in enumerate(rates)
    )
    return order, replace(
        w,
        shielding=replace(w.shielding, points=points),
        safety=replace(w.safety, contour=None, floors=()),
        exposure=replace(w.exposure, first_survey=None),
    )


def least(w: WeldPlan, rate: float) -> float:
    """A rate less its errors, one-sided 95 %: noise 10 % of `planned` and the weld's budget (root of squares)."""
    assert w.shielding
    return rate * (1.0 - math.hypot(1.645 * 0.1, w.shielding.k))


def out(w: WeldPlan, rate: float) -> str:
    return f"out: at least {Show().floor(least(w, rate) * USV_H, 'equivalent_rate', digits=2)}"


def test_one_point_tells_for_all_exposures_where_its_least_is_plain() -> None:
    """Of 5 and 0.2, 2 and 1.5, 1 and 1 the second falls plainly after either: 1.5 is over 3 x 0.2, least of both."""
    order, w = planned((5.0, 0.2), (2.0, 1.5), (1.0, 1.0))
    (found,) = home_witness.witnesses(order, w)
    assert found.number == 2 and found.exposures == (1, 2) and found.live is not None
    assert float(found.live.value or 0.0) / USV_H == pytest.approx(least(w, 1.5))
    told = home_witness.words(order, w, Show())
    assert told == f"first point 2 ({out(w, 1.5)}) to background, in from there"
    told_too = home_witness.witness_figures(
        order, w
    )  # the third tells as well, read by whoever opens figures
    assert found.live in told_too and len(told_too) == 2


def test_the_point_soonest_reached_and_no_nearer_to_the_weld_than_a_bare_source_allows(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """At 1 m/s and 20 s: of 3 m and 18 m the nearer, of 40 m and 28 m too, with its way told."""
    order, w = planned((5.0, 4.0), (2.0, 1.5))
    assert w.shielding is not None
    names = [p.name for p in w.shielding.points]
    times = order.crew_times.model_copy(update={"walk_s": 20.0, "survey_speed_m_s": 1.0})
    order = order.model_copy(update={"crew_times": times})
    for far, number, way in (((18.0, 3.0), 2, ""), ((40.0, 28.0), 2, "; 28 m round from the crank, 28 s")):
        ways = dict(zip(names, far, strict=True))
        monkeypatch.setattr(home_witness, "way_m", lambda _o, _w, name, ways=ways: ways[name])
        (found,) = home_witness.witnesses(order, w)
        assert found.number == number
        assert f"{way})" in home_witness.words(order, w, Show())
    # Both lie 8 m off: where the first lay nearer than who reads it may stand, the second tells, however far round.
    ways = dict(zip(names, (3.0, 18.0), strict=True))
    monkeypatch.setattr(home_witness, "way_m", lambda _o, _w, name: ways[name])
    near = replace(
        w.shielding.points[0], at=order.weld(w.weld).at[:1] + (order.weld(w.weld).at[1] + 2.0, 1.0)
    )
    close = replace(w, shielding=replace(w.shielding, points=(near, w.shielding.points[1])))
    (told,), (kept,) = home_witness.witnesses(order, close), home_witness.witnesses(order, close, 3.1)
    assert told.live and kept.live and told.live.name.endswith(names[0]) and kept.live.name.endswith(names[1])


def test_each_exposure_has_its_own_where_none_is_plain_in_all() -> None:
    """5 and 0.2, 0.3 and 2: point 1 for exposure 1, point 2 for exposure 2; with 0.5 the second has none (0.6)."""
    order, w = planned((5.0, 0.2), (0.3, 2.0))
    assert home_witness.words(order, w, Show()) == (
        f"first point 1 (exposure 1, {out(w, 5.0)}), 2 (exposure 2, {out(w, 2.0)}) to background, in from there"
    )
    order, w = planned((5.0, 0.2), (0.3, 0.5))
    told = home_witness.words(order, w, Show())
    assert told.startswith(f"first point 1 (exposure 1, {out(w, 5.0)}) to background")
    assert told.endswith("(exposure 2: none tells: not exposed until the adviser has settled what does)")


def ring(order: Order, *rates: tuple[float, ...]) -> list[PointDose]:
    """Points all round at 8 m, the first the most pressing, none not known reliably."""
    _, w = planned(*rates)
    assert w.shielding
    turn = 2 * math.pi / len(rates)
    at = order.weld(w.weld).at
    return [
        replace(
            p,
            name=f"barrier {math.degrees(turn * n):g} deg, 8 m",
            at=(at[0] + 8 * math.cos(turn * n), at[1] + 8 * math.sin(turn * n), 1.0),
        )
        for n, p in enumerate(w.shielding.points)
    ]


def test_a_direction_that_alone_tells_has_a_number_and_is_read_first(monkeypatch: pytest.MonkeyPatch) -> None:
    """24 directions, six rows; of the two exposures none of those with the highest rates tells the second. The one of
    1.4 and 0.9 tells both (0.6 and more) and stands in place of the least pressing."""
    monkeypatch.setattr(survey_points, "FRONT_ROWS", 6)
    order, w = planned((1.0,))
    high = [(5.0 - n / 10, 0.1) for n in range(24)]
    high[5] = (1.4, 0.9)
    points = tuple(ring(order, *high))
    assert w.shielding
    arranged = arrange(order, order.weld(w.weld), replace(w.shielding, points=points))
    told = points[5].name
    assert arranged.home == {told} and told in [p.name for _, p in arranged.read]
    assert len(arranged.front) == 6 and points[0] in arranged.front and points[15] not in arranged.front
    assert told in due(order.weld(w.weld), arranged, None)
    assert untold(order, order.weld(w.weld), points, None) == ()
    # Without it the second exposure has none, and the weld waits.
    less = tuple(p for p in points if p.name != told)
    assert untold(order, order.weld(w.weld), less, None) == (2,)
    silent = replace(w, shielding=replace(w.shielding, points=less))
    (held,) = (c for c in conditions(order, silent) if c.short == HOME)
    assert held.in_brief.startswith("exposure 2: no point of the rope tells")


def test_where_no_point_is_plain_or_known_the_line_says_so() -> None:
    for rates, reliable in (((0.5, 0.4), True), ((5.0, 5.0), False)):
        order, w = planned(rates, reliable=reliable)
        assert home_witness.words(order, w, Show()).startswith("of the points none tells")
    order, w = planned((5.0,))
    assert home_witness.words(order, replace(w, shielding=None), Show()) == ""


def test_the_general_cautions_stay_on_page_1() -> None:
    """However many a weld has: what to do at a turn-back reading is not told on the next page."""
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.status != "stopped" and w.chosen)
    many = tuple(
        f"a caution of this weld alone, number {n}, in so many words that it takes a line" for n in range(30)
    )
    full = replace(plan, welds=(replace(w, cautions=(*ALWAYS[:1], *many, *ALWAYS[1:])),))
    data = next(s for s in compose(full) if s.kind == "weld").data
    assert data["cautions"][:3] == list(ALWAYS) and data["back"]["cautions"]
