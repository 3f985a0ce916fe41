"""To what error the doses of a shield are proved: the worst noise of the figures that stand against a limit."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.base.result import Finding
from halflayer.shielding.result import PointDose, Shielding

NAMED = 4  # places named in a finding; the others are counted


def limited(shielding: Shielding) -> list[PointDose]:
    """The places and barrier points that a limit of any kind stands against."""
    named = {c.place for c in shielding.limits}
    return [p for p in shielding.points if p.limit_Sv_s is not None or p.name in named]


def proved_to(shielding: Shielding) -> float | None:
    """Largest relative noise (1 sigma) of the limited figures of a proved shield; None where it is not proved.

    A figure that is not reliable proves nothing, however small its noise.
    """
    asked = limited(shielding)
    if not shielding.proved or not asked or not all(p.reliable for p in asked):
        return None
    return max(p.sigma_rel for p in asked)


def not_proved(points: Sequence[PointDose], error: float) -> tuple[Finding, ...]:
    """A warning that names the limited places that a proof to this relative error did not reach; none where all are."""
    short = [p.name for p in points if not (p.reliable and p.sigma_rel <= error)]
    if not short:
        return ()
    more = f" and {len(short) - NAMED} more" if len(short) > NAMED else ""
    text = f"not proved to {error:.1%}: {', '.join(short[:NAMED])}{more}"
    return (Finding("warn", text, source="noise of the acceptance"),)
