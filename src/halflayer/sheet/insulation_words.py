"""Whether insulation is on or off at the weld, in one sentence: film, indicator, markers, datum and clamp by it."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show

NAME = "insulation"
SEEN = "surface and visual test before that"  # common practice, no source


LISTED = "insulation off"


def off_row(order: Order, used: Sequence[WeldPlan], show: Show) -> list[tuple[str, str]]:
    """For the list: at which welds it is taken off before the shift, how far, with blanks for by whom and when."""
    told: dict[str, list[str]] = {}
    for w in used:
        wool = order.weld(w.weld).insulation
        if wool is not None and wool.removed_m is not None:
            told.setdefault(f"over {show.drawn(wool.removed_m)}", []).append(w.weld)
    if not told:
        return []
    at = "; ".join(f"{', '.join(on)} {far}" for far, on in told.items())
    return [(LISTED, f"{at}: by ________, done ________; {SEEN.replace('that', 'the shot')}.")]


def words(order: Order, w: WeldPlan, show: Show) -> str:
    """For page 1; empty without insulation. The order says how much is taken off; where it does not, it stays on."""
    weld = order.weld(w.weld)
    if weld.insulation is None or w.chosen is None:
        return ""
    off = weld.insulation.removed_m
    if off is None:
        return (
            "left on (the order takes none off): film, holder and markers outside it, IQI and datum on the pipe under "
            "an opened strip, clamp round it; surface and visual test need it off"
        )
    clamp = next((c for c in order.kit.clamps if c.id == w.chosen.clamp), None)
    on = ""
    if clamp is not None:
        bare = clamp.from_weld_m <= off / 2
        on = ", clamp on the bare pipe too" if bare else ", clamp round the insulation beyond it"
    return (
        f"off over {show.drawn(off)}, {show.drawn(off / 2)} to either side of the weld: film, IQI, markers and datum "
        f"on the bare pipe{on}; {SEEN}"
    )
