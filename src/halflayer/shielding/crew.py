"""Dose to each person of the crew for one weld, step by step: set-up, transit, exposure, survey, film, taking down."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.base.result import Derived
from halflayer.exposure.result import ReadAgain
from halflayer.order.crew import Person
from halflayer.order.equipment import Head
from halflayer.order.models import Order
from halflayer.shielding.hands import hand_dose, hands_with_body
from halflayer.shielding.readings import stored_rate_Sv_s, walk_dose_Sv
from halflayer.shielding.result import Item, LimitCheck
from halflayer.shielding.safety_result import CrewMember, CrewStep
from halflayer.shielding.step_figure import as_figure
from halflayer.technique.result import Candidate

TAKING_DOWN = "taking down"
RESETTING = "resetting between exposures"
MOVING, ROPING = "moving head and kit", "roping, signs and search"
FIRST_SURVEY, READ_AGAIN, OTHERS = "first survey", "reading before exposures", "points read in exposures"
WAY, WALK, SURVEY = "source on its way", "walking in and out", "survey"
# Steps of a weld that an exposure more does not repeat.
SINGLE = (MOVING, ROPING, "setting up", "mounting the shield", FIRST_SURVEY, TAKING_DOWN)
NO_READING = "not computed: no reading of the stored head is given"


@dataclass(frozen=True)
class Post:
    """Where the crew waits while the source is out: upper dose rate there, distance from the weld, in words."""

    rate_Sv_s: float | None
    distance_m: float | None  # None: not known, and the walk to the head is then not computed
    words: str


def mounting_s(order: Order, items: Sequence[Item]) -> float:
    """Time to mount the plates, blankets and shroud of a weld's kit list, one piece after the other [s]."""
    kit = order.kit
    each = {x.id: x.mounting_s for kind in (kit.plates, kit.blankets, kit.shrouds) for x in kind}
    return math.fsum(i.pieces * each.get(i.id, 0.0) for i in items)


def _step(
    what: str, seconds: float, times: int, rate: float | None, distance_m: float | None, basis: str
) -> CrewStep:
    dose = None if rate is None else rate * seconds * times
    if rate is None and seconds * times == 0.0:
        dose = 0.0
    return CrewStep(what, seconds, times, rate, distance_m, dose, basis)


def crew_steps(
    order: Order,
    candidate: Candidate,
    person: Person,
    *,
    activity_Bq: float,
    shots_s: Sequence[float],
    post: Post,
    mount_s: float,
    reset_s: float,
    bare_1m_Sv_s: float | None,
    first_out_s: float = 0.0,
    others_s: float = 0.0,
    openings: int = 0,
    again: ReadAgain | None = None,
) -> tuple[CrewStep, ...]:
    """The steps of one person's work at a weld, in the order in which they come.

    `shots_s` holds the exposure times, `mount_s` the time to mount the shield beside the head,
    `reset_s` that between two exposures (`resets.reset_of`),
    `bare_1m_Sv_s` the rate of the bare source at 1 m (for a source that travels to a spider unshielded),
    `first_out_s` how long the source is out for the first survey (`Exposure.first_out_s`), `others_s` how long
    something is read during exposures (`FirstSurvey.during_s`), `openings` how many resets more put a film in
    (`resets.openings`), `again` what is read before exposures.
    People without a task at the head stand at the post; each person is counted with the whole time of a
    task, as if all did it together, which errs on the high side.
    """
    head = next(h for h in order.heads if h.id == candidate.head)
    times, n = order.crew_times, len(shots_s)
    tasks = person.tasks or (() if person.role == "sentry" else ("set-up", "film change", "survey"))
    near = times.hand_distance_m
    beside = stored_rate_Sv_s(head, activity_Bq, near)
    words = NO_READING if beside is None else "reading of the stored head, inverse square"
    steps = _about_the_weld(order, head, activity_Bq)
    if "set-up" in tasks:
        steps += [
            _step("setting up", times.set_up_s, 1, beside, near, words),
            _step("mounting the shield", mount_s, 1, beside, near, words),
            # None between exposures at a weld of one, but a reshoot takes one.
            _step(RESETTING, reset_s, n - 1 + openings, beside, near, words),
        ]
    if first_out_s > 0.0:
        steps.append(_at_rope(order, post, FIRST_SURVEY, first_out_s, 1))
    if again is not None:
        steps.append(_at_rope(order, post, READ_AGAIN, again.out_s, again.times))
    # Each of these takes the source out and home once more, and somebody in to read that it is.
    rounds = n + (first_out_s > 0.0) + (again.times if again else 0)
    steps += [
        _transit(order, candidate, head, rounds, post, bare_1m_Sv_s),
        CrewStep(
            "exposures",
            math.fsum(shots_s) / n,
            n,
            post.rate_Sv_s,
            post.distance_m,
            None if post.rate_Sv_s is None else post.rate_Sv_s * math.fsum(shots_s),
            post.words,
        ),
    ]
    if "survey" in tasks:
        if others_s > 0.0:
            steps += _others(order, post, others_s)
        if post.distance_m is not None:
            steps.append(_walk(head, activity_Bq, times.walk_s, rounds, post.distance_m, near))
        survey = stored_rate_Sv_s(head, activity_Bq, times.survey_distance_m)
        steps.append(_step(SURVEY, times.survey_s, rounds, survey, times.survey_distance_m, words))
    if "film change" in tasks:
        # After a reading without one a film is laid too.
        steps.append(_step("film change", times.film_change_s, rounds, beside, near, words))
    if "set-up" in tasks:
        down = mount_s if order.allowance.take_down_s is None else order.allowance.take_down_s
        steps.append(_step(TAKING_DOWN, down, 1, beside, near, words))
    return tuple(steps)


def _at_rope(order: Order, post: Post, what: str, seconds: float, times: int) -> CrewStep:
    """Readings with the source out and no film: everyone is counted at the rope, where they are taken.

    Formula: barrier's rate limit, or the rate of the post where that is more or no rate is limited, x time. Source: the
    rope stands where the upper bound is no more than that limit.
    """
    limit = order.limits.barrier.rate_Sv_s
    if post.rate_Sv_s is None:
        return _step(what, seconds, times, None, None, post.words)
    rate = max(post.rate_Sv_s, limit or 0.0)
    words = "at the rope: the barrier's rate limit, or the post's if more"
    return _step(what, seconds, times, rate, None, words)


def _others(order: Order, post: Post, seconds: float) -> list[CrewStep]:
    """What whoever reads points at the rope during exposures gets more than at the post, where it is counted all along.

    Formula: (barrier's rate limit - rate of the post) x time; empty where the post's rate is no less.
    """
    limit = order.limits.barrier.rate_Sv_s
    if post.rate_Sv_s is None or limit is None or limit <= post.rate_Sv_s:
        return []
    words = "at the rope: the barrier's rate limit less the post's rate, which the exposures count"
    return [_step(OTHERS, seconds, 1, limit - post.rate_Sv_s, None, words)]


def _about_the_weld(order: Order, head: Head, activity_Bq: float) -> list[CrewStep]:
    """Everyone's steps beside the closed head as it is carried and stands there; empty where the order states no times.

    All are counted in all of them, with roping and search no nearer to the head than the survey is made.
    """
    t = order.crew_times
    found = []
    for what, seconds, away in (
        (MOVING, t.moving_s, t.moving_distance_m),
        (ROPING, (t.roping_s or 0.0) + (t.search_s or 0.0), t.survey_distance_m),
    ):
        if seconds:
            rate = stored_rate_Sv_s(head, activity_Bq, away)
            words = NO_READING if rate is None else "reading of the stored head, inverse square"
            found.append(_step(what, seconds, 1, rate, away, words))
    return found


def _walk(head: Head, activity_Bq: float, seconds: float, shots: int, from_m: float, to_m: float) -> CrewStep:
    """In with the meter after each exposure, and back out before the next one."""
    at_1m = stored_rate_Sv_s(head, activity_Bq, 1.0)
    times = 2 * shots
    if at_1m is None or seconds == 0.0:
        return _step(WALK, seconds, times, at_1m, None, NO_READING)
    dose = walk_dose_Sv(at_1m_Sv_s=at_1m, from_m=max(from_m, to_m), to_m=to_m, seconds=seconds)
    basis = (
        f"reading of the stored head, inverse square along the way from {max(from_m, to_m):.2g} to {to_m:g} m"
    )
    return CrewStep(WALK, seconds, times, dose / seconds, None, dose * times, basis)


def _transit(
    order: Order, candidate: Candidate, head: Head, shots: int, post: Post, bare_1m_Sv_s: float | None
) -> CrewStep:
    """The source on its way between stored and beam position, out and back for each exposure."""
    what, times, transit_m = WAY, 2 * shots, order.crew_times.transit_distance_m
    if head.kind == "shielded" and candidate.guide is None:
        basis = f"inside the head, counted as out: {post.words}"
        return _step(what, head.travel_s, times, post.rate_Sv_s, post.distance_m, basis)
    if transit_m is None or bare_1m_Sv_s is None:
        words = (
            "not computed: the least distance to the bare source is not stated (crew_times: transit_distance)"
        )
        return _step(what, head.travel_s, times, None, None, words)
    source = next(s for s in order.sources if s.id == candidate.source)
    rate = (1.0 + source.activity_uncertainty) * bare_1m_Sv_s / transit_m**2
    basis = "bare source at the least stated distance the whole way, its certificate's uncertainty counted in"
    return _step(what, head.travel_s, times, rate, transit_m, basis)


def whole_dose(order: Order, person: Person, steps: Sequence[CrewStep]) -> Derived:
    """The sum of the steps as an opened figure; value None where a step is not computed."""
    missing = [s.what for s in steps if s.dose_Sv is None]
    total = None if missing else math.fsum(s.dose_Sv for s in steps if s.dose_Sv is not None)
    return Derived(
        name=f"crew_dose_{person.id}",
        value=total,
        unit="Sv",
        symbol="H*(10)",
        formula=" + ".join(s.what for s in steps),
        inputs=tuple(as_figure(s) for s in steps),
        source=f"times per step: {order.crew_times.basis}",
        basis=f"not computed: {', '.join(missing)}" if missing else "upper values; background not included",
    )


def repeated_Sv(member: CrewMember) -> float | None:
    """Dose of one person's steps that come again with every exposure of a weld [Sv]; None where not computed."""
    # An exposure more takes a reset and a reading more, where the planned ones take one fewer than there are.
    doses = [s.dose_Sv for s in member.steps if s.what not in (*SINGLE, OTHERS)]
    doses += [
        None if s.rate_Sv_s is None and s.seconds else (s.rate_Sv_s or 0.0) * s.seconds
        for s in member.steps
        if s.what in (RESETTING, READ_AGAIN)
    ]
    return None if None in doses else math.fsum(d for d in doses if d is not None)


def crew_dose(
    order: Order,
    candidate: Candidate,
    person: Person,
    *,
    activity_Bq: float,
    exposure_s: float,
    at_barrier_Sv_s: float | None,
    barrier_words: str,
    first_out_s: float = 0.0,
) -> Derived:
    """Dose of one person for one weld without mounting and walks [Sv]; value None where a part is not computed.

    For callers that know neither the kit list nor where the crew stands; `crew_member` gives the whole.
    `at_barrier_Sv_s` is the upper bound of the rate where the crew stands while the source is out.
    """
    n = len(candidate.shots)
    steps = crew_steps(
        order,
        candidate,
        person,
        activity_Bq=activity_Bq,
        shots_s=[exposure_s / n] * n,
        post=Post(at_barrier_Sv_s, None, barrier_words),
        mount_s=0.0,
        reset_s=order.crew_times.reset_s,
        bare_1m_Sv_s=None,
        first_out_s=first_out_s,
    )
    return whole_dose(order, person, steps)


def crew_member(
    order: Order,
    candidate: Candidate,
    person: Person,
    *,
    activity_Bq: float,
    shots_s: Sequence[float],
    post: Post,
    mount_s: float,
    reset_s: float,
    bare_1m_Sv_s: float | None,
    first_out_s: float = 0.0,
    others_s: float = 0.0,
    openings: int = 0,
    again: ReadAgain | None = None,
) -> CrewMember:
    """One person's steps, whole dose, hands and limits for a weld; arguments as for `crew_steps`."""
    steps = crew_steps(
        order,
        candidate,
        person,
        activity_Bq=activity_Bq,
        shots_s=shots_s,
        post=post,
        mount_s=mount_s,
        reset_s=reset_s,
        bare_1m_Sv_s=bare_1m_Sv_s,
        first_out_s=first_out_s,
        others_s=others_s,
        openings=openings,
        again=again,
    )
    whole = whole_dose(order, person, steps)
    return CrewMember(
        id=person.id,
        name=person.name,
        role=person.role,
        steps=steps,
        whole=whole,
        hands=hands_with_body(hand_dose(order, candidate, person, activity_Bq=activity_Bq), whole),
        limits=tuple(_limits(order, person, steps, shots_s)),
    )


ONCE = (*SINGLE, RESETTING)


def _limits(
    order: Order, person: Person, steps: Sequence[CrewStep], shots_s: Sequence[float]
) -> list[LimitCheck]:
    """The crew's limits of all kinds against this weld alone."""
    limit = order.limits.crew
    n = len(shots_s)
    longest = max(shots_s) / (math.fsum(shots_s) / n)
    # An exposure with a reading before it has the source out twice, and two walks in to read that it is home.
    twice = 2 if any(s.what == READ_AGAIN for s in steps) else 1
    each = {WAY: 2 * twice, WALK: 2 * twice, SURVEY: twice}
    one = [
        (
            s.what,
            None
            if s.dose_Sv is None
            else s.dose_Sv
            * (each.get(s.what, 1) / max(s.times, 1))
            * (longest if s.what == "exposures" else 1.0),
        )
        for s in steps
        if s.what not in ONCE
    ]
    whole = [(s.what, s.dose_Sv) for s in steps]
    before = person.dose_this_year_Sv or 0.0
    year = (
        "with the dose of this year so far"
        if before
        else "this weld only; the dose of the year is not stated"
    )
    rows = [
        (
            "per exposure",
            "the longest, its way, walk, survey, film",
            one,
            1.0,
            0.0,
            limit.per_exposure_Sv,
        ),
        ("per shift", "this weld only", whole, 1.0, 0.0, limit.per_shift_Sv),
        (
            "per week",
            f"this weld in {order.shift.per_week} shifts",
            whole,
            order.shift.per_week,
            0.0,
            limit.per_week_Sv,
        ),
        ("per year", year, whole, 1.0, before, limit.per_year_Sv),
    ]
    found = []
    for kind, words, parts, factor, plus, value in rows:
        if value is None:
            continue
        # One weld under the year's limit says nothing of a year whose dose so far is not stated.
        known = all(d is not None for _, d in parts) and (kind != "per year" or before > 0.0)
        least = plus + factor * math.fsum(d for _, d in parts if d is not None)
        # A part that is not computed leaves the sum unknown, and an unknown sum never holds.
        ok = least <= value if known or least > value else None
        found.append(LimitCheck(person.name, kind, words, least, least, value, ok))
    return found
