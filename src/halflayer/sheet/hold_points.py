"""Hold and witness points of the shift, in the list before the first exposure: what, who, when, where it is signed."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.order.testing import HoldPoint
from halflayer.plan import WeldPlan
from halflayer.sheet.content import moment
from halflayer.sheet.reading import not_settled
from halflayer.sheet.testing_words import lacks_testing

NAME = "hold points"
# Common practice, no source: contract and procedure say which of them there are.
LEAD = (
    "Hold: no work past it until signed. Witness: called, does not hold. Contract and procedure come first."
)
BLANK = "________"
IN_LOG = "the weld's log"


def rows(order: Order, used: list[WeldPlan]) -> list[dict[str, str]]:
    """Points in the sequence of the work, with blanks where the order names nobody; nothing without a weld."""
    if not used:
        return []
    p, read = order.hold_points, order.films_read
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
        _row("technique", technique, p.technique, f"before {order.shift.starts:%H:%M}", BLANK),
        _row(
            "released for RT",
            f"visual test, surface, waiting time by its page 2{open_ends}",
            p.release,
            "before each weld",
            IN_LOG,
        ),
        _row(
            "set-up",
            "exposure 1 ready, source home",
            p.set_up,
            "when called",
            IN_LOG,
            kind="witness",
        ),
        _row(
            "first film",
            "densities, IQI, marks",
            p.first_film,
            "before exposure 2",
            IN_LOG,
            who=read.by if read else None,
        ),
        _row("films", "verdict on every film", p.films, "by “films read”", BLANK, who=accepts),
        _row("report", "report and films handed over to", p.report, BLANK, BLANK),
    ]


def _row(
    point: str,
    what: str,
    own: HoldPoint | None,
    when: str,
    sign: str,
    *,
    kind: str = "hold",
    who: str | None = None,
) -> dict[str, str]:
    """One point; `who`: who else in the order does it, where no one is named for it."""
    if own is not None:
        kind, who, when = own.kind, own.by, own.when or when
        if own.signed is not None:
            sign = f"signed {moment(own.signed)[:10]}{f', {own.document}' if own.document else ''}"
    return {"point": point, "kind": kind, "what": what, "who": who or BLANK, "when": when, "sign": sign}
