"""What a sized shield means for people: crew doses, averaging rules, barrier line, floors, access, lost shielding."""

from __future__ import annotations

import math
from dataclasses import replace

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics import nuclides
from halflayer.scene.matter import order_material
from halflayer.shielding import survey_shot
from halflayer.shielding.access import access
from halflayer.shielding.averaging import BARRIER, averages, shot_seconds
from halflayer.shielding.bare import bare_h10_rate_Sv_s
from halflayer.shielding.contour import contour
from halflayer.shielding.control_spot import control_spot
from halflayer.shielding.crew import Post, crew_member, mounting_s
from halflayer.shielding.doubtful_post import findings as doubtful
from halflayer.shielding.doubtful_post import with_margin
from halflayer.shielding.floor_size import Memo, emptied_words
from halflayer.shielding.floors import floor_doses
from halflayer.shielding.hour_at_rope import on_its_way, with_reshoots
from halflayer.shielding.look import Hints
from halflayer.shielding.lost_far import people_over
from halflayer.shielding.read_from import read_from_m
from halflayer.shielding.resets import openings, reset_of
from halflayer.shielding.result import LimitCheck, PointDose, Shielding
from halflayer.shielding.safety_result import Contour, CrewMember, FloorDose, Lost, Safety
from halflayer.shielding.spots import setting_of
from halflayer.shielding.still_out import still_out
from halflayer.shielding.travelling import travel_of, travels, with_travel
from halflayer.shielding.turn_back import with_turn_back
from halflayer.technique.result import Candidate


def safety(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    exposure: Exposure,
    shielding: Shielding,
    *,
    rope_times: float = 1.0,
    lost: Lost | None = None,
) -> Safety:
    """Crew doses and averaging rules of a weld: all that follows from the shield's doses without new transport.

    `rope_times`: the rope stands so many times as far out as a head in its exact place asks. `lost`: where it is known,
    nobody is posted where it empties places.
    """
    top = where_it_is_counted(order, shielding)
    people = with_margin(crew_members(order, weld, candidate, exposure, shielding), top)
    line = contour(order, weld, shielding, times=rope_times)
    line = replace(
        line,
        way_Sv=_way_at_rope_Sv(order, weld, candidate, exposure, line),
        read_from_m=read_from_m(order, weld, candidate, _bare_1m_Sv_s(order, candidate, exposure)),
    )
    spot = control_spot(order, weld, candidate, shielding, line)
    ways = access(
        order,
        weld,
        line,
        travel_of(shielding),
        people_over(order, weld, lost, line),
        spot.at if spot is not None else None,
    )
    counted, moving = with_travel(order, shielding)
    return Safety(
        crew=people,
        averages=averages(order, candidate, exposure, shielding),
        contour=line,
        access=ways,
        findings=(
            *moving,
            *survey_shot.findings(order, candidate, exposure, counted),
            *crew_findings(people, order.limits.crew.per_exposure_Sv),
            *doubtful(people, top),
            *line.findings,
            *ways.findings,
        ),
    )


def _way_at_rope_Sv(
    order: Order, weld: Weld, candidate: Candidate, exposure: Exposure, line: Contour
) -> float:
    """Most that a travelling source's ways bring at a corner of the rope in the hour, where that is limited [Sv]."""
    if order.limits.barrier.in_any_hour_Sv is None or not travels(order, candidate):
        return 0.0
    way = on_its_way(setting_of(order, weld, candidate, exposure), exposure)
    corners = [p.site for p in line.points if p.site is not None]
    return max((way(c) for c in corners), default=0.0) if way is not None else 0.0


def with_floors(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    exposure: Exposure,
    shielding: Shielding,
    before: Safety,
    *,
    seed: int,
    hints: Hints | None = None,
    known: Memo | None = None,
) -> Safety:
    """The safety result with the doses on the other floors of the order, for which transport is run.

    hints: what earlier runs of the weld learned; a copy is used, so that later runs learn nothing of floors.
    known: floors that the sizing has searched with that seed.
    """
    setting = setting_of(order, weld, candidate, exposure, dict(hints or {}))
    floors = (known or {}).get(shielding.fitting)
    if floors is None:
        floors = floor_doses(setting, exposure, shielding, seed=seed)
    return replace(before, floors=floors, findings=(*before.findings, *floor_findings(floors)))


def floor_findings(floors: tuple[FloorDose, ...]) -> list[Finding]:
    """A limit broken on a floor stops the weld; what is not known is told."""
    found = []
    for f in floors:
        if f.ok is False:
            assert f.upper_Sv_s is not None
            assert f.limit_Sv_s is not None
            found.append(
                Finding(
                    # Where a floor is not stated nobody may be able to stand where the most was found; one that the
                    # order says may be emptied has to be, which the weld's readiness then hangs on.
                    "stop" if f.stated and not f.emptied_by else "warn",
                    f"{f.floor}, {f.where}: up to {show(f.upper_Sv_s, 'equivalent_rate', digits=2)}, the limit is "
                    f"{show(f.limit_Sv_s, 'equivalent_rate', round_up=False)}",
                    source=f.basis,
                    relax=(emptied_words(f), "more shield on that side", "a weaker source"),
                )
            )
        elif f.rate_Sv_s is None:
            found.append(Finding("warn", f"dose on {f.floor} {f.basis}"))
        elif f.ok is None and f.limit_Sv_s is not None:
            text = (
                f"dose rate on {f.floor} is an estimate that is not known reliably: read in the first survey"
            )
            found.append(Finding("warn", text, "reliability of a Monte Carlo score"))
    return found


def with_crew(
    order: Order,
    candidate: Candidate,
    exposure: Exposure,
    shielding: Shielding,
    people: tuple[CrewMember, ...],
) -> Shielding:
    """The shielding result with the whole crew doses in place of those without walks and mounting.

    Limits on dose at places get the source on its way and what may be shot again counted in, points their turn-back
    readings.
    """
    shielding = with_reshoots(order, candidate, exposure, shielding)
    shielding = replace(shielding, points=with_turn_back(order, shielding.points, shielding.k))
    names = {p.name for p in order.crew}
    kept = tuple(c for c in shielding.limits if c.place not in names)
    checks: tuple[LimitCheck, ...] = tuple(c for p in people for c in p.limits)
    return replace(shielding, crew=tuple(p.whole for p in people), limits=(*kept, *checks))


def crew_members(
    order: Order, weld: Weld, candidate: Candidate, exposure: Exposure, shielding: Shielding
) -> tuple[CrewMember, ...]:
    """Every person's dose at a weld, in the sequence of the order's crew."""
    assert isinstance(exposure.activity.value, float)
    bare = _bare_1m_Sv_s(order, candidate, exposure)
    post = at_control(order, candidate, where_crew_stands(order, weld, shielding))
    names = {p.name for p in order.places if p.kind == "crew"}
    about = [p for p in shielding.points if p.name in names or p.name.startswith(BARRIER)]
    field = [p.upper_Sv_s * from_weld_m(weld, p) ** 2 for p in about]
    return tuple(
        replace(
            crew_member(
                order,
                candidate,
                person,
                activity_Bq=exposure.activity.value,
                shots_s=shot_seconds(exposure),
                first_out_s=exposure.first_out_s,
                others_s=exposure.first_survey.during_s if exposure.first_survey else 0.0,
                openings=openings(order, exposure, shielding.items),
                again=exposure.read_again,
                post=post,
                mount_s=mounting_s(order, shielding.items),
                reset_s=reset_of(order, shielding.items).seconds,
                bare_1m_Sv_s=bare,
            ),
            still_out=still_out(
                order,
                candidate,
                person,
                activity_Bq=exposure.activity.value,
                post_m=post.distance_m,
                field_Sv_m2_s=field,
                bare_1m_Sv_s=bare,
                travels=travels(order, candidate),
            ),
        )
        for person in order.crew
    )


def _bare_1m_Sv_s(order: Order, candidate: Candidate, exposure: Exposure) -> float:
    """Rate of the weld's bare source at 1 m [Sv/s]."""
    assert isinstance(exposure.activity.value, float)
    source = next(s for s in order.sources if s.id == candidate.source)
    capsule = order_material(order, source.capsule_material)
    energies, yields = nuclides.filtered(nuclides.nuclide(source.nuclide), capsule, source.capsule_wall_m)
    return bare_h10_rate_Sv_s(
        activity_Bq=exposure.activity.value,
        energies_keV=energies,
        photons_per_decay=yields,
        distance_m=1.0,
    )


def where_crew_stands(order: Order, weld: Weld, shielding: Shielding) -> Post:
    """Where the crew waits: at its own place where the order names one, else at the worst barrier point."""
    top = where_it_is_counted(order, shielding)
    if top is None:
        return Post(None, None, "not computed: no dose rate at the barrier is known")
    own = not top.name.startswith(BARRIER)
    words = f"upper rate at {top.name}" if own else f"upper rate at the barrier ({top.name})"
    return Post(top.upper_Sv_s, from_weld_m(weld, top), words)


def where_it_is_counted(order: Order, shielding: Shielding) -> PointDose | None:
    """The point whose rate the crew is counted at: the worst of its own places, else of the barrier."""
    names = {p.name for p in order.places if p.kind == "crew"}
    own = [p for p in shielding.points if p.name in names]
    ring = [p for p in shielding.points if p.name.startswith(BARRIER)]
    return max(own or ring, key=lambda p: p.upper_Sv_s, default=None)


def at_control(order: Order, candidate: Candidate, post: Post) -> Post:
    """Who cranks a source through a tube or into a bore stands at the control position during its exposures too.

    Formula: rate x (distance of the post / least distance to the way)^2, where the order's control position is nearer
    than the post; the way ends at the weld, so that the weld is no nearer. Source: inverse square law.
    """
    near = order.crew_times.transit_distance_m
    if not travels(order, candidate) or near is None or post.rate_Sv_s is None or post.distance_m is None:
        return post
    if near >= post.distance_m or any(p.kind == "crew" for p in order.places):
        return post
    rate = post.rate_Sv_s * (post.distance_m / near) ** 2
    return Post(rate, near, f"{post.words}, by inverse square to the control position")


def from_weld_m(weld: Weld, point: PointDose) -> float:
    """Distance of a place from the weld centre [m]."""
    return math.dist((*weld.at, weld.floor_level_m + weld.height_m), point.at)


def crew_findings(
    people: tuple[CrewMember, ...], per_exposure_Sv: float | None = None
) -> tuple[Finding, ...]:
    """Crew limits that one weld alone would break stop it; doses that are not computed are told."""
    found = []
    for p in people:
        for c in p.limits:
            if c.ok is False:
                found.append(
                    Finding(
                        "stop",
                        f"{p.name}: {c.upper_Sv * 1e6:.3g} uSv {c.kind} ({c.averaging}), "
                        f"the limit is {c.limit_Sv * 1e6:.3g} uSv",
                        source="limits of the order: crew",
                        relax=("share the work among more people", "shorter times beside the head"),
                    )
                )
        own = p.still_out.dose_Sv if p.still_out is not None else None
        if own is not None and per_exposure_Sv is not None and own > per_exposure_Sv:
            up = math.ceil(own * 1e7 - 1e-9) / 10
            text = (
                f"{p.name}: one survey with the source still out brings up to {up:g} uSv, the limit per "
                f"exposure is {per_exposure_Sv * 1e6:.3g} uSv: read the meter before every step in"
            )
            found.append(Finding("warn", text, source="limits of the order: crew"))
        if p.whole.value is None:
            found.append(
                Finding("warn", f"dose of {p.name} {p.whole.basis}", source="crew dose step by step")
            )
    return tuple(found)
