"""Stored film inside a weld's rope is told on page 1 with its dose: kept where its limit holds, else moved."""

from __future__ import annotations

from dataclasses import replace

import pytest

import plan_factory as pf
from halflayer.base.result import Derived
from halflayer.conditions import FILM, conditions
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import film_inside, go, only_if
from halflayer.sheet.figures import Show
from halflayer.shielding.barrier import directions_rad
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import Access, Contour, RopePoint, Safety


def roped(rope_m: float, ok: bool | None = True, *, limited: bool = True) -> tuple[Order, WeldPlan]:
    """W-03 with a round rope and a film store 8 m off the weld, in plan by hand."""
    plan = pf.plan()
    base = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.weld == "W-03")
    x, y = base.weld("W-03").at
    spots = [
        {"id": "s", "name": "Store", "kind": "stored film", "at": [x - 8.0, y, 1.0]},
        {"id": "o", "name": "Office", "kind": "people", "at": [x, y + 20.0, 1.0]},
    ]
    order = Order.from_json(base.as_json() | {"places": spots})
    corners = tuple(RopePoint(a, rope_m, rope_m, None) for a in directions_rad())
    line = Contour(1.0, "", corners, True, Derived("rope", 60.0, "m"), (), ())
    access = Access((), Derived("sentries_needed", 0, "people"), 0, ())
    check = LimitCheck("Store", "per shift", "x", 1e-6, 2.61e-6, 20e-6, ok)
    assert w.shielding
    shield = replace(w.shielding, points=(), limits=(check,) if limited else ())
    return order, replace(w, shielding=shield, safety=Safety((), (), line, access=access))


def test_film_in_the_rope_may_stay_where_its_limit_holds() -> None:
    order, w = roped(10.0)
    told = film_inside.words(order, w, Show())
    assert told == (
        "Store may stay (at this weld up to 2.7 µSv of 20 µSv per shift: holds); nobody fetches film while the source "
        "is out"
    )
    (row,) = (r for r in go.first_of_all(order, w, Show()) if r["what"] == film_inside.NAME)
    assert row["do"] == told
    assert FILM not in {c.short for c in conditions(order, w)}


@pytest.mark.parametrize(("ok", "limited"), [(None, True), (False, True), (True, False)])
def test_film_whose_limit_is_not_known_to_hold_is_moved_before_the_weld_starts(
    ok: bool | None, limited: bool
) -> None:
    order, w = roped(10.0, ok, limited=limited)
    (moved,) = (c for c in conditions(order, w) if c.short == FILM)
    assert moved.text.startswith("Store: film moved beyond the rope before (")
    assert ("up to 2.7 µSv of 20 µSv per shift" in moved.text) == limited
    # One phrase for a dose that does not vouch for its limit: that of the table and the list of words.
    assert ("not said to hold" in moved.text) == (ok is None) and ("breaks it" in moved.text) == (ok is False)
    assert "not known to hold" not in moved.text
    assert film_inside.words(order, w, Show()) == ""  # said once, by the condition
    held = replace(w, conditions=(moved,))
    assert FILM in only_if.in_short(held)
    assert [r["what"] for r in go.first_of_all(order, held, Show())].count(FILM) == 1


def test_film_is_moved_to_where_the_rope_s_rate_keeps_its_limit() -> None:
    """7.5 uSv/h for an exposure at the rope, 10 m: under 20 uSv it may lie there; at a hundredth of that dose ten times
    as far, 100 m, by inverse square."""
    order, w = roped(10.0, None)
    assert w.exposure and w.shielding and order.limits.barrier.rate_Sv_s
    seconds = sum(float(s.seconds.value or 0.0) for s in w.exposure.shots) * (
        w.budget.factor if w.budget else 1.0
    )
    at_rope = order.limits.barrier.rate_Sv_s * seconds
    (check,) = w.shielding.limits
    for limit, words in (
        (2.0 * at_rope, "beyond the rope before"),
        (at_rope / 100, "to 100 m or more from the weld"),
    ):
        made = replace(w, shielding=replace(w.shielding, limits=(replace(check, limit_Sv=limit),)))
        (moved,) = (c for c in conditions(order, made) if c.short == FILM)
        assert words in moved.text and ("holds)" in moved.text) == (limit > at_rope)


def test_film_outside_the_rope_is_not_told() -> None:
    order, w = roped(7.5)
    assert film_inside.words(order, w, Show()) == ""
    assert film_inside.NAME not in {r["what"] for r in go.first_of_all(order, w, Show())}
