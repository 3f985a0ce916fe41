"""Ways in as a table: the welds for which someone stands at each, and why, each reason with its welds."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.shielding.safety_result import Route

LENGTH = re.compile(r"\d+(?:\.\d+)? (?:mm|m|in|ft)\b")


def route_rows(ready: list[WeldPlan], show: Show) -> list[dict[str, Any]]:
    """Each way in once, with the welds during which someone must stand there, and why: each reason with its welds."""
    found: dict[str, tuple[Route, list[tuple[str, Route]]]] = {}
    for w in ready:
        for r in w.safety.access.routes if w.safety and w.safety.access else ():
            found.setdefault(r.id, (r, []))[1].append((w.weld, r))
    rows = []
    for first, each in found.values():
        watched = [weld for weld, r in each if r.sentry]
        rows.append(
            {
                "name": first.name,
                "kind": first.kind,
                "side": first.side,
                "sentry": "all welds"
                if watched and len(watched) == len(each)
                else ", ".join(watched) or "none",
                "why": _reasons(
                    [(weld, r) for weld, r in each if r.sentry == bool(watched)], len(each), show
                ),
            }
        )
    return rows


def _reasons(each: list[tuple[str, Route]], of: int, show: Show) -> str:
    """Why someone stands at a way in or why nobody, welds of one reason together; no welds named where all share it."""
    by: dict[str, list[str]] = {}
    for weld, r in each:
        for part in r.why.split("; "):
            by.setdefault(LENGTH.sub("\0", show.converted(part), count=1), []).append(weld)
    told = []
    for stem, welds in by.items():
        own = [show.converted(p) for weld, r in each if weld in welds for p in r.why.split("; ")]
        (words,) = alike(w for w in own if LENGTH.sub("\0", w, count=1) == stem)
        told.append(words if len(welds) == of else f"{', '.join(welds)}: {words}")
    return "; ".join(told)


def alike(reasons: Iterable[str]) -> list[str]:
    """Reasons that differ by a distance alone in one, from the least to the most of it.

    >>> alike(["opens 1.9 m outside", "is locked", "opens 400 mm outside", "opens 3 m outside"])
    ['opens 400 mm to 3 m outside', 'is locked']
    """
    found: dict[str, list[str]] = {}
    for words in reasons:
        length = LENGTH.search(words)
        found.setdefault(LENGTH.sub("\0", words, count=1), []).append(length[0] if length else "")
    out = []
    for stem, lengths in found.items():
        own = sorted(set(lengths), key=lambda x: _si_m(x) if x else 0.0)
        out.append(stem.replace("\0", own[0] if len(own) == 1 else f"{own[0]} to {own[-1]}"))
    return out


def _si_m(length: str) -> float:
    number, _, unit = length.partition(" ")
    return float(number) * {"mm": 0.001, "m": 1.0, "in": 0.0254, "ft": 0.3048}[unit]
