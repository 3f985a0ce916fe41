"""What is checked before each exposure because its loss would pass the limit, in one line for page 1."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.order.equipment import STRAPPED
from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.scene.stop import stop_piece
from halflayer.sheet import head_place, lost_reach
from halflayer.sheet.figures import Show
from halflayer.sheet.head_place import HEAD, SHIFTED, TURNED
from halflayer.shielding.head_unknown import together
from halflayer.shielding.safety_result import LostCase

NAME = "check, then sign in the log, before each exposure"
READ_FIRST = "film, IQI, letters read"  # a shroud hides them
CHECKS = {
    "wrap open": "every seam and edge of the wrap",
    "shroud open": f"{READ_FIRST}, then the shroud's joint shut, lid under the head",
    "head turned": "the head's angle",
    "head shifted": "the head's place",
}
LAYER = "one layer missing"
UNSHIELDED = "no barrier holds"  # a beam that passes beside its stop: not computed, as the order says


def plates(order: Order, w: WeldPlan) -> int:
    """Plates, or folded pieces, in the weld's stop, to be counted."""
    if w.shielding is None:
        return 0
    fitting = w.shielding.fitting
    piece = stop_piece(order, fitting.plate)
    return piece.pieces(fitting.plates) if piece is not None else fitting.plates


def layers(w: WeldPlan) -> int:
    """Layers of the weld's wrap, to be counted."""
    return w.shielding.fitting.layers if w.shielding is not None else 0


def counted(order: Order, w: WeldPlan) -> str:
    """What is signed for as counted: pieces of the stop, layers; empty without either."""
    stop, wrap = plates(order, w), layers(w)
    return ", ".join([*([str(stop)] if stop else []), *([wrap_words(w)] if wrap else [])])


def wrap_words(w: WeldPlan) -> str:
    """The wrap as it is counted, by pieces: what is left of a turn lies on top, which hides how many layers lie."""
    n = layers(w)
    blanket = w.shielding.fitting.blanket if w.shielding else None
    laid = sum(i.pieces for i in w.shielding.items if i.id == blanket) if w.shielding else 0
    return f"{laid} pieces" if laid > 1 else f"{n} layer{'s' * (n != 1)}"


def general(caution: str) -> bool:
    """True for the caution that names the likeliest faults without figures: the check has them all."""
    return "likeliest fault" in caution


def told_by_check(text: str) -> bool:
    """True for the finding whose faults, limit and rates the check of page 1 says."""
    return text.startswith("limits ") and " with lost shielding" in text


def check_words(order: Order, w: WeldPlan, show: Show) -> str:
    """What to look at, the most that its loss would bring to the barrier, and what stops whoever missed it.

    Only what does not hold with a fault, is not known to, or does by a rope farther out; of a head on legs always its
    angle, place, hole and opening, the likeliest faults, which a survey need not show. Empty where nothing is checked.
    """
    lost = w.safety.lost if w.safety else None
    every = lost.cases if lost else ()
    # What a rope farther out makes hold is looked at all the same, before the meter tells it.
    farther = lost is not None and lost.rope_times > 1.0
    cases = [c for c in every if c.holds is not True or (farther and c.name not in HEAD)]
    set_head = head_place.checked(w)
    n = layers(w)
    opening = aperture(order, w)
    strapped = _strapped(w, cases)
    # A miscount is told whether it breaks a limit or not: nobody sees it once the wrap is closed.
    count = [f"count {wrap_words(w)}"] if n and all(c.name != LAYER for c in cases) else []
    if not cases and not set_head:
        told = [*count, *strapped, *opening]
        only = told == count
        return f"{'; '.join(told)}. {'Not counted' if only else 'Not checked'}: do not expose" if told else ""
    looked = bool(cases) or bool(head_place.looks(order, w))
    limit = order.limits.barrier
    if limit.rate_Sv_s is not None:
        over = f"limit {show.floor(limit.rate_Sv_s, 'equivalent_rate')}"
    elif limit.in_any_hour_Sv is not None:
        over = f"limit {show.floor(limit.in_any_hour_Sv, 'equivalent')} in any one hour"
    else:
        over = "limit not stated"
    head = [c for c in cases if c.name in HEAD]
    hides = w.chosen is not None and w.chosen.shroud and all(c.name != "shroud open" for c in cases)
    told = [f"{READ_FIRST} before the shroud is shut"] if hides else []
    told += [*(_one(c, order, w, show) for c in cases if c not in head), *count]
    if set_head:
        told.append(_set_head(order, w, show))
    else:
        told += (
            [_both(head, show, limit.rate_Sv_s)] if len(head) > 1 else [_one(c, order, w, show) for c in head]
        )
    if set_head:
        # the general caution's other faults, whose loss is not looked at
        told.append("the leg's hole and the stop's place" if plates(order, w) else "the leg's hole")
    told += [*strapped, *opening]
    # What a turn-back reading asks for stands under this line.
    return f"{'; '.join([*told, *([over] if looked else [])])}. Not checked: do not expose"


def _strapped(w: WeldPlan, cases: Sequence[LostCase]) -> list[str]:
    """Angle and place of a head strapped to the pipe, as far as no case says them: no survey shows where it lies."""
    if w.chosen is None or w.chosen.arrangement not in STRAPPED:
        return []
    names = {c.name for c in cases}
    left = [what for what, name in (("angle", TURNED), ("place", SHIFTED)) if name not in names]
    return [f"the head's {' and '.join(left)}"] if left else []


def aperture(order: Order, w: WeldPlan) -> list[str]:
    """Which opening is in, where its head takes others: no look was taken at a beam wider than what stops it."""
    chosen = w.chosen
    head = next((h for h in order.heads if chosen is not None and h.id == chosen.head), None)
    if chosen is None or head is None or not chosen.aperture or len(head.apertures) < 2:
        return []
    return [f"aperture {chosen.aperture} by its mark (another: {UNSHIELDED})"]


def _set_head(order: Order, w: WeldPlan, show: Show) -> str:
    """How near to its place a head on legs has to be, and the most that one as far off as looked at brings.

    The figures are the least of all reasons, as in the marking plan.
    """
    looks = head_place.looks(order, w)
    within, as_looked = head_place.within_words(order, w, show)
    off = {
        "head turned": show.degrees(order.kit.head_turn_rad),
        "head shifted": show.drawn(order.kit.head_shift_m),
    }
    size = " / ".join(off[name] for name in HEAD if any(c.name == name for c in looks))
    if not looks:
        return within
    worst = max(looks, key=lambda c: c.barrier_upper_Sv_s or 0.0)
    held = all(c.holds for c in looks)
    most = _most(worst, show, None if held else order.limits.barrier.rate_Sv_s)
    # The check alone does not tell it: what was set right by it may be sent back by the meter.
    # Estimate and all its errors: most set-ups within it read less.
    back = "; reads turn-back: home, set nearer" if worst in head_place.near(order, w) else ""
    told = f" ({'so far' if as_looked and held else size} off: {most}{back})" if most else ""
    unheld = together(head_place.by_dose(order, w))
    if unheld is None:
        return f"{within}{told}"
    film = "for the film " if " within " in within else ""
    return f"{film}{within}, by dose no {show.converted(unheld.least)} is known to hold{told}"


def _both(head: list[LostCase], show: Show, limit_Sv_s: float | None) -> str:
    """The head's angle and place together, with the more that either brings: each by itself is told behind."""
    worst = max(head, key=lambda c: c.barrier_upper_Sv_s or 0.0)
    known = _most(worst, show, limit_Sv_s)
    return "the head's angle and place" + (f" ({known})" if known else "")


def _most(c: LostCase, show: Show, limit_Sv_s: float | None) -> str:
    """The most at the rope; where that is under its limit, what is not known lies elsewhere."""
    if not c.barrier_upper_Sv_s:
        return ""
    if limit_Sv_s is not None and c.barrier_upper_Sv_s <= limit_Sv_s:
        return "a place or floor may pass its limit"
    return f"up to {show.up(c.barrier_upper_Sv_s, 'equivalent_rate', digits=2)}"


def _one(c: LostCase, order: Order, w: WeldPlan, show: Show) -> str:
    most = _most(c, show, None if c.holds else order.limits.barrier.rate_Sv_s)
    # The ring of every fault, so that the widest one is not read behind a narrower one's.
    if c.holds is not True and most and (far := lost_reach.limit_again(order, w, c, show)):
        most += f", limit at {far}"
    if c.name.endswith("missing"):
        piece = c.name.removeprefix("one ").removesuffix(" missing")
        n = plates(order, w)
        count = wrap_words(w) if c.name == LAYER else f"{n} {piece}{'s' * (n != 1)}"
        return f"count {count} ({'one layer' if c.name == LAYER else 'one'} missing: {most})"
    what = CHECKS.get(c.name, c.name)
    return f"{what} ({c.name.rpartition(' ')[2]}: {most})" if most else what
