"""Forward scatter scored one emission earlier, and what is left to a plain score: each way belongs to one of the two.

A way from A over B to the target that `aim_aside` and `bent` score must be one that `scored_before` leaves out of a
plain score at B, and a way that they refuse must not be: else it would count twice or never. No outside source: the two
halves of one estimator are held against each other. What they bring together is held against analogue photons in
`test_plain_monte_carlo`.
"""

from __future__ import annotations

import math

import numba
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halflayer.physics.materials import material
from halflayer.physics.photons import ELECTRON_KEV
from halflayer.scene import trace
from halflayer.scene.rays import cast
from halflayer.scene.solids import HalfSpace, Scene, Tube
from halflayer.transport.forward import (
    ACROSS,
    aim_aside,
    bent,
    coherent_depth,
    depth,
    depth_to,
    nth_stretch,
    scored_before,
    stretch_at,
)
from halflayer.transport.interactions import node
from halflayer.transport.layout import X, Z
from halflayer.transport.packing import Prepared
from halflayer.transport.problem import PointScore, PointSource, Problem, prepare
from halflayer.transport.rng import stream

FLOOR_M = -1.0
SCENE = Scene(
    (
        HalfSpace("floor", (0, 0, 1), (0, 0, FLOOR_M), material("concrete")),
        Tube("pipe", (0, 0, 0), (1, 0, 0), 0.057, 0.008, 1.0, material("steel")),
    ),
    material("air"),
)
DEPTHS_M = st.floats(1e-5, 0.02)
DRAWS = 40


def prepared(target: tuple[float, float, float]) -> Prepared:
    source = PointSource((0, 0, 0), (136.0,), (1.0,), 1e9)
    return prepare(Problem(SCENE, (source,), (PointScore("T", target),)))


@numba.njit
def drawn(tables, scene, rows, s, a, t, lam, out):
    """Rows of out: what the way drawn brings (-1: none was drawn), whether a plain score at its B leaves it out."""
    x, y, z = a
    tx, ty, tz = t
    length = math.sqrt((tx - x) ** 2 + (ty - y) ** 2 + (tz - z) ** 2)
    vx = (tx - x) / length
    vy = (ty - y) / length
    vz = (tz - z) / length
    i, f = node(tables, lam)
    for n in range(out.shape[0]):
        out[n, 0] = -1.0
        state = stream(np.uint64(7), np.uint64(0), np.uint64(n))
        m = cast(scene, x, y, z, vx, vy, vz, length, s)
        total = coherent_depth(tables, scene, s, m, i, f)
        if total <= 0.0:
            continue
        factor, ux, uy, uz, solid, nth, part, longest = aim_aside(
            tables, scene, s, state, 1, 0, m, vx, vy, vz, length, i, f, lam, total
        )
        if factor <= 0.0:
            continue
        m = cast(scene, x, y, z, ux, uy, uz, length, s)
        low, high = nth_stretch(s.solid, s.end, m, solid, nth)
        # On the very edges rounding decides.
        if high <= 0.0 or abs(high - low - longest) < 1e-9 * longest or part < 1e-6 or part > 1.0 - 1e-6:
            continue
        r = low + part * (high - low)
        deep = depth_to(tables, scene, s, m, i, f, r)
        its_nth, begin, stop = stretch_at(s.solid, s.end, m, solid, r)
        x1, y1, z1 = x + r * ux, y + r * uy, z + r * uz
        r2 = math.sqrt((tx - x1) ** 2 + (ty - y1) ** 2 + (tz - z1) ** 2)
        wx, wy, wz = (tx - x1) / r2, (ty - y1) / r2, (tz - z1) / r2
        m = cast(scene, x1, y1, z1, wx, wy, wz, r2, s)
        if deep + depth(tables, scene, s, m, i, f) > 50.0:
            continue  # so little arrives that it is taken as nothing
        out[n, 0] = bent(
            tables, scene, rows, s, 0, x, y, z, ux, uy, uz, length, solid, nth, part, longest, tx, ty, tz, lam,
            ACROSS,
        )  # fmt: skip
        # As a collision at B asks: only turns up to `ACROSS` were scored before.
        before = ux * wx + uy * wy + uz * wz > ACROSS and scored_before(
            scene, rows, s, 0, x, y, z, x1, y1, z1, tx, ty, tz, solid, its_nth, begin, stop
        )
        out[n, 1] = 1.0 if before else 0.0


def ways(ready: Prepared, a: tuple[float, float, float]) -> list[tuple[float, bool]]:
    """Contribution of each way from A that was drawn, and whether a plain score at its B leaves it out."""
    out = np.zeros((DRAWS, 2))
    t = tuple(float(v) for v in ready.targets.rows[0, X : Z + 1])
    s = trace.scratch(ready.scene.n)
    drawn(ready.tables, ready.scene, ready.targets.rows, s, a, t, ELECTRON_KEV / 90.0, out)
    return [(float(got), bool(left)) for got, left in out if got >= 0.0]


@settings(deadline=None)  # the first call compiles
@given(st.floats(0.5, 9.0), st.floats(-0.9, 2.0), st.floats(-3.0, 3.0), DEPTHS_M)
def test_a_way_is_scored_once(x: float, z: float, y: float, deep: float) -> None:
    """From a place just under the floor's face, whose rays aside graze it, to a target above."""
    for got, left_out in ways(prepared((x, y, z)), (-1.0, 0.0, FLOOR_M - deep)):
        assert left_out == (got > 0.0)


@settings(deadline=None)  # the first call compiles
@given(st.floats(-0.3, 0.3), st.floats(-0.05, 0.05), st.floats(0.3, 3.0))
def test_a_way_through_a_pipe_is_scored_once(x: float, y: float, far: float) -> None:
    for got, left_out in ways(prepared((x, far, 0.4)), (0.1, y, -0.3)):
        assert left_out == (got > 0.0)


def test_grazing_rays_are_refused() -> None:
    """One of two million such histories brought 13 % of a place's dose: ways far longer inside the floor."""
    found = ways(prepared((9.0, 1.0, 0.2)), (-1.0, 0.0, FLOOR_M - 1e-4))
    assert any(not left_out for _, left_out in found) and any(left_out for _, left_out in found)
    straight = 1e-4 * math.dist((9.0, 1.0, 0.2), (-1.0, 0.0, FLOOR_M - 1e-4)) / (0.2 - FLOOR_M + 1e-4)
    assert straight == pytest.approx(8.4e-4, rel=0.01)  # of the straight way inside the floor [m]
