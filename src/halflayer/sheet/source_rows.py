"""The order's sources as rows of the summary: certificate, activity at the shift, size, the head that it is used in."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet import at_a_glance
from halflayer.sheet.content import moment
from halflayer.sheet.figures import Show
from halflayer.sheet.source_now import at_the_shift
from halflayer.shift.changing import activity_at_start_Bq

BLANK = "______"


def beside_beams(plan: Plan, order: Order, show: Show) -> str:
    """What each head of the shift lets out beside its beam at 1 m while its source is out in it, by number; or empty.

    Formula: the order's leakage at 1 m x activity / the activity that it was measured at; rate goes by activity.
    """
    used = {(w.chosen.head, w.chosen.source) for w in in_shift(plan) if w.chosen}
    told = []
    for h in order.heads:
        for s in order.sources:
            if (h.id, s.id) not in used:
                continue
            rate = h.leakage.at_1m_Sv_s if h.leakage else None
            figure = "not stated"
            if h.leakage is not None and rate is not None:
                now = activity_at_start_Bq(order, s)
                figure = show.up(rate * now / h.leakage.activity_Bq, "equivalent_rate", digits=2)
            told.append(f"{h.id} no. {h.serial or BLANK} ({s.id} no. {s.serial or BLANK}) {figure}")
    if not told:
        return ""
    at = show.value(1.0, "length")
    return f"Source out, {at} beside the beam: {'; '.join(told)} (the order's leakage)"


def other_activity(plan: Plan, order: Order, show: Show) -> str:
    """What changes with an activity on the day that is not the planned one, and from which on nothing is shot by it.

    Time goes by planned / there, every dose rate by there / planned; the certificate's own uncertainty is counted in
    the bounds of the plan, more is not. Source: the inverse square law's source term, proportional to activity.
    """
    used = dict.fromkeys(w.chosen.source for w in in_shift(plan) if w.chosen)
    most = [
        f"{s.id} {show.floor(activity_at_start_Bq(order, s) * (1.0 + s.activity_uncertainty), 'activity')}"
        for s in order.sources
        if s.id in used
    ]
    if not most:
        return ""
    return (
        f"Another activity A: time × planned / A, doses × A / planned; over {', '.join(most)} (certificate's "
        "uncertainty): plan anew"
    )


def source_rows(plan: Plan, order: Order, show: Show) -> list[dict[str, str]]:
    """A row for each source of the order; `head` is empty for one that the shift does not use."""
    certificates = show.alike([s.activity_Bq for s in order.sources], "activity")
    rows = []
    for s, certificate in zip(order.sources, certificates, strict=True):
        heads = [w.chosen.head for w in in_shift(plan) if w.chosen and w.chosen.source == s.id]
        rows.append(
            {
                "id": s.id,
                "nuclide": s.nuclide,
                "certificate": certificate,
                "on": moment(s.on).removesuffix(" 00:00 UTC") + at_a_glance.late(order, s.on),
                "now": at_the_shift(order, s, show),
                "size": show.drawn(s.diameter_m, s.length_m),
                "head": ", ".join(dict.fromkeys(heads)),
            }
        )
    return rows
