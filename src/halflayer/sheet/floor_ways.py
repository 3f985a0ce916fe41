"""The ways to a floor whose dose is not known reliably: shut or watched until it is read, by weld, for the list."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.safety_result import FloorDose

NAME = "way to a floor"


def doubted(w: WeldPlan) -> list[FloorDose]:
    """Floors under their limit by a figure that is not reliable: nobody goes there on it."""
    return [
        f
        for f in (w.safety.floors if w.safety else ())
        if f.stated and not f.reliable and f.ok is not False and f.upper_Sv_s is not None and f.limit_Sv_s
    ]


def row(order: Order, used: Sequence[WeldPlan], show: Show) -> tuple[list[tuple[str, str]], list[str]]:
    """The line of the list, and the welds that it is ticked for; both empty where every floor's dose is known.

    A figure less than `FAR` times under its limit keeps the way shut for as long as the source is out; any other until
    the floor's point is read in the first survey.
    """
    mine = [(w, f) for w in used for f in doubted(w)]
    if not mine:
        return [], []
    by_floor: dict[str, list[tuple[WeldPlan, FloorDose]]] = {}
    for w, f in mine:
        by_floor.setdefault(f.floor, []).append((w, f))
    told = []
    for floor, each in by_floor.items():
        side = each[0][1].side
        ways = [r.name for r in order.access if r.side == side and not r.locked] or ["every way there"]
        most = show.up(max(f.upper_Sv_s or 0.0 for _, f in each), "equivalent_rate", digits=2)
        limit = show.floor(min(f.limit_Sv_s or 0.0 for _, f in each), "equivalent_rate")
        near = [w.weld for w, f in each if (f.upper_Sv_s or 0.0) * FAR > (f.limit_Sv_s or 0.0)]
        until = f"until {floor} is read there" + (
            f", at {', '.join(near)} all the time the source is out" if near else ""
        )
        told.append(f"{', '.join(ways)} shut or watched {until} (not reliable, up to {most} of {limit})")
    return [(NAME, f"{'; '.join(told)}.")], list(dict.fromkeys(w.weld for w, _ in mine))
