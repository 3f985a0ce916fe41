"""The tangential view: geometry of grazing rays, walls read back within their uncertainty, loss by ring and dish."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pytest

from exposure_cases import order
from halflayer.base.errors import OutOfRange
from halflayer.exposure.scatter_field import ScatterField
from halflayer.order.models import Order
from halflayer.radiograph.project import at_places
from halflayer.radiograph.setting import Setting
from halflayer.radiograph.tangential import (
    grazed_radius_m,
    grazing_place_m,
    read_wall,
    tangential_scene,
)
from halflayer.scene.trace import materials_along
from radiograph_cases import set_up

U_M = 0.025  # beside the weld


def corroded(*, od_m: float = 0.0889, wall_m: float = 0.0055, insulated: bool = False, **loss: Any) -> Order:
    """A pipe with wall loss 25 mm beside the weld."""
    cover = {"material": "mineral wool", "thickness_m": 0.04, "density_kg_m3": 100.0} if insulated else None
    data = order(od_m=od_m, wall_m=wall_m, insulation=cover, sheet=(0.1, 0.4)).as_json()
    if loss:
        flaw = {"imperfection": "wall loss inside", "clock_rad": math.pi / 2, "along_m": U_M, **loss}
        data["welds"][0]["flaws"] = [flaw]
    return Order.from_json(data)


def exposed(made: Order) -> tuple[Setting, ScatterField]:
    """Shot in plane from above so that the wall's image has density 2."""
    setting = set_up(made, standoff_m=0.6, spots=12)
    edge = grazing_place_m(
        radius_m=made.welds[0].pipe.od / 2 - made.welds[0].pipe.wall / 2,
        source_to_axis_m=0.6 + made.welds[0].pipe.od / 2,
        axis_to_film_m=-setting.built.film.centre[2],
    )
    primary = float(at_places(setting.optics, np.array([[U_M, edge]]))[0])
    field = ScatterField.even(0.5 * primary)
    setting = set_up(made, standoff_m=0.6, spots=12, seconds=_seconds(setting, 1.5 * primary))
    return setting, field


def _seconds(setting: Setting, rate: float) -> float:
    return setting.response.curve.kerma_Gy(2.0) / rate / setting.order.sources[0].activity_Bq  # type: ignore[union-attr]


@pytest.mark.parametrize("radius_m", [0.01, 0.0445])
def test_a_ray_to_the_grazing_place_grazes(radius_m: float) -> None:
    h, g = 0.6, 0.05
    v = grazing_place_m(radius_m=radius_m, source_to_axis_m=h, axis_to_film_m=g)
    # Distance of the line from (0, h) to (v, -g) to the origin, by the cross product.
    assert abs(v * h) / math.hypot(v, h + g) == pytest.approx(radius_m, rel=1e-12)
    assert grazed_radius_m(place_m=v, source_to_axis_m=h, axis_to_film_m=g) == pytest.approx(
        radius_m, rel=1e-12
    )


def test_a_source_inside_the_pipe_cannot_graze_it() -> None:
    with pytest.raises(OutOfRange):
        grazing_place_m(radius_m=0.1, source_to_axis_m=0.05, axis_to_film_m=0.1)


@pytest.mark.parametrize(("wall_m", "insulated"), [(0.004, False), (0.008, False), (0.0055, True)])
def test_a_sound_wall_is_read_back(wall_m: float, insulated: bool) -> None:
    setting, field = exposed(corroded(wall_m=wall_m, insulated=insulated))
    for side in ("left", "right"):
        read = read_wall(setting, field, u_m=U_M, side=side)
        assert read.wall_m == pytest.approx(wall_m, abs=4.0 * read.sigma_m)
        assert 0.0 < read.sigma_m < 0.1e-3
        assert abs(read.edges_m[0]) < abs(read.edges_m[1])
        assert math.copysign(1.0, read.edges_m[0]) == (1.0 if side == "right" else -1.0)


@pytest.mark.parametrize("depth_m", [0.001, 0.0025])
def test_a_ring_of_wall_loss_is_read_back(depth_m: float) -> None:
    # All round the bore, 20 mm along the pipe: at its middle the wall is thinner by its depth.
    made = corroded(width_m=0.02, length_m=math.pi * 0.0779, height_m=depth_m)
    setting, field = exposed(made)
    there = [n for n, _, _ in materials_along(tangential_scene(setting), (U_M, 0.0, 0.05), (0, 0, -1), 0.1)]
    assert there.count("steel") == 2
    read = read_wall(setting, field, u_m=U_M, side="right")
    assert read.loss_m == pytest.approx(depth_m, abs=4.0 * read.sigma_m)
    beside = read_wall(setting, field, u_m=-0.02, side="right")
    assert abs(beside.loss_m) < 4.0 * beside.sigma_m


def test_a_dish_is_seen_on_its_side_only_and_read_as_less_than_it_is() -> None:
    # A tangent ray crosses a dish for a part of its way: the loss reads between nothing and its depth.
    made = corroded(width_m=0.03, length_m=0.03, height_m=0.003)
    setting, field = exposed(made)
    readings = {s: read_wall(setting, field, u_m=U_M, side=s) for s in ("left", "right")}
    (hit,) = [r for r in readings.values() if abs(r.clock_rad - math.pi / 2) < 0.01]
    (other,) = [r for r in readings.values() if r is not hit]
    assert 0.001 < hit.loss_m < 0.0033
    assert abs(other.loss_m) < 4.0 * other.sigma_m
    # A profile that is not that of a pipe says so by its uncertainty.
    assert hit.sigma_m >= other.sigma_m


def test_what_cannot_be_read_is_refused() -> None:
    setting, field = exposed(corroded())
    with pytest.raises(OutOfRange, match="on the film"):
        read_wall(setting, field, u_m=0.2, side="left")
    curved = set_up(order(od_m=0.1683), "strap", aperture="a40", standoff_m=0.03)
    with pytest.raises(OutOfRange, match="flat film"):
        read_wall(curved, field, u_m=0.0, side="left")
    dark = set_up(corroded(), standoff_m=0.6, spots=4, seconds=1.0)
    with pytest.raises(OutOfRange, match="density"):
        read_wall(dark, ScatterField.even(0.0), u_m=U_M, side="left")
