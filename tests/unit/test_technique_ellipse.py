"""The ellipse's opening against an independent projection: rays from the source through the cap's edges."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from halflayer.technique import ellipse

standoffs = st.floats(0.08, 1.0)
diameters = st.floats(0.02, 0.12)
gaps = st.floats(0.0, 0.04)
widths = st.floats(0.002, 0.03)


def on_film(source: np.ndarray, point: np.ndarray, film_z: float) -> np.ndarray:
    """Where the ray from the source through a point meets the plane z = film_z."""
    ray = point - source
    return source + ray * (film_z - source[2]) / ray[2]


def opening_by_rays(*, offset: float, standoff: float, od: float, gap: float, width: float) -> float:
    """Clear strip between the images of the near and the far crown's cap, by projecting its four edges."""
    r = od / 2
    source = np.array([offset, 0.0, r + standoff])
    edges = {
        z: [on_film(source, np.array([x, 0.0, z]), -(r + gap))[0] for x in (-width / 2, width / 2)]
        for z in (r, -r)
    }
    # With the source at positive x the near image falls to negative x of the far one.
    return min(edges[-r]) - max(edges[r])


@given(L=st.floats(0.0, 0.4), a=standoffs, od=diameters, g=gaps, w=widths)
def test_opening_by_rays(L: float, a: float, od: float, g: float, w: float) -> None:
    q = ellipse.opening_m(offset_m=L, standoff_m=a, diameter_m=od, gap_m=g, weld_width_m=w)
    assert q == pytest.approx(opening_by_rays(offset=L, standoff=a, od=od, gap=g, width=w), abs=1e-12)


@given(q=st.floats(0.003, 0.015), a=standoffs, od=diameters, g=gaps, w=widths)
def test_offset_gives_the_opening(q: float, a: float, od: float, g: float, w: float) -> None:
    L = ellipse.offset_for_opening_m(opening_m=q, standoff_m=a, diameter_m=od, gap_m=g, weld_width_m=w)
    assert opening_by_rays(offset=L, standoff=a, od=od, gap=g, width=w) == pytest.approx(q, abs=1e-12)


def test_the_opening_is_widest_at_the_crown() -> None:
    """Round the pipe the two images run together at its sides: the middle of the ellipse is what is opened."""
    od, a, g, w, L = 0.0603, 0.35, 0.004, 0.008, 0.1
    r = od / 2
    source = np.array([L, 0.0, r + a])
    gaps_at = []
    for y in np.linspace(-0.9 * r, 0.9 * r, 19):
        h = math.sqrt(r**2 - y**2)
        near, far = (
            [on_film(source, np.array([x, y, z]), -(r + g))[0] for x in (-w / 2, w / 2)] for z in (h, -h)
        )
        gaps_at.append(min(far) - max(near))
    assert max(gaps_at) == gaps_at[9]
    assert gaps_at[9] == pytest.approx(
        ellipse.opening_m(offset_m=L, standoff_m=a, diameter_m=od, gap_m=g, weld_width_m=w)
    )


def test_unmagnified_limit() -> None:
    """Far away with the same tilt the images keep their size: q = De tan(tilt) - w."""
    tilt, od, w, a = math.radians(15), 0.0603, 0.008, 500.0
    q = ellipse.opening_m(
        offset_m=a * math.tan(tilt), standoff_m=a, diameter_m=od, gap_m=0.002, weld_width_m=w
    )
    assert q == pytest.approx(od * math.tan(tilt) - w, abs=5e-6)


def test_without_a_gap_the_simple_form() -> None:
    L, a, od, w = 0.09, 0.36, 0.06, 0.008
    simple = L * od / a - w / 2 * (1 + od / a) - w / 2
    assert ellipse.opening_m(
        offset_m=L, standoff_m=a, diameter_m=od, gap_m=0.0, weld_width_m=w
    ) == pytest.approx(simple)


@given(reach=standoffs, lean=st.floats(0.0, 0.6), od=diameters)
def test_a_swung_source_keeps_its_distance_and_its_tilt(reach: float, lean: float, od: float) -> None:
    L, a = ellipse.swung(reach_m=reach, lean_rad=lean, diameter_m=od)
    assert math.hypot(L, a + od / 2) == pytest.approx(reach + od / 2)
    assert ellipse.tilt_rad(offset_m=L, standoff_m=a, diameter_m=od) == pytest.approx(lean, abs=1e-12)
    assert a <= reach + 1e-12


def test_the_side_does_not_matter() -> None:
    asked = {"standoff_m": 0.3, "diameter_m": 0.06, "gap_m": 0.004, "weld_width_m": 0.008}
    assert ellipse.opening_m(offset_m=-0.1, **asked) == ellipse.opening_m(offset_m=0.1, **asked)


@pytest.mark.parametrize(("width", "wanted"), [(0.001, 0.003), (0.003, 0.003), (0.009, 0.009), (0.02, 0.015)])
def test_wanted_opening(width: float, wanted: float) -> None:
    assert ellipse.wanted_opening_m(width) == wanted


@given(L=st.floats(0.0, 0.3), a=standoffs, od=diameters, g=gaps, half=widths)
def test_span_on_the_film_by_rays(L: float, a: float, od: float, g: float, half: float) -> None:
    r = od / 2
    source = np.array([L, 0.0, r + a])
    xs = [on_film(source, np.array([x, 0.0, z]), -(r + g))[0] for x in (-half, half) for z in (-r, r)]
    span = ellipse.film_span_m(offset_m=L, standoff_m=a, diameter_m=od, gap_m=g, half_width_m=half)
    assert span == pytest.approx((min(xs), max(xs)), abs=1e-12)


@pytest.mark.parametrize(("od", "width", "practice_deg"), [(0.0334, 0.006, 18.4), (0.0603, 0.010, 14.0)])
def test_tilt_is_near_the_practice_rule(od: float, width: float, practice_deg: float) -> None:
    """A forum's rule, no standard: shift a third of the distance (18 deg) up to 1 inch, a quarter (14 deg) above."""
    a = 0.35
    L = ellipse.offset_for_opening_m(
        opening_m=ellipse.wanted_opening_m(width),
        standoff_m=a,
        diameter_m=od,
        gap_m=0.003,
        weld_width_m=width,
    )
    tilt = math.degrees(ellipse.tilt_rad(offset_m=L, standoff_m=a, diameter_m=od))
    assert tilt == pytest.approx(practice_deg, abs=5)
