"""Scatter at the film: the same figure by two roads, and against a general-purpose Monte Carlo library."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from exposure_cases import BEHIND_A_PLATE, MOMENT, behind_a_plate, built, candidate, order
from halflayer.exposure import paths, scatter
from halflayer.exposure.paths import FilmPoint
from halflayer.exposure.time import expose, front_screen
from halflayer.physics.materials import material

MIDDLE = FilmPoint("middle", True, 0.0, 0.0, 0.0, (0.0, 0.0, 0.0), True, True)


def kerma(
    arrangement: str, *, seed: int, batches: int, shot: int = 0, whole_scene: bool = False
) -> tuple[float, float]:
    """Scattered kerma per activity and sigma in the middle of the crown's image."""
    made = order()
    way = candidate(made, arrangement)
    there = built(made, way)[shot]
    scene = paths.without_pack(there.scene)
    points = [
        p
        for p in paths.film_points(made.welds[0], way, way.shots[shot], there)
        if p.crown and abs(p.from_middle_rad) < 1e-9
    ]
    lines = paths.source_lines(made, made.sources[0])
    with pytest.MonkeyPatch.context() as patch:
        if whole_scene:
            patch.setattr(scatter, "scatterers", lambda shot, scene, points: scene)
        values, sigmas = scatter.film_scatter(there, scene, points, lines, seed=seed, batches=batches)
    return float(values[0]), float(sigmas[0])


@pytest.mark.slow
@pytest.mark.parametrize(("nuclide", "thickness_m", "printed", "sigma_rel"), BEHIND_A_PLATE)
def test_plate_in_vacuum(
    nuclide: str, thickness_m: float, printed: float, sigma_rel: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(scatter, "PATCH_ALONG_M", 0.06)
    monkeypatch.setattr(scatter, "PATCH_ACROSS_M", 0.06)
    shot, lines, primary = behind_a_plate(nuclide, thickness_m, MIDDLE)
    value, sigma = scatter.film_scatter(shot, shot.scene, [MIDDLE], lines, seed=1, batches=600)
    noise = math.hypot(float(sigma[0]) / primary, printed * sigma_rel)
    # Tolerance: 3 combined sigma or 3 %, and 1 % for another line list.
    assert float(value[0]) / primary == pytest.approx(
        printed, abs=max(3.0 * noise, 0.03 * printed) + 0.01 * printed
    )


def test_same_seed_same_times_and_other_seed_within_the_stated_noise() -> None:
    made = order()
    way = candidate(made)
    shots = built(made, way)
    runs = [expose(made, made.welds[0], way, shots, moment=MOMENT, seed=s) for s in (1, 1, 2)]
    assert runs[0] == runs[1]
    a, b = runs[0].shots[0], runs[2].shots[0]
    noise = math.hypot(a.scatter_to_primary_sigma, b.scatter_to_primary_sigma)
    assert abs(a.scatter_to_primary - b.scatter_to_primary) < 4.0 * noise
    assert a.scatter_to_primary_sigma < 0.03 * (1.0 + a.scatter_to_primary)


def test_a_turned_shot_run_on_its_own_agrees_with_the_first() -> None:
    # Scatter is computed once for shots that differ by a turn about the pipe.
    first, s1 = kerma("over", seed=1, batches=24)
    third, s3 = kerma("over", seed=2, batches=24, shot=2)
    assert abs(first - third) < 4.0 * math.hypot(s1, s3)


@pytest.mark.slow
def test_floor_and_head_do_not_matter_at_the_film() -> None:
    # Only what the beam meets in front of the film is kept: within 2 % of the scatter of the whole scene.
    near, s1 = kerma("over", seed=1, batches=600)
    whole, s2 = kerma("over", seed=2, batches=600, whole_scene=True)
    assert abs(near - whole) < 0.02 * whole + 3.0 * math.hypot(s1, s2)


def test_scatterers_keep_pipe_cap_contents_and_insulation() -> None:
    made = order(contents="water", insulation={"material": "mineral wool", "thickness_m": 0.03})
    way = candidate(made, "lean-out", offset_m=0.08, shots=2)
    shot = built(made, way)[0]
    scene = paths.without_pack(shot.scene)
    points = paths.film_points(made.welds[0], way, way.shots[0], shot)
    kept = {s.name for s in scatter.scatterers(shot, scene, points).solids}
    assert {"pipe", "weld cap", "contents", "insulation"} <= kept
    assert "floor" not in kept
    assert {s.name for s in scene.solids} >= kept


def test_patches_lie_on_one_side_of_the_image_or_all_round() -> None:
    made = order()
    way = candidate(made)
    shot = built(made, way)[0]
    points = paths.film_points(made.welds[0], way, way.shots[0], shot)
    u, v = scatter.patch_places(shot, points)
    assert v.min() == 0.0
    assert v.max() == pytest.approx(max(abs(p.v_m) for p in points), abs=1e-6)
    assert {round(p.u_m, 6) for p in points if p.from_middle_rad == 0.0} <= set(u)
    round_ = order(od_m=0.3239, wall_m=0.0103)
    way = candidate(round_, "bore", shots=1)
    shot = built(round_, way)[0]
    points = paths.film_points(round_.welds[0], way, way.shots[0], shot)
    assert len(scatter.patch_places(shot, points)[0]) == scatter.AROUND


def test_a_front_screen_takes_more_of_the_scatter_than_of_the_primary_and_makes_none() -> None:
    # Nothing before the film but its screen: the filter scatters under a thousandth of the primary.
    made = order()
    way = candidate(made)
    shot = built(made, way)[0]
    points = paths.film_points(made.welds[0], way, way.shots[0], shot)
    lines = paths.source_lines(made, made.sources[0])
    front = front_screen(made, made.detectors[0])
    assert front is not None
    nothing = replace(shot.scene, solids=(), surround=material("vacuum"))
    primary = paths.primary_kerma(nothing, shot.source_at, np.array([p.at for p in points]), *lines)
    left, _ = scatter.film_scatter(shot, nothing, points, lines, seed=1, batches=8, front=front)
    assert np.all(np.abs(left) < 1e-3 * primary)
    scene = paths.without_pack(shot.scene)
    free, _ = scatter.film_scatter(shot, scene, points, lines, seed=1, batches=24)
    screened, _ = scatter.film_scatter(shot, scene, points, lines, seed=1, batches=24, front=front)
    # Iron's scatter of Se-75 is softer than its lines and comes from all sides: lead takes more of it.
    assert 0.7 < screened.mean() / free.mean() < 0.97
