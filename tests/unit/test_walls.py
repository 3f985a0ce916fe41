"""What the tolerance of a wall adds at places behind it, by hand from exponential attenuation, and where it is printed.

Sources beside each test: law of exponential attenuation; build-up factors of `tests/data/buildup.csv` (Goldstein and
Wilkins, from memory, unverified).
"""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from pydantic import ValidationError

import plan_factory as pf
from halflayer.order.models import Order
from halflayer.order.weld import Obstacle
from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import material
from halflayer.sheet.compose import compose
from halflayer.shielding.asks import Ask
from halflayer.shielding.look import Rate
from halflayer.shielding.opened import rate_figures
from halflayer.shielding.result import WallLine
from halflayer.shielding.stated import point
from halflayer.shielding.turn_back import total_sigma_Sv_s
from halflayer.shielding.walls import (
    BUILD_UP,
    TAKEN,
    Beam,
    Relied,
    added_k,
    lacking,
    relied_on,
    through_ways,
    wall_lines,
)

LINE = Beam(np.array([400.0]), np.array([1.0]), 1e12)


def scene(**wall: Any) -> Order:
    """A weld at the origin, and 4 m off towards site x a wall of 200 mm."""
    whole = {
        "id": "w",
        "name": "Wall",
        "material": "concrete",
        "centre": (4.0, 0.0, 1.5),
        "size": (0.2, 8.0, 3.0),
    }
    data = pf.order_data() | {"obstacles": [whole | wall], "places": []}
    data["welds"] = [w | {"at": (0.0, 0.0), "floor_level_m": 0.0, "height_m": 1.0} for w in data["welds"]]
    return Order.from_json(data)


def found(order: Order, site: tuple[float, float, float], beam: Beam = LINE) -> tuple[Relied, ...]:
    return relied_on(order, order.weld("W-01"), site, beam)


def test_what_thickness_and_density_may_lack_by_hand() -> None:
    """10 mm of 200 mm are 5 %: exp(mu 0.01 m) - 1; 8 % of the density exp(mu 0.016 m) - 1; root of squares."""
    order = scene(thickness_tolerance_m=0.01, density_tolerance=0.08, basis="drawing")
    (one,) = found(order, (8.0, 0.0, 1.0))
    mu = float(photons.mu_per_m(material("concrete"), LINE.energies_keV)[0])
    assert one.rise == pytest.approx(math.hypot(math.expm1(mu * 0.01), math.expm1(mu * 0.016)))
    # Aslant the way through it is longer: 30 degrees off its normal by 1 / cos 30.
    (aslant,) = found(order, (5.0, 5.0 * math.tan(math.radians(30.0)), 1.0))
    more = 1 / math.cos(math.radians(30.0))
    assert aslant.rise == pytest.approx(
        math.hypot(math.expm1(mu * 0.01 * more), math.expm1(mu * 0.016 * more))
    )


def test_where_no_tolerance_is_stated_a_tenth_of_the_mass_is_taken_and_said() -> None:
    (one,) = found(scene(), (8.0, 0.0, 1.0))
    mu = float(photons.mu_per_m(material("concrete"), LINE.energies_keV)[0])
    assert one.rise == pytest.approx(math.expm1(mu * TAKEN * 0.2))
    (line,) = wall_lines([("Office", 1e-9, (one,)), ("ring", 1e-9, (one,)), ("Hall", 1e-9, ())])
    assert line.places == ("Office", "ring") and line.wall == "Wall"
    assert "concrete, 200 mm less 10% of mass: not stated, taken, our choice" in line.basis
    stated = scene(density_tolerance=0.0, basis="weighed").obstacles[0]
    assert lacking(stated) == (0.0, 0.0)
    assert found(scene(density_tolerance=0.0, basis="weighed"), (8.0, 0.0, 1.0)) == ()


def test_only_what_stands_between_counts() -> None:
    """Before the wall, beside it and over it nothing is relied on."""
    order = scene()
    assert found(order, (3.0, 0.0, 1.0)) == () == found(order, (-8.0, 0.0, 1.0))
    assert found(order, (8.0, 20.0, 1.0)) == () == found(order, (8.0, 0.0, 9.0))


def test_a_body_that_nothing_comes_through_adds_nothing_to_what_goes_round_it() -> None:
    """10 m of concrete: ten per cent less would be thousands of times more through it, and is nothing still."""
    thick = scene(centre=(8.0, 0.0, 1.5), size=(10.0, 8.0, 3.0), id="w")
    order = thick.model_copy(
        update={"welds": tuple(w.model_copy(update={"obstacles": ("w",)}) for w in thick.welds)}
    )
    (one,) = found(order, (20.0, 0.0, 1.0))
    assert one.rise > 1000.0
    assert one.relative(1e-6 / 3600.0) < 1e-6
    assert one.relative(0.0) == one.rise  # nothing known: all of it
    # A thin wall is no such body: what may come through it is far above the dose behind a shield.
    (thin,) = found(scene(), (8.0, 0.0, 1.0))
    assert thin.relative(1e-6 / 3600.0) == thin.rise
    bare = LINE.activity_Bq * float(dosimetry.h10_per_fluence(LINE.energies_keV)[0]) / (4 * math.pi * 64.0)
    left = 0.9 * 0.2 * float(photons.mu_per_m(material("concrete"), LINE.energies_keV)[0])
    assert thin.most_Sv_s == pytest.approx(bare * math.exp(-left) * (1 + left) ** BUILD_UP)


def test_the_bound_of_build_up_lies_above_published_values() -> None:
    """Every material, energy and depth of the table, water at 255 keV with 982 at 20 mean free paths among them."""
    path = Path(__file__).parents[1] / "data" / "buildup.csv"
    rows = list(csv.DictReader(path.open()))
    assert len(rows) > 50
    for r in rows:
        assert (1 + float(r["depth_mfp"])) ** BUILD_UP >= float(r["buildup"]), r


def test_it_joins_the_squares_at_its_place_alone() -> None:
    """sqrt(0.08^2 + 0.06^2 + 0.24^2) = 0.26 in place of 0.10: k is 0.16 more, and bound, error and figure hold it."""
    walls = (Relied(scene().obstacles[0], (0.1,), 0.24, math.inf),)
    assert added_k(walls, 1e-9, 0.08**2 + 0.06**2) == pytest.approx(0.16)
    assert added_k((), 1e-9, 0.01) == 0.0
    ask = Ask("Office", (8.0, 0.0, 1.0), (8.0, 0.0, 1.0), ())
    plain = Rate(ask, 1e-9, 0.0, True, {})
    behind = replace(plain, wall_k=0.16)
    assert behind.upper_Sv_s(0.10) == pytest.approx(1e-9 * 1.26) and plain.upper_Sv_s(0.10) == pytest.approx(
        1.1e-9
    )
    p = point(behind, 0.10, True)
    assert p.upper_Sv_s == pytest.approx(1.26e-9)
    assert total_sigma_Sv_s(p, 0.10) == pytest.approx(1e-9 * 0.26 / 1.645)


def test_page_2_and_explain_tell_the_wall_with_its_places() -> None:
    plan = pf.plan()
    order = Order.from_json(plan.order)
    w = next(w for w in plan.welds if w.status == "ready" and w.shielding)
    assert w.shielding and w.exposure
    name = w.shielding.points[0].name
    line = WallLine("West wall", 0.461, "brick, 300 mm; 5% of its density: drawing", (name, "elsewhere"))
    points = (replace(w.shielding.points[0], wall_k=0.3), *w.shielding.points[1:])
    made = replace(w, shielding=replace(w.shielding, walls=(line,), points=points))
    sheets = compose(replace(plan, welds=tuple(made if x is w else x for x in plan.welds)))
    rule = next(s for s in sheets if s.kind == "weld" and s.title.endswith(w.weld)).data["back"]["k_rule"]
    assert "Behind walls k is larger, this joins the squares" in rule
    assert "West wall up to 47 % (brick, 300 mm; 5% of its density: drawing) at " in rule
    assert "1 between" in rule
    figures = {f.name: f for f in rate_figures(order, made.shielding, w.exposure.activity)}  # type: ignore[arg-type]
    assert figures["budget_wall_west_wall"].value == 0.461
    rate = next(f for n, f in figures.items() if n.startswith("rate_"))
    assert {"k", "k more by walls"} <= {i.name for i in rate.inputs}


def test_a_tolerance_without_a_basis_is_refused() -> None:
    whole = scene().obstacles[0].model_dump()
    with pytest.raises(ValidationError, match="what the tolerance of the wall rests on is not said"):
        Obstacle.model_validate(whole | {"density_tolerance": 0.05}, context={"si": True})


def test_a_place_seen_through_an_open_door_is_said_to_be() -> None:
    """The line to (8, 0) meets the wall at (4, 0): a door there is in it, one 2 m aside or locked is not."""

    def ways(y: float, *, locked: bool = False) -> list[str]:
        door = {"id": "d", "name": "Door", "at": (4.0, y, 0.0), "kind": "door", "locked": locked}
        order = Order.from_json(scene().as_json() | {"access": [door]})
        return [r.name for r in through_ways(order, order.weld("W-01"), (8.0, 0.0, 1.0))]

    assert (ways(0.3), ways(2.0), ways(0.3, locked=True)) == (["Door"], [], [])
