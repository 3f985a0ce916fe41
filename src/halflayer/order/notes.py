"""What a person must know about an order that is accepted: dates, calibrations, heads, crew."""

from __future__ import annotations

from datetime import datetime

from halflayer.base.result import Finding
from halflayer.order.contract import CLASS_FOR_SOURCE
from halflayer.order.equipment import Head, Source
from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order

WALL_TOLERANCE = (
    0.125  # mill tolerance on the wall of seamless pipe, ASTM A999/A530 (from memory, unverified)
)
# Agreements on density, or paid for by density: without meaning for plates and panels.
FOR_FILM_ONLY = ("class-b-at-class-a-distance", "density-1.5-class-a", "density-2.0-class-b")
EXPOSURES_AS_A = " (with level 2, or quality level C, as many exposures as class A asks may do)"
MANY_HALF_LIVES = 5.0  # our choice: a certificate older than this says little about the source


def notes(order: Order) -> tuple[Finding, ...]:
    """Findings about the order as a whole, stops first."""
    found = [*_sources(order), *_heads(order), *_instruments(order), *_crew(order), *_pipes(order)]
    found += [*_agreements(order), *_edition(order), *_acceptance(order)]
    rank = ("stop", "warn", "note")
    return tuple(sorted(found, key=lambda f: rank.index(f.level)))


def _edition(order: Order) -> list[Finding]:
    """Which edition's figures are used, where that is not the one most people have on their shelf."""
    known = {
        "ASME V Article 2:2007": "the figures are those of the 2007 edition, later editions are not checked; extent, "
        "acceptance and width judged are the referencing section's",
        "ISO 17636-2:2013": "the figures are those of the 2013 edition from memory, none of them read in a copy; the "
        "2022 edition is not checked",
    }
    return [
        Finding("note", f"{code}: {known[code]}", "the order: code") for code in order.codes if code in known
    ]


def _acceptance(order: Order) -> list[Finding]:
    """Acceptance levels that ask another test class than the one their welds are shot in."""
    found: dict[tuple[str, str, str], list[str]] = {}
    for weld in order.welds:
        accepted, klass = order.acceptance_of(weld), order.class_of(weld)
        if accepted is not None and klass is not None and accepted.fits(klass) is False:
            found.setdefault((accepted.words, accepted.test_class or "", klass), []).append(weld.id)
    return [
        Finding(
            "warn",
            f"{', '.join(welds)}: shot in class {klass}, and {words} goes with class {asked}"
            f"{EXPOSURES_AS_A if asked == 'B' else ''}: films of class {klass} are not known to do for it",
            CLASS_FOR_SOURCE,
            (f"class {asked} for these welds", f"an acceptance level that goes with class {klass}"),
        )
        for (words, asked, klass), welds in found.items()
    ]


def _agreements(order: Order) -> list[Finding]:
    """Agreements of ISO 17636 that do nothing under the code of any weld."""
    idle = {
        "ASME V Article 2:2007": order.agreements,
        "ISO 17636-2:2013": tuple(a for a in order.agreements if a in FOR_FILM_ONLY),
    }
    codes = {order.code_of(w) for w in order.welds}
    without = [a for a in order.agreements if all(a in idle.get(code, ()) for code in codes)]
    if not without:
        return []
    text = f"no effect under {' or '.join(sorted(codes))}: the agreements {', '.join(without)}"
    return [Finding("note", text, "the order: agreements")]


def activity_at_shift_Bq(source: Source, when: datetime) -> float:
    """Activity of a source at a moment, before or after its certificate [Bq]."""
    from halflayer.physics.decay import activity_at
    from halflayer.physics.nuclides import nuclide

    half_life_s = nuclide(source.nuclide).half_life_s
    return activity_at(
        activity_Bq=source.activity_Bq, reference=source.on, when=when, half_life_s=half_life_s
    )


def _shown(activity_Bq: float) -> str:
    from halflayer.base.units import show

    return show(activity_Bq, "activity")


def _day(moment: datetime) -> str:
    return moment.strftime("%Y-%m-%d")


def _sources(order: Order) -> list[Finding]:
    from halflayer.physics.nuclides import nuclide

    found = []
    starts = order.shift.starts
    for source in order.sources:
        age_s = (starts - source.on).total_seconds()
        now = _shown(activity_at_shift_Bq(source, starts))
        if age_s < 0:
            text = (
                f"the certificate of source {source.id} is dated {_day(source.on)}, after the shift of "
                f"{_day(starts)}; its activity is computed back to {now}"
            )
            found.append(Finding("note", text, "the order: sources"))
        elif age_s > MANY_HALF_LIVES * nuclide(source.nuclide).half_life_s:
            text = f"the certificate of source {source.id} is older than {MANY_HALF_LIVES:g} half-lives; {now} is left"
            found.append(Finding("warn", text, "the order: sources"))
        if not any(_takes(head, source) for head in order.heads):
            text = f"no head of the order takes source {source.id} ({source.nuclide})"
            found.append(Finding("warn", text, "the order: heads", ("a head for this nuclide",)))
    return found


def _takes(head: Head, source: Source) -> bool:
    return source.nuclide in head.nuclides


def _fits(head: Head, activity_Bq: float) -> bool:
    return head.maximum_activity_Bq is None or activity_Bq <= head.maximum_activity_Bq


def _heads(order: Order) -> list[Finding]:
    """Heads whose largest activity a source exceeds: a stop when no other head may hold it."""
    found = []
    for source in order.sources:
        now = activity_at_shift_Bq(source, order.shift.starts)
        heads = [h for h in order.heads if _takes(h, source)]
        left = [h.id for h in heads if _fits(h, now)]
        for head in heads:
            if _fits(head, now) or head.maximum_activity_Bq is None:
                continue
            text = (
                f"source {source.id} holds {_shown(now)} at the start of the shift, more than the "
                f"{_shown(head.maximum_activity_Bq)} that head {head.id} may hold"
            )
            if left:
                text += f"; it may be used in {', '.join(left)} only"
                found.append(Finding("warn", text, "the order: heads"))
            else:
                relax = ("a later shift", "a weaker source", "a head for this activity")
                found.append(Finding("stop", text, "the order: heads", relax))
    return found


def _instruments(order: Order) -> list[Finding]:
    found = []
    ends = order.shift.ends
    for tool in order.instruments:
        if tool.calibrated_until < ends:
            text = f"the calibration of {tool.kind} {tool.id} ends {_day(tool.calibrated_until)}, before the shift ends"
            found.append(Finding("warn", text, "the order: instruments", ("a calibrated instrument",)))
    found += _ranges(order)
    found += _alarms(order)
    found += alarms_above_turn_back(order)
    if not any(t.kind == "survey meter" and t.calibrated_until >= ends for t in order.instruments):
        text = "no survey meter with a valid calibration is listed; every exposure ends with a survey"
        found.append(Finding("warn", text, "10 CFR 34.49(b); the order: instruments", ("a survey meter",)))
    return found


def _ranges(order: Order) -> list[Finding]:
    """Survey meters whose stated range does not hold the barrier's rate limit."""
    limit = order.limits.barrier.rate_Sv_s
    found = []
    for tool in order.instruments:
        if tool.kind == "survey meter" and tool.range_Sv_s and limit:
            low, high = tool.range_Sv_s
            if not low < limit < high:
                text = (
                    f"survey meter {tool.id} reads {low * 3600e6:.3g} to {high * 3600e6:.3g} uSv/h: the barrier's "
                    f"limit of {limit * 3600e6:.3g} uSv/h cannot be read with it"
                )
                found.append(Finding("warn", text, "the order: instruments", ("a meter for this range",)))
    return found


def _alarms(order: Order) -> list[Finding]:
    """Personal alarms in date against the people of the crew."""
    alarms = sum(
        t.kind == "personal alarm" and t.calibrated_until >= order.shift.ends for t in order.instruments
    )
    people = len(order.crew)
    if alarms >= people:
        return []
    have = "no personal alarm" if alarms == 0 else f"{alarms} personal alarm{'s' if alarms > 1 else ''}"
    text = f"{have} in date for {people} {'person' if people == 1 else 'people'}: each wears one of their own"
    source = "10 CFR 34.47(a) (from memory, unverified); the order: instruments"
    return [Finding("warn", text, source, (f"{people - alarms} more personal alarms",))]


def alarms_above_turn_back(order: Order) -> list[Finding]:
    """Rate alarms that guard the rope and sound only above the reading at which its people turn back.

    Those set no higher than the barrier's limit, and the lowest ones of as many as there are sentries; one without a
    stated set point may be a sentry's, whose list sets it.
    """
    limit = order.limits.barrier.rate_Sv_s
    worn = [t for t in order.instruments if t.kind == "personal alarm"]
    if limit is None:
        return []
    stated = sorted(
        ((t.alarm_Sv_s, t.id) for t in worn if t.alarm_Sv_s is not None), key=lambda a: (a[0], a[1])
    )
    sentries = max(sum(p.role == "sentry" for p in order.crew) - (len(worn) - len(stated)), 0)
    back = least_reading_Sv_s(order, limit)
    high = [
        (rate, ident)
        for n, (rate, ident) in enumerate(stated)
        if rate > back * (1.0 + 1e-9) and (n < sentries or rate <= limit)
    ]
    return [
        Finding(
            "warn",
            f"personal alarm {ident} sounds at {rate * 3600e6:.3g} uSv/h, above the rope's turn-back reading of "
            f"{back * 3600e6:.3g} uSv/h that it guards: it stays silent where its wearer has to turn back",
            "the order: instruments; limit of the barrier less the meter's tolerance",
            (f"its rate alarm at {back * 3600e6:.3g} uSv/h or less",),
        )
        for rate, ident in high
    ]


def _crew(order: Order) -> list[Finding]:
    found = []
    if len(order.crew) < 2:
        text = "one person alone is listed; two qualified people work at a temporary site"
        found.append(Finding("warn", text, "10 CFR 34.41; the order: crew"))
    if not any(p.role == "radiographer in charge" for p in order.crew):
        found.append(Finding("warn", "no radiographer in charge is listed", "the order: crew"))
    return found


def _pipes(order: Order) -> list[Finding]:
    """Stated sizes beside a size's name that differ from the table's."""
    from halflayer.order import pipe_sizes

    found = []
    for weld in order.welds:
        pipe = weld.pipe
        if pipe.schedule is None or (pipe.nps is None) == (pipe.dn is None):
            continue
        size = pipe_sizes.find(nps=pipe.nps, dn=pipe.dn, schedule=pipe.schedule)
        pairs = (
            ("outside diameter", pipe.od, size.outer_diameter_m, 0.01),
            ("wall", pipe.wall, size.wall_m, WALL_TOLERANCE),
        )
        for what, stated, tabled, tolerance in pairs:
            if abs(stated - tabled) > tolerance * tabled:
                text = (
                    f"{what} {stated * 1000:.4g} mm of {weld.id} is stated, {tabled * 1000:.4g} mm is the size's own; "
                    "the stated one is used"
                )
                found.append(Finding("warn", text, f"{size.standard} as tabled"))
    return found
