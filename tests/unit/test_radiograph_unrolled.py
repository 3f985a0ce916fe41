"""The unrolled weld of a radiograph: against the exposure stage, by geometry, its changes, its picture and text."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from test_radiograph_digital import with_detector

from exposure_cases import MOMENT, built, candidate, order
from halflayer.base.result import Derived
from halflayer.exposure import covered
from halflayer.exposure.result import Density, ShotTime
from halflayer.exposure.scatter_field import ScatterField
from halflayer.exposure.time import expose
from halflayer.order.models import Order
from halflayer.radiograph import files
from halflayer.radiograph.map_picture import map_lines, picture, pieces
from halflayer.radiograph.predict import predict
from halflayer.radiograph.setting import Setting, by_exposure, by_ratio, setting, weld_index
from halflayer.radiograph.unrolled import weld_map
from radiograph_cases import wire_iqi


def exposures(
    made: Order,
    arrangement: str = "strap",
    *,
    density: float = 2.6,
    growth: float | None = None,
    density_range: tuple[float, float] = (2.0, 4.0),
    **facts: Any,
) -> tuple[list[Setting], list[ScatterField]]:
    """All exposures of a weld with an even field, each to a density (or at 10 mGy) behind the weld."""
    c = replace(
        candidate(made, arrangement, density=density_range, **facts), iqi=wire_iqi(), growth_max=growth
    )
    if not made.detectors:
        c = replace(c, detector="IP1", snr_n_min=70.0)
    settings, fields = [], []
    for shot, scene in zip(c.shots, built(made, c), strict=True):
        one = setting(made, made.welds[0], c, shot, scene, activity_Bq=1.5e12, seconds=1.0, spots=6)
        at = weld_index(one)
        assert at is not None
        wanted = one.response.curve.kerma_Gy(density) if made.detectors else 0.01  # type: ignore[union-attr]
        field = ScatterField.even(0.6 * float(one.kerma[at]))
        settings.append(replace(one, decays=wanted / (1.6 * float(one.kerma[at]))))
        fields.append(field)
    return settings, fields


def strapped(**facts: Any) -> tuple[list[Setting], list[ScatterField]]:
    """A source on a DN150 pipe, film on the far side."""
    made = order(od_m=0.1683, wall_m=0.0071, sheet=(0.1, facts.pop("sheet_m", 0.4)))
    return exposures(
        made,
        standoff_m=0.03,
        aperture="a40",
        evaluated_rad=math.radians(facts.pop("judged_deg", 90.0)),
        **facts,
    )


def test_growth_ends_the_stretch_where_geometry_says() -> None:
    settings, fields = strapped(shots=4, growth=0.1)
    found, _ = weld_map(settings, fields)
    first = [c for c in found.coverage.covered if c.exposure == 1]
    (one,) = first
    assert set(one.ends) == {"growth of the crossed wall"}
    # The last station with growth of 10 % or less, by the law of cosines: the ray from the source at distance s
    # from the axis leaves the pipe of radius R at angle phi, crossing the far wall under an angle a to its normal.
    s, big, small = 0.1683 / 2 + 0.03, 0.1683 / 2, 0.1683 / 2 - 0.0071

    def grown(phi: float) -> float:
        # ray from (0, s) to (R sin phi, -R cos phi); its distance from the axis p; chord in the far wall
        d = math.hypot(big * math.sin(phi), s + big * math.cos(phi))
        p = s * big * math.sin(phi) / d
        return (math.sqrt(big**2 - p**2) - math.sqrt(small**2 - p**2)) / 0.0071 - 1.0

    most = max(k for k in range(0, 80, 2) if grown(math.radians(k)) <= 0.1)
    assert math.degrees(one.length_rad) == pytest.approx(2.0 * most, abs=1e-6)


def test_exposures_alike_are_turned_and_together_close_the_weld() -> None:
    settings, fields = strapped(shots=4, growth=0.2)
    found, said = weld_map(settings, fields)
    assert [s.exposure for s in found.strips] == [1, 2, 3, 4]
    starts = [c.start_rad for c in found.coverage.covered]
    assert np.diff(np.unwrap(starts)) == pytest.approx(np.full(3, math.pi / 2), abs=1e-9)
    assert not found.coverage.uncovered and said == ()


def test_too_few_exposures_leave_gaps_and_the_number_that_closes_them_is_named() -> None:
    settings, fields = strapped(shots=2, growth=0.1, judged_deg=180.0)
    found, said = weld_map(settings, fields)
    widest = max(c.length_rad for c in found.coverage.covered)
    left = sum(length for _, length in found.coverage.uncovered)
    assert left == pytest.approx(2 * math.pi - 2 * widest, abs=1e-9)
    (finding,) = said
    assert finding.level == "warn" and "covered by no exposure" in finding.text
    asked = math.ceil(2 * math.pi / (widest - covered.STEP_RAD))
    assert f"{asked} exposures in place of 2" in finding.relax
    # and that number does close it
    again, fields = strapped(shots=asked, growth=0.1, judged_deg=360.0 / asked)
    assert not weld_map(again, fields)[0].coverage.uncovered


def test_a_film_that_is_too_light_says_how_much_longer() -> None:
    settings, fields = strapped(shots=4, density=1.7)
    found, (finding,) = weld_map(settings, fields)
    assert {w for s in found.strips for row in s.why for w in row} >= {"too light"}
    (longer,) = [r for r in finding.relax if "times the exposure time" in r]
    factor = float(longer.split(" ")[0])
    assert factor > 1.0
    changed = [replace(s, decays=s.decays * factor) for s in settings]
    assert not weld_map(changed, fields)[0].coverage.uncovered


def test_a_short_sheet_says_how_long_it_must_be() -> None:
    settings, fields = strapped(shots=4, sheet_m=0.10)
    found, (finding,) = weld_map(settings, fields)
    assert any("film" in c.ends for c in found.coverage.covered)
    (sheet,) = [r for r in finding.relax if r.startswith("a sheet of")]
    # A quarter of the way round on the film's own radius, and no more than a millimetre of rounding.
    film = settings[0].built.film
    assert film.radius_m is not None
    length = float(sheet.split(" ")[3])
    assert length == pytest.approx(1e3 * film.radius_m * math.pi / 2, rel=0.03)


def test_two_films_cover_what_one_cannot() -> None:
    # A narrow range leaves the dark middle of each image; a film of two thirds of the speed shows it.
    data = order().as_json()
    data["detectors"].append({**data["detectors"][0], "id": "F2", "dose_for_density_2_Gy": 0.014})
    made = Order.from_json(data)
    settings, fields = exposures(made, "over", shots=3, density=2.75, density_range=(2.0, 2.6))
    alone, said = weld_map(settings, fields)
    assert alone.coverage.uncovered
    assert any("film F2 beside F1 in the holder" in r for f in said for r in f.relax)
    weld = made.welds[0]
    pair = [
        replace(
            setting(
                made, weld, s.candidate, s.shot, s.built, activity_Bq=1.0, seconds=1.0, spots=6, second="F2"
            ),
            decays=s.decays,
        )
        for s in settings
    ]
    assert not weld_map(pair, fields)[0].coverage.uncovered


def test_digital_is_judged_by_its_ratio_beside_the_cap() -> None:
    made = with_detector()
    data = made.as_json()
    data["detectors"] = []
    made = Order.from_json(data)
    settings, fields = exposures(made, "over", shots=3)
    found, _ = weld_map(settings, fields)
    assert found.coverage.covered
    dim = [replace(s, decays=s.decays / 40) for s in settings]
    dark, said = weld_map(dim, fields)
    assert not dark.coverage.covered and said
    full = [replace(s, decays=s.decays * 40) for s in settings]
    assert {w for s in weld_map(full, fields)[0].strips for row in s.why for w in row} >= {"too dark"}


def test_the_map_agrees_with_the_exposure_stage() -> None:
    # The exposure stage looks at crown and flanks with scatter of its own; growth ends both alike.
    made = order(od_m=0.1683, wall_m=0.0071)
    facts = {"standoff_m": 0.03, "aperture": "a40", "evaluated_rad": math.radians(90.0), "shots": 4}
    c = replace(candidate(made, "strap", **facts), iqi=wire_iqi(), growth_max=0.2)
    scenes = built(made, c)
    exposure = expose(made, made.welds[0], c, scenes, moment=MOMENT, batches=1)
    assert exposure.coverage is not None
    settings = []
    for shot, scene, timed in zip(c.shots, scenes, exposure.shots, strict=True):
        seconds = float(timed.seconds.value)  # type: ignore[arg-type]
        settings.append(
            setting(made, made.welds[0], c, shot, scene, activity_Bq=1.5e12, seconds=seconds, spots=6)
        )
    fields = [by_exposure(s, t) for s, t in zip(settings, exposure.shots, strict=True)]
    found, _ = weld_map(settings, fields)
    for mine, there in zip(found.coverage.covered, exposure.coverage.covered, strict=True):
        assert mine.ends == there.ends
        assert mine.start_rad == pytest.approx(there.start_rad, abs=1e-9)
        assert mine.length_rad == pytest.approx(there.length_rad, abs=1e-9)


def test_picture_text_and_json_tell_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    def even(made: Setting, *_: Any, **__: Any) -> ScatterField:
        return by_ratio(made, 0.7, 0.02)

    monkeypatch.setattr("halflayer.radiograph.predict.by_monte_carlo", even)
    made = order()
    c = replace(candidate(made, "over", shots=2), iqi=wire_iqi())
    scenes = built(made, c)
    timed = ShotTime(
        Derived("exposure_time", 90.0, "s"), Density(2.5, 2.2, 3.0, 0.2, "crown", "beside"), 1e-4, 0.7, 0.02
    )
    got = predict(
        made,
        made.welds[0],
        c,
        scenes[0],
        activity_Bq=1.5e12,
        seconds=90.0,
        pixel_m=1e-3,
        all_built=scenes,
        times=(timed, timed),
    )
    assert got.weld_map is not None
    image = picture(got, outer_diameter_m=0.0603)
    assert image.size[0] == 1500 and len(set(image.convert("L").tobytes())) > 30
    data = json.loads(json.dumps(files.radiograph_json(got)["coverage"], allow_nan=False))
    assert {c["exposure"] for c in data["covered"]} <= {1, 2}
    lines = map_lines(got.weld_map)
    (together,) = [line for line in lines if line.startswith("together")]
    left = sum(u["length_deg"] for u in data["uncovered"])
    assert (together.count(".") == 0) == (left == 0)
    assert abs(together.count(".") * 5 - left) <= 10 * max(len(data["uncovered"]), 1)
    alone = predict(made, made.welds[0], c, scenes[0], activity_Bq=1.5e12, seconds=90.0, pixel_m=1e-3)
    assert alone.weld_map is None and files.radiograph_json(alone)["coverage"] is None


@pytest.mark.parametrize(("start", "length"), [(350.0, 30.0), (-20.0, 50.0), (10.0, 5.0), (0.0, 360.0)])
def test_pieces_keep_their_length(start: float, length: float) -> None:
    found = pieces(math.radians(start), math.radians(length))
    assert sum(b - a for a, b in found) == pytest.approx(math.radians(length))
    assert all(0.0 <= a <= b <= 2 * math.pi + 1e-9 for a, b in found)
