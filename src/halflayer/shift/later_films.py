"""When the films are read that nobody waits for: after the last exposure, one after the other, by one person."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from halflayer.base.result import Finding
from halflayer.order.models import Order
from halflayer.shift.result import Job, LaterFilms, ShiftPlan


def with_later_films(order: Order, jobs: Sequence[Job], plan: ShiftPlan) -> ShiftPlan:
    """The plan of a shift with the hours of its later films, and a finding where those end after the shift."""
    found = later_films(order, jobs, plan)
    if found is None:
        return plan
    return replace(plan, later_films=found, findings=(*plan.findings, *_late(order, found)))


def later_films(order: Order, jobs: Sequence[Job], plan: ShiftPlan) -> LaterFilms | None:
    """Hours of the later films as planned and with reshoots; None where every film is waited for.

    Formula: end of the last exposure's weld + way + processing + films x time for one: the processor takes the next
    while one is read. Where the order has way and reading in `processing`, each film takes all of that: high. Others of
    the crew close the area meanwhile; where the reader is all of it, films follow the closing.
    """
    worked = {s.weld for s in plan.slots}
    mine = [j for j in jobs if j.weld in worked]
    count, more = sum(j.films_later for j in mine), sum(j.films_again for j in mine)
    end, most = plan.ends.value, plan.ends_with_reshoots.value if plan.ends_with_reshoots else None
    if not count + more or not isinstance(end, int | float) or not isinstance(most, int | float):
        return None
    a = order.allowance
    each = a.later_film_s if a.later_film_s is not None else a.viewing_s
    first = (a.film_way_s or 0.0) + a.processing_s
    if each is None:
        each, first = a.first_wait_s, 0.0
    reader = order.films_read.by if order.films_read else ""
    alone = bool(reader) and all(p.name in reader for p in order.crew)
    after = (order.crew_times.closing_s or 0.0) if alone else 0.0
    return LaterFilms(
        count=count,
        most=count + more,
        first_s=first,
        each_s=each,
        from_s=end + after,
        to_s=end + after + first + count * each,
        most_from_s=most + after,
        most_to_s=most + after + first + (count + more) * each,
    )


def _late(order: Order, found: LaterFilms) -> list[Finding]:
    """How many films are still unread when the shift ends, as planned and with reshoots; none where all are read."""
    length = (order.shift.ends - order.shift.starts).total_seconds()
    unread, most = (
        min(math.ceil(max(end - length, 0.0) / found.each_s - 1e-9) if found.each_s else 0, of)
        for end, of in ((found.to_s, found.count), (found.most_to_s, found.most))
    )
    if not most:
        return []
    told = f"{unread} of {found.count} as planned, " if unread else ""
    text = (
        f"films read after the last exposure: {told}{most} of {found.most} with reshoots are not read when the shift "
        "ends; one rejected then is of another shift"
    )
    relax = ("a second reader", "less time for a film", "fewer welds in this shift")
    return [Finding("warn" if unread else "note", text, f"allowance: {order.allowance.basis}", relax)]
