"""Points in the solids of a head against shapes worked by hand."""

from __future__ import annotations

from types import SimpleNamespace
from typing import cast

import pytest

from halflayer.order.equipment import Head, HeadSolid
from halflayer.order.head_shape import inside, out_of_body, reach_m


def solid(**fields: object) -> HeadSolid:
    return HeadSolid.model_validate({"material": "lead", **fields}, context={"si": True})


@pytest.mark.parametrize(
    ("fields", "point", "within"),
    [
        ({"shape": "box", "size": [0.2, 0.1, 0.1]}, (0.09, 0.0, 0.0), True),
        ({"shape": "box", "size": [0.2, 0.1, 0.1]}, (0.0, 0.09, 0.0), False),
        ({"shape": "sphere", "outer_radius": 0.1}, (0.0, 0.0, 0.0), True),
        ({"shape": "sphere", "outer_radius": 0.1, "wall": 0.02}, (0.0, 0.0, 0.0), False),
        ({"shape": "sphere", "outer_radius": 0.1, "wall": 0.02}, (0.0, 0.0, 0.09), True),
        ({"shape": "tube", "outer_radius": 0.1, "length": 0.2, "axis": [2, 0, 0]}, (0.09, 0.05, 0.0), True),
        ({"shape": "tube", "outer_radius": 0.1, "length": 0.2, "axis": [2, 0, 0]}, (0.11, 0.05, 0.0), False),
        (
            {"shape": "tube", "outer_radius": 0.1, "length": 0.2, "wall": 0.01, "centre": [0, 0, 1]},
            (0.0, 0.095, 1.0),
            True,
        ),
        # a cone from radius 10 mm at z = 0 to 40 mm at z = -100 mm: 25 mm half way
        (
            {
                "shape": "frustum",
                "radius_start": 0.01,
                "radius_end": 0.04,
                "length": 0.1,
                "centre": [0, 0, -0.05],
                "axis": [0, 0, -1],
            },
            (0.0245, 0.0, -0.05),
            True,
        ),
        (
            {
                "shape": "frustum",
                "radius_start": 0.01,
                "radius_end": 0.04,
                "length": 0.1,
                "centre": [0, 0, -0.05],
                "axis": [0, 0, -1],
            },
            (0.0245, 0.0, -0.03),
            False,
        ),
    ],
)
def test_inside(fields: dict, point: tuple[float, float, float], within: bool) -> None:
    assert inside(solid(**fields), point) is within


@pytest.mark.parametrize(
    ("fields", "low", "high"),
    [
        (
            {"shape": "sphere", "outer_radius": 0.1, "centre": [0, 0, 0.02]},
            (-0.1, -0.1, -0.08),
            (0.1, 0.1, 0.12),
        ),
        # a rod of 10 mm radius and 200 mm length along x + y: 0.1 / sqrt 2 and 0.01 / sqrt 2 along both
        (
            {"shape": "tube", "outer_radius": 0.01, "length": 0.2, "axis": [1, 1, 0]},
            (-0.11 / 2**0.5, -0.11 / 2**0.5, -0.01),
            (0.11 / 2**0.5, 0.11 / 2**0.5, 0.01),
        ),
        # a cone along -z from z = 0, radius 10 mm, to -100 mm, 40 mm
        (
            {
                "shape": "frustum",
                "radius_start": 0.01,
                "radius_end": 0.04,
                "length": 0.1,
                "centre": [0, 0, -0.05],
                "axis": [0, 0, -1],
            },
            (-0.04, -0.04, -0.1),
            (0.04, 0.04, 0.0),
        ),
    ],
)
def test_how_far_a_solid_reaches(fields: dict, low: tuple, high: tuple) -> None:
    found = reach_m(solid(**fields))
    assert found == (pytest.approx(low), pytest.approx(high))


def test_matter_out_of_the_body_is_found_and_an_open_port_is_not() -> None:
    """A body of 130 x 130 x 92 mm, its face 30 mm under the source: z from -30 to 62 mm."""

    def out(*solids: HeadSolid) -> list:
        head = SimpleNamespace(body=(0.13, 0.13, 0.092), source_to_face_m=0.03, solids=solids)
        return out_of_body(cast(Head, head))

    fits = solid(shape="box", size=[0.13, 0.13, 0.092], centre=[0, 0, 0.016])
    port = solid(shape="box", size=[0.02, 0.04, 0.05], centre=[0, 0, -0.025], material="air")
    assert out(fits, port) == []
    high = solid(shape="box", size=[0.1, 0.1, 0.084], centre=[0, 0, 0.024])  # -18 to 66 mm
    wide = solid(shape="sphere", outer_radius=0.07)  # 5 mm out in x and y, 8 above the top, 40 under the face
    assert [(n, side) for n, side, _ in out(fits, high, wide)] == [(1, "+z"), (2, "-z")]
    assert [by for _, _, by in out(high, wide)] == pytest.approx([0.004, 0.04])
