"""Flaws of the order in an image: solids in the metal and dents on its surfaces, and the chance that each is found."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.paths import film_hit
from halflayer.order.flaws import INSIDE, ROUND, Flaw
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.radiograph.surface import ROOT_SHARE, Surfaces
from halflayer.scene.build import Built
from halflayer.scene.frame import Vec3
from halflayer.scene.matter import order_material
from halflayer.scene.solids import Box, Solid, Sphere

Array = NDArray[np.float64]

PIECE_M = 0.0012  # our choice: a crack turns about so often
CRACK_TILT, CRACK_STEP = 0.12, 0.15  # rad and share of a piece: how far a crack wanders (our choice)
BEVEL_RAD = math.radians(30.0)  # of the side wall of a V weld (common practice, no source)
SLAG = "aluminium"  # stands for slag, 2.6 to 3 g/cm3 and about as light in its elements (our choice)


@dataclass(frozen=True)
class Placed:
    """A flaw with its number in the order, from 1, and the place of its middle in the weld frame."""

    number: int
    flaw: Flaw
    at: Vec3

    @property
    def label(self) -> str:
        """Its number and name."""
        return f"{self.number}: {self.flaw.name}"


def placed(weld: Weld) -> tuple[Placed, ...]:
    """The flaws of a weld with their middles."""
    return tuple(Placed(n, f, _middle(weld, f)) for n, f in enumerate(weld.flaws, start=1))


def _frame(clock_rad: float) -> tuple[Array, Array, Array]:
    """Unit vectors outwards, round the pipe with the clock, and along it."""
    s, c = math.sin(clock_rad), math.cos(clock_rad)
    return np.array([0.0, -s, c]), np.array([0.0, -c, -s]), np.array([1.0, 0.0, 0.0])


def _height(f: Flaw) -> float:
    return f.height_m if f.height_m is not None else f.width_m


def _below(weld: Weld, f: Flaw) -> float:
    """Depth of a flaw's middle below the outside surface [m]: as stated, else where such a flaw lies (our choice)."""
    wall, h = weld.pipe.wall, _height(f)
    if f.below_m is not None:
        return f.below_m
    if f.imperfection in ("101", "102", "402"):
        return wall - h / 2  # open to the root
    if f.imperfection in ("5011", "wall loss outside"):
        return 0.0
    if f.imperfection in ("504", "515", "wall loss inside"):
        return wall
    return wall / 2


def _along(weld: Weld, f: Flaw) -> float:
    """Place along the pipe [m]: as stated, else where such a flaw lies (our choice)."""
    if f.along_m is not None:
        return f.along_m
    half = weld.cap.width_m / 2
    if f.imperfection == "5011":
        return half
    if f.imperfection == "4011":
        # on the side wall, which runs from the toe of the cap to that of the root
        share = _below(weld, f) / weld.pipe.wall
        return half * (1.0 - share) + half * ROOT_SHARE * share
    return 0.0


def _middle(weld: Weld, f: Flaw) -> Vec3:
    out, _, _ = _frame(f.clock_rad)
    p = out * (weld.pipe.od / 2 - _below(weld, f))
    return (_along(weld, f), float(p[1]), float(p[2]))


def flaw_solids(order: Order, weld: Weld) -> list[Solid]:
    """The flaws that lie in the metal, as air (or slag, or tungsten) painted over it. Names begin with `flaw `."""
    air = order_material(order, "air")
    out: list[Solid] = []
    for one in placed(weld):
        f = one.flaw
        name = f"flaw {one.number}"
        if f.imperfection in ROUND:
            matter = order_material(order, "tungsten") if f.imperfection == "3041" else air
            out.append(Sphere(name, one.at, f.width_m / 2, None, matter))
        elif f.imperfection in INSIDE or f.imperfection == "402":
            matter = order_material(order, SLAG) if f.imperfection == "301" else air
            out += _sheet(name, weld, one, matter)
    return out


def _sheet(name: str, weld: Weld, one: Placed, matter) -> list[Solid]:  # type: ignore[no-untyped-def]
    """A thin body that follows the pipe: a chain of boxes that wander, cracks most; its sizes are the largest."""
    f = one.flaw
    assert f.length_m is not None and f.height_m is not None
    wanders = f.imperfection in ("101", "102")
    across = f.imperfection == "102"
    radius = weld.pipe.od / 2 - _below(weld, f)
    n = max(1, math.ceil(f.length_m / PIECE_M - 1e-9))
    piece = f.length_m / n
    # The same crack each time: its way is drawn from its number.
    rng = np.random.default_rng((0xC4AC, one.number))
    bevel = math.copysign(BEVEL_RAD, _along(weld, f) or 1.0) if f.imperfection == "4011" else 0.0
    out: list[Solid] = []
    drift = 0.0
    for k in range(n):
        s = (k + 0.5) * piece - f.length_m / 2
        tilt = float(rng.normal(0.0, CRACK_TILT)) if wanders else 0.0
        drift += float(rng.normal(0.0, CRACK_STEP if wanders else 0.3 * CRACK_STEP)) * piece
        # all taper towards their ends, slag most of all; what is not a crack varies in width
        taper = math.sqrt(max(1.0 - (2.0 * s / f.length_m) ** 2, 0.05))
        if not wanders:
            taper = taper if f.imperfection == "301" else taper**0.3
        wide = f.width_m * (1.0 if wanders else float(rng.uniform(0.7, 1.0)) * taper)
        clock = f.clock_rad + (drift / radius if across else s / radius)
        x = _along(weld, f) + (s if across else drift)
        o, t, a = _frame(clock)
        run, gape = (a, t) if across else (t, a)
        up = math.cos(bevel) * o + math.sin(bevel) * gape
        gape = math.cos(bevel) * gape - math.sin(bevel) * o
        run, gape = (
            math.cos(tilt) * run + math.sin(tilt) * gape,
            math.cos(tilt) * gape - math.sin(tilt) * run,
        )
        centre = o * radius
        axes = tuple(tuple(float(c) for c in v) for v in (run, up, gape))
        out.append(
            Box(
                name,
                (x, float(centre[1]), float(centre[2])),
                (piece * 1.05, f.height_m * taper, wide),
                matter,
                axes,  # type: ignore[arg-type]
            )
        )
    return out


def reach_m(weld: Weld) -> float:
    """How far from the weld's middle the dents of its flaws reach along the pipe [m]; 0 without any."""
    ends = [
        abs(_along(weld, f)) + f.width_m
        for f in weld.flaws
        if f.imperfection not in INSIDE and f.imperfection != "402"
    ]
    return max(ends, default=0.0)


def dented(surfaces: Surfaces, weld: Weld, only: int | None = None) -> Surfaces:
    """The surfaces with the flaws that lie on them (or the one of that number): undercut, root, wall loss.

    Undercut and a concave root have round cross-sections and ends that run out; wall loss is a smooth dish,
    excess penetration a drop.
    """
    x, clock = surfaces.grids()
    outer, inner = surfaces.outer.copy(), surfaces.inner.copy()
    for one in placed(weld):
        f = one.flaw
        if (only is not None and one.number != only) or f.imperfection in INSIDE or f.imperfection == "402":
            continue
        assert f.length_m is not None and f.height_m is not None
        outside = f.imperfection in ("5011", "wall loss outside")
        radius = weld.pipe.od / 2 if outside else weld.pipe.bore / 2
        turn = (clock - f.clock_rad + math.pi) % (2.0 * math.pi) - math.pi
        p = 2.0 * (x - _along(weld, f)) / f.width_m
        q = 2.0 * turn * radius / f.length_m
        if f.imperfection.startswith("wall loss") or f.imperfection == "504":
            r2 = p[:, None] ** 2 + q[None, :] ** 2
            shape = np.clip(1.0 - r2, 0.0, None) ** (1.0 if f.imperfection == "504" else 1.5)
        else:
            shape = np.outer(np.clip(1.0 - p * p, 0.0, None), np.clip(1.0 - q**8, 0.0, None))
        target = outer if outside else inner
        target += (1.0 if f.imperfection == "504" else -1.0) * f.height_m * shape
    return replace(surfaces, outer=np.ascontiguousarray(outer), inner=np.ascontiguousarray(inner))


def image_place(one: Placed, built: Built) -> tuple[float, float] | None:
    """Where the middle of a flaw falls on the film (u, v) [m]; None where it misses it."""
    hit = film_hit(built.film, built.source_at, one.at)
    film = built.film
    if hit is None or abs(hit[0]) > film.width_m / 2 or abs(hit[1]) > film.length_m / 2:
        return None
    return hit


def half_sizes_m(found: Sequence[Placed]) -> list[tuple[float, float]]:
    """Half the extent of each flaw along the pipe and round it [m]."""
    out = []
    for one in found:
        f = one.flaw
        long = (f.length_m or f.width_m) / 2
        wide = max(f.width_m, 0.3 * _height(f) if f.imperfection == "4011" else 0.0) / 2
        out.append((long, wide) if f.imperfection == "102" else (wide, long))
    return out
