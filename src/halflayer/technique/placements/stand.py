"""The stand that carries a head over the weld: which hole, which lean, which side, which clocks."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from halflayer.order.equipment import PlacementName, Shroud
from halflayer.order.stand_kit import Clamp, Legs
from halflayer.technique import room
from halflayer.technique.ask import Ask, Check, Proposal
from halflayer.technique.ellipse import ABOUT_SHARE, LARGEST_OPENING_M, opening_m, swung, wanted_opening_m
from halflayer.technique.placements import shrouds
from halflayer.technique.placements.base import (
    distance_check,
    shots_at,
    unequal_check,
    with_the_real_b_m,
)
from halflayer.technique.placements.stand_checks import (
    Standing,
    aperture_for,
    below_part,
    clamp_options,
    film_check,
    head_part,
    legs_check,
    neighbours_check,
)
from halflayer.technique.placements.stand_settings import Stood, stand_settings
from halflayer.technique.rules import Answer, ExposurePlan, MinimumDistance, TechniqueName

FREE_LEAN_STEP = math.radians(0.5)  # lean that is looked for where the kit has no legs, our choice
STEEPEST = math.radians(75)
FINEST_M = 0.001  # of finer rows of holes every so many are tried that a step is about this, our choice
FINEST_RAD = math.radians(0.05)
MOST_HOLES = 2000  # holes looked at beyond the first that may do


def _lean_for_opening(ask: Ask, reach_m: float, step_rad: float) -> float:
    """The lean in whole steps that opens the images as wanted; 0 where no step keeps off the pipe.

    The opening grows with the lean: the step below the wanted opening is taken where it is the nearer one and lacks a
    tenth at most (`ABOUT_SHARE`), else the one that reaches it: images too near hide what lies between them.
    """
    step = step_rad * max(1, math.ceil(FINEST_RAD / step_rad - 1e-9))
    wanted = wanted_opening_m(ask.weld.cap.width_m)

    def off_pipe(k: int) -> bool:
        return k * step <= STEEPEST and swung(reach_m=reach_m, lean_rad=k * step, diameter_m=ask.od)[1] > 1e-6

    def opening(k: int) -> float:
        offset, standoff = swung(reach_m=reach_m, lean_rad=k * step, diameter_m=ask.od)
        return opening_m(
            offset_m=offset,
            standoff_m=standoff,
            diameter_m=ask.od,
            gap_m=ask.gap,
            weld_width_m=ask.weld.cap.width_m,
        )

    k = 0
    while off_pipe(k + 1) and opening(k) < wanted:
        k += 1
    below = opening(k - 1) if k > 1 else -math.inf
    past = opening(k) > LARGEST_OPENING_M
    if past or (below >= (1.0 - ABOUT_SHARE) * wanted and abs(below - wanted) < abs(opening(k) - wanted)):
        k = max(k - 1, min(k, 1))
    return k * step


@dataclass(frozen=True)
class Swing:
    """How a stand is swung: not at all, or to the side `sign` by the lean that opens the ellipse or a fixed one."""

    leans: bool
    sign: int = 1
    lean_rad: float | None = None  # made for; None: the step that opens the ellipse as wanted


def _at(ask: Ask, legs: Legs | None, hole: int, reach_m: float, swing: Swing) -> Standing:
    lean = 0.0
    if swing.leans and swing.lean_rad is not None:
        step = legs.lean_step_rad if legs else FREE_LEAN_STEP
        lean = swing.sign * step * round(swing.lean_rad / step)
        # A lean that brings the head down on the pipe is no standing; the first step off it is looked at.
        if swung(reach_m=reach_m, lean_rad=lean, diameter_m=ask.od)[1] <= 1e-6:
            lean = 0.0
    elif swing.leans:
        lean = swing.sign * _lean_for_opening(ask, reach_m, legs.lean_step_rad if legs else FREE_LEAN_STEP)
    offset, standoff = swung(reach_m=reach_m, lean_rad=lean, diameter_m=ask.od)
    return Standing(legs, hole if legs else None, reach_m, lean, offset, standoff)


def hole_count(legs: Legs) -> int:
    """Number of holes of a row; none where its shortest reach lies beyond its longest."""
    return max(math.floor((legs.reach_max_m - legs.reach_min_m) / legs.hole_pitch_m + 1e-9) + 1, 0)


def stood_at(ask: Ask, legs: Legs, hole: int, swing: Swing) -> Standing:
    """The standing in a numbered hole, counted from 1 at the shortest reach."""
    return _at(ask, legs, hole, legs.reach_min_m + (hole - 1) * legs.hole_pitch_m, swing)


def _keeps(ask: Ask, s: Standing, minimum: Answer[MinimumDistance]) -> bool:
    low = min(z for _, _, z in head_part(ask, s).corners)
    return s.standoff_m >= minimum.value.distance_m - 1e-9 and low >= ask.radius + ask.crown - 1e-9


def _first_hole(
    ask: Ask,
    legs: Legs | None,
    minimum: Answer[MinimumDistance],
    *,
    start: int,
    stop: int | None,
    swing: Swing,
) -> Standing | None:
    """The first hole from number `start` on (counted from 0) that keeps the distance and the head off the pipe."""
    first_m, pitch = (legs.reach_min_m, legs.hole_pitch_m) if legs else (FINEST_M, FINEST_M)
    stride = max(1, math.ceil(FINEST_M / pitch - 1e-9))
    # Leaning never brings the source farther off than its reach, so nearer holes cannot do.
    n = max(start, math.ceil((minimum.value.distance_m - first_m) / pitch - 1e-6))
    for _ in range(MOST_HOLES):
        if stop is not None and n >= stop:
            return None
        s = _at(ask, legs, n + 1, first_m + n * pitch, swing)
        if _keeps(ask, s, minimum):
            return s
        n += stride
    return None


def standings(
    ask: Ask, technique: TechniqueName, swing: Swing, *, lift_m: float | None = None
) -> Iterator[tuple[Standing, Answer[MinimumDistance], tuple[str, ...]]]:
    """Where the source may stand, with the least distance that applies and how to come farther off.

    For each legs of the kit and each least distance of the code the first hole that keeps it; where no hole
    keeps any, the last hole with the plain distance. Without legs: just the distance, rounded up to 1 mm.
    `lift_m` is what holds the detector off; left out: the insulation.
    """
    lift = ask.insulation if lift_m is None else lift_m
    minima = ask.rules.minimum_distances(
        technique, focal_m=ask.focal(), diameter_m=ask.od, wall_m=ask.wall, lift_m=lift
    )
    kit: list[Legs | None] = [legs for legs in ask.order.kit.legs if legs.count > 0]
    for legs in kit or [None]:
        holes = None
        if legs:
            holes = hole_count(legs)
        found = False
        for minimum in minima:
            first = _first_hole(ask, legs, minimum, start=0, stop=holes, swing=swing)
            if first:
                found = True
                yield _off_by_the_real_b(ask, first, legs, minimum, holes, swing), minimum, ()
        if found:
            continue
        if not legs or not holes:
            yield _at(ask, None, 0, minima[0].value.distance_m, swing), minima[0], ()
            continue
        last = legs.reach_min_m + (holes - 1) * legs.hole_pitch_m
        farther = _first_hole(ask, legs, minima[0], start=holes, stop=None, swing=swing)
        more: tuple[str, ...] = ()
        if farther:
            lack = farther.reach_m - legs.reach_max_m
            more = (f"more reach: {math.ceil(lack * 1e3 - 1e-6)} mm",)
        yield _at(ask, legs, holes, last, swing), minima[0], more


def _off_by_the_real_b(
    ask: Ask,
    first: Standing,
    legs: Legs | None,
    minimum: Answer[MinimumDistance],
    holes: int | None,
    swing: Swing,
) -> Standing:
    """The first hole that keeps the distance with the real b as well, where these legs have one (our choice).

    The code puts De for the b of a double image, and the film lies farther off than that.
    """
    least = with_the_real_b_m(ask, minimum.value)
    if least is None or first.standoff_m >= least - 1e-9:
        return first
    strict = replace(minimum, value=replace(minimum.value, distance_m=least))
    return _first_hole(ask, legs, strict, start=0, stop=holes, swing=swing) or first


MoreChecks = Callable[[Ask, Standing, Clamp | None, float | None], tuple[Check, ...]]


def _no_more(ask: Ask, s: Standing, clamp: Clamp | None, clamp_x_m: float | None) -> tuple[Check, ...]:
    return ()


def stand_proposals(
    ask: Ask,
    technique: TechniqueName,
    *,
    arrangement: PlacementName,
    leans: bool,
    kinds: Sequence[Shroud | None] = (None,),
    over_clamp: bool = False,
    more_checks: MoreChecks = _no_more,
) -> Iterator[Proposal]:
    """Every stand worth judging for a technique: clamp, shroud, legs and hole, lean, clocks, aperture, with checks.

    A leaning head stands on the side away from its clamp, or with `over_clamp` on the clamp's side.
    """
    for clamp, clamp_x, clamp_verdict in clamp_options(ask):
        side = -1 if clamp_x is not None and clamp_x > 0 else 1
        side = -side if over_clamp else side
        for shroud in kinds:
            swing = Swing(leans, side, shroud.lean_rad if shroud else None)
            for s, minimum, more in standings(ask, technique, swing):
                yield _proposal(
                    ask,
                    technique,
                    arrangement,
                    Stood(clamp, clamp_x, s, shroud),
                    minimum,
                    clamp_verdict,
                    more=more,
                    extra=more_checks(ask, s, clamp, clamp_x),
                )


def _proposal(
    ask: Ask,
    technique: TechniqueName,
    arrangement: PlacementName,
    stood: Stood,
    minimum: Answer[MinimumDistance],
    clamp_verdict: Check,
    *,
    more: tuple[str, ...],
    extra: tuple[Check, ...],
) -> Proposal:
    plan = ask.rules.exposures(technique, diameter_m=ask.od, wall_m=ask.wall).value
    assert plan is not None  # double image exposures are prescribed by every code
    if (count := ask.at_least(plan.count)) > plan.count:
        plan = ExposurePlan(count, (math.pi / count,))  # double images: two of a place in a turn
    s, shroud = stood.standing, stood.shroud
    below, unchecked = below_part(
        ask,
        s,
        foot_z_m=shrouds.foot_z_m(ask, s, shroud) if shroud else None,
        plates=arrangement != "lean-back",
    )
    parts = [head_part(ask, s), below]
    chosen, lit = aperture_for(ask, s)
    if shroud:
        parts.append(shrouds.part(ask, s, shroud))
        extra += shrouds.checks(ask, s, shroud, chosen, stood.clamp, stood.clamp_x_m)
    clocks = room.choose_clocks(
        ask.weld, tuple(parts), count=plan.count, spacings_rad=plan.spacings_rad, unchecked=unchecked
    )
    q = opening_m(
        offset_m=s.offset_m,
        standoff_m=s.standoff_m,
        diameter_m=ask.od,
        gap_m=ask.gap,
        weld_width_m=ask.weld.cap.width_m,
    )
    distance = distance_check(ask, minimum, focal_m=ask.focal(), source_to_object_m=s.standoff_m, more=more)
    return Proposal(
        technique=technique,
        arrangement=arrangement,
        standoff_m=s.standoff_m,
        offset_m=s.offset_m,
        lean_rad=s.lean_rad,
        source_to_object_m=s.standoff_m,
        object_to_detector_m=ask.od + ask.gap,
        focal_m=ask.focal(),
        minimum=minimum,
        shots=shots_at(clocks.clocks, evaluated_rad=2 * math.pi),
        checks=(
            distance,
            clamp_verdict,
            legs_check(ask, s, shroud, stood.clamp),
            lit,
            film_check(ask, s, stood.clamp, stood.clamp_x_m),
            neighbours_check(ask, s),
            *extra,
            *unequal_check(ask),
            clocks.room,
        ),
        aperture=chosen,
        clamp=stood.clamp.id if stood.clamp else None,
        clamp_x_m=stood.clamp_x_m,
        legs=s.legs.id if s.legs else None,
        leg_hole=s.hole,
        lap_rad=ask.double_lap_rad(),
        opening_m=q if technique == "DWDI ellipse" else None,
        shroud=shroud.id if shroud else None,
        settings=stand_settings(ask, stood),
    )
