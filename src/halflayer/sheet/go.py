"""Go or do not go in one line, with what is read at arm's length: where the rope hangs and where to turn back."""

from __future__ import annotations

import re
from typing import Any

from halflayer.conditions import SIGNED, STRIP
from halflayer.conditions_of_lost import PLACES_EMPTY
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import (
    alarm_words,
    beam_points,
    bodies,
    film_inside,
    insulation_words,
    lost_reach,
    lost_words,
    meter,
    pipe_empty,
    rope_expected,
    sentry_words,
    shroud_parts,
    survey,
    survey_again,
    to_sign,
    wall_words,
)
from halflayer.sheet.barrier_words import both_kinds
from halflayer.sheet.cleared import to_roof
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.inspection import left_open
from halflayer.sheet.number_words import runs
from halflayer.sheet.only_if import READY, waits_for
from halflayer.sheet.typeface import text_width

IN_BRACKETS = re.compile(r" \([^()]*\)")
GO, ONCE = "GO", "once the list “Before the first exposure” is ticked: part 1, and part 2 for this weld"
OF_ALL = "list “Before the first exposure” ticked: part 1, and part 2 for this weld"
# The list asks things of every weld: figures marked m at the least.
ROOF = "roof"  # of which nothing is computed: the list before the first exposure has who locks it
DO_MM, DO_LINE_MM, DO_WIDE_MM = 2.9, 3.55, 178.0  # type, line and width of what is done first
BESIDE_MM, FILLED = (
    5.0,
    0.9,
)  # between two on one line, and how much of it they fill at most: type may be larger


def go(order: Order, w: WeldPlan, show: Show) -> dict[str, Any]:
    """The line under the title: word and why, the rope's distance, the reading to turn back at, what is kept clear.

    `word`: whether to go; `why`: what it waits for: conditions, what nobody has signed of it yet, the list.
    `rope`: nearest and farthest corner, or `barrier` where no rope is
    laid out, with `at`: the limit reached there. `turn_back` is empty without a limit on the rate: the table has them.
    """
    words = both_kinds(order, w, show)
    span = rope_span(w, show)
    known = words["barrier"] != NOT_COMPUTED
    waits = waits_for(w, left_open(order, w))
    return {
        "word": READY if waits else GO,
        "why": "; ".join((*waits, OF_ALL)) if waits else ONCE,
        "stop": bool(waits),
        "rope": span or words["barrier"],
        "is_rope": bool(span),
        "at": words["barrier_limit"],
        "basis": "" if known else words["barrier_basis"].split("; ")[0],
        "turn_back": meter.rope_reading(order, show, w).partition(" (")[0] if known else "",
        "turn_back_at": rope_expected.label(order, w, show) if span else rope_expected.AT_THE_ROPE,
        "expected": rope_expected.words(order, w, show) if span else "",
        "kept_when": survey.kept_when(w, show, roped=bool(span)),
    }


def rope_span(w: WeldPlan, show: Show) -> str:
    """Nearest and farthest corner of a rope that goes all round; empty without one."""
    line = w.safety.contour if w.safety else None
    found = [p.at_m for p in line.points if p.at_m is not None] if line is not None and line.closed else []
    if not found:
        return ""
    low, high = (show.up(d, "length", digits=3) for d in (min(found), max(found)))
    unit = low.rpartition(" ")[2]
    same = high.endswith(f" {unit}")
    return high if low == high else f"{low.removesuffix(f' {unit}') if same else low} to {high}"


def farthest(w: WeldPlan, show: Show) -> str:
    """The rope's farthest corner, the one distance of a weld on the order's pages; of the barrier without a rope."""
    return rope_span(w, show).rpartition(" to ")[2] or survey.barrier(w.shielding, show)[0]


def first_of_all(order: Order, w: WeldPlan, show: Show, keep: str = "") -> list[dict[str, str]]:
    """Each condition by its name with what hands do about it, where sentries stand, what is checked before an exposure.

    Page 2 has the conditions in full. `keep`: how far off its sentries keep.
    """
    past = wall_words.words(order, w, show)
    waits = [c for c in w.conditions if c.short != SIGNED]
    emptied = any(c.short == PLACES_EMPTY for c in waits)
    found = [
        {
            "what": c.short,
            # Places that are to be empty themselves are named with that, not beside their wall too.
            "do": show.converted(c.in_brief).replace(STRIP, IN_BRACKETS.sub("", past) if emptied else past),
        }
        for c in waits
    ]
    if signs := to_sign.on_page_1(order, w):
        found.append({"what": to_sign.NAME, "do": show.converted(signs)})
    if past and not any(STRIP in c.in_brief for c in w.conditions):  # a record from before it was a condition
        found.append({"what": wall_words.NAME, "do": f"{past}: nobody there either"})
    if up := to_roof(order, w):
        found.append({"what": ROOF, "do": f"searched, its access locked: beam up in {runs(up)}"})
    if at := sentry_words.post(w, show, keep, order):
        found.append({"what": "sentry", "do": f"{at}{sentry_words.while_it_travels(order, w, show)}"})
    if sound := alarm_words.at_weld(order, w, show):
        found.append({"what": "alarms", "do": sound})
    if film := film_inside.words(order, w, show):
        found.append({"what": film_inside.NAME, "do": film})
    if empty := pipe_empty.words(order, w):
        full = bodies.of_weld(order, w)
        # In one line: page 1 has none to spare for what is looked at on the same round.
        name = f"{bodies.NAME}, {pipe_empty.NAME}" if full else pipe_empty.NAME
        found.append(
            {
                "what": name,
                "do": f"{pipe_empty.CHECK}{full}; pipe {empty.removeprefix(pipe_empty.CHECK)}"
                if full
                else empty,
            }
        )
    lost = w.safety.lost if w.safety else None
    if (far := lost_reach.first_rope(order, w, lost, show)).startswith(lost_reach.FIRST_ROPE):
        found.append({"what": lost_reach.FIRST_ROPE_NAME, "do": far.removeprefix(lost_reach.FIRST_ROPE)})
    in_beam = beam_points.words(order, w)
    if again := "; ".join(t for t in (survey_again.words(order, w), in_beam) if t):
        found.append({"what": survey_again.NAME, "do": again})
    if wool := insulation_words.words(order, w, show):
        found.append({"what": insulation_words.NAME, "do": wool})
    if maker := shroud_parts.words(order, w):
        found.append({"what": shroud_parts.NAME, "do": maker})
    check = lost_words.check_words(order, w, show)
    return [*found, {"what": lost_words.NAME, "do": check}] if check else found


def in_lines(found: list[dict[str, str]]) -> list[list[dict[str, str]]]:
    """The same by lines of page 1: a short one stands beside the one before it, where both find room."""
    out: list[list[dict[str, str]]] = []
    used = 0.0
    for f in found:
        wide = _wide_mm(f)
        if out and used + BESIDE_MM + wide <= DO_WIDE_MM * FILLED:
            out[-1].append(f)
            used += BESIDE_MM + wide
        else:
            out.append([f])
            used = wide
    return out


def _wide_mm(f: dict[str, str]) -> float:
    return text_width(f["what"], DO_MM, bold=True) + text_width(f["do"], DO_MM) + 4.0


def lines(found: list[dict[str, str]]) -> int:
    """Lines that these take on page 1."""
    return sum(-int(-_wide_mm(row[0]) // DO_WIDE_MM) for row in in_lines(found))
