"""Exposure times: choice of the seconds, findings, trail. Scatter is a given share of the primary here."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from exposure_cases import MOMENT, built, candidate, film, order
from halflayer.base.errors import OutOfRange
from halflayer.base.result import Finding
from halflayer.base.serial import from_json, to_json
from halflayer.exposure import findings, paths, scatter
from halflayer.exposure.film import film_curve
from halflayer.exposure.film_time import choose_seconds, wanted_density
from halflayer.exposure.result import Exposure
from halflayer.exposure.time import expose
from halflayer.order.models import Order
from halflayer.physics import nuclides
from halflayer.technique.result import Candidate

CURVE = film_curve(film())


@pytest.fixture(autouse=True)
def calls(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Stands in for the Monte Carlo: scatter half of the primary in the middle, known to 4 % of itself."""
    made: list[int] = []

    def half(shot: Any, scene: Any, points: Any, lines: Any, *, seed: int, batches: int, **_: Any) -> Any:
        made.append(seed)
        at = np.array([p.at for p in points])
        primary = paths.primary_kerma(scene, shot.source_at, at, *lines)
        middle = 0.5 * float(np.median(primary))
        return np.full(len(points), middle), np.full(len(points), 0.04 * middle)

    monkeypatch.setattr(scatter, "film_scatter", half)
    return made


def run(made: Order, way: Candidate, **changes: Any) -> Exposure:
    return expose(made, made.welds[0], way, built(made, way), **{"moment": MOMENT, **changes})


def pick(rate_weld: float, rate_least: float, rate_most: float, **changes: float) -> Any:
    given = {"wanted": 2.3, "least_allowed": 2.0, "most_allowed": 4.0} | changes
    return choose_seconds(
        **given, rate_weld_Gy_s=rate_weld, rate_least_Gy_s=rate_least, rate_most_Gy_s=rate_most, fast=CURVE
    )


def test_wanted_density_is_met_where_the_range_allows() -> None:
    choice = pick(1e-4, 0.95e-4, 1.2e-4)
    assert choice.reason == "wanted"
    assert float(CURVE.density(1e-4 * choice.seconds)) == pytest.approx(2.3, abs=1e-9)


def test_least_density_raises_the_time() -> None:
    choice = pick(1e-4, 0.8e-4, 1.2e-4)
    assert choice.reason == "least"
    assert float(CURVE.density(0.8e-4 * choice.seconds)) == pytest.approx(2.0, abs=1e-9)


def test_most_density_lowers_the_time() -> None:
    choice = pick(1e-4, 0.95e-4, 2.0e-4, wanted=3.0)
    assert choice.reason == "most"
    assert float(CURVE.density(2.0e-4 * choice.seconds)) == pytest.approx(4.0, abs=1e-9)


def test_range_that_fits_no_film_keeps_the_least_density() -> None:
    choice = pick(1e-4, 0.3e-4, 2.0e-4)
    assert choice.reason == "too wide"
    assert float(CURVE.density(0.3e-4 * choice.seconds)) == pytest.approx(2.0, abs=1e-9)


def test_density_wanted_comes_from_the_order_or_from_the_code_with_a_margin() -> None:
    made = order()
    way = candidate(made)
    assert wanted_density(made.welds[0], way) == pytest.approx(2.3)
    assert wanted_density(made.welds[0], candidate(made, density=(2.0, 2.2))) == pytest.approx(2.1)
    assert wanted_density(made.welds[0].model_copy(update={"density": 2.7}), way) == 2.7


def test_time_gives_its_density_and_the_kerma_behind_it() -> None:
    made = order()
    result = run(made, candidate(made))
    assert len(result.shots) == 3
    for shot in result.shots:
        kerma = shot.kerma_rate_Gy_s * float(shot.seconds.value)  # type: ignore[arg-type]
        assert float(CURVE.density(kerma)) == pytest.approx(shot.density.weld, abs=1e-9)
        assert shot.density.least <= shot.density.weld <= shot.density.most
        assert shot.density.least >= 2.0 - 1e-9
        assert "crown" in shot.density.where_least
        assert "beside the cap" in shot.density.where_most


def test_turned_shots_share_one_scatter_run_and_their_time(calls: list[int]) -> None:
    made = order()
    result = run(made, candidate(made), seed=7)
    assert calls == [7]
    times = [float(s.seconds.value) for s in result.shots]  # type: ignore[arg-type]
    assert times == pytest.approx([times[0]] * 3, rel=1e-6)


def test_a_shot_behind_an_obstacle_gets_its_own_scatter(calls: list[int]) -> None:
    made = order()
    way = candidate(made)
    shots = list(built(made, way))
    from halflayer.physics.materials import material
    from halflayer.scene.solids import Scene, Sphere

    middle = tuple(0.3 * a + 0.7 * b for a, b in zip(shots[1].film.centre, shots[1].source_at, strict=True))
    ball = Sphere("ball", middle, 0.01, None, material("steel"))
    shots[1] = replace(shots[1], scene=Scene((*shots[1].scene.solids, ball), shots[1].scene.surround))
    result = expose(made, made.welds[0], way, shots, moment=MOMENT)
    assert len(calls) == 2
    assert float(result.shots[1].seconds.value) > float(result.shots[0].seconds.value)  # type: ignore[arg-type]


def test_time_follows_decay_activity_and_calibration() -> None:
    made = order()
    way = candidate(made)
    now = run(made, way)
    half_life = nuclides.nuclide("Se-75").half_life_s
    later = run(made, way, moment=MOMENT + timedelta(seconds=half_life))
    seconds = [float(e.shots[0].seconds.value) for e in (now, later)]  # type: ignore[arg-type]
    assert seconds[1] == pytest.approx(2.0 * seconds[0], rel=1e-9)
    assert later.activity.value == pytest.approx(0.75e12, rel=1e-9)
    slow = order(calibration=1.3)
    assert run(slow, way).shots[0].seconds.value == pytest.approx(1.3 * seconds[0], rel=1e-9)


def test_certificate_dated_ahead_is_computed_back_with_a_note() -> None:
    made = order()
    result = run(made, candidate(made), moment=MOMENT - timedelta(days=10))
    assert float(result.activity.value) > 1.5e12  # type: ignore[arg-type]
    assert any("dated" in f.text and f.level == "note" for f in result.findings)


def test_uncertainty_is_that_of_film_activity_and_scatter() -> None:
    made = order()
    shot = run(made, candidate(made)).shots[0]
    noise = shot.scatter_to_primary_sigma / (1.0 + shot.scatter_to_primary)
    wanted = math.sqrt((0.3 / 1.645) ** 2 + (0.1 / 1.645) ** 2 + noise**2)
    assert shot.seconds.sigma == pytest.approx(float(shot.seconds.value) * wanted, rel=1e-6)  # type: ignore[arg-type]
    slope = CURVE.gradient(shot.density.weld) / math.log(10.0)
    assert shot.density.sigma == pytest.approx(slope * wanted, rel=1e-6)


def test_trail_reaches_half_life_lines_metal_scatter_and_film() -> None:
    made = order(contents="water", insulation={"material": "mineral wool", "thickness_m": 0.03})
    names = {d.name: d for _, d in run(made, candidate(made)).shots[0].seconds.walk()}
    for wanted in (
        "exposure_time",
        "activity",
        "half_life",
        "photon lines",
        "crossed steel",
        "crossed water",
        "crossed mineral wool",
        "scatter to primary",
        "dose for density 2",
        "film calibration",
        "distance source to film",
    ):
        assert wanted in names
    assert "DDEP" in names["half_life"].source
    assert names["crossed water"].value == pytest.approx(0.0603 - 2 * 0.0055, rel=1e-3)
    assert names["crossed steel"].value == pytest.approx(2 * 0.0055 + 2 * 0.0015, rel=2e-3)
    assert "calibrate" in names["exposure_time"].basis


def test_water_and_insulation_cost_time() -> None:
    bare, wet = order(), order(contents="water")
    way = candidate(bare)
    times = [float(run(o, way).shots[0].seconds.value) for o in (bare, wet)]  # type: ignore[arg-type]
    assert times[1] > 1.5 * times[0]


def level(result: Exposure, words: str) -> list[str]:
    return [f.level for f in result.findings if words in f.text]


def test_short_exposure_is_said() -> None:
    made = order(activity_Bq=4e13)
    result = run(made, candidate(made))
    assert level(result, "too short to time") == ["warn"]
    assert level(run(order(), candidate(order())), "too short to time") == []


def test_slow_source_travel_raises_what_counts_as_short() -> None:
    head = order().heads[0].model_copy(update={"travel_s": 20.0})
    shift = order().shift
    assert [f.level for f in findings.of_times([150.0], head, shift)] == ["warn"]
    assert findings.of_times([250.0], head, shift) == []


def test_long_exposures_are_said_and_one_beyond_the_shift_stops() -> None:
    head, shift = order().heads[0], order().shift
    assert [f.level for f in findings.of_times([4000.0], head, shift)] == ["warn"]
    assert [f.level for f in findings.of_times([100.0, 40000.0], head, shift)] == ["stop"]
    assert findings.of_times([3000.0, 40000.0], head, shift)[0].relax


def test_crown_against_flank_too_wide_asks_for_two_films() -> None:
    made = order(cap_m=0.008)
    result = run(made, candidate(made))
    assert level(result, "two films of different speed") == ["warn"]
    assert result.shots[0].density.least == pytest.approx(2.0, abs=1e-9)
    assert result.shots[0].density.most > 4.0


def test_weld_beside_the_sheet_and_outside_the_beam_is_said() -> None:
    small = order(sheet=(0.03, 0.03))
    assert "warn" in level(run(small, candidate(small)), "beside the film sheet")
    large = order(od_m=0.1683, wall_m=0.00711)
    way = candidate(large, "strap", standoff_m=0.02, shots=3, evaluated_rad=math.radians(120.0))
    assert level(run(large, way), "outside the beam") == ["warn"]


def test_uncalibrated_film_and_missing_lead_are_said() -> None:
    screens = {"material": "lead", "front_m": 1e-4, "back_m": 1e-4, "backing_lead_m": 0.0}
    made = order(screens=screens)
    result = run(made, candidate(made))
    assert level(result, "not calibrated") == ["warn"]
    assert level(result, "No lead stands behind") == ["note"]
    sure = order(calibration=1.1, dose_uncertainty=0.1)
    assert level(run(sure, candidate(sure)), "not calibrated") == []


def test_nothing_gets_through_is_an_error_of_the_method() -> None:
    made = order(contents="lead", od_m=0.5, wall_m=0.02)
    with pytest.raises(OutOfRange, match="hardly any radiation"):
        run(made, candidate(made, "strap", standoff_m=0.05, shots=3, evaluated_rad=0.5))


def test_nothing_on_the_film_is_an_error_of_the_method() -> None:
    made = order(sheet=(0.001, 0.001), od_m=0.0889, wall_m=0.0055)
    with pytest.raises(OutOfRange, match="on the film"):
        run(made, candidate(made, "lean-out", offset_m=0.15, shots=2))


def test_result_goes_to_json_and_back() -> None:
    made = order()
    result = run(made, candidate(made))
    assert from_json(Exposure, to_json(result)) == result
    assert all(isinstance(f, Finding) for f in result.findings)
