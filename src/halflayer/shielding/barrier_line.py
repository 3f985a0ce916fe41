"""The barrier line of a weld: rates on the grid of directions and distances for every shot, and where they fall."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace

from halflayer.base.result import Derived
from halflayer.exposure.result import Exposure
from halflayer.scene.fitting import Fitting
from halflayer.scene.solids import Scene
from halflayer.scene.trace import materials_of, path_lengths
from halflayer.shielding.asks import OPEN, Ask, barrier_asks
from halflayer.shielding.barrier import (
    HEIGHT_M,
    Crossing,
    crossing,
    directions_rad,
    furthest,
    radii_m,
    rounded_up,
)
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.hour_at_rope import counted_s, on_its_way
from halflayer.shielding.look import Rate, Setting

# Our choice: what a short run misses inside the accepted ring, inverse square from there makes up.
BARRIER_BATCHES, LESSONS = 3, 0.1
# The points that decide the printed distance, run on alone: our choice.
STEADY = 0.12  # noise: 1.645 sigma of it moves a distance by a tenth
OUTERMOST = 0.85  # of the largest distance: directions in which a line may turn out to be the farthest
SETTLE_FIRST, SETTLE_MOST, SETTLE_LESSONS = 3, 6, 0.05
ROUNDS = 3  # a line that comes in has other points beside it
ABOUT = 1.3  # points so far inside and outside of where the ring puts the line are computed (our choice)
LEADS = 0.7  # of the highest shot's rate in a direction: what brings as much there is run for the line (our choice)

Spot = tuple[float, float]  # direction [rad], distance [m]


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
    hour_s = counted_s(setting.order, setting.candidate, exposure)
    by_dose = limit.in_any_hour_Sv / hour_s if limit.in_any_hour_Sv is not None and hour_s > 0 else None
    limits = [value for value in (limit.rate_Sv_s, by_dose) if value is not None]
    way = on_its_way(setting, exposure) if by_dose is not None else None
    runs: dict[int, dict[Spot, Rate]] = {}
    for n, shot in enumerate(setting.candidate.shots):
        built = setting.build(fitting, shot)
        grid = barrier_asks(setting.order, setting.weld, built.frame, exposure, radii, built.scene)
        # What leads nowhere is run too where the ring has no figure, in a wall: nothing else tells what it brings.
        asks = (
            _about_the_line(grid, rings[n], limits, k, built.scene)
            if n in leading
            else [a for a in grid if a.direction_rad not in rings[n]]
        )
        if not asks:
            continue
        found = setting.rates(fitting, shot, asks, seed=seed, batches=BARRIER_BATCHES, lessons=LESSONS)
        runs[n] = {_key(r.ask): r for r in found}

    def grids() -> list[dict[Spot, float | None]]:
        made = []
        for n, ring in enumerate(rings):
            if n in runs:
                grid = {spot: _bound(r, k, ring.get(spot[0])) for spot, r in runs[n].items()}
                grid.update({_key(r.ask): _known(r, k) for r in ring.values()})
                grid.update(_where_nothing_is_known(grid, ring, at, k))
            else:
                grid = {(a, x): _along(r, k, x) for a, r in ring.items() for x in at if a is not None}
            made.append(grid)
        return made

    def travelling(spot: Spot) -> float:
        """What the source's way adds to a point of the line, as a rate over the time that counts in an hour."""
        return way(_on_site(setting, spot)) / hour_s if way is not None else 0.0

    def by_shot(rate_limit: float, *, dose: bool) -> list[list[Crossing]]:
        def there(grid: dict[Spot, float | None], spot: Spot) -> float | None:
            known = grid.get(spot)
            return known if known is None or not dose else known + travelling(spot)

        return [
            [crossing(a, at, [there(g, (a, r)) for r in at], rate_limit) for a in directions_rad()]
            for g in grids()
        ]

    def walk(rate_limit: float, *, dose: bool = False) -> list[Crossing]:
        of_shots = by_shot(rate_limit, dose=dose)
        return [_worst_crossing(list(of_direction)) for of_direction in zip(*of_shots, strict=True)]

    _settle(
        setting,
        fitting,
        runs,
        lambda done: _outermost([by_shot(x, dose=x is by_dose) for x in limits], at, done),
        seed,
    )
    vague = sum(not r.reliable for run in runs.values() for r in run.values())
    note = (
        f"; {vague} of {sum(map(len, grids()))} points are known to their noise only and enter with three "
        "sigma in place of 1.645, as their own noise may be too small"
    )

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
    if by_dose is not None and limit.in_any_hour_Sv is not None:
        line = walk(by_dose, dose=True)
        counted = "; whole exposures with trial and reshoots, no pause"
        counted += "; the source's way, out and back, counted in" if way is not None else ""
        hour = _barrier_figure(
            "barrier_distance_hour", line, limit.in_any_hour_Sv, limit.basis, k, note + counted
        )
        lines.append(line)
    # Both kinds of limit hold at the rope: in each direction the farther of the stated ones counts.
    outer = [_worst_crossing(list(of_both)) for of_both in zip(*lines, strict=True)] if lines else []
    directions = tuple((c.direction_rad, rounded_up(c.distance_m)) for c in outer if c.distance_m is not None)
    return by_rate, hour, directions


def _on_site(setting: Setting, spot: Spot) -> tuple[float, float, float]:
    """A point of the grid on the site, as it is asked for."""
    weld, (angle, r) = setting.weld, spot
    x, y = weld.at[0] + r * math.cos(angle), weld.at[1] + r * math.sin(angle)
    return (x, y, weld.floor_level_m + HEIGHT_M)


def _about_the_line(
    grid: Sequence[Ask], ring: Mapping[float | None, Rate], limits: Sequence[float], k: float, scene: Scene
) -> list[Ask]:
    """The points of the grid that may decide where the line lies, by inverse square from the accepted ring.

    Of a direction all do where the ring has no figure, or where anything solid stands on the way out: the rate does
    not fall by the square of the distance there. A run for fewer points has more photons for each.
    """
    found = []
    for direction in dict.fromkeys(a.direction_rad for a in grid):
        asks = [a for a in grid if a.direction_rad == direction]
        radii = [float(a.radius_m or 0.0) for a in asks]
        known = ring.get(direction)
        if known is None or not limits or not _all_air(scene, asks[0], asks[-1]):
            found += asks
            continue
        at = [float(known.ask.radius_m or 0.0) * math.sqrt(_known(known, k) / limit) for limit in limits]
        low = max((r for r in radii if r <= min(at) / ABOUT), default=radii[0])
        high = min((r for r in radii if r >= max(at) * ABOUT), default=radii[-1])
        found += [a for a, r in zip(asks, radii, strict=True) if low <= r <= high]
    return found


def _all_air(scene: Scene, near: Ask, far: Ask) -> bool:
    """Whether nothing solid lies between two points."""
    lengths = path_lengths(scene, near.local, [far.local])[0]
    return all(x <= 0.0 for m, x in zip(materials_of(scene), lengths, strict=True) if m.name not in OPEN)


def _outermost(
    lines: Sequence[Sequence[Sequence[Crossing]]], at: Sequence[float], done: set[tuple[int, Spot]]
) -> tuple[int, list[Spot]] | None:
    """The exposure whose line lies farthest out, and where its points are that put it there; None where all are known.

    `lines`: of each limit and each exposure the crossings in all directions. Points of other directions nearly as far
    out come along: they cost little in the same run.
    """
    far = [
        (c.distance_m, n, c)
        for of_limit in lines
        for n, line in enumerate(of_limit)
        for c in line
        if c.distance_m is not None and c.state == "found"
    ]
    if not far:
        return None
    top, number, _ = max(far, key=lambda f: f[0])
    spots: dict[Spot, None] = {}
    for d, n, c in sorted(far, key=lambda f: -f[0]):
        if n == number and d >= OUTERMOST * top:
            spots[(c.direction_rad, max((x for x in at if x <= d), default=at[0]))] = None
            spots[(c.direction_rad, min((x for x in at if x > d), default=at[-1]))] = None
    decide = list(spots)[:2]
    if all((number, spot) in done for spot in decide):
        return None
    return number, [spot for spot in spots if (number, spot) not in done]


def _settle(
    setting: Setting,
    fitting: Fitting,
    runs: dict[int, dict[Spot, Rate]],
    outermost: Callable[[set[tuple[int, Spot]]], tuple[int, list[Spot]] | None],
    seed: int,
) -> None:
    """The points on which the printed distance stands are run alone until they are known, so that noise is not told.

    Three batches for the whole grid put the line of the example's W10 at 12.5 to 19.8 m by the random numbers taken.
    What is learned here stays here: later runs of the weld do not hang on it.
    """
    here = replace(setting, hints=dict(setting.hints))
    done = {(n, spot) for n, run in runs.items() for spot, r in run.items() if _settled(r)}
    for _ in range(ROUNDS):
        found = outermost(done)
        if found is None or found[0] not in runs:
            return
        n, spots = found
        asks = [runs[n][spot].ask for spot in spots if spot in runs[n]]
        done |= {(n, spot) for spot in spots}
        if not asks:
            continue
        rates = here.rates(
            fitting,
            setting.candidate.shots[n],
            asks,
            seed=seed,
            batches=SETTLE_MOST,
            lessons=SETTLE_LESSONS,
            first=SETTLE_FIRST,
            enough=lambda rates: all(map(_settled, rates)),
        )
        runs[n].update({_key(r.ask): r for r in rates})


def _settled(r: Rate) -> bool:
    """Known so well that its noise moves the distance little: distance goes by the root of the rate."""
    return r.reliable and r.noise <= STEADY


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
    most = 1 + k + r.wall_k
    wide = r.rate_Sv_s * (1 + 3 * max(r.sigma_rel, 0.1)) * most if math.isfinite(r.sigma_rel) else None
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


def _where_nothing_is_known(
    grid: Mapping[Spot, float | None], ring: Mapping[float | None, Rate], at: Sequence[float], k: float
) -> dict[Spot, float | None]:
    """The ring by inverse square in the directions in which the run brought nothing to any point but the ring's own."""
    found: dict[Spot, float | None] = {}
    for direction, r in ring.items():
        known = [1 for (a, _), value in grid.items() if a == direction and value is not None]
        if direction is not None and len(known) < 2:
            found |= {(direction, x): _along(r, k, x) for x in at}
    return found


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
