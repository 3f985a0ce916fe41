"""Where the saddles of props stand under a wrapped pipe: room off the sleeve or under its end, a hood's cloth."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.order.equipment import Blanket
from halflayer.order.weld import Neighbour, Weld
from halflayer.scene.pipework import pipe_span
from halflayer.scene.winding import BEGIN_RAD, rolls
from halflayer.scene.wrap_layers import WrapLayer
from halflayer.technique.result import Candidate

CLEAR_M = 0.02  # a saddle's edge off a sleeve's end, a flange, an elbow, film and head: our choice


@dataclass(frozen=True)
class Saddles:
    """Middles of both saddles from the weld [m] and whether one stands under the sleeve."""

    at_m: tuple[float, float]
    under: bool


def saddles(
    weld: Weld, laid: Sequence[WrapLayer], sleeve_m: tuple[float, float], width_m: float, clear_m: float
) -> Saddles | None:
    """On bare pipe beyond the sleeve, else under its end; None where there is no room.

    `sleeve_m`: its ends as drawn: a turn that lies aslant reaches past them by its slant, except where the outermost
    lie straight. `clear_m`: from the weld to film or head with their room.
    """
    left, right = pipe_span(weld)
    turn = laid[0].turn if laid else None
    slant = turn.aslant_m if turn is not None and not turn.ends_straight else 0.0
    low, high = sleeve_m
    out = (low - slant - CLEAR_M - width_m / 2, high + slant + CLEAR_M + width_m / 2)
    fits = (out[0] - width_m / 2 >= left, out[1] + width_m / 2 <= right)
    under = (
        max(low, left + _room(weld.left)) + width_m / 2,
        min(high, right - _room(weld.right)) - width_m / 2,
    )
    at = (out[0] if fits[0] else under[0], out[1] if fits[1] else under[1])
    if any(abs(x) - width_m / 2 < clear_m for x in at) or at[0] >= 0 or at[1] <= 0:
        return None
    return Saddles(at, not all(fits))


def _room(n: Neighbour) -> float:
    """What a saddle keeps off a pipe's end: nothing of an open end, which is its own edge."""
    return 0.0 if n.kind in ("pipe", "open end") else CLEAR_M


def under_hood(
    c: Candidate, laid: Sequence[WrapLayer], cloth: Blanket | None, at_m: Sequence[float], width_m: float
) -> tuple[float, tuple[int, ...]]:
    """How thick a hood's cloth lies between sleeve and saddles [m], and in which exposures (from 1); 0 without any.

    A hood goes over the head and down both sides to the pipe's middle: past the underside where the head is lower than
    beside the pipe. Its pieces lie one over another, half their width to either side of the weld.
    """
    more = sum(one.more for one in laid)
    if cloth is None or not more or not any(abs(x) - width_m / 2 < cloth.width_m / 2 for x in at_m):
        return 0.0, ()
    low = tuple(n for n, s in enumerate(c.shots, start=1) if math.cos(s.source_clock_rad) < -1e-6)
    return (more * cloth.thickness_m if low else 0.0), low


def turns_fewer(
    c: Candidate, laid: Sequence[WrapLayer], cloth: Blanket | None, x_m: float
) -> tuple[int, ...]:
    """By exposure how many turns fewer than the most a wound sleeve has on a lying pipe's underside at a place.

    Formula: of what goes on beyond the planned turns, n turns long from its beginning, ceil(n - way to the underside)
    lie there; the sleeve begins at a clock from its source's and turns with it. Empty where none is wound there.
    """
    here = (
        [r for r in rolls(laid, cloth) if r.low_m <= x_m <= r.high_m]
        if cloth and laid and laid[0].turn
        else []
    )
    if not here:
        return ()
    lie = []
    for s in c.shots:
        way = (math.pi - s.source_clock_rad - BEGIN_RAD) % math.tau / math.tau
        way = 0.0 if way > 1.0 - 1e-9 else way
        lie.append(max(math.ceil(r.over_turns - way - 1e-9) for r in here))
    most = max(math.ceil(r.over_turns - 1e-9) for r in here)
    return tuple(most - max(n, 0) for n in lie)
