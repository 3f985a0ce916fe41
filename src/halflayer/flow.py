"""The conductor: from an order to its plan, the stages called in order and the loops between them held here.

For each weld the technique stage lists what the code allows, best first. Each of these is built, timed and
shielded until one holds; a way that cannot be timed or shielded sends the weld to the next one. When none
is left the weld is stopped, with the reasons and the nearest changes that would make it go.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import replace
from functools import partial

from halflayer import __version__
from halflayer.attempt import Attempt, all_found, budget_of, told_of, with_all_read, with_lost
from halflayer.base.at_once import at_once, check_stop
from halflayer.base.errors import OutOfRange
from halflayer.base.result import Finding
from halflayer.cautions import cautions
from halflayer.conditions import conditions, of_the_shift
from halflayer.data.load import tables_digest
from halflayer.exposure import fine_clock
from halflayer.exposure.beside_weld import easier_set
from halflayer.exposure.budget import shift_budget, shift_findings
from halflayer.exposure.fine_clock import eased
from halflayer.exposure.more_shots import Timed, timed, with_enough_shots
from halflayer.exposure.whole_weld import tried_first, with_rule
from halflayer.order.models import Order
from halflayer.order.notes import notes
from halflayer.order.weld import Weld
from halflayer.plan import Plan, WeldPlan
from halflayer.radiograph import quick as radiograph
from halflayer.scene.build import build_scene
from halflayer.scene.compiled import thread_count
from halflayer.scene.fitting import Fitting
from halflayer.shielding.floor_size import Memo
from halflayer.shielding.look import Hints
from halflayer.shielding.safety import safety, with_crew, with_floors
from halflayer.shielding.shield import shield
from halflayer.shielding.stuck import StuckSource, shields_if_stuck, stuck_source
from halflayer.shift.jobs import job_of
from halflayer.shift.loading import rests_in
from halflayer.shift.result import ShiftPlan
from halflayer.shift.schedule import schedule
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate, Technique

WAYS_AT_MOST = (
    3  # tried per weld before it is called stopped: our choice, so that a stopped weld takes seconds
)
SEEDS = (1, 2)  # sizing, acceptance

Progress = Callable[[str, float], None]


def plan_order(
    order: Order,
    *,
    weld: str | None = None,
    prove: bool = False,
    error: float = 0.05,
    seeds: tuple[int, int] = SEEDS,
    progress: Progress | None = None,
    contingency: bool = True,
) -> Plan:
    """Plan all welds of an order, or the one named.

    `contingency` looks at lost shielding at every ready weld and at every source stuck out; without it the plan
    is quicker and says nothing of either.
    `prove` runs the dose of the accepted shield until every limited figure is known to the relative `error`.
    `progress(text, done)` is called between steps with done from 0 to 1; it may raise to end the work.
    Raises: KeyError for a weld that is not in the order.
    """
    welds = (order.weld(weld),) if weld is not None else order.welds
    shares = dict.fromkeys((w.id for w in welds), 0.0)
    begun: set[str] = set()

    def planned(w: Weld) -> WeldPlan:
        def step(text: str, done: float) -> None:
            check_stop()
            shares[w.id] = done
            if progress is not None:
                progress(f"{w.id}: {text}", sum(shares.values()) / len(welds))

        found = plan_weld(
            order,
            w,
            prove=prove,
            error=error,
            seeds=seeds,
            step=step,
            contingency=contingency,
        )
        # What the sources' cards stand on is computed among the welds, which fill the threads, and not after them.
        used = found.chosen.source if contingency and found.status == "ready" and found.chosen else None
        for source in order.sources:
            if source.id == used and used not in begun:
                begun.add(used)
                shields_if_stuck(order, source, seed=seeds[1])
        shares[w.id] = 1.0
        return found

    # Two welds more than threads: others fill the pauses between runs. None's figures depend on another or on threads.
    # Wide pipes begin first: they take most exposures.
    begin = sorted(range(len(welds)), key=lambda n: -welds[n].pipe.od)
    done = at_once([partial(planned, welds[n]) for n in begin], thread_count() + 2)
    plans = [done[begin.index(n)] for n in range(len(welds))]
    if progress is not None:
        progress("done", 1.0)
    adds_up = _schedule(order, plans)
    shift = shift_budget(
        order,
        [(p.weld, p.chosen.detector, p.budget) for p in plans if p.budget and p.chosen],
        changes=[(f"source change before {c.weld}", c.whole_s) for c in adds_up.changes] if adds_up else (),
    )
    return Plan(
        order=order.as_json(),
        made_at=order.shift.starts.isoformat(),
        version=__version__,
        content=content_hash(order, prove=prove, error=error, seeds=seeds, contingency=contingency),
        welds=of_the_shift(order, plans, adds_up),
        findings=(
            *notes(order),
            *(adds_up.findings if adds_up else ()),
            *shift_findings(shift, [w for w, _ in adds_up.left_out] if adds_up else ()),
        ),
        shift=shift,
        schedule=adds_up,
        stuck=_stuck(order, plans, adds_up, seeds[1]) if contingency else (),
    )


def content_hash(
    order: Order, *, prove: bool, error: float, seeds: tuple[int, int], contingency: bool = True
) -> str:
    """sha256 over what decides a plan: the order as read, version and data tables, and how it was asked for."""
    asked = {
        "order": order.as_json(),
        "version": __version__,
        "data": tables_digest(),
        "prove": prove,
        "error": error,
        "seeds": list(seeds),
        "contingency": contingency,
    }
    return hashlib.sha256(json.dumps(asked, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def plan_weld(
    order: Order,
    weld: Weld,
    *,
    prove: bool = False,
    error: float = 0.05,
    seeds: tuple[int, int] = SEEDS,
    step: Progress | None = None,
    contingency: bool = True,
) -> WeldPlan:
    """Plan one weld: the first admissible way that can be timed and shielded, or why there is none."""
    tell = step or (lambda text, done: None)
    tell("technique", 0.0)
    technique = choose_technique(order, weld)
    ways = _ways(technique)
    attempts: list[Attempt] = []
    for n, candidate in enumerate(ways):
        tell(f"{candidate.arrangement} with {candidate.source}", (n + 0.1) / len(ways))
        *before, attempt = _attempt(order, weld, candidate, prove=prove, error=error, seeds=seeds)
        attempts += before
        if not attempt.stops:
            if contingency:
                tell("lost shielding", 0.9)
                attempt = with_lost(order, weld, attempt, seed=seeds[1], thorough=prove)
            attempt = with_all_read(order, weld, attempt)
        if not attempt.stops:
            return _ready(order, weld, technique, attempt, attempts)
        attempts.append(attempt)
    return _stopped(order, weld, technique, attempts)


def _ways(technique: Technique) -> list[Candidate]:
    """The ways worth trying: each arrangement with each source and head once, in order of preference."""
    seen: set[tuple[str, str, str, str]] = set()
    found = []
    for c in technique.admissible:
        key = (c.technique, c.arrangement, c.source, c.head)
        if key not in seen:
            seen.add(key)
            found.append(c)
    return found[:WAYS_AT_MOST]


def _attempt(
    order: Order, weld: Weld, candidate: Candidate, *, prove: bool, error: float, seeds: tuple[int, int]
) -> list[Attempt]:
    """Build, time and shield one way, with more exposures where that takes them; the last attempt counts.

    Stops inside are findings, not errors.
    """
    try:
        tried = with_enough_shots(order, weld, candidate, partial(timed, order, weld, seed=seeds[0]))
    except OutOfRange as outside:
        bare = build_scene(order, weld, candidate, candidate.shots[0], Fitting())
        stop = Finding("stop", f"exposure time not computed: {outside}", source=outside.clause)
        return [Attempt(candidate, None, None, bare.scene, (stop,))]
    out = [_unshielded(order, weld, t) for t in tried]
    if tried[-1].stopped:
        return out
    size = partial(_shielded, order, weld, prove=prove, error=error, seeds=seeds)
    without = next((t for t in tried[:-1] if eased(t.exposure) is not None), None)
    if without is None:
        return [*out[:-1], size(tried[-1])]
    out[-1] = size(tried[-1])
    last = out[-1]
    if not (last.stops or (last.shielding and last.shielding.fitting.layers)):
        return out
    # One exposure more for the clock's sake is worth no limit, and no shield laid anew each time that takes longer.
    known = replace(without, exposure=eased(without.exposure) or without.exposure)
    fewer = size(known, hints=dict(last.hints))
    if last.stops:
        return [*out, fewer]
    longer, whole = _whole_s(order, weld, last), _whole_s(order, weld, fewer)
    if fewer.stops or whole > longer:
        return out
    told = fine_clock.kept(len(last.candidate.shots), longer, whole)
    return [replace(fewer, findings=(*fewer.findings, told))]


def _whole_s(order: Order, weld: Weld, done: Attempt) -> float:
    """Time of all steps at the weld with the shield of an attempt [s]."""
    return budget_of(order, weld, done).total_s


def _ruled(order: Order, weld: Weld, t: Timed) -> Candidate:
    """The timed way with what its exposures say of rules and indicators."""
    return easier_set(order, weld, with_rule(weld, t.candidate, t.exposure), t.exposure)


def _unshielded(order: Order, weld: Weld, t: Timed) -> Attempt:
    return Attempt(_ruled(order, weld, t), t.exposure, None, t.built[0].scene, t.exposure.findings)


def _shielded(
    order: Order,
    weld: Weld,
    t: Timed,
    *,
    prove: bool,
    error: float,
    seeds: tuple[int, int],
    hints: Hints | None = None,
) -> Attempt:
    """The timed way with the shield that holds its limits, and what it means for people."""
    bare, exposure = list(t.built), t.exposure
    candidate = _ruled(order, weld, t)
    hints = {} if hints is None else hints
    floors: Memo = {}
    shielding = shield(
        order,
        weld,
        candidate,
        exposure,
        seeds=seeds,
        prove_to=error if prove else None,
        hints=hints,
        floors=floors,
    )
    scene = build_scene(order, weld, candidate, candidate.shots[0], shielding.fitting).scene
    people = safety(order, weld, candidate, exposure, shielding)
    if not any(f.level == "stop" for f in (*shielding.findings, *people.findings)):
        people = with_floors(
            order, weld, candidate, exposure, shielding, people, seed=seeds[1], hints=hints, known=floors
        )
    films = radiograph.for_plan(order, weld, candidate, bare, exposure)
    sized, shielding = shielding, with_crew(order, candidate, exposure, shielding, people.crew)
    done = Attempt(candidate, exposure, shielding, scene, (), people, films, hints, sized)
    return replace(done, findings=all_found(order, weld, done))


def _ready(order: Order, weld: Weld, technique: Technique, done: Attempt, before: list[Attempt]) -> WeldPlan:
    earlier = tuple(
        Finding("note", tried_first(a.candidate, done.candidate, a.stops[0].text)) for a in before
    )
    assert done.exposure is not None and done.shielding is not None
    budget, fit = budget_of(order, weld, done), done.shielding.fitting
    made = WeldPlan(
        weld=weld.id,
        status="ready",
        technique=technique,
        chosen=done.candidate,
        exposure=done.exposure,
        shielding=done.shielding,
        scene=done.scene,
        findings=_sorted((*technique.findings, *earlier, *done.findings)),
        cautions=cautions(order, weld, done.candidate, plates=fit.plates, layers=fit.layers),
        safety=done.safety,
        budget=budget,
        radiographs=done.radiographs,
    )
    return replace(made, conditions=conditions(order, made))


def _stopped(order: Order, weld: Weld, technique: Technique, attempts: list[Attempt]) -> WeldPlan:
    """A stopped weld keeps the way that came nearest: the last stage reached, earliest in preference."""
    found = [*technique.findings, *told_of(attempts)]
    best = max(attempts, key=lambda a: a.shielding is not None, default=None)
    return WeldPlan(
        weld=weld.id,
        status="stopped",
        technique=technique,
        chosen=best.candidate if best else None,
        exposure=best.exposure if best else None,
        shielding=best.shielding if best else None,
        scene=best.scene if best else None,
        findings=_sorted(found),
        cautions=cautions(order, weld, best.candidate if best else None),
        safety=best.safety if best else None,
        radiographs=best.radiographs if best else (),
    )


def _sorted(findings: list[Finding] | tuple[Finding, ...]) -> tuple[Finding, ...]:
    """Stops first, then warnings, then notes, without repeats."""
    rank = {"stop": 0, "warn": 1, "note": 2}
    return tuple(sorted(dict.fromkeys(findings), key=lambda f: rank[f.level]))


def _schedule(order: Order, plans: list[WeldPlan]) -> ShiftPlan | None:
    """The ready welds over the shift; None when none is ready."""
    jobs = [
        job_of(
            order,
            order.weld(p.weld),
            p.chosen,
            p.exposure,
            p.shielding,
            p.budget,
            p.safety.floors if p.safety else (),
        )
        for p in plans
        if p.status == "ready" and p.chosen and p.exposure and p.shielding
    ]
    return schedule(order, jobs) if jobs else None


def _stuck(
    order: Order, plans: list[WeldPlan], shift: ShiftPlan | None, seed: int
) -> tuple[StuckSource, ...]:
    """The contingency card of every source that a ready weld uses, with what it rests in in the shift."""
    uses = [(p.weld, p.chosen.source, p.chosen.head) for p in plans if p.status == "ready" and p.chosen]
    late = {weld for weld, _ in shift.left_out} if shift else set()
    work = []
    for source in order.sources:
        if mine := rests_in(order, uses, shift, source.id):
            shot = [order.weld(weld) for weld, used, _ in uses if used == source.id and weld not in late]
            work.append(partial(stuck_source, order, source, mine, seed=seed, welds=shot))
    return tuple(at_once(work, thread_count()))
