"""The dose field of a weld: where its voxels lie on site, exposures together, its level beside point rates."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

import plan_factory as pf
from halflayer.order.models import Order
from halflayer.scene.fitting import Fitting
from halflayer.shielding.asks import Ask
from halflayer.shielding.field_of_weld import (
    barrier_limit,
    corner_of,
    field_of_weld,
    grid_of,
    half_width_m,
    level_of,
)
from halflayer.shielding.result import Shielding
from halflayer.shielding.spots import setting_of
from halflayer.transport.grid import Grid
from halflayer.transport.volume import DoseField
from setups import ORDER, candidate

LIMIT = 7.5e-6 / 3600


def made(rate: float, sigma: float, *, sure: bool = True) -> DoseField:
    """2 x 2 cells in four layers of 0.5 m; the rate of a layer is `rate` times its number from 1."""
    grid = Grid((0.0, 0.0, 0.0), (0.5, 0.5, 0.5), (2, 2, 4))
    layers = np.arange(1.0, 5.0)[:, None, None] * np.ones((4, 2, 2))
    return DoseField(
        grid, rate * layers, np.full((4, 2, 2), sigma), 0 * layers, np.full((4, 2, 2), sure), 0 * layers + 1.0,
        100, 50, 1.0, 3, 0, False,
    )  # fmt: skip


def level(*fields: DoseField, height_m: float = 1.0):
    return level_of(
        fields, corner=(4.0, 5.0, 0.0), limit_Sv_s=LIMIT, limit_words="rate", k=0.1, height_m=height_m
    )


def test_the_level_lies_between_two_layers() -> None:
    """1 m is the face between the middles at 0.75 m (2) and 1.25 m (3)."""
    found = level(made(1e-9, 0.05))
    assert found.rate_Sv_s == pytest.approx([2.5e-9] * 4, rel=1e-3)
    assert found.sigma_rel == pytest.approx([0.05] * 4, rel=1e-3)
    assert found.upper_Sv_s == pytest.approx([2.5e-9 * (1 + 1.645 * 0.05) * 1.1] * 4, rel=1e-3)
    assert level(made(1e-9, 0.05), height_m=0.75).rate_Sv_s == pytest.approx([2e-9] * 4, rel=1e-3)
    assert (found.corner, found.step_m) == ((4.0, 5.0), 0.5)


def test_the_exposure_with_the_highest_bound_stands_for_a_cell() -> None:
    found = level(made(1e-9, 0.05), made(0.9e-9, 0.3, sure=False))
    assert found.rate_Sv_s == pytest.approx([2.25e-9] * 4, rel=1e-3)
    assert found.reliable == (False,) * 4
    assert found.exposures == 2


def test_figures_are_never_rounded_down() -> None:
    found = level(made(1.23456789e-9, 0.0512345))
    assert all(v >= 2.5 * 1.23456789e-9 for v in found.rate_Sv_s)
    assert all(s is not None and s >= 0.0512345 for s in found.sigma_rel)


def test_what_no_photon_reached_is_not_known() -> None:
    found = level(made(0.0, math.inf, sure=False))
    assert found.upper_Sv_s == (None,) * 4
    assert found.sigma_rel == (None,) * 4


def set_up(**weld: object):
    data = ORDER.as_json()
    data["welds"][0] |= weld
    order = Order.from_json(data)
    one = order.welds[0]
    chosen = candidate(one, "over")
    chosen = replace(chosen, shots=chosen.shots[:1])
    times = pf.exposure(order, chosen)
    shield = Shielding(**(pf.shielding(order, one.id, chosen).__dict__ | {"fitting": Fitting(4, "P4")}))
    return order, one, chosen, times, replace(shield, barrier_by_direction=((0.0, 2.0), (3.1, 4.4)))


@pytest.mark.parametrize("weld", [{"heading_rad": 0.7}, {"runs": "vertical", "heading_rad": -1.1}])
def test_voxels_stand_square_with_the_site(weld: dict[str, object]) -> None:
    order, one, chosen, times, shield = set_up(**weld)
    built = setting_of(order, one, chosen, times).build(shield.fitting, chosen.shots[0])
    grid = grid_of(one, built, 5.0)
    assert grid.shape == (60, 60, 30)
    assert grid.size_m == pytest.approx((1 / 6, 1 / 6, 1 / 6))
    for index in ((0, 0, 0), (60, 0, 0), (30, 30, 6), (12, 47, 30)):
        site = built.to_site(tuple(map(float, grid.at(np.array([index]))[0])))
        wanted = [c + i / 6 for c, i in zip(corner_of(one, 5.0), index, strict=True)]
        assert site == pytest.approx(wanted, abs=1e-9)


def test_the_volume_holds_the_barrier() -> None:
    shield = set_up()[4]
    assert half_width_m(shield) == 5.0
    assert half_width_m(replace(shield, barrier_by_direction=((0.0, 6.9),))) == 10.0
    assert half_width_m(replace(shield, barrier_by_direction=())) == 5.0
    assert half_width_m(replace(shield, barrier_by_direction=((0.0, 90.0),))) == 20.0


def test_the_limit_is_the_strictest_as_a_rate() -> None:
    order, _, _, times, _ = set_up()
    assert barrier_limit(order, times) == (pytest.approx(LIMIT), "rate")


def test_ctrl_c_ends_the_plan_and_not_just_one_exposure(monkeypatch: pytest.MonkeyPatch) -> None:
    """`dose_field` gives a partial field then: drawn on a sheet it would pass for a whole one."""
    order, one, chosen, times, shield = set_up()
    stopped = replace(made(1e-9, 0.1), partial=True)
    monkeypatch.setattr("halflayer.shielding.field_of_weld.dose_field", lambda *_, **__: stopped)
    with pytest.raises(KeyboardInterrupt):
        field_of_weld(order, one, chosen, times, shield, seed=2)


@pytest.mark.slow
def test_the_field_of_a_weld_agrees_with_its_point_rates() -> None:
    """Two open cells of 1 m against the mean of 32 next-event rates in each (8 % for so few places)."""
    order, one, chosen, times, shield = set_up(heading_rad=0.7)
    found = field_of_weld(
        order, one, chosen, times, shield, seed=2, error=0.03, shape=(10, 10, 5), most_batches=200
    )
    assert found.level.share_known > 0.8
    setting = setting_of(order, one, chosen, times)
    frame = setting.build(shield.fitting, chosen.shots[0]).frame
    part = (np.array([0.5, 1.5, 2.5, 3.5])) / 4 - 0.5
    for c, r in ((1, 1), (8, 2)):
        # the level at 1 m is the mean of the layers from 0 to 1 m and from 1 to 2 m
        x, y = one.at[0] - 4.5 + c, one.at[1] - 4.5 + r
        sites = [(x + a, y + b, one.floor_level_m + 0.5 + h) for a in part for b in part for h in (0.0, 1.0)]
        asks = [Ask(f"p{n}", s, frame.to_local(s), ()) for n, s in enumerate(sites)]
        rates = setting.rates(shield.fitting, chosen.shots[0], asks, seed=5, batches=24)
        mean = float(np.mean([rate.rate_Sv_s for rate in rates]))
        sigma = found.level.sigma_rel[r * 10 + c]
        assert sigma is not None and sigma < 0.1
        assert found.level.rate_Sv_s[r * 10 + c] == pytest.approx(mean, rel=0.08 + 3.0 * sigma)
