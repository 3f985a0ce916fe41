"""What a look at one exposure with something out of place says of all of them: rates at the rope, and what holds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.shielding.asks import Ask
from halflayer.shielding.averaging import BARRIER
from halflayer.shielding.bench import AT_LINE, Bench, exceeds, holds, noise, upper
from halflayer.shielding.look import Rate

COVERAGE = 1.645
HOPELESS = (
    -0.5
)  # standard deviations: a rise that breaks a limit even so much lower is not looked at longer, our choice


@dataclass(frozen=True)
class Told:
    """The worst at the barrier over all exposures, and whether every limit still holds; None: not known reliably."""

    rise: float | None  # upper bound of how many times the planned rate, at the barrier points
    at: Rate | None  # the worst barrier point of the exposure looked at
    barrier_upper_Sv_s: float | None
    where: str
    other: bool  # the figure is that of another exposure as planned, raised
    lower: bool  # the look reads less than as planned, by noise: the planned figure stands
    holds: bool | None
    over: bool  # not known to hold, and an estimate is over its limit all the same


def told(b: Bench, rates: Sequence[Rate]) -> Told:
    """What the rates of a look say, the exposure looked at by its own figures and the others by its rise."""
    k = b.setting.budget(b.fitting)[1]
    # Where the barrier stands; where that is the wanted distance itself that is asked.
    ring = [r for r in rates if r.ask.name.startswith(AT_LINE)]
    ring = ring or [r for r in rates if r.ask.radius_m is not None]
    at = max(ring, key=lambda r: upper(r, k), default=None)
    names = {r.ask.name for r in ring}
    before = max((r for r in b.planned if r.ask.name in names), key=lambda r: upper(r, k), default=None)
    lower = at is not None and before is not None and upper(at, k) < upper(before, k)
    at = before if lower else at
    seen = upper(at, k) if at else None
    rise = rise_upper(b.planned, rates)
    found = [(p, n) for n, p in b.every_shot.items() if n.startswith(BARRIER)]
    planned, there = max(found, default=(None, ""))
    # A look at another exposure tells how much a fault raises the rate, not where: it errs on the high side.
    elsewhere = None if planned is None else planned * max(1.0, rise or 1.0)
    other = elsewhere is not None and seen is not None and elsewhere > seen
    most = elsewhere if other else seen
    verdict = holds(rates, k)
    if other and verdict is True and (rise is None or not _within(b.asks, most)):
        verdict = None
    if lower and verdict is True and not _within(b.asks, seen):
        verdict = None
    if verdict is True and any(u * max(1.0, rise or 1.0) > limit for u, limit in b.elsewhere.values()):
        verdict = None
    estimate = b.estimates.get(there, 0.0) * max(1.0, rise_upper(b.planned, rates, sigmas=0.0) or 1.0)
    over = verdict is None and (exceeds(rates) or (other and not _within(b.asks, estimate)))
    return Told(rise, at, most, there if other else at.ask.name if at else "", other, lower, verdict, over)


def decided(b: Bench, rates: Sequence[Rate]) -> bool:
    """True where more batches of a look would hardly change what it says: it holds, breaks, or is far from holding."""
    if told(b, rates).holds is not None:
        return True
    least = rise_upper(b.planned, rates, sigmas=HOPELESS)
    planned = max((p for n, p in b.every_shot.items() if n.startswith(BARRIER)), default=None)
    return planned is not None and least is not None and not _within(b.asks, planned * least)


def rise_upper(planned: Sequence[Rate], now: Sequence[Rate], *, sigmas: float = COVERAGE) -> float | None:
    """Upper bound of how many times the largest planned rate at the barrier is reached; None: nothing to compare.

    Formula: 1 + max over points of (now - planned + 1.645 sqrt(sigma_now^2 + sigma_planned^2)) / largest planned.
    Absolute, so that a point that gets next to nothing cannot raise the worst one many times by its noise; what
    another exposure gets is the same set-up turned about the pipe.
    """
    pairs = [
        (before, after)
        for before, after in zip(planned, now, strict=True)
        if before.ask.radius_m is not None and before.rate_Sv_s > 0.0
    ]
    if not pairs:
        return None
    top = max(before.rate_Sv_s for before, _ in pairs)
    more = max(
        after.rate_Sv_s
        - before.rate_Sv_s
        + sigmas * math.hypot(noise(after) * after.rate_Sv_s, before.noise * before.rate_Sv_s)
        for before, after in pairs
    )
    return 1.0 + max(more, 0.0) / top


def _within(asks: Sequence[Ask], rate_Sv_s: float | None) -> bool:
    limit = min((a.limit_Sv_s for a in asks if a.radius_m is not None and a.limit_Sv_s), default=None)
    return rate_Sv_s is not None and limit is not None and rate_Sv_s <= limit
