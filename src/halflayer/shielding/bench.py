"""The bench for looks at lost shielding: one exposure, where it is asked, the rates as planned, and what holds."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from halflayer.exposure.result import Exposure
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.fitting import Fitting
from halflayer.scene.frame import Vec3, add, scaled
from halflayer.scene.trace import material_at
from halflayer.shielding.as_planned import ROPE, held_elsewhere, planned_estimate, planned_upper
from halflayer.shielding.asks import OPEN, Ask, barrier_asks, place_asks
from halflayer.shielding.averaging import BARRIER, shot_seconds
from halflayer.shielding.closed_floors import on_closed
from halflayer.shielding.contour import contour, reach_m
from halflayer.shielding.look import Rate, Setting
from halflayer.shielding.moved import cross
from halflayer.shielding.result import Shielding
from halflayer.shielding.rope_planned import by_ring
from halflayer.shielding.safety import at_control, where_crew_stands
from halflayer.shielding.safety_result import Contour, FloorDose
from halflayer.shielding.spots import flattest, quick_rates
from halflayer.technique.result import Shot

BATCHES = 8  # of one look at most, ended as soon as all that is asked of it is known: our choice
LINE = "barrier line "  # names of points where the barrier stands begin so
AT_LINE = (LINE, ROPE)
PLACES_AT_MOST = 1  # places beside the barrier points and the crew's own
RING_AT_MOST = 4
# What is not known reliably is taken with this relative noise at least: batch sigmas of short runs are too small.
NOISE_LEAST = 0.3
PLANNED = "as planned"  # name of the look at nothing changed
PLANNED_NOISE = 0.06  # of the largest rate at the barrier: what the look as planned is to know, our choice


@dataclass(frozen=True)
class Bench:
    """What all cases of a weld share: setting, shot, where it is asked, and the rates as planned."""

    setting: Setting
    fitting: Fitting
    shot: Shot
    built: Built
    asks: tuple[Ask, ...]
    crew: frozenset[str]
    longest_s: float
    seed: int
    planned: tuple[Rate, ...]
    every_shot: Mapping[str, float]  # upper rates as planned by name of the point, the worst of all exposures
    estimates: Mapping[str, float]  # and the estimates
    # Upper rate as planned where the crew is counted, its own place or the control position; None: not known.
    at_post_Sv_s: float | None = None
    # Upper rate as planned over all exposures and limit of each place and floor that holds as planned.
    elsewhere: Mapping[str, tuple[float, float]] = field(default_factory=dict)
    all_round: tuple[
        Ask, ...
    ] = ()  # behind a shroud: every direction of the rope, for what opens it all round
    # Where the looks ask: the rope may then stand farther out, and what is asked there follows by inverse square.
    looked: Mapping[str, Ask] = field(
        default_factory=dict
    )  # name of an ask: the one that a look asks in its place
    seen: dict[str, list[Rate]] = field(default_factory=dict)  # looks made, by what was changed

    def also(self, asks: Sequence[Ask]) -> Bench:
        """The bench with more points asked, of which no rate as planned is known: no rise is told there."""
        more = [a for a in asks if a.name not in {x.name for x in self.asks}]
        none = (Rate(a, 0.0, math.inf, False, {}) for a in more)
        return replace(self, asks=(*self.asks, *more), planned=(*self.planned, *none))

    def look(
        self,
        setting: Setting,
        fitting: Fitting,
        enough: Callable[[list[Rate]], bool] | None = None,
        *,
        what: str,
    ) -> list[Rate]:
        """Rates with a fault; `enough` says when a look is long enough, else that all its noise is known.

        `what` names the change: a look is made once, wherever the rope is then laid.
        """
        if what not in self.seen:
            asks = [self.looked.get(a.name, a) for a in self.asks]
            self.seen[what] = quick_rates(
                setting,
                fitting,
                self.shot,
                asks,
                seed=self.seed,
                batches=BATCHES,
                enough=None if enough is None else lambda found: enough(self._moved(found)),
            )
        return self._moved(self.seen[what])

    def _moved(self, rates: Sequence[Rate]) -> list[Rate]:
        """Rates where the rope stands: rate x (where it was looked at / there)^2. Source: inverse square law."""
        return [
            r if r.ask is a else replace(r, ask=a, rate_Sv_s=r.rate_Sv_s * _nearer(r.ask, a))
            for r, a in zip(rates, self.asks, strict=True)
        ]

    def farther(self, weld: Weld, shielding: Shielding, rope: Contour) -> Bench:
        """The bench with its points at the rope where that is laid anew, and what is planned there."""

        def at(a: Ask) -> Ask:
            there = None if a.direction_rad is None else reach_m(rope, a.direction_rad)
            if not a.name.startswith(ROPE) or there is None or a.radius_m is None:
                return a
            to = there / a.radius_m
            site = (
                *(w + (s - w) * to for w, s in zip(weld.at, a.site[:2], strict=True)),
                a.site[2],
            )
            name = f"{a.name.partition(',')[0]}, {there:.3g} m"
            return replace(a, name=name, site=site, local=self.built.to_local(site), radius_m=there)  # type: ignore[arg-type]

        asks, around = tuple(map(at, self.asks)), tuple(map(at, self.all_round))
        told = by_ring(self.setting.order, weld, self.setting.candidate, shielding, rope)
        pairs = zip((*asks, *around), (*self.asks, *self.all_round), strict=True)
        there = replace(
            self,
            asks=asks,
            all_round=around,
            looked={new.name: old for new, old in pairs if new is not old},
            every_shot=planned_upper(shielding, asks, rope, told),
            estimates=planned_estimate(shielding, asks, rope, told),
        )
        return replace(there, planned=tuple(there._moved(self.seen[PLANNED])))


def bench_of(
    setting: Setting,
    exposure: Exposure,
    shielding: Shielding,
    seed: int,
    floors: Sequence[FloorDose] = (),
) -> Bench:
    order, weld = setting.order, setting.weld
    shot = looked_at(setting, shielding)
    built = setting.build(shielding.fitting, shot)
    within = weld.barrier_within_m or order.limits.barrier_within_m
    ring = barrier_asks(order, weld, built.frame, exposure, (within,), built.scene)
    closed = on_closed(order, weld, floors)
    places = [
        a
        for a in place_asks(order, weld, built.frame, exposure)
        if a.name not in closed and material_at(built.scene, a.local).name in OPEN
    ]
    crew = {p.name for p in order.places if p.kind == "crew"}
    held = _ring(built, ring, shielding)
    rope = contour(order, weld, shielding)
    there = _at_the_line(weld, built, held, shielding, rope)
    # Where a rope stands it is outside it that people are: nothing is asked of the wanted distance in its direction.
    roped = {a.direction_rad for a in there if a.name.startswith(ROPE)}
    rest = [a for a in held if a.direction_rad not in roped]
    asks = (*rest, *there, *_places(places, crew, shielding))
    told = by_ring(order, weld, setting.candidate, shielding, rope)
    bench = Bench(
        setting,
        shielding.fitting,
        shot,
        built,
        asks,
        frozenset(crew),
        max(shot_seconds(exposure)),
        seed,
        (),
        planned_upper(shielding, ring, rope, told),
        planned_estimate(shielding, ring, rope, told),
        at_control(order, setting.candidate, where_crew_stands(order, weld, shielding)).rate_Sv_s,
        held_elsewhere(shielding, floors, closed),
        _all_round(weld, built, ring, shielding, rope) if setting.candidate.shroud else (),
    )
    return replace(bench, planned=tuple(bench.look(setting, shielding.fitting, _well_known, what=PLANNED)))


def looked_at(setting: Setting, shielding: Shielding) -> Shot:
    """The exposure that is looked at: beam flattest, of several as flat the one that brings most to the barrier.

    What another brings is raised as the one looked at is: from one that brings next to nothing as planned that is
    mostly noise.
    """
    shots = setting.candidate.shots
    most = [0.0] * len(shots)
    for p in shielding.points:
        if p.name.startswith(BARRIER) and len(p.by_exposure_Sv_s) == len(shots):
            most = [max(m, r) for m, r in zip(most, p.by_exposure_Sv_s, strict=True)]
    return max(flattest(setting), key=lambda s: most[shots.index(s)])


def _nearer(looked: Ask, there: Ask) -> float:
    """The rate at a point of the rope over that where it was looked at."""
    assert looked.radius_m is not None and there.radius_m is not None
    return (looked.radius_m / there.radius_m) ** 2


def _well_known(rates: Sequence[Rate]) -> bool:
    """True where the noise at no barrier point is more than a small part of the largest rate there: rises are of it."""
    ring = [r for r in rates if r.ask.radius_m is not None]
    top = max((r.rate_Sv_s for r in ring), default=0.0)
    return all(r.noise * r.rate_Sv_s <= PLANNED_NOISE * top for r in ring)


def _ring(built: Built, ring: Sequence[Ask], shielding: Shielding) -> list[Ask]:
    """Barrier points where a lost shield shows: in the beam's line, across it, and the worst as planned."""
    known = {p.name: p.upper_Sv_s for p in shielding.points}
    worst = sorted(ring, key=lambda a: -known.get(a.name, 0.0))[:1]
    wanted: list[Ask] = list(worst)
    for v in (built.aim, scaled(built.aim, -1.0), sideways(built), scaled(sideways(built), -1.0)):
        if ring:
            wanted.append(max(ring, key=lambda a: cosine(built, a, v)))
    return list(dict.fromkeys(wanted))[:RING_AT_MOST]


def _at_the_line(
    weld: Weld, built: Built, held: Sequence[Ask], shielding: Shielding, rope: Contour | None = None
) -> list[Ask]:
    """The same directions where the rope stands, or without a rope at the barrier's distance where that is nearer.

    Outside the rope is anyone: what a case brings there is what is printed, so it is judged there. The rope comes
    nearer to the weld in some directions than the barrier distance, and goes farther out in others.
    """
    farthest = shielding.barrier_stands_m.value
    found = []
    for a in held:
        assert a.radius_m is not None
        assert a.direction_rad is not None
        stands = reach_m(rope, a.direction_rad) if rope is not None and rope.points else None
        line = farthest if stands is None else stands
        if isinstance(line, int | float) and (stands is not None or line < a.radius_m):
            x = weld.at[0] + line * math.cos(a.direction_rad)
            y = weld.at[1] + line * math.sin(a.direction_rad)
            site = (x, y, a.site[2])
            local = built.to_local(site)
            if material_at(built.scene, local).name in OPEN:
                there = LINE if stands is None else ROPE
                name = f"{there}{math.degrees(a.direction_rad):.0f} deg, {line:.3g} m"
                found.append(Ask(name, site, local, a.kinds, a.direction_rad, float(line)))
    return found


def _all_round(
    weld: Weld, built: Built, ring: Sequence[Ask], shielding: Shielding, rope: Contour | None
) -> tuple[Ask, ...]:
    """Every direction, at the rope; at the wanted distance where none stands nearer.

    What a shroud keeps in leaves it on all sides, and behind it the rope stands nearest where the beam does not go.
    """
    line = _at_the_line(weld, built, ring, shielding, rope)
    there = {a.direction_rad for a in line}
    return (*line, *(a for a in ring if a.direction_rad not in there))


def sideways(built: Built) -> Vec3:
    """At right angles to beam and the aperture's long side."""
    return cross(built.aim, built.axis_along)


def cosine(built: Built, ask: Ask, direction: Vec3) -> float:
    d = add(ask.local, scaled(built.source_at, -1.0))
    return sum(a * b for a, b in zip(d, direction, strict=True)) / math.dist(ask.local, built.source_at)


def _places(places: Sequence[Ask], crew: set[str], shielding: Shielding) -> list[Ask]:
    """The crew's own places and those nearest to their limits as planned."""
    upper = {p.name: p.upper_Sv_s for p in shielding.points}
    own = [a for a in places if a.name in crew]
    rest = [a for a in places if a.name not in crew and a.limit_Sv_s]
    rest.sort(key=lambda a: -upper.get(a.name, 0.0) / (a.limit_Sv_s or 1.0))
    return [*own, *rest[:PLACES_AT_MOST]]


def noise(r: Rate) -> float:
    return r.sigma_rel if r.reliable else max(r.noise, NOISE_LEAST)


def upper(r: Rate, k: float) -> float:
    return r.rate_Sv_s * (1.0 + 1.645 * noise(r)) * (1.0 + k + r.wall_k)


def holds(rates: Sequence[Rate], k: float) -> bool | None:
    """True: all bounds under their limits. False: an estimate over one by more than its noise. None: between."""
    asked = [r for r in rates if r.ask.limit_Sv_s]
    if not asked:
        return None
    if all(upper(r, k) <= (r.ask.limit_Sv_s or 0.0) for r in asked):
        return True
    sure = (r.rate_Sv_s * (1.0 - 1.645 * min(noise(r), 0.6)) > (r.ask.limit_Sv_s or 0.0) for r in asked)
    return False if any(sure) else None


def exceeds(rates: Sequence[Rate]) -> bool:
    """True where an estimate is over its limit, whatever its noise."""
    return any(r.ask.limit_Sv_s and r.rate_Sv_s > r.ask.limit_Sv_s for r in rates)
