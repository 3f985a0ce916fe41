"""Everything that can be wrong with a problem, found on the host before a photon flies."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import numpy as np

from halflayer.scene import trace
from halflayer.scene.solids import Scene
from halflayer.transport.constants import HIGHEST_KEV, LOWEST_CUT_KEV
from halflayer.transport.frame import circle
from halflayer.transport.problem import (
    AreaScore,
    Fault,
    LeakageSource,
    PointScore,
    PointSource,
    Problem,
    RingScore,
    Source,
    kept_lines,
)
from halflayer.transport.tables import GAS_KG_M3

RING_PLACES = 720
# A point this close to a face is on it, and so not inside the solid.
ON_FACE_M = 1e-6
_AROUND = np.array(
    [(x, y, z) for x in (-1, 0, 1) for y in (-1, 0, 1) for z in (-1, 0, 1) if (x, y, z) != (0, 0, 0)],
    dtype=float,
)
_AROUND /= np.linalg.norm(_AROUND, axis=1)[:, None]


def dense_solid_at(scene: Scene, at: Sequence[float]) -> str | None:
    """Name of the solid of real matter that holds a point; None in air or void, and on a face towards it."""
    i = trace.solid_index_at(scene, at)
    if i < 0 or scene.solids[i].material.density_kg_m3 <= GAS_KG_M3:
        if i < 0 and scene.surround.density_kg_m3 > GAS_KG_M3:
            return "surround"
        return None
    for step in _AROUND * ON_FACE_M:
        j = trace.solid_index_at(scene, [a + float(b) for a, b in zip(at, step, strict=True)])
        material = scene.surround if j < 0 else scene.solids[j].material
        if material.density_kg_m3 <= GAS_KG_M3:
            return None
    return scene.solids[i].name


def _finite(*values: float) -> bool:
    return all(math.isfinite(v) for v in values)


def _direction_ok(v: Sequence[float] | None) -> bool:
    return v is not None and len(v) == 3 and _finite(*v) and math.hypot(*v) > 1e-12


def _lines(source: Source, name: str, cut_keV: float) -> Iterator[Fault]:
    numbers = source.photons_per_decay if isinstance(source, PointSource) else source.photons
    if len(source.energies_keV) != len(numbers):
        yield Fault(
            "source", name, "lines", f"{len(source.energies_keV)} energies but {len(numbers)} photon numbers"
        )
        return
    if not _finite(*source.energies_keV, *numbers) or min((*numbers, 0.0)) < 0.0:
        yield Fault("source", name, "lines", "energies and photon numbers must be finite and not negative")
        return
    if not kept_lines(source.energies_keV, numbers, cut_keV):
        yield Fault("source", name, "lines", f"no photons at or above the cut of {cut_keV:g} keV")
    top = max(source.energies_keV, default=0.0)
    if top > HIGHEST_KEV:
        yield Fault(
            "source",
            name,
            "lines",
            f"{top:g} keV lies above {HIGHEST_KEV:g} keV, where the dose coefficients end",
        )


def _point_source(problem: Problem, s: PointSource) -> Iterator[Fault]:
    yield from _lines(s, s.name, problem.cut_keV)
    if not (_finite(s.activity_Bq) and s.activity_Bq > 0.0):
        yield Fault("source", s.name, "activity", f"must be above 0 Bq, given {s.activity_Bq!r}")
    if len(s.at) != 3 or not _finite(*s.at):
        yield Fault("source", s.name, "at", f"needs three finite numbers, given {s.at!r}")
        return
    solid = dense_solid_at(problem.scene, s.at)
    if solid is not None:
        yield Fault(
            "source",
            s.name,
            "at",
            f"the source stands inside {solid!r}; it must stand in air or void"
            " (take its capsule as a filter, and paint an air cavity over its shield)",
        )
    if (s.half_angle_rad is not None or s.aperture is not None) and not _direction_ok(s.aim):
        yield Fault("source", s.name, "aim", "a source with an aperture needs a direction to aim in")
    if s.half_angle_rad is not None and s.aperture is not None:
        yield Fault("source", s.name, "aperture", "either a cone or a pyramid, not both")
    if s.half_angle_rad is not None and not 0.0 < s.half_angle_rad <= math.pi:
        yield Fault(
            "source",
            s.name,
            "half_angle",
            f"must lie above 0 and up to 180 deg, given {s.half_angle_rad!r} rad",
        )
    if s.aperture is not None:
        for f in ("half_u_rad", "half_v_rad"):
            value = getattr(s.aperture, f)
            if not 0.0 < value <= math.radians(85.0):
                yield Fault("source", s.name, f, f"must lie above 0 and up to 85 deg, given {value!r} rad")
        if not _direction_ok(s.aperture.axis_u):
            yield Fault("source", s.name, "axis_u", "needs a direction")
        elif _direction_ok(s.aim):
            assert s.aim is not None
            if float(np.linalg.norm(np.cross(s.aim, s.aperture.axis_u))) < 1e-6:
                yield Fault("source", s.name, "axis_u", "must not lie along the aim")


def _leakage_source(problem: Problem, s: LeakageSource) -> Iterator[Fault]:
    yield from _lines(s, s.name, problem.cut_keV)
    if len(s.centre) != 3 or not _finite(*s.centre):
        yield Fault("source", s.name, "centre", f"needs three finite numbers, given {s.centre!r}")
    if (s.radius_m is None) == (s.size_m is None):
        yield Fault("source", s.name, "surface", "needs either a radius or a box size")
    elif s.radius_m is not None and not (_finite(s.radius_m) and s.radius_m > 0.0):
        yield Fault("source", s.name, "radius", f"must be above 0 m, given {s.radius_m!r}")
    elif s.size_m is not None and not (_finite(*s.size_m) and min(s.size_m) > 0.0):
        yield Fault("source", s.name, "size", f"must be above 0 m, given {s.size_m!r}")
    readings = [r for r in (s.h10_surface_Sv_s, s.h10_1m_Sv_s) if r is not None]
    if not readings:
        yield Fault("source", s.name, "leakage", "needs a dose rate at the surface, at 1 m, or both")
    elif not _finite(*readings) or min(readings) < 0.0 or max(readings) <= 0.0:
        yield Fault("source", s.name, "leakage", f"dose rates must be positive, given {readings!r} Sv/s")


def _ring(problem: Problem, s: RingScore) -> Iterator[Fault]:
    if not (
        _finite(s.radius_m, s.polar_rad, *s.centre) and s.radius_m > 0.0 and 0.0 <= s.polar_rad <= math.pi
    ):
        yield Fault("score", s.name, "radius", "needs a radius above 0 m and a polar angle of 0 to 180 deg")
        return
    if not _direction_ok(s.axis):
        yield Fault("score", s.name, "axis", "needs a direction")
        return
    at, e1, e2 = circle(s.centre, s.axis, radius_m=s.radius_m, polar_rad=s.polar_rad)
    for k in range(RING_PLACES):
        phi = 2.0 * math.pi * k / RING_PLACES
        p = [float(c) for c in at + math.cos(phi) * e1 + math.sin(phi) * e2]
        if trace.solid_index_at(problem.scene, p) >= 0 or problem.scene.surround.density_kg_m3 > GAS_KG_M3:
            solid = dense_solid_at(problem.scene, p)
            if solid is not None:
                yield Fault("score", s.name, "radius", f"the ring cuts {solid!r}; it must lie in air or void")
                return


def _area(s: AreaScore) -> Iterator[Fault]:
    if not (_finite(*s.centre, *s.size_m) and len(s.size_m) == 2 and min(s.size_m) > 0.0):
        yield Fault("score", s.name, "size", f"needs two edge lengths above 0 m, given {s.size_m!r}")
    if not _direction_ok(s.normal):
        yield Fault("score", s.name, "normal", "needs a direction")
    edges = s.spectrum_edges_keV
    if edges and (
        len(edges) < 2 or not _finite(*edges) or any(b <= a for a, b in zip(edges, edges[1:], strict=False))
    ):
        yield Fault("score", s.name, "spectrum_edges", "needs two or more increasing energies")


def faults(problem: Problem) -> list[Fault]:
    """Everything wrong with a problem, in the order sources, scores."""
    found: list[Fault] = []
    if not (LOWEST_CUT_KEV <= problem.cut_keV <= 200.0):
        found.append(
            Fault("problem", "", "cut", f"must lie between 10 and 200 keV, given {problem.cut_keV:g} keV")
        )
    if not problem.sources:
        found.append(Fault("problem", "", "sources", "needs a source"))
    if not problem.scores:
        found.append(Fault("problem", "", "scores", "needs a point, ring or area"))
    names: set[str] = set()
    for source in problem.sources:
        if isinstance(source, PointSource):
            found.extend(_point_source(problem, source))
        else:
            found.extend(_leakage_source(problem, source))
        if source.name in names:
            found.append(Fault("source", source.name, "name", "stands twice"))
        names.add(source.name)
    names.clear()
    for score in problem.scores:
        if score.name in names:
            found.append(Fault("score", score.name, "name", "stands twice"))
        names.add(score.name)
        if isinstance(score, PointScore):
            if len(score.at) != 3 or not _finite(*score.at):
                found.append(
                    Fault("score", score.name, "at", f"needs three finite numbers, given {score.at!r}")
                )
                continue
            solid = dense_solid_at(problem.scene, score.at)
            if solid is not None:
                found.append(Fault("score", score.name, "at", f"the point lies inside {solid!r}"))
            for source in problem.sources:
                if isinstance(source, PointSource) and math.dist(source.at, score.at) < 1e-6:
                    found.append(Fault("score", score.name, "at", f"lies on the source {source.name!r}"))
        elif isinstance(score, RingScore):
            found.extend(_ring(problem, score))
        else:
            found.extend(_area(score))
    return found
