"""One test per table: it loads, its stamp is right and its first, middle and last rows stand as printed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halflayer.data import load

TEST_TABLES = Path(__file__).parents[1] / "data"

# table: number of rows, then (row, cells) for the first, a middle and the last row. Source and how it was
# verified stand in each table's own description; here the cells guard against a slip in copying.
ROWS: dict[str, tuple[int, list[tuple[int, dict[str, Any]]]]] = {
    "asme_v_art2_2007_equivalents": (
        16,
        [
            (0, {"required_2T": 10.0, "equivalent_1T": 15.0, "equivalent_4T": 5.0}),
            (1, {"required_2T": 12.0, "verification": "read in a stored page"}),
            (15, {"required_2T": 200.0, "equivalent_1T": 280.0, "equivalent_4T": 140.0}),
        ],
    ),
    "asme_v_art2_2007_holes": (
        23,
        [
            (0, {"designation": 5.0, "thickness_mm": 0.13, "1T_mm": 0.25}),
            (11, {"designation": 45.0, "2T_mm": 2.29}),
            (22, {"designation": 280.0, "thickness_mm": 7.11, "2T_mm": 14.22}),
        ],
    ),
    "asme_v_art2_2007_iqi": (
        15,
        [
            (0, {"above_mm": 0.0, "up_to_mm": 6.4, "source_side_wire": 5.0, "film_side_hole": 10.0}),
            (7, {"up_to_mm": 63.5, "source_side_hole": 40.0, "film_side_wire": 11.0}),
            (14, {"up_to_mm": 508.0, "source_side_wire": 21.0}),
        ],
    ),
    "asme_v_art2_2007_limits": (
        18,
        [
            (0, {"rule": "Ug max", "value": 0.51, "clause": "T-274.2"}),
            (11, {"rule": "DWDV max OD", "value": 89.0, "unit": "mm"}),
            (17, {"rule": "densitometer calibration interval", "value": 90.0}),
        ],
    ),
    "asme_v_art2_2007_wires": (
        21,
        [
            (0, {"wire": 1.0, "diameter_mm": 0.08, "sets": "A"}),
            (10, {"wire": 11.0, "diameter_mm": 0.81, "sets": "BC"}),
            (20, {"wire": 21.0, "diameter_in": 0.32, "sets": "D"}),
        ],
    ),
    "container_leakage": (
        11,
        [
            (0, {"item": "exposure container class P (portable)", "distance_m": 0.0, "limit_mSv_h": 2.0}),
            (5, {"item": "exposure container class M (mobile)", "distance_m": 1.0, "limit_mSv_h": 0.05}),
            (10, {"source": "10 CFR 34.21", "distance_m": 1.0, "limit_mSv_h": 0.1}),
        ],
    ),
    "elements": (
        100,
        [
            (0, {"z": 1.0, "symbol": "H", "atomic_weight": 1.008}),
            (25, {"z": 26.0, "symbol": "Fe", "atomic_weight": 55.845}),
            (99, {"z": 100.0, "symbol": "Fm", "name": "fermium"}),
        ],
    ),
    "emission_lines": (
        126,
        [
            (0, {"nuclide": "Se-75", "energy_keV": 24.3815, "photons_per_decay": 0.00027}),
            (29, {"nuclide": "Ir-192", "kind": "g", "energy_keV": 136.3426, "sigma": 0.00025}),
            (125, {"nuclide": "Cs-137", "energy_keV": 661.6553, "photons_per_decay": 0.8501}),
        ],
    ),
    "half_lives": (
        5,
        [
            (0, {"nuclide": "Se-75", "half_life": 119.781, "sigma": 0.024, "unit": "d"}),
            (2, {"nuclide": "Co-60", "half_life": 5.2711, "sigma": 0.0008, "unit": "a"}),
            (4, {"nuclide": "Cs-137", "half_life": 30.018, "sigma": 0.022, "unit": "a"}),
        ],
    ),
    "icrp74": (
        20,
        [
            (0, {"energy_keV": 10.0, "kerma_pGy_cm2": 7.43, "h10_per_kerma": 0.008}),
            (9, {"energy_keV": 150.0, "h10_per_kerma": 1.49, "h10_pSv_cm2": 0.89}),
            (19, {"energy_keV": 3000.0, "h10_per_kerma": 1.13, "h10_pSv_cm2": 11.1}),
        ],
    ),
    "iso17636_1_2013_film_screens": (
        16,
        [
            (0, {"nuclide": "Yb-169", "class": "A", "film_class": "C5", "front_max_mm": 0.03}),
            (11, {"nuclide": "Ir-192", "class": "B", "film_class": "C4", "front_min_mm": 0.1}),
            (15, {"nuclide": "Co-60", "class": "B", "film_class": "C5", "front_max_mm": 0.7}),
        ],
    ),
    "iso17636_1_2013_iqi": (
        149,
        [
            (0, {"table": "B.1", "above_mm": 0.0, "up_to_mm": 1.2, "required": "W18"}),
            (75, {"table": "B.6", "class": "A", "iqi_type": "step/hole", "required": "H3"}),
            (148, {"table": "B.12", "iqi_side": "film side", "above_mm": 60.0, "up_to_mm": 80.0}),
        ],
    ),
    "iso17636_1_2013_nuclides": (
        17,
        [
            (0, {"nuclide": "Tm-170", "class": "A", "w_min_mm": 0.0, "w_max_mm": 5.0}),
            (7, {"nuclide": "Ir-192", "class": "B", "w_min_mm": 20.0, "w_max_mm": 90.0}),
            (16, {"nuclide": "Se-75", "class": "B", "by_agreement": "yes", "w_min_mm": 5.0}),
        ],
    ),
    "iso19232_1_wires": (
        19,
        [
            (0, {"designation": "W1", "diameter_mm": 3.2}),
            (9, {"designation": "W10", "diameter_mm": 0.4}),
            (18, {"designation": "W19", "diameter_mm": 0.05}),
        ],
    ),
    "iso19232_2_step_holes": (
        18,
        [
            (0, {"designation": "H1", "hole_mm": 0.125}),
            (8, {"designation": "H9", "hole_mm": 0.8}),
            (17, {"designation": "H18", "hole_mm": 6.3}),
        ],
    ),
    "k_shell": (
        544,
        [
            (0, {"symbol": "Ca", "edge_keV": 4.0381, "line": "Ka3"}),
            (392, {"symbol": "W", "edge_keV": 69.525, "fluorescence_yield": 0.95492}),
            (543, {"symbol": "U", "line": "Kb4", "energy_keV": 114.828}),
        ],
    ),
    "limit_profiles": (
        14,
        [
            (0, {"profile": "uk", "subject": "barrier", "kind": "rate", "limit_Sv": 7.5e-6}),
            (4, {"profile": "us", "subject": "barrier", "kind": "dose", "limit_Sv": 20e-6}),
            (13, {"profile": "weekly", "averaging": "week", "limit_Sv": 20e-6}),
        ],
    ),
    "materials": (
        57,
        [
            (0, {"name": "air", "density_kg_m3": 1.205}),
            (25, {"name": "titanium", "density_kg_m3": 4510.0, "mass_fractions": "Ti:1"}),
            (56, {"name": "wood", "density_kg_m3": 600.0}),
        ],
    ),
    "nist_air": (
        32,
        [
            (0, {"energy_keV": 4.0, "mu_en_cm2_g": 76.36}),
            (16, {"energy_keV": 400.0, "mu_cm2_g": 0.09549, "mu_en_cm2_g": 0.02949}),
            (31, {"energy_keV": 20000.0, "mu_en_cm2_g": 0.01311}),
        ],
    ),
    "pipe_sizes": (
        382,
        [
            (0, {"nps": 0.5, "dn": 15.0, "schedule": "5", "od_mm": 21.3, "wall_mm": 1.65}),
            (190, {"nps": 3.0, "schedule": "160", "od_mm": 88.9, "wall_mm": 11.13}),
            (381, {"standard": "ASME B36.19M", "schedule": "80S"}),
        ],
    ),
}


@pytest.mark.parametrize("name", sorted(ROWS))
def test_table(name: str) -> None:
    count, wanted = ROWS[name]
    table = load.table(name)
    rows = list(table.rows())
    assert len(rows) == count == len(table)
    for index, cells in wanted:
        assert {k: rows[index][k] for k in cells} == cells


def test_xcom() -> None:
    table = load.table("xcom")
    assert len(table.columns.files) == 100
    lead = table["Pb"]
    assert lead.shape[0] == 5
    assert lead[:, 0].tolist() == [1.0, 12.509, 3.5865e-3, 5196.7, 0.0]
    at_edge = np.flatnonzero(lead[0] == 88.004)
    assert lead[3, at_edge].tolist() == [1.5474, 7.3213]
    assert lead[0, -1] == 20_000.0


def test_scattering() -> None:
    table = load.table("scattering")
    assert len(table.columns.files) == 200
    x, form = table["Pb_ff"]
    assert (x[0], form[0], x[1], form[2]) == (0.0, 82.0, 1e5 * 1e-8, 81.975)
    x, scattering = table["Pb_sf"]
    assert (scattering[0], scattering[-1]) == (0.0, 82.0)


@pytest.mark.parametrize("name", sorted(p.stem for p in TEST_TABLES.glob("*.toml")))
def test_tables_that_only_tests_use(name: str) -> None:
    table = load.table(name, TEST_TABLES)
    assert len(table.meta["verified"]) > 10  # how each table was checked is said in words


@pytest.mark.parametrize("path", sorted(load.FOLDER.glob("*.toml")), ids=lambda p: p.stem)
def test_descriptions_stand_alone(path: Path) -> None:
    """Each says source and verification, and names no file or place that a reader of the project lacks."""
    text = path.read_text(encoding="utf-8")
    for word in ("shared/", "/work", "http", "TODO"):
        assert word not in text
    assert load.table(path.stem).meta["source"]


def test_rows_say_how_they_were_verified() -> None:
    for name in ("pipe_sizes", "iso17636_1_2013_iqi", "iso19232_1_wires", "limit_profiles", "materials"):
        assert all(v.strip() for v in load.table(name)["verification"])


def _copy(tmp_path: Path, name: str) -> Path:
    for suffix in (".csv", ".toml"):
        text = (load.FOLDER / f"{name}{suffix}").read_text(encoding="utf-8")
        (tmp_path / f"{name}{suffix}").write_text(text, encoding="utf-8")
    return tmp_path


def test_a_changed_table_is_refused(tmp_path: Path) -> None:
    folder = _copy(tmp_path, "iso19232_1_wires")
    path = folder / "iso19232_1_wires.csv"
    path.write_text(path.read_text().replace("W1,3.2", "W1,3.3"))
    with pytest.raises(load.TableError, match="not the file"):
        load.table("iso19232_1_wires", folder)


@pytest.mark.parametrize(
    ("change", "message"),
    [
        (("4,7.788e+01", "5,7.788e+01"), "does not increase"),
        (("4,7.788e+01", "four,7.788e+01"), "could not convert"),
        (("energy_keV,", "energy,"), "are described as"),
    ],
)
def test_a_wrong_table_is_refused_even_when_stamped(
    tmp_path: Path, change: tuple[str, str], message: str
) -> None:
    from halflayer.data.derive.stamp import stamp

    folder = _copy(tmp_path, "nist_air")
    path = folder / "nist_air.csv"
    text = path.read_text()
    assert text.replace(*change) != text
    path.write_text(text.replace(*change, 1))
    stamp("nist_air", folder)
    with pytest.raises(load.TableError, match=message):
        load.table("nist_air", folder)


def test_a_missing_table_is_named(tmp_path: Path) -> None:
    with pytest.raises(load.TableError, match="no_such"):
        load.table("no_such", tmp_path)
