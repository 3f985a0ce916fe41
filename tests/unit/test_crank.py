"""The spot of the crank: on the crew's line, beside the tube, past walls; by plane geometry, done by hand."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

import plan_factory
import safety_plan
from halflayer.order.models import Order
from halflayer.sheet import crank
from halflayer.sheet.crew_line import CrewLine
from halflayer.sheet.figures import Show
from halflayer.shielding.safety_result import CrewStep

# A ring of 8 m round a container at the origin of the way; the tube runs along +x to a weld 3 m away.
RING = tuple((8.0 * math.cos(math.radians(t)), 8.0 * math.sin(math.radians(t))) for t in range(0, 360, 2))


def _order(*boxes: dict[str, object]) -> Order:
    data = plan_factory.order_data()
    data["obstacles"] = list(boxes)
    data["welds"][0] |= {"at": [3.0, 0.0], "guide_from": [0.0, 0.0, 0.3]}
    return Order.from_json(data)


def _wall(name: str, y: float) -> dict[str, object]:
    return {
        "id": name,
        "name": name,
        "material": "concrete",
        "centre": [0.0, y, 1.0],
        "size": [40.0, 0.2, 6.0],
    }


def test_the_crank_keeps_out_of_line_of_the_tube_and_on_the_crew_s_line() -> None:
    order = _order()
    found = crank.crank(order, order.welds[0], CrewLine((RING,), "x"))
    assert found is not None and found.clear
    assert found.container_m == pytest.approx(8.0, rel=0.001)
    turn = abs(math.atan2(found.at[1], found.at[0]))
    assert math.radians(30) <= turn <= math.radians(150)
    assert found.weld_m == pytest.approx(math.dist(found.at, (3.0, 0.0)))


def test_a_spot_with_a_free_way_to_the_container_goes_before_one_behind_a_wall() -> None:
    order = _order(_wall("north", 5.0))
    found = crank.crank(order, order.welds[0], CrewLine((RING,), "x"))
    assert found is not None and found.clear and found.at[1] < 5.0
    both = _order(_wall("north", 5.0), _wall("south", -1.0))
    line = tuple(p for p in RING if p[1] > 5.5)
    hidden = crank.crank(both, both.welds[0], CrewLine((line,), "x"))
    assert hidden is not None and not hidden.clear


def test_there_is_no_spot_without_a_line_or_a_container() -> None:
    order = _order()
    assert crank.crank(order, order.welds[0], CrewLine((), "x")) is None
    plain = order.welds[0].model_copy(update={"guide_from": None})
    assert crank.crank(order, plain, CrewLine((RING,), "x")) is None
    in_line = CrewLine((((8.0, 0.1), (8.2, 0.0), (8.0, -0.1)),), "x")
    assert crank.crank(order, order.welds[0], in_line) is None


def test_the_dose_of_whoever_cranks_is_the_sum_of_its_steps(monkeypatch: pytest.MonkeyPatch) -> None:
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.safety and w.safety.crew)
    assert w.safety
    monkeypatch.setattr(crank, "travels", lambda *_: True)
    monkeypatch.setattr(crank, "crank", lambda *_: crank.Crank((0.3, 12.9), 8.0, 10.4, False))

    def told(*doses: float | None) -> str:
        steps = tuple(CrewStep(n, 1.0, 1, 0.0, 8.0, d, "x") for n, d in zip(crank.STEPS, doses, strict=True))
        crew = (replace(w.safety.crew[0], steps=steps),)  # type: ignore[union-attr]
        return crank.words(
            Order.from_json(plan.order),
            replace(w, safety=replace(w.safety, crew=crew)),
            Show(),  # type: ignore[type-var]
        )

    said = told(13.1e-6, 0.5e-6)
    assert "site x 0.3, y 12.9 m, 8 m from the container, 10.4 m from the weld, a wall between" in said
    assert "at most 13.6 µSv there, all exposures" in said
    assert "not computed" in told(None, 0.5e-6)
