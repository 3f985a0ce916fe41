"""A clock that would have to be set finer than hands can: one exposure more, and what it costs."""

from __future__ import annotations

import math
from dataclasses import replace

from halflayer.base.result import Finding
from halflayer.base.units import parse, show
from halflayer.exposure.judged import TURN, growth_room_rad
from halflayer.exposure.result import Coverage, Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.technique.result import Candidate

# As near as a head's clock is set on a pipe by tape and level (common practice, no source).
BY_HAND_RAD = math.radians(1.0)
SOURCE = "usable arc less the arc judged; what a clock is set to by hand: common practice, no source"
ORDERED = "usable arc less the arc judged; tolerance of the order"
WHOLE = "whole weld shown"  # the rule whose override leaves the number of exposures to the order


def one_more(weld: Weld, candidate: Candidate, found: Coverage) -> list[Finding]:
    """A stop where a marker leaves the usable arc within what hands can hold, and one exposure more keeps it.

    Formula: room = (usable arc - arc judged) / 2, and the arc judged falls from 360 / n to 360 / (n + 1) with its lap.
    The way with one more takes its place (`more_shots`); where there is none, it is a warning. By how much it leaves
    more is not told here: that way may stand at another distance, with another usable arc, and its sheet says its own.
    """
    n, room = len(candidate.shots), growth_room_rad(candidate)
    if room is None or found.uncovered or room >= BY_HAND_RAD - 1e-9:
        return []
    then = room + (TURN / n - TURN / (n + 1)) / 2.0
    if then < BY_HAND_RAD or any(o.rule == WHOLE for o in weld.overrides):
        return []
    return [
        Finding(
            "stop",
            f"{weld.id}: with {n} exposures a clock may be off by {_floor_deg(room)} deg, and by hand it is set to "
            f"{math.degrees(BY_HAND_RAD):g} deg; {n + 1} leave more.",
            SOURCE,
            (f"{n + 1} exposures (exposures: {n + 1} in the order)",),
        )
    ]


def is_fine(f: Finding) -> bool:
    """True for the stop of this module."""
    return f.level == "stop" and f.source == SOURCE


def eased(exposure: Exposure) -> Exposure | None:
    """The exposure with that stop as a warning; None where something else stops it, or nothing does."""
    stops = [f for f in exposure.findings if f.level == "stop"]
    if not stops or not all(is_fine(f) for f in stops):
        return None
    # Where the order reckons with a coarser clock yet, that is the warning, and this is said beside it.
    warned = any(f.level == "warn" and f.source == ORDERED for f in exposure.findings)
    told = tuple(
        replace(f, level="note" if warned else "warn") if is_fine(f) else f for f in exposure.findings
    )
    return replace(exposure, findings=told)


def cost(
    order: Order, candidate: Candidate, before: Exposure, after: Exposure, *, first: Candidate | None = None
) -> Finding:
    """What the further exposures cost: source out, and all together with a round of walks, survey, film and reset.

    `first`: the way with fewer, whose distance is told where it is another one: the time goes with its square.
    """
    # times as they are printed, so that whoever adds them finds the sum
    out = [
        math.fsum(parse(show(float(s.seconds.value or 0.0), "time"), "time") for s in e.shots)
        for e in (before, after)
    ]
    whole = [t + len(e.shots) * _round_s(order, candidate) for t, e in zip(out, (before, after), strict=True)]
    n, m = len(before.shots), len(after.shots)
    more = whole[1] - whole[0]
    told = f"{show(abs(more), 'time', digits=2)} {'more' if more >= 0.0 else 'less'}"
    return Finding(
        "note",
        f"{m} exposures in place of {n} so that clocks can be set by hand to {math.degrees(BY_HAND_RAD):g} deg: source "
        f"out {show(out[1], 'time')} in place of {show(out[0], 'time')}; with walks, survey, film change and resetting "
        f"of the order about {told}{_nearer(first, candidate)}",
        SOURCE,
    )


def _nearer(first: Candidate | None, now: Candidate) -> str:
    """Why the time of one exposure changed: both distances, where they are not the same; else empty."""
    if first is None:
        return ""
    then_m, now_m = first.geometry.source_to_detector_m, now.geometry.source_to_detector_m
    if abs(then_m - now_m) < 1e-3:
        return ""
    return (
        f"; an exposure takes {'less' if now_m < then_m else 'more'}, as the source stands {show(now_m, 'length')} "
        f"from the film in place of {show(then_m, 'length')}"
    )


def kept(more: int, more_s: float, fewer_s: float) -> Finding:
    """That the way with one exposure more was tried and takes longer with its shield, so that the fine clock stays."""
    return Finding(
        "note",
        f"{more} exposures would leave more room for the clock; with the shield that they take, laid anew each time, "
        f"all lasts {show(more_s, 'time')} in place of {show(fewer_s, 'time')}: the clock is set finer instead",
        SOURCE,
    )


def _round_s(order: Order, candidate: Candidate) -> float:
    times, head = order.crew_times, next(h for h in order.heads if h.id == candidate.head)
    return 2 * head.travel_s + 2 * times.walk_s + times.survey_s + times.film_change_s + times.reset_s


def _floor_deg(angle_rad: float) -> str:
    return f"{math.floor(math.degrees(angle_rad) * 10 + 1e-6) / 10:.1f}"
