"""Hold and witness points of the shift, in the list before the first exposure: what, who, when, where it is signed."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.order.testing import HoldPoint
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet.content import moment
from halflayer.sheet.reading import not_settled
from halflayer.sheet.shift_clock import clock
from halflayer.sheet.testing_words import lacks_testing

NAME = "hold points"
# Common practice, no source: contract and procedure say which of them there are.
LEAD = "Hold: no work past it until signed. Witness: called, does not hold. The contract comes first."
BLANK = "________"
BOTH = "these sheets, purchaser too ________"  # a procedure that was signed before is not they
IN_LOG = "the weld's log"


def rows(plan: Plan, order: Order, used: list[WeldPlan]) -> list[dict[str, str]]:
    """Points in the sequence of the work, with blanks where the order names nobody; nothing without a weld."""
    if not used:
        return []
    p, read = order.hold_points, order.films_read
    begun, ready = _times(plan)
    mine = [order.weld(w.weld) for w in used]
    accepted = dict.fromkeys(
        a.words for w in mine if (a := order.acceptance_of(w)) is not None and not not_settled(a)
    )
    by = dict.fromkeys(w.procedure or order.procedure or f"procedure {BLANK}" for w in mine)
    codes = dict.fromkeys(order.code_words(w) for w in mine)
    technique = "; ".join(
        ["/".join(by), "/".join(codes), *([f"acceptance {'/'.join(accepted)}"] if accepted else [])]
    )
    open_ends = "; its blanks settled" if any(lacks_testing(order, w) for w in mine) else ""
    accepts = read.taken_down_accepted_by if read else None
    return [
        _row(
            "technique",
            technique,
            p.technique,
            f"before {order.shift.starts:%H:%M}",
            BOTH,
            own_sign="procedure ",
        ),
        _row(
            "released for RT",
            f"visual test, surface, waiting time{open_ends}",
            p.release,
            _from_to(order, begun) or "before each weld",
            IN_LOG,
        ),
        _row(
            "set-up",
            "exposure 1 ready, source home",
            p.set_up,
            "when called",
            IN_LOG,
            kind="witness",
            times={w: clock(order, s) for w, s in ready.items()},
        ),
        _row(
            "first film",
            "densities, IQI, marks",
            p.first_film,
            "before exposure 2",
            IN_LOG,
            who=read.by if read else None,
        ),
        _row(
            "films",
            "verdict on each, second reading, in no time here",
            p.films,
            "when, where ______",
            BLANK,
            who=accepts,
        ),
        _row("report", "report and films handed over to", p.report, BLANK, BLANK),
    ]


def _times(plan: Plan) -> tuple[dict[str, float], dict[str, float]]:
    """By weld of the shift when its turn begins, and when its set-up stands [s from the start of the shift]."""
    begun: dict[str, float] = {}
    ready: dict[str, float] = {}
    for s in sorted(plan.schedule.slots, key=lambda s: s.start_s) if plan.schedule else ():
        begun.setdefault(s.weld, s.start_s)
        if s.what == "set-up":
            ready.setdefault(s.weld, s.end_s)
    return begun, ready


def _from_to(order: Order, begun: dict[str, float]) -> str:
    """From when to when the turns of the welds begin; empty without a schedule."""
    times = [clock(order, s) for s in begun.values()]
    return f"{times[0]} to {times[-1]}" if len(times) > 1 else ""


def lead(order: Order) -> str:
    """What the table begins with, and blanks for whoever of it cannot be called by what the order has."""
    p = order.hold_points
    known = [c.name for c in (*order.to_sign, *order.contacts) if c.name] + [c.name for c in order.crew]
    points = (("release", p.release), ("set-up", p.set_up), ("report", p.report))
    lacks = [f"{n} ________" for n, h in points if h is not None and not any(k in h.by for k in known)]
    return f"{LEAD} Name, number: {', '.join(lacks)}." if lacks else LEAD


def _row(
    point: str,
    what: str,
    own: HoldPoint | None,
    when: str,
    sign: str,
    *,
    kind: str = "hold",
    who: str | None = None,
    own_sign: str = "",
    times: dict[str, str] | None = None,
) -> dict[str, str]:
    """One point; `who`: who else in the order does it, where no one is named for it.

    `own_sign`: what a signature before the shift is of, beside what is still to be signed; `times`: of the welds that
    the point's own words name.
    """
    if own is not None:
        kind, who, when = own.kind, own.by.partition(" (")[0], own.when or when
        if own.signed is not None:
            signed = (
                f"{own_sign}signed {moment(own.signed)[:10]}{f', {own.document}' if own.document else ''}"
            )
            sign = f"{signed}; {sign}" if own_sign else signed
        if (
            own.when
            and times
            and (called := [f"{w} {t}" for w, t in times.items() if w in own.when.split(", ")])
        ):
            when = ", ".join(called)
    return {"point": point, "kind": kind, "what": what, "who": who or BLANK, "when": when, "sign": sign}
