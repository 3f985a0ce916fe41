"""Hold and witness points of the shift, in the list before the first exposure: what, who, when, where it is signed."""

from __future__ import annotations

import math
import re
from datetime import timedelta

from halflayer.order.models import Order
from halflayer.order.testing import HoldPoint, ReportPoint
from halflayer.order.weld import Weld
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet.clause import REPORT_BY
from halflayer.sheet.content import moment
from halflayer.sheet.reading import not_settled
from halflayer.sheet.sectors import is_fine
from halflayer.sheet.shift_clock import clock
from halflayer.sheet.testing_words import lacks_testing
from halflayer.shielding.resets import reset_of

NAME = "hold points"
# Common practice, no source: contract and procedure say which of them there are.
LEAD = (
    "Tick: people, times agreed. Hold: no work until signed. Witness: called; not there, work goes on, logged. "
    "Contract first."
)
BLANK = "________"
BOTH = "these sheets, purchaser too ________"  # a procedure that was signed before is not they
IN_LOG = "the weld's log"
NOTICE = "____ min"
ENDS = "ends of films"
VERDICT = "holds the verdict only"  # no hold of the next shot
# Whoever leads may be at the crank of another weld by then; the place is outside the rope, as no one is met inside.
MET = ", rung by whoever is free, again if times move; waits outside the rope"


def rows(plan: Plan, order: Order, used: list[WeldPlan]) -> list[dict[str, str]]:
    """Points in the sequence of the work, with blanks where the order names nobody; nothing without a weld."""
    if not used:
        return []
    p, read = order.hold_points, order.films_read
    laid = _laid(plan, order)
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
    seen = f"; first shot: {_seen(p.set_up, laid)}" if laid else ""
    fine = [w.weld for w in used if is_fine(order, w.chosen, w.exposure.coverage if w.exposure else None)]
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
            "before each weld's start, sheet 1",
            IN_LOG,
        ),
        _row(
            "set-up",
            f"film, IQI, letters seen, source home{seen}",
            p.set_up,
            "first shot, called",
            IN_LOG,
            kind="witness",
            called=MET,
        ),
        _row(
            "first film",
            f"densities, IQI, marks{second_reader(order)}",
            p.first_film,
            _signed_before(order),
            IN_LOG,
            who=read.by if read else None,
        ),
        *(
            [
                _row(
                    ENDS,
                    f"dark enough at both ends of what each judges ({', '.join(fine)})",
                    None,
                    "next shot goes on",
                    IN_LOG,
                    kind=VERDICT,
                    who=read.by if read else None,
                )
            ]
            if fine
            else []
        ),
        _row(
            "films",
            "verdict on each, second reading",
            p.films.model_copy(update={"when": None}) if p.films else None,
            "“films read”",
            BLANK,
            who=accepts,
        ),
        _row("report", _report(p.report, order, mine), p.report, BLANK, BLANK),
    ]


def _report(own: ReportPoint | None, order: Order, welds: list[Weld]) -> str:
    """What a report names, who writes it and how long it is kept: blanks where the order does not say it."""
    by = dict.fromkeys(REPORT_BY[code] for w in welds if (code := order.code_of(w)) in REPORT_BY)
    contents = f" ({'; '.join(by)})" if by else ""
    by_whom = (own.written_by or "").partition(" (")[0] if own else ""
    kept = own.kept if own else None
    return f"by {by_whom or BLANK}{contents}, agreements, deviations listed; kept {kept or '____ years'}; with films to"


def _laid(plan: Plan, order: Order) -> dict[str, str]:
    """By weld of the shift from when to when its film is seen.

    A first survey before any film has an empty holder: it is loaded once the source is surveyed home after it, before
    whoever does it walks out. Else it is loaded while the weld is set up, before the area is searched. What encloses it
    is laid last, in the kit's mounting times: it is seen before that alone. Times after a survey and ends are cut to
    the minute: whoever is there by the first misses nothing, and by the second it is not yet closed.
    """
    laid: dict[str, str] = {}
    t, opened = order.crew_times, dict[str, float]()
    for s in sorted(plan.schedule.slots, key=lambda s: s.start_s) if plan.schedule else ():
        encloses_s = _encloses_s(plan, order, s.weld)
        if s.what == "set-up":
            laid.setdefault(
                s.weld,
                f"{clock(order, s.start_s)} to {_cut(order, s.end_s - (t.search_s or 0.0) - encloses_s)}",
            )
        elif s.what == "first survey":
            opened[s.weld] = s.end_s + _home_s(plan, order, s.weld)
        elif s.what == "exposure" and s.shot == 1 and s.weld in opened:
            # Opened after that survey, laid anew before whoever does it walks out.
            out = _cut(order, s.start_s - t.walk_s - encloses_s)
            home = _cut(order, opened.pop(s.weld))
            laid[s.weld] = f"{home} to {out}" if home != out else f"at {home}"
    return laid


def _cut(order: Order, seconds: float) -> str:
    return f"{order.shift.starts + timedelta(seconds=math.floor(seconds)):%H:%M}"


def _seen(own: HoldPoint | None, laid: dict[str, str]) -> str:
    """When each film is seen, before search or shield: first where the witness is called, then the others."""
    named = set(re.findall(r"[^\s,;]+", own.when or "")) if own else set()
    called = [f"{w} {t}" for w, t in laid.items() if w in named]
    others = [f"{w} {t}" for w, t in laid.items() if w not in named]
    if not called:
        return ", ".join(others)
    return f"called: {', '.join(called)}{'; may see: ' + ', '.join(others) if others else ''}"


def _encloses_s(plan: Plan, order: Order, weld: str) -> float:
    """How long the wrap, tent or shroud takes that hides film and indicators once it is laid [s]; 0 without one."""
    shielding = next((w.shielding for w in plan.welds if w.weld == weld), None)
    return reset_of(order, shielding.items).on_s if shielding is not None else 0.0


def _home_s(plan: Plan, order: Order, weld: str) -> float:
    """From a reading without film until the source is surveyed home [s]: its way, the walk in, the survey."""
    c = next((w.chosen for w in plan.welds if w.weld == weld), None)
    head = next((h for h in order.heads if c is not None and h.id == c.head), None)
    t = order.crew_times
    return (head.travel_s if head is not None else 0.0) + t.walk_s + t.survey_s


def second_reader(order: Order) -> str:
    """Where whoever reads a first film shoots too: the second reader, or who accepts that there is none."""
    read = order.films_read
    if read is not None and read.second:
        return f"; second reader {read.second.partition(' (')[0]}, signs too"
    return f"; second reader {BLANK}, else purchaser accepts one {BLANK}" if lacks_second(order) else ""


def _signed_before(order: Order) -> str:
    """What waits for a first film's signatures: whoever reads it and the second reader, where there is one."""
    both = (
        order.films_read is not None
        and order.films_read.second is not None
        and "signs too" in second_reader(order)
    )
    return "both before the next shot" if both else "before the next shot"


def lacks_second(order: Order) -> bool:
    """Whether a second reader is asked for whom the order does not name."""
    read = order.films_read
    own = read is not None and any(p.name in read.by for p in order.crew if p.role != "sentry")
    return own and read is not None and not read.second


def lead(order: Order) -> str:
    """What the table begins with, and blanks for whoever of it cannot be called by what the order has."""
    lacks = [f"{n} ______" for n, h in _called(order) if h is not None and not _known(order, h)]
    return f"{LEAD} Name, number: {', '.join(lacks)}." if lacks else LEAD


def _called(order: Order) -> tuple[tuple[str, HoldPoint | None], ...]:
    p = order.hold_points
    return ("release", p.release), ("set-up", p.set_up), ("report", p.report)


def _known(order: Order, point: HoldPoint) -> bool:
    """Whether whoever holds a point can be called by what the order has."""
    known = [c.name for c in (*order.to_sign, *order.contacts) if c.name] + [c.name for c in order.crew]
    return point.call_by is not None or any(k in point.by for k in known)


def left_blank(order: Order, used: list[WeldPlan]) -> list[str]:
    """What the list leaves to be filled in of these points, in a few words each; nothing without a weld."""
    if not used:
        return []
    p, read = order.hold_points, order.films_read
    who = ["technique"] * (p.technique is None)
    who += [n for n, h in _called(order) if h is None or not _known(order, h)]
    who += ["first film"] * (p.first_film is None and read is None)
    who += ["films"] * (p.films is None and not (read and read.taken_down_accepted_by))
    told = [f"hold points ({', '.join(who)})"] if who else []
    told += ["second reader"] * lacks_second(order)
    told += ["verdict's time, place"] * (p.films is None or p.films.when is None)
    told += ["report's writer"] * (p.report is None or p.report.written_by is None)
    told += ["years kept"] * (p.report is None or p.report.kept is None)
    return told


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
    called: str = "",
) -> dict[str, str]:
    """One point; `who`: who else in the order does it, where no one is named for it.

    `own_sign`: what a signature before the shift is of, beside what is still to be signed; `called`: by whom those
    are brought there who are called to what `own.when` names.
    """
    if own is not None:
        kind, who, when = own.kind, own.by.partition(" (")[0], own.when or when
        who += f", {own.call_by}" if own.call_by else ""
        if own.signed is not None:
            signed = (
                f"{own_sign}signed {moment(own.signed)[:10]}{f', {own.document}' if own.document else ''}"
            )
            sign = f"{signed}; {sign}" if own_sign else signed
        if called and kind == "witness":
            before = f"{math.ceil(own.notice_s / 60.0)} min" if own.notice_s else NOTICE
            when, who = f"{when}; called {before} before", f"{who}{called}"
    return {"point": point, "kind": kind, "what": what, "who": who or BLANK, "when": when, "sign": sign}
