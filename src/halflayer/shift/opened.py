"""The printed figures of a shift opened: its end, what adds up for persons and at places, its source changes."""

from __future__ import annotations

from halflayer.base.result import Derived
from halflayer.exposure.budget import ShiftBudget
from halflayer.shielding.opened import plain_name
from halflayer.shift.changing import change_figure
from halflayer.shift.result import BesideChange, CrewShift, ShiftPlan

ROUNDED = (
    "pages add up steps and welds as they print them, each rounded up, so that theirs may be a little higher"
)
BESIDE = "inverse square from where the change is made, no wall and no air counted"


def work_figure(shift: ShiftBudget) -> Derived:
    """The work of all ready welds, what is allowed for reshoots and source changes in it."""
    return Derived(
        "shift_work",
        shift.total_s,
        "s",
        formula="sum of the time budgets of the ready welds, a film's trial shot once, and of the source changes",
        inputs=(
            *(Derived(weld, seconds, "s") for weld, seconds in shift.welds),
            Derived("the shift has", shift.shift_s * shift.teams, "s", source="the order"),
        ),
        source="crew_times of the order",
    )


def shift_figures(schedule: ShiftPlan) -> list[Derived]:
    """End of the shift, doses of persons with their limits, places by each averaging rule, source changes."""
    found = [schedule.ends, *([schedule.ends_with_reshoots] if schedule.ends_with_reshoots else [])]
    found += change_figures(schedule)
    for person in schedule.crew:
        found += _of_person(person)
    for a in schedule.places:
        given = (Derived("limit", a.limit, a.unit, source="the order"),) if a.limit is not None else ()
        found.append(
            Derived(
                f"shift_average_{plain_name(a.place)}_{plain_name(a.kind)}",
                a.upper,
                a.unit,
                formula=a.averaging,
                inputs=(Derived("estimate", a.value, a.unit), *given),
                source="upper bounds of the rates at every weld of the shift, its slots and source changes",
                basis=f"{a.place}, {a.kind}; upper value",
            )
        )
        if a.standing is not None:
            found.append(
                Derived(
                    f"shift_standing_{plain_name(a.place)}_{plain_name(a.kind)}",
                    a.standing,
                    a.unit,
                    source="upper bounds of the rates at every weld of the shift",
                    basis=f"{a.place}, {a.kind}, every source at its weld; upper value",
                )
            )
    for beside in schedule.beside_changes:
        found += _beside(beside)
    return found


def _of_person(person: CrewShift) -> list[Derived]:
    dose = Derived(
        f"shift_dose_{person.id}",
        person.dose.value,
        "Sv",
        person.dose.sigma,
        formula=person.dose.formula,
        inputs=person.dose.inputs,
        source=person.dose.source,
        basis="; ".join(w for w in (f"{person.name}, planned", person.dose.basis, ROUNDED) if w),
    )
    found = [dose]
    for c in person.limits:
        found.append(
            Derived(
                f"shift_dose_{person.id}_{plain_name(c.kind)}",
                c.upper_Sv,
                "Sv",
                formula=c.averaging,
                inputs=(dose.named(), Derived("limit", c.limit_Sv, "Sv", source="the order")),
                source="doses of the welds of the shift and of its source changes",
                basis=f"{person.name}, {c.kind}; upper value; {ROUNDED}",
            )
        )
    return found


def change_figures(schedule: ShiftPlan) -> list[Derived]:
    """Each person's dose of each source change, step by step."""
    found = []
    for person in schedule.crew:
        for change in schedule.changes:
            steps = tuple(s for weld, s in person.changes if weld == change.weld)
            if not steps:
                continue
            whole = change_figure(change, steps)
            inputs = tuple(
                Derived(
                    s.what,
                    s.dose_Sv,
                    "Sv",
                    formula=f"rate x {s.seconds:g} s x {s.times}",
                    inputs=() if s.rate_Sv_s is None else (Derived("rate at most", s.rate_Sv_s, "Sv/s"),),
                    basis=s.basis,
                )
                for s in steps
            )
            found.append(
                Derived(
                    f"change_dose_{person.id}_before_{plain_name(change.weld)}",
                    whole.value,
                    "Sv",
                    formula=whole.formula,
                    inputs=inputs,
                    source="crew_times and readings of the order",
                    basis=f"{person.name}, {change.words}; {whole.basis}",
                )
            )
    return found


def _beside(b: BesideChange) -> list[Derived]:
    """A place or way in at a source change: at rest, with a source bare, and the dose of the change."""
    where = f"{plain_name(b.place)}_before_{plain_name(b.weld)}"
    away = Derived("distance", b.distance_m, "m", source="the order")
    bare = Derived(
        f"change_bare_at_{where}", b.bare_Sv_s, "Sv/s", inputs=(away,), source=BESIDE, basis="upper value"
    )
    rest = Derived(
        f"change_rest_at_{where}", b.rest_Sv_s, "Sv/s", inputs=(away,), source=BESIDE, basis="upper value"
    )
    dose = Derived(
        f"change_dose_at_{where}",
        b.dose_Sv,
        "Sv",
        formula=f"rates at rest and bare x their times; a source is bare for {b.way_s:g} s",
        inputs=(rest.named(), bare.named()),
        source=BESIDE,
        basis=f"{b.place}, {b.kind}; upper value",
    )
    return [rest, bare, dose]
