"""Which alarm and which meter is for whom: an alarm set above the rope's reading is silent where a sentry stands."""

from __future__ import annotations

from halflayer.order.crew import Instrument
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.plan import Plan, in_shift
from halflayer.sheet import alarm_near
from halflayer.sheet.call_words import set_points
from halflayer.sheet.figures import Show
from halflayer.sheet.further_people import missing, persons
from halflayer.sheet.naming import count
from halflayer.sheet.rope_expected import expected_Sv_s
from halflayer.sheet.watchers import watching
from halflayer.shielding.meter_holders import holders
from halflayer.shielding.readings import stored_rate_Sv_s

# What an alarm that is set high does not tell: with a source out its wearer may walk up to a head that stays under it.
AT_THE_HEAD = "crank, reader"
SILENT = "silent at the rope, maybe near a live head too: for no sentry"


def rows(order: Order, plan: Plan, show: Show) -> list[dict[str, str]]:
    """Each set point: `who` wears it, `alarm` ids, `at` what it sounds, what that `means`; what is lacking, too.

    A sentry's alarm sounds at the rope's turn-back reading at the latest (common practice, no source).
    """
    limit = order.limits.barrier.rate_Sv_s
    own = _alarms(order)
    if limit is None:
        return [_row("as local rules say", ids, at, "") for ids, at in _grouped(own, show)]
    most = least_reading_Sv_s(order, limit)
    low = [i for i in own if i.alarm_Sv_s is not None and i.alarm_Sv_s <= most * (1.0 + 1e-9)]
    high = [i for i in own if i.alarm_Sv_s is not None and i not in low]
    near, tells = alarm_near.words(order, plan, show)
    normal = _normal(order, plan, low, show)
    out = [_row("sentry at the rope", ids, at, normal) for ids, at in _grouped(low, show)]
    changes = "for source changes alone" if tells and plan.schedule and plan.schedule.changes else ""
    kept = (
        f"a bare source; at the rope the meter tells; {alarm_near.BY} and kept"
        if near and not tells
        else SILENT
    )
    out += [_row(AT_THE_HEAD, ids, at, changes or kept) for ids, at in _grouped(high, show)]
    if near:
        out.append(_row("" if high else AT_THE_HEAD, "", "", near.strip().removesuffix(".")))
    if unset := ", ".join(i.id for i in own if i.alarm_Sv_s is None):
        out.append(_row("", unset, "not stated", ""))
    sentries = sum(p.role == "sentry" for p in order.crew) + missing(plan)
    if (lack := sentries - len(low)) > 0:
        at = show.floor(most, "equivalent_rate", digits=2)
        out.append(
            _row(
                f"{count(lack, 'sentry', 'sentries')} more",
                "none: bring",
                f"{at} or less",
                "turn back; set before",
            )
        )
    return out


def _row(who: str, alarm: str, at: str, means: str) -> dict[str, str]:
    return {"who": who, "alarm": alarm, "at": at, "means": means}


def _alarms(order: Order) -> list[Instrument]:
    return [i for i in order.instruments if i.kind == "personal alarm"]


def _grouped(alarms: list[Instrument], show: Show) -> list[tuple[str, str]]:
    """Alarms with their set points, those alike together."""
    found: dict[str, list[str]] = {}
    for i in alarms:
        if told := set_points(i, show):
            found.setdefault(told, []).append(i.id)
    return [
        (", ".join(ids), told.replace("sounds at ", "").replace(" and at a dose of", ", dose"))
        for told, ids in found.items()
    ]


def _normal(order: Order, plan: Plan, low: list[Instrument], show: Show) -> str:
    """That the lowest may sound at a rope though all is as planned, with the reading expected there at most."""
    rates = {w.weld: rate for w in in_shift(plan) if (rate := expected_Sv_s(order, w)) is not None}
    alarm = min((i.alarm_Sv_s or 0.0 for i in low), default=0.0)
    if not rates or not alarm:
        return "turn back"
    weld = max(rates, key=lambda name: rates[name])
    told = f"there up to {show.up(rates[weld], 'equivalent_rate', digits=2)} ({weld})"
    if rates[weld] < 0.8 * alarm:  # a fifth is what a meter may read too high: our choice
        return f"turn back; {told}: silent in normal work"
    closed = _closed_Sv_s(order, plan)
    beside = f", at a closed head {show.up(closed, 'equivalent_rate', digits=2)}" if closed else ""
    return f"{told}{beside}: may sound in normal work; read the meter"


def _closed_Sv_s(order: Order, plan: Plan) -> float | None:
    """The most that a closed head of the shift brings whoever moves or handles it [Sv/s]; None: no reading stated."""
    found, times = [], order.crew_times
    near = min(times.hand_distance_m, times.moving_distance_m)
    for w in in_shift(plan):
        activity = w.exposure.activity.value if w.exposure else None
        head = next((h for h in order.heads if w.chosen and h.id == w.chosen.head), None)
        if head is not None and isinstance(activity, int | float):
            found.append(stored_rate_Sv_s(head, float(activity), near))
    return max((r for r in found if r is not None), default=None)


def meters(order: Order, plan: Plan, show: Show) -> str:
    """Who holds the survey meters, and how many posts are without one; empty where the order has none."""
    held = holders(order)
    if not held.own:
        return ""
    needed, crank = _posts(order, plan), bool(held.crank)
    posts = max(needed.values(), default=0)
    told = f" {held.own} with {held.reader or 'whoever surveys'}: points, readings before exposures, in to the head"
    told += f"; {held.others[0]} with {held.crank} at the crank" if crank and held.others else ""
    rope = held.others[1 if crank else 0 :]
    told += (
        f"; {', '.join(rope)} with {'a sentry' if len(rope) == 1 else 'sentries'} at the rope"
        if posts and rope
        else ""
    )
    if crank and not held.others:
        told += f"; none for {held.crank} at the crank while the other reads: bring 1 meter"
    if posts > len(rope):
        at = ", ".join(weld for weld, n in needed.items() if n > len(rope))
        lack = posts - len(rope)
        short = [(lack, "meter"), *_worn_short(order, plan)]
        bring = ", ".join(count(n, what) for n, what in short)
        told += f"; {count(lack, 'post')} without ({at}): bring {bring}, or do not start there"
    return f"{told}."


def meters_short(order: Order, plan: Plan) -> tuple[int, int]:
    """Survey meters that are in use at one time, by reader, crank, posts and watchers of the shift, and those in date.

    (0, 0) where the order has none.
    """
    held = holders(order)
    if not held.own:
        return 0, 0
    return 1 + bool(held.crank) + max(_posts(order, plan).values(), default=0), 1 + len(held.others)


def _posts(order: Order, plan: Plan) -> dict[str, int]:
    """Sentries of each weld of the shift, who watches a way to a floor counted in: each with a meter of its own."""
    return {
        w.weld: int(float(w.safety.access.sentries_needed.value)) + watching(order, w)
        for w in in_shift(plan)
        if w.safety and w.safety.access and isinstance(w.safety.access.sentries_needed.value, int | float)
    }


def _worn_short(order: Order, plan: Plan) -> list[tuple[int, str]]:
    """Alarms and radios that persons of the shift are short of, of a kind that the order has."""
    alarms = sum(
        i.kind == "personal alarm" and i.calibrated_until >= order.shift.ends for i in order.instruments
    )
    radios = sum(g.count for g in order.kit.gear if g.kind == "radio")
    all_of = persons(order, plan)
    return [(all_of - n, what) for n, what in ((alarms, "alarm"), (radios, "radio")) if n and n < all_of]
