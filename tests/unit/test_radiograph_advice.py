"""What is said to change when a film is short: done as said, it is no longer short."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest

from exposure_cases import order
from halflayer.exposure.scatter_field import ScatterField
from halflayer.radiograph import advice, judge
from halflayer.radiograph.seen_holes import seen_holes
from halflayer.radiograph.setting import Setting, weld_index
from halflayer.technique.ellipse import wanted_opening_m
from radiograph_cases import laid, set_up


def to_density(made: Setting, density: float) -> tuple[Setting, ScatterField]:
    """Exposed to a density behind the weld, scatter 0.7 of the primary."""
    at = weld_index(made)
    assert at is not None
    field = ScatterField.even(0.7 * float(made.kerma[at]))
    kerma = made.response.curve.kerma_Gy(density)  # type: ignore[union-attr]
    return replace(made, decays=kerma / (1.7 * float(made.kerma[at]))), field


@pytest.mark.parametrize(("offset_m", "words"), [(0.07, "larger"), (0.30, "smaller")])
def test_the_offset_that_is_named_opens_the_ellipse(offset_m: float, words: str) -> None:
    made, field = to_density(set_up(None, "lean-out", offset_m=offset_m, aperture="a40"), 2.5)
    found = [f for f in judge.verdict(made, field).findings if f.text.startswith("The ellipse")]
    (relax,) = found[0].relax
    assert words in relax
    named = re.search(r": (\d+) mm in place of (\d+) mm", relax)
    assert named is not None and float(named[2]) == pytest.approx(1e3 * offset_m, abs=0.5)
    again = set_up(None, "lean-out", offset_m=float(named[1]) / 1e3, aperture="a40")
    opened = judge.opening_m(again)
    assert opened is not None
    # Half a millimetre of rounding moves the images by less than 0.1 mm.
    assert opened == pytest.approx(wanted_opening_m(made.weld.cap.width_m), abs=2e-4)


@pytest.mark.parametrize(("density", "place", "wanted"), [(1.6, "least", 2.0), (4.2, "most", 4.0)])
def test_the_time_that_is_named_brings_the_density(density: float, place: str, wanted: float) -> None:
    made, field = to_density(set_up(), density)
    found = judge.verdict(made, field)
    (said,) = [r for f in found.findings if f.text.startswith("Density") for r in f.relax if "times the" in r]
    factor = re.search(r"([\d.]+) times the time", said)
    assert factor is not None
    again = judge.verdict(replace(made, decays=made.decays * float(factor[1])), field)
    assert again.readings is not None
    # The factor is rounded to a hundredth, a density of 0.02 or less.
    assert getattr(again.readings, place) == pytest.approx(wanted, abs=0.03)


def test_a_time_far_off_is_no_number() -> None:
    made, _ = to_density(set_up(), 2.5)
    assert advice.exposure(made, 1e-9, 2.0) == "expose longer, by more than 20 times"
    assert advice.exposure(made, 0.0, 2.0) == "expose longer, by more than 20 times"
    assert advice.exposure(made, 1e3, 4.0) == "expose shorter, by more than 20 times"


def holes_from(spot_m: float, standoff_m: float) -> tuple[Setting, ScatterField]:
    """A step-hole plate on a 60 mm pipe, to density 2.5."""
    made = order()
    source = made.sources[0].model_copy(update={"diameter_m": spot_m, "length_m": spot_m})
    return laid(made=made.model_copy(update={"sources": (source,)}), standoff_m=standoff_m, aperture="a40")


def asked_hole(made: Setting, field: ScatterField) -> bool:
    """True where the hole asked is seen."""
    assert made.plates is not None
    return next(h for h in seen_holes(made, field) if h.name == made.plates.required).visible


def test_what_shows_a_hole_is_found_by_trying_and_shows_it_when_it_is_done() -> None:
    # A spot of 4 mm 100 mm from a 60 mm pipe throws a shadow of 2.5 mm over a hole of 0.63 mm.
    near, field = holes_from(0.004, 0.1)
    (stop,) = [f for f in judge.verdict(near, field).findings if f.text.startswith("Hole")]
    assert {"twice the distance", "a spot half as wide"} <= set(stop.relax)
    assert "a fifth more exposure" not in stop.relax
    # built anew each time, not changed in place
    assert asked_hole(*holes_from(0.004, 0.2))
    assert asked_hole(*holes_from(0.002, 0.1))
    longer = replace(near, decays=1.2 * near.decays)
    assert not asked_hole(longer, field)


def test_what_does_not_help_alone_is_not_said_to_help() -> None:
    # A spot of 8 mm at 60 mm: its shadow is ten times as wide as the hole, and from 120 mm still five times.
    near, field = holes_from(0.008, 0.06)
    (stop,) = [f for f in judge.verdict(near, field).findings if f.text.startswith("Hole")]
    assert "twice the distance is not enough alone" in stop.relax
    assert not asked_hole(*holes_from(0.008, 0.12))
