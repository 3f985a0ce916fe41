"""Scatter over a predicted film: against a general-purpose Monte Carlo library, and against the exposure stage."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from exposure_cases import BEHIND_A_PLATE, behind_a_plate, built, candidate, order
from halflayer.exposure import paths
from halflayer.exposure.paths import FilmPoint
from halflayer.exposure.rates import shot_rates
from halflayer.exposure.scatter import BATCHES, beam_of, film_scatter
from halflayer.exposure.time import expose, front_screen
from halflayer.order.read import read_order
from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import material
from halflayer.radiograph import pack, scatter
from halflayer.radiograph.project import Frame, frame
from halflayer.radiograph.result import APART
from halflayer.radiograph.setting import (
    behind_weld,
    by_monte_carlo,
    judged,
    screen_share,
    setting,
    weld_index,
)
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.technique.choose import choose_technique
from halflayer.transport.problem import AreaScore, Problem
from halflayer.transport.run import transport
from radiograph_cases import set_up

EXAMPLE = Path(__file__).resolve().parents[2] / "examples" / "tarn-mill.yaml"
MIDDLE = FilmPoint("middle", True, 0.0, 0.0, 0.0, (0.0, 0.0, 0.0), True, True)


@pytest.mark.slow
@pytest.mark.parametrize(("batches", "least"), [(160, 0.03), pytest.param(800, 0.015, id="long")])
@pytest.mark.parametrize(("nuclide", "thickness_m", "printed", "sigma_rel"), BEHIND_A_PLATE)
def test_the_field_behind_a_plate(
    nuclide: str, thickness_m: float, printed: float, sigma_rel: float, batches: int, least: float
) -> None:
    shot, lines, primary = behind_a_plate(nuclide, thickness_m, MIDDLE)
    pixels = Frame(-0.03, -0.03, 1e-3, 61, 61)
    field = scatter.scatter_field(
        shot,  # type: ignore[arg-type]
        [MIDDLE],
        lines,
        pixels,
        screen_share=1.0,
        seed=1,
        batches=batches,
    )
    ratio = float(field.at(np.zeros(1), np.zeros(1))[0, 0]) / primary
    noise = math.hypot(field.sigma_Gy / primary, printed * sigma_rel)
    # Tolerance: 3 combined sigma or 3 % (the long run: 1.5 %), and 1 % for another line list.
    assert ratio == pytest.approx(printed, abs=max(3.0 * noise, least * printed) + 0.01 * printed)


def judged_twice(
    name: str, *, batches: int = BATCHES, film_batches: int = scatter.BATCHES
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """A weld of the example: exposure [Gy] at the weld, the lightest and the darkest place, by the exposure stage and
    by a film, and the share of its noise.
    """
    work = read_order(EXAMPLE)
    weld = work.weld(name)
    way = choose_technique(work, weld).admissible[0]
    built_shots = [build_scene(work, weld, way, shot, Fitting()) for shot in way.shots]
    times = expose(work, weld, way, built_shots, moment=work.shift.starts)
    seconds, activity = times.shots[0].seconds.value, times.activity.value
    assert isinstance(seconds, float) and isinstance(activity, float)
    one = setting(
        work, weld, way, way.shots[0], built_shots[0], activity_Bq=activity, seconds=seconds, spots=24
    )
    source = {s.id: s for s in work.sources}[way.source]
    planned = shot_rates(
        weld,
        way,
        way.shots[0],
        built_shots[0],
        paths.without_pack(built_shots[0].scene),
        paths.source_lines(work, source),
        seed=1,
        batches=batches,
        like=None,
        front=front_screen(work, one.detector),
    )
    field = by_monte_carlo(one, frame(one.built.film, pixel_m=5e-5), seed=1, batches=film_batches)
    scattered = field.at_points(np.array([(p.u_m, p.v_m) for p in one.points]))
    here = planned.here()
    assert here is not None
    at = [here, *(f(planned.judged, key=lambda i: float(planned.total[i])) for f in (min, max))]
    noise = np.hypot(
        planned.scattered_sigma[at] / planned.total[at], field.sigma_Gy / (one.kerma + scattered)[at]
    )
    return planned.total[at] * activity * seconds, (one.kerma + scattered)[at] * one.decays, noise


@pytest.mark.parametrize(
    "name",
    ["W2", *(pytest.param(f"W{n}", marks=pytest.mark.slow) for n in (1, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12))],
)
def test_a_film_is_the_one_that_was_planned_within_what_both_outputs_say(name: str) -> None:
    planned, film, noise = judged_twice(name)
    assert np.all(np.abs(film / planned - 1.0) < APART + 2.0 * noise)


@pytest.mark.parametrize("name", ["W2", pytest.param("W3", marks=pytest.mark.slow)])
def test_the_lightest_place_is_planned_as_dark_as_the_film_shows_it(
    name: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("halflayer.exposure.scatter.ENOUGH", 0.0)
    # Long runs of both. On patches of 60 mm without a front screen a plan had 9 % (W2) and 12 % (W3) more there than a
    # film, which so read as too light. Tolerance: 5 %, and 2 sigma of what is left of the noise.
    planned, film, noise = judged_twice(name, batches=48, film_batches=96)
    assert np.all(np.abs(film / planned - 1.0) < 0.05 + 2.0 * np.minimum(noise, 0.01))


def test_what_the_pack_makes_of_the_primary_is_no_scatter() -> None:
    # A beam that meets nothing but screens, film and lead: all that is left of the field is noise and what oblique
    # rays make more of it than square ones. Without that the pack's own part would be 3 to 10 % of the primary.
    made = set_up()
    lines = behind_weld(made, paths.source_lines(made.order, made.source))
    own = pack.gain(made.order, made.detector.screens, lines, seed=1)
    assert 0.03 < own < 0.10
    assert pack.gain(made.order, made.detector.screens, lines, seed=2) == pytest.approx(own, abs=0.004)
    names = ("front screen", "film", "back screen", "backing lead")
    alone = tuple(s for s in made.built.scene.solids if s.name in names)
    bare = replace(made.built, scene=replace(made.built.scene, solids=alone))
    primary = paths.primary_kerma(
        replace(bare.scene, solids=()), bare.source_at, np.array([bare.film.at(0.0, 0.0)]), *lines
    )[0]
    mu = photons.mu_per_m(material("lead"), lines[0])
    kerma = lines[1] * dosimetry.air_kerma_per_fluence(lines[0])
    share = float(kerma @ np.exp(-mu * made.detector.screens.front_m) / kerma.sum())
    pixels = frame(bare.film, pixel_m=1e-3)
    field = scatter.scatter_field(
        bare, made.points, lines, pixels, screen_share=share, seed=3, batches=96, gain=own
    )
    # With 24 batches one seed in three lies over it: 1.3 +- 0.6 % over 40 seeds; with 96 they are 0.7 +- 0.2 %.
    left = float(field.at(np.zeros(1), np.zeros(1))[0, 0]) / float(primary)
    assert abs(left) < 0.015


@pytest.mark.slow
@pytest.mark.parametrize("arrangement", ["over", "lean-out", "strap"])
def test_the_surface_is_what_single_patches_score(arrangement: str) -> None:
    # The field of 16 batches at the weld and at the lightest place, against long runs with one patch there alone.
    facts: dict[str, Any] = {}
    if arrangement == "strap":
        facts = {"aperture": "a40", "standoff_m": 0.03}
    elif arrangement == "lean-out":
        facts = {"offset_m": 0.09}
    made = set_up(order(od_m=0.1683 if arrangement == "strap" else 0.0603), arrangement, **facts)
    field = by_monte_carlo(made, frame(made.built.film, pixel_m=1e-3), seed=1)
    at = weld_index(made)
    assert at is not None
    lightest = min(judged(made), key=lambda i: float(made.kerma[i]))
    lines = paths.source_lines(made.order, made.source)
    own = pack.gain(made.order, made.detector.screens, behind_weld(made, lines), seed=4)
    for place in (made.points[at], made.points[lightest]):
        alone = scatter.lit_scene(made.built, made.points)
        film = made.built.film
        if film.radius_m is not None:
            rest = tuple(s for s in alone.solids if s.name not in paths.PACK)
            under = pack.strips(made.order, made.detector.screens, film, [place.v_m], 0.012)
            alone = replace(alone, solids=(*rest, *under))
        score = AreaScore("one", place.at, film.normal_at(place.v_m), (0.006, 0.006), film.along)
        run = transport(Problem(alone, (beam_of(made.built, lines),), (score,)), seed=9, batches=160)
        (got,) = run.readings
        wanted = (got.air_kerma_rate_Gy_s / (1.0 + own) - got.uncollided_kerma_Gy_s) / screen_share(made)
        mine = float(field.at_points(np.array([(place.u_m, place.v_m)]))[0])
        noise = math.hypot(field.sigma_Gy, wanted * got.sigma_rel)
        # Tolerance: 3 combined sigma, and 8 % for what the surface smooths.
        assert mine == pytest.approx(wanted, abs=3.0 * noise + 0.08 * wanted)


@pytest.mark.slow
@pytest.mark.parametrize("batches", [48, pytest.param(400, id="long")])
@pytest.mark.parametrize("arrangement", ["over", "strap"])
def test_the_field_is_that_of_the_exposure_stage_but_for_the_pack(arrangement: str, batches: int) -> None:
    # There the front screen only absorbs; here screens and backing lead make their own of the scatter, which
    # was found to be 3 to 11 % of it.
    facts = {"aperture": "a40", "standoff_m": 0.03} if arrangement == "strap" else {}
    made = order(od_m=0.1683 if arrangement == "strap" else 0.0603)
    one = set_up(made, arrangement, **facts)
    at = weld_index(one)
    assert at is not None
    field = by_monte_carlo(one, frame(one.built.film, pixel_m=1e-3), seed=1, batches=batches)
    place = one.points[at]
    mine = float(field.at(np.array([place.u_m]), np.array([place.v_m]))[0, 0])
    way = candidate(made, arrangement, **facts)
    there = built(made, way)[0]
    lines = paths.source_lines(made, made.sources[0])
    bare = paths.without_pack(there.scene)
    front = front_screen(made, made.detectors[0])
    free, sigma = film_scatter(there, bare, one.points, lines, seed=2, batches=batches, front=front)
    noise = math.hypot(field.sigma_Gy, float(sigma[at]))
    assert mine == pytest.approx(float(free[at]), abs=3.0 * noise + 0.11 * float(free[at]))


def test_a_front_screen_lets_most_of_the_primary_through() -> None:
    # 0.1 mm of lead: exp(-mu x) is 0.942 at 265 keV and 0.747 at 136 keV (XCOM, from the package's own table),
    # the primary of Se-75 behind 11 mm of steel lies between.
    assert 0.85 < screen_share(set_up()) < 0.95
    assert screen_share(set_up(order(screens={"front_m": 0.0, "back_m": 0.0}))) == 1.0
