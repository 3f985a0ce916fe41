"""Cross-section tables: grids, edges, mixing, interpolation; splines."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halflayer.base.errors import OutOfRange
from halflayer.data import load
from halflayer.physics import photons, spline
from halflayer.physics.materials import custom, material
from halflayer.physics.photons import cross_sections, element_cross_sections, interpolate, mu_per_m

NAMES = ("air", "water", "steel", "lead", "tungsten rubber", "antimonial lead", "concrete", "film emulsion")


@pytest.mark.parametrize("name", NAMES)
def test_a_table_is_positive_increasing_and_doubles_each_edge_once(name: str) -> None:
    table = cross_sections(material(name))
    steps = np.diff(table.energy_keV)
    assert np.all(steps >= 0.0)
    same = np.flatnonzero(steps == 0.0)
    assert np.all(np.diff(same) > 1)
    assert np.all(table.photoelectric[same + 1] > table.photoelectric[same])
    for row in (table.coherent, table.incoherent, table.photoelectric):
        assert np.all(row > 0.0)
    assert np.all((table.pair > 0.0) == (table.energy_keV > photons.PAIR_THRESHOLD_KEV))
    assert (table.energy_keV[0], table.energy_keV[-1]) == (photons.LOWEST_KEV, photons.HIGHEST_KEV)


@pytest.mark.parametrize("symbol", ["O", "Fe", "W", "Pb"])
def test_straight_lines_on_the_fine_grid_follow_the_splines(symbol: str) -> None:
    """Worst place: half way between grid points; 0.1 % of the total (our choice, MAX_LOG_STEP)."""
    table = element_cross_sections(symbol)
    middle = np.sqrt(table.energy_keV[1:] * table.energy_keV[:-1])
    middle = middle[(middle > 10.0) & (middle < 3000.0) & ~np.isin(middle, table.energy_keV)]
    element = photons._element(symbol)
    exact = element.at(middle, np.searchsorted(element.edges, middle, side="right"))
    rows = (table.coherent, table.incoherent, table.photoelectric, table.pair)
    for row, want in zip(rows, exact, strict=True):
        lines = interpolate(row, table.energy_keV, middle)
        assert np.max(np.abs(lines - want) / exact.sum(axis=0)) < 1e-3


@pytest.mark.parametrize(("symbol", "above_keV"), [("C", 45.0), ("Fe", 45.0), ("Sn", 45.0), ("Pb", 89.0)])
def test_the_splines_foretell_a_point_left_out(symbol: str, above_keV: float) -> None:
    """Each third grid point of XCOM above the K edge up to 3 MeV is foretold by the others within 0.6 %.

    The gap is then twice the one of the table, so the table itself is read far better (our choice of test).
    """
    rows = load.table("xcom")[symbol]
    keep = (rows[0] > above_keV) & (rows[0] <= 3000.0) & (rows[0] != 1022.0)
    x, y = np.log(rows[0, keep]), np.log(rows[1:4, keep].sum(axis=0))
    out = np.arange(1, len(x) - 1, 3)
    left = np.delete(np.arange(len(x)), out)
    m = spline.second_derivatives(x[left], y[left])
    error = np.exp(spline.evaluate(x[left], y[left], m, x[out]) - y[out]) - 1.0
    assert np.max(np.abs(error)) < 6e-3


def test_a_mixture_is_the_sum_of_its_parts() -> None:
    mix = custom("mix", 5000.0, {"Pb": 0.6, "W": 0.3, "C": 0.1})
    energy = np.array([15.3, 60.0, 69.6, 88.1, 250.0, 661.7, 1500.0])
    whole = cross_sections(mix)
    parts = sum(
        f * interpolate(element_cross_sections(s).total, element_cross_sections(s).energy_keV, energy)
        for s, f in mix.mass_fractions.items()
    )
    assert interpolate(whole.total, whole.energy_keV, energy) == pytest.approx(parts, rel=5e-4)
    per_m = mu_per_m(mix, energy)
    assert per_m == pytest.approx(0.1 * 5000.0 * parts, rel=5e-4)


def test_edges_are_sharp_and_the_upper_value_holds_on_them() -> None:
    lead = material("lead")
    edge = 88.004
    below, on, above = mu_per_m(lead, np.array([edge - 1e-6, edge, edge + 1e-6])) / 1135.0
    xcom = load.table("xcom")["Pb"]
    i = int(np.flatnonzero(xcom[0] == edge)[0])
    assert below == pytest.approx(xcom[1:, i].sum(), rel=1e-5)
    assert on == pytest.approx(xcom[1:, i + 1].sum(), rel=1e-9)
    assert above == pytest.approx(on, rel=1e-5)


def test_vacuum_attenuates_nothing() -> None:
    assert mu_per_m(material("vacuum"), [20.0, 400.0]).tolist() == [0.0, 0.0]


@pytest.mark.parametrize("energy", [0.5, 30_000.0, float("nan"), -1.0])
def test_outside_the_table_is_out_of_range(energy: float) -> None:
    with pytest.raises(OutOfRange, match="1 to 20000 keV"):
        mu_per_m(material("lead"), energy)
    with pytest.raises(OutOfRange, match="'Xx'"):
        element_cross_sections("Xx")


def test_shapes_are_kept() -> None:
    energies = np.full((2, 3), 400.0)
    assert mu_per_m(material("iron"), energies).shape == (2, 3)
    assert mu_per_m(material("iron"), 400.0).shape == ()
    assert mu_per_m(material("iron"), []).shape == (0,)


@pytest.mark.parametrize("symbol", ["H", "C", "Fe", "W", "Pb", "U"])
def test_form_factor_and_scattering_function_have_their_limits(symbol: str) -> None:
    from halflayer.physics.elements import atomic_number

    z = atomic_number(symbol)
    x, form = photons.form_factor(symbol)
    assert form[0] == z
    assert np.all(np.diff(form) <= 0.0)
    assert np.all(np.diff(x) > 0.0)
    x, scattering = photons.scattering_function(symbol)
    assert (scattering[0], scattering[-1]) == (0.0, z)
    assert np.all(np.diff(scattering) >= -1e-3)  # the evaluation itself dips by 4e-4 at its end (W, Pb)
    with pytest.raises(OutOfRange):
        photons.form_factor("Xx")


@settings(max_examples=50, deadline=None)
@given(st.lists(st.floats(-3, 3), min_size=4, max_size=9), st.floats(-2, 12))
def test_spline_runs_through_its_points_and_smoothly(values: list[float], at: float) -> None:
    x = np.arange(len(values), dtype=float)
    y = np.array(values)
    m = spline.second_derivatives(x, y)
    assert spline.evaluate(x, y, m, x) == pytest.approx(y, abs=1e-12)
    assert (m[0], m[-1]) == (0.0, 0.0)
    h = 1e-6
    left, middle, right = spline.evaluate(x, y, m, [at - h, at, at + h])
    assert abs(right - 2.0 * middle + left) < 1e-9  # no step and no kink anywhere, ends included


def test_spline_gives_back_a_straight_line() -> None:
    x = np.array([0.0, 1.0, 4.0, 5.0])
    m = spline.second_derivatives(x, 2.0 * x + 1.0)
    assert spline.evaluate(x, 2.0 * x + 1.0, m, [-2.0, 3.3, 9.0]) == pytest.approx([-3.0, 7.6, 19.0])


def test_import_is_light() -> None:
    code = (
        "import sys, halflayer.physics.nuclides, halflayer.physics.dosimetry;"
        "from halflayer.data.load import table;"
        "bad = [m for m in ('scipy', 'numba', 'pint', 'pydantic') if m in sys.modules];"
        "sys.exit(bool(bad) or table.cache_info().currsize > 0)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
