"""What the dose field of a weld gives for its plan: the level that people stand at, on an even grid in plan."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

PER_HOUR = 3600.0


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
    backend: str = "cpu"  # what the voxels were computed on


def field_json(level: Level | None) -> dict[str, Any] | None:
    """What the dose field is and how well it is known; its voxels stand in files of their own."""
    if level is None:
        return None
    return {
        "quantity": "H*(10)",
        "height_m": level.height_m,
        "corner_m": list(level.corner),
        "cell_m": level.step_m,
        "cells": [level.across, level.deep],
        "limit_Sv_per_h": None if level.limit_Sv_s is None else level.limit_Sv_s * PER_HOUR,
        "limit": level.limit_words,
        "error": level.error,
        "share_known": level.share_known,
        "exposures": level.exposures,
        "histories": level.histories,
        "seed": level.seed,
        "backend": level.backend,
    }
