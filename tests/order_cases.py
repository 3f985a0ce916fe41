"""A small valid order for the tests of reading, with a way to change one line of it; all figures are invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from halflayer.base.errors import InputError, Problem
from halflayer.order.models import Order
from halflayer.order.read import parse_order
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate

EXAMPLES = Path(__file__).parent.parent / "examples"
EXAMPLE = EXAMPLES / "tarn-mill.yaml"

SMALL = """\
order: T-1
title: one weld
site: {name: Somewhere, adviser: adviser, local_rules: LR 1}
code: ISO 17636-1:2013
class: A
limits:
  barrier: {profile: uk barrier}
  barrier_within: 8 m
  crew: {per_shift: 60 uSv, basis: LR 1}
shift: {starts: 2026-11-13T22:00Z, ends: 2026-11-14T06:00Z}
places:
  - {id: office, name: Office, at: [10 m, 0 m, 1 m], limit: {profile: uk public}}
obstacles:
  - {id: wall, name: Wall, material: brick, centre: [8 m, 0 m, 2 m], size: [0.3 m, 6 m, 4 m]}
materials:
  - {name: own rubber, density: 4 g/cm3, mass_fractions: {W: 0.8, C: 0.15, H: 0.05}}
sources:
  - {id: SE-1, nuclide: Se-75, activity: 2 TBq, on: 2026-11-02, diameter: 2 mm, length: 2 mm}
heads:
  - id: H1
    nuclides: [Se-75]
    placements: [over, lean-out]
    apertures: [{id: R14, shape: round, half_angle: 14 deg}]
    leakage: {activity: 3 TBq, at_1m: 4 uSv/h}
    body: [120 mm, 110 mm, 140 mm]
    source_to_face: 45 mm
    mass: 14 kg
    maximum_activity: 3 TBq
detectors:
  - id: F1
    film_class: C5
    dose_for_density_2: 8 mGy
    dose_uncertainty: 20 %
    basis: invented
    processing: automatic
    screens: {front: 0.1 mm, back: 0.15 mm}
    sheet: [100 mm, 240 mm]
kit:
  plates: [{id: PB, thickness: 4 mm, along: 300 mm, across: 300 mm, count: 12}]
  blankets:
    - {id: BN, material: own rubber, areal_density: 20 kg/m2, thickness: 6 mm, width: 0.3 m, length: 1.2 m, count: 9}
crew:
  - {id: P1, name: Ada, role: radiographer in charge}
  - {id: P2, name: Tom, role: radiographer}
instruments: [{id: SM, kind: survey meter, calibrated_until: 2027-03-31}, {id: PA-1, kind: personal alarm, calibrated_until: 2027-04-30}, {id: PA-2, kind: personal alarm, calibrated_until: 2027-04-30}]
welds:
  - id: W1
    pipe: {outer_diameter: 60.3 mm, wall: 5.54 mm, material: steel}
    cap: {width: 9 mm, height: 2 mm}
    at: [0 m, 0 m]
    height: 1.3 m
    left: {distance: 1 m}
    right: {kind: elbow, distance: 400 mm}
"""  # noqa: E501 - tests count its lines


def changed(*edits: tuple[str, str]) -> str:
    """The small order with each first text put in place of the second's; every one must stand there once."""
    text = SMALL
    for old, new in edits:
        assert text.count(old) == 1, f"{old!r} stands {text.count(old)} times"
        text = text.replace(old, new)
    return text


def order(*edits: tuple[str, str]) -> Order:
    """The small order as read, with edits."""
    return parse_order(changed(*edits), file="t.yaml")


def refusals(*edits: tuple[str, str]) -> tuple[Problem, ...]:
    """The problems of the small order with edits."""
    with pytest.raises(InputError) as error:
        order(*edits)
    return error.value.problems


def refusal(*edits: tuple[str, str]) -> str:
    """The one problem of the small order with edits, as a person reads it."""
    found = refusals(*edits)
    assert len(found) == 1, "\n".join(map(str, found))
    return str(found[0])


def first_way(order: Order, weld: str) -> Candidate:
    """The way of a weld that the technique stage prefers."""
    return choose_technique(order, order.weld(weld)).admissible[0]
