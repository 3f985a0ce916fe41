"""The technique's lengths against the scene that is built from its candidates, by the tracer that dose uses."""

from __future__ import annotations

import math

import pytest

import order_factory as of
from halflayer.scene.build import build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.trace import materials_along
from halflayer.technique.choose import choose_technique

CASES = {
    "lean-out": {"od": 60.3, "wall": 5.54, "cap": 8.0},
    "over": {"od": 60.3, "wall": 8.74, "cap": 12.0},
    "strap": {"od": 168.3, "wall": 7.11, "cap": 12.0},
    "bore": {"od": 323.8, "wall": 10.31, "cap": 14.0, "access_inside": True},
}


@pytest.mark.parametrize("arrangement", list(CASES))
def test_metal_and_distances_of_the_built_scene(arrangement: str) -> None:
    order, weld = of.one_weld(**CASES[arrangement])
    candidate = next(c for c in choose_technique(order, weld).admissible if c.arrangement == arrangement)
    g = candidate.geometry
    for shot in candidate.shots:
        built = build_scene(order, weld, candidate, shot, Fitting())
        film = built.film
        to_film = math.dist(built.source_at, film.centre)
        metal = sum(
            metres
            for _, solid, metres in materials_along(built.scene, built.source_at, built.aim, to_film)
            if solid in ("pipe", "weld cap", "weld root")
        )
        assert metal == pytest.approx(g.crossed_m, abs=2e-5)  # the scene's cap reaches 10 um into the wall
        # Along the beam axis; the geometry's distances stand at right angles to the pipe.
        assert to_film * math.cos(g.tilt_rad) == pytest.approx(g.source_to_detector_m, abs=1e-6)


def test_both_images_fall_on_the_sheet_and_open_as_said() -> None:
    """Rays through the four edges of the two crowns' caps, to the plane of the built film."""
    order, weld = of.one_weld()
    candidate = next(c for c in choose_technique(order, weld).admissible if c.arrangement == "lean-out")
    built = build_scene(order, weld, candidate, candidate.shots[0], Fitting())
    clock = candidate.shots[0].source_clock_rad
    r, half = weld.pipe.od / 2, weld.cap.width_m / 2

    def image(x: float, side: float) -> float:
        point = (x, -side * r * math.sin(clock), side * r * math.cos(clock))
        ray = [p - s for p, s in zip(point, built.source_at, strict=True)]
        n, c = built.film.normal, built.film.centre
        depth = sum((a - b) * m for a, b, m in zip(c, built.source_at, n, strict=True))
        t = depth / sum(d * m for d, m in zip(ray, n, strict=True))
        hit = tuple(s + t * d for s, d in zip(built.source_at, ray, strict=True))
        assert built.film.covers(hit)
        return hit[0]

    near = [image(x, 1.0) for x in (-half, half)]
    far = [image(x, -1.0) for x in (-half, half)]
    assert min(far) - max(near) == pytest.approx(candidate.geometry.opening_m, abs=1e-9)
