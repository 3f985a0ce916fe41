"""Points in the solids of a head against shapes worked by hand."""

from __future__ import annotations

import pytest

from halflayer.order.equipment import HeadSolid
from halflayer.order.head_shape import inside


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
