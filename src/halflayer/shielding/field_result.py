"""What the dose field of a weld gives for its plan: the level that people stand at, on an even grid in plan."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Level:
    """H*(10) rates in a horizontal plane about a weld, the highest of all exposures in every cell.

    Cells are `step_m` squares of the site, `across` of them along x and `deep` along y from the low corner; values
    stand row by row, x fastest. upper_Sv_s: (estimate + 1.645 sigma) x (1 + k); None where no error is known. wall:
    cells that hold matter for more than half. share_known: of the open voxels of the whole volume above a tenth of the
    limit, the share known to `error`, worst over the exposures.
    """

    height_m: float  # above the weld's floor
    corner: tuple[float, float]
    step_m: float
    across: int
    deep: int
    rate_Sv_s: tuple[float, ...]
    upper_Sv_s: tuple[float | None, ...]
    sigma_rel: tuple[float | None, ...]
    reliable: tuple[bool, ...]
    wall: tuple[bool, ...]
    limit_Sv_s: float | None  # the barrier's, as a rate
    limit_words: str
    k: float
    error: float  # asked of the voxels above a tenth of the limit
    share_known: float
    exposures: int
    histories: int
    seed: int
