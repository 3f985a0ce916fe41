"""The order's sources as rows of the summary: certificate, activity at the shift, size, the head that it is used in."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet import at_a_glance
from halflayer.sheet.content import moment
from halflayer.sheet.figures import Show
from halflayer.shielding.budget import COVERAGE
from halflayer.shift.changing import activity_at_start_Bq


def beside_beam(order: Order, head: str, activity_Bq: float, show: Show) -> str:
    """What a head lets out beside its beam at 1 m while this source is out in it, by the order's reading; short.

    Formula: stated leakage at 1 m x activity / the activity that it was measured at. Source: rate goes by activity.
    """
    found = next((h.leakage for h in order.heads if h.id == head), None)
    if found is None or found.at_1m_Sv_s is None:
        return "beside its beam not stated"
    rate = found.at_1m_Sv_s * activity_Bq / found.activity_Bq
    return f"out, beside its beam {show.up(rate, 'equivalent_rate', digits=2)} at {show.value(1.0, 'length')}"


def source_rows(plan: Plan, order: Order, show: Show) -> list[dict[str, str]]:
    """A row for each source of the order; `head` is empty for one that the shift does not use."""
    certificates = show.alike([s.activity_Bq for s in order.sources], "activity")
    rows = []
    for s, certificate in zip(order.sources, certificates, strict=True):
        now = activity_at_start_Bq(order, s)
        heads = [w.chosen.head for w in in_shift(plan) if w.chosen and w.chosen.source == s.id]
        rows.append(
            {
                "id": s.id,
                "nuclide": s.nuclide,
                "certificate": certificate,
                "on": moment(s.on).removesuffix(" 00:00 UTC") + at_a_glance.late(order, s.on),
                "now": show.pm(now, now * s.activity_uncertainty / COVERAGE, "activity"),
                "size": show.drawn(s.diameter_m, s.length_m),
                "head": ", ".join(f"{h}: {beside_beam(order, h, now, show)}" for h in dict.fromkeys(heads)),
            }
        )
    return rows
