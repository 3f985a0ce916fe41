"""A made-up level of a dose field: inverse square about the weld; for drawings and stores, no result."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from halflayer.plan import Plan, WeldPlan
from halflayer.shielding.field_result import Level
from halflayer.transport.grid import Grid
from halflayer.transport.volume import DoseField

USV_H = 1e-6 / 3600.0


def level(at: tuple[float, float] = (0.0, 0.0), *, limit_at_m: float = 3.0) -> Level:
    """60 x 60 cells of 0.2 m about a weld; the upper bound reaches 7.5 uSv/h at that distance."""
    rate = []
    for row in range(60):
        for column in range(60):
            x, y = (column - 29.5) * 0.2, (row - 29.5) * 0.2
            rate.append(7.5 * USV_H * (limit_at_m / max(math.hypot(x, y), 0.05)) ** 2)
    cells = range(3600)
    return Level(
        height_m=1.0,
        corner=(at[0] - 6.0, at[1] - 6.0),
        step_m=0.2,
        across=60,
        deep=60,
        rate_Sv_s=tuple(r / 1.3 for r in rate),
        upper_Sv_s=(None, *rate[1:]),
        sigma_rel=(None, *(0.06 for _ in cells[1:])),
        reliable=tuple(n % 60 > 4 for n in cells),
        wall=tuple(n >= 3540 for n in cells),
        limit_Sv_s=7.5 * USV_H,
        limit_words="rate",
        k=0.12,
        error=0.1,
        share_known=0.9937,
        exposures=2,
        histories=3_200_000,
        seed=2,
    )


def voxels() -> DoseField:
    """2 x 3 x 4 voxels of made-up numbers, one of them without an error."""
    grid = Grid((1.0, -2.0, 0.5), (0.5, 0.25, 0.125), (2, 3, 4))
    rate = np.arange(1.0, 25.0).reshape(4, 3, 2) * 1e-9
    sigma = np.full((4, 3, 2), 0.05)
    sigma[3, 2, 1] = math.inf
    return DoseField(
        grid, rate, sigma, 0.25 * rate, np.isfinite(sigma), np.full((4, 3, 2), 1.0), 1000, 50, 1.5, 7, 0, False
    )  # fmt: skip


def with_level(plan: Plan, weld: str) -> Plan:
    """The plan with a dose field at one weld."""

    def one(w: WeldPlan) -> WeldPlan:
        if w.weld != weld:
            return w
        at = next(o["at"] for o in plan.order["welds"] if o["id"] == weld)
        return replace(w, dose_field=level(tuple(at)))

    return replace(plan, welds=tuple(one(w) for w in plan.welds))
