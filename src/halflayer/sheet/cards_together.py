"""The contingency cards of several sources on common sheets: the steps said once, with the figures of each source."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet import events, gather, meter
from halflayer.sheet.call_words import call_note, to_call
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_list import carried
from halflayer.sheet.people import taken
from halflayer.sheet.stuck_card import stuck_card
from halflayer.sheet.ways_out import ways_out
from halflayer.shielding.meter_range import under_Sv_s
from halflayer.shielding.stuck import StuckSource
from halflayer.shielding.stuck_steps import control_way_Sv, first_try_s

JOIN_WITHIN = (
    1  # words alike between two that differ that are drawn into one group: `2.2 mSv/h, 37 µSv`, our choice
)


def contents(plan: Plan, order: Order, show: Show) -> dict[str, Any]:
    """What the contingency pages show: cards of the sources of this shift, steps in common, events, whom to call."""
    here = {w.chosen.source for w in in_shift(plan) if w.chosen}
    stuck = [c for c in plan.stuck if c.source in here] or list(plan.stuck)
    less, kit = taken(plan, order, show), carried(order, plan)
    gathered = gather.rows(plan, order, show)
    cards = [
        stuck_card(
            c,
            show,
            less,
            meter.not_in_it(order),
            kit,
            under_Sv_s(order),
            _crank_s(plan, order, c),
            _planned_Sv(plan, c),
        )
        for c in stuck
    ]
    return {
        "cards": cards,
        "not_carded": [c.source for c in plan.stuck if c not in stuck],
        "common_steps": common_steps(cards),
        "gather": gathered,
        "ways_out": ways_out(plan, order, show),
        "gather_rule": gather.rule(order, show, gathered),
        "events_head": events.HEADLINE,
        "events": events.rows(plan, order, show),
        "to_call": (called := to_call(order)),
        "call_note": call_note(called),
    }


def _crank_s(plan: Plan, order: Order, card: StuckSource) -> int | None:
    """What step 1 leaves at the crank beside that source; None where no figure of it is known."""
    at_1m = card.at_1m.value
    if not isinstance(at_1m, int | float):
        return None
    shot = [order.weld(w.weld) for w in in_shift(plan) if w.chosen and w.chosen.source == card.source]
    return first_try_s(order, float(at_1m), control_way_Sv(order, float(at_1m), shot))


def _planned_Sv(plan: Plan, card: StuckSource) -> float | None:
    """The most that an exposure of this shift with that source is planned to bring someone of the crew [Sv]."""
    doses = [
        c.upper_Sv
        for w in in_shift(plan)
        if w.chosen and w.chosen.source == card.source and w.safety
        for person in w.safety.crew
        for c in person.limits
        if c.kind == "per exposure"
    ]
    return max(doses, default=None)


def common_steps(cards: Sequence[dict[str, Any]]) -> list[str]:
    """Steps of all cards: one that is alike is said once, one that differs holds each source's own words in place.

    >>> near, far = ({"source": s, "steps": [f"Go beyond {d} m and wait."]} for s, d in (("B", 50), ("A", 140)))
    >>> common_steps([far, near])
    ['Go beyond 140 m (A), 50 m (B) and wait.']
    """
    if len({len(c["steps"]) for c in cards}) != 1:
        return []
    return [_together(cards, n) for n in range(len(cards[0]["steps"]))]


def _together(cards: Sequence[dict[str, Any]], n: int) -> str:
    texts = [c["steps"][n] for c in cards]
    if len(set(texts)) == 1:
        return str(texts[0])
    words = [t.split(" ") for t in texts]
    if len({len(w) for w in words}) != 1:
        return " ".join(f"{c['source']}: {t}" for c, t in zip(cards, texts, strict=True))
    out: list[str] = []
    at = 0
    for first, last in _stretches(words):
        told = [
            f"{' '.join(w[first : last + 1]).rstrip(',')} ({c['source']})"
            for w, c in zip(words, cards, strict=True)
        ]
        out += [*words[0][at:first], ", ".join(told)]
        at = last + 1
    return " ".join([*out, *words[0][at:]])


def _stretches(words: list[list[str]]) -> list[tuple[int, int]]:
    """First and last of the words that differ, a unit behind a figure with it; near ones in one stretch."""
    differ = [n for n, same in enumerate(zip(*words, strict=True)) if len(set(same)) > 1]
    found: list[tuple[int, int]] = []
    for n in differ:
        # a figure takes the unit behind it along, unless it is tied to it
        alone = words[0][n][:1].isdigit() and "\N{NO-BREAK SPACE}" not in words[0][n]
        last = n + 1 if alone and n + 1 < len(words[0]) else n
        if found and n - found[-1][1] <= JOIN_WITHIN + 1:
            found[-1] = (found[-1][0], max(last, found[-1][1]))
        else:
            found.append((n, last))
    return found
