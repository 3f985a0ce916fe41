"""A quick look at one way: a fitting found in a few short dose runs of the exposure whose beam lies flattest."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.compare.result import Look, Standing
from halflayer.exposure.result import Exposure
from halflayer.scene.build import Built
from halflayer.scene.fitting import Fitting
from halflayer.scene.trace import material_at
from halflayer.scene.wrap import Wrap
from halflayer.shielding.asks import OPEN, Ask, barrier_asks, place_asks
from halflayer.shielding.kit import kinds_to_compare, layers_in_stock
from halflayer.shielding.look import Rate, Setting
from halflayer.shielding.spots import flattest, quick_rates

BATCHES = 16  # of one look at most, ended as soon as all noise is known: our choice
LOOKS_AT_MOST = 4  # fittings tried for one way, the bare set-up first
EVERY = 2  # of the 24 barrier directions every second one is asked
# What is not known reliably is taken with this relative noise at least: batch sigmas of short runs are too small.
NOISE_LEAST = 0.3


@dataclass(frozen=True)
class Stock:
    """What can be mounted for a way."""

    plate: str | None
    plates_most: int
    blanket: str | None
    layers_most: int
    per_piece: int = 1  # layers of the stop from one piece, which lies there whole

    def fit(self, plates: int, layers: int) -> Fitting:
        """A fitting of so many plates and layers within the stock, a folded stop in whole pieces."""
        whole = math.ceil(plates / self.per_piece) * self.per_piece
        return Fitting(min(whole, self.plates_most), self.plate, min(layers, self.layers_most), self.blanket)


def stock_of(setting: Setting) -> Stock:
    """The kinds with most in stock and how many of each a way can take."""
    plate, blanket = kinds_to_compare(setting.order, setting.candidate)[0]

    def wrap(layers: int) -> Wrap:
        fitting = Fitting(0, plate.id if plate else None, layers, blanket.id if blanket else None)
        return setting.build(fitting, setting.candidate.shots[0]).wrap

    return Stock(
        plate.id if plate else None,
        plate.count if plate else 0,
        blanket.id if blanket else None,
        layers_in_stock(blanket, wrap) if blanket else 0,
        plate.per_piece if plate else 1,
    )


def asks_of(setting: Setting, exposure: Exposure, built: Built) -> list[Ask]:
    """All places and every second barrier direction at the wanted distance, those in the open."""
    order, weld = setting.order, setting.weld
    within = weld.barrier_within_m or order.limits.barrier_within_m
    ring = barrier_asks(order, weld, built.frame, exposure, (within,), built.scene)
    asks = [*place_asks(order, weld, built.frame, exposure), *ring[::EVERY]]
    return [a for a in asks if material_at(built.scene, a.local).name in OPEN]


def look_at(setting: Setting, exposure: Exposure, *, seed: int) -> Look:
    """Looks at fittings from the bare set-up on, more or less shield by what the last one showed; the best is told.

    The bare set-up comes first: where it stands under its limits nothing is mounted, and where it does not it tells how
    many halvings are missing. A narrow beam's count would mount nine pieces where none are needed.

    The number of looks is bounded; the fitting found is neither the least nor proved.
    """
    stock, shot = stock_of(setting), flattest(setting)[0]
    built = setting.build(stock.fit(1, 1), shot)
    asks = asks_of(setting, exposure, built)
    best: Look | None = None
    seen: dict[Fitting, Look] = {}
    fitting = stock.fit(0, 0)
    while len(seen) < LOOKS_AT_MOST and fitting not in seen:
        rates = quick_rates(setting, fitting, shot, asks, seed=seed, batches=BATCHES, keep=True)
        now = judged(fitting, rates, setting.budget(fitting)[1], len(seen) + 1)
        seen[fitting] = now
        if best is None or _better(now, best):
            best = now
        fitting = next_fitting(stock, now)
    assert best is not None
    return Look(**(best.__dict__ | {"looks": len(seen)}))


def _better(now: Look, best: Look) -> bool:
    """A look under its limits beats one that is not; of two that are not, the lower one; else the lighter."""
    a, b = now.standing == "under", best.standing == "under"
    if a != b:
        return a
    if not a:
        return now.ratio_upper < best.ratio_upper
    return now.fitting.plates + now.fitting.layers < best.fitting.plates + best.fitting.layers


def next_fitting(stock: Stock, last: Look) -> Fitting:
    """More pieces by the halvings that are missing, fewer by those to spare; shared by what the dose comes from.

    The same fitting again: nothing more is worth a look.
    """
    if last.ratio_upper <= 0.0:
        return last.fitting
    halvings = math.log2(last.ratio_upper)
    # Under the limit one piece is left to spare, and none is added: where none is left over, the look ends.
    pieces = math.ceil(halvings) if halvings > 0 else min(math.ceil(halvings + 1.0), 0)
    stop = last.shares.get("from the stop", 0.0) + last.shares.get("straight from the beam", 0.0)
    plates, layers = last.fitting.plates, last.fitting.layers
    if stock.plates_most and stop > 0.5:
        return stock.fit(max(plates + pieces, 0), layers)
    if pieces > 0 and layers + pieces > stock.layers_most:
        return stock.fit(plates + layers + pieces - stock.layers_most, stock.layers_most)
    return stock.fit(plates, max(layers + pieces, 0))


def judged(fitting: Fitting, rates: Sequence[Rate], k: float, looks: int) -> Look:
    """One look's worst place against its limit, with a noise that short runs deserve."""
    asked = [r for r in rates if r.ask.limit_Sv_s]
    ring = [_upper(r, k) for r in rates if r.ask.radius_m is not None]
    barrier = max(ring, default=None)
    if not asked:
        top = max(rates, key=lambda r: r.rate_Sv_s)
        return Look(
            fitting, "not looked at", 0.0, 0.0, top.ask.name, top.rate_Sv_s, top.sigma_rel, top.reliable,
            barrier, top.shares, looks,
        )  # fmt: skip
    top = max(asked, key=lambda r: _upper(r, k) / (r.ask.limit_Sv_s or 1.0))
    limit = top.ask.limit_Sv_s or 1.0
    ratio, upper = top.rate_Sv_s / limit, _upper(top, k) / limit
    standing: Standing = "close"
    if upper <= 1.0:
        standing = "under"
    elif any(r.rate_Sv_s * (1.0 - 1.645 * min(_noise(r), 0.6)) > (r.ask.limit_Sv_s or 1.0) for r in asked):
        standing = "over"
    return Look(
        fitting=fitting,
        standing=standing,
        ratio=ratio,
        ratio_upper=upper,
        place=top.ask.name,
        rate_Sv_s=top.rate_Sv_s,
        sigma_rel=_noise(top),
        reliable=top.reliable,
        barrier_Sv_s=barrier,
        shares=top.shares,
        looks=looks,
    )


def _noise(r: Rate) -> float:
    """Relative sigma: that of the run where it is reliable, else not under what short runs deserve."""
    if r.reliable:
        return r.sigma_rel
    return max(r.noise, NOISE_LEAST)


def _upper(r: Rate, k: float) -> float:
    return r.rate_Sv_s * (1.0 + 1.645 * _noise(r)) * (1.0 + k + r.wall_k)
