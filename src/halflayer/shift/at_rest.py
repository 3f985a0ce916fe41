"""Where each source of a shift lies while it is not at work: from when to when, in what, and the dose beside it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from halflayer.order.equipment import Changer, Head
from halflayer.order.models import Order
from halflayer.shielding.readings import stored_rate_Sv_s
from halflayer.shift.changing import activity_at_start_Bq
from halflayer.shift.result import BREAK, CLEARING, ShiftPlan, Slot, SourceChange

AT_CHANGE = (CLEARING, "source change")
LEAST_S = 1.0  # between two welds that follow one another: no rest


@dataclass(frozen=True)
class Held:
    """A weld's source, the device that it sits in, and the head or container by whose readings that is reckoned."""

    source: str
    device: str
    reads: str


@dataclass(frozen=True)
class AtRest:
    """A stretch in which a source is not at work; seconds from the start of the shift."""

    source: str
    device: str
    reads: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class BesideStore:
    """What the sources in the store bring at a place: the highest sum of rates, and the dose of the shift."""

    place: str
    rate_Sv_s: float
    dose_Sv: float


def at_rest(shift: ShiftPlan, held: Mapping[str, Held], end_s: float) -> tuple[AtRest, ...]:
    """The stretches of each source, in the sequence of the sources' first work.

    `held`: by weld of the shift. At work is a source from its weld's set-up until that is taken down, and all that a
    change moves or that lies in its changer from the clearing before it until its end.
    """
    changes = {c.weld: c for c in shift.changes}
    busy: dict[str, list[tuple[float, float, str, str, str]]] = {}
    reads = {h.device: h.reads for h in held.values()}
    for weld, (a, b) in _spans(shift.slots, changing=False).items():
        if weld in held:
            h = held[weld]
            busy.setdefault(h.source, []).append((a, b, h.device, h.device, h.source))
    for weld, (a, b) in _spans(shift.slots, changing=True).items():
        for source, before, after in _moved(changes[weld]):
            busy.setdefault(source, []).append((a, b, before, after, source))
    found: list[AtRest] = []
    for source, stretches in sorted(busy.items(), key=lambda f: min(f[1])):
        at, since = "", 0.0
        for a, b, before, after, _ in sorted(stretches):
            place = at or before
            if a - since > LEAST_S and place:
                found.append(AtRest(source, place, reads.get(place, place), since, a))
            at, since = after or place, max(since, b)
        if end_s - since > LEAST_S:
            found.append(AtRest(source, at, reads.get(at, at), since, end_s))
    return tuple(found)


def _spans(slots: Sequence[Slot], *, changing: bool) -> dict[str, tuple[float, float]]:
    found: dict[str, tuple[float, float]] = {}
    for s in slots:
        if s.what != BREAK and (s.what in AT_CHANGE) is changing:
            a, b = found.get(s.weld, (s.start_s, s.end_s))
            found[s.weld] = (min(a, s.start_s), max(b, s.end_s))
    return found


def _moved(change: SourceChange) -> list[tuple[str, str, str]]:
    """Sources at a change with the device before it and after it; empty: the one it lay in."""
    ways = dict(change.moved)
    came = change.changer if ways.get(change.source, 1) == 1 else ""
    out = [(change.source, came, change.into)]
    out += [(change.out, change.into, change.changer)] if change.out else []
    named = {source for source, _, _ in out}
    return [*out, *((source, change.changer, "") for source, _ in change.rests if source not in named)]


def rate_beside_Sv_s(order: Order, rest: AtRest, away_m: float) -> float | None:
    """Rate so far from what a source rests in, by its readings; None where it has none."""
    source = next(s for s in order.sources if s.id == rest.source)
    things: tuple[Head | Changer, ...] = (*order.heads, *order.kit.changers)
    thing = next((t for t in things if t.id == rest.reads), None)
    return None if thing is None else stored_rate_Sv_s(thing, activity_at_start_Bq(order, source), away_m)


def beside_store(order: Order, rests: Sequence[AtRest]) -> tuple[BesideStore, ...] | None:
    """Each people's place of the order; None: not computed, the store has no stated place or a thing no reading.

    Formula: readings of what the sources rest in by inverse square from the store's place, added while they lie there
    together; no wall, no air. Someone is taken to be there all the time: upper values.
    """
    store = order.site.source_store_at
    if store is None:
        return None
    found = []
    for p in (p for p in order.places if p.kind == "people"):
        rates = [(r, rate_beside_Sv_s(order, r, max(math.dist(p.at, store), 0.1))) for r in rests]
        known = [(r, rate) for r, rate in rates if rate is not None]
        if len(known) < len(rests):
            return None
        most = max(
            (math.fsum(rate for o, rate in known if o.start_s <= r.start_s < o.end_s) for r, _ in known),
            default=0.0,
        )
        found.append(BesideStore(p.name, most, math.fsum(rate * (r.end_s - r.start_s) for r, rate in known)))
    return tuple(found)


def carried_Sv(order: Order, rest: AtRest) -> float | None:
    """Dose of one who carries what a source rests in to the store, once; None where the order lacks what it takes."""
    t = order.crew_times
    rate = rate_beside_Sv_s(order, rest, t.moving_distance_m) if t.moving_s is not None else None
    return None if rate is None or t.moving_s is None else rate * t.moving_s
