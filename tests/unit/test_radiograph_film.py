"""What a film makes of the exposure: grain by aperture, unsharpness, curve by table, seeded noise, lead letters."""

from __future__ import annotations

import math

import numpy as np
import pytest

from exposure_cases import film
from halflayer.exposure.scatter_field import ScatterField
from halflayer.radiograph import markers
from halflayer.radiograph.predict import density_image
from halflayer.radiograph.project import Frame, frame
from halflayer.radiograph.response import (
    GRAIN_APERTURE_M2,
    bell,
    blurred,
    film_response,
    inherent_unsharpness_m,
    mapped,
    normal_noise,
)
from halflayer.radiograph.surface import Surfaces
from radiograph_cases import set_up


def test_the_grain_of_a_class_is_that_of_its_aperture() -> None:
    response = film_response(film(film_class="C5"), energy_keV=300.0)
    fog = response.curve.base_fog
    # ISO 11699-1 / ASTM E1815 Table 1: C5 0.032 at density 2 above base and fog behind 100 um.
    assert float(response.grain(2.0 + fog, GRAIN_APERTURE_M2)) == pytest.approx(0.032)
    assert float(response.grain(2.0 + fog, 4 * GRAIN_APERTURE_M2)) == pytest.approx(0.016)
    assert float(response.grain(0.5 + fog, GRAIN_APERTURE_M2)) == pytest.approx(0.016)
    assert float(response.grain(fog, GRAIN_APERTURE_M2)) == 0.0


def test_the_gradient_runs_out_towards_base_and_fog() -> None:
    response = film_response(film(film_class="C5"), energy_keV=300.0)
    fog = response.curve.base_fog
    assert response.gradient(fog) == 0.0
    assert response.gradient(0.4999) == pytest.approx(response.gradient(0.5001), rel=2e-3)
    # in the foot of the curve density is proportional to exposure, so the gradient to net density
    assert response.gradient(fog + 0.02) == pytest.approx(math.log(10.0) * 0.02, rel=0.02)
    assert response.gradient(6.0) == response.gradient(4.5)


def test_the_grain_in_an_image_is_that_of_the_class() -> None:
    made = set_up(seconds=300.0, spots=4)
    pixels = frame(made.built.film, pixel_m=5e-5, width_m=0.01, length_m=0.01)
    field = ScatterField.even(0.0)
    quiet = density_image(made, field, pixels, surfaces=Surfaces.plain(), seed=5, grain=False)
    grainy = density_image(made, field, pixels, surfaces=Surfaces.plain(), seed=5)
    noise = (grainy - quiet).astype(np.float64)
    expected = made.response.grain(quiet, (5e-5) ** 2)
    # 40,000 pixels: their spread is known to 0.4 %.
    assert float((noise / expected).std()) == pytest.approx(1.0, abs=0.015)
    again = density_image(made, field, pixels, surfaces=Surfaces.plain(), seed=5)
    assert np.array_equal(grainy, again)
    other = density_image(made, field, pixels, surfaces=Surfaces.plain(), seed=6)
    assert not np.array_equal(grainy, other)


def test_noise_is_the_same_on_any_number_of_threads(monkeypatch: pytest.MonkeyPatch) -> None:
    many = normal_noise((2300, 40), seed=9)
    monkeypatch.setenv("HALFLAYER_THREADS", "1")
    one = normal_noise((2300, 40), seed=9)
    assert np.array_equal(many, one)
    assert float(many.std()) == pytest.approx(1.0, abs=0.01)


def test_inherent_unsharpness_rises_with_energy_as_tables_carry_it() -> None:
    # Ir-192 0.17 mm and Co-60 0.35 mm (tables in textbooks; from memory, unverified), so within 20 % only.
    assert 1e3 * inherent_unsharpness_m(400.0) == pytest.approx(0.17, rel=0.2)
    assert 1e3 * inherent_unsharpness_m(1250.0) == pytest.approx(0.35, rel=0.2)


@pytest.mark.parametrize("sigma", [0.05, 0.4, 1.0, 3.7])
def test_a_bell_keeps_what_it_spreads(sigma: float) -> None:
    taps = bell(sigma)
    assert float(taps[0] + 2.0 * taps[1:].sum()) == pytest.approx(1.0, abs=1e-6)
    k = np.arange(len(taps))
    # Variance of a bell read by pixels: its own and that of a pixel, 1/12.
    if sigma >= 1.0:  # a narrower bell is read too coarsely for that
        assert 2.0 * float(np.sum(taps * k**2)) == pytest.approx(sigma**2 + 1 / 12, rel=0.02)


def test_an_edge_is_spread_by_the_unsharpness() -> None:
    step = np.zeros((9, 401), dtype=np.float32)
    step[:, 200:] = 1.0
    out = blurred(step, unsharpness_m=0.3e-3, pixel_m=1e-5)[4]
    slope = np.diff(out)
    x = np.arange(len(slope)) * 1e-5
    middle = float(np.sum(slope * x))
    # u / sqrt(12), the standard deviation of a box as wide as the unsharpness.
    assert math.sqrt(float(np.sum(slope * (x - middle) ** 2))) == pytest.approx(
        0.3e-3 / math.sqrt(12), rel=0.02
    )


def test_density_by_table_is_the_curve() -> None:
    response = film_response(film(), energy_keV=300.0)
    kerma = np.geomspace(1e-5, 0.05, 300).astype(np.float32)[None, :]
    table = mapped(kerma, response.density, low=1e-6, high=1.0)
    assert np.max(np.abs(table - response.density(kerma))) < 2e-3


def test_scatter_surface_goes_through_what_it_was_given() -> None:
    u, v = np.linspace(-0.04, 0.04, 3), np.linspace(0.0, 0.05, 5)
    x, y = np.meshgrid(u / 0.04, v / 0.05, indexing="ij")
    kerma = 3e-18 * np.exp(0.1 * x - 0.05 * x * x - 0.4 * y * y)
    places = np.repeat(u, 5), np.tile(v, 3)
    field = ScatterField.through(*places, kerma.ravel(), 0.02 * kerma.ravel())
    assert field.at(u, v) == pytest.approx(kerma, rel=1e-3)
    assert field.at(u, -v) == pytest.approx(field.at(u, v), rel=1e-12)  # symmetric about the beam's plane
    assert field.at(np.array([0.5]), np.array([0.9])) == pytest.approx(
        field.at(np.array([0.04]), np.array([0.05])), rel=0.01
    )
    # Less behind a cap 10 mm wide: the surface follows it there, and not beside it.
    x = np.repeat(np.array([-0.04, -0.012, -0.006, 0.0, 0.006, 0.012, 0.04]), 3)
    y = np.tile(np.array([0.0, 0.02, 0.04]), 7)
    dipped = 3e-18 * np.where(np.abs(x) < 0.005, 0.87, 1.0)
    behind = ScatterField.through(x, y, dipped, 0.01 * dipped)
    assert behind.at_points(np.array([(0.0, 0.01)]))[0] == pytest.approx(0.87 * 3e-18, rel=0.03)
    assert behind.at_points(np.array([(0.02, 0.01)]))[0] == pytest.approx(3e-18, rel=0.03)
    assert 0.0 < field.sigma_Gy < 0.02 * 3e-18


def test_letters_stand_on_the_film_in_lead() -> None:
    pixels = Frame(-0.03, -0.05, 1e-4, 600, 1000)
    found = markers.usual_letters(
        pixels,
        weld="W1",
        exposure="E1",
        order="T-1",
        date="2026-11-13",
        image_u_m=(-0.006, 0.006),
        half_v_m=0.045,
        radius_m=0.1,
        clock_rad=math.pi,
    )
    # The tape: every centimetre of the arc that is lit, numbered from clock 0; at clock 180 it is half round.
    said = [one.text for one in found if not one.text.isdigit()]
    assert said == ["W1", "E1", "T-1", "2026-11-13"]
    tape = {one.text: one.v_m for one in found if one.text.isdigit()}
    assert len(tape) == 9
    assert tape["31"] == pytest.approx(0.31 - math.pi * 0.1, abs=1e-9)
    patches = markers.lead_map(found, pixels)
    assert len(patches) == len(found)
    for row, column, lead in patches:
        assert row >= 0 and row + lead.shape[0] <= 600 and column >= 0 and column + lead.shape[1] <= 1000
        assert float(lead.max()) == pytest.approx(markers.LEAD_M, rel=0.1)


@pytest.mark.parametrize("above_m", [-0.006, -0.024])
def test_order_and_date_stand_over_each_other_on_a_flat_film(above_m: float) -> None:
    """Also where the sheet ends soon beyond the weld: both stay on the film and apart."""
    pixels = Frame(-0.03, -0.05, 1e-4, 600, 1000)
    found = markers.usual_letters(
        pixels,
        weld="W1",
        exposure="E1",
        order="T-1",
        date="2026-11-13",
        image_u_m=(above_m, 0.006),
        half_v_m=0.025,
        radius_m=None,
        clock_rad=math.pi,
    )
    by_text = {one.text: one for one in found}
    order, date = by_text["T-1"], by_text["2026-11-13"]
    assert order.u_m - date.u_m > order.height_m
    assert date.u_m - date.height_m / 2 >= float(pixels.u_m[0])
