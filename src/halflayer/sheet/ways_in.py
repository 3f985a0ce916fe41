"""Ways in as a table: the welds for which someone stands at each, and why, each reason with its welds."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.sheet.watchers import floor_watch
from halflayer.shielding.rope_view import SHUT
from halflayer.shielding.safety_result import Route

LENGTH = re.compile(r"\d+(?:\.\d+)? (?:mm|m|in|ft)\b")


def route_rows(ready: list[WeldPlan], show: Show, order: Order | None = None) -> list[dict[str, Any]]:
    """Each way in once, with the welds during which someone must stand there, and why: each reason with its welds.

    `order`: who watches a way until a floor is read, which doors are locked where nobody stands at them.
    """
    found: dict[str, tuple[Route, list[tuple[str, Route]]]] = {}
    for w in ready:
        for r in w.safety.access.routes if w.safety and w.safety.access else ():
            found.setdefault(r.id, (r, []))[1].append((w.weld, r))
    kept = shut_for(order, ready) if order is not None else {}
    until = _until(order, ready) if order is not None else {}
    shut_in = shut_inside(order, ready) if order is not None else {}
    rows = []
    for first, each in found.values():
        watched = [weld for weld, r in each if r.sentry]
        posts = "all welds" if watched and len(watched) == len(each) else ", ".join(watched)
        told = [posts] if posts else []
        told += [f"{when}: {', '.join(on)}" for when, on in until.get(first.name, {}).items()]
        told += [f"locked: {', '.join(kept[first.name])}"] if first.name in kept else []
        inside = shut_in.get(first.name, [])
        rows.append(
            {
                "name": first.name,
                "kind": first.kind,
                "side": first.side,
                "sentry": "; ".join(told) or "none",
                "why": _reasons([(weld, r) for weld, r in each if r.sentry == bool(watched)], len(each), show)
                + (f"; {', '.join(inside)}: {INSIDE}" if inside else ""),
            }
        )
    return rows


INSIDE = "inside the rope, not opened with the source out: round outside the rope"


def shut_for(order: Order, ready: list[WeldPlan]) -> dict[str, list[str]]:
    """Doors and hatches by name with the welds at which nobody stands there: doses are reckoned with them shut."""
    doors = {r.id for r in order.access if r.kind in SHUT and not r.locked}
    found: dict[str, list[str]] = {}
    for w in ready:
        for r in w.safety.access.routes if w.safety and w.safety.access else ():
            if r.id in doors and not r.sentry:
                found.setdefault(r.name, []).append(w.weld)
    return found


def shut_inside(order: Order, ready: list[WeldPlan]) -> dict[str, list[str]]:
    """Ways in that are locked for the shift and lie inside the rope of a weld, by name with these welds."""
    locked = {r.id for r in order.access if r.locked}
    found: dict[str, list[str]] = {}
    for w in ready:
        for r in w.safety.access.routes if w.safety and w.safety.access else ():
            if r.id in locked and r.inside:
                found.setdefault(r.name, []).append(w.weld)
    return found


def _until(order: Order, ready: list[WeldPlan]) -> dict[str, dict[str, list[str]]]:
    """Ways to a floor that is read first, by name: until when, at which welds, where no post is there anyway."""
    found: dict[str, dict[str, list[str]]] = {}
    for w in ready:
        posts = {r.name for r in (w.safety.access.routes if w.safety and w.safety.access else ()) if r.sentry}
        for way, _, when in floor_watch(order, w):
            if way not in posts:
                found.setdefault(way, {}).setdefault(when, []).append(w.weld)
    return found


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
