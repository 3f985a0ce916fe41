"""The place of a weld that comes nearest to a limit of its own: what one line about the weld tells."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.shielding.result import LimitCheck, PointDose, Shielding
from halflayer.shielding.safety_result import FloorDose


def worst_place(
    shielding: Shielding, floors: Sequence[FloorDose] = ()
) -> PointDose | LimitCheck | FloorDose | None:
    """The place or floor whose upper bound comes nearest to a limit of its own (or exceeds it most), of whatever kind.

    A place's rate and its doses per hour, exposure or shift are compared each with its own limit, the floors above and
    below where their highest was found; None where nothing has a limit.
    """
    rates = [(p.upper_Sv_s / p.limit_Sv_s, p) for p in shielding.points if p.limit_Sv_s]
    doses = [(c.upper_Sv / c.limit_Sv, c) for c in shielding.limits if c.limit_Sv]
    on_floors = [
        (f.upper_Sv_s / f.limit_Sv_s, f) for f in floors if f.limit_Sv_s and f.upper_Sv_s is not None
    ]
    both: list[tuple[float, PointDose | LimitCheck | FloorDose]] = [*rates, *doses, *on_floors]
    return max(both, key=lambda pair: pair[0])[1] if both else None
