"""Lost shielding: dose with a plate left out, wrap or shroud open, the head turned or shifted, and what may be out."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from halflayer.base.result import Derived, Finding
from halflayer.base.units import show
from halflayer.exposure.result import Exposure
from halflayer.scene.build import Built
from halflayer.scene.frame import Vec3, add, dot, scaled, unit
from halflayer.scene.pipework import X, outside_radius
from halflayer.shielding import kit
from halflayer.shielding.asks import Ask
from halflayer.shielding.averaging import BARRIER
from halflayer.shielding.bench import (
    BATCHES,
    Bench,
    bench_of,
    cosine,
    noise,
    sideways,
    upper,
)
from halflayer.shielding.contour import contour
from halflayer.shielding.look import Rate, Setting
from halflayer.shielding.lost_far import kept_times
from halflayer.shielding.moved import (
    SHROUD,
    hole_along,
    with_hole,
    without_shroud,
)
from halflayer.shielding.resets import laid_anew
from halflayer.shielding.result import Shielding
from halflayer.shielding.risen import COVERAGE, told
from halflayer.shielding.rope_out import read_instead, rope_times
from halflayer.shielding.safety_result import FloorDose, Lost, LostCase, SurveyHint
from halflayer.shielding.spots import changed
from halflayer.shielding.tolerance import shifted_by, tolerance, turned_by, weak_axis

HINT_LEAST = 1.5  # times: what a meter of 20 % tells from a reading expected to some 20 %, our choice
FACTOR_NOISE_MOST = 0.5  # a ratio of two looks that is noisier than this says nothing: our choice
ALONG = 0.87  # cosine beyond which a point counts as along a line, 30 deg
WITHIN = 0.9  # of the aperture's half width: a ray that is surely in the beam
OTHER = "another exposure (planned times rise)"
AS_PLANNED = "read lower than as planned, by noise: the planned figure stands"
LIT_M = 0.002  # above the pipe's surface

# A right set-up on a meter that reads high turns the crew back too. The same meter read again repeats its error, and a
# second try with the source out is no turning back: another meter reads when the source goes out again, for that only.
STEPS = (
    "Stop where the reading is at the sheet's turn-back reading or above. Believe the meter; do not go on to the head "
    "to look.",
    "Close the source from the control position; step back until the reading is the one expected there.",
    "Watch the reading while the source closes. If it falls as planned, the shield is not where it was; if it does "
    "not, treat the source as out and follow your own contingency plan and adviser.",
    "With the source closed and surveyed: compare with the table of cases, look for what is out of place at this weld "
    "(stop, wrap or shroud as its sheet has them, head turned or shifted), a fitting that differs from the sheet.",
    "Put right what is found, note reading and cause, and open again for a survey only, from outside the barrier. If "
    "nothing is found: so too, once, with another meter; note both readings.",
    "If that reads so too, the plan does not describe the set-up: do not expose by it, tell the adviser, and have the "
    "weld planned again with what stands there.",
)


def lost_shielding(
    setting: Setting,
    exposure: Exposure,
    shielding: Shielding,
    *,
    seed: int,
    thorough: bool = False,
    floors: Sequence[FloorDose] = (),
) -> Lost:
    """Looks at one exposure (`looked_at`) with one thing at a time out of place.

    The same random numbers serve the set-up as planned and every case, so that their ratio is less noisy than
    the rates. All figures are looks with their noise, not proofs. `thorough` looks at every place for a hole and
    farther for how much the head may be off; without it a stand's hole is the one between pipe and people.
    Where no turn or shift is known to hold at the rope, all is told for a rope as far out as that asks, if the order
    lets it stand there; so too where what shields is laid anew between exposures and may be lost in each.
    `floors`: those whose doses are known, which a fault raises too.
    """
    order, weld = setting.order, setting.weld
    bench = bench_of(setting, exposure, shielding, seed, floors)
    found = _looked(bench, thorough)
    times = rope_times(order, weld, shielding, found.tolerance)
    if laid_anew(order, setting.candidate, shielding):
        times = max(times, kept_times(order, weld, found, contour(order, weld, shielding)))
    if times > 1.0:
        # The same looks, told for the rope as it is then laid.
        rope = contour(order, weld, shielding, times=times)
        found = replace(_looked(bench.farther(weld, shielding, rope), thorough), rope_times=times)
    return replace(found, tolerance=read_instead(found.tolerance))


def _looked(bench: Bench, thorough: bool) -> Lost:
    turned = _turned(bench)
    shifted = _shifted(bench)
    looked = (_plate(bench), _layer(bench), _shroud(bench), _open(bench, thorough), turned, shifted)
    within = tolerance(bench, turned, shifted, thorough=thorough)
    farther = {"head turned": (within.turn, turned_by), "head shifted": (within.shift, shifted_by)}
    axis = None if bench.built.beam.is_open else weak_axis(bench)[0]
    cases = [
        c if axis is None or c.name not in farther else _by_farther(bench, c, *farther[c.name], axis)
        for c in looked
        if c is not None
    ]
    return Lost(
        shot=bench.setting.candidate.shots.index(bench.shot) + 1,
        cases=tuple(cases),
        tolerance=within,
        hints=_hints(cases),
        steps=STEPS,
        findings=tuple(_findings(cases)),
    )


# --- cases ---------------------------------------------------------------------------------------------


def _plate(b: Bench) -> LostCase | None:
    if b.fitting.plates < 1:
        return None
    piece = kit.plate_kind(b.setting.order, b.fitting)
    # A folded piece is left out as it is laid, with all of its layers.
    each = piece.per_piece if piece is not None else 1
    one = "folded piece" if piece is not None and piece.folded else "plate"
    there = math.ceil(b.fitting.plates / each)
    fewer = replace(b.fitting, plates=each * (there - 1))
    what = f"{there - 1} in place of {there} {one}{'' if there == 1 else 's'} in the stop"
    return _case(
        b, f"one {one} missing", what, b.look(b.setting, fewer, what="one piece of the stop missing")
    )


def _layer(b: Bench) -> LostCase | None:
    """The wrap with one of its layers left out, all round: what a miscount brings."""
    there = b.fitting.layers
    if there < 1:
        return None
    fewer = replace(b.fitting, layers=there - 1)
    what = f"{there - 1} in place of {there} layer{'' if there == 1 else 's'} in the wrap, all round"
    return _case(b, "one layer missing", what, b.look(b.setting, fewer, what="one layer missing"))


def _shroud(b: Bench) -> LostCase | None:
    """The shroud left off, all of it: the most that an open joint, lid or foot can come to."""
    if not any(s.name == SHROUD for s in b.built.scene.solids):
        return None
    what = f"no {b.setting.candidate.shroud} at all: the most that an open joint or lid brings"
    b = b.also(b.all_round)
    return _case(b, "shroud open", what, b.look(changed(b.setting, without_shroud), b.fitting, what=what))


def _open(b: Bench, thorough: bool) -> LostCase | None:
    """The wrap open where it matters most, among the places looked at."""
    if b.fitting.layers < 1:
        return None
    edge = b.setting.order.kit.wrap_opening_m
    found: list[LostCase] = []
    for words, start, direction in _openings(b):
        hole = hole_along(b.built, start=start, direction=direction, edge_m=edge)
        if hole is None or (found and not thorough):
            continue

        def change(built: Built, hole=hole) -> Built:  # type: ignore[no-untyped-def]
            return with_hole(built, hole)

        what = f"a hole of {edge * 1000:.0f} x {edge * 1000:.0f} mm through all layers, {words}"
        found.append(
            _case(b, "wrap open", what, b.look(changed(b.setting, change), b.fitting, what=f"open {hole!r}"))
        )
    worst = max(found, key=lambda c: c.factor or 0.0, default=None)
    if worst is None:
        return None
    return (
        replace(worst, what=f"{worst.what} (worst of {len(found)} places looked at)")
        if len(found) > 1
        else worst
    )


def _openings(b: Bench) -> list[tuple[str, Vec3, Vec3]]:
    """Where a hole matters most, as rays from inside the set-up, in words.

    An open source: towards the worst barrier point off the pipe. A strapped head: in the beam, which nothing but
    the wrap stops, on its side towards people. A stand: behind the stop, and between the lit pipe and the worst
    barrier point that lies neither along the pipe, nor behind the head, nor behind the stop.
    """
    aim = b.built.aim
    if b.built.beam.is_open:
        top = _worst_off(b, (X,))
        start = b.built.source_at
        return [] if top is None else [(f"towards {top.name}", start, add(top.local, scaled(start, -1.0)))]
    found = [("behind the pipe in the beam, on its side towards people", b.built.source_at, _in_beam(b))]
    top = _worst_off(b, (X, aim)) if b.fitting.plates else None
    if top is not None:
        # From where the beam meets the pipe, not from within it: the pipe itself goes through the wrap.
        lit = scaled(aim, -outside_radius(b.setting.weld) - LIT_M)
        side = (f"between the lit pipe and {top.name}", lit, add(top.local, scaled(lit, -1.0)))
        found = [side, *found]
    return found


def _in_beam(b: Bench) -> Vec3:
    """The ray within the beam that comes nearest to a barrier point, a tenth inside the aperture's edge."""
    ring = [r.ask for r in b.planned if r.ask.radius_m is not None]
    if not ring:
        return b.built.aim
    nearest = max(ring, key=lambda a: cosine(b.built, a, b.built.aim))
    return towards(b.built, nearest.local)


def towards(built: Built, point: Vec3) -> Vec3:
    """The direction from the source to a point, drawn in towards the beam's axis until it lies within the aperture.

    The axis itself where the point lies beside or behind the source.
    """
    to = add(point, scaled(built.source_at, -1.0))
    ahead = dot(to, built.aim)
    if ahead <= 0.0:
        return built.aim
    off = add(scaled(to, 1.0 / ahead), scaled(built.aim, -1.0))  # at unit distance along the axis
    share = 1.0
    if built.rect is not None:
        for axis, half in zip((built.axis_along, sideways(built)), built.rect, strict=True):
            share = min(share, WITHIN * math.tan(half) / max(abs(dot(off, axis)), 1e-12))
    elif built.half_angle_rad is not None:
        share = min(share, WITHIN * math.tan(built.half_angle_rad) / max(math.sqrt(dot(off, off)), 1e-12))
    return unit(add(built.aim, scaled(off, share)))


def _worst_off(b: Bench, lines: Sequence[Vec3]) -> Ask | None:
    """The barrier point with most dose as planned that lies along none of the lines, on either side."""
    ring = [r for r in b.planned if r.ask.radius_m is not None]
    off = [r for r in ring if all(abs(cosine(b.built, r.ask, v)) < ALONG for v in lines)]
    return max(off, key=lambda r: r.rate_Sv_s).ask if off else None


def _turned(b: Bench) -> LostCase | None:
    angle = b.setting.order.kit.head_turn_rad
    if b.built.beam.is_open or angle == 0.0:
        return None
    axis, words = weak_axis(b)
    rates = turned_by(b, axis)(angle)
    return _case(b, "head turned", f"head and beam turned by {math.degrees(angle):.3g} deg, {words}", rates)


def _shifted(b: Bench) -> LostCase | None:
    way = b.setting.order.kit.head_shift_m
    if b.built.beam.is_open or way == 0.0:
        return None
    axis, words = weak_axis(b)
    rates = shifted_by(b, axis)(way)
    return _case(b, "head shifted", f"head and beam shifted by {way * 1000:.3g} mm, {words}", rates)


def _by_farther(
    b: Bench,
    case: LostCase,
    held: Derived,
    look: Callable[[Bench, Vec3], Callable[[float], list[Rate]]],
    axis: Vec3,
) -> LostCase:
    """A head that is off with the bounds of the look at the most that holds, where those are lower.

    A head that is off by less brings no more: else the noise of two looks tells two stories of one set-up.
    """
    kit = b.setting.order.kit
    stated = kit.head_turn_rad if held.unit == "rad" else kit.head_shift_m
    if not isinstance(held.value, int | float) or held.value <= stated or case.holds is not True:
        return case
    more = _case(b, case.name, case.what, look(b, axis)(float(held.value)))
    if more.barrier_upper_Sv_s is None or more.barrier_upper_Sv_s >= (case.barrier_upper_Sv_s or 0.0):
        return case
    crew = min((c for c in (case.crew_upper_Sv_s, more.crew_upper_Sv_s) if c is not None), default=None)
    return replace(
        case,
        barrier_Sv_s=more.barrier_Sv_s,
        barrier_upper_Sv_s=more.barrier_upper_Sv_s,
        barrier_where=more.barrier_where,
        crew_upper_Sv_s=crew,
        exposure_Sv=None if crew is None else crew * b.longest_s,
        sigma_rel=more.sigma_rel,
        basis=f"{case.basis}; no more than with the most that holds",
    )


def _case(b: Bench, name: str, what: str, rates: Sequence[Rate]) -> LostCase:
    k = b.setting.budget(b.fitting)[1]
    found = told(b, rates)
    crew = [r for r in rates if r.ask.name in b.crew] or [r for r in rates if r.ask.radius_m is not None]
    at_crew = max(crew, key=lambda r: upper(r, k), default=None)
    rises = [
        (now.rate_Sv_s / before.rate_Sv_s, math.hypot(now.noise, before.noise), now)
        for now, before in zip(rates, b.planned, strict=True)
        if before.rate_Sv_s > 0.0 and math.hypot(now.noise, before.noise) <= FACTOR_NOISE_MOST
    ]
    factor, factor_noise, where = max(rises, key=lambda f: f[0]) if rises else (None, None, None)
    if factor is not None and factor_noise is not None:
        quiet = factor - 1.0 <= COVERAGE * factor_noise
        # What is missing never improves a shield: a look that reads less than as planned reads its noise.
        factor = max(factor, 1.0)
    else:
        quiet = False
    crew_upper = upper(at_crew, k) if at_crew else None
    if crew_upper is not None:
        own = [upper(r, k) for r in b.planned if at_crew and r.ask.name == at_crew.ask.name]
        # Where the crew is counted as planned, over all exposures, raised as the barrier is: never below that figure.
        post = 0.0 if b.at_post_Sv_s is None else b.at_post_Sv_s * max(1.0, found.rise or 1.0)
        crew_upper = max(crew_upper, *own, *(p for n, p in b.every_shot.items() if n in b.crew), post)
        if not b.crew:
            crew_upper = max(crew_upper, found.barrier_upper_Sv_s or 0.0)
    return LostCase(
        name=name,
        what=what,
        barrier_Sv_s=found.at.rate_Sv_s if found.at else None,
        barrier_upper_Sv_s=found.barrier_upper_Sv_s,
        barrier_where=f"{found.where}; {OTHER}" if found.other else found.where,
        crew_Sv_s=at_crew.rate_Sv_s if at_crew else None,
        crew_upper_Sv_s=crew_upper,
        exposure_Sv=None if crew_upper is None else crew_upper * b.longest_s,
        factor=factor,
        factor_sigma_rel=factor_noise,
        factor_where=where.ask.name if where else "",
        sigma_rel=noise(found.at) if found.at else None,
        holds=found.holds,
        basis=f"look of {BATCHES} batches at most at the exposure whose beam lies flattest; not proved"
        + (f"; {OTHER}" if found.other else "")
        + (f"; {AS_PLANNED}" if found.lower and not found.other else ""),
        within_noise=quiet,
        over=found.over,
    )


# --- what it means -------------------------------------------------------------------------------------


def _hints(cases: Sequence[LostCase]) -> tuple[SurveyHint, ...]:
    """Cases by how much they raise the reading, most first; those that no meter would show, or that may be
    noise of the looks, are left out.
    """
    # By the digits that the table of cases prints, so that both tell one story.
    seen = [c for c in cases if float(f"{c.factor or 0.0:.2g}") >= HINT_LEAST and not c.within_noise]
    seen.sort(key=lambda c: -(c.factor or 0.0))
    return tuple(SurveyHint(c.factor or 0.0, f"{c.name}: {c.what}", _look_there(c)) for c in seen)


def _look_there(c: LostCase) -> str:
    """Where it rises most and, where another exposure brings the barrier more, where that is."""
    most = c.barrier_where.removesuffix(f"; {OTHER}")
    if most in (c.barrier_where, c.factor_where):
        return c.factor_where
    return f"{c.factor_where}; most {most.partition(',')[0]}"


def _findings(cases: Sequence[LostCase]) -> list[Finding]:
    """What breaks a limit with shielding lost, and what may: both are told where people decide on the weld."""
    found = []
    for breaks, words in ((True, "do not hold"), (False, "are not known to hold")):
        some = [c for c in cases if c.holds is not True and (c.holds is False or c.over) is breaks]
        if some:
            top = max(some, key=lambda c: c.barrier_upper_Sv_s or 0.0)
            names = ", ".join(c.name for c in some)
            ring = top.barrier_where.startswith(BARRIER)
            where = f"at {top.barrier_where}" if ring else f"at the barrier, {top.barrier_where}".rstrip(", ")
            text = (
                f"limits {words} with lost shielding ({names}); worst, {top.name}: up to "
                f"{show(top.barrier_upper_Sv_s or 0.0, 'equivalent_rate', digits=2)} {where}"
            )
            found.append(Finding("warn", text, source="looks, not proved"))
    return found
