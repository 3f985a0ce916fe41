"""Who goes where with which meter when a source does not come home: a row for everybody at work, and one rule."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.plan import Plan
from halflayer.sheet.figures import Show
from halflayer.sheet.further_people import missing
from halflayer.shielding.meter_holders import holders
from halflayer.shielding.stuck_steps import clears
from halflayer.shielding.turn_back import rope_words

RETREAT = "the retreat"
NONE = "none"


def rule(order: Order, show: Show) -> str:
    """The rule that settles every doubt about the rows: no place is held without a meter that reads low."""
    under = show.converted(rope_words(order))
    return f"Who has no meter, or reads not {under}, goes on to {RETREAT}."


def rows(plan: Plan, order: Order, show: Show) -> list[dict[str, str]]:
    """The crew, then the sentries whom it lacks: `who`, `to` where each goes and `meter`.

    Each sentry with a meter watches a way in that is not locked, from outside, in the sequence of the order; all others
    withdraw. Ways in left over are for whoever clears the site. Common practice, no source.
    """
    h = holders(order)
    ropes = list(h.others[1 if h.crank else 0 :])
    ways = [r.name for r in order.access if not r.locked]
    under = show.converted(rope_words(order))
    found = []
    for p in order.crew:
        if p.role == "sentry":
            found.append(_sentry(p.name, ways, ropes, under))
        elif p.name == h.reader and h.own:
            found.append(
                _row(p.name, f"{RETREAT}; alone goes to close again, where the plan allows it", h.own)
            )
        else:
            found.append(_row(p.name, RETREAT, h.others[0] if p.name == h.crank and h.others else NONE))
    found += [_sentry("sentry more, not named", ways, ropes, under) for _ in range(missing(plan))]
    if ways:
        by = " or ".join(f"{c.name or c.role} ({c.phone})" for c in clears(order)) or "who clears the site"
        found.append(_row(by, f"keeps people from {', '.join(ways)}", "–"))
    return found


def _sentry(name: str, ways: list[str], meters: list[str], under: str) -> dict[str, str]:
    """A sentry's row; takes the way in and the meter off what is left."""
    if not (ways and meters):
        return _row(name, RETREAT, meters.pop(0) if meters else NONE)
    return _row(name, f"{ways.pop(0)}, on its far side, where the meter shows {under}", meters.pop(0))


def _row(who: str, to: str, meter: str) -> dict[str, str]:
    return {"who": who, "to": to, "meter": meter}
