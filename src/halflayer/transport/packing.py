"""A checked problem as the arrays that the kernels read."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from halflayer.physics import dosimetry
from halflayer.physics.photons import ELECTRON_KEV
from halflayer.scene import trace
from halflayer.scene.rays import PackedScene
from halflayer.scene.solids import Box, Frustum, HalfSpace, Scene, Sphere, Tube
from halflayer.transport import layout as k
from halflayer.transport import tables as t
from halflayer.transport.constants import BINS_U, BINS_V, FORWARD_COS, FORWARD_EVERY, GROUP
from halflayer.transport.frame import circle, frame, unit, vector
from halflayer.transport.layout import Rules, Sources, Targets
from halflayer.transport.problem import (
    AreaScore,
    LeakageSource,
    PointScore,
    PointSource,
    Problem,
    RingScore,
    Score,
    kept_lines,
)

Array = NDArray[np.float64]

CELLS_U, CELLS_V = (
    16,
    12,
)  # cells of the source's directions (our choice: learning needs some photons in each)
WORLD_M = 50.0
# No roulette of a run of points raises a weight above this many times what left the source (our choice).
HEAVIEST = 4.0
# After the first collision many of the like will come: none is made heavier than what left the source (our choice).
FIRST_CAP = 1.0
# Copies that one history may make (our choice): what reaches a place behind a deep shield is worth that many.
MOST_MADE = 4000.0
# No roulette goes for longer odds (our choice): with 0.03 most of the variance at some far places came from photons
# in the air of a room that one such roulette had made 33 times heavier.
LEAST_CHANCE = 0.3
# No scoring ray is cast at longer odds (our choice): at 0.04 one that promised little and was lucky twice brought 1.3 %
# of a far place's dose.
LEAST_RAY_CHANCE = 0.1
# Part of the coherent scatters sampled evenly over all directions (our choice). A line that a shield turns aside by 90
# degrees with all its energy is rare, and then passes what no Compton photon passes: with none, one place of 24 in 48
# runs of a wrapped stand (2 s each on a GPU) had its variance from a few such photons, with a tenth none had.
WIDE = 0.1


@dataclass(frozen=True, eq=False)
class Prepared:
    """A problem ready to run: packed arrays, the photons per second that one history stands for, the digest."""

    problem: Problem
    digest: str
    scene: PackedScene
    tables: t.Tables
    sources: Sources
    targets: Targets
    rules: Rules
    photons_per_s: Array  # (sources,)

    def with_rules(self, rules: Rules) -> Prepared:
        """The same with other rules."""
        return replace(self, rules=rules)

    def with_sources(self, sources: Sources) -> Prepared:
        """The same with the sources' shares learned."""
        return replace(self, sources=sources)

    def with_targets(self, rows: Array, reach: Array, worth: Array, future: Array) -> Prepared:
        """The same with other rows, reach, worth and future of the targets."""
        return replace(
            self, targets=self.targets._replace(rows=rows, reach=reach, worth=worth, future=future)
        )


@lru_cache(maxsize=32)
def _tables(materials: tuple[Any, ...], cut_keV: float) -> t.Tables:
    return t.build(materials, cut_keV=cut_keV)


def tables_for(problem: Problem) -> t.Tables:
    """Cross sections of the problem's materials, kept between problems that share them."""
    materials = trace.materials_of(problem.scene)
    if problem.attenuation_override:
        return t.build(materials, cut_keV=problem.cut_keV, override=problem.attenuation_override)
    return _tables(materials, problem.cut_keV)


def _reach(scene: Scene, centre: Array) -> float:
    """Distance from the centre to the far end of the farthest finite solid."""
    far = 0.0
    for s in scene.solids:
        if isinstance(s, HalfSpace):
            far = max(far, abs(float(np.dot(centre - vector(s.through), s.normal))))
            continue
        assert isinstance(s, Box | Tube | Sphere | Frustum)
        if isinstance(s, Box):
            size = 0.5 * math.hypot(*s.size)
        elif isinstance(s, Sphere):
            size = s.outer_radius_m
        elif isinstance(s, Tube):
            size = math.hypot(0.5 * s.length_m, s.outer_radius_m)
        else:
            size = math.hypot(0.5 * s.length_m, max(s.radius_start_m, s.radius_end_m))
        far = max(far, math.dist(centre, s.centre) + size)
    return far


def _targets(scene: Scene, scores: tuple[Score, ...]) -> Targets:
    rows = np.zeros((len(scores), k.TARGET_COLUMNS))
    for row, s in zip(rows, scores, strict=True):
        if isinstance(s, PointScore):
            row[k.KIND] = k.AT_POINT
            row[k.X : k.Z + 1] = s.at
        elif isinstance(s, RingScore):
            row[k.KIND] = k.ON_RING
            at, e1, e2 = circle(s.centre, s.axis, radius_m=s.radius_m, polar_rad=s.polar_rad)
            row[k.X : k.E2Z + 1] = np.concatenate([at, e1, e2])
        else:
            row[k.KIND] = k.ON_AREA
            u, v, w = frame(s.normal, s.axis_u)
            row[k.X : k.NZ + 1] = np.concatenate([s.centre, 0.5 * s.size_m[0] * u, 0.5 * s.size_m[1] * v, w])
            # Crossings for what leaves within 1.5 times the patch's reach, a random place on it for the rest.
            row[k.NEAR2] = (1.5 * 0.5 * math.hypot(*s.size_m)) ** 2
            row[k.PER_AREA] = 1.0 / (s.size_m[0] * s.size_m[1])
    n = len(scene.solids) + 1
    places = n + 1
    reach = np.ones(len(scores) * places * k.BANDS)
    return Targets(len(scores), rows, places, reach, np.ones(n), np.ones(n * k.CELLS))


def leakage_radiance(s: LeakageSource) -> tuple[float, float]:
    """Radiance [photons/(m2 sr s)] of the head's surface and its area [m2].

    H*(10) rate = radiance x solid angle of the head x H*(10) per fluence. At the surface the solid angle is
    2 pi; at 1 m from a sphere of radius a it is 2 pi (1 - sqrt(1 - a2/(a + 1)2)), in front of a box that of its
    largest face. The larger radiance of the two readings counts.
    """
    weights = np.array(s.photons)
    h10 = float(np.sum(weights * dosimetry.h10_per_fluence(np.array(s.energies_keV))) / np.sum(weights))
    if s.radius_m is not None:
        a = s.radius_m
        area = 4.0 * math.pi * a * a
        away = 2.0 * math.pi * (1.0 - math.sqrt(1.0 - (a / (a + 1.0)) ** 2))
    else:
        assert s.size_m is not None
        p, q, _ = sorted(s.size_m, reverse=True)
        x, y, z = s.size_m
        area = 2.0 * (x * y + y * z + z * x)
        away = 4.0 * math.atan(0.25 * p * q / math.sqrt(1.0 + 0.25 * (p * p + q * q)))
    needed = [0.0]
    if s.h10_surface_Sv_s is not None:
        needed.append(s.h10_surface_Sv_s / (2.0 * math.pi * h10))
    if s.h10_1m_Sv_s is not None:
        needed.append(s.h10_1m_Sv_s / (away * h10))
    return max(needed), area


def _sources(problem: Problem, middle: Array) -> tuple[Sources, Array]:
    n = len(problem.sources)
    lines = [
        kept_lines(
            s.energies_keV, s.photons_per_decay if isinstance(s, PointSource) else s.photons, problem.cut_keV
        )
        for s in problem.sources
    ]
    most = max(len(x) for x in lines)
    rows = np.zeros((n, k.SOURCE_COLUMNS))
    packed_lines = np.ones((n, most, 3))
    rate = np.zeros(n)
    for row, out, (i, s) in zip(rows, packed_lines, enumerate(problem.sources), strict=True):
        e, y = np.array(lines[i]).T
        row[k.S_LINES] = len(e)
        out[: len(e), 0] = ELECTRON_KEV / e
        out[: len(e), 1] = np.cumsum(y) / np.sum(y)
        row[k.S_STEEP] = 0.1
        size = row[k.S_SIZE : k.S_SIZE + 3]
        if isinstance(s, PointSource):
            row[k.S_X : k.S_Z + 1] = s.at
            aim = s.aim if s.aim is not None else _towards(middle, s.at)
            u, v, w = frame(aim, s.aperture.axis_u if s.aperture else None)
            if s.aperture is not None:
                row[k.S_APERTURE] = k.PYRAMID
                size[:] = (
                    math.tan(s.aperture.half_u_rad),
                    math.tan(s.aperture.half_v_rad),
                    1.0 / s.solid_angle_sr,
                )
            else:
                size[0] = s.solid_angle_sr / (2.0 * math.pi)
            rate[i] = s.activity_Bq * float(np.sum(y)) * s.solid_angle_sr / (4.0 * math.pi)
        else:
            row[k.S_X : k.S_Z + 1] = s.centre
            row[k.S_KIND] = k.LEAK_SPHERE if s.radius_m is not None else k.LEAK_BOX
            if s.radius_m is not None:
                u, v, w = frame(_towards(middle, s.centre))
                size[0] = s.radius_m
            else:
                assert s.size_m is not None
                u, v, w = (vector(a) for a in s.axes)
                size[:] = [0.5 * c for c in s.size_m]
            radiance, area = leakage_radiance(s)
            rate[i] = math.pi * radiance * area  # photons leaving per second: pi x radiance x area
        row[k.S_AXES : k.S_AXES + 9] = np.concatenate([u, v, w])
    bins = np.zeros((n * (BINS_U + 1), max(BINS_U, BINS_V) + 1))
    bins[:, : BINS_V + 1] = np.arange(BINS_V + 1) / BINS_V
    bins[:: BINS_U + 1, : BINS_U + 1] = np.arange(BINS_U + 1) / BINS_U
    seen, sees = _seen(problem)
    rows[:, k.S_SEES] = sees
    packed = Sources(rows.ravel(), most, packed_lines.ravel(), BINS_U, BINS_V, bins, seen.ravel())
    return packed, rate


def _seen(problem: Problem) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Targets within a forward scatter of each beam: their numbers, packed to the left, and how many."""
    seen = np.zeros((len(problem.sources), len(problem.scores)), dtype=np.int64)
    sees = np.zeros(len(problem.sources), dtype=np.int64)
    for i, source in enumerate(problem.sources):
        if not isinstance(source, PointSource):
            continue
        for j, score in enumerate(problem.scores):
            if source.aperture is not None:
                half = math.atan(
                    math.hypot(math.tan(source.aperture.half_u_rad), math.tan(source.aperture.half_v_rad))
                )
            else:
                half = math.pi if source.half_angle_rad is None else source.half_angle_rad
            reach = half + math.acos(FORWARD_COS) + 1e-6
            if isinstance(score, PointScore) and source.aim is not None and reach < math.pi:
                way = unit(vector(score.at) - vector(source.at))
                if float(np.dot(way, unit(source.aim))) < math.cos(reach):
                    continue
            seen[i, sees[i]] = j
            sees[i] += 1
    return seen, sees


def _towards(middle: Array, start: Any) -> Any:
    way = middle - vector(start)
    return way if float(np.linalg.norm(way)) > 1e-6 else (0.0, 0.0, 1.0)


def pack(problem: Problem) -> Prepared:
    """The arrays of a problem that has been checked."""
    places = []
    for s in problem.scores:
        places.append(vector(s.at) if isinstance(s, PointScore) else vector(s.centre))
    middle = np.mean(places, axis=0)
    reach = [0.0]
    first = problem.sources[0]
    centre = vector(first.at if isinstance(first, PointSource) else first.centre)
    for score, place in zip(problem.scores, places, strict=True):
        extra = (
            score.radius_m
            if isinstance(score, RingScore)
            else (math.hypot(*score.size_m) if isinstance(score, AreaScore) else 0.0)
        )
        reach.append(math.dist(place, centre) + extra)
    for source in problem.sources:
        place = vector(source.at if isinstance(source, PointSource) else source.centre)
        reach.append(
            math.dist(place, centre) + (source.radius_m or 0.0 if isinstance(source, LeakageSource) else 0.0)
        )
    radius = max(WORLD_M, 2.0 * max(*reach, _reach(problem.scene, centre)))
    sources, rate = _sources(problem, middle)
    edges = [
        s.spectrum_edges_keV for s in problem.scores if isinstance(s, AreaScore) and s.spectrum_edges_keV
    ]
    return Prepared(
        problem=problem,
        digest=problem.digest(),
        scene=trace.pack(problem.scene),
        tables=tables_for(problem),
        sources=sources,
        targets=_targets(problem.scene, problem.scores),
        rules=Rules(
            float(centre[0]),
            float(centre[1]),
            float(centre[2]),
            float(radius),
            0.0,
            1.0,
            ELECTRON_KEV / np.array(edges[0]) if edges else np.zeros(2),
            len(edges[0]) - 1 if edges else 0,
            0,
            GROUP,
            1.0 / HEAVIEST,
            FIRST_CAP,
            WIDE,
            MOST_MADE,
            LEAST_CHANCE,
            LEAST_RAY_CHANCE,
            0.0,
            FORWARD_EVERY,
        ),
        photons_per_s=rate,
    )
