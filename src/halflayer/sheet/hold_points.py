"""Hold and witness points of the shift, in the list before the first exposure: what, who, when, where it is signed."""

from __future__ import annotations

import math
from datetime import timedelta

from halflayer.order.models import Order
from halflayer.order.testing import HoldPoint
from halflayer.order.weld import Weld
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet.content import moment
from halflayer.sheet.reading import not_settled
from halflayer.sheet.shift_clock import clock
from halflayer.sheet.testing_words import lacks_testing

NAME = "hold points"
# Common practice, no source: contract and procedure say which of them there are.
LEAD = "Hold: no work past it until signed. Witness: called only. Contract first."
BLANK = "________"
BOTH = "these sheets, purchaser too ________"  # a procedure that was signed before is not they
IN_LOG = "the weld's log"
ADDED = "no time planned"
# Clause on what a test report names (from memory, unverified).
REPORT_BY = {"ISO 17636-1:2013": "ISO 17636-1, 8; m", "ISO 17636-2:2013": "ISO 17636-2, 8; m"}


def rows(plan: Plan, order: Order, used: list[WeldPlan]) -> list[dict[str, str]]:
    """Points in the sequence of the work, with blanks where the order names nobody; nothing without a weld."""
    if not used:
        return []
    p, read = order.hold_points, order.films_read
    begun, laid = _times(plan, order)
    mine = [order.weld(w.weld) for w in used]
    accepted = dict.fromkeys(
        a.words for w in mine if (a := order.acceptance_of(w)) is not None and not not_settled(a)
    )
    by = dict.fromkeys(w.procedure or order.procedure or f"procedure {BLANK}" for w in mine)
    codes = dict.fromkeys(order.code_words(w) for w in mine)
    technique = "; ".join(
        [
            "/".join(by),
            "/".join(codes),
            *([f"acceptance {'/'.join(accepted)}, its table at hand: yes / no"] if accepted else []),
        ]
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
            f"visual test, surface, waiting time, welder's stamp{open_ends}",
            p.release,
            _from_to(order, begun) or "before each weld",
            IN_LOG,
        ),
        _row(
            "set-up",
            f"film, IQI, letters of exposure 1 laid, after a survey without film; source home{_hidden(used, laid)}",
            p.set_up,
            "when called",
            IN_LOG,
            kind="witness",
            times=laid,
            fetched=f", fetched by {_lead(order)}",
        ),
        _row(
            "first film",
            f"densities, IQI, marks{second_reader(order)}",
            p.first_film,
            "before exposure 2",
            IN_LOG,
            who=read.by if read else None,
        ),
        _row(
            "films",
            "verdict on each, second reading: no time planned",
            p.films,
            "when, where ______",
            BLANK,
            who=accepts,
        ),
        _row("report", _report(order, mine), p.report, BLANK, BLANK),
    ]


def _report(order: Order, welds: list[Weld]) -> str:
    """What a report names, who writes it and how long it is kept: blanks, as contract and quality system say it."""
    by = dict.fromkeys(REPORT_BY[code] for w in welds if (code := order.code_of(w)) in REPORT_BY)
    contents = f" ({'; '.join(by)})" if by else ""
    return f"by {BLANK}{contents}, agreements, deviations listed; kept ____ years; with films to"


def _times(plan: Plan, order: Order) -> tuple[dict[str, float], dict[str, str]]:
    """By weld of the shift when its turn begins [s from the start of the shift], and when its first film is laid.

    A first survey before any film has an empty holder: it is loaded once the source is surveyed home after it. Else it
    is loaded while the weld is set up, before the area is searched.
    """
    begun: dict[str, float] = {}
    laid: dict[str, str] = {}
    for s in sorted(plan.schedule.slots, key=lambda s: s.start_s) if plan.schedule else ():
        begun.setdefault(s.weld, s.start_s)
        if s.what == "set-up":
            laid.setdefault(s.weld, f"by {clock(order, s.end_s - (order.crew_times.search_s or 0.0))}")
        elif s.what == "first survey":
            home_s = s.end_s + _home_s(plan, order, s.weld)
            laid[s.weld] = f"from {order.shift.starts + timedelta(seconds=math.ceil(home_s)):%H:%M:%S}"
    return begun, laid


def _home_s(plan: Plan, order: Order, weld: str) -> float:
    """From a reading without film until the source is surveyed home [s]: its way, the walk in, the survey."""
    c = next((w.chosen for w in plan.welds if w.weld == weld), None)
    head = next((h for h in order.heads if c is not None and h.id == c.head), None)
    t = order.crew_times
    return (head.travel_s if head is not None else 0.0) + t.walk_s + t.survey_s


def _hidden(used: list[WeldPlan], laid: dict[str, str]) -> str:
    """Until when a witness may see what a shroud hides: film, indicators, letters; empty without a shroud."""
    told = [f"{w.weld} {laid[w.weld]}" for w in used if w.weld in laid and w.chosen and w.chosen.shroud]
    return f"; seen only before the shroud closes: {', '.join(told)}" if told else ""


def _lead(order: Order) -> str:
    """At whose side a witness waits, who brings it to the head: the radiographer in charge."""
    return next((p.name for p in order.crew if p.role == "radiographer in charge"), BLANK)


def second_reader(order: Order) -> str:
    """Where whoever reads a first film shoots too: a second reader, or who accepts that there is none."""
    read = order.films_read
    if read is None or not any(p.name in read.by for p in order.crew if p.role != "sentry"):
        return ""
    return f"; second reader {BLANK}, else purchaser accepts one {BLANK}"


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
    fetched: str = "",
) -> dict[str, str]:
    """One point; `who`: who else in the order does it, where no one is named for it.

    `own_sign`: what a signature before the shift is of, beside what is still to be signed; `times`: of the welds that
    the point's own words name; `fetched`: by whom they are brought there.
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
            when, who = f"{', '.join(called)}; {ADDED}", f"{who}{fetched}"
    return {"point": point, "kind": kind, "what": what, "who": who or BLANK, "when": when, "sign": sign}
