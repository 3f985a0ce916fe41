"""What can be wrong between dates of an order, and between its limits for longer and shorter times."""

from __future__ import annotations

import math
from itertools import combinations
from typing import Any

from halflayer.order.limits import Limit
from halflayer.order.models import Shift
from halflayer.order.parts import Parts
from halflayer.order.report import Loc, Report

WEEK_S = 7 * 86400.0
# A share of time counts in all of these, so that a longer time never brings less than a shorter one.
SPANS = ("per_shift", "per_week", "per_year")


def bound_problems(parts: Parts, report: Report) -> None:
    """Add to the report dates in disorder and limits that can never be reached beside another."""
    shift = parts.single.get("shift")
    if isinstance(shift, Shift):
        _shift(shift, parts, report)
    limits = parts.single.get("limits")
    if limits is not None:
        _limit(report, ("limits", "barrier"), limits.barrier)
        _limit(report, ("limits", "crew"), limits.crew)
    for name in ("places", "floors"):
        for n, item in parts[name]:
            if item.limit is not None:
                _limit(report, (name, n, "limit"), item.limit)


def _shift(shift: Shift, parts: Parts, report: Report) -> None:
    length_s = (shift.ends - shift.starts).total_seconds()
    if length_s <= 0:
        accepted = f"after {shift.starts.isoformat()}"
        report.add(("shift", "ends"), "the shift ends before it starts", accepted=accepted)
    elif length_s > WEEK_S:
        text = "the shift lasts longer than a week"
        report.add(("shift", "ends"), text, accepted=f"within a week of {shift.starts.isoformat()}")
    elif shift.per_week * length_s > WEEK_S:
        text = f"so many shifts of {length_s / 3600:g} h do not fit into a week"
        report.add(("shift", "per_week"), text, accepted=f"at most {math.floor(WEEK_S / length_s)}")
    for n, one in parts["signed"]:
        # by the calendar: a date without a time is that day, wherever the order was written
        if one.on.date() > shift.starts.date():
            text = "the agreement is signed after the shift begins"
            report.add(("signed", n, "on"), text, accepted=f"up to {shift.starts:%Y-%m-%d}, or left out")


def _limit(report: Report, loc: Loc, limit: Limit) -> None:
    from halflayer.base.units import show

    stated: list[tuple[str, Any]] = [
        (name, value) for name in SPANS if (value := getattr(limit, f"{name}_Sv")) is not None
    ]
    for (short, least), (long, most) in combinations(stated, 2):
        # what a profile fills in is not written in the order: the other one is told then
        if least > most:
            text = f"the limit {_words(short)} is above the one {_words(long)}"
            field = short if report.raw((*loc, short)) is not ... else long
            bound, value = ("at most", most) if field == short else ("at least", least)
            other = _words(long if field == short else short)
            accepted = f"{bound} that {other}, {show(value, 'equivalent', round_up=False)}"
            report.add((*loc, field), text, accepted=accepted)
            return


def _words(name: str) -> str:
    return name.replace("_", " ")
