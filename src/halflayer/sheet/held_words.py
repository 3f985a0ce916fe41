"""What of the kit holds a film or brings it into a bore, in words, and what lies in its place before it."""

from __future__ import annotations

import math

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show


def film_held(order: Order, detector: str) -> str:
    """The film holders of the order that take this film, `, in FH-1`; empty where none does: the kit list says so."""
    mine = [g.id for g in order.kit.gear if g.kind == "film holder" and detector in g.detectors]
    return f", in {' or '.join(mine)}" if mine else ""


def held_by(order: Order, kind: str, joined: str, *, bring: bool = True) -> str:
    """What of the order's gear holds something, after the words that join it; that it is to be brought without any.

    bring: False says nothing where the order has none, of what the kit list alone tells.
    """
    mine = [g.id for g in order.kit.gear if g.kind == kind]
    if not mine and not bring:
        return ""
    return (
        f"{joined} {' or '.join(mine)}"
        if mine
        else f"{joined} a {kind} to be brought".replace("a straps", "straps")
    )


def far_end_m(weld: Weld) -> float | None:
    """From the nearest open end to the weld [m]; None where neither end is open."""
    nearest = nearest_end(weld)
    return nearest[0] if nearest else None


def nearest_end(weld: Weld) -> tuple[float, str] | None:
    """How far the nearest open end of a weld's pipe is, and on which side; None where neither is open."""
    ends = [("left", weld.left), ("right", weld.right)]
    return min(((n.distance_m, side) for side, n in ends if n.kind == "open end"), default=None)


def mirrored(weld: Weld) -> str:
    """The end from which a film at a clock is put in, where whoever looks into it sees clocks the other way round.

    Clocks are those looking along +x, from the left or lower end. Empty where that end is the nearest or none is open.
    """
    nearest = nearest_end(weld)
    if nearest is None or nearest[1] == "left":
        return ""
    return _named(weld, nearest[1])


def _named(weld: Weld, side: str) -> str:
    return side if weld.runs != "vertical" else {"left": "lower", "right": "upper"}[side]


def _as_seen(weld: Weld, clock_rad: float) -> str:
    """Which way clocks run seen from an end where they are mirrored, by the clock that comes first."""
    aside = math.sin(clock_rad)
    if weld.runs == "vertical" or abs(aside) < 1e-6:
        return "clocks run anticlockwise"
    told = f"{math.degrees(clock_rad % math.tau):.0f}°"
    return f"clocks run anticlockwise: {told} is {'left' if aside > 0.0 else 'right'} of the top"


def put_in(
    weld: Weld,
    show: Show,
    *,
    how: str = "put in on a rod",
    at_a_clock: float | None = None,
    turned: bool = False,
) -> str:
    """Through which open end a film comes in, and how far it is to the weld; empty where neither end is open.

    A rod that is turned is seen from that end; none stays in the bore while the source is out: common practice, no
    source. `at_a_clock`: the first at which it lies [rad]; `turned`: what spreads it turns, so that a mark on it would
    too.
    """
    nearest = nearest_end(weld)
    if nearest is None:
        return ""
    far, side = nearest
    seen = "seen from there, " * ("clockwise" in how)
    if at_a_clock is not None and mirrored(weld):
        seen = f"{'as seen there; ' * bool(seen)}{_as_seen(weld, at_a_clock)}; "
    on = "what does not turn" if turned else "rod"
    clock = f"clock marked on {on} and pipe end, " * (at_a_clock is not None)
    return f"; {how} from the {_named(weld, side)} end ({seen}rod out again), {clock}{show.drawn(far)} to the weld"


def empty_until(order: Order, detector: str, *, each_shot: bool = False) -> str:
    """The same for the steps that lay the layers; `each_shot`: of a weld that is read anew for each."""
    held = film_held(order, detector).removeprefix(", in ")
    until = "the reading for that shot is done" if each_shot else "the first survey is read"
    return f"Film: {f'{held} empty' if held else 'none'} until {until}."


def spread_by(order: Order) -> str:
    """How the kit's strut is spread in a bore; empty where the order does not say it."""
    return next((g.spread for g in order.kit.gear if g.kind == "strut" and g.spread), "")


def empty_first(order: Order, detector: str, step: int, *, sheets: int = 1) -> str:
    """What lies in the film's place while a first survey is read, and the step that then puts it in.

    Of several sheets all: the lead behind them is in what the survey is expected to read.
    An empty holder, so that the layers close over the same as with the film in it; common practice, no source.
    """
    held = film_held(order, detector).removeprefix(", in ")
    if held and sheets > 1:
        return f"first all {sheets} {held} empty, then loaded, step {step}"
    return f"first {held} empty, then step {step}" if held else "first without film"


def empty_before(order: Order, detector: str) -> str:
    """The same of a set-up that no layer closes, so that the survey finds what was planned with the film in place."""
    held = film_held(order, detector).removeprefix(", in ")
    return f"in it {held} empty here" if held else "no film in it"
