"""The quick prediction of a plan: the same verdict as the full one, its picture on the sheet, JSON without loss."""

from __future__ import annotations

import base64
import io
import json
from dataclasses import replace

import numpy as np
import pytest

from exposure_cases import built, order
from halflayer.base.result import Derived, Finding
from halflayer.base.serial import from_json, to_json
from halflayer.exposure.result import Density, Exposure, ShotTime
from halflayer.radiograph import judge
from halflayer.radiograph.bodies import wire_set
from halflayer.radiograph.files import verdict_json
from halflayer.radiograph.quick import findings, for_plan, quick
from halflayer.radiograph.result import Quick
from halflayer.radiograph.setting import by_ratio, setting
from halflayer.sheet.figures import Show
from halflayer.sheet.film_picture import film_picture, film_words
from radiograph_cases import way


def timed(seconds: float) -> ShotTime:
    """A time of a shot; its density is not looked at."""
    return ShotTime(
        Derived("exposure_time", seconds, "s"),
        Density(2.5, 2.2, 3.0, 0.2, "crown", "beside"),
        1e-4,
        0.7,
        0.02,
    )


@pytest.mark.parametrize("arrangement", ["over", "strap"])
def test_the_quick_verdict_is_that_of_the_full_one(arrangement: str) -> None:
    made = order(od_m=0.0603 if arrangement == "over" else 0.1683)
    standoff = 0.4 if arrangement == "over" else 0.03
    c, scene = way(made, arrangement, aperture="a15" if arrangement == "over" else "a40", standoff_m=standoff)
    shot = timed(100.0)
    fast = quick(made, made.welds[0], c, scene, shot, activity_Bq=1.5e12)
    full = setting(made, made.welds[0], c, c.shots[0], scene, activity_Bq=1.5e12, seconds=100.0, spots=60)
    slow = judge.verdict(full, by_ratio(full, 0.7, 0.02))
    assert fast.verdict.readings is not None and slow.readings is not None
    assert fast.verdict.readings.weld == pytest.approx(slow.readings.weld, abs=0.01)
    assert fast.verdict.readings.most == pytest.approx(slow.readings.most, abs=0.03)
    for a, b in zip(fast.verdict.wires, slow.wires, strict=True):
        assert a.contrast_to_noise == pytest.approx(b.contrast_to_noise, rel=0.04)
    assert fast.verdict.scatter_to_primary == pytest.approx(0.7, rel=1e-6)
    assert fast.verdict.opening_m == slow.opening_m


def test_a_film_round_a_large_pipe_has_a_picture() -> None:
    """1.9 m in three hundred pixels are coarser than any detector; across the strip there are sixty at least."""
    made = order(od_m=0.610, wall_m=0.0095)
    c, scene = way(made, "bore")
    fast = quick(made, made.welds[0], c, scene, timed(100.0), activity_Bq=1.5e12)
    assert min(fast.width_m, fast.height_m) > 0.02 and fast.picture


def test_the_picture_shows_the_weld_and_goes_onto_the_sheet() -> None:
    from PIL import Image

    made = order()
    c, scene = way(made, "lean-out", offset_m=0.12)
    fast = quick(made, made.welds[0], c, scene, timed(900.0), activity_Bq=1.5e12)
    with Image.open(io.BytesIO(base64.b64decode(fast.picture))) as picture:
        grey = np.asarray(picture)
        assert max(picture.size) <= 300
    assert fast.width_m / fast.height_m == pytest.approx(grey.shape[1] / grey.shape[0], rel=0.02)
    # The crown of the weld is lighter than the wall between its two images.
    middle = grey[:, grey.shape[1] // 2].astype(float)
    assert middle.max() - middle.min() > 15
    svg = film_picture(fast, Show(), width_mm=91.0)
    assert "data:image/png;base64," in svg and "mm on the film" in svg
    words = film_words(fast)
    assert words.startswith("wire W13 asked") and "density" in words and "images" in words
    # By hand: where the finest wire seen is the last one laid, how much finer one would be seen cannot be told.
    v = fast.verdict
    finest = next(w for w in v.wires if w.name == v.smallest_visible)
    coarser = tuple(w for w in v.wires if w.size_m >= finest.size_m)
    last = replace(fast, verdict=replace(v, wires=coarser))
    assert "(the wires laid have no finer one)" in film_words(last)
    thin = replace(finest, name="W99", size_m=finest.size_m / 2, visible=False)
    assert "no finer" not in film_words(replace(fast, verdict=replace(v, wires=(*coarser, thin))))


def test_what_a_plan_says_of_the_film() -> None:
    made = order()
    c, scene = way(made, "over", required="W16")
    shots = built(made, c)
    exposure = Exposure(Derived("activity", 1.5e12, "Bq"), tuple(timed(60.0) for _ in c.shots), ())
    predicted = for_plan(made, made.welds[0], c, shots, exposure)
    assert len(predicted) == 1  # three shots alike are looked at once
    (found,) = findings(predicted)
    assert found.level == "warn"  # a film is not made yet: nothing stops the plan
    assert "Exposure 1, predicted: Wire W16" in found.text and found.relax
    other = replace(exposure, shots=(timed(60.0), timed(61.0), timed(60.0)))
    two = for_plan(made, made.welds[0], c, shots, other)
    assert [q.shot for q in two] == [0, 1]
    assert two[0].picture and not two[1].picture


def test_a_prediction_goes_through_json_without_loss() -> None:
    made = order()
    c, scene = way(made)
    fast = quick(made, made.welds[0], c, scene, timed(60.0), activity_Bq=1.5e12)
    text = json.dumps(to_json(fast), allow_nan=False)
    assert from_json(Quick, json.loads(text)) == fast
    json.dumps(verdict_json(fast.verdict), allow_nan=False)


def test_a_film_beside_the_beam_is_a_stated_finding() -> None:
    made = order()
    c, scene = way(made)
    # the film slid one metre along the pipe
    film = replace(scene.film, centre=(1.0, 0.0, scene.film.centre[2]))
    fast = quick(made, made.welds[0], c, replace(scene, film=film), timed(60.0), activity_Bq=1.5e12)
    assert fast.verdict.readings is None and not fast.verdict.ok
    assert any("misses the beam" in f.text and f.level == "stop" for f in fast.verdict.findings)
    assert isinstance(findings([fast])[0], Finding)
    assert json.dumps(verdict_json(fast.verdict), allow_nan=False)


def test_sets_of_both_kinds() -> None:
    assert list(wire_set("W13")) == ["W10", "W11", "W12", "W13", "W14", "W15", "W16"]
    # ASME V Article 2 (2007) Table T-233.2, read: set B is wires 6 to 11, 0.25 to 0.81 mm.
    assert list(wire_set("wire 7")) == ["wire 11", "wire 10", "wire 9", "wire 8", "wire 7", "wire 6"]
    assert wire_set("wire 6")["wire 6"] == pytest.approx(0.25e-3)
