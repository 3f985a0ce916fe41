"""The dose field round a weld's accepted set-up: one volume for each exposure, and the level at 1 m of all together."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.shielding.asks import kinds_of
from halflayer.shielding.barrier import HEIGHT_M
from halflayer.shielding.budget import COVERAGE
from halflayer.shielding.field_result import Level
from halflayer.shielding.result import Shielding
from halflayer.shielding.spots import setting_of
from halflayer.technique.result import Candidate
from halflayer.transport.gpu import Backend
from halflayer.transport.grid import Grid
from halflayer.transport.problem import Problem
from halflayer.transport.volume import DoseField, dose_field

Array = NDArray[np.float64]

# Half widths of the volume [m]: the least that holds the barrier line. Voxels: so many whatever the width, and half as
# high as wide, so that a field of 10 x 10 x 5 m has voxels of 167 mm.
HALF_WIDTHS_M = (5.0, 7.5, 10.0, 15.0, 20.0)
VOXELS = (60, 60, 30)
ERROR = 0.10  # relative, 1 sigma
PART_OF_LIMIT = 0.1  # above this part of the barrier's limit
SHARE = 0.99  # of the voxels there
MOST_BATCHES = 3000  # of one exposure

Progress = Callable[[str, float], None]


@dataclass(frozen=True, eq=False)
class WeldField:
    """The fields of a weld's exposures, the corner of their volume on site, and the level at 1 m."""

    weld: str
    fields: tuple[DoseField, ...]
    corner: tuple[float, float, float]
    level: Level


def half_width_m(shielding: Shielding) -> float:
    """Half width of the volume: the barrier line with a tenth to spare, up to the largest."""
    known = [d for _, d in shielding.barrier_by_direction if math.isfinite(d)]
    needed = 1.1 * max(known, default=0.0)
    return next((h for h in HALF_WIDTHS_M if h >= needed), HALF_WIDTHS_M[-1])


def grid_of(weld: Weld, built: Built, half_m: float, shape: tuple[int, int, int] = VOXELS) -> Grid:
    """The volume in the weld's frame: square with the site, from its floor up, the weld in the middle."""
    size = (2.0 * half_m / shape[0], 2.0 * half_m / shape[1], half_m / shape[2])
    return Grid(
        corner=built.to_local(corner_of(weld, half_m)),
        size_m=size,
        shape=shape,
        axes=(
            built.frame.direction_to_local((1.0, 0.0, 0.0)),
            built.frame.direction_to_local((0.0, 1.0, 0.0)),
            built.frame.direction_to_local((0.0, 0.0, 1.0)),
        ),
    )


def corner_of(weld: Weld, half_m: float) -> tuple[float, float, float]:
    """Low corner of the volume on site."""
    return (weld.at[0] - half_m, weld.at[1] - half_m, weld.floor_level_m)


def field_of_weld(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    exposure: Exposure,
    shielding: Shielding,
    *,
    seed: int,
    error: float = ERROR,
    shape: tuple[int, int, int] = VOXELS,
    most_batches: int = MOST_BATCHES,
    backend: Backend = "cpu",
    progress: Progress | None = None,
) -> WeldField:
    """The dose field of every exposure of a weld with its accepted shield, walls, floor and neighbours in the scene.

    Each runs until `SHARE` of the open voxels above a tenth of the barrier's limit is known to `error`, or to
    `most_batches`; the field says what was reached. backend: as in `transport.run.Run`. Raises: KeyboardInterrupt on
    Ctrl-C, for which `dose_field` alone gives what it has.
    """
    setting = setting_of(order, weld, candidate, exposure)
    limit, words = barrier_limit(order, exposure)
    half = half_width_m(shielding)
    fields = []
    for n, shot in enumerate(candidate.shots):
        built = setting.build(shielding.fitting, shot)
        grid = grid_of(weld, built, half, shape)

        def tell(now: DoseField, n: int = n) -> None:
            if progress is not None:
                share = now.share_known(error=error, above_Sv_s=PART_OF_LIMIT * (limit or 0.0))
                progress(
                    f"dose field, exposure {n + 1} of {len(candidate.shots)}: {share:.0%} of the voxels known",
                    (n + min(share, 0.99)) / len(candidate.shots),
                )

        fields.append(
            dose_field(
                Problem(built.scene, setting.sources(built), ()),
                grid,
                seed=seed,
                error=error,
                above_Sv_s=PART_OF_LIMIT * (limit or 0.0),
                share=SHARE,
                most_batches=most_batches,
                backend=backend,
                progress=tell,
            )
        )
        if fields[-1].partial:
            raise KeyboardInterrupt  # a stopped plan leaves nothing; a sheet would draw this as if whole
    level = level_of(
        fields, corner=corner_of(weld, half), limit_Sv_s=limit, limit_words=words, k=shielding.k, error=error
    )
    return WeldField(weld.id, tuple(fields), corner_of(weld, half), level)


def barrier_limit(order: Order, exposure: Exposure) -> tuple[float | None, str]:
    """The strictest limit at the barrier as a rate while this weld is exposed, and what it is; None without one."""
    kinds = kinds_of(order.limits.barrier, exposure)
    if not kinds:
        return None, "no limit at the barrier is stated"
    strictest = min(kinds, key=lambda kind: kind.as_rate_Sv_s)
    return strictest.as_rate_Sv_s, strictest.kind


def level_of(
    fields: list[DoseField] | tuple[DoseField, ...],
    *,
    corner: tuple[float, float, float],
    limit_Sv_s: float | None,
    limit_words: str,
    k: float,
    error: float = ERROR,
    height_m: float = HEIGHT_M,
) -> Level:
    """The plane at a height over all exposures: in every cell the exposure with the highest upper bound.

    Between the middles of two layers of voxels rate and error are taken as straight; the errors of the two are added as
    if they went together, which is never too small.
    """
    grid = fields[0].grid
    above = height_m / grid.size_m[2] - 0.5
    low = min(max(math.floor(above), 0), grid.shape[2] - 2)
    part = min(max(above - low, 0.0), 1.0)
    rates, sigmas, sure = [], [], []
    for f in fields:
        a, b = f.rate_Sv_s[low], f.rate_Sv_s[low + 1]
        rate = (1.0 - part) * a + part * b
        with np.errstate(invalid="ignore", divide="ignore"):
            noise = (1.0 - part) * a * f.sigma_rel[low] + part * b * f.sigma_rel[low + 1]
            sigma = np.where(rate > 0.0, noise / rate, math.inf)
        rates.append(rate)
        sigmas.append(np.where(np.isfinite(sigma), sigma, math.inf))
        sure.append(f.reliable[low] & f.reliable[low + 1])
    rate, sigma = np.array(rates), np.array(sigmas)
    with np.errstate(invalid="ignore"):
        upper = np.where(np.isfinite(sigma), rate * (1.0 + COVERAGE * sigma) * (1.0 + k), -1.0)
    top = np.argmax(upper, axis=0)[None]

    def chosen(values: NDArray[np.generic]) -> NDArray[np.generic]:
        return np.take_along_axis(values, top, axis=0)[0].ravel()

    bound = chosen(upper)
    bar = PART_OF_LIMIT * (limit_Sv_s or 0.0)
    wall = 0.5 * (fields[0].open[low] + fields[0].open[low + 1]) < 0.5
    return Level(
        height_m=height_m,
        corner=(corner[0], corner[1]),
        step_m=grid.size_m[0],
        across=grid.shape[0],
        deep=grid.shape[1],
        rate_Sv_s=tuple(_up(float(v)) for v in chosen(rate)),
        upper_Sv_s=tuple(_up(float(v)) if v > 0.0 else None for v in bound),
        sigma_rel=tuple(_up(float(v)) if math.isfinite(float(v)) else None for v in chosen(sigma)),
        reliable=tuple(bool(v) for v in chosen(np.array(sure))),
        wall=tuple(bool(v) for v in wall.ravel()),
        limit_Sv_s=limit_Sv_s,
        limit_words=limit_words,
        k=k,
        error=error,
        share_known=min(f.share_known(error=error, above_Sv_s=bar) for f in fields),
        exposures=len(fields),
        histories=sum(f.histories for f in fields),
        seed=fields[0].seed,
        backend=fields[0].backend,
    )


def _up(value: float) -> float:
    """Four digits, never rounded down: the plan's file holds thousands of these."""
    if value <= 0.0:
        return 0.0
    scale = 10.0 ** (3 - math.floor(math.log10(value)))
    return math.ceil(value * scale - 1e-9) / scale if scale < 1e300 else value
