"""Worked examples of unsharpness, distance and number of exposures from training sheets and by geometry.

Tolerance: the printed digits. Sheets and addresses stand beside each case.
"""

from __future__ import annotations

import math

import pytest

from halflayer.technique.coverage import exposures_needed, half_angle_for_growth_rad
from halflayer.technique.geometry import unsharpness_m

INCH = 0.0254


class TestUnsharpness:
    def test_U1(self) -> None:
        # 1.5 in thick, source to film 40 in, source 1 mm: 0.04 mm (RT question paper 1, Q22)
        ug = unsharpness_m(focal_m=0.001, source_to_object_m=38.5 * INCH, object_to_detector_m=1.5 * INCH)
        assert ug == pytest.approx(0.039e-3, abs=0.0005e-3)

    @pytest.mark.parametrize(("name", "b_in", "printed_cm"), [("U3", 0.75, 14.0), ("U4", 0.5, 9.2)])
    def test_U3_U4_distance_from_unsharpness(self, name: str, b_in: float, printed_cm: float) -> None:
        # Source 0.125 in, Ug 0.020 in: source to film 14 cm on 0.75 in steel, 9.2 cm on 0.5 in copper (RT examples)
        f = 0.125 * b_in / 0.020
        ug = unsharpness_m(
            focal_m=0.125 * INCH, source_to_object_m=f * INCH, object_to_detector_m=b_in * INCH
        )
        assert ug == pytest.approx(0.020 * INCH, rel=1e-12)
        printed_digit = 0.5 if name == "U3" else 0.05
        assert (f + b_in) * 2.54 == pytest.approx(printed_cm, abs=printed_digit)

    def test_U5(self) -> None:
        # Source 3 mm, 40 mm steel, source to film 600 mm: 0.21 mm (RT examination sheet)
        ug = unsharpness_m(focal_m=0.003, source_to_object_m=0.560, object_to_detector_m=0.040)
        assert ug == pytest.approx(0.21e-3, abs=0.005e-3)

    def test_E4L(self) -> None:
        # Source 3 mm, object to film 51 + 3 mm, Ug 0.24 mm: 675 mm (RT examination sheet)
        ug = unsharpness_m(focal_m=0.003, source_to_object_m=0.675, object_to_detector_m=0.054)
        assert ug == pytest.approx(0.24e-3, abs=0.005e-3)


# N4: exposures for double wall single image by the growth of the film-side wall alone, no overlap: outside
# diameter, wall, source outside the surface [mm], class -> half angle seen from the pipe axis [deg], number.
# By geometry of the 10 % / 20 % rule, not read from the standard's graphs.
N4 = [
    (168.3, 7.11, 0.001, "A", 63.8, 3),
    (168.3, 7.11, 0.001, "B", 47.0, 4),
    (219.1, 8.18, 0.001, "A", 64.2, 3),
    (219.1, 8.18, 0.001, "B", 47.2, 4),
    (323.8, 10.31, 0.001, "A", 64.7, 3),
    (323.8, 10.31, 0.001, "B", 47.5, 4),
    (168.3, 7.11, 431.7, "A", 36.9, 5),
    (168.3, 7.11, 431.7, "B", 27.2, 7),
]


@pytest.mark.parametrize(("od", "wall", "outside", "test_class", "half_deg", "count"), N4)
def test_N4(od: float, wall: float, outside: float, test_class: str, half_deg: float, count: int) -> None:
    half = half_angle_for_growth_rad(
        outer_radius_m=od / 2000,
        wall_m=wall / 1000,
        growth={"A": 0.2, "B": 0.1}[test_class],
        source_to_axis_m=(od / 2 + outside) / 1000,
    )
    assert math.degrees(half) == pytest.approx(half_deg, abs=0.05)
    assert exposures_needed(usable_rad=2 * half, overlap_rad=0.0) == count


def test_beam_of_30_degrees_in_contact_needs_four_with_overlap() -> None:
    # Trade figure: 30 degrees half angle lights 120 degrees in contact, so four exposures with overlap.
    usable = math.radians(4 * 30)
    assert exposures_needed(usable_rad=usable, overlap_rad=0.0) == 3
    assert exposures_needed(usable_rad=usable, overlap_rad=math.radians(5)) == 4
