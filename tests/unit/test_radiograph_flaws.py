"""Flaws: read from the order, refused outside the wall, set in the metal and on its surfaces, found by chance."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from exposure_cases import order
from halflayer.base.errors import InputError
from halflayer.exposure.scatter_field import ScatterField
from halflayer.order.models import Order
from halflayer.order.read import parse_order
from halflayer.radiograph import surface
from halflayer.radiograph.flaws import dented, flaw_solids, image_place, placed, reach_m
from halflayer.radiograph.predict import surfaces_of
from halflayer.radiograph.seen_flaws import seen_flaws
from halflayer.radiograph.setting import weld_index
from halflayer.scene.trace import materials_along
from radiograph_cases import set_up

EXAMPLE = Path(__file__).parents[2] / "examples" / "one-weld-imperial.yaml"


def with_flaws(*flaws: dict[str, Any], **facts: Any) -> Order:
    """The small order with flaws (SI)."""
    data = order(**facts).as_json()
    data["welds"][0]["flaws"] = list(flaws)
    return Order.from_json(data)


def far_side(**facts: Any) -> dict[str, Any]:
    """A flaw on the film's side of a source at clock 0."""
    return {"clock_rad": math.pi, **facts}


def read_with(line: str) -> Order:
    """The imperial example with a flaw written in YAML."""
    text = EXAMPLE.read_text(encoding="utf-8")
    return parse_order(
        text.replace("    height: 4 ft 3 in\n", f"    height: 4 ft 3 in\n    flaws:\n      - {line}\n"),
        file="o",
    )


def test_a_flaw_is_read_from_a_line_and_goes_through_json() -> None:
    made = read_with("{imperfection: 2011, clock: 30 deg, along: 1 mm, below: 2 mm, width: 0.5 mm}")
    (flaw,) = made.welds[0].flaws
    assert flaw.name == "2011 gas pore"
    assert (flaw.clock_rad, flaw.along_m, flaw.width_m) == pytest.approx((math.pi / 6, 1e-3, 5e-4))
    assert Order.from_json(made.as_json()) == made


@pytest.mark.parametrize(
    ("line", "said"),
    [
        # wall of NPS 2 schedule 40: 3.91 mm; cap 2.03 mm, root 1.02 mm
        ("{imperfection: 2011, clock: 0 deg, below: 9 mm, width: 1 mm}", "outside the wall"),
        ("{imperfection: 101, clock: 0 deg, width: 0.1 mm, length: 5 mm, height: 12 mm}", "thicker than the weld"),
        ("{imperfection: 5011, clock: 0 deg, width: 1 mm, length: 5 mm, height: 6 mm}", "through the wall"),
        ("{imperfection: wall loss inside, clock: 0 deg, width: 9 mm, length: 500 mm, height: 1 mm}", "way round"),
        ("{imperfection: 504, clock: 0 deg, width: 3 mm, length: 5 mm, height: 40 mm}", "fill the bore"),
        ("{imperfection: 2011, clock: 0 deg, along: 2 m, width: 1 mm}", "too far from the weld"),
        ("{imperfection: 101, clock: 0 deg, width: 0.1 mm}", "size of the flaw is missing"),
        ("{imperfection: 2011, clock: 0 deg, width: 1 mm, length: 3 mm}", "round flaw"),
        ("{imperfection: 515, clock: 0 deg, width: 3 mm, length: 5 mm, height: 1 mm, below: 1 mm}", "no depth"),
        ("{imperfection: 999, clock: 0 deg, width: 1 mm}", "imperfection"),
        ("{imperfection: 2011, clock: 0 deg, width: 0 mm}", "too small"),
        ("{imperfection: 2011, clock: 0 deg, width: -1 mm}", "too small"),
    ],
)  # fmt: skip
def test_a_flaw_that_cannot_be_is_refused(line: str, said: str) -> None:
    with pytest.raises(InputError) as error:
        read_with(line)
    assert said in str(error.value)
    assert "flaws" in str(error.value)


def test_a_pore_lies_where_it_is_said() -> None:
    made = with_flaws(far_side(imperfection="2011", along_m=0.002, below_m=0.002, width_m=0.001))
    (one,) = placed(made.welds[0])
    assert one.at == pytest.approx((0.002, 0.0, -(0.0603 / 2 - 0.002)), abs=1e-12)
    setting = set_up(made, spots=1)
    way = materials_along(setting.scene, (0.002, 0.0, -0.02), (0.0, 0.0, -1.0), 0.02)
    inside = [(name, length) for name, solid, length in way if solid == "flaw 1"]
    assert inside == [("air", pytest.approx(0.001))]
    # What is judged of the technique does not see the flaw.
    assert not any(s.name.startswith("flaw") for s in setting.bare.solids)


def test_a_crack_is_open_to_the_root_and_as_high_as_it_says() -> None:
    made = with_flaws(far_side(imperfection="101", width_m=2e-4, length_m=0.012, height_m=0.002))
    solids = flaw_solids(made, made.welds[0])
    assert len(solids) == 10  # pieces of 1.2 mm
    points = np.array([s.centre for s in solids])
    radius = np.hypot(points[:, 1], points[:, 2])
    assert radius == pytest.approx(np.full(10, 0.0603 / 2 - 0.0055 + 0.001), abs=1e-9)
    assert max(s.size[1] for s in solids) == pytest.approx(0.002, rel=0.01)
    # It runs round the pipe about the weld's middle.
    clock = np.arctan2(-points[:, 1], points[:, 2]) % (2 * math.pi)
    assert np.ptp(clock) * radius[0] == pytest.approx(0.0108, rel=0.01)
    assert np.abs(points[:, 0]).max() < 0.002
    assert flaw_solids(made, made.welds[0]) == solids


@pytest.mark.parametrize(
    ("imperfection", "outside", "sign"),
    [("5011", True, -1), ("515", False, -1), ("504", False, 1), ("wall loss outside", True, -1),
     ("wall loss inside", False, -1)],
)  # fmt: skip
def test_what_lies_on_a_surface_dents_it(imperfection: str, outside: bool, sign: int) -> None:
    made = with_flaws(
        far_side(imperfection=imperfection, along_m=0.003, width_m=0.004, length_m=0.02, height_m=0.001)
    )
    weld = made.welds[0]
    maps = dented(surface.flat_maps(weld, reach_m=reach_m(weld)), weld)
    touched, left = (maps.outer, maps.inner) if outside else (maps.inner, maps.outer)
    assert not left.any()
    x, clock = maps.grids()
    i, j = np.unravel_index(np.argmax(np.abs(touched)), touched.shape)
    assert touched[i, j] == pytest.approx(sign * 0.001, rel=0.02)
    assert x[i] == pytest.approx(0.003, abs=3e-4)
    assert clock[j] == pytest.approx(math.pi, abs=0.02 if "loss" in imperfection else 0.25)


def test_wall_loss_far_from_the_weld_widens_the_maps() -> None:
    made = with_flaws(
        far_side(imperfection="wall loss inside", along_m=0.03, width_m=0.02, length_m=0.02, height_m=0.002)
    )
    maps = surfaces_of(made.welds[0], seed=1)
    assert maps.half_m >= 0.04
    assert maps.inner.min() == pytest.approx(-0.002, rel=0.05)


def test_larger_pores_are_found_more_surely() -> None:
    sizes = (0.0002, 0.0005, 0.0015)
    made = with_flaws(*(far_side(imperfection="2011", along_m=0.001, width_m=w) for w in sizes))
    setting = set_up(made, seconds=600.0)
    at = weld_index(setting)
    assert at is not None
    found = seen_flaws(setting, ScatterField.even(0.7 * float(setting.kerma[at])))
    ratios = [s.contrast_to_noise for s in found]
    assert ratios[0] < ratios[1] < ratios[2]
    assert found[0].chance < 0.1 and found[2].visible and found[2].chance > 0.99
    assert found[0].name == "1: 2011 gas pore"


def test_a_crack_across_the_beam_is_lost_and_along_it_is_found() -> None:
    # The same gape: 2 mm of height along the ray, or 0.05 mm across it (a side wall lack of fusion at 30 degrees
    # lies between).
    made = with_flaws(
        far_side(imperfection="101", along_m=0.0, width_m=5e-5, length_m=0.01, height_m=0.002),
        far_side(imperfection="4011", along_m=0.002, width_m=5e-5, length_m=0.01, height_m=0.002),
    )
    setting = set_up(made, seconds=600.0)
    at = weld_index(setting)
    assert at is not None
    crack, fusion = seen_flaws(setting, ScatterField.even(0.7 * float(setting.kerma[at])))
    assert crack.contrast > 2.0 * fusion.contrast


def test_a_flaw_beside_the_film_has_no_chance() -> None:
    made = with_flaws(far_side(imperfection="2011", along_m=0.06, width_m=0.001))
    setting = set_up(made)
    assert image_place(placed(made.welds[0])[0], setting.built) is None
    (one,) = seen_flaws(setting, ScatterField.even(0.0))
    assert not one.visible and one.chance < 1e-6
