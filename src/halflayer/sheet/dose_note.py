"""What the table of doses says of itself: when a limit holds, why readings to turn back at are lower, line and rope."""

from __future__ import annotations

import math

from halflayer.order.least_reading import worst_tolerance
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet import meter
from halflayer.sheet.barrier_words import both_kinds
from halflayer.sheet.figures import Show, percent_up
from halflayer.shielding.turn_back import farther_than_line
from halflayer.transport.variance import LARGEST_SHARE, LARGEST_VOV, LEAST_CONTRIBUTIONS


def verdict_rule() -> str:
    """When a figure holds its limit, in one line; the noise alone does not decide it."""
    # The square of the noise is that much in doubt; its root half as much, to first order.
    doubt = math.ceil(math.sqrt(LARGEST_VOV) * 100.0 / 2.0)
    return (
        "holds: at most ≤ limit and reliable, whatever the noise; not reliable: comes of too few or too rare paths "
        f"(fewer than {LEAST_CONTRIBUTIONS:g}, one brings over {LARGEST_SHARE * 100:g} %, or the noise is unsure by "
        f"{doubt} %): holds nowhere, in the first survey where page 1 has it read"
    )


def turn_back_rule(order: Order) -> str:
    """How a reading to turn back at comes from the figure of the table, in a few words."""
    less = meter.in_short(order).removeprefix("turn back at most at ")
    mean = f"what counts is the mean of a reading's {order.crew_times.reading_s:g} s"
    return f"turn back on page 1: at the rope × (ring / rope)², rounded down{over(order)}, at most {less}; {mean}"


def over(order: Order) -> str:
    """That it stays the meter's tolerance over what is expected; empty where none is stated."""
    worst = worst_tolerance(order)
    return f" but {percent_up(worst)} over expected" if worst else ""


def line_and_rope(order: Order, w: WeldPlan, show: Show) -> tuple[str, str, str]:
    """The barrier line's farthest point, why the rope is farther out, and the other kind of limit at the line."""
    words = both_kinds(order, w, show)
    line = w.safety.contour if w.safety else None
    rope = "outside the line"
    if farther_than_line(order) > 1.0:
        rope += ", where at most the reading to turn back at is expected"
    if line is not None and line.times_out > 1.0:
        rope += f", × {line.times_out:.3g} for a head off, lost shielding"
    rope += "; rule: “Corners of the ropes”, order"
    return words["barrier"], rope, f"barrier line: {words['hour']}" if words["hour"] else ""
