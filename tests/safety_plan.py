"""The made-up plan of `plan_factory` with everything about people in it; figures are only plausible, no results."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

from halflayer.base.result import Derived, Finding
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.shielding.access import access
from halflayer.shielding.contour import contour
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import (
    AveragedDose,
    CrewMember,
    CrewStep,
    FloorDose,
    Lost,
    LostCase,
    Safety,
    SurveyHint,
    Tolerance,
)
from halflayer.shielding.stuck import StayTime, StuckRow, StuckShield, StuckSource, TurnBack
from halflayer.shift.result import CrewShift, ShiftPlan, Slot
from plan_factory import USV_H, order_data, weld_plan
from plan_factory import plan as bare_plan

ROUTES = (
    {"id": "D-1", "name": "Door to the north stair", "at": (2.0, 4.5, 0.0), "kind": "door"},
    {
        "id": "L-1",
        "name": "Cat ladder from level 1",
        "at": (-6.0, -9.5, 0.0),
        "kind": "ladder",
        "side": "below",
    },
    {"id": "D-2", "name": "West door", "at": (-4.0, 2.5, 0.0), "kind": "door", "locked": True},
)


def order_with_ways_in(**of_order: Any) -> Order:
    """The order of `plan_factory` with three ways in."""
    return Order.from_json(order_data(**of_order) | {"access": list(ROUTES)})


def crew(order: Order) -> tuple[CrewMember, ...]:
    """Persons with steps: the sentry has one of them, one step of the second has no figure."""
    set_up = CrewStep("setting up", 600.0, 1, 3.24e-6 / 3600, 0.5, 0.54e-6, "reading of the stored head")
    change = CrewStep("film change", 60.0, 2, None, 0.5, None, "not computed: no reading of the stored head")
    barrier = CrewStep(
        "at the post, source out", 205.0, 2, 2e-6 / 3600, None, 0.2278e-6, "upper bound of the rate"
    )
    found = []
    for n, p in enumerate(order.crew):
        steps = ((set_up, barrier), (set_up, change, barrier), (barrier,))[min(n, 2)]
        missing = any(s.dose_Sv is None for s in steps)
        total = None if missing else math.fsum(s.dose_Sv or 0.0 for s in steps)
        check = LimitCheck(p.name, "per shift", "this weld only", total or 0.5e-6, total or 0.5e-6, 20e-6,
                           None if missing else True)  # fmt: skip
        hands = Derived(f"hand_dose_{p.id}", None, "Sv", basis="not computed: no surface reading")
        whole = Derived(f"crew_dose_{p.id}", total, "Sv", basis="upper values")
        found.append(CrewMember(p.id, p.name, p.role, steps, whole, hands, (check,)))
    return tuple(found)


def averages() -> tuple[AveragedDose, ...]:
    """One place by four rules, two barrier points of which the second is the worse."""

    def row(
        place: str, kind: str, unit: str, upper: float, limit: float | None, ok: bool | None
    ) -> AveragedDose:
        return AveragedDose(place, kind, "made up", unit, upper * 0.8, upper, limit, ok)

    return (
        row("Walkway on level 2", "instantaneous", "Sv/s", 3.11 * USV_H, 7.5 * USV_H, True),
        row("Walkway on level 2", "in any one hour", "Sv", 0.4e-6, None, None),
        row("Walkway on level 2", "per shift", "Sv", 2.61e-6, 5e-6, True),
        row("Walkway on level 2", "per week", "Sv", 13e-6, 10e-6, False),
        row("barrier 15 deg, 4.4 m", "instantaneous", "Sv/s", 3.0 * USV_H, 7.5 * USV_H, True),
        row("barrier 30 deg, 4.6 m", "instantaneous", "Sv/s", 7.01 * USV_H, 7.5 * USV_H, True),
    )  # fmt: skip


def lost() -> Lost:
    """Two cases and a tolerance of 2.37 degrees and 17.9 mm."""
    cases = (
        LostCase("one plate missing", "one plate PB-2 of 7 left out", 4 * USV_H, 5.21 * USV_H, "barrier 30 deg, 4.6 m",
                 1 * USV_H, 1.4 * USV_H, 0.11e-6, 1.3, 0.1, "barrier 30 deg", 0.08, True, "a look, not proved"),
        LostCase("head turned", "head turned by 3 deg along the pipe", 40 * USV_H, 55.5 * USV_H,
                 "barrier 45 deg, 4.2 m", None, None, None, 11.0, 0.2, "barrier 45 deg", 0.2, False, "a look"),
    )  # fmt: skip
    return Lost(
        1,
        cases,
        Tolerance(
            Derived("turn_tolerance", math.radians(2.37), "rad", basis="held by a look, not proved"),
            Derived("shift_tolerance", 0.0179, "m", basis="as the turn"),
        ),
        (SurveyHint(1.3, "a plate left out", "count the plates"),),
        ("Close the source.", "Follow your own plan and adviser."),
        (),
    )


def with_people(order: Order, w: WeldPlan, *, wide: bool = True) -> WeldPlan:
    """A ready weld with its safety."""
    assert w.shielding is not None
    line = contour(order, order.weld(w.weld), w.shielding)
    floor = FloorDose("Level 3", "above", "over the weld", (0, 0, 5.0), 0.5 * USV_H, 0.1, 0.61 * USV_H, True,
                      7.5 * USV_H, True, "slab as stated")  # fmt: skip
    # Nothing hides a part of the rope: who watches that is a test's own matter.
    ways = access(order.model_copy(update={"obstacles": ()}), order.weld(w.weld), line)
    safety = Safety(crew(order), averages(), line, (floor,), ways, lost())
    return replace(w, safety=safety)


def schedule(order: Order) -> ShiftPlan:
    """Two welds one after the other; the places as in `averages`."""
    slots = (
        Slot(1, "W-01", "set-up", None, 0.0, 600.0),
        Slot(1, "W-01", "exposure", 1, 600.0, 805.0),
        Slot(1, "W-01", "exposure", 2, 1045.0, 1281.0),
        Slot(1, "W-02", "set-up", None, 1400.0, 2000.0),
        Slot(1, "W-02", "exposure", 1, 2000.0, 2205.0),
    )
    people = tuple(
        CrewShift(
            p.id, p.name, Derived(f"shift_{p.id}", 3.07e-6, "Sv"),
            (LimitCheck(p.name, "per shift", "as scheduled", 3e-6, 3.07e-6, 20e-6, True),
             LimitCheck(p.name, "per year", "dose of the year not stated", 3e-6, 3.07e-6, 1e-3, None)),
        )
        for p in order.crew
    )  # fmt: skip
    return ShiftPlan(1, slots, Derived("shift_end", 2205.0, "s"), True, averages(), people, ())


def stuck() -> StuckSource:
    """A card with two shields, one without a figure."""
    shields = (
        StuckShield("WB-25", "1 layer of blanket WB-25", 1, 0.0055,
                    Derived("shell", 0.6, "1", 0.03, basis="closed shell"), 0.5),
        StuckShield("PB-2", "5 plates PB-2 of lead, 10 mm", 5, 0.01,
                    Derived("shell2", None, "1", basis="too short"), 0.1),
    )  # fmt: skip
    at_1m = 0.1 / 3600
    return StuckSource(
        "SE-2041",
        "Se-75",
        Derived("activity", 1.86e12, "Bq", 0.11e12),
        Derived("bare_rate_1m", at_1m, "Sv/s", basis="upper value", source="emission lines"),
        shields,
        tuple(
            StuckRow(d, at_1m / d**2, (0.65 * at_1m / d**2, None)) for d in (0.5, 1.0, 2.0, 5.0, 10.0, 50.0)
        ),
        Derived("stuck_distance", 115.47, "m", basis="no shield, no air, no ground"),
        (StayTime("crew's limit per shift", 20e-6, 10.0, 71.99, (110.9, None)),),
        (TurnBack(2.0, 1.25 * USV_H, at_1m / 4, 2.5 * USV_H),),
        "closed head by its readings",
        "unused here",
        ("Take the reading as true.", "Follow your own plan and adviser."),
    )


def plan(
    *,
    welds: tuple[tuple[str, str, int], ...] = (("W-01", "lean-out", 2), ("W-02", "over", 3)),
    **of_order: Any,
) -> Plan:
    """A plan with people, schedule and a card; keyword arguments go to `order_data`."""
    order = order_with_ways_in(**of_order)
    made = tuple(with_people(order, weld_plan(order, w, a, n)) for w, a, n in welds)
    found = replace(bare_plan(**of_order), order=order.as_json(), welds=made)
    return replace(found, schedule=schedule(order), stuck=(stuck(),), findings=(Finding("note", "made up"),))


STAIR: dict[str, Any] = {
    "id": "s", "name": "Back stair", "at": ["13 m", "11 m", "0 m"], "kind": "stair", "side": "above"
}  # fmt: skip


def loft(**found: Any) -> FloorDose:
    """A floor above with a limit of 1e-9 Sv/s, reached by the back stair; `found`: what the calculation says of it."""
    said = {"rate_Sv_s": 1e-9, "sigma_rel": 0.1, "upper_Sv_s": 2e-9, "ok": False, "reliable": True} | found
    return FloorDose(
        floor="Loft",
        side="above",
        at=(1.0, 1.0, 5.2),
        where="site x 1 m, y 1 m",
        limit_Sv_s=1e-9,
        basis="x",
        **said,
    )
