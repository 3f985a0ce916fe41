"""What the ring's figures tell of a rope's corners: inverse square law; from how far off points are read."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any, cast

import pytest
from test_stuck_source import ORDER, _walked

import safety_plan
from halflayer.order.models import Order
from halflayer.shielding.read_from import read_from_m
from halflayer.shielding.rope_planned import apart, by_ring, turn_of
from halflayer.shielding.rope_readings import screens
from halflayer.shielding.stuck_steps import retreat_m
from halflayer.shielding.way_from_source import way_Sv


def test_a_corner_has_the_rings_rate_of_its_direction_by_inverse_square() -> None:
    plan = safety_plan.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.safety and w.safety.contour and w.shielding)
    assert w.safety and w.safety.contour and w.shielding and w.chosen
    weld, rope = order.weld(w.weld), w.safety.contour
    assert by_ring(order, weld, w.chosen, w.shielding, None) == {}
    told = by_ring(order, weld, w.chosen, w.shielding, rope)
    ring = [p for p in w.shielding.points if p.name.startswith("barrier ")]
    checked = 0
    for corner in rope.points:
        own = next((p for p in ring if apart(turn_of(weld, p), corner.direction_rad) < 1e-3), None)
        if own is None or not corner.at_m or corner.behind or screens(order, weld, own, rope):
            continue
        times = (math.dist(own.at[:2], weld.at) / corner.at_m) ** 2
        assert told[corner.direction_rad] >= own.upper_Sv_s * min(times, 1.0) * (1.0 - 1e-9)
        checked += told[corner.direction_rad] == pytest.approx(own.upper_Sv_s * times, rel=1e-6)
    assert checked


def test_points_are_read_from_where_the_way_out_of_a_bare_source_keeps_to_the_limit() -> None:
    """The way out keeps an exposure's limit from there, by the certificate's upper value; 0.1 m nearer it fails."""
    site = ORDER.as_json()["site"] | {"retreat": "the lane", "retreat_at": (200.0, 0.0, 0.0)}
    order = _walked(site=site, source_changes_at=None)
    source, weld = order.sources[0], order.welds[0]
    candidate = cast(Any, SimpleNamespace(source=source.id))
    bare = 2e-5
    found = read_from_m(order, weld, candidate, bare)
    most, limit = order.limits.crew.per_exposure_Sv, order.limits.barrier.rate_Sv_s
    away = retreat_m(order, [weld])
    assert found is not None and most is not None and limit is not None and away is not None
    upper = bare * (1.0 + source.activity_uncertainty)
    doses = [way_Sv(order, upper, from_m=m, away_m=away, limit_Sv_s=limit) for m in (found, found - 0.1)]
    assert doses[0] is not None and doses[1] is not None and doses[0] <= most < doses[1]
    unnamed = cast(Any, SimpleNamespace(source="no such source"))
    assert read_from_m(order, weld, unnamed, bare) is None
