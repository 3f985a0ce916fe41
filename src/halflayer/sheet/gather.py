"""Who goes where with which meter when a source does not come home: a row for everybody at work, and one rule."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.limits import AccessRoute
from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet.figures import Show
from halflayer.sheet.further_people import missing
from halflayer.sheet.naming import weld_list
from halflayer.sheet.ways_out import POINTER
from halflayer.shielding.meter_holders import holders
from halflayer.shielding.rope_view import SHUT
from halflayer.shielding.stuck_steps import REACH_M, SECOND_TRY, clears, runs_plant
from halflayer.shielding.turn_back import rope_words

RETREAT = "the retreat"
NONE = "none"
NOBODY_S = "–"  # no meter of the order's: of whoever clears the site
# Whoever is behind a sentry's door; who runs the plant says before the shift who minds it then: a blank.
BEHIND = "takes out those behind it, by ________, away from the source; plant minded from ________ by ________: {owner}"
OWN = "the post's own"  # of whoever stands there, a row of its own by name
TO_BRING = "the one to bring"  # of a sentry whom the crew lacks: without it a weld that needs the post does not start


def rule(order: Order, show: Show, rows: Sequence[dict[str, str]]) -> str:
    """What settles every doubt about the rows: no place is held without a meter that reads low.

    Where all withdraw nobody is told to withdraw once more. No word of where sentries stand at work: beside a bare
    source somebody would take it for a place to wait at.
    """
    crew = [r for r in rows if r["meter"] not in (NOBODY_S, OWN)]
    if all(r["to"].startswith(RETREAT) for r in crew):
        return ""
    under = show.converted(rope_words(order))
    return f"Who has no meter, or reads not {under}, goes on to {RETREAT}."


def rows(plan: Plan, order: Order, show: Show) -> list[dict[str, str]]:
    """The crew, then the sentries whom it lacks: `who`, `to` where each goes and `meter`.

    A sentry with a meter watches a way in that is not locked, from outside, only where a bare source reads under the
    rope's turn-back reading there; all others withdraw. The other ways in are for whoever clears the site. Common
    practice, no source.
    """
    h = holders(order)
    goes = f"{RETREAT}, {POINTER}" if order.site.retreat_at is not None else RETREAT
    ropes = list(h.others[1 if h.crank else 0 :])
    bare = {r.name: bare_at_Sv_s(plan, order, r) for r in order.access if not r.locked}
    ways = [name for name, rate in bare.items() if _held(order, rate)]
    found = []
    for p in order.crew:
        if p.role == "sentry":
            found.append(_sentry(p.name, goes, ways, ropes))
        elif p.name == h.reader and h.own:
            found.append(_row(p.name, f"{goes}{_second(plan)}", h.own))
        else:
            found.append(_row(p.name, goes, h.others[0] if p.name == h.crank and h.others else NONE))
    found += [_sentry("sentry more, not named", goes, ways, ropes, TO_BRING) for _ in range(missing(plan))]
    left = [name for name, rate in bare.items() if name in ways or not _held(order, rate)]
    if doors := _doors(plan, order, left):
        found.append(_row(f"sentry of {doors}", BEHIND.format(owner=runs_plant(order)), OWN))
    if left:
        by = next((f"{c.name or c.role} ({c.phone})" for c in clears(order)), "who clears the site")
        far = reach(plan, order, show)
        found.append(
            _row(
                by,
                f"by telephone, has these left and kept shut from beyond: {_kept(left, bare, show)}. Nobody without a "
                f"meter nearer than {far}",
                NOBODY_S,
            )
        )
    return found


def _second(plan: Plan) -> str:
    """Whom step 5 names, behind the reader's way; empty where no source leaves anything for a second try."""
    told = any(s.startswith(SECOND_TRY) for c in plan.stuck if c.source in _used(plan) for s in c.steps)
    return "; second try: step 5" if told else ""


def _used(plan: Plan) -> set[str]:
    return {w.chosen.source for w in in_shift(plan) if w.chosen}


def _doors(plan: Plan, order: Order, left: Sequence[str]) -> str:
    """Of those ways the doors behind which a sentry stands at some weld of the shift, with the welds; empty: none.

    Who works behind one hears of it from the sentry there, who has a meter, sooner than by telephone.
    """
    every, posted = [w.id for w in order.welds], dict[str, list[str]]()
    for w in in_shift(plan):
        for r in w.safety.access.routes if w.safety and w.safety.access else ():
            if r.sentry and r.name in left and r.kind in SHUT:
                posted.setdefault(r.name, []).append(w.weld)
    return ", ".join(f"{name} ({weld_list(on, every)})" for name, on in posted.items())


def reach(plan: Plan, order: Order, show: Show) -> str:
    """How far each source, bare, is over the barrier's rate limit, as the card of each has it."""
    here, limit = _used(plan), order.limits.barrier.rate_Sv_s
    told = [
        f"{show.kept(math.sqrt(float(c.at_1m.value) / limit))} ({c.source})"
        for c in plan.stuck
        if c.source in here and limit and isinstance(c.at_1m.value, int | float)
    ]
    return ", ".join(told) or "the local rules' distance"


def bare_at_Sv_s(plan: Plan, order: Order, way: AccessRoute) -> float | None:
    """What a bare source brings at a way in at most [Sv/s]; None where no source of the plan has a card.

    Formula: rate at 1 m / distance^2 in plan from the nearest of the shift's welds shot with it, no wall counted: what
    walls and doors take off a bare source is not computed.
    """
    found = []
    for card in plan.stuck:
        at_1m = card.at_1m.value
        near = [
            math.dist(order.weld(w.weld).at, way.at[:2])
            for w in in_shift(plan)
            if w.chosen is not None and w.chosen.source == card.source
        ]
        if near and isinstance(at_1m, int | float):
            found.append(float(at_1m) / max(min(near), REACH_M) ** 2)
    return max(found, default=None)


def _held(order: Order, rate_Sv_s: float | None) -> bool:
    """Whether somebody may stand at a way in as long as a source is bare."""
    limit = order.limits.barrier.rate_Sv_s
    return rate_Sv_s is not None and limit is not None and rate_Sv_s < least_reading_Sv_s(order, limit)


def _kept(names: list[str], bare: dict[str, float | None], show: Show) -> str:
    """Ways in that nobody of the crew watches, with what a bare source brings there."""
    rates = show.column([bare[name] for name in names], "equivalent_rate", smallest=True)
    told = [
        name if bare[name] is None else f"{name} (bare up to {rate})"
        for name, rate in zip(names, rates, strict=True)
    ]
    end = "" if all(bare[name] is None for name in names) else "; no wall counted"
    return f"{', '.join(told)}{end}"


def _sentry(name: str, goes: str, ways: list[str], meters: list[str], else_: str = NONE) -> dict[str, str]:
    """A sentry's row; takes the way in and the meter off what is left, `else_` where none is."""
    if not (ways and meters):
        return _row(name, goes, meters.pop(0) if meters else else_)
    return _row(name, f"{ways.pop(0)}, on its far side", meters.pop(0))


def _row(who: str, to: str, meter: str) -> dict[str, str]:
    return {"who": who, "to": to, "meter": meter}
