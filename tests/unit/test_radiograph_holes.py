"""Indicators of plates: which are laid and where, their holes in the image and against the noise, what is asked."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from exposure_cases import built, candidate, order
from halflayer.exposure.paths import film_hit
from halflayer.radiograph import bodies, judge, plates
from halflayer.radiograph.files import verdict_json
from halflayer.radiograph.markers import Letters, _aside
from halflayer.radiograph.predict import marked_points
from halflayer.radiograph.project import frame, primary
from halflayer.radiograph.seen_holes import image_of, seen_holes
from halflayer.radiograph.setting import Setting, setting
from halflayer.radiograph.visible import smallest
from halflayer.scene.trace import materials_along
from halflayer.technique.result import Candidate
from radiograph_cases import laid, wire_iqi


def through(made: Setting, hole: plates.Hole, aside_m: float = 0.0) -> float:
    """Metres of steel of the indicator on a ray through a hole, or beside it along the pipe."""
    start = tuple(a + 0.004 * d for a, d in zip(hole.at, hole.through, strict=True))
    start = (start[0] + aside_m, start[1], start[2])
    way = tuple(-d for d in hole.through)
    found = materials_along(made.optics.scene, start, way, 0.004 + hole.depth_m / 2 - 1e-7)  # type: ignore[arg-type]
    return sum(length for name, _, length in found if name == "steel")


@pytest.mark.parametrize(
    ("arrangement", "position", "od_m"),
    [("over", "source side", 0.0603), ("lean-out", "source side", 0.0603), ("strap", "film side", 0.1683)],
)
def test_plates_lie_on_their_side_with_open_holes(arrangement: str, position: str, od_m: float) -> None:
    facts: dict[str, Any] = {"aperture": "a40", "standoff_m": 0.03} if arrangement == "strap" else {}
    if arrangement == "lean-out":
        facts["offset_m"] = 0.09
    made, _ = laid(arrangement, position=position, od_m=od_m, **facts)
    assert made.plates is not None and not made.wires
    for hole in made.plates.holes:
        # nothing of the plate in the hole, all of its thickness beside it
        assert through(made, hole) == pytest.approx(0.0, abs=1e-9)
        assert through(made, hole, 0.8 * hole.diameter_m) == pytest.approx(hole.depth_m, abs=2e-7)
        clock = math.atan2(-hole.at[1], hole.at[2]) % (2 * math.pi)
        wanted = made.shot.source_clock_rad if position == "source side" else made.shot.detector_clock_rad
        assert math.cos(clock - wanted) > 0.98
        # beside the weld, on the outside
        assert abs(hole.at[0]) > made.weld.cap.width_m / 2
        assert math.hypot(hole.at[1], hole.at[2]) > od_m / 2


def test_step_plates_have_the_steps_of_the_standard() -> None:
    # ISO 19232-2: plate H5 holds H5 to H10, 0.32 to 1 mm (the French order of 1978, read, gives H4 to H14 alike).
    made, _ = laid()
    assert made.plates is not None
    found = made.plates
    assert [s.name for s in found.solids if s.name.startswith("plate")] == [
        f"plate H{n}" for n in range(5, 11)
    ]
    sizes = [h.diameter_m * 1e3 for h in found.holes]
    assert sizes == pytest.approx([0.32, 0.32, 0.4, 0.4, 0.5, 0.5, 0.63, 0.63, 0.8, 1.0])
    assert all(h.depth_m == h.diameter_m for h in found.holes)


def test_which_hole_is_asked() -> None:
    # ISO 17636-1:2013 Table B.6 (from memory, unverified), class A, two walls of 5.5 mm = 11 mm, source side.
    made, _ = laid()
    bands = ((0, 1, "H3"), (1, 2, "H4"), (2, 3.5, "H5"), (3.5, 5.5, "H6"), (5.5, 10, "H7"), (10, 19, "H8"))
    (wanted,) = [hole for above, up_to, hole in bands if above < 11.0 <= up_to]
    # the wire of the case is as asked or finer than the table's, so no relief
    assert made.plates is not None and made.plates.required == wanted
    assert "ISO 17636-1" in made.plates.source
    # one number of relief for the wire is one for the hole
    eased, _ = laid(iqi=wire_iqi("W11"))
    assert eased.plates is not None
    assert int(eased.plates.required[1:]) >= int(wanted[1:])


def test_asme_lays_a_plaque_with_three_holes() -> None:
    # ASME V (2007) Table T-276, read: up to 6.4 mm hole-type 12, source side; T-233.1, read: 0.32 mm, holes of
    # 0.32, 0.64 and 1.27 mm.
    iqi = replace(wire_iqi("W13"), required="wire 5", equivalents=("hole 12-2T", "17-1T", "7-4T"))
    made, field = laid(iqi=iqi)
    assert made.plates is not None and made.plates.required == "12-2T"
    assert sorted(h.diameter_m * 1e3 for h in made.plates.holes) == pytest.approx([0.32, 0.64, 1.27])
    found = {s.name: s for s in seen_holes(made, field)}
    assert set(found) == {"12-1T", "12-2T", "12-4T"}
    assert (
        found["12-1T"].contrast_to_noise < found["12-2T"].contrast_to_noise < found["12-4T"].contrast_to_noise
    )


def test_holes_are_seen_by_size_and_stand_in_json_beside_wires() -> None:
    made, field = laid(indicator="both")
    found = judge.verdict(made, field)
    ratios = [h.contrast_to_noise for h in found.holes]
    assert ratios == sorted(ratios, reverse=True) and len(ratios) == 6
    assert found.wires and found.required == "W13" and found.required_hole == "H8"
    assert found.smallest_hole in {h.name for h in found.holes if h.visible}
    data = json.loads(json.dumps(verdict_json(found), allow_nan=False))
    assert [h["designation"] for h in data["holes"]] == [h.name for h in found.holes]
    # no hole lies over a wire: beyond its end, or beside it round the pipe
    for hole in made.plates.holes:  # type: ignore[union-attr]
        clock = math.atan2(-hole.at[1], hole.at[2])
        for wire in made.wires:
            turned = math.remainder(clock - wire.clock_rad, 2 * math.pi) * wire.radius_m
            assert abs(hole.at[0]) > wire.length_m / 2 or abs(turned) > 0.005


@pytest.mark.parametrize(
    ("arrangement", "position", "density"),
    [
        ("over", "source side", 2.5),
        ("over", "source side", 1.0),
        ("lean-out", "source side", 2.5),
        ("strap", "film side", 2.5),
        ("strap", "film side", 0.7),
    ],
)
@pytest.mark.parametrize("required", ["H5", "H7", "H10"])
def test_looking_at_what_is_needed_gives_the_same_answer(
    monkeypatch: pytest.MonkeyPatch, arrangement: str, position: str, density: float, required: str
) -> None:
    # Against every hole looked at with all places, from the finest asked to the coarsest.
    monkeypatch.setattr("halflayer.radiograph.plates.required_hole", lambda *_: (required, "the test"))
    facts: dict[str, Any] = {}
    if arrangement == "strap":
        facts = {"aperture": "a40", "standoff_m": 0.03}
    elif arrangement == "lean-out":
        facts["offset_m"] = 0.09
    od_m = 0.1683 if arrangement == "strap" else 0.0603
    made, field = laid(arrangement, position=position, od_m=od_m, density=density, **facts)
    slow, fast = seen_holes(made, field), seen_holes(made, field, needed_only=True)
    every = {s.name: s for s in slow}
    assert smallest(fast) == smallest(slow)
    for one in fast:
        assert one.visible == every[one.name].visible
        assert one.contrast_to_noise == pytest.approx(every[one.name].contrast_to_noise, rel=0.01)
    asked = [s for s in fast if s.name == required]
    assert [s.visible for s in asked] == [every[required].visible]


@pytest.mark.parametrize("arrangement", ["over", "lean-out"])
def test_a_background_laid_through_few_places_is_that_traced_place_by_place(
    monkeypatch: pytest.MonkeyPatch, arrangement: str
) -> None:
    made, field = laid(arrangement, **({"offset_m": 0.09} if arrangement == "lean-out" else {}))
    few = seen_holes(made, field)
    monkeypatch.setattr("halflayer.radiograph.seen_holes._shadow", lambda *_: None)
    traced = seen_holes(made, field)
    for a, b in zip(few, traced, strict=True):
        assert a.contrast_to_noise == pytest.approx(b.contrast_to_noise, rel=1e-3, abs=1e-3)


def test_a_plate_is_turned_where_only_so_its_hole_is_on_the_film() -> None:
    # A sheet that ends between the near and the far steps: the hole asked is laid next to the weld.
    made, _ = laid()
    assert made.plates is not None
    name = made.plates.holes[-1].designation
    far = film_hit(made.built.film, made.built.source_at, made.plates.holes[-1].at)
    assert far is not None
    short = replace(made.built, film=replace(made.built.film, width_m=2.0 * (abs(far[0]) - 0.004)))
    plain = plates_on(made, short, made.plates.required)
    assert image_of(replace(made, built=short, plates=plain), plain.holes[-1].at) is None
    turned = plates_on(made, short, name)
    there = next(h for h in turned.holes if h.designation == name)
    assert image_of(replace(made, built=short, plates=turned), there.at) is not None
    assert abs(there.at[0]) == min(abs(h.at[0]) for h in turned.holes)


def plates_on(made: Setting, scene: Any, required: str) -> plates.Plates:
    """The plate that is laid on another sheet where one of its holes is asked."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("halflayer.radiograph.plates.required_hole", lambda *_: (required, "the test"))
        patch.setattr("halflayer.technique.step_holes.plate_with", lambda _: 5)
        one = setting(
            made.order,
            made.weld,
            made.candidate,
            made.shot,
            scene,
            activity_Bq=1.0,
            seconds=1.0,
            spots=14,
            indicator="holes",
        )
    assert one.plates is not None
    return one.plates


def test_a_hole_beside_the_sheet_is_a_stated_finding() -> None:
    made, field = laid()
    narrow = replace(made.built, film=replace(made.built.film, width_m=0.02))
    found = judge.verdict(replace(made, built=narrow), field)
    assert not found.holes and found.smallest_hole is None
    (stop,) = [f for f in found.findings if f.text.startswith("Hole")]
    assert stop.level == "stop" and "beside the film or the beam" in stop.text and not found.ok


def test_a_light_film_loses_its_hole_with_a_finding() -> None:
    made, field = laid(density=0.6)
    weak = replace(made, optics=made.optics, decays=made.decays / 40)
    found = judge.verdict(weak, field)
    assert not next(h for h in found.holes if h.name == found.required_hole).visible
    (stop,) = [f for f in found.findings if f.text.startswith("Hole")]
    assert stop.level == "stop" and "Rose" in stop.source and not found.ok


def test_plates_stand_in_the_image() -> None:
    made, _ = laid()
    assert made.plates is not None
    thick = made.plates.holes[-1]  # 1 mm
    hit = film_hit(made.built.film, made.built.source_at, thick.at)
    assert hit is not None
    pixels = frame(made.built.film, pixel_m=1e-4, width_m=0.02, length_m=0.02, middle=hit)
    image = primary(made.optics, pixels, marked=marked_points(made))
    bare = primary(replace(made.optics, scene=made.bare), pixels)
    ratio = image / bare
    i, j = pixels.index(*hit)
    plate, hole = float(ratio[i, j + 20]), float(ratio[i, j])
    # 1 mm of steel takes some 7 % of the primary of Se-75; the hole gives most of it back.
    assert 0.90 < plate < 0.96
    assert hole > plate + 0.7 * (1.0 - plate)
    # A hole stands in the image as every pixel traced alone gives it.
    alone = np.array(primary(made.optics, pixels, every=1))
    assert np.max(np.abs(image / alone - 1.0)) < 0.006


def test_a_source_in_the_bore_has_its_side_there() -> None:
    made, _ = laid("bore", od_m=0.3239, position="source side", shots=1, standoff_m=0.0)
    assert made.plates is not None
    for hole in made.plates.holes:
        assert math.hypot(hole.at[1], hole.at[2]) < made.weld.pipe.bore / 2
        assert through(made, hole) == pytest.approx(0.0, abs=1e-9)
    wired, _ = laid("bore", od_m=0.3239, position="source side", shots=1, standoff_m=0.0, indicator="wires")
    assert all(w.radius_m < made.weld.pipe.bore / 2 for w in wired.wires)
    outside, _ = laid("bore", od_m=0.3239, position="film side", shots=1, standoff_m=0.0, indicator="wires")
    assert all(w.radius_m > made.weld.pipe.od / 2 for w in outside.wires)


def test_sides_of_a_film_in_the_bore() -> None:
    made = order(od_m=0.3239)
    c: Candidate = candidate(made, "strap", aperture="a40", standoff_m=0.03)
    scene = built(made, c)[0]
    film = replace(scene.film, hollow=False, radius_m=0.14)
    inside = replace(scene, film=film)
    weld = made.welds[0]
    assert bodies.side_of(weld, inside, source_side=False, source_clock_rad=0.0).outwards == -1.0
    side = bodies.side_of(weld, inside, source_side=True, source_clock_rad=0.4)
    assert side.outwards == 1.0 and side.clock_rad == 0.4 and side.room_m == math.inf


def test_no_letters_over_the_plates() -> None:
    free = (-0.02, 0.02, -0.006, 0.006)
    over = Letters("S-101", 0.0, 0.001, 0.0075)
    moved = _aside(over, free)
    half = 0.5 * 0.75 * 0.0075 * 5
    assert moved.v_m - half >= 0.006
    assert _aside(replace(over, v_m=0.05), free).v_m == 0.05
    assert _aside(replace(over, u_m=0.04), free).v_m == 0.001
