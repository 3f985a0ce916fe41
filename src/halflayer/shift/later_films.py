"""When the films are read that nobody waits for: after the last exposure, one after the other, by one person."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.base.result import Finding
from halflayer.order.models import Order
from halflayer.shift.result import Job, LaterFilms


def later_films(order: Order, jobs: Sequence[Job], end_s: float, most_end_s: float) -> LaterFilms | None:
    """Hours of the later films of the jobs, as planned and with reshoots; None where every film is waited for.

    Formula: end of the last exposure's weld + way + processing + films x time for one: the processor takes the next
    while one is read. Where the order has way and reading in `processing`, each film takes all of that: high. Others of
    the crew close the area meanwhile; where the reader is all of it, films follow the closing.
    """
    count, more = sum(j.films_later for j in jobs), sum(j.films_again for j in jobs)
    if not count + more:
        return None
    first, each = _times(order)
    after = _closed_first_s(order)
    return LaterFilms(
        count=count,
        most=count + more,
        first_s=first,
        each_s=each,
        from_s=end_s + after,
        to_s=end_s + after + first + count * each,
        most_from_s=most_end_s + after,
        most_to_s=most_end_s + after + first + (count + more) * each,
    )


def read_in_shift(order: Order, found: LaterFilms | None) -> bool:
    """True where latest starts and free minutes hold the reading of the films: with reshoots all of it is in the shift.

    Where it is not, a finding says how many films are left, and no start could be early enough.
    """
    return found is not None and found.most_to_s <= _until_s(order)


def after_last_s(order: Order, found: LaterFilms | None) -> float:
    """What is kept free behind the last weld [s]: its area closed, every film read where `read_in_shift`, handed back.

    The films of all welds, reshoots too: whoever begins one late has those of the others still unread.
    """
    closed = closes_s(order)
    if found is None or not read_in_shift(order, found):
        return closed
    return max(
        closed, _closed_first_s(order) + found.first_s + found.most * found.each_s + hand_back_s(order)
    )


def closes_s(order: Order) -> float:
    """What closes a shift without later films: area surveyed, rope down, then handed back [s]."""
    return (order.crew_times.closing_s or 0.0) + hand_back_s(order)


def hand_back_s(order: Order) -> float:
    """The area handed back, once it is closed and the last film is read [s]; 0 where the order has no time for it."""
    return order.crew_times.hand_back_s or 0.0


def beside_closing_s(order: Order, jobs: Sequence[Job]) -> float:
    """By how much reading the later films of some jobs, reshoots too, outlasts the closing of the area [s]."""
    found = later_films(order, jobs, 0.0, 0.0)
    return max(found.most_to_s - (order.crew_times.closing_s or 0.0), 0.0) if found else 0.0


def _until_s(order: Order) -> float:
    """Until when films are read in the shift [s from its start]: the area is handed back behind them."""
    return (order.shift.ends - order.shift.starts).total_seconds() - hand_back_s(order)


def _times(order: Order) -> tuple[float, float]:
    """Until the first later film is ready to read, and what each takes [s]."""
    a = order.allowance
    each = a.later_film_s if a.later_film_s is not None else a.viewing_s
    return (0.0, a.first_wait_s) if each is None else ((a.film_way_s or 0.0) + a.processing_s, each)


def _closed_first_s(order: Order) -> float:
    """The closing of the area, where who reads the films is the whole crew; 0 where others close it meanwhile [s]."""
    reader = order.films_read.by if order.films_read else ""
    alone = bool(reader) and all(p.name in reader for p in order.crew)
    return (order.crew_times.closing_s or 0.0) if alone else 0.0


def unread(order: Order, found: LaterFilms | None) -> list[Finding]:
    """How many films are still unread when the shift ends, as planned and with reshoots; none where all are read."""
    if found is None:
        return []
    length = _until_s(order)
    left, most = (
        min(math.ceil(max(end - length, 0.0) / found.each_s - 1e-9) if found.each_s else 0, of)
        for end, of in ((found.to_s, found.count), (found.most_to_s, found.most))
    )
    if not most:
        return []
    told = f"{left} of {found.count} as planned, " if left else ""
    text = (
        f"films read after the last exposure: {told}{most} of {found.most} with reshoots are not read when the "
        f"{'area is handed back' if hand_back_s(order) else 'shift ends'}; one rejected then is of another shift"
    )
    relax = ("a second reader", "less time for a film", "fewer welds in this shift")
    return [Finding("warn" if left else "note", text, f"allowance: {order.allowance.basis}", relax)]
