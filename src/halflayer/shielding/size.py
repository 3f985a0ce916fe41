"""Fewest plates and layers that hold every limit: the search, with the dose left to a function it is given.

The search knows nothing of transport: `look(fitting, shot)` answers how far the worst place is from its limit
with the sizing's random numbers, `accept(fitting)` answers the same over all shots with independent ones.
Sizes found on one seed are biased low, so that what is proposed is accepted on the other seed or enlarged.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

from halflayer.scene.fitting import Fitting

AMPLE = 0.5  # a ratio under this leaves room for much less shield (our choice)
GLANCED = 2  # shots looked at of those that a glance puts first: our choice, the acceptance sees all
ENLARGE_AT_MOST = 5  # steps after the first refusal by the independent seed


@dataclass(frozen=True)
class Look:
    """How the worst place stands: upper bound over limit, its name, its noise and where its dose comes from."""

    ratio: float  # (estimate + 1.645 sigma) x (1 + k) over the limit, largest over places and limits
    name: str
    sigma_rel: float
    shares: dict[str, float] = field(default_factory=dict)
    reliable: bool = True


@dataclass(frozen=True)
class Sized:
    """The fitting found and how; `held` is False when nothing within the stock holds the limits."""

    fitting: Fitting
    held: bool
    last: Look
    enlarged: int  # steps added after the independent seed refused the first size
    saturated: bool  # more shield did not lower the worst place by more than its error
    note: str


@dataclass
class _Memory:
    look: Callable[[Fitting, int], Look]
    seen: dict[tuple[Fitting, int], Look] = field(default_factory=dict)

    def __call__(self, fitting: Fitting, shot: int) -> Look:
        key = (fitting, shot)
        if key not in self.seen:
            self.seen[key] = self.look(fitting, shot)
        return self.seen[key]


def least(most: int, guess: int, ratio: Callable[[int], float]) -> int | None:
    """Least n in 0..most with ratio(n) <= 1, taking ratio as falling; None when ratio(most) > 1.

    Steps by the slope of log ratio over n between the nearest known n on either side, so that a good guess
    takes two or three looks.
    """
    lo, hi = -1, most + 1  # lo breaks, hi holds (not yet looked at)
    known: dict[int, float] = {}
    n = min(max(guess, 0), most)
    while hi - lo > 1:
        known[n] = ratio(n)
        if known[n] <= 1:
            hi = n
        else:
            lo = n
        if hi - lo <= 1:
            break
        n = _next(lo, hi, most, known)
    return hi if hi <= most else None


def _next(lo: int, hi: int, most: int, known: dict[int, float]) -> int:
    """Where to look next between a breaking `lo` and a holding `hi`."""
    inner = range(lo + 1, min(hi, most + 1))
    logs = {n: math.log(max(r, 1e-12)) for n, r in known.items()}
    wanted: float
    if lo in logs and hi in logs:
        wanted = lo + (hi - lo) * logs[lo] / (logs[lo] - logs[hi])
    elif len(logs) >= 2:
        (a, ya), (b, yb) = sorted(logs.items())[:2] if hi in logs else sorted(logs.items())[-2:]
        slope = (yb - ya) / (b - a)
        edge = hi if hi in logs else lo
        wanted = (
            edge - logs[edge] / slope if slope < -1e-3 else (inner[-1] if hi not in logs else (lo + hi) / 2)
        )
    else:
        # One look only: a halving per piece is a fair first slope for plates of a few mm and for layers.
        ((edge, y),) = logs.items()
        # Far under the limit the ratio has mostly stopped falling: what none at all gives tells more.
        wanted = 0 if y < math.log(AMPLE) else edge + y / math.log(2)
    return min(max(math.ceil(wanted - 1e-9), inner[0]), inner[-1])


@dataclass(frozen=True)
class Proposal:
    """What the sizing's own random numbers propose, before any acceptance; `short` where the stock does not do."""

    fitting: Fitting
    shot: int  # the exposure whose worst place decides
    plates_max: int
    layers_max: int
    seen: _Memory
    fit: Callable[[int, int], Fitting]
    cost: Callable[[Fitting], float]
    short: Sized | None = None


def propose(
    *,
    plate: str | None,
    plates_max: int,
    blanket: str | None,
    layers_max: int,
    shots: int,
    guess: tuple[int, int],
    look: Callable[[Fitting, int], Look],
    cost: Callable[[Fitting], float],
    whole: Callable[[int], int] = lambda layers: layers,
    glance: Callable[[Fitting, int], Look] | None = None,
    worst: int | None = None,
) -> Proposal:
    """Size stop and wrap with the sizing's random numbers; see the module's first lines for what `look` must give.

    `glance` gives what `look` does, more roughly and sooner: of many shots only those are looked at of which it says
    that they may be the worst. `worst`: the shot that decides, where it is known from another kind of piece.

    Order of search: the shot whose worst place is worst decides; fewest layers with a full stop, then fewest
    plates with those layers, then up to two layers more where that saves more plates than it costs.
    `whole` gives the layers of a stop that its whole pieces bring where so many are wanted.
    """
    seen = _Memory(look)

    def fit(p: int, n: int) -> Fitting:
        return Fitting(whole(p), plate if plates_max else None, n, blanket if layers_max else None)

    start = fit(min(guess[0], plates_max), min(guess[1], layers_max))
    some = list(range(shots)) if worst is None else [worst]
    if glance is not None and len(some) > GLANCED:
        rough = {s: glance(start, s).ratio for s in some}
        some = sorted(some, key=lambda s: -rough[s])[:GLANCED]
    shot = max(some, key=lambda s: seen(start, s).ratio)
    # A stop of twice the guessed plates lets through next to nothing; all plates would only make the looks noisier.
    many = min(plates_max, 2 * guess[0] + 2)

    def with_many(n: int) -> float:
        """The layers' own part: with a full stop, unless fewer plates do as well."""
        if n == start.layers and seen(start, shot).ratio <= 1:
            return seen(start, shot).ratio
        return seen(fit(many, n), shot).ratio

    def proposal(best: Fitting, short: Sized | None = None) -> Proposal:
        return Proposal(best, shot, plates_max, layers_max, seen, fit, cost, short)

    n = least(layers_max, start.layers, with_many)
    if n is None and many < plates_max:
        many = plates_max
        n = least(layers_max, layers_max, lambda n: seen(fit(many, n), shot).ratio)
    if n is None:
        full = seen(fit(plates_max, layers_max), shot)
        short = _short(seen, fit, plates_max, layers_max, shot, full)
        return proposal(short.fitting, short)
    p = least(many, guess[0], lambda p: seen(fit(p, n), shot).ratio)
    assert p is not None
    best = fit(p, n)
    for more in (1, 2):
        # Another layer can only pay where it costs less than all the plates it might save.
        if n + more > layers_max or cost(fit(0, n + more)) >= cost(best):
            break
        q = least(p, max(p - 2 * more, 0), lambda q, m=n + more: seen(fit(q, m), shot).ratio)  # type: ignore[misc]
        if q is not None and cost(fit(q, n + more)) < cost(best):
            best = fit(q, n + more)
    return proposal(best)


def settle(
    proposed: Proposal,
    accept: Callable[[Fitting], Look],
    *,
    widened: Callable[[Fitting], Fitting] = lambda fitting: fitting,
    refused: Callable[[Fitting], Look | None] = lambda fitting: None,
) -> Sized:
    """What is proposed, accepted by independent random numbers or enlarged until it is.

    `widened` gives the fitting with what is wanted beside the places, before the acceptance, so that one acceptance
    does for both. `refused` tells a fitting that the acceptance will refuse at once, None for others: such a one is
    enlarged before anything more is asked of it.
    """
    if proposed.short is not None:
        return proposed.short
    at = proposed

    def enlarged(best: Fitting, accept: Callable[[Fitting], Look]) -> Sized:
        return _accepted(at.seen, at.fit, best, at.plates_max, at.layers_max, at.shot, accept, at.cost)

    def first_look(fitting: Fitting) -> Look:
        return refused(fitting) or Look(0.0, "", 0.0)

    before = enlarged(at.fitting, first_look)
    if not before.held:
        return before
    found = enlarged(widened(before.fitting), accept)
    return replace(found, enlarged=found.enlarged + before.enlarged)


def _accepted(
    seen: _Memory,
    fit: Callable[[int, int], Fitting],
    best: Fitting,
    plates_max: int,
    layers_max: int,
    shot: int,
    accept: Callable[[Fitting], Look],
    cost: Callable[[Fitting], float],
) -> Sized:
    verdict = accept(best)
    enlarged = 0
    while verdict.ratio > 1 and enlarged < ENLARGE_AT_MOST:
        options = []
        if best.plates < plates_max:
            options.append(fit(best.plates + 1, best.layers))
        if best.layers < layers_max:
            options.append(fit(best.plates, best.layers + 1))
        if not options:
            return Sized(best, False, verdict, enlarged, False, "the whole stock does not hold the limits")
        # The option that lowers the worst place most for its cost, by the sizing's common random numbers. Where these
        # saw nothing wrong, it is a place that they did not look at: the cheapest piece is tried before they are asked.
        now = seen(best, shot).ratio
        unforeseen = enlarged == 0 and now <= 1

        def gain(f: Fitting, now: float = now, best: Fitting = best) -> float:
            return math.log(max(now / max(seen(f, shot).ratio, 1e-12), 1e-12)) / max(
                cost(f) - cost(best), 1.0
            )

        best = min(options, key=cost) if unforeseen else max(options, key=gain)
        enlarged += 1
        after = accept(best)
        if (
            enlarged >= 2
            and after.reliable  # only known figures show that more does not help
            and verdict.reliable
            and after.ratio > 1
            and after.ratio > verdict.ratio * (1 - 2 * max(after.sigma_rel, 0.01))
        ):
            return Sized(best, False, after, enlarged, True, _where(after))
        verdict = after
    held = verdict.ratio <= 1
    return Sized(best, held, verdict, enlarged, False, "" if held else "not held after all steps")


def _short(
    seen: _Memory,
    fit: Callable[[int, int], Fitting],
    plates_max: int,
    layers_max: int,
    shot: int,
    full: Look,
) -> Sized:
    """The whole stock does not hold: say whether more of it would help, by leaving some out."""
    fewer = seen(fit(max(plates_max - 2, 0), max(layers_max - 2, 0)), shot)
    saturated = fewer.ratio <= full.ratio * (1 + 2 * math.hypot(full.sigma_rel, fewer.sigma_rel) + 0.02)
    note = _where(full) if saturated else "the whole stock does not hold the limits"
    return Sized(fit(plates_max, layers_max), False, full, 0, saturated, note)


def _where(look: Look) -> str:
    """In words: more layers do not help, and where the dose at the worst place comes from."""
    top = sorted(look.shares.items(), key=lambda kv: -kv[1])[:2]
    origin = ", ".join(f"{name} ({share:.0%})" for name, share in top if share >= 0.05)
    return f"more layers do not help: the dose at {look.name} comes {origin or 'round the shield'}"
