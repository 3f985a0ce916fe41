"""Spots off the site sketch and ways in by weld: by hand from made-up orders, no outside source."""

from __future__ import annotations

from dataclasses import replace

import pytest

import safety_plan
from halflayer.order.models import Order
from halflayer.plan import in_shift
from halflayer.sheet import way_out
from halflayer.sheet.figures import Show
from halflayer.sheet.source_rows import source_rows
from halflayer.sheet.svg import Canvas
from halflayer.sheet.ways_in import route_rows

PLAN = safety_plan.plan()
ORDER = Order.from_json(PLAN.order)


def with_site(**more: object) -> Order:
    return ORDER.model_copy(update={"site": ORDER.site.model_copy(update=more)})


def test_a_spot_far_off_is_an_arrow_with_its_distance_cut() -> None:
    """300 m east of the first weld and 199.9 m north of it: no spot is nearer than is told (by hand)."""
    x, y = ORDER.welds[0].at
    only = with_site(retreat_at=(x, y + 199.9, 0.0), muster_point_at=(x + 5.0, y, 0.0)).model_copy(
        update={"welds": ORDER.welds[:1], "films_read": None}
    )
    assert way_out.far(only, Show()) == [("retreat 199 m", (x, y + 199.9))]
    assert ("muster point", (x + 5.0, y)) in way_out.near(only)
    canvas = Canvas(100.0, 50.0)
    ((words, at),) = way_out.arrows(
        canvas, only, Show(), lambda sx, sy: (50.0 + sx - x, 25.0 - sy + y), (0.0, 0.0, 100.0, 50.0)
    )
    assert words == "retreat 199 m" and at == (pytest.approx(50.0), pytest.approx(way_out.INSET_MM))
    assert 'class="far off"' in canvas.render()


def test_each_reason_of_a_way_in_has_its_welds() -> None:
    """Of two welds one is near the way in, one is not: the reason stands with the weld that has it."""
    found = [w for w in PLAN.welds if w.safety and w.safety.access and w.safety.access.routes]
    assert found
    first = found[0]
    assert first.safety and first.safety.access
    route = first.safety.access.routes[0]

    def made(weld: str, why: str):  # type: ignore[no-untyped-def]
        access = replace(first.safety.access, routes=(replace(route, sentry=True, why=why),))  # type: ignore[union-attr, type-var]
        return replace(first, weld=weld, safety=replace(first.safety, access=access))  # type: ignore[type-var]

    (row,) = route_rows(
        [made("A", "opens 0.1 m outside the barrier"), made("B", "opens inside the barrier")], Show()
    )
    assert row["why"] == "A: opens 0.1 m outside the barrier; B: opens inside the barrier"
    (row,) = route_rows([made(n, f"opens {d} m outside") for n, d in (("A", 1.5), ("B", 0.5))], Show())
    assert row["why"] == "opens 0.5 m to 1.5 m outside"


def test_a_source_has_its_activity_at_the_shift_and_its_head() -> None:
    """An activity of the certificate halves in a half-life: here only that it falls, and the heads of the shift."""
    rows = {r["id"]: r for r in source_rows(PLAN, ORDER, Show())}
    used = {w.chosen.source: w.chosen.head for w in in_shift(PLAN) if w.chosen}
    assert all(rows[s]["head"] == head for s, head in used.items())
    assert all((r["head"] == "") == (s not in used) for s, r in rows.items())
    assert all("±" in r["now"] for r in rows.values())
