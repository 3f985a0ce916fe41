"""The plan of an order: what every stage gave for each weld, in one form for sheet, record and terminal."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any, Literal

from pydantic import PlainSerializer, PlainValidator

from halflayer.base.result import Derived, Finding
from halflayer.exposure.budget import ShiftBudget, TimeBudget
from halflayer.exposure.result import Exposure
from halflayer.radiograph.result import Quick
from halflayer.scene.solids import Scene
from halflayer.shielding.field_result import Level
from halflayer.shielding.result import Shielding
from halflayer.shielding.safety_result import Safety
from halflayer.shielding.stuck import StuckSource
from halflayer.shift.result import ShiftPlan
from halflayer.technique.result import Candidate, Technique


def _scene(value: Any) -> Scene:
    return value if isinstance(value, Scene) else Scene.from_json(value)


StoredScene = Annotated[Scene, PlainValidator(_scene), PlainSerializer(lambda scene: scene.to_json())]


@dataclass(frozen=True)
class Condition:
    """What a planned weld's readiness hangs on: in a few words, in full with what makes it acceptable, and why."""

    short: str
    text: str
    source: str
    do: str = ""  # what hands do about it, for page 1 of the weld: no reasons; empty: the text says no more

    @property
    def in_brief(self) -> str:
        """What is done about it, without reasons."""
        return self.do or self.text


@dataclass(frozen=True)
class WeldPlan:
    """One weld's plan: ready with all stages, or stopped with what is known and why it stopped."""

    weld: str
    status: Literal["ready", "stopped"]
    technique: Technique
    chosen: Candidate | None
    exposure: Exposure | None
    shielding: Shielding | None
    scene: StoredScene | None  # first shot, in the weld's frame, with the shield that stands; for drawings
    findings: tuple[Finding, ...]  # of all stages, stops first
    cautions: tuple[str, ...]
    safety: Safety | None = (
        None  # people: crew, averaging rules, barrier line, floors, access, lost shielding
    )
    radiographs: tuple[
        Quick, ...
    ] = ()  # what the films will show: the exposures that differ, the first one pictured
    budget: TimeBudget | None = None  # time, films and doses with trial and reshoots
    dose_field: Level | None = None  # 1 m above the floor, where it was asked for
    conditions: tuple[Condition, ...] = ()  # a ready weld is ready only if all of these are met

    @property
    def standing(self) -> Literal["ready", "ready only if", "stopped"]:
        """The status as a person must read it: a weld with conditions is not plainly ready."""
        return "ready only if" if self.status == "ready" and self.conditions else self.status

    def figures(self) -> dict[str, Derived]:
        """Every opened figure of this weld by the name that `explain --of` takes."""
        found: dict[str, Derived] = {}
        if self.chosen:
            found.update({d.name: d for d in self.chosen.derived})
        if self.exposure:
            found[self.exposure.activity.name] = self.exposure.activity
            for n, shot in enumerate(self.exposure.shots, start=1):
                found["exposure_time" if n == 1 else f"exposure_time_{n}"] = shot.seconds
        if self.shielding:
            s = self.shielding
            found.update({d.name: d for d in (*s.derived, *s.crew, s.barrier_m, s.barrier_hour_m)})
        if self.safety:
            found.update({d.name: d for d in self.safety.figures()})
        return found


@dataclass(frozen=True)
class Plan:
    """All welds of an order, with what identifies the plan: order as read, version, content hash."""

    order: dict[str, Any]  # the order as stored JSON (`Order.from_json` gives it back)
    made_at: str  # ISO 8601; the order's own date, so that the same order gives the same plan
    version: str
    content: str  # sha256 over order, version and data
    welds: tuple[WeldPlan, ...]
    findings: tuple[Finding, ...] = ()  # of the order as a whole
    shift: ShiftBudget | None = None  # all ready welds against the shift
    schedule: ShiftPlan | None = None  # the welds over the teams, and the doses that add up
    stuck: tuple[StuckSource, ...] = ()  # contingency cards of the sources in use

    @property
    def stopped(self) -> bool:
        """True when at least one weld has no plan."""
        return any(w.status == "stopped" for w in self.welds)


def worked(plan: Plan) -> tuple[WeldPlan, ...]:
    """The ready welds that the order's sheets are about: those of this shift, all where its schedule holds none."""
    return in_shift(plan) or tuple(w for w in plan.welds if w.status == "ready")


def in_shift(plan: Plan) -> tuple[WeldPlan, ...]:
    """The ready welds that are worked in this shift: without those that its schedule leaves out."""
    out = {weld for weld, _ in plan.schedule.left_out} if plan.schedule else set()
    return tuple(w for w in plan.welds if w.status == "ready" and w.weld not in out)
