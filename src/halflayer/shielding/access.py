"""Ways into the area of a weld: which lie inside the barrier, and how many people it takes to watch them."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace

from halflayer.base.result import Derived, Finding
from halflayer.order.limits import AccessRoute, Place
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.contour import crossed, reach_m
from halflayer.shielding.rope_view import SHUT, View, post_behind, view
from halflayer.shielding.safety_result import Access, Contour, Route
from halflayer.shielding.travelling import ways_above
from halflayer.shielding.way_posts import way_off

# A way in that opens so near outside the rope is watched too: our choice, a few steps of a walker.
NEAR_M = 2.0
AT_LINE_M = 0.05  # what a tenth of a metre does not tell from the line: our choice
WATCH = "10 CFR 34.51: the area is kept in direct view during every exposure"


def access(
    order: Order,
    weld: Weld,
    shown: Contour,
    travel: Derived | None = None,
    emptied: Collection[Place] = (),
    crank: tuple[float, float] | None = None,
) -> Access:
    """Every stated way in against the barrier, and the sentries it takes; one at least while a source is out.

    One person does both, watches a way in and keeps the rope in view, only as far as that post sees it.
    emptied: places that nobody may be at for what may be lost of the shield: a shut way to one is locked, not watched
    from there.
    crank: where the source is cranked from, site x, y [m]: no post there.
    travel: the figure of a source on its way, which may bring a way in above the barrier's limit that lies outside it.
    """
    peaks = {r.id: peak for r, peak in ways_above(order, travel)}
    routes = tuple(
        _locked(order, weld, shown, _route(weld, shown, r, peaks.get(r.id)), emptied) for r in order.access
    )
    watched = [r for r in routes if r.sentry]
    seen = view(order, weld, shown, watched, way_off(order, weld, travel), crank)
    need = max(len(watched), 1) + len(seen.towards_rad)
    own = sum(p.role == "sentry" for p in order.crew)
    return Access(
        routes=routes,
        sentries_needed=Derived(
            "sentries_needed",
            need,
            "people",
            formula="one for each open way in that is inside the barrier, near it, or above its limit while the source "
            "travels; one at least; and one for each stretch of the rope that none of these posts sees",
            source=WATCH,
            basis=(
                ", ".join(r.name for r in watched)
                or "no way in needs one: someone keeps the whole rope in view"
                if routes
                else "no ways in are stated in the order: one person at least keeps the rope in view"
            )
            + (
                f"; hidden by {' and '.join(seen.bodies)}: {len(seen.towards_rad)} more"
                if seen.bodies
                else ""
            ),
        ),
        sentries_in_crew=own,
        findings=tuple(_findings(weld, watched, need, own, seen)),
        hidden_by=seen.bodies if seen.towards_rad else (),
        more_towards_rad=seen.towards_rad,
        sees_all_from_rad=seen.alone_rad,
        posts=seen.posts,
    )


def _route(weld: Weld, shown: Contour, r: AccessRoute, peak_Sv_s: float | None) -> Route:
    dx, dy = r.at[0] - weld.at[0], r.at[1] - weld.at[1]
    distance = math.hypot(dx, dy)
    reach = reach_m(shown, math.atan2(dy, dx))
    inside = None if reach is None else distance < reach
    sentry, why = _watch(r, distance, reach)
    if peak_Sv_s is not None:
        sentry = not r.locked
        why += "; above the barrier's limit while the source travels"
    return Route(r.id, r.name, r.kind, r.side, r.at, distance, inside, sentry, why)


def _locked(order: Order, weld: Weld, shown: Contour, r: Route, emptied: Collection[Place]) -> Route:
    """A way in with nobody behind it where its post would stand in the open with a place that is emptied.

    No reading clears that post sooner than the place; the way is locked for the weld, those behind it out.
    """
    if not r.sentry or r.kind not in SHUT:
        return r
    x, y = post_behind(order, weld, shown, r)
    behind = [p.name for p in emptied if not crossed(order.obstacles, (x, y, p.at[2]), p.at)]
    return replace(r, sentry=False, why=f"{r.why}; locked, {behind[0]} behind it empty") if behind else r


def _watch(r: AccessRoute, distance: float, reach: float | None) -> tuple[bool, str]:
    """Whether someone must stand there, and why."""
    if r.locked:
        return False, "locked for the shift, key with the crew (list)"
    if reach is None:
        return True, "no barrier distance is known in its direction"
    where = "" if r.side == "same floor" else f" ({r.side}: by its place in plan)"
    if abs(distance - reach) < AT_LINE_M:
        return True, f"opens at the barrier line{where}"
    if distance < reach:
        return True, f"opens inside the barrier{where}"
    if distance < reach + NEAR_M:
        return True, f"opens {distance - reach:.1f} m outside the barrier{where}"
    return False, f"opens {distance - reach:.1f} m outside the barrier{where}"


def _findings(weld: Weld, watched: Sequence[Route], need: int, own: int, seen: View) -> list[Finding]:
    if need <= own:
        return []
    names = f" at {', '.join(r.name for r in watched)}" if watched else " to keep the rope in view"
    if seen.towards_rad:
        names += f" and where {' and '.join(seen.bodies)} hide a part of the rope from there"
    return [
        Finding(
            "warn",
            f"{weld.id}: {need} sentr{'y' if need == 1 else 'ies'} needed{names}, the crew has {own}",
            source=WATCH,
            relax=("more people", "ways in locked for the shift"),
        )
    ]
