"""What the list before the first exposure says of meters and personal alarms."""

from __future__ import annotations

from halflayer.order.least_reading import least_reading_Sv_s
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet import alarm_posts, crew_reading, meter
from halflayer.sheet.content import moment
from halflayer.sheet.figures import Show
from halflayer.sheet.further_people import in_words_of
from halflayer.shielding.travelling import travel_of

RESPONSE = (
    " Battery and response checked on a source or at the closed head; the reading agrees with the last one."
)


def of_meters(plan: Plan, order: Order, show: Show) -> str:
    """Calibration of the meters, where a bare source overloads them, and their tolerance."""
    held = alarm_posts.meters(order, plan, show)
    return (
        _meters(order)
        + RESPONSE
        + held
        + _overloads(order, plan, show)
        + _tolerance(order)
        + _densitometer(order)
    )


def of_alarms(plan: Plan, order: Order, used: list[WeldPlan], show: Show) -> str:
    """Who wears which alarm, set to what, and where they sound though all goes as planned."""
    return _alarms(order, plan, show) + _sound_on_the_way(order, used, show)


def _meters(order: Order) -> str:
    meters = [i for i in order.instruments if i.kind != "densitometer"]  # it has a sentence of its own
    if not meters:
        return "Meters calibrated for these energies and in date (none are named in the order)."
    late = [i.id for i in meters if i.calibrated_until < order.shift.ends]
    text = f"Calibration of all {len(meters)}, densitometer apart, in date (table Instruments)."
    return text + (f" NOT in date: {', '.join(late)}; leave them out of use." if late else "")


def _densitometer(order: Order) -> str:
    """That the densitometer is checked on a step tablet, and a blank for when; empty without a film."""
    if not order.detectors:
        return ""
    mine = [i for i in order.instruments if i.kind == "densitometer"]
    late = [i.id for i in mine if i.calibrated_until < order.shift.ends]
    words = ", ".join(f"{i.id}, calibrated to {moment(i.calibrated_until)[:10]}" for i in mine)
    told = f" (NOT in date: {', '.join(late)})" if late else ""
    return f" Densitometer {words or 'not in the order'}{told}: checked on a density step tablet on ________."


def _overloads(order: Order, plan: Plan, show: Show) -> str:
    """How near to a bare source each survey meter ends, by its stated range; empty where none is stated."""
    alike: dict[str, list[str]] = {}
    here = {w.chosen.source for w in in_shift(plan) if w.chosen}
    for tool in order.instruments:
        if tool.kind != "survey meter" or tool.range_Sv_s is None:
            continue
        high = tool.range_Sv_s[1]
        ends = [
            f"{show.paced(far)} of {c.source}"
            for c in plan.stuck
            if (c.source in here or not here) and (far := meter.overload_m(c.at_1m.value, high)) is not None
        ]
        near = f", overloads within {', '.join(ends)} bare" if ends else ""
        low = show.up(tool.range_Sv_s[0], "equivalent_rate")
        alike.setdefault(f"{low} to {show.floor(high, 'equivalent_rate')}{near}", []).append(tool.id)
    parts = [f"{', '.join(ids)} {told}" for told, ids in alike.items()]
    end = ": then go back, whatever it shows" if any("overloads" in p for p in parts) else ""
    own = [i for i in order.instruments if i.kind == "survey meter"]
    lacks = [i.id for i in own if i.range_Sv_s is None]
    unknown = f" Range of {', '.join(lacks)}: not stated in the order, see the certificate." if lacks else ""
    # The order's tolerance holds energy and angle; for which energies it does not say.
    of = list(dict.fromkeys(s.nuclide for s in order.sources if s.id in here or not here))
    unknown += f" Each good for {', '.join(of)} by its certificate (not in the order): ______." if own else ""
    return (f" {'; '.join(parts)}{end}." if parts else "") + unknown


def _tolerance(order: Order) -> str:
    """What of the meter's own tolerance is in the readings that are compared with planned ones."""
    words, known = meter.in_short(order), meter.stated(order)
    return f" {words[:1].upper()}{words[1:]}{f' ({known})' if known else ''}."


def _alarms(order: Order, plan: Plan, show: Show) -> str:
    """Set points from the order's own limits, and who wears which alarm; none are made up where it has none."""
    crew, rate = order.limits.crew, order.limits.barrier.rate_Sv_s
    parts, sounds = [], []
    if rate:
        parts.append(
            f"sentries' rate alarms not above {show.floor(rate, 'equivalent_rate')}{_at_the_head(order, show)}"
        )
    if crew.rate_Sv_s:
        parts.append(f"rate alarm of the crew not above {show.floor(crew.rate_Sv_s, 'equivalent_rate')}")
    if crew.per_shift_Sv:
        parts.append(f"dose alarm not above {show.floor(crew.per_shift_Sv, 'equivalent')} a shift")
        sounds.append(
            "Dose alarm sounds: outside, source home, dosimeter read against sheet 1; its wearer exposes no more until "
            "the adviser says so."
        )
    if rate:
        back = show.floor(least_reading_Sv_s(order, rate), "equivalent_rate", digits=2)
        sounds.append(f"Rate alarm sounds: read the meter; source out, {back} or above: source home.")
    if not parts:
        parts = ["set points as local rules say (the order states no such limit)"]
    told = " ".join(("; ".join(parts) + ".", *sounds))
    return f"Tested, one worn by each of {in_words_of(order, plan)}: {told}"


def _at_the_head(order: Order, show: Show) -> str:
    """Whom an alarm set higher is for: the meter in hand tells what it does not; empty where none is set so."""
    rate = order.limits.barrier.rate_Sv_s
    found = [
        i.alarm_Sv_s for i in order.instruments if i.kind == "personal alarm" and i.alarm_Sv_s is not None
    ]
    high = [a for a in found if rate is not None and a > rate]
    told = " or ".join(dict.fromkeys(show.floor(a, "equivalent_rate") for a in high))
    return f"; crank and reader {told}, meter in hand" if told else ""


def _sound_on_the_way(order: Order, used: list[WeldPlan], show: Show) -> str:
    """That the alarms are expected to sound where a source travels: who is used to that misses a source that is out."""
    moving = [w.weld for w in used if travel_of(w.shielding) is not None]
    if not moving:
        return ""
    on = [w.weld for w in used if crew_reading.sounds_throughout(order, w)]
    through = (
        f" At {', '.join(on)} they sound all through the exposures at the control position as well: there only the "
        "meter tells a source that is out."
        if on
        else ""
    )
    quiet = [weld for weld in moving if weld not in on]
    still = (
        f"; at {', '.join(quiet)} one that sounds on is a source that is out"
        if quiet and on
        else "; one that sounds on is a source that is out"
        if quiet
        else ""
    )
    return (
        f" At {', '.join(moving)} the source travels: they will sound on its way out and home, as the plan "
        f"expects{still}.{through}"
    )
