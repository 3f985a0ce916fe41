"""Which survey point tells that a source is home: it stands well above background while the source is out."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.alarm_near import spot_of
from halflayer.sheet.figures import Show
from halflayer.sheet.home_reading import rests_in, source_home
from halflayer.sheet.points_of_weld import first_names, points_of, ropes_of
from halflayer.shielding.home_points import CLEAR, plain_Sv_s
from halflayer.shielding.result import PointDose
from halflayer.shielding.survey_points import is_barrier
from halflayer.shielding.travelling import travels

NOT_STATED = "beside it: not stated in the order, not computed"
NONE = "none tells: not exposed until the adviser has settled what does"


@dataclass(frozen=True)
class Witness:
    """The point that tells for some exposures, and the least that it reads in them while the source is out [Sv/s].

    Number 0: none stands well above background in them.
    """

    number: int
    exposures: tuple[int, ...]  # numbers from 1
    live: Derived | None = None
    far_m: float | None = None  # on foot from the crank, outside the rope; None: not known
    beyond: bool = False  # on the other side of the weld, seen from the crank


def witnesses(order: Order, w: WeldPlan, off_m: float = 0.0) -> list[Witness]:
    """One point for all exposures where one is plain in each; else the highest of each.

    That one lies `off_m` or more from the weld where any does (who reads first stands by a source that may be bare),
    and of those it is the soonest reached from the crank, the highest where no way is known.

    Points of the barrier on page 1 that are read with the source out, in the first survey where there is one, and are
    known reliably. A shielded source may read less beside its head than the head closed: only what falls tells there.
    Empty without a shield.
    """
    if w.shielding is None:
        return []
    found = _known(order, w)
    plain = plain_Sv_s(order)
    every = range(max((len(f.rates) for f in found), default=0))
    if not found:
        return [Witness(0, ())]
    if always := [f for f in found if min(f.rates) >= plain]:
        far = {f.number: way_m(order, w, f.name) for f in always}
        best = min(always, key=lambda f: (f.away_m < off_m, far[f.number] or 0.0, -min(f.rates)))
        told = _witness(best, every)
        return [replace(told, far_m=far[best.number], beyond=_beyond(order, w, best.name))]
    by_point: dict[int, list[int]] = {}
    for m in every:
        high = max(found, key=lambda f: f.rates[m])
        by_point.setdefault(high.number if high.rates[m] >= plain else 0, []).append(m)
    one = {f.number: f for f in found}
    return [_witness(one[n], at) if n else Witness(0, tuple(m + 1 for m in at)) for n, at in by_point.items()]


@dataclass(frozen=True)
class _Known:
    """A point that may tell: its number, how far from the weld it is read [m], its rate there by exposure [Sv/s].

    `low`: the rates less their errors, one-sided at 95 %.
    """

    number: int
    name: str
    away_m: float
    rates: tuple[float, ...]
    low: tuple[float, ...]


def _known(order: Order, w: WeldPlan) -> list[_Known]:
    """The points of the barrier on page 1, of the first survey where there is one, that are known reliably."""
    roped, points = ropes_of(order, w), points_of(order, w)
    seen = {p.name for p in points.front}
    if w.exposure is not None and w.exposure.first_survey is not None and w.safety is not None:
        seen &= first_names(order, w)
    found = []
    k = w.shielding.k if w.shielding is not None else 0.0
    for n, p in points.read:
        if p.name in seen and is_barrier(p) and p.reliable:
            rope = roped.get(p.name)
            times, away = (
                (rope.times, rope.away_m) if rope else (1.0, math.dist(p.at[:2], order.weld(w.weld).at))
            )
            rates = tuple(rate * times for rate in p.by_exposure_Sv_s or (p.rate_Sv_s,))
            found.append(_Known(n, p.name, away, rates, _low(p, rates, k)))
    return found


def _low(p: PointDose, rates: Sequence[float], k: float) -> tuple[float, ...]:
    """What a source that is out reads at the least in each exposure, at 95 % [Sv/s].

    Formula: rate x (1 - 1.645 x relative error), noise of that exposure and budget (k and walls, at 1.645) together.
    An expected figure itself would call a source home in a case of two in which it is out.
    """
    noise = p.by_exposure_sigma_rel or (p.sigma_rel,) * len(rates)
    return tuple(
        max(rate * (1.0 - 1.645 * math.hypot(own, (k + p.wall_k) / 1.645)), 0.0)
        for rate, own in zip(rates, noise, strict=True)
    )


def _witness(known: _Known, exposures: Sequence[int]) -> Witness:
    live = Derived(
        f"home_witness_{known.name}",
        min(known.low[m] for m in exposures),
        "Sv/s",
        formula="least of the exposures that it tells, where it is read, of rate x (ring / rope)^2 x (1 - 1.645 x "
        "relative error)",
        inputs=tuple(
            Derived(f"{what} at exposure {m + 1}", each[m], "Sv/s")
            for what, each in (("expected", known.rates), ("at least", known.low))
            for m in exposures
        ),
        source=f"expected in its place at {CLEAR:g} times background or more (our choice), inverse square law",
        basis="noise of the calculation and budget counted off, one-sided 95 %",
    )
    return Witness(known.number, tuple(m + 1 for m in exposures), live)


def way_m(order: Order, w: WeldPlan, name: str) -> float | None:
    """How far it is on foot from the crank to a point of the barrier, round outside the rope [m]; None: not known.

    Formula: to the rope from the crank, then from corner to corner of it the shorter way. Source: geometry.
    """
    spot, rope = spot_of(order, w), w.safety.contour if w.safety else None
    weld, points = order.weld(w.weld), w.shielding.points if w.shielding else ()
    p = next((p for p in points if p.name == name), None)
    sites = [c.site for c in rope.points if c.site is not None] if rope is not None and rope.closed else []
    if spot is None or p is None or len(sites) < 3:
        return None
    corners = [(x, y) for x, y, _ in sites]
    start, end = (_corner(corners, weld.at, at) for at in (spot.at, (p.at[0], p.at[1])))
    sides = [math.dist(a, b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True)]
    one = sum(sides[min(start, end) : max(start, end)])
    return math.dist(spot.at, corners[start]) + min(one, sum(sides) - one)


def _beyond(order: Order, w: WeldPlan, name: str) -> bool:
    """Whether a point lies more than a quarter of a turn round the weld from the crank."""
    spot, centre = spot_of(order, w), order.weld(w.weld).at
    p = next((p for p in (w.shielding.points if w.shielding else ()) if p.name == name), None)
    if spot is None or p is None:
        return False
    a, b = ((at[0] - centre[0], at[1] - centre[1]) for at in (spot.at, p.at))
    return a[0] * b[0] + a[1] * b[1] < 0.0


def _corner(
    corners: Sequence[tuple[float, float]], centre: tuple[float, float], at: tuple[float, float]
) -> int:
    """The corner of a rope whose direction from the weld is nearest to that of a spot."""
    turn = math.atan2(at[1] - centre[1], at[0] - centre[0])
    return min(
        range(len(corners)),
        key=lambda n: abs(
            math.remainder(math.atan2(corners[n][1] - centre[1], corners[n][0] - centre[0]) - turn, math.tau)
        ),
    )


def witness_figures(order: Order, w: WeldPlan) -> list[Derived]:
    """What such points read at least while the source is out, for `explain`: of all that tell for every exposure."""
    found = _known(order, w) if w.shielding is not None else []
    always = [f for f in found if min(f.rates) >= plain_Sv_s(order)]
    told = [_witness(f, range(len(f.rates))) for f in always] or witnesses(order, w)
    return [t.live for t in told if t.live is not None]


def line(order: Order, w: WeldPlan, show: Show, off_m: float = 0.0) -> str:
    """The line of page 1: what the source rests in, the point first, then the head's own reading.

    Empty where neither is known.
    """
    point, own = words(order, w, show, off_m), source_home(order, w, show)
    if not point and not own:
        return ""
    # One unit for the whole line, at its end.
    unit = own.rpartition(" ")[2]
    point = point.replace(f" {unit}", "") if own and unit.endswith("/h") else point
    return f"{rests_in(order, w)}: {'; '.join(t for t in (point, own or NOT_STATED) if t)}"


def words(order: Order, w: WeldPlan, show: Show, off_m: float = 0.0) -> str:
    """Which point must have fallen from what, before anyone goes in, and from which side; empty without a shield."""
    found = witnesses(order, w, off_m)
    told = [f for f in found if f.number]
    if not found:
        return ""
    if not told:
        return f"of the points {NONE}"
    # A source that travels rests elsewhere: the way in to its container is told on the next page.
    side = "" if w.chosen is not None and travels(order, w.chosen) else ", in from there"
    some = [f"{f.number} ({_out(order, f, show, named=len(found) > 1)})" for f in told]
    none = [f for f in found if not f.number]
    end = f" ({_at(none[0].exposures)}: {NONE})" if none else ""
    return f"first point {', '.join(some)} to background{side}{end}"


def _out(order: Order, f: Witness, show: Show, *, named: bool) -> str:
    """What it shows while the source is out, and its way from the crank where that goes round or is long."""
    least = float(f.live.value) if f.live is not None and isinstance(f.live.value, int | float) else math.nan
    told = f"out: at least {show.floor(least, 'equivalent_rate', digits=2)}"
    if named:
        told = f"{_at(f.exposures)}, {told}"
    times = order.crew_times
    long = f.far_m is not None and f.far_m / times.survey_speed_m_s > times.walk_s
    if f.far_m is not None and (long or f.beyond):
        told += f"; {show.paced(f.far_m)} round from the crank"
    if f.far_m is not None and long:
        told += f", {show.up(f.far_m / times.survey_speed_m_s, 'time', digits=2)}"
    return told


def _at(exposures: Sequence[int]) -> str:
    return f"exposure{'s' if len(exposures) > 1 else ''} {', '.join(map(str, exposures))}"
