"""Holes seen on a predicted film against published sensitivities and equivalences.

French order of 24 March 1978, non-destructive testing annex, Part 2, Annex III, Table III (read in a stored copy):
smallest step hole that a radiograph of a butt weld must show, by thickness, beside the wire of the same row.
ASME V Article 2 (2007) Table T-283 (row 12 read, the others from memory, unverified): hole-type indicators of equal
sensitivity. ASTM E747 (formula from memory, unverified): F^3 d^3 l = T^2 H^2 pi / 4 for a wire of diameter d and a
hole H through a plate T, with F = 0.79 and l = 7.6 mm.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from exposure_cases import order
from halflayer.exposure.scatter_field import ScatterField
from halflayer.radiograph import judge
from halflayer.radiograph.project import frame
from halflayer.radiograph.seen_holes import seen_holes
from halflayer.radiograph.setting import Setting, by_monte_carlo
from halflayer.radiograph.visible import ROSE
from halflayer.technique.asme_v_art2_2007 import equivalents
from radiograph_cases import per_decay, way

# Thickness band [mm], hole and wire of the table (0.25 mm is H4, 0.32 H5, 0.4 H6 ... 1.25 H11).
TABLE_III = {(6, 10): 6, (10, 16): 7, (16, 25): 8, (25, 32): 9, (32, 40): 10, (40, 80): 11}


def single_wall(
    monkeypatch: pytest.MonkeyPatch,
    nuclide: str,
    thickness_m: float,
    required: str,
    *,
    position: str = "film side",
    batches: int | None = None,
) -> tuple[Setting, ScatterField]:
    """A wall shot from a source of 2 mm 200 mm inside it, C5 film outside to density 2.5, plates on one side."""
    monkeypatch.setattr("halflayer.radiograph.plates.required_hole", lambda *_: (required, "the test"))
    made = order(od_m=2 * (0.2 + thickness_m), wall_m=thickness_m, cap_m=0.0, nuclide=nuclide)
    c, scene = way(made, "bore", position=position, shots=1, standoff_m=0.0)
    one, at = per_decay(made, c, scene, "both")
    field = ScatterField.even(1.0 * float(one.kerma[at]))
    if batches is not None:
        field = by_monte_carlo(one, frame(one.built.film, pixel_m=1e-3), seed=1, batches=batches)
    kerma = float(one.kerma[at] + field.at(np.zeros(1), np.zeros(1))[0, 0])
    return replace(one, decays=one.response.curve.kerma_Gy(2.5) / kerma), field  # type: ignore[union-attr]


@pytest.mark.slow
@pytest.mark.parametrize(
    ("nuclide", "thickness_mm"), [("Se-75", 8), ("Se-75", 12), ("Se-75", 20), ("Ir-192", 28), ("Ir-192", 38)]
)
def test_holes_of_the_french_table_within_one(
    monkeypatch: pytest.MonkeyPatch, nuclide: str, thickness_mm: int
) -> None:
    (printed,) = [h for (low, high), h in TABLE_III.items() if low < thickness_mm <= high]
    setting_, field = single_wall(monkeypatch, nuclide, thickness_mm / 1e3, f"H{printed}", batches=6)
    found = {int(h.name[1:]): h for h in seen_holes(setting_, field)}
    numbers = sorted(found, reverse=True)
    seen_down_to = None
    for n in numbers:
        if not found[n].visible:
            break
        seen_down_to = n
    assert seen_down_to is not None and abs(seen_down_to - printed) <= 1


@pytest.mark.parametrize("required", [12, 17, 25])
def test_equal_sensitivities_of_hole_types(monkeypatch: pytest.MonkeyPatch, required: int) -> None:
    # A ratio of signal to noise goes with thickness times diameter, which the table keeps within a few steps of a
    # designation: within 25 %. (Rounded designations; 15-1T against 10-2T differ by 12 % alone.)
    setting_, field = single_wall(monkeypatch, "Se-75", 0.012, f"{required}-2T")
    two = {h.name: h for h in seen_holes(setting_, field)}[f"{required}-2T"]
    (one_t, four_t), _ = equivalents(required)
    for other in (one_t, four_t):
        changed, _ = single_wall(monkeypatch, "Se-75", 0.012, other)
        same = {h.name: h for h in seen_holes(changed, field)}[other]
        assert same.contrast_to_noise == pytest.approx(two.contrast_to_noise, rel=0.25)


@pytest.mark.parametrize("hole", ["H7", "H8"])
def test_wires_and_holes_of_equal_sensitivity_within_one_wire(
    monkeypatch: pytest.MonkeyPatch, hole: str
) -> None:
    setting_, field = single_wall(monkeypatch, "Se-75", 0.020, hole)
    found = next(h for h in seen_holes(setting_, field) if h.name == hole)
    # E747: the wire of equal sensitivity; T = H for a step hole
    size = found.size_m
    equal = (size**4 * math.pi / 4 / (0.79**3 * 7.6e-3)) ** (1 / 3)
    wires = {w.size_m: w.contrast_to_noise for w in judge.seen_wires(setting_, field)}
    # the diameter at which our criterion sees a wire as well as that hole, between the wires of the set
    sizes = sorted(wires)
    ratios = [wires[s] for s in sizes]
    assert ratios == sorted(ratios)
    logs = [math.log(r) for r in ratios]
    at = math.log(found.contrast_to_noise)
    low = max(n for n in range(len(sizes) - 1) if logs[n] <= at or n == 0)
    share = (at - logs[low]) / (logs[low + 1] - logs[low])
    mine = math.exp(math.log(sizes[low]) + share * math.log(sizes[low + 1] / sizes[low]))
    # One wire is a step of 10^(1/10) = 1.26 in diameter.
    assert mine / equal == pytest.approx(1.0, abs=0.27)
    assert found.contrast_to_noise > 0.5 * ROSE  # about what is judged, not far below
