"""Images of the weld on the film, and primary air kerma there."""

from __future__ import annotations

import math

import numpy as np
import pytest

from exposure_cases import built, candidate, order, plate_shot
from halflayer.exposure import paths
from halflayer.physics import dosimetry, nuclides
from halflayer.physics.materials import material
from halflayer.physics.photons import mu_per_m
from halflayer.scene.film_surface import FilmSurface


def test_rays_meet_the_film_where_its_own_coordinates_say() -> None:
    made = order()
    for way in (candidate(made), candidate(made, "lean-out", offset_m=0.1), candidate(made, "strap")):
        for shot in built(made, way):
            for u, v in ((0.0, 0.0), (0.01, 0.03), (-0.02, -0.04)):
                target = shot.film.at(u, v)
                halfway = tuple(0.5 * (a + b) for a, b in zip(target, shot.source_at, strict=True))
                assert paths.film_hit(shot.film, shot.source_at, halfway) == pytest.approx((u, v), abs=1e-12)


def test_a_ray_that_turns_its_back_on_the_film_meets_nothing() -> None:
    shot = plate_shot(thickness_m=0.01)
    assert paths.film_hit(shot.film, shot.source_at, (0.0, 0.0, 2.0)) is None
    bent = FilmSurface("curved", (0, 0, -0.1), (0, 0, 1), (1, 0, 0), (0, 1, 0), 0.1, 0.3, 0.1)
    assert paths.film_hit(bent, (0, 0, 0.5), (0.0, 0.3, 0.0)) is None
    assert paths.film_hit(bent, (0, 0, 0.5), (1.0, 0.0, 0.5)) is None


def test_ellipse_opens_by_the_exact_projection() -> None:
    # Similar triangles: the crown of the source-side wall at height +r is thrown from (L, H) to the film
    # plane at -(r + gap); the film-side crown likewise. Opening of the two lines = difference of the two x.
    made = order(cap_m=0.0)
    way = candidate(made, "lean-out", offset_m=0.12, shots=2)
    shot = built(made, way)[0]
    r, height = made.welds[0].pipe.od / 2, made.welds[0].pipe.od / 2 + 0.4
    z_film = shot.film.centre[2]

    def thrown(z: float) -> float:
        return 0.12 + (0.0 - 0.12) * (height - z_film) / (height - z)

    found = [
        p.at[0]
        for p in paths.film_points(made.welds[0], way, way.shots[0], shot)
        if p.crown and p.from_middle_rad == 0.0
    ]
    assert found == pytest.approx([thrown(r), thrown(-r)], abs=1e-12)


def test_shots_of_a_double_image_share_the_weld_out() -> None:
    made = order()
    for shots in (2, 3):
        way = candidate(made, shots=shots)
        covered: list[tuple[float, float]] = []
        for shot in way.shots:
            for _, middle, half in paths.evaluated_arcs(way, shot):
                covered.append(((middle - half) % (2 * math.pi), 2 * half))
        covered.sort()
        assert sum(c[1] for c in covered) == pytest.approx(2 * math.pi)
        for (a, width), (b, _) in zip(covered, covered[1:], strict=False):
            assert a + width == pytest.approx(b)


def test_single_image_judges_the_detector_side() -> None:
    made = order(od_m=0.1683, wall_m=0.00711)
    way = candidate(made, "strap", standoff_m=0.005, shots=4, evaluated_rad=math.radians(100.0))
    shot = built(made, way)[0]
    points = paths.film_points(made.welds[0], way, way.shots[0], shot)
    assert len(points) == 3 * paths.ARC_STATIONS
    assert all(p.at[2] < 0.0 for p in points)  # source on top, film below
    assert max(p.from_middle_rad for p in points) == pytest.approx(math.radians(50.0))


def test_panoramic_points_go_all_round_once() -> None:
    made = order(od_m=0.3239, wall_m=0.0103)
    way = candidate(made, "bore", shots=1)
    shot = built(made, way)[0]
    crowns = [p for p in paths.film_points(made.welds[0], way, way.shots[0], shot) if p.crown]
    assert len({round(p.v_m, 9) for p in crowns}) == len(crowns) == paths.ARC_STATIONS - 1
    assert all(math.hypot(p.at[1], p.at[2]) == pytest.approx(shot.film.radius_m) for p in crowns)


def test_beam_is_cut_by_cone_and_rectangle() -> None:
    from dataclasses import replace

    cone = plate_shot(thickness_m=0.01)
    assert cone.half_angle_rad is not None
    edge = 0.6 * math.tan(cone.half_angle_rad)
    assert paths.in_beam(cone, (edge * 0.999, 0.0, 0.0))
    assert not paths.in_beam(cone, (edge * 1.001, 0.0, 0.0))
    flat = replace(cone, half_angle_rad=None, rect=(0.1, 0.3))
    assert paths.in_beam(flat, (0.6 * math.tan(0.099), 0.6 * math.tan(0.299), 0.0))
    assert not paths.in_beam(flat, (0.6 * math.tan(0.101), 0.0, 0.0))
    assert not paths.in_beam(flat, (0.0, 0.6 * math.tan(0.301), 0.0))
    assert not paths.in_beam(flat, (0.0, 0.0, 1.0))
    assert paths.in_beam(replace(cone, half_angle_rad=None), (9.0, 0.0, 5.0))


def test_primary_is_the_sum_over_lines_through_the_plate() -> None:
    n = nuclides.nuclide("Ir-192")
    shot = plate_shot(thickness_m=0.02, surround="vacuum")
    got = paths.primary_kerma(
        shot.scene, shot.source_at, np.array([[0.0, 0.0, 0.0]]), n.energies_keV, n.photons_per_decay
    )
    lines = n.photons_per_decay * dosimetry.air_kerma_per_fluence(n.energies_keV)
    depth = mu_per_m(material("steel"), n.energies_keV) * 0.02
    assert got[0] == pytest.approx(float(np.sum(lines * np.exp(-depth)) / (4 * math.pi * 0.6**2)), rel=1e-12)


def test_oblique_ray_crosses_more_and_goes_farther() -> None:
    shot = plate_shot(thickness_m=0.02, surround="vacuum", edge_m=2.0)
    x = 0.6 * math.tan(math.radians(30.0))
    through = paths.crossed(shot.scene, shot.source_at, (x, 0.0, 0.0))
    assert through["steel"] == pytest.approx(0.02 / math.cos(math.radians(30.0)), rel=1e-9)


def test_pack_is_taken_out_and_nothing_else() -> None:
    made = order()
    scene = built(made, candidate(made))[0].scene
    names = {s.name for s in scene.solids}
    assert names >= paths.PACK  # the built scene still names its pack so
    assert {s.name for s in paths.without_pack(scene).solids} == names - paths.PACK
