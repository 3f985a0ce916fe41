"""Checks that what is named is there: sources and obstacles of welds, placements of heads, who signs and is called."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, get_args

from halflayer.order.equipment import Head, PlacementName
from halflayer.order.report import Report

_ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9._+-]*")  # what is no id is told as that


def reference_problems(heads: Sequence[tuple[int, Head]], report: Report) -> None:
    """What welds name must be there; asked of welds that are wrong otherwise too, so that all is told at once."""
    welds = report.raw(("welds",))
    known = {name: _ids(report.raw((name,))) for name in ("sources", "obstacles")}
    offered = {p for _, head in heads for p in head.placements}
    shift = report.raw(("shift",))
    _breaks(shift.get("breaks") if isinstance(shift, dict) else None, _ids(welds), report)
    _signers(report)
    raw_heads = report.raw(("heads",))
    # else a wrong head might offer it
    all_heads = isinstance(raw_heads, list) and len(raw_heads) == len(heads)
    for n, weld in enumerate(welds if isinstance(welds, list) else []):
        for name, there in known.items():
            for k, wanted in _named(weld, name):
                if str(wanted) not in there:
                    text = f"no such id among the order's {name}"
                    report.unknown(("welds", n, name, k), text, str(wanted), there)
        for k, placement in _named(weld, "placements") if all_heads else ():
            if placement in get_args(PlacementName) and placement not in offered:
                accepted = ", ".join(sorted(offered)) or "none"
                text = "no head of the order takes this placement"
                report.add(("welds", n, "placements", k), text, accepted=accepted)


SIGN = ("agreed_by", "agreed_for_contractor_by", "code_checked_by")


def _signers(report: Report) -> None:
    """A number of who signs belongs to a name that the order has where somebody signs: else it is printed nowhere."""
    read = report.raw(("films_read",))
    accepts = read.get("taken_down_accepted_by") if isinstance(read, dict) else None
    points = report.raw(("hold_points",))
    holds = [p.get("by") for p in points.values() if isinstance(p, dict)] if isinstance(points, dict) else []
    told = [
        str(t) for t in (*(report.raw((field,)) for field in SIGN), accepts, *holds) if isinstance(t, str)
    ]
    raw = report.raw(("to_sign",))
    for n, one in enumerate(raw if isinstance(raw, list) else []):
        name = one.get("name") if isinstance(one, dict) else None
        if isinstance(name, str) and not any(name in t for t in told):
            text = "nobody of that name signs or decides in the order"
            accepted = f"a name from {', '.join(SIGN)}, films_read.taken_down_accepted_by or hold_points"
            report.add(("to_sign", n, "name"), text, accepted=accepted)


def _breaks(raw: Any, welds: list[str], report: Report) -> None:
    for n, one in enumerate(raw if isinstance(raw, list) else []):
        for _, wanted in _named(one, "before"):
            if str(wanted) not in welds:
                loc = ("shift", "breaks", n, "before")
                report.unknown(loc, "no such id among the order's welds", str(wanted), welds)


def _ids(raw: Any) -> list[str]:
    return [str(i["id"]) for i in raw if isinstance(i, dict) and "id" in i] if isinstance(raw, list) else []


def _named(weld: Any, name: str) -> list[tuple[int, Any]]:
    """What a weld as written names in a list, as far as it can be an id; an id without its list is looked up too."""
    raw = weld.get(name) if isinstance(weld, dict) else None
    found = raw if isinstance(raw, list) else [raw]
    return [
        (k, x)
        for k, x in enumerate(found)
        if isinstance(x, str | int) and not isinstance(x, bool) and _ID.fullmatch(str(x))
    ]
