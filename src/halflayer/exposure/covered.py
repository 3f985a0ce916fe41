"""What each exposure covers of the weld: clock by clock over real distances, up to film, beam, growth and density."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure import paths
from halflayer.exposure.paths import FilmPoint, ShotScene
from halflayer.exposure.rates import SAME_PRIMARY, Rates, primary_at
from halflayer.exposure.result import Coverage, Covered
from halflayer.order.weld import Weld
from halflayer.scene.frame import about_x
from halflayer.scene.solids import Scene
from halflayer.technique.geometry import shell_path_m
from halflayer.technique.result import Candidate, Shot

Array = NDArray[np.float64]

STEP_RAD = math.radians(2.0)  # our choice: a gap is known to this, and shown no finer
BEYOND_RAD = math.radians(30.0)  # our choice: so far past the evaluated arc is looked at for overlap
FARTHER = "not looked at farther"
TURN = 2.0 * math.pi
SAME_RAD = 1e-6

Verdicts = Callable[[Array], NDArray[np.int64]]  # kerma rates [Gy/s] to -1 too light, 0 within, 1 too dark


class Placed(Protocol):
    """What a place of the weld is looked at from: anything with a built shot."""

    @property
    def built(self) -> ShotScene: ...  # noqa: D102


@dataclass(frozen=True)
class Given:
    """One exposure as it is to be judged: its built scene without the film pack, its rates and what its film takes."""

    number: int  # from 1
    shot: Shot
    built: ShotScene
    scene: Scene
    lines: tuple[Array, Array]
    rates: Rates
    activity_Bq: float
    seconds: float
    verdicts: Verdicts
    crown_counts: bool = (
        True  # film: density at the crown too; digital: the ratio is asked beside the weld only
    )


def coverage(weld: Weld, candidate: Candidate, exposures: Sequence[Given]) -> Coverage:
    """The weld unrolled: stretches that each exposure covers, and what none covers.

    A place is covered where crown and wall beside the cap fall on the sheet and in the beam, the wall is crossed
    within the code's growth (where it bounds it) and the detector shows both within its range. Places are looked
    at every two degrees from the middle, at the ends of the evaluated arc and up to 30 degrees past them; a stretch
    ends at its last covered place. Exposures whose rates agree differ by a turn only and are looked at once.
    """
    covered: list[Covered] = []
    first: list[Covered] = []
    for n, one in enumerate(exposures):
        if n and _alike(one, exposures[0]):
            turn = one.shot.detector_clock_rad - exposures[0].shot.detector_clock_rad
            covered += [replace(c, exposure=one.number, start_rad=(c.start_rad + turn) % TURN) for c in first]
            continue
        here = _covered(weld, candidate, one)
        first = first if n else here
        covered += here
    arcs = [(c.start_rad, c.length_rad) for c in covered]
    return Coverage(tuple(covered), gaps(arcs), STEP_RAD)


def _alike(one: Given, other: Given) -> bool:
    same = len(one.rates.total) == len(other.rates.total)
    turned = one.shot.detector_clock_rad - other.shot.detector_clock_rad
    source = one.shot.source_clock_rad - other.shot.source_clock_rad
    return (
        same
        and math.cos(turned - source) > 1.0 - 1e-12
        and bool(np.allclose(one.rates.total, other.rates.total, rtol=SAME_PRIMARY, atol=0.0))
        and abs(one.seconds - other.seconds) <= SAME_PRIMARY * other.seconds
    )


def gaps(arcs: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
    """What arcs (start clock, length) leave of the turn, as such arcs [rad], in the order of the clock.

    >>> [[round(math.degrees(v)) for v in g] for g in gaps([(math.radians(350), math.radians(30)), (1.0, 5.0)])]
    [[20, 37], [344, 6]]
    """
    pieces: list[tuple[float, float]] = []
    for start, length in arcs:
        if length >= TURN - SAME_RAD:
            return ()
        a = start % TURN
        pieces.append((a, min(a + length, TURN)))
        if a + length > TURN:
            pieces.append((0.0, a + length - TURN))
    left, at = [], 0.0
    for a, b in sorted(pieces):
        if a > at + SAME_RAD:
            left.append((at, a - at))
        at = max(at, b)
    if at < TURN - SAME_RAD:
        left.append((at, TURN - at))
    if len(left) > 1 and left[0][0] == 0.0 and left[-1][0] + left[-1][1] > TURN - SAME_RAD:
        first, last = left[0], left.pop()
        left[0] = (last[0], last[1] + first[1])
        left.append(left.pop(0))
    return tuple(left)


def _covered(weld: Weld, candidate: Candidate, one: Given) -> list[Covered]:
    out = []
    for wall, middle, half in paths.evaluated_arcs(candidate, one.shot):
        offsets, ends = _verdicts(weld, candidate, one, wall, middle, half)
        out += stretches(one.number, wall, middle, half, offsets, ends)
    return out


def stretches(
    number: int, wall: str, middle: float, half: float, offsets: Sequence[float], ends: Sequence[str]
) -> list[Covered]:
    """What an exposure covers of a wall: runs of offsets from the arc's middle [rad] where nothing ends it.

    `ends` says at each offset why it is not covered, "" where it is. Runs that do not reach the evaluated arc
    of `half` to either side are left out.
    """
    if len(offsets) > 1 and not any(ends) and half >= math.pi * 0.999:
        return [Covered(number, wall, 0.0, TURN, ("", ""))]
    out = []
    n = 0
    while n < len(offsets):
        if ends[n]:
            n += 1
            continue
        last = n
        while last + 1 < len(offsets) and not ends[last + 1]:
            last += 1
        before = ends[n - 1] if n > 0 else FARTHER
        after = ends[last + 1] if last + 1 < len(offsets) else FARTHER
        start, length = offsets[n], offsets[last] - offsets[n]
        if start <= half + SAME_RAD and start + length >= -half - SAME_RAD:  # it reaches what is judged
            out.append(Covered(number, wall, (middle + start) % TURN, length, (before, after)))
        n = last + 1
    return out


def _verdicts(
    weld: Weld, candidate: Candidate, one: Given, wall: str, middle: float, half: float
) -> tuple[list[float], list[str]]:
    """Offsets from the arc's middle, rising, and why each is not covered ("" where it is)."""
    stations = looked_at(weld, candidate, one, wall, middle, half)
    points: list[FilmPoint] = []
    of: list[list[int]] = []
    for offset in stations:
        here = paths.points_at(weld, one.built, wall, middle, offset)
        of.append(list(range(len(points), len(points) + len(here))))
        points += here
    if not points:
        return [], []
    rate = one.activity_Bq * (
        primary_at(tuple(points), one.built, one.scene, one.lines) + _scatter(one, points)
    )
    shown = one.verdicts(rate)
    most = candidate.growth_max
    why = []
    for offset, indices in zip(stations, of, strict=True):
        if len(indices) < 3 or not all(points[i].on_sheet for i in indices):
            why.append("film")
        elif not all(points[i].in_beam for i in indices):
            why.append("beam")
        elif most is not None and growth(weld, one, middle + offset) > most + 1e-6:
            why.append("growth of the crossed wall")
        else:
            counts = [int(shown[i]) for i in indices if one.crown_counts or not points[i].crown]
            why.append("too light" if min(counts) < 0 else "too dark" if max(counts) > 0 else "")
    return stations, why


def looked_at(
    weld: Weld, candidate: Candidate, one: Placed, wall: str, middle: float, half: float
) -> list[float]:
    """Offsets from the middle of a wall's arc at which it is looked at [rad], rising."""
    return [o for o in _stations(half) if _seen(weld, candidate, one, wall, middle + o)]


def _stations(half: float) -> list[float]:
    """Offsets to look at, on both sides as far past the evaluated arc as overlap goes, its ends among them [rad]."""
    count = math.floor(min(math.pi, half + BEYOND_RAD) / STEP_RAD + 1e-9)
    if half + BEYOND_RAD < math.pi:
        found = {round(k * STEP_RAD, 9) for k in range(-count, count + 1)}
        return sorted(found | {round(-half, 9), round(half, 9)})
    found = {round(k * STEP_RAD, 9) for k in range(-count, count)}  # all round: the two ends are one place
    if half < math.pi * 0.999:
        found |= {round(-half, 9), round(half, 9)}
    return sorted(found)


def _seen(weld: Weld, candidate: Candidate, one: Placed, wall: str, clock: float) -> bool:
    """True where the ray through the weld's outside surface goes the way that this wall is looked at.

    A wall on the source's side is entered there, one on the film's side (or round a central source) is left.
    """
    r = weld.pipe.od / 2
    spot = about_x((0.0, 0.0, r), clock)
    s = one.built.source_at
    outward = (spot[1] * (spot[1] - s[1]) + spot[2] * (spot[2] - s[2])) / r
    entered = wall == "source-side wall" or candidate.technique == "SWSI outside"
    return outward < -1e-9 if entered else outward > 1e-9


def growth(weld: Weld, one: Placed, clock: float) -> float:
    """Growth of the crossed wall at a clock of the weld: path in the pipe's wall over its thickness, less one.

    Cap and root left out. A source outside crosses both walls at the same distance from the axis, so each is
    crossed on half the whole path.
    """
    r, wall = weld.pipe.od / 2, weld.pipe.wall
    spot, s = about_x((0.0, 0.0, r), clock), one.built.source_at
    way = (spot[0] - s[0], spot[1] - s[1], spot[2] - s[2])
    path = shell_path_m(s, way, outer_radius_m=r, inner_radius_m=r - wall)
    walls = 2.0 if math.hypot(s[1], s[2]) >= r - 1e-9 else 1.0
    return path / walls / wall - 1.0


def _scatter(one: Given, points: Sequence[FilmPoint]) -> Array:
    """Scattered rate per activity, read along the shot's own points of the same wall and side of the cap; beyond the
    outermost it is held.
    """
    known: dict[tuple[str, float], list[tuple[float, float]]] = {}
    for p, s in zip(one.rates.points, one.rates.scattered, strict=True):
        if p.on_sheet:
            known.setdefault(_line(p), []).append((abs(p.v_m), float(s)))
    everywhere = sorted(pair for line in known.values() for pair in line)
    out = np.zeros(len(points))
    for n, p in enumerate(points):
        if pairs := sorted(known.get(_line(p), everywhere)):
            out[n] = np.interp(abs(p.v_m), [v for v, _ in pairs], [s for _, s in pairs])
    return out


def _line(point: FilmPoint) -> tuple[str, float]:
    """The wall and the side of the cap (or its crown) that a point belongs to."""
    return point.where.rsplit(", ", 1)[0], point.x_m
