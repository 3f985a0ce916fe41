"""One way of shooting a weld as far as it was tried: what each stage gave, and what is added once its shield holds."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from halflayer.base.result import Finding
from halflayer.exposure.budget import TimeBudget, time_budget
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.radiograph import quick as radiograph
from halflayer.radiograph.result import Quick
from halflayer.scene.beam_bearings import bearings
from halflayer.scene.solids import Scene
from halflayer.shielding import wrapped_room
from halflayer.shielding.crew import mounting_s, repeated_Sv
from halflayer.shielding.look import Hints
from halflayer.shielding.lost import lost_shielding
from halflayer.shielding.lost_far import people_over
from halflayer.shielding.readings_due import with_readings
from halflayer.shielding.resets import laid_anew, openings, reset_of
from halflayer.shielding.result import Shielding
from halflayer.shielding.safety import floor_findings, safety, with_crew
from halflayer.shielding.safety_result import Safety
from halflayer.shielding.spots import setting_of
from halflayer.technique.result import Candidate

# Figures, and words that turn with them, by which two findings may differ and say the same.
_FIGURES = re.compile(r"\d+(\.\d+)?|anticlockwise|clockwise")


@dataclass(frozen=True)
class Attempt:
    candidate: Candidate
    exposure: Exposure | None
    shielding: Shielding | None
    scene: Scene | None
    findings: tuple[Finding, ...]
    safety: Safety | None = None
    radiographs: tuple[Quick, ...] = ()
    hints: Hints = field(default_factory=dict)  # what its dose runs learned, for more of them
    sized: Shielding | None = None  # as the shield search gave it, without crew and reshoots

    @property
    def stops(self) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if f.level == "stop")


def told_of(attempts: Sequence[Attempt]) -> list[Finding]:
    """What attempts that all stopped say, each of its way: of one way with more and more exposures the last speaks.

    What it says too stands once, with the figures of the last; what only earlier ones say stays.
    """
    ways: dict[tuple[str, str, str, str], list[Attempt]] = {}
    for a in attempts:
        c = a.candidate
        ways.setdefault((c.technique, c.arrangement, c.source, c.head), []).append(a)
    found: list[Finding] = []
    for (_, arrangement, source, _), tried in ways.items():
        shots = sorted({len(a.candidate.shots) for a in tried})
        label = f"{arrangement} with {source}"
        if len(shots) > 1:
            label += f", {shots[0]} to {shots[-1]} exposures tried"
        said: set[tuple[str, str]] = set()
        told: list[Finding] = []
        for a in reversed(tried):
            new = [(f, (f.level, _FIGURES.sub("#", f.text))) for f in a.findings]
            told += [f for f, words in new if words not in said]
            said |= {words for _, words in new}
        found += [replace(f, text=f"{label}: {f.text}") if f.level == "stop" else f for f in told]
    return found


def all_found(order: Order, weld: Weld, done: Attempt) -> tuple[Finding, ...]:
    """What all stages of a shielded attempt say."""
    assert done.exposure is not None and done.shielding is not None and done.safety is not None
    fits = wrapped_room.findings(order, weld, done.candidate, done.shielding)
    return (
        *done.exposure.findings,
        *done.shielding.findings,
        *fits,
        *done.safety.findings,
        *radiograph.findings(done.radiographs),
    )


def with_lost(order: Order, weld: Weld, done: Attempt, *, seed: int, thorough: bool) -> Attempt:
    """The attempt with looks at what happens when part of its shield is lost."""
    assert done.exposure is not None and done.shielding is not None and done.safety is not None
    setting = setting_of(order, weld, done.candidate, done.exposure, done.hints)
    lost = lost_shielding(
        setting, done.exposure, done.shielding, seed=seed, thorough=thorough, floors=done.safety.floors
    )
    people = replace(done.safety, lost=lost, findings=(*done.safety.findings, *lost.findings))
    exposure = done.exposure
    done = replace(done, safety=people, findings=(*done.findings, *lost.findings))
    # What may be lost has the rope stand farther out, or empties places of posts: what hangs on it is worked out anew.
    again = lost.rope_times > 1.0 or people_over(order, weld, lost, people.contour)
    return _worked_out(order, weld, done, exposure) if again else done


def with_all_read(order: Order, weld: Weld, done: Attempt) -> Attempt:
    """The attempt with all that is read while the source is out in its times and doses.

    What is due in the first survey, and before which exposures something is read, is known only once the looks at lost
    shielding are. No transport is run again.
    """
    assert done.exposure is not None and done.sized is not None and done.safety is not None
    beams = [turn for _, turn in bearings(order, weld, done.candidate)]
    anew = laid_anew(order, done.candidate, done.sized)
    exposure = with_readings(order, weld, done.exposure, done.sized, done.safety, beams, anew=anew)
    return done if exposure == done.exposure else _worked_out(order, weld, done, exposure)


def _worked_out(order: Order, weld: Weld, done: Attempt, exposure: Exposure) -> Attempt:
    """All that follows for people from the doses found, with what is read and where the rope stands; no transport."""
    assert done.sized is not None and done.safety is not None
    before = done.safety
    times = before.lost.rope_times if before.lost else 1.0
    people = safety(order, weld, done.candidate, exposure, done.sized, rope_times=times, lost=before.lost)
    told = (*people.findings, *floor_findings(before.floors), *(before.lost.findings if before.lost else ()))
    people = replace(people, floors=before.floors, lost=before.lost, findings=told)
    shielding = with_crew(order, done.candidate, exposure, done.sized, people.crew)
    done = replace(done, exposure=exposure, shielding=shielding, safety=people)
    return replace(done, findings=all_found(order, weld, done))


def budget_of(order: Order, weld: Weld, done: Attempt) -> TimeBudget:
    assert done.exposure is not None and done.shielding is not None
    people = done.safety.crew if done.safety else ()
    reset = reset_of(order, done.shielding.items)
    return time_budget(
        order,
        weld,
        done.candidate,
        done.exposure,
        mounting_s=mounting_s(order, done.shielding.items),
        reset_s=reset.seconds,
        reset_words=reset.words,
        openings=openings(order, done.exposure, done.shielding.items),
        repeated_doses=[(p.name, repeated_Sv(p)) for p in people],
    )
