"""The way out of every post and crank for the card: which direction, how far, and what a bare source brings on it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Any

from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, worked
from halflayer.sheet.alarm_near import spot_of
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.sentry_words import POST, sites
from halflayer.shielding.stuck_steps import DETOUR, control_way_Sv
from halflayer.shielding.way_clear import CLEAR_M, Point, WayClear, way_clear
from halflayer.shielding.way_from_source import pace_m_s

CRANK = "crank"
NOT_FOUND = "none: post moves"
POINTER = "by “Ways out”, its arrow on the rope sketch"


def posts_of(order: Order, w: WeldPlan) -> list[tuple[str, Point]]:
    """The crank and the sentries' posts of a weld by name, site x, y [m]; those that are computed."""
    crank = spot_of(order, w)
    return [*([(CRANK, crank.at)] if crank else []), *((f"{POST}{n}", p) for n, p in enumerate(sites(w), 1))]


def ways_of(plan: Plan, order: Order, w: WeldPlan) -> list[tuple[str, Point, WayClear | None]]:
    """Each post of a weld with its place and its way out of the weld's source, bare by the upper value of its card."""
    card = next((c for c in plan.stuck if w.chosen and c.source == w.chosen.source), None)
    at_1m = card.at_1m.value if card else None
    if not isinstance(at_1m, int | float):
        return []
    weld = order.weld(w.weld)
    return [(name, at, way_clear(order, weld, at, float(at_1m))) for name, at in posts_of(order, w)]


def ways_out(plan: Plan, order: Order, show: Show) -> dict[str, Any]:
    """A row for each weld of the shift, a cell for each post; `names`: the posts that any weld has; empty: nothing."""
    if order.site.retreat_at is None:
        return {"names": [], "rows": [], "rest": "", "off": "", "before": "", "pace": ""}
    found = {w.weld: ways_of(plan, order, w) for w in worked(plan)}
    names = list(dict.fromkeys(name for each in found.values() for name, _, _ in each))
    limit = order.limits.crew.per_exposure_Sv
    rows = []
    for weld, each in found.items():
        told = {name: words(way, show, limit) for name, _, way in each}
        if told:
            rows.append({"weld": weld, "cells": [told.get(name, "–") for name in names]})
    nowhere = [weld for weld, each in found.items() if not any(name != CRANK for name, _, _ in each)]
    shut = [f"{weld} {name}" for weld, each in found.items() for name, _, way in each if way is None]
    told_rest = [f"{', '.join(nowhere)}: sentry anywhere: step 2."] if nowhere else []
    if long := too_long(plan, order, found):
        told_rest.append(
            f"{', '.join(long)}: no try at the crank: its way out brings more than step 1 reckons with."
        )
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
        "before": _before(plan, order),
        "pace": show.up(pace, "speed") if (pace := pace_m_s(order)) else "not stated",
    }


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
    return f"Ground beyond the order is not known: walked, seen open, ticked{until}."


def words(way: WayClear | None, show: Show, limit_Sv: float | None = None) -> str:
    """A way in words: bearing and length of its first leg, the bearing to the retreat, and the dose, rounded up."""
    if way is None:
        return NOT_FOUND
    last = f"{math.degrees(way.bearings_rad[-1]) % 360:.0f}°"
    legs = [
        f"{math.degrees(b):.0f}° for {show.value(far, 'length', digits=2)}"
        for b, far in zip(way.bearings_rad[:-1], way.lengths_m[:-1], strict=True)
    ]
    dose = NOT_COMPUTED if way.dose_Sv is None else show.up(way.dose_Sv, "equivalent", digits=2)
    by = f", by {way.through}" if way.through else ""
    over = ", OVER" if limit_Sv and way.dose_Sv and way.dose_Sv > limit_Sv else ""
    near = f" ({show.value(way.off_m, 'length', digits=2)} off)" if way.off_m < CLEAR_M else ""
    if len(legs) > 1:  # many legs in as few words as a row holds
        return f"{', '.join([leg.replace(' for ', ' ') for leg in legs] + [last])}{by}: {dose}{over}{near}"
    return f"{', then '.join([*legs, last])}{by}: {dose}{over}{near}"
