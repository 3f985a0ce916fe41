"""The shift at a glance for page 1: when each weld is worked, what is carried, what is open, who stands where."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import datetime
from typing import Any

from halflayer.base.units import parse
from halflayer.conditions import SIGNED
from halflayer.exposure.budget import reshoots_allowed
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet import carrying, change_turns, meter, settled_first, survey, witnessing
from halflayer.sheet.agreements_table import to_accept
from halflayer.sheet.beside_work import rope_most_Sv
from halflayer.sheet.call_words import call_words, numbers_lacking, still_to_call, to_sign_words
from halflayer.sheet.clause import settles
from halflayer.sheet.code_and_films import acceptance, in_another_shift, later_reading
from halflayer.sheet.doses import in_words, raised_Sv
from halflayer.sheet.figures import Show
from halflayer.sheet.first_film import change_fails
from halflayer.sheet.inspection import own_open
from halflayer.sheet.kit_list import shortages
from halflayer.sheet.naming import count, weld_list
from halflayer.sheet.people import BREAK_AFTER_S, falls_out
from halflayer.sheet.sentry_words import AT_CRANK, POST
from halflayer.sheet.shift_clock import clock, minutes_up
from halflayer.sheet.survey import SEQUENCE
from halflayer.sheet.testing_words import not_stated
from halflayer.sheet.watchers import at_post, floor_watch, sentries
from halflayer.shielding.meter_holders import holders
from halflayer.shielding.stuck_steps import NOT_STATED
from halflayer.shift.at_rest import AT_CHANGE
from halflayer.shift.result import BREAK, SHORT

ANOTHER = "another shift"
BEFORE_A_WELD = (BREAK, *AT_CHANGE)
RETREAT = f"the retreat ({NOT_STATED})"
SHORT_OF = "KIT SHORT: "
BEFORE = "all before"  # the list, isolations, carrying: in no time of it


def spans(plan: Plan) -> dict[str, tuple[float, float]]:
    """Start and end of each scheduled weld [s from the start of the shift]."""
    found: dict[str, tuple[float, float]] = {}
    for s in plan.schedule.slots if plan.schedule else ():
        if s.what not in BEFORE_A_WELD:
            a, b = found.get(s.weld, (s.start_s, s.end_s))
            found[s.weld] = (min(a, s.start_s), max(b, s.end_s))
    return found


def in_turn(plan: Plan) -> list[WeldPlan]:
    """The welds as they are worked, then those of another shift, stopped ones last."""
    found = spans(plan)
    at = {w.weld: n for n, w in enumerate(plan.welds)}
    late = max((a for a, _ in found.values()), default=0.0) + 1.0
    return sorted(
        plan.welds,
        key=lambda w: (w.status == "stopped", found.get(w.weld, (late,))[0] if found else 0.0, at[w.weld]),
    )


def when(plan: Plan, order: Order, weld: str) -> str:
    """From and to of a weld as planned; `another shift` for a ready one left out; empty where it has no time."""
    found = spans(plan)
    if weld in found:
        return " to ".join(clock(order, t) for t in found[weld])
    return ANOTHER if plan.schedule and weld in dict(plan.schedule.left_out) else ""


def rows(plan: Plan, order: Order, show: Show, load: dict[str, Any], kit_total: str) -> list[dict[str, str]]:
    """What stands above the welds: `what` and `text`, with `of` naming the page that tells more; none is made up."""
    out = _shift_rows(plan, order)
    lifts = f" in {count(load['number'], 'lift')}, the heaviest {load['heaviest']}" if load["number"] else ""
    out.append({"what": "carry", "text": f"{kit_total}{lifts}, as far as masses are stated", "of": "kit"})
    signs = f"to sign: {signing}" if (signing := to_sign_words(order)) else ""
    if called := "; ".join(filter(None, (call_words(order), signs))):
        out.append({"what": "call", "text": called, "of": "card"})
    if spans(plan):
        out.append({"what": witnessing.NAME, "text": witnessing.in_brief(order), "of": witnessing.NAME})
    if order.limits.barrier.rate_Sv_s:
        reading = meter.rope_reading(order, show)
        text = f"at the rope at {reading}, background in it; at each point at its own reading, "
        text += SEQUENCE
        text += f"; source not home: away from it, never past it, then to {order.site.retreat or RETREAT}"
        out.append({"what": "turn back", "text": text, "of": "steps"})
    first = "list ticked, signed"
    if still := _open(plan, order, show):
        first += f"; open, settled {_by_hour(order, still)}"
    out.append({"what": "do first", "text": first, "of": "before"})
    return out


def _shift_rows(plan: Plan, order: Order) -> list[dict[str, str]]:
    """Hours, sequence with source changes and what is shot instead of what, what is left out: a row each."""
    found, every = spans(plan), [w.id for w in order.welds]
    if not found:
        return []
    told = ", ".join(sorted(found, key=lambda w: (found[w], w)))
    end = max(b for _, b in found.values())
    hours = f"{clock(order, 0.0)} to {clock(order, end)}{_late(plan, order)}: {told}{_after(plan, order)}"
    if end > BREAK_AFTER_S and not order.shift.breaks:
        hours += "; no break"
    many = settled_first.many_roles(order)
    changes = [change_turns.before(plan, c, every) for c in plan.schedule.changes] if plan.schedule else []
    turn = [f"source changed before {' and before '.join(changes)}"] if changes else []
    turn += [back] if (back := change_turns.only_before(plan, every)) else []
    turn += [instead] if (instead := _instead(plan, order, every)) else []
    if len(found) > 1 and plan.schedule and plan.schedule.ends_with_reshoots and plan.schedule.drops:
        turn.append(f"behind time: {plan.schedule.drops.weld}, if not shot yet, is left out first")
    if rejected := in_another_shift(plan, later_reading(plan, order)):
        turn.append(f"films of {weld_list(rejected, every)} rejected at the end: shot again in another shift")
    if failing := _changes_fail(plan, order, every):
        turn.append(failing)
    left = [w for w in falls_out(plan) if w not in found]
    apart = [_short(plan, order, left, every)] if left else []
    stopped = [w.weld for w in plan.welds if w.status == "stopped"]
    apart += [f"stopped: {weld_list(stopped, every)}"] if stopped else []
    before = f"{BEFORE} {clock(order, 0.0)}"
    # Where nothing is left out nobody reads that the crew is.
    alone = [] if apart else [("not timed", before, "")]
    apart += [f"untimed: {before}"] if apart else []
    rows = (
        ("when", hours, "schedule"),
        ("alone", many, "before"),
        ("sequence", "; ".join(turn), ""),
        ("left out", "; ".join(apart), ""),
        *alone,
    )
    return [{"what": what, "text": text, "of": of} for what, text, of in rows if text]


def _changes_fail(plan: Plan, order: Order, every: list[str]) -> str:
    """How often two films in a holder leave a band between them, and that its time is not all planned; else empty.

    It fails in every exposure of a weld alike: all are shot once more, the reshoots allowed for are fewer.
    """
    often: dict[int, list[str]] = {}
    for w in in_shift(plan):
        shots = w.exposure.shots if w.exposure else ()
        if w.chosen is None or not shots or reshoots_allowed(order, len(shots)) >= len(shots):
            continue
        if of_ten := change_fails(order, w.chosen, shots[0]):
            often.setdefault(of_ten, []).append(w.weld)
    if not often:
        return ""
    each = ", ".join(f"{n} of 10 at {weld_list(often[n], every)}" for n in sorted(often, reverse=True))
    return f"two films: their change fails in about {each}, all exposures again, not all of that time planned"


def _instead(plan: Plan, order: Order, every: list[str]) -> str:
    """What is shot where a weld is not settled at its turn; empty where none waits for anything of its own.

    Named are those that wait for nothing of their own, for no source change, for no signature: they can always go in.
    """
    changes = plan.schedule.changes if plan.schedule else ()
    moved = {s for c in changes for s, _ in c.moved}
    mine = in_shift(plan)
    if len(mine) == 1 or all(not w.conditions for w in mine):
        return ""
    free = [
        w.weld
        for w in mine
        if not w.conditions and w.chosen and w.chosen.source not in moved and not own_open(order, w)
    ]
    waits = "waits" if len(free) == 1 else "wait"
    always = (
        f" ({weld_list(free, every)} {waits} for nothing of {'its' if len(free) == 1 else 'their'} own)"
        if free
        else ""
    )
    loaded = ", its source loaded," if changes else ""
    return (
        f"a weld not settled at its turn waits: the next settled one{loaded} goes first{always}; it follows once "
        "settled, by its latest start, else is left out"
    )


def _short(plan: Plan, order: Order, left: list[str], every: list[str]) -> str:
    """The welds left to another shift, each with the time that it lacks in this one where all of them say so."""
    why = dict(plan.schedule.left_out) if plan.schedule else {}
    lacks = [re.search(rf"{SHORT} (\d+ min)", why.get(w, "")) for w in left]
    if not all(lacks):
        return f"of this shift: {weld_list(left, every)}"
    closed = change_turns.closed_by(plan, order).replace("films read", "films")
    behind = f" ({closed} in)" if closed else ""
    return f"short by{behind}: {', '.join(f'{w} {m[1]}' for w, m in zip(left, lacks, strict=True) if m)}"


def _late(plan: Plan, order: Order) -> str:
    """When the shift ends with reshoots."""
    s = plan.schedule
    if s is None or s.ends_with_reshoots is None:
        return ""
    end = s.ends_with_reshoots.value
    return f", {clock(order, float(end))} with reshoots" if isinstance(end, int | float) else ""


def _after(plan: Plan, order: Order) -> str:
    """What comes behind the last weld: its area closed, films read, and whether one runs beside the other."""
    s, close = plan.schedule, order.crew_times.closing_s
    if s is None or s.ends_with_reshoots is None:
        return ""
    first = f"{minutes_up(close)} min to close" if close else ""
    back, read = order.crew_times.hand_back_s or 0.0, s.later_films
    if read is None:
        return "".join(
            f"; then {w}" for w in (first, f"{minutes_up(back)} min to hand back" if back else "") if w
        )
    ends = [max(b for _, b in spans(plan).values()), float(s.ends_with_reshoots.value or 0.0)]
    # The area is handed back once it is closed and the last film is read.
    done = [max(t, e + (close or 0.0)) + back for t, e in zip((read.to_s, read.most_to_s), ends, strict=True)]
    what = ", ".join(["films", *["closing"] * bool(close), *["hand-back"] * bool(back)])
    return f"; {what} to {', '.join(clock(order, t) for t in done)}"


def _by_hour(order: Order, still: list[tuple[float, str]]) -> str:
    """What is open by the time of day at which the first weld that waits for it begins."""
    hours: dict[str, list[str]] = {}
    for seconds, text in sorted(still, key=lambda s: s[0]):
        hours.setdefault(clock(order, seconds), []).append(text)
    return "; ".join(f"before {at}: {', '.join(texts)}" for at, texts in hours.items())


def _open(plan: Plan, order: Order, show: Show) -> list[tuple[float, str]]:
    """All that the order itself shows to be undone: signatures, what the welds of the shift wait for, kit, numbers.

    Each with the start of the first weld that waits for it, its source change first [s from the start of the shift].
    """
    begins: dict[str, float] = {}
    for s in plan.schedule.slots if plan.schedule else ():
        begins[s.weld] = min(begins.get(s.weld, s.start_s), s.start_s)

    def first(welds: Iterable[str]) -> float:
        return min((begins.get(w, 0.0) for w in welds), default=0.0)

    by_use: dict[str, list[str]] = {}
    for w in in_shift(plan):
        for a in w.chosen.agreements_used if w.chosen else ():
            by_use.setdefault(a, []).append(w.weld)
    waiting = set(by_use) - {s.agreement for s in order.signed}
    unsigned = [w for a in waiting for w in by_use[a]]
    accept = to_accept(plan, order)
    out = (
        [(0.0 if accept else first(unsigned), f"{count(len(waiting) + accept, 'agreement')} not signed")]
        if waiting or accept
        else []
    )
    if acceptance(plan, order):
        out.append((0.0, "edition of the acceptance"))
    if missing := still_to_call(order):
        out.append((0.0, f"to be filled in on the contingency card: {', '.join(missing)}"))
    out += [(0.0, blank) for blank in settled_first.blanks(plan, order, show)]
    if lacking := numbers_lacking(order):
        out.append((0.0, f"{count(len(lacking), 'phone number')} of who signs to be asked for"))
    every, waits = [w.id for w in order.welds], dict[str, list[str]]()
    for w in in_shift(plan):
        for c in w.conditions:
            waits.setdefault(c.short, []).append(w.weld)
    alike: dict[tuple[str, ...], list[str]] = {}
    for short, welds in waits.items():
        if short != SIGNED:
            alike.setdefault(tuple(welds), []).append(short)
    out += [(first(on), f"{', '.join(shorts)} ({weld_list(on, every)})") for on, shorts in alike.items()]
    if lacking := [text.removeprefix(SHORT_OF).partition(", ")[0] for text in shortages(order, plan)]:
        out.append((0.0, f"kit short: {', '.join(lacking)}"))
    # The weld pages' own "not stated": one person settles it, as the hold point of the list has it.
    if any(not_stated(order, order.weld(w.weld)) for w in in_shift(plan)):
        out.append((0.0, f"blanks of weld pages 2 ({_name(settles(order))})"))
    late = [i.id for i in order.instruments if i.calibrated_until < order.shift.ends]
    return [*out, *([(0.0, f"calibration out of date: {', '.join(late)}")] if late else [])]


def _name(who: str) -> str:
    """The name alone of who is told by role and name.

    >>> _name("Level 3 of the contractor, A. Person (invented)")
    'A. Person'
    """
    return who.rpartition(", ")[2].partition(" (")[0]


MOST_POSTS = 99  # to the last post of every weld
AT_ROPE = "planned at the survey ring, at most at the rope itself"
NO_CALL = "call ______"  # by radio or telephone: filled in where the order has none
CONTROL = "control position: the sketches' chain line, outside the rope"
READS = "walks the surveys, reads the points from outside; else "


def at_posts(plan: Plan, order: Order, first: int, last: int) -> str:
    """Where those sentries stand who take a weld's posts from `first` to `last`, counted from 1, by their welds.

    The crew's own take the first posts, those whom it lacks the last (our choice).
    """
    every = [w.id for w in order.welds]
    posts: dict[str, list[str]] = {}
    watched_ways: dict[str, dict[str, list[str]]] = {}
    for w in in_shift(plan):
        access = w.safety.access if w.safety else None
        need = access.sentries_needed.value if access else None
        if access is None or not isinstance(need, int | float):
            continue
        ways = [r.name for r in access.routes if r.sentry]
        for n in range(first, min(last, int(need)) + 1):
            what = (
                ways[n - 1]
                if n <= len(ways)
                else "rope the others do not see"
                if n > 1
                else "rope in view"
                if access.more_towards_rad
                else "whole rope in view"
            )
            # Who may stand anywhere has no spot on a map.
            marked = access.posts or ways or n > 1
            posts.setdefault(f"{POST}{n} {what}" if marked else f"anywhere, {what}", []).append(w.weld)
        for way, until in _watched(order, w, first, last):
            watched_ways.setdefault(way, {}).setdefault(until, []).append(w.weld)
    told = []
    for post, on in posts.items():
        # A way that is a post at one weld and watched for its floor at another stands once.
        way = next((w for w in watched_ways if post.endswith(f" {w}")), "")
        more = watched_ways.pop(way, {}) if way else {}
        also = "".join(f"; {weld_list(others, every)} {until}" for until, others in more.items())
        told.append(f"{post} ({weld_list(on, every)}{also})")
    told += [
        f"{way} {until} ({weld_list(on, every)})"
        for way, found in watched_ways.items()
        for until, on in found.items()
    ]
    watched, busy = "; ".join(told), {w for on in posts.values() for w in on}
    busy |= {w.weld for w in in_shift(plan) if _watched(order, w, first, last)}
    if watched and len(busy) < len(in_shift(plan)):
        watched += f"; else {AT_CRANK}"
    return f"outside the rope, by its map: {watched}" if watched else "no sentry is asked for"


def _watched(order: Order, w: WeldPlan, first: int, last: int) -> list[tuple[str, str]]:
    """The ways to a floor that those sentries watch who have no post at a weld."""
    mine = {at_post(order, n) for n in range(first, min(last, len(sentries(order))) + 1)}
    ways = [r.name for r in w.safety.access.routes if r.sentry] if w.safety and w.safety.access else []
    return [(way, until) for way, who, until in floor_watch(order, w) if who in mine and way not in ways]


def placed(plan: Plan, order: Order, show: Show, crew: list[dict[str, str]]) -> list[dict[str, str]]:
    """The lines of the crew with where each stands; at most with all that no sum holds, of a sentry at the rope itself.

    A sentry's dose is planned at the survey ring; at the rope, where a sentry may stand all the time, it is more.
    """
    own = [p.name for p in order.crew if p.role == "sentry"]
    told = {
        r["name"]: parse(r["most"], "equivalent")
        for r in crew
        if r["role"] == "sentry" and r["most"][:1].isdigit()
    }
    roped = rope_most_Sv(plan, order, show, told)
    limit, out = order.limits.crew.per_shift_Sv, []
    beside, reader = carrying.beside_sums(plan, order, show), holders(order).reader
    called = {p.name: p.call_by for p in order.crew}
    for r in crew:
        most = roped.get(r["name"])
        if most is None or most <= told[r["name"]]:
            most = parse(r["most"], "equivalent") if r["most"][:1].isdigit() else None
        if most is not None:
            # The largest of all sheets: what is left of a limit on the cards is that limit less this.
            most = raised_Sv(raised_Sv(most, show) + beside.get(r["name"], 0.0), show)
            r = r | {"most": in_words(most, show)}
            if limit is not None and most > limit:
                r = r | {"verdict": survey.verdict(False, limited=True)}
        where = f"{READS}{CONTROL}" if r["name"] == reader else CONTROL
        if r["role"] == "sentry":
            n = own.index(r["name"]) + 1 if r["name"] in own else 0
            where = at_posts(plan, order, n, n) if n else at_posts(plan, order, len(own) + 1, MOST_POSTS)
        out.append(r | {"where": where, "call": called.get(r["name"]) or NO_CALL})
    return out


def late(order: Order, when: datetime) -> str:
    """What stands behind the date of a certificate that lies after the shift's start; empty for an earlier one."""
    return ", AFTER this shift" if when > order.shift.starts else ""
