"""The way out of every post and crank for the card: which direction, how far, and what a bare source brings on it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any
from weakref import ref

from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, worked
from halflayer.sheet import floor_points
from halflayer.sheet.alarm_near import spot_of
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.points_of_compass import compass_of, towards
from halflayer.sheet.sentry_words import POST, sites
from halflayer.sheet.watchers import floor_watch
from halflayer.shielding.stuck_steps import DETOUR, control_way_Sv
from halflayer.shielding.walk import rope_towards_m
from halflayer.shielding.way_clear import CLEAR_M, Point, WayClear, leg_s_m, way_clear
from halflayer.shielding.way_from_source import pace_m_s

CRANK = "crank"
NEAR_WALLS = "†"  # behind a way that passes walls nearer than the others
OUT = "out"  # of a last leg that ends short of the retreat, in place of its length
NOT_FOUND = "none: post moves"
COMPASS = "true compass bearing, not the site's degrees"
# What was sought last for a planned weld, by its identity.
_sought: dict[int, tuple[ref[WeldPlan], ref[Order], ref[Plan], list[tuple[str, Point, WayClear | None]]]] = {}
POINTER = "by “Ways out”, its arrow on the rope sketch"


def posts_of(order: Order, w: WeldPlan) -> list[tuple[str, Point]]:
    """The crank and the sentries' posts of a weld by name, site x, y [m]; those that are computed."""
    crank = spot_of(order, w)
    posts = [(f"{POST}{n}", p) for n, p in enumerate(sites(w), 1)]
    return [*([(CRANK, crank.at)] if crank else []), *posts, *((n, p) for n, p, _ in watches(order, w))]


def watches(order: Order, w: WeldPlan) -> list[tuple[str, Point, str]]:
    """Whoever watches a way to a floor without being a post of the rope: a post after those, site x, y [m], and who.

    At the way, in plan, where that lies outside the rope.
    """
    first = first_watch(w)
    posted = {r.name for r in w.safety.access.routes if r.sentry} if w.safety and w.safety.access else set()
    rope, at = w.safety.contour if w.safety else None, order.weld(w.weld).at
    found: list[tuple[str, Point, str]] = []
    for way, who, _ in floor_watch(order, w):
        r = next(r for r in order.access if r.name == way)
        stands = rope_towards_m(rope, math.atan2(r.at[1] - at[1], r.at[0] - at[0]))
        if way not in posted and (stands is None or math.dist(at, r.at[:2]) > stands):
            found.append((f"{POST}{first + len(found)}", (r.at[0], r.at[1]), who))
    return found


def ways_of(plan: Plan, order: Order, w: WeldPlan) -> list[tuple[str, Point, WayClear | None]]:
    """Each post of a weld with its place and its way out of the weld's source, bare by the upper value of its card.

    Sought once for as long as the plan lives: several sheets ask.
    """
    known = _sought.get(id(w))
    if known is not None and known[0]() is w and known[1]() is order and known[2]() is plan:
        return known[3]
    found, key = _seek(plan, order, w), id(w)
    _sought[key] = (ref(w, lambda _: _sought.pop(key, None)), ref(order), ref(plan), found)
    return found


def _seek(plan: Plan, order: Order, w: WeldPlan) -> list[tuple[str, Point, WayClear | None]]:
    card = next((c for c in plan.stuck if w.chosen and c.source == w.chosen.source), None)
    at_1m = card.at_1m.value if card else None
    if not isinstance(at_1m, int | float):
        return []
    weld = order.weld(w.weld)
    limit = order.limits.barrier.rate_Sv_s
    return [(name, at, way_clear(order, weld, at, float(at_1m), limit)) for name, at in posts_of(order, w)]


def ways_out(plan: Plan, order: Order, show: Show) -> dict[str, Any]:
    """A row for each weld of the shift, a cell for each post; `names`: the posts that any weld has; empty: nothing."""
    if order.site.retreat_at is None:
        return {"names": [], "rows": [], "rest": "", "off": "", "before": "", "pace": "", "bearing": ""}
    found = {w.weld: ways_of(plan, order, w) for w in worked(plan)}
    names = sorted(
        {name for each in found.values() for name, _, _ in each}, key=lambda n: (n != CRANK, len(n), n)
    )
    limit, x_at = order.limits.crew.per_exposure_Sv, compass_of(order)
    rows = [
        {
            "weld": weld,
            "cells": [words(told[name], show, limit, x_at) if name in told else "–" for name in names],
        }
        for weld, each in found.items()
        if (told := {name: way for name, _, way in each})
    ]
    nowhere = [w.weld for w in worked(plan) if not sites(w)]
    shut = [f"{weld} {name}" for weld, each in found.items() for name, _, way in each if way is None]
    free = f", or a sentry who stands anywhere ({', '.join(nowhere)})" if nowhere else ""
    told_rest = [f"Blocked{free}: step 2."]
    if long := too_long(plan, order, found):
        told_rest.append(
            f"{', '.join(long)}: no try at the crank: its way out brings more than step 1 reckons with."
        )
    told_rest += _marks(plan, order, found, show)
    if reader := _readers(plan, order, show, found):
        told_rest.append(reader)
    if shut:
        told_rest.append(
            f"{', '.join(shut)}: none clear of walls: {'stands' if len(shut) == 1 else 'stand'} where one is, "
            "before the source goes out."
        )
    return {
        "names": names,
        "rows": rows,
        "rest": " ".join(told_rest),
        "off": show.value(CLEAR_M, "length", digits=2),
        # A compass is read by what north is: without it only the site's x is known.
        "bearing": "bearing anticlockwise from site x" if x_at is None else COMPASS,
        "before": _before(plan, order),
        "pace": _pace(order, show),
    }


def _pace(order: Order, show: Show) -> str:
    """The pace that the doses are reckoned with, and that it is slow where even a survey's is quicker."""
    pace, survey = pace_m_s(order), order.crew_times.survey_speed_m_s
    if not pace:
        return "not stated"
    return f"{'slowly, ' if survey > pace else ''}{show.value(pace, 'speed')}"


def first_watch(w: WeldPlan) -> int:
    """Number of the first such post: after the sentries of the rope, who may stand anywhere."""
    access = w.safety.access if w.safety else None
    need = access.sentries_needed.value if access else None
    return max(len(sites(w)), int(need) if isinstance(need, int | float) else 0) + 1


def _readers(
    plan: Plan, order: Order, show: Show, found: Mapping[str, Sequence[tuple[str, Point, WayClear | None]]]
) -> str:
    """How whoever reads on another floor leaves it: by its way, then as who watches that; the dose where it is most.

    Formula: straight along the floor in plan to the way, K x integral of 1 / r^2 / pace, and the way from there on.
    """
    pace, most = pace_m_s(order), (0.0, "")
    for w in worked(plan):
        card = next((c for c in plan.stuck if w.chosen and c.source == w.chosen.source), None)
        at_1m, weld = card.at_1m.value if card else None, order.weld(w.weld)
        for f in floor_points.pressing(w):
            if f.ok is False:
                continue
            down = [r for r in order.access if r.side == f.side and not r.locked]
            for r in down:
                spot = (r.at[0], r.at[1])
                on = next((way for _, at, way in found.get(w.weld, ()) if math.dist(at, spot) < 1.0), None)
                dose = None if on is None else on.dose_Sv
                if dose is None or pace is None or not isinstance(at_1m, int | float):
                    continue
                whole = dose + float(at_1m) * leg_s_m(weld.at, f.at[:2], spot) / pace
                most = max(most, (whole, w.weld))
    if not most[1]:
        return ""
    told = show.up(most[0], "equivalent", digits=2)
    return f"Reader on a floor: down, then as the post there, up to {told} ({most[1]})."


def too_long(
    plan: Plan, order: Order, found: Mapping[str, Sequence[tuple[str, Point, WayClear | None]]]
) -> list[str]:
    """Welds whose crank has a way out that brings more than the card counts for it: its seconds are too many."""
    told = []
    for w in worked(plan):
        card = next((c for c in plan.stuck if w.chosen and c.source == w.chosen.source), None)
        at_1m = card.at_1m.value if card else None
        on = [
            order.weld(v.weld) for v in worked(plan) if v.chosen and card and v.chosen.source == card.source
        ]
        straight = control_way_Sv(order, float(at_1m), on) if isinstance(at_1m, int | float) else None
        for name, _, way in found.get(w.weld, ()):
            if name == CRANK and straight is not None and way is not None and way.dose_Sv is not None:
                told += [w.weld] if way.dose_Sv > DETOUR * straight else []
    return told


def _before(plan: Plan, order: Order) -> str:
    """What the order cannot tell of these ways, and until when it is found out."""
    start = order.shift.starts if order.shift else None
    until = f" before {start:%H:%M}" if start else " before the first exposure"
    return f"Ground beyond the order: walked, seen open, ticked{until}."


def _marks(
    plan: Plan,
    order: Order,
    found: Mapping[str, Sequence[tuple[str, Point, WayClear | None]]],
    show: Show,
) -> list[str]:
    """What the marks in the rows mean: how far `OUT` leads, and how near to walls some ways pass."""
    source = {w.weld: w.chosen.source for w in worked(plan) if w.chosen}
    ways = [(source.get(weld, ""), way) for weld, each in found.items() for _, _, way in each if way]
    far: dict[str, float] = {}
    for name, way in ways:
        if way.out_to_m is not None:
            far[name] = max(far.get(name, 0.0), way.out_to_m)
    told = []
    if far:
        ends = ", ".join(f"{show.kept(m)} ({name})" for name, m in far.items())
        told.append(
            f"“{OUT}”: straight on to {ends} from the source; wait there; then round to the retreat, no nearer."
        )
    near = {show.value(way.off_m, "length", digits=2) for _, way in ways if way.off_m < CLEAR_M}
    told += [f"{NEAR_WALLS}: {', '.join(sorted(near))} off."] if near else []
    return told


def words(
    way: WayClear | None, show: Show, limit_Sv: float | None = None, x_points_rad: float | None = None
) -> str:
    """A way in words: bearings and lengths of its legs, the last to the retreat or `OUT`; the dose, rounded up.

    `x_points_rad`: as `compass_of` gives it; with it the bearings are those of a compass, each behind its point.
    """
    if way is None:
        return NOT_FOUND
    at = [
        f"{round(math.degrees(b)) % 360}°" if x_points_rad is None else towards(b, x_points_rad)
        for b in way.bearings_rad
    ]
    legs = [
        f"{b} {show.value(far, 'length', digits=2)}"
        for b, far in zip(at[:-1], way.lengths_m[:-1], strict=True)
    ]
    last = at[-1] if way.out_to_m is None else f"{at[-1]} {OUT}"
    dose = NOT_COMPUTED if way.dose_Sv is None else show.up(way.dose_Sv, "equivalent", digits=2)
    by = f", by {way.through}" if way.through else ""
    over = ", OVER" if limit_Sv and way.dose_Sv and way.dose_Sv > limit_Sv else ""
    back = (
        f", passes the source at {show.floor(way.back_to_m, 'length', digits=2)}"
        if way.back_to_m is not None
        else ""
    )
    near = NEAR_WALLS if way.off_m < CLEAR_M else ""
    return f"{', '.join([*legs, last])}{by}{back}: {dose}{over}{near}"
