"""What must be seen to before a planned weld may be called ready: sentries, places inside the rope or on the way."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from halflayer.base.units import show
from halflayer.conditions_of_change import after_change, change_condition
from halflayer.conditions_of_dose import crew_open, head_open, none_shot_again, shot_again
from halflayer.conditions_of_floors import floor_condition
from halflayer.conditions_of_kit import pieces_brought
from halflayer.conditions_of_lost import OWNER, places_empty
from halflayer.conditions_of_travel import on_its_way
from halflayer.exposure.whole_weld import RULE as WHOLE
from halflayer.order.contract import IN_WORDS
from halflayer.order.models import Order
from halflayer.plan import Condition, WeldPlan
from halflayer.shielding.access import WATCH
from halflayer.shielding.bearers import bearers
from halflayer.shielding.contour import reach_m
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.home_points import untold
from halflayer.shielding.past_walls import past_walls
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.travelling import travels
from halflayer.shift.after_change import can_go_before
from halflayer.shift.loading import container
from halflayer.shift.result import LATE, ShiftPlan

TRADE = "common practice, no source"
# What a condition is called says what must be so, since it stands behind `DO NOT START UNTIL`.
SIGNED = "agreement signed"
ANOTHER_SHIFT = "planned into another shift"
CONTAINER = "source in its container"
IN_HEAD = "source back in its head"
CHANGED = "source changed in its head"
IN_VIEW = "whole rope in view"
LOCKED = "or ways in locked, if the owner of the area agrees and escape is kept"
FILM = "stored film moved out"
HOME = "proof of source home settled"
FAR_UNDER = "not said to hold"  # not reliable, yet far under its limit
NOT_KNOWN = "not known"
NO_FETCHING = "nobody fetches film while the source is out"
PEOPLE_OUT = "people out of the rope"
FARTHER = "rope accepted"
STRIP = "in the strip behind walls"  # page 1 of a weld says how far it goes
PLANNED_ROPE = "place in plan against the planned rope"


def conditions(order: Order, w: WeldPlan) -> tuple[Condition, ...]:
    """Each condition of a planned weld once, what stands against the work first; empty: it is plainly ready."""
    inside = inside_rope(order, w)
    found = [
        _sentries(order, w),
        _inside(order, w, inside),
        places_empty(order, w, inside),
        _farther(order, w),
        _film(order, w),
        on_its_way(order, w, inside),
        floor_condition(order, w),
        _borne(order, w),
        shot_again(w, inside),
        none_shot_again(w, inside),
        crew_open(w),
        head_open(w),
        _home(order, w),
        _not_whole(w),
        _unsigned(order, w),
    ]
    return tuple(c for c in found if c is not None)


def of_the_shift(order: Order, plans: Sequence[WeldPlan], shift: ShiftPlan | None) -> tuple[WeldPlan, ...]:
    """The welds with what the shift adds: those no head is loaded for, those before which a source is changed."""
    out = dict(shift.left_out) if shift else {}
    sources = {p.weld: p.chosen.source for p in plans if p.chosen}
    short = pieces_brought(order, plans, list(out))
    made = []
    for w in plans:
        more = [_left_out(out[w.weld])] if w.weld in out else []
        more += [c for c in (_own_container(order, plans, shift, w),) if c is not None and w.weld in out]
        more += [c for c in (_back_in_head(order, plans, shift, w),) if c is not None and w.weld in out]
        first = can_go_before(shift, sources, w.weld)
        change = change_condition(order, shift, w.weld, first) or after_change(order, shift, sources, w.weld)
        more += [c for c in (change, short.get(w.weld)) if c is not None]
        made.append(replace(w, conditions=(*more, *w.conditions)) if more else w)
    return tuple(made)


def _left_out(why: str) -> Condition:
    """Why a weld is not in this shift's schedule, with what would bring it into one."""
    if why.startswith(LATE):
        do = "in a later one: times by the decay table, limits, sentries, kit anew"
        return Condition(ANOTHER_SHIFT, why, "time budget of the shift", do)
    change = "a source changer in the kit, a head of its own for each source, or another shift"
    return Condition("its source loaded", f"{why}: {change}", TRADE)


def _own_container(
    order: Order, plans: Sequence[WeldPlan], shift: ShiftPlan | None, w: WeldPlan
) -> Condition | None:
    """A source that is sent to a weld of another shift and rests in a head in this one is moved in between.

    None where the shift never takes it out of its own container.
    """
    if shift is None or w.chosen is None or w.status != "ready" or not travels(order, w.chosen):
        return None
    source = w.chosen.source
    if (left := _left_in(order, plans, shift, source)) in ("", container(source)):
        return None
    text = f"{source}, left in {left}, put into its own by trained people before: planned nowhere, dose not computed"
    return Condition(
        CONTAINER, text, TRADE, f"{source} put into its own by trained people before (not planned)"
    )


def _left_in(order: Order, plans: Sequence[WeldPlan], shift: ShiftPlan, source: str) -> str:
    """The head, changer or container in which a shift leaves a source; empty where it has no part in it."""
    out, left = dict(shift.left_out), ""
    for p in plans:
        held = p.chosen if p.status == "ready" and p.weld not in out else None
        if held is not None and held.source == source and not left:
            left = container(source) if travels(order, held) else held.head
    for c in shift.changes:
        left = c.into if c.source == source else c.changer if c.out == source else left
    return left


def _back_in_head(
    order: Order, plans: Sequence[WeldPlan], shift: ShiftPlan | None, w: WeldPlan
) -> Condition | None:
    """A weld of another shift: its source goes back into its head, and out comes what this shift leaves in it."""
    if shift is None or w.chosen is None or w.status != "ready" or travels(order, w.chosen):
        return None
    source, head = w.chosen.source, w.chosen.head
    left = _left_in(order, plans, shift, source)
    others = [s.id for s in order.sources if s.id != source and _left_in(order, plans, shift, s.id) == head]
    if left == head or not (left or others):
        return None
    where = f", left in {left}," if left else ""
    out = f"{' and '.join(others)}, left in {head}, out of it, " if others else ""
    it = "it" if others else head
    text = f"{out}{source}{where} into {it} by trained people before"
    name = IN_HEAD if left else CHANGED
    return Condition(name, f"{text}: planned nowhere, dose not computed", TRADE, f"{text} (not planned)")


def _sentries(order: Order, w: WeldPlan) -> Condition | None:
    """More sentries are needed than the crew has; what walls and bodies hide of the rope takes a person of its own.

    Where the crew has one for every way in, the condition is that of the rope's view alone.
    """
    access = w.safety.access if w.safety and w.status == "ready" else None
    need = access.sentries_needed.value if access else None
    if access is None or not isinstance(need, int | float) or need <= access.sentries_in_crew:
        return None
    own, names = access.sentries_in_crew, [r.name for r in access.routes if r.sentry]
    short, more = int(need) - own, len(access.more_towards_rad)
    who, brief = _short(short), _short(short, brief=True)
    hides = f"{' and '.join(access.hidden_by)} hide{'s' * (len(access.hidden_by) == 1)}"
    control = "the control position has the hidden part in view"
    if more and need - more <= own:
        seen = "which, and where who sees it stands: its sheet"
        text = f"{who}; for what a wall or body hides from the other post ({seen}); or {control}"
        return Condition(IN_VIEW, text, WATCH, f"{brief}; or {control}")
    at = f" at {', '.join(names)}" if names else " to keep the rope in view"
    at += f", {more} for what {hides} from there" if more else ""
    some = f"{LOCKED}{f', or {control}' if more else ''}"
    text = (
        f"{need:g} sentr{'y' if need == 1 else 'ies'} outside the rope{at}, the crew has {own}: {who}; {some}; do not "
        "start without them"
    )
    do = (
        f"{need:g} outside the rope, the crew has {own}: {brief}; {LOCKED}{f', or {control}' if more else ''}"
    )
    return Condition("all sentries found", text, WATCH, do)


def _short(people: int, *, brief: bool = False) -> str:
    """How many persons are short; what each wears is counted in the kit list, their dose stands on the crew page."""
    persons = "1 person" if people == 1 else f"{people} persons"
    if brief:
        return f"{persons} short, instructed, with meter, alarm, dosimeter, radio"
    return f"{persons} short, not named, instructed, with meter, alarm, dosimeter, radio (kit list)"


def inside_rope(order: Order, w: WeldPlan, kind: str = "people") -> tuple[str, ...]:
    """Places of a kind that lie inside the weld's planned rope, by their place in plan; the crew's own are not asked.

    What a place is read at says nothing of it: who is inside the rope must be out, whatever limit holds there.
    """
    line = w.safety.contour if w.safety else None
    weld = order.weld(w.weld)
    found = []
    for p in order.places if line is not None and w.status == "ready" else ():
        assert line is not None
        dx, dy = p.at[0] - weld.at[0], p.at[1] - weld.at[1]
        reach = reach_m(line, math.atan2(dy, dx)) if line.points else None
        if p.kind == kind and reach is not None and math.hypot(dx, dy) < reach:
            found.append(p.name)
    return tuple(found)


def _inside(order: Order, w: WeldPlan, names: Sequence[str]) -> Condition | None:
    """People's places inside the rope, and its strip behind walls, are empty for as long as the source is out.

    Who answers for what lies behind a wall agrees to it; of a wall with no such place behind it the area's owner.
    """
    strips = past_walls(order, order.weld(w.weld), w.safety.contour if w.safety else None)
    strips = strips if w.status == "ready" else []
    text, do = [], []
    if names:
        do.append(f"nobody at {', '.join(names)} while the source is out or travels")
        text.append(f"{do[0]}; empty, or moved behind the rope")
    if strips:
        who: dict[str, list[str]] = {}
        contacts = {p.name: p.contact for p in order.places}
        for s in strips:
            known = [c for c in (contacts.get(p) for p in s.places) if c is not None]
            by = " and ".join(dict.fromkeys(c.name or f"{c.role} ({c.phone})" for c in known) or [OWNER])
            also = f" ({', '.join(s.places)})" * bool(s.places)
            who.setdefault(by, []).append(f"{s.wall}{also}")
        each = (f"{', '.join(walls)}: agreed by {by}" for by, walls in who.items())
        text.append(f"nobody in the strip behind {'; '.join(each)}")
        do.append(f"nobody {STRIP}: agreed by {' and '.join(who)}")
    return Condition(PEOPLE_OUT, "; ".join(text), PLANNED_ROPE, "; ".join(do)) if do else None


def _farther(order: Order, w: WeldPlan) -> Condition | None:
    """The rope's farthest corner stands farther off than the order's barrier may: the adviser accepts that weld's."""
    line, usual = w.safety.contour if w.safety else None, order.limits.barrier_within_m
    corners = [p.at_m for p in line.points if p.at_m is not None] if line is not None and line.closed else []
    far = max([*corners, order.weld(w.weld).barrier_within_m or 0.0])
    if w.status != "ready" or far <= usual:
        return None
    to = show(max(corners, default=far), "length", round_up=True)
    text = f"by {order.site.adviser}, in writing: to {to}, farther than {show(usual, 'length')}"
    return Condition(FARTHER, text, PLANNED_ROPE, f"by {order.site.adviser}, in writing")


def film_stays(w: WeldPlan, store: str) -> bool:
    """True where every limit of a store of film is computed and holds: without any nothing is known of its film."""
    s = w.shielding
    checks = [c.ok for c in s.limits if c.place == store] if s else []
    checks += [p.ok for p in s.points if p.name == store and p.limit_Sv_s] if s else []
    return bool(checks) and all(checks)


def _film(order: Order, w: WeldPlan) -> Condition | None:
    """Film stored inside the rope whose limit is not known to hold is out of it before the source is."""
    told = []
    for name in inside_rope(order, w, "stored film"):
        if not film_stays(w, name):
            of_shift = [c for c in (w.shielding.limits if w.shielding else ()) if c.place == name]
            doses = ", ".join(
                f"{show(c.upper_Sv, 'equivalent', digits=2)} of "
                f"{show(c.limit_Sv, 'equivalent', round_up=False)} {c.kind}"
                for c in of_shift
            )
            state = " and ".join(dict.fromkeys(_said(c) for c in of_shift))
            why = f"here up to {doses}, {state}" if doses else "no limit that holds is known for it"
            where, at_most = _beyond(order, w, of_shift)
            told.append((f"{name}: film moved {where} before", f" ({why}{at_most})"))
    if not told:
        return None
    text, do = "; ".join(do + why for do, why in told), "; ".join(do for do, _ in told)
    return Condition(
        FILM, f"{text}; {NO_FETCHING}", "dose of the store against its limits", f"{do}; {NO_FETCHING}"
    )


def _said(c: LimitCheck) -> str:
    """What is said of a dose that does not vouch for its limit, as in the weld's table and the list of words."""
    if c.ok is False:
        return "breaks it"
    return NOT_KNOWN if c.upper_Sv * FAR > c.limit_Sv else FAR_UNDER


def _beyond(order: Order, w: WeldPlan, limits: Sequence[LimitCheck]) -> tuple[str, str]:
    """How far film is moved: beyond the rope, where a meter tells the rate, farther where that breaks the film's limit.

    Formula: rate limit x all exposures of the weld, what may be shot again too; farther: farthest corner of the rope x
    sqrt(that dose / limit). Source: inverse square law.
    """
    rate = order.limits.barrier.rate_Sv_s
    seconds = [s.seconds.value for s in w.exposure.shots] if w.exposure else []
    known = [float(s) for s in seconds if isinstance(s, int | float)]
    if rate is None or not known or len(known) < len(seconds):
        return "beyond the rope", ""
    dose = rate * math.fsum(known) * (w.budget.factor if w.budget else 1.0)
    most = f"{show(dose, 'equivalent', digits=2)}"
    least = min((c.limit_Sv for c in limits if c.limit_Sv > 0.0), default=math.inf)
    if dose <= least:
        return (
            "beyond the rope",
            f"; past the rope, as read there, at most {most}{': holds' if limits else ''}",
        )
    rope = w.safety.contour if w.safety else None
    corner = max((p.at_m for p in rope.points if p.at_m), default=0.0) if rope else 0.0
    if not corner:
        return "far beyond the rope", f"; at the rope up to {most}"
    away = show(corner * math.sqrt(dose / least), "length", round_up=True)
    return f"to {away} or more from the weld", f"; at the rope up to {most}"


def _home(order: Order, w: WeldPlan) -> Condition | None:
    """In some exposure no direction of the rope falls plainly as the source comes home: a meter does not tell it."""
    if w.status != "ready" or w.shielding is None:
        return None
    line = w.safety.contour if w.safety else None
    at = untold(order, order.weld(w.weld), w.shielding.points, line)
    if not at:
        return None
    shots = f"exposure{'s' * (len(at) > 1)} {', '.join(map(str, at))}"
    text = (
        f"{shots}: no point of the rope tells by the meter that the source is home, its shield may hide a live one; "
        "what tells it settled with the adviser in writing, else not exposed"
    )
    do = f"{shots}: no point of the rope tells; the adviser says in writing what does, else not exposed"
    return Condition(HOME, text, "expected at the rope against background", do)


def _borne(order: Order, w: WeldPlan) -> Condition | None:
    """Something must bear the wrap that the kit of the order does not hold, or that does not fit or is too weak."""
    found = bearers(order, order.weld(w.weld), w.chosen, w.shielding)
    lacking, hung = [b for b in found if b.held is None], [b for b in found if b.lifted]
    if not (lacking or hung) or w.status != "ready":
        return None
    told = [
        f"{b.pieces} {b.kind}{'s' * (b.pieces > 1)} for {math.ceil(b.each_kg - 1e-9)} kg{' each' * (b.pieces > 1)} "
        f"({b.lacks})"
        for b in lacking
    ]
    # no order states either: whoever lifts answers for them
    told += [f"hoist, bar and slings for {math.ceil(b.load_kg - 1e-9)} kg, by who may lift" for b in hung]
    own = "; or who answers for the pipe says in writing that its own supports bear it"
    props = own if any(b.kind == "pipe prop" for b in lacking) else ""
    text = f"what bears the wrap brought before it is laid: {'; '.join(told)}{props}"
    return Condition("what bears the wrap brought", text, TRADE, f"{'; '.join(told)}{props}")


def _not_whole(w: WeldPlan) -> Condition | None:
    """A person has set aside that the whole weld is shown."""
    for r in w.chosen.rules if w.chosen else ():
        if r.rule == WHOLE and r.verdict == "overridden":
            return Condition("part left out accepted", r.reached, r.source)
    return None


def _unsigned(order: Order, w: WeldPlan) -> Condition | None:
    """The way stands on technical agreements that the contracting parties have not signed."""
    names = order.unsigned(w.chosen.agreements_used if w.chosen and w.status == "ready" else ())
    if not names:
        return None
    who = " and ".join(order.signers)
    what = "; ".join(IN_WORDS.get(n, n) for n in names)
    do = f"signed by {who}: {what}"
    text = f"{do}; else left out"
    return Condition(SIGNED, text, "agreements of the order", f"by {who}: {what}; else left out")
