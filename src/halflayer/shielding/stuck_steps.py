"""What to do first when a source does not come home, with the distances that the steps send people to."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.base.unit_text import smallest
from halflayer.base.units import kept, show
from halflayer.order.contacts import Contact
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.meter_holders import holders
from halflayer.shielding.turn_back import rope_words
from halflayer.shielding.way_from_source import control_m, way_Sv

# From the open guidance of the international agency's booklet on sealed sources, the United States rules for
# radiography (10 CFR 34) and a national information sheet on site radiography, in our own words.
TAKE_IT_AS_TRUE = (
    "Take the reading as true. Do not touch the source, the head or the shield, and do not hurry in."
)
LAST = (
    "Afterwards: dosimeters read early, survey, record, report; the equipment stays out of use until examined. The "
    "film of a broken-off exposure or a stuck source is rejected unless its time is known; log it. Follow your own "
    "plan and adviser.",
)
# Whose duty it is to clear the site about the crew, the words in a contact's role by which that is known, the
# likeliest first: common practice, no source.
CLEARS = ("site emergency", "emergency", "shift manager", "site manager", "control room", "owner")
# Who is told what a bare source sets off: whoever answers for the plant.
TOLD = ("shift manager", "control room", "site manager", "owner")
# Of tongs and pot, on the card and in the kit list: nobody has to pass a bare source to fetch them, our choice.
RECOVERY_ONLY = "for recovery people only, at the retreat"
# From every post alike: a straight line to one retreat may lead past the bare source (common practice, no source).
AWAY = "Go away from the source at once, never past it"
NOT_STATED = "not stated in the order: settle before"
FOOT_M = 0.3048
DETOUR = 1.25  # a post's own way round walls brings up to so many times the straight one: our choice, sheet "Ways out"
# Of an exposure's limit, kept for what the exposure itself is planned to bring: the card is made before any plan, and a
# sheet says where a weld's is more. Our choice; those of the examples are under it.
PLANNED_SHARE = 0.1
USABLE_S = 15  # a second try that leaves less is none: nobody acts safely in so little, our choice
SECOND_TRY = "Second try"
NO_SECOND, ADVISER_DECIDES = "No second try by the crew", "all keep away, the adviser decides"
REACH_M = (
    1.0  # of tongs, of which the order states no length: what a bare source brings at it is told, our choice
)


def controls_m(order: Order, welds: Sequence[Weld] = ()) -> list[float]:
    """That distance, and those of welds whose barrier may stand farther out than the order's: the crew's line is there.

    A source that travels is worked from the order's distance to its way, wherever the barrier of its weld stands.
    """
    own = order.limits.barrier_within_m
    far = {w.barrier_within_m for w in welds if w.barrier_within_m is not None and w.guide_from is None}
    return sorted({control_m(order), *(d for d in far if d > max(own, control_m(order)))})


def in_m(order: Order, metric_m: tuple[float, ...], imperial_ft: tuple[float, ...]) -> tuple[float, ...]:
    """Distances of a table in round figures of the order's own units [m]."""
    return tuple(d * FOOT_M for d in imperial_ft) if order.units == "imperial" else metric_m


def with_control(order: Order, far_m: Sequence[float], welds: Sequence[Weld]) -> list[float]:
    """Distances of a table with the control positions among them [m], in turn."""
    near = controls_m(order, welds)
    return sorted({*(d for d in far_m if not any(math.isclose(d, n, rel_tol=1e-6) for n in near)), *near})


def clears(order: Order) -> list[Contact]:
    """The people to call who can clear the site, in the sequence of `CLEARS`, two at most; empty: none is named."""
    found: list[Contact] = []
    for words in CLEARS:
        found += [c for c in order.contacts if words in c.role.lower() and c not in found]
    return found[:2]


def leads(order: Order) -> str:
    """Who leads until the adviser takes over: the radiographer in charge, by name where there is one."""
    name = next((p.name for p in order.crew if p.role == "radiographer in charge"), None)
    return f"{name}, radiographer in charge, leads" if name else "The radiographer in charge leads"


def _calls(order: Order) -> str:
    """Who calls: who leads, else the deputy, whom no order names: the list before the first exposure asks for one."""
    name = next((p.name for p in order.crew if p.role == "radiographer in charge"), "Who leads")
    return f"{name}, else the list's deputy, calls"


def within(order: Order, far_m: float) -> list[str]:
    """Places of people and floors nearer than that to any weld or source change of the order, by name."""
    spots = [w.at for w in order.welds]
    spots += [order.source_changes_at.at[:2]] if order.source_changes_at is not None else []
    near = [p.name for p in order.places if p.kind == "people" and _near(p.at, spots) < far_m]
    return [*near, *(f.name for f in order.floors)]


def _near(at: Sequence[float], spots: Sequence[Sequence[float]]) -> float:
    return min((math.dist(at[:2], s[:2]) for s in spots), default=0.0)


def sets_off(order: Order, upper_1m_Sv_s: float, welds: Sequence[Weld] = ()) -> list[str]:
    """Detectors and gauges that get more than their rate limit with the source stuck out, by name.

    `welds`: those shot with it, else all of the order; the place of the source changes too. Formula: rate at 1 m /
    distance^2 to the nearest of them; no shield, no wall, no air.
    """
    spots = [(*w.at, w.floor_level_m + w.height_m) for w in welds or order.welds]
    spots += [order.source_changes_at.at] if order.source_changes_at is not None else []
    found = []
    for p in order.places:
        limit = p.limit.rate_Sv_s if p.limit else None
        if p.kind in ("people", "crew", "stored film") or limit is None:
            continue
        near = min((math.dist(p.at, s) for s in spots), default=math.inf)
        if upper_1m_Sv_s > limit * near**2:
            found.append(p.name)
    return found


def runs_plant(order: Order) -> str:
    """Who answers for the plant, by name and number; that the order names nobody."""
    who = next((c for words in TOLD for c in order.contacts if words in c.role.lower()), None)
    return f"{who.name or who.role} ({who.phone})" if who else f"who runs the plant ({NOT_STATED})"


def _tell_the_plant(order: Order, names: Sequence[str]) -> str:
    """Who is told which instruments may trip or alarm; empty where the source brings none over its limit."""
    if not names:
        return ""
    return f" Tell {runs_plant(order)} at once what may trip or alarm until it is home: {'; '.join(names)}."


def steps(order: Order, upper_1m_Sv_s: float, welds: Sequence[Weld] = ()) -> tuple[str, ...]:
    """The steps for one source, bare at the stated upper rate at 1 m.

    Nobody is sent to wait at the control position: a bare source may bring there more than the barrier allows by far.
    Nor is the crew asked to watch a line of some hundred metres: whoever the site names clears what lies inside it.
    Distances by inverse square, rounded up; no shield, no wall, no air. `welds`: those shot with it, see `sets_off`.
    """
    limit = _kept_away_at_Sv_s(order)
    under, away_m = rope_words(order), retreat_m(order, welds)
    way = control_way_Sv(order, upper_1m_Sv_s, welds)
    if limit is None:
        far_m, back = (
            math.inf,
            f"{AWAY}, the way the reading falls, to where the local rules' rate is read.",
        )
    else:
        far_m = math.sqrt(upper_1m_Sv_s / limit)
        far = kept(far_m)
        reads = show(limit, "equivalent_rate", round_up=False)
        back = (
            f"{AWAY}, by your post's way (“Ways out”). Nobody waits at the control position. Who has no way goes "
            f"straight out: beyond {far} the bare source is at or under {reads}. There round to the retreat; nearer "
            f"only behind walls, where the meter shows {under}."
        )
    return (
        f"{TAKE_IT_AS_TRUE} {_first_try(order, upper_1m_Sv_s, way)}",
        f"{back} {_retreat(order, upper_1m_Sv_s, limit, away_m, way)} Note time and readings.",
        _keep_out(order, far_m),
        f"{_calls(order)} the people below, the adviser first, by: {order.site.call_by or NOT_STATED}. "
        f"A telephone only where the meter shows {under}."
        f"{_tell_the_plant(order, sets_off(order, upper_1m_Sv_s, welds))}",
        _second_try(order, upper_1m_Sv_s, way),
        _nobody_nearer(order, upper_1m_Sv_s),
        *LAST,
    )


def _kept_away_at_Sv_s(order: Order) -> float | None:
    """The barrier's rate; a stuck source may be out for more than an hour: a dose limit is reached at what brings it
    in one."""
    hour = order.limits.barrier.in_any_hour_Sv
    return order.limits.barrier.rate_Sv_s or (hour / 3600.0 if hour is not None else None)


def control_way_Sv(order: Order, upper_1m_Sv_s: float, welds: Sequence[Weld] = ()) -> float | None:
    """Dose of the straight way out from the control position [Sv], with which the steps reckon; None: not known."""
    away_m = retreat_m(order, welds)
    if away_m is None:
        return None
    return way_Sv(
        order,
        upper_1m_Sv_s,
        from_m=control_m(order),
        away_m=away_m,
        limit_Sv_s=_kept_away_at_Sv_s(order),
    )


def _first_try(order: Order, upper_1m_Sv_s: float, way_Sv: float | None) -> str:
    """How often and how long whoever is at the crank tries to close: one try, our choice; common practice, no source.

    Formula: the crew's limit per exposure, else per shift, less the dose of the way out by its detours and the share
    kept for the exposure as planned, over the bare rate at the control position, cut to seconds.
    """
    kind, dose = _crew_limit(order)
    if dose is None:
        return f"Who is at the crank tries once to close it and leaves, home or not; seconds there: {NOT_STATED}."
    seconds = first_try_s(order, upper_1m_Sv_s, way_Sv) or 0
    most = show(dose, "equivalent", round_up=False)
    if seconds < 1:
        return f"Who is at the crank does not try to close it but leaves: the way out alone brings {kind} {most}."
    kept_Sv = _kept_for_planned_Sv(order)
    kept_for = (
        f"{show(kept_Sv, 'equivalent', round_up=False)} kept for what is planned"
        if kept_Sv
        else "nothing of what is planned"
    )
    counted = (
        f"That, {kept_for} and up to {_small(_detour_Sv(way_Sv), digits=3)} on the way out stay within {kind} {most} "
        "(straight, half round, a quarter more for detours; as planned: “Ways out”)."
        if way_Sv is not None
        else f"That and {kept_for} are {kind} {most}, the way out NOT counted."
    )
    return (
        f"Who is at the crank tries once to close it, for {seconds} s at most in all, then leaves, home or not. "
        f"{counted}"
    )


def first_try_s(order: Order, upper_1m_Sv_s: float, way_Sv: float | None) -> int | None:
    """Those seconds, none under one; None without such a limit. `way_Sv`: as `control_way_Sv` gives it."""
    dose = _crew_limit(order)[1]
    if dose is None:
        return None
    left = dose - _kept_for_planned_Sv(order) - (_detour_Sv(way_Sv) if way_Sv else 0.0)
    return max(math.floor(left / (upper_1m_Sv_s / control_m(order) ** 2)), 0)


def _kept_for_planned_Sv(order: Order) -> float:
    """What a try leaves for the exposure as planned [Sv]; none of a shift's limit: its plan is not known here."""
    return PLANNED_SHARE * (order.limits.crew.per_exposure_Sv or 0.0)


def _detour_Sv(way_Sv: float) -> float:
    """A way by its detours [Sv], rounded up to the three digits that are printed: what is left then adds up."""
    most = DETOUR * way_Sv
    step = 10.0 ** (math.floor(math.log10(most)) - 2)
    return math.ceil(most / step - 1e-9) * step


def _crew_limit(order: Order) -> tuple[str, float | None]:
    """Whose dose limit a try keeps to, in words, and it [Sv]: the crew's per exposure, else per shift."""
    crew = order.limits.crew
    return (
        ("an exposure's", crew.per_exposure_Sv) if crew.per_exposure_Sv else ("a shift's", crew.per_shift_Sv)
    )


def _second_try(order: Order, upper_1m_Sv_s: float, way_Sv: float | None) -> str:
    """Who tries again, on whose word, and what is left for it: the reader, whose meter reaches farthest, alone.

    Formula: the crew's limit less three ways (the reader's own first one out, back and out again, each as from the
    control position by its detours), over the bare rate there, cut to seconds, none under `USABLE_S`; nothing where
    the reader made the first try too, which is as long as the limit lets it be.
    """
    held, near = holders(order), control_m(order)
    kind, dose = _crew_limit(order)
    alone = not any(p.role != "sentry" and p.name != held.reader for p in order.crew)
    most = "" if dose is None else show(dose, "equivalent", round_up=False)
    if dose is None:
        left = f"seconds {NOT_STATED}"
    elif way_Sv is None:
        left = "seconds not computed, as the dose of the ways is not"
    elif alone:
        return f"{NO_SECOND}: the first leaves nothing of {kind} {most}; {ADVISER_DECIDES}."
    else:
        ways = 3.0 * DETOUR * way_Sv
        seconds = math.floor((dose - ways) / (upper_1m_Sv_s / near**2))
        bring = (
            f"the ways out from the control position, back and out again bring up to {_small(ways, digits=3)}"
        )
        if seconds < USABLE_S:
            none = (
                f" and so more than {kind} {most}"
                if ways > dose
                else f" of {kind} {most}, which leaves under {USABLE_S} s"
            )
            return f"{NO_SECOND}: {bring}{none}; {ADVISER_DECIDES}."
        left = (
            f"{seconds}\N{NO-BREAK SPACE}s, as {bring} of {kind} {most} (planned dose not counted); none for who was "
            "nearer"
        )
    by = f"{held.reader or 'one person'} alone{f' with {held.own}' if held.own else ''}"
    return (
        f"{SECOND_TRY}: {left}; only on the adviser's word, if the plan allows it: {by}, from the control position; "
        "then away at once."
    )


def _small(dose_Sv: float, digits: int = 2) -> str:
    """A dose, rounded up, in one unit for all sources: their steps stand side by side."""
    return smallest((dose_Sv,), "equivalent", system="metric", digits=digits, round_up=True)[0]


def retreat_m(order: Order, welds: Sequence[Weld] = ()) -> float | None:
    """How far the retreat lies from the nearest weld or source change, in plan [m]; None where no place is stated.

    `welds`: those shot with the source, else all of the order.
    """
    site = order.site
    if site.retreat is None or site.retreat_at is None:
        return None
    spots = [w.at for w in welds or order.welds]
    spots += [order.source_changes_at.at[:2]] if order.source_changes_at is not None else []
    return max(_near(site.retreat_at, spots), REACH_M)


def _retreat(
    order: Order, upper_1m_Sv_s: float, limit_Sv_s: float | None, away_m: float | None, way_Sv: float | None
) -> str:
    """Where the crew withdraws to, and what a bare source brings there at most; that it is not stated, or too near.

    The dose of the way there stands in the first step where a try leaves room for it: one figure, in one place.

    Formula: rate at 1 m / distance^2 in plan from the nearest weld or source change; no shield, no wall, no air.
    """
    if order.site.retreat is None:
        return f"Retreat: {NOT_STATED}."
    told = f"Retreat: {order.site.retreat}"
    if away_m is None:
        return f"{told}, read there first; dose of the way: not computed (no place of it is stated)."
    rate = upper_1m_Sv_s / away_m**2
    most = show(rate, "equivalent_rate", digits=2, round_up=True)
    near = limit_Sv_s is not None and rate > limit_Sv_s
    if way_Sv is not None and first_try_s(order, upper_1m_Sv_s, way_Sv):
        return f"{told}{', TOO NEAR' if near else ''}: bare up to {most} there."
    way = (
        "dose of the way: not computed"
        if way_Sv is None
        else f"straight out from the control position and half round: up to {_small(way_Sv)} in all"
    )
    return f"{told}{', TOO NEAR' if near else ''}: bare up to {most} there. {way[0].upper()}{way[1:]}."


def _keep_out(order: Order, far_m: float) -> str:
    """Who leads, who clears which places within the distance; the crew's own places are a table beside the steps."""
    who = " or ".join(f"{c.name or c.role} ({c.phone})" for c in clears(order))
    places = "; ".join(within(order, far_m))
    more = "what the owner lists"
    cleared = f" ({places}; {more})" if places else f" ({more})"
    return (
        f"{leads(order)}. Keep everyone out: {who or f'who clears it: {NOT_STATED}'}{' clears' if who else ':'} every "
        f"place inside that distance{cleared} from afar. Nobody without a meter goes in. Who goes where: "
        "the table."
    )


def _nobody_nearer(order: Order, upper_1m_Sv_s: float) -> str:
    """What a recovery asks for, and that tongs and pot of the kit are not the crew's."""
    both = ", ".join(dict.fromkeys(g.id for g in order.kit.gear if g.kind in ("tongs", "recovery pot")))
    rate = _small(60.0 * upper_1m_Sv_s / REACH_M**2)
    short = f" {both}: {RECOVERY_ONLY}. At {REACH_M:g} m a bare source brings up to {rate} a minute."
    return (
        "Nobody goes nearer to recover a source without training for it, a written plan, a dose budget, a rehearsal "
        f"and a direct-reading dosimeter.{short if both else ''} Lead not in use is fetched only where the meter shows "
        f"{rope_words(order)}, and laid from as far away as it can be; "
        "watch the reading fall."
    )
