"""Materials: built-in ones, mixtures of one's own, sheets by mass per area."""

from __future__ import annotations

import copy
import dataclasses
import json
import pickle

import pytest

from halflayer.base import serial
from halflayer.base.errors import OutOfRange
from halflayer.physics import materials
from halflayer.physics.elements import SYMBOLS, atomic_number, atomic_weight
from halflayer.physics.materials import Material, custom, material, sheet_from_areal_density


@pytest.mark.parametrize("name", materials.names())
def test_built_in(name: str) -> None:
    m = material(name)
    assert m.name == name
    assert m.source
    if name != "vacuum":
        assert sum(m.mass_fractions.values()) == pytest.approx(1.0, abs=1e-12)
        assert 1.0 < m.density_kg_m3 <= 19_300.0
    assert Material.from_json(json.loads(json.dumps(m.as_json()))) == m
    assert pickle.loads(pickle.dumps(m)) == m
    assert hash(Material.from_json(m.as_json())) == hash(m)
    assert serial.from_json(Material, json.loads(json.dumps(serial.to_json(m)))) == m
    assert Material(**dataclasses.asdict(m)) == copy.deepcopy(m) == m


def test_what_the_free_scene_and_the_trade_need_is_there() -> None:
    for name in ("air", "vacuum", "water", "steel", "iron", "lead", "tungsten", "concrete", "aluminium"):
        assert material(name).name == name
    for name in ("316L", "CuNi 90/10", "alloy 625", "tungsten rubber", "lead-rubber", "mineral wool", "LEAD"):
        assert material(name).density_kg_m3 > 0.0
    # What pipes, shields, contents and rooms are made of; bounds on the density in g/cm3 (common values, from memory).
    for name, low, high in (
        ("steel", 7.7, 7.9),
        ("stainless steel 316", 7.9, 8.1),
        ("steel 9Cr-1Mo-V", 7.7, 7.85),
        ("nickel alloy 625", 8.4, 8.5),
        ("nickel alloy C-276", 8.85, 8.95),
        ("copper-nickel 90/10", 8.85, 8.95),
        ("copper-nickel 70/30", 8.9, 9.0),
        ("aluminium alloy 5083", 2.6, 2.7),
        ("titanium", 4.5, 4.55),
        ("tungsten heavy alloy 95", 17.9, 18.2),
        ("oil", 0.8, 0.95),
        ("mineral wool", 0.03, 0.2),
        ("concrete", 2.2, 2.4),
    ):
        assert low <= material(name).density_kg_m3 / 1000.0 <= high, name
    assert set(materials.MATERIALS) == set(materials.names())


def test_an_unknown_name_lists_the_known_ones() -> None:
    with pytest.raises(OutOfRange, match="unknown material 'cheese'.*lead"):
        material("cheese")


def test_materials_cannot_be_changed() -> None:
    lead = material("lead")
    with pytest.raises(AttributeError):
        lead.density_kg_m3 = 1.0  # type: ignore[misc]
    with pytest.raises(TypeError):
        lead.mass_fractions["Pb"] = 0.5  # type: ignore[index]
    with pytest.raises(TypeError):
        lead.mass_fractions.update({"Pb": 0.5})  # type: ignore[attr-defined]


def test_custom_normalises_within_one_percent() -> None:
    blanket = custom("b", 5200.0, {"W": 0.85, "Si": 0.0568, "O": 0.0324, "C": 0.0486, "H": 0.0122, "Pb": 0.0})
    assert sum(blanket.mass_fractions.values()) == pytest.approx(1.0, abs=1e-15)
    assert "Pb" not in blanket.mass_fractions
    assert custom("a", 1.0, {"H": 0.995}).mass_fractions == {"H": 1.0}


@pytest.mark.parametrize(
    ("density", "fractions", "message"),
    [
        (0.0, {"Pb": 1.0}, "density"),
        (-1.0, {"Pb": 1.0}, "density"),
        (float("nan"), {"Pb": 1.0}, "density"),
        (30_000.0, {"Pb": 1.0}, "density"),
        (1000.0, {"Xx": 1.0}, "unknown element 'Xx'"),
        (1000.0, {"H": 0.98}, "add up to 0.98"),
        (1000.0, {}, "add up to 0"),
        (1000.0, {"H": 1.5, "O": -0.5}, "zero or more"),
        (1000.0, {"H": float("nan")}, "zero or more"),
    ],
)
def test_custom_refuses(density: float, fractions: dict[str, float], message: str) -> None:
    with pytest.raises(ValueError, match=message):
        custom("m", density, fractions)


def test_filled_rubber_cannot_be_denser_than_its_parts() -> None:
    """85 % tungsten in silicone stays below about 5.5 g/cm3: volumes add up (elements' densities read)."""
    assert 5000.0 < material("tungsten rubber").density_kg_m3 < 5500.0
    assert materials.mixed_density({19300.0: 0.85, 1100.0: 0.15}) == pytest.approx(5544.0, rel=1e-3)


def test_a_sheet_attenuates_by_what_was_weighed() -> None:
    plain = sheet_from_areal_density("tungsten rubber", areal_kg_m2=25.0)
    assert plain.material is material("tungsten rubber")
    thick = sheet_from_areal_density("tungsten rubber", areal_kg_m2=25.0, thickness_m=0.006)
    for sheet in (plain, thick):
        assert sheet.material.density_kg_m3 * sheet.thickness_m == pytest.approx(25.0, rel=1e-12)
    assert thick.material.mass_fractions == plain.material.mass_fractions


@pytest.mark.parametrize(
    ("areal", "thickness", "message"),
    [
        (25.0, 0.004, "without voids has 5311"),  # 6250 kg/m3: impossible
        (0.0, None, "above 0"),
        (float("nan"), None, "above 0"),
        (25.0, 0.0, "above 0"),
        (25.0, float("inf"), "above 0"),
    ],
)
def test_a_sheet_that_cannot_be(areal: float, thickness: float | None, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        sheet_from_areal_density("tungsten rubber", areal_kg_m2=areal, thickness_m=thickness)


def test_elements() -> None:
    assert (len(SYMBOLS), atomic_number("H"), atomic_number("Pb"), atomic_number("Fm")) == (100, 1, 82, 100)
    assert atomic_weight("Pb") == 207.2  # IUPAC 2021, abridged
    with pytest.raises(ValueError, match="unknown element"):
        atomic_number("Xx")
