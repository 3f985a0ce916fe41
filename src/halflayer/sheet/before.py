"""What is done before the first exposure: a list to tick, from the order where it says something."""

from __future__ import annotations

from typing import Any

from halflayer.conditions import FILM, SIGNED
from halflayer.conditions_of_change import CHANGE
from halflayer.conditions_of_floors import FLOOR
from halflayer.conditions_of_travel import ON_ITS_WAY
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet import (
    alarm_posts,
    alarm_words,
    before_tools,
    bodies,
    change_turns,
    cleared,
    dark_room,
    emptied,
    floor_ways,
    hold_points,
    insulation_words,
    isolation,
    lost_reach,
    meter,
    near_turn_back,
    notice_words,
    only_if,
    pipe_empty,
    settled_first,
    signal_words,
    store_spans,
    store_words,
)
from halflayer.sheet.agreements_table import accepted
from halflayer.sheet.call_words import all_reached
from halflayer.sheet.code_and_films import acceptance, code_figures, films_read, later_reading
from halflayer.sheet.figures import Show
from halflayer.sheet.further_people import in_words_of
from halflayer.sheet.grouped import NOT_SIGNED, agreements
from halflayer.sheet.people import READINGS
from halflayer.sheet.sectors import OF_EVERY_FILM, fine_clock
from halflayer.sheet.survey import FAR_UNDER, SEQUENCE
from halflayer.sheet.testing_words import lacks_testing
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.travelling import travels
from halflayer.shift.change_place import who_keeps

BASIS = (
    "A reminder of what radiography crews commonly settle first (common practice, no source). Licence, local rules and "
    "the adviser say what is asked of you."
)

ACCEPTED, AREA, EMPTY, FIRST = "released for RT", "area", "area is empty", "first exposure"
EACH = (ACCEPTED, AREA, EMPTY, FIRST)  # done anew at every weld
MARKERS = "ends of films"  # only of welds whose markers, lap or density leave a clock little room
LINE = "line at a change"
# The hold point's own words (common practice, no source).
HOLD_POINT = (
    "Hold point, signed in the weld's log with name and organisation: visual test accepted; surface ready; "
)
STATED, OPEN = (
    "heat treatment, waiting time done.",
    "waiting time done; all “not stated” of its page 2 settled.",
)
OWN_ROW = (CHANGE, SIGNED)
# What is written in at a condition: when a floor was reported empty, where film went.
BLANKS = {FLOOR: " Empty at ________.", FILM: " Moved to ________ by ________."}
# Parts of the list: a weld starts once the first is ticked and its own lines of the second.
SHIFT, OF_WELDS, AT_END = (
    "Part 1, the shift: ticked before the first exposure of all",
    "Part 2, welds: ticked before the exposures of the weld named",
    "Part 3, the end of the shift",
)
# What the sheets say of doses that they do not vouch for, each once.
DOUBTFUL = (
    (
        "not reliable",
        "the calculation met too little there for its own noise to be trusted: the figure may be far off.",
    ),
    (
        "not known",
        "a part of the dose is not computed or not reliable, so that nothing is said of the limit.",
    ),
    (
        FAR_UNDER,
        f"not reliable, but {FAR:g} times or more under its limit: the plan goes on without vouching for it.",
    ),
    (
        "not proved",
        "planned by a short run, not run on to a stated error, which whoever planned can have done.",
    ),
)
WAYS_OUT, WALKED = (
    "ways out",
    "From every post, “Ways out” of the contingency card: walked, seen open, ticked there; the card's blanks filled.",
)
ALARMS = "alarms"  # with a table of their own
SAID_HERE = 170  # letters of a condition that the list repeats; the rest of it is read on sheet 1: our choice
ON_SHEET_1 = "the rest: sheet 1, do not start until"
DOUBTFUL_DO = (
    "At each such place: measured in the first survey where people are or a meter tells it, else in the exposure that "
    "its sheet names; approached from outside; stop at its turn-back reading."
)


def before_list(plan: Plan, order: Order, show: Show) -> list[dict[str, Any]]:
    """Entries of subject and what to do, in the order in which they are commonly done.

    `part`: once for the shift, before a weld's own exposures, or at the end: no weld waits for what is another's or
    comes later. `welds`: of what is done at each weld anew, one box a weld.
    """
    rate = order.limits.barrier.rate_Sv_s
    used = [w for w in in_shift(plan) if w.chosen is not None]
    tubes = any(w.chosen and travels(order, w.chosen) for w in used)
    rows = [
        (
            "permit, rules",
            f"Permit to work no. ______, radiation no. ______; {order.site.local_rules}, contingency "
            "plan: read by all.",
        ),
        (
            "notices",
            f"{notice_words.words(order)}{settled_first.listed(plan, order, show)}",
        ),
        (
            "adviser",
            f"Plan shown to {order.site.adviser}{_radiation(plan, order, used)}{settled_first.confirms(order, used)}.",
        ),
        *settled_first.one_person(order),
        *code_figures(plan, order),
        *acceptance(plan, order),
        *([(hold_points.NAME, hold_points.lead(order))] if used else []),
        *films_read(order, used, later_reading(plan, order), dark_room.words(order, used, show)),
        *([(WAYS_OUT, WALKED)] if order.site.retreat_at is not None and used else []),
        ("people to call", all_reached(order)),
        ("equipment", isolation.instruments(plan, order) + lost_reach.instruments_over(order, used, show)),
        *cleared.locked(order, used),
        (
            "sources, head",
            f"Certificate, leak test in date for {_sources(order, used)}; head, cables, {'guide tubes, ' * tubes}"
            "connector, stops by the maker's list.",
        ),
        (
            "store",
            f"Sources under lock until used and again after, {store_words.store(order)}; between exposures in the "
            "head, locked, in sight; papers, labels, carriage key with them. On site ____; collected ____ by "
            f"________, route ________, back ____{store_spans.pointer(plan, order)}.",
        ),
        (
            "kit",
            "Plates, blankets, stand, step tablet, angle gauge counted against the kit list; no piece torn, bent or "
            "thin; slit only pieces marked for that weld. Mounting times (weld pages: time) are this crew's: ________.",
        ),
        ("meters", before_tools.of_meters(plan, order, show)),
        (ALARMS, before_tools.of_alarms(plan, order, used, show)),
        (
            "dosimeters",
            f"Personal and direct-reading one on each of {in_words_of(order, plan)}: zeroed; start, end into "
            f"{READINGS}.{_in_the_logs(order, show)}{settled_first.year(order)}",
        ),
        (
            "signals",
            signal_words.words(order),
        ),
    ]
    (far_rope, roped), (to_floors, stairs) = (
        lost_reach.row(order, used, show),
        floor_ways.row(order, used, show),
    )
    of_welds = [
        (
            ACCEPTED,
            HOLD_POINT + (OPEN if any(lacks_testing(order, order.weld(w.weld)) for w in used) else STATED),
        ),
        *([(pipe_empty.LISTED, pipe_empty.BY_PLANT)] if used else []),
        *insulation_words.off_row(order, used, show),
        *_technical(plan, order, show),
        *bodies.of_all(order, used, isolation.isolated(plan, order)),
        *_changes(plan, order, show),
        *_only_if(plan, show),
        (AREA, _area(order, used, rate, show)),
        (EMPTY, cleared.empty(order, used, show)),
        *to_floors,
        *far_rope,
        (
            FIRST,
            f"{_trials(plan)} {_first_survey(order, used, rate, show)}",
        ),
    ]
    marked = [
        w.weld
        for w in used
        if fine_clock(order, order.weld(w.weld), w.chosen, w.exposure.coverage if w.exposure else None, show)
    ]
    at_end = [
        *([(MARKERS, OF_EVERY_FILM)] if marked else []),
        (
            "at the end",
            f"Source home, surveyed, locked; {store_words.at_the_end(plan, order)}; shield and stand down; area "
            "surveyed, nothing above background but heads and store; rope and signs last; "
            f"{_shown_back(plan, order)}the area handed back in writing to {notice_words.owner(order)} at ____, "
            "highest reading ____.",
        ),
    ]
    first_s = {s.weld: s.start_s for s in reversed(plan.schedule.slots)} if plan.schedule else {}
    welds = [w.weld for w in sorted(used, key=lambda w: first_s.get(w.weld, 0.0))]
    boxes = dict.fromkeys(EACH, welds) | {MARKERS: marked, LINE: cleared.cleared(plan, order)}
    boxes |= {lost_reach.FIRST_ROPE_NAME: roped, floor_ways.NAME: stairs, pipe_empty.LISTED: welds}
    return [
        {
            "subject": s,
            "what": what,
            "tick": "box",
            "part": part,
            "rows": alarm_posts.rows(order, plan, show) if s == ALARMS else [],
            "points": hold_points.rows(plan, order, used) if s == hold_points.NAME else [],
            "emptied": emptied.rows(plan, order, used) if what == emptied.LEAD else [],
            "welds": boxes.get(s, []),
        }
        for part, found in ((SHIFT, rows), (OF_WELDS, of_welds), (AT_END, at_end))
        for s, what in found
    ]


def _in_the_logs(order: Order, show: Show) -> str:
    """Why a weld's log asks for readings too; empty where no limit is of an exposure."""
    limit = order.limits.crew.per_exposure_Sv
    return f" The logs' before and after: for {show.floor(limit, 'equivalent')} an exposure." if limit else ""


def _shown_back(plan: Plan, order: Order) -> str:
    """What was isolated works again; empty where nothing is."""
    return "all that was isolated shown back on, each signed for; " if isolation.isolated(plan, order) else ""


def _first_survey(order: Order, used: list[WeldPlan], rate: float | None, show: Show) -> str:
    """When the first survey is made, how long it may be, and what a minute of it may bring outside the rope."""
    dose = f"at most {show.up(rate * 60.0, 'equivalent', digits=2)} a minute at the rope, " if rate else ""
    t = order.crew_times
    each = f"{show.value(t.reading_s, 'time')} each"
    if not t.first_survey_points:
        return (
            f"Before any film a short one without, as long as its readings take ({each}; {dose}in no sum): {SEQUENCE}, "
            "to its turn-back reading."
        )
    read = [w.exposure.first_survey.points for w in used if w.exposure and w.exposure.first_survey]
    low, high = min(read, default=t.first_survey_points), max(read, default=t.first_survey_points)
    many = f"{low}" if low == high else f"{low} to {high}"
    return (
        f"First survey before or in the first shot, by its sheet: the points it names ({many}, {each}, {dose}in the "
        f"sums), {SEQUENCE.partition(',')[0]}, to its turn-back reading; past it source home, film in it lost."
    )


def _trials(plan: Plan) -> str:
    """Whether a film is tried before the others: one truth for all sheets."""
    tried = [w.weld for w in in_shift(plan) if w.budget and w.budget.trial]
    if tried:
        return f"Trial shots on film are planned at {', '.join(tried)}, as their sheets say."
    return "No trial shot is planned."


def _radiation(plan: Plan, order: Order, used: list[WeldPlan]) -> str:
    """What the adviser is shown of sources that are bare for a while; a rope farther out is a condition of its weld.

    Nobody is asked to agree to a limit that is passed: where a place is not cleared no source is bared.
    """
    parts = []
    moving = [w.weld for w in used if any(c.short == ON_ITS_WAY for c in w.conditions)]
    if moving:
        parts.append(f"the travel of the source ({', '.join(moving)})")
    changed = [w.weld for w in used if any(c.short == CHANGE for c in w.conditions)]
    if changed:
        parts.append(f"the source changes{_before(plan, order)}")
    return f", with {' and '.join(parts)}" if parts else ""


def _before(plan: Plan, order: Order) -> str:
    """Before which welds the source changes are made; empty where there is one alone: sheet 1 tells it."""
    every, found = [w.id for w in order.welds], plan.schedule.changes if plan.schedule else ()
    told = "; ".join(f"before {change_turns.before(plan, c, every)}" for c in found)
    return f" ({told})" if len(found) > 1 else ""


def _technical(plan: Plan, order: Order, show: Show) -> list[tuple[str, str]]:
    """Agreements on the technique: no matter of the adviser's; nothing where no weld stands on one."""
    found = [
        r for r in agreements(plan, [w.id for w in order.welds], order.agreements, show, order) if r["stands"]
    ]
    if not found:
        return []
    # What the code leaves open stands in the same table, and nobody has signed it before the shift.
    open_rows = len(accepted(plan, order))
    waiting = sum(r["signed"].startswith(NOT_SIGNED) for r in found) + open_rows
    state = f"; {waiting} of {len(found) + open_rows} NOT signed yet" if waiting else ""
    who = "both whom it names" if order.agreed_for_contractor_by else " and ".join(order.signers)
    return [
        (
            "technical agreements",
            f"“By agreement only” of this order signed by {who}, with the date{state}.",
        )
    ]


def _changes(plan: Plan, order: Order, show: Show) -> list[tuple[str, str]]:
    """Source changes of the shift; nothing where every source stays where it is."""
    found = plan.schedule.changes if plan.schedule else ()
    if not found:
        return []
    every = [w.id for w in order.welds]
    words = "; ".join(
        f"before {change_turns.before(plan, c, every)} {c.words} ({show.value(c.seconds, 'time')})"
        for c in found
    )
    known = plan.schedule is not None and all(p.changes_known for p in plan.schedule.crew)
    dose = "doses on the page about people" if known else "dose not computed"
    sound = alarm_words.at_changes(plan, order, show)
    after = f"then {' and '.join(dict.fromkeys(c.changer for c in found))} to the store first of all"
    text = (
        f"{words}: only once all else that its weld waits for is ticked; by people trained and allowed to, by the "
        f"maker's steps, with a survey; {after}; {dose}.{sound}"
    )
    text += " Adviser accepts it: __________ date ______"
    return [
        ("source changes", text),
        (
            LINE,
            f"{_clearing(order, show)}: {who_keeps(order)}; not all ticked: no change. Searched, reported empty:",
        ),
    ]


def _clearing(order: Order, show: Show) -> str:
    """How long it may take to empty the surroundings before a change starts."""
    time = order.crew_times.source_change_clearing_s
    if time is None:
        return "Before the change starts (time to clear: not stated in the order, in no schedule)"
    return f"Before the change starts ({show.value(time, 'time')} in the schedule)"


def _only_if(plan: Plan, show: Show) -> list[tuple[str, str]]:
    """What the readiness of the shift's welds hangs on, seen to before their source leaves its shield.

    Of welds that the shift leaves out nothing is to be ticked: sheet 1 tells what they wait for.
    """
    mine, _ = only_if.by_shift(plan, show)
    # What a line cannot hold stands on sheet 1 in full: here it is ticked, not read. What has a row of its own is not
    # ticked twice.
    told: dict[str, list[str]] = {}
    # Who is out of where is one row, whether the rope or lost shielding asks for it.
    one = ", ".join(k for k in emptied.KINDS if any(r["short"] == k for r in mine))
    for r in mine:
        if r["short"] in emptied.KINDS:
            told[one] = [emptied.LEAD]  # each of them has a line of its record there
        elif r["short"] not in OWN_ROW:
            told.setdefault(r["short"], []).append(f"{r['welds']}: {_begun(r['text'])}.")
    return [(short, f"{' '.join(each)}{BLANKS.get(short, '')}") for short, each in told.items()]


def _begun(text: str) -> str:
    """The first clauses of a long text, with where the rest of it stands."""
    if len(text) <= SAID_HERE:
        return text
    kept, *more = text.split("; ")
    for clause in more:
        if len(kept) + len(clause) > SAID_HERE:
            break
        kept = f"{kept}; {clause}"
    return kept if kept == text else f"{kept}; {ON_SHEET_1}"


def _sources(order: Order, used: list[WeldPlan]) -> str:
    ids = {w.chosen.source for w in used if w.chosen}
    return ", ".join(s.id for s in order.sources if s.id in ids) or "every source in use"


def _area(order: Order, used: list[WeldPlan], rate: float | None, show: Show) -> str:
    far = []
    for w in used:
        # The rope's own corners: they stand a little outside the barrier distance, and behind walls.
        line = w.safety.contour if w.safety else None
        both = (w.shielding.barrier_m.value, w.shielding.barrier_hour_m.value) if w.shielding else ()
        values = [float(v) for v in both if isinstance(v, int | float)]
        values += [p.at_m for p in line.points if p.at_m is not None] if line and values else []
        far += [max(values)] if values else []
    known = len(far) == len(used) and bool(far)
    upto = f", up to {show.up(max(far), 'length', digits=3)} from the weld" if known else ""
    limit = f": {meter.rope_reading(order, show)}" if rate else ""
    farther = near_turn_back.in_list(used, show)
    who = (order.site.supervisor or "the supervisor").partition(" (")[0]
    return (
        f"Rope and signs round each weld by the site sketch{upto}; the meter has the last word{limit}.{farther} Where "
        f"it stands in the end {who} reads it, signs the weld's log."
    )
