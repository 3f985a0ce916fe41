"""The ways to a floor not known reliably or over half its limit: shut or watched until it is read, for the list."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.sheet.watchers import floor_watch, shut_throughout, watched
from halflayer.shielding.safety_result import FloorDose

NAME = "way to a floor"


def row(order: Order, used: Sequence[WeldPlan], show: Show) -> tuple[list[tuple[str, str]], list[str]]:
    """The line of the list, and the welds that it is ticked for; both empty where every floor's dose is known.

    A figure less than `FAR` times under its limit keeps the way shut for as long as the source is out; any other until
    the floor's point is read in the first survey.
    """
    mine = [(w, f) for w in used for f in watched(w)]
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
        near = [w.weld for w, f in each if shut_throughout(f)]
        until = f"until {floor} is read there" + (
            f", at {', '.join(near)} all the time the source is out" if near else ""
        )
        until += "" if len(near) == len(each) else ", then locked, key ______, if escape is kept"
        by = _by(order, [w for w, _ in each], ways)
        told.append(f"{', '.join(ways)} shut or watched{by} {until} (up to {most} of {limit})")
    return [(NAME, f"{'; '.join(told)}.")], list(dict.fromkeys(w.weld for w, _ in mine))


def _by(order: Order, welds: Sequence[WeldPlan], ways: Sequence[str]) -> str:
    """Who watches, weld by weld; empty where the order has no way there."""
    told: dict[str, list[str]] = {}
    for w in welds:
        for way, who, _ in floor_watch(order, w):
            if way in ways:
                told.setdefault(who, []).append(w.weld)
    words = "; ".join(f"{', '.join(on)}: {who}" for who, on in told.items())
    return f" ({words})" if words else ""
