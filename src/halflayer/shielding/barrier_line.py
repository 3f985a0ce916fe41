"""The barrier line of a weld: rates on the grid of directions and distances for every shot, and where they fall."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from halflayer.base.result import Derived
from halflayer.exposure.result import Exposure
from halflayer.scene.fitting import Fitting
from halflayer.shielding.asks import Ask, barrier_asks
from halflayer.shielding.barrier import Crossing, crossing, directions_rad, furthest, radii_m, rounded_up
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.look import Rate, Setting

# Our choice: what a short run misses inside the accepted ring, inverse square from there makes up.
BARRIER_BATCHES, LESSONS = 3, 0.1
LEADS = 0.7  # of the highest shot's rate in a direction: what brings as much there is run for the line (our choice)


def barriers(
    setting: Setting,
    exposure: Exposure,
    fitting: Fitting,
    rates: list[list[Rate]],
    k: float,
    seed: int,
    within_m: float,
) -> tuple[Derived, Derived, tuple[tuple[float, float], ...]]:
    """Barrier distance at the rate limit and for the dose in any one hour, over all shots.

    A shot that leads in no direction, at the wanted distance, enters by inverse square from there alone.
    """
    limit = setting.order.limits.barrier
    radii = radii_m(within_m)
    rings = [{r.ask.direction_rad: r for r in shot if r.ask.radius_m is not None} for shot in rates]
    leading = _leading(rings)
    at = tuple(sorted({*radii, within_m}))
    grids: list[dict[tuple[float, float], float | None]] = []
    vague = 0
    for n, ring in enumerate(rings):
        if n not in leading:
            grids.append({(a, x): _along(r, k, x) for a, r in ring.items() for x in at if a is not None})
            continue
        shot = setting.candidate.shots[n]
        built = setting.build(fitting, shot)
        asks = barrier_asks(setting.order, setting.weld, built.frame, exposure, radii, built.scene)
        found = setting.rates(fitting, shot, asks, seed=seed, batches=BARRIER_BATCHES, lessons=LESSONS)
        vague += sum(not r.reliable for r in found)
        grid = {_key(r.ask): _bound(r, k, ring.get(r.ask.direction_rad)) for r in found}
        grid.update({_key(r.ask): _known(r, k) for r in ring.values()})
        grids.append(grid)
    note = (
        f"; {vague} of {sum(map(len, grids))} points are known to their noise only and enter with three "
        "sigma in place of 1.645, as their own noise may be too small"
    )
    whole = sum(float(s.seconds.value or 0.0) for s in exposure.shots)

    def walk(rate_limit: float) -> list[Crossing]:
        return [
            _worst_crossing([crossing(a, at, [g.get((a, r)) for r in at], rate_limit) for g in grids])
            for a in directions_rad()
        ]

    none = Derived("barrier_distance", None, "m", basis="no rate limit at the barrier is stated")
    by_rate = none
    lines: list[list[Crossing]] = []
    if limit.rate_Sv_s is not None:
        line = walk(limit.rate_Sv_s)
        by_rate = _barrier_figure("barrier_distance", line, limit.rate_Sv_s, limit.basis, k, note)
        lines.append(line)
    hour = Derived(
        "barrier_distance_hour", None, "m", basis="no limit for the dose in any one hour is stated"
    )
    if limit.in_any_hour_Sv is not None and whole > 0:
        line = walk(limit.in_any_hour_Sv / min(whole, 3600.0))
        hour = _barrier_figure("barrier_distance_hour", line, limit.in_any_hour_Sv, limit.basis, k, note)
        lines.append(line)
    # Both kinds of limit hold at the rope: in each direction the farther of the stated ones counts.
    outer = [_worst_crossing(list(of_both)) for of_both in zip(*lines, strict=True)] if lines else []
    directions = tuple((c.direction_rad, rounded_up(c.distance_m)) for c in outer if c.distance_m is not None)
    return by_rate, hour, directions


def _bound(r: Rate, k: float, ring: Rate | None) -> float | None:
    """Upper bound of one point of the grid: 1.645 sigma where reliable, else three sigma of at least 30 %.

    Our choice: points of heavy-tailed noise lay above 1.645 sigma in 15 % of cases and above three in 6 %. Inside the
    accepted ring such a point is not taken for less than the ring's bound by inverse square: a short run may have
    missed what arrives there. From the ring outwards a point that is not reliable is not taken for more than that, so
    that noise alone never puts the line outside a ring that was accepted: a ring figure that is not reliable itself
    stands for FAR times its bound, as it does where the ring is accepted. None where nothing is known.
    """
    if r.reliable:
        return r.upper_Sv_s(k)
    wide = r.rate_Sv_s * (1 + 3 * max(r.sigma_rel, 0.1)) * (1 + k) if math.isfinite(r.sigma_rel) else None
    if ring is None:
        return wide
    assert r.ask.radius_m is not None
    assert ring.ask.radius_m is not None
    along = _along(ring, k, r.ask.radius_m)
    if r.ask.radius_m < ring.ask.radius_m:
        if wide is None:
            return None
        return max(wide, ring.upper_Sv_s(k) * (ring.ask.radius_m / r.ask.radius_m) ** 2)
    return along if wide is None else min(wide, along)


def _along(ring: Rate, k: float, radius_m: float) -> float:
    """Bound at another distance in the direction of a figure of the accepted ring, by inverse square."""
    assert ring.ask.radius_m is not None
    return _known(ring, k) * (ring.ask.radius_m / radius_m) ** 2


def _leading(rings: Sequence[Mapping[float | None, Rate]]) -> set[int]:
    """Shots that bring some direction of the ring at least 0.7 of what the highest shot brings there."""
    found = set()
    for direction in {a for ring in rings for a in ring}:
        there = {n: ring[direction].rate_Sv_s for n, ring in enumerate(rings) if direction in ring}
        top = max(there.values())
        found |= {n for n, rate in there.items() if rate >= LEADS * top}
    return found


def _known(ring: Rate, k: float) -> float:
    """What a figure of the accepted ring stands for: its bound, FAR times as much where it is not reliable."""
    return ring.upper_Sv_s(k) * (1.0 if ring.reliable else FAR)


def _key(ask: Ask) -> tuple[float, float]:
    assert ask.direction_rad is not None and ask.radius_m is not None
    return (ask.direction_rad, ask.radius_m)


def _worst_crossing(found: list[Crossing]) -> Crossing:
    """Over shots: none known is worst, then the farthest."""
    return max(found, key=lambda c: math.inf if c.distance_m is None else c.distance_m)


def _barrier_figure(
    name: str, line: list[Crossing], limit: float, basis: str, k: float, note: str
) -> Derived:
    distance, state = furthest(line)
    unit = "Sv/s" if name == "barrier_distance" else "Sv"
    return Derived(
        name=name,
        value=None if distance is None else rounded_up(distance),
        unit="m",
        symbol="r_b",
        formula="outermost distance at which (estimate + 1.645 sigma; 3 where only the noise is known) x (1 + k) falls "
        "through the limit",
        inputs=(
            Derived("limit", limit, unit, source=basis),
            Derived("k", k, "1", basis="printed budget"),
        ),
        source="Monte Carlo at 24 directions and 8 distances, 1 m above the floor",
        basis=f"{state}; upper bound, rounded up to 0.1 m{note}",
    )
