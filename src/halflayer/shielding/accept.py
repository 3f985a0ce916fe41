"""The acceptance of a fitting: its rates by random numbers of its own, run on until what decides is settled."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.scene.fitting import Fitting
from halflayer.shielding.asks import Ask
from halflayer.shielding.budget import COVERAGE
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.look import Rate, Setting, worst
from halflayer.shielding.size import Look
from halflayer.shielding.stated import deciding

# Numbers of batches of the fixed sequences: our choice, measured in docs/validation.md.
FIRST = 4  # of each shot, for all places together
SETTLE_LESSONS = 0.5
SETTLE_FIRST = 6  # of the places near a limit that are not settled by that, before it is asked again
MOST = 48  # of these
PROVE_MOST = 2000
CLEAR_BATCHES = 4  # at most, of places far under their limits that are not known reliably
CLEAR_LESSONS = 0.1
TOGETHER = 6  # places in one such run: a run for few places learns to look at them
ERROR = 0.10  # relative noise at which the acceptance may end early
NOT_PROVED = 1.001  # stands for a ratio that is not known reliably
UNDER = 0.5  # a reliable upper bound under half its limit need not be known better


Begun = tuple[list[list[Rate]], Look | None]


def begun(setting: Setting, fitting: Fitting, asks: list[Ask], *, seed: int) -> Begun:
    """The first batches of every shot at all places, and how the fitting stands where they refuse it.

    Where a shot breaks a limit beyond its noise the fitting is refused at once: the rates of the shots after it are
    then missing.
    """
    k = setting.budget(fitting)[1]
    first = []
    for shot in setting.candidate.shots:
        first.append(setting.rates(fitting, shot, asks, seed=seed, batches=FIRST))
        if any(_surely_over(r, k) for r in first[-1]):
            return first, as_look([r for r in first[-1] if _surely_over(r, k)], k)
    return first, None


def accept(
    setting: Setting,
    fitting: Fitting,
    asks: list[Ask],
    *,
    seed: int,
    prove_to: float | None,
    known: Begun | None = None,
) -> tuple[list[list[Rate]], Look]:
    """The rates of every shot at all places, and how the fitting stands; `known`: what `begun` gave of it."""
    first, refused = known or begun(setting, fitting, asks, seed=seed)
    if refused is not None:
        return first, refused
    k = setting.budget(fitting)[1]
    rates = _settle(setting, fitting, first, k, seed=seed, prove_to=prove_to)
    stands = _verdict(rates, k)
    if stands.ratio <= 1 and not prove_to:
        rates = _clarified(setting, fitting, rates, seed=seed)
        rates = _settle(
            setting, fitting, rates, k, seed=seed, prove_to=prove_to
        )  # what has come near by that
        stands = _verdict(rates, k)
    return rates, stands


def _surely_over(r: Rate, k: float) -> bool:
    """Whether a limit is broken whatever the noise hides."""
    limit = r.ask.limit_Sv_s
    return limit is not None and r.rate_Sv_s * (1 - COVERAGE * r.noise) * (1 + k + r.wall_k) > limit


def _settle(
    setting: Setting,
    fitting: Fitting,
    first: list[list[Rate]],
    k: float,
    *,
    seed: int,
    prove_to: float | None,
) -> list[list[Rate]]:
    """The rates at all asks for every shot, run on until what decides is settled.

    A figure decides when no other shot is known to bring that place twice as much and its bound is not far
    under its limit; what decides and is not settled is run again alone, because a run for few places learns
    to look at them, and places in a shadow need that.
    """

    def enough(found: list[Rate]) -> bool:
        near = found if prove_to else [r for r in found if r.ratio(k) > 1 / FAR]
        return _settled(near, k, prove_to)

    most = PROVE_MOST if prove_to else MOST
    highest = [max(r.rate_Sv_s for r in of_ask) for of_ask in zip(*first, strict=True)]
    out = []
    for n, (shot, rates) in enumerate(zip(setting.candidate.shots, first, strict=True)):
        left = [
            r.ask
            for r, top in zip(rates, highest, strict=True)
            if r.rate_Sv_s >= top / 2
            and (prove_to or r.ratio(k) > 1 / FAR)
            and not _settled([r], k, prove_to)
        ]
        if left:
            again = {
                r.ask: r
                for r in setting.rates(
                    fitting,
                    shot,
                    left,
                    seed=seed,
                    batches=most,
                    first=SETTLE_FIRST,
                    enough=enough,
                    lessons=None if prove_to else SETTLE_LESSONS,
                )
            }
            rates = [again.get(r.ask, r) for r in rates]
        out.append(rates)
        if not prove_to and any(
            (_vague(r, k) or r.ratio(k) > 1) and r.rate_Sv_s >= top / 2
            for r, top in zip(rates, highest, strict=True)
        ):
            return [*out, *first[n + 1 :]]  # refused: what the other shots bring does not matter any more
    return out


def _vague(r: Rate, k: float) -> bool:
    """Whether a figure lies near its limit and is not known reliably: such a one is not proved."""
    return not r.reliable and r.ratio(k) > 1 / FAR


def _verdict(rates: list[list[Rate]], k: float) -> Look:
    """How a fitting stands over all shots; one that cannot be proved near a limit counts as refused.

    A little more shield then brings the bound far under its limit, where nothing needs to be proved closely.
    """
    top = max((as_look(r, k) for r in rates), key=lambda x: x.ratio)
    for of_ask in zip(*rates, strict=True):
        r = deciding(of_ask, k)
        if _vague(r, k):
            return Look(max(top.ratio, NOT_PROVED), r.ask.name, r.noise, r.shares, reliable=False)
    return top


def _settled(rates: Sequence[Rate], k: float, prove_to: float | None) -> bool:
    """True when every limited figure is reliable and either known well enough or far on one side of its limit."""
    for r in rates:
        if r.ask.limit_Sv_s is None:
            continue
        if prove_to is not None and r.sigma_rel > prove_to:
            return False
        if not r.reliable or (r.noise > ERROR and r.ratio(k) > UNDER):
            return False
    return True


def as_look(rates: Sequence[Rate], k: float) -> Look:
    """The place that stands worst, as the sizing wants it."""
    top = worst(rates, k)
    if top is None:
        return Look(0.0, "no place with a limit", 0.0)
    return Look(top.ratio(k), top.ask.name, top.noise, top.shares, top.reliable)


def _clarified(setting: Setting, fitting: Fitting, rates: list[list[Rate]], *, seed: int) -> list[list[Rate]]:
    """The rates with those that decide and are not known reliably run again, a few places in one direction together.

    Such places lie far under their limits; to know them reliably is to be able to say that their limits hold.
    """
    out = []
    for n, shot in enumerate(setting.candidate.shots):
        left = [
            of_ask[n].ask
            for of_ask in zip(*rates, strict=True)
            if of_ask[n].ask.limit_Sv_s is not None
            and not of_ask[n].reliable
            and of_ask[n].rate_Sv_s == max(r.rate_Sv_s for r in of_ask)
        ]
        centre = setting.build(fitting, shot).source_at
        left.sort(key=lambda a: math.atan2(a.local[1] - centre[1], a.local[0] - centre[0]))
        again: dict[Ask, Rate] = {}
        runs = -(-len(left) // TOGETHER)
        for i in range(runs):
            few = left[i * len(left) // runs : (i + 1) * len(left) // runs]
            found = setting.rates(
                fitting,
                shot,
                few,
                seed=seed,
                batches=CLEAR_BATCHES,
                first=1,
                enough=lambda now: all(r.reliable for r in now),
                lessons=CLEAR_LESSONS,
            )
            again.update({r.ask: r for r in found})
        out.append([again.get(r.ask, r) for r in rates[n]])
    return out
