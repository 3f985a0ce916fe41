"""The figures that the sheets print, of a weld or of the whole order, by the name that `halflayer explain --of` takes.

What the order itself states (sizes, limits, names) is no figure of the plan and not among them.
"""

from __future__ import annotations

import re
from datetime import datetime

from halflayer.base.result import Derived
from halflayer.exposure import opened as exposures
from halflayer.exposure.beam_room import beam_room
from halflayer.exposure.beside_weld import laid_sets, pair_clocks_rad
from halflayer.exposure.budget import TimeBudget
from halflayer.exposure.first_survey import first_survey_figures
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import Plan, WeldPlan
from halflayer.radiograph.result import Quick
from halflayer.sheet.alarm_near import alarm_figures
from halflayer.sheet.carrying import beside_sums
from halflayer.sheet.figures import Show
from halflayer.sheet.gather_opened import way_in_figures
from halflayer.sheet.home_witness import witness_figures
from halflayer.sheet.kit_opened import kit_figures, mass_figures, overload_figures
from halflayer.sheet.laid_opened import laid_figures
from halflayer.sheet.places_opened import crank_figures, mark_figures, survey_figures
from halflayer.sheet.rope_readings_opened import rope_reading_figures
from halflayer.shielding import opened as doses
from halflayer.shielding.barrier_kinds import barrier_kinds
from halflayer.shielding.opened import plain_name
from halflayer.shielding.steps_opened import rise_figures, sign_figures, step_figures
from halflayer.shielding.stuck_opened import stuck_figures
from halflayer.shift import opened as shifts
from halflayer.shift.left import cards
from halflayer.technique.asked_distance import distance_figures
from halflayer.technique.ellipse import PARTED_SHARE, ends_m, parted_m, play_m
from halflayer.technique.result import Candidate, Geometry


def opened(order: Order, w: WeldPlan) -> dict[str, Derived]:
    """The figures of a weld by name, those of `WeldPlan.figures` first; a stopped weld has those that it reached."""
    weld, found = order.weld(w.weld), w.figures()
    more: list[Derived] = []
    if w.chosen is not None:
        more += _geometry(order, weld, w.chosen)
        more += [f for s in order.sources if s.id == w.chosen.source for f in distance_figures(s, w.chosen)]
        more += mark_figures(weld, w.chosen, w.exposure)
        more += _indicators(order, weld, w.chosen, w.exposure)
    if w.chosen is not None and w.exposure is not None:
        c, e = w.chosen, w.exposure
        nuclide = next((s.nuclide for s in order.sources if s.id == c.source), None)
        more += exposures.density_figures(e)
        more += exposures.first_film_figures(order, c, e)
        more += exposures.viewer_figures(c, e)
        more += first_survey_figures(order, e.first_survey, e.read_again)
        more += exposures.coverage_figures(order, c, e, weld.pipe.od)
        if nuclide is not None:
            more += exposures.decay_figures(nuclide, e, order.shift.starts)
        if isinstance(e.activity.value, int | float):
            more += doses.stored_figures(order, c.head, float(e.activity.value))
    kinds = barrier_kinds(order, w.exposure, w.chosen)
    more += [kinds.rate, kinds.hour]
    if w.exposure is not None and w.shielding is not None:
        more += doses.rate_figures(order, w.shielding, w.exposure.activity)
        more += doses.travel_figures(w.shielding)
    if w.shielding is not None:
        more += doses.limit_figures(w.shielding, w.safety)
        more += survey_figures(order, weld, w.shielding, w.safety.floors if w.safety else ())
        more += rope_reading_figures(order, w)
        more += alarm_figures(order, w)
        more += witness_figures(order, w)
        more += mass_figures(w)
    if w.shielding is not None and w.chosen is not None:
        more += laid_figures(order, weld, w.chosen, w.shielding)
    if w.safety is not None:
        more += crank_figures(order, w)
        more += doses.average_figures(w.safety)
        more += doses.floor_figures(w.safety.floors)
        more += doses.rope_figures(order, w.safety.contour) if w.safety.contour else []
        more += doses.lost_figures(w.safety.lost, w.exposure) if w.safety.lost else []
        more += step_figures(w.safety.crew)
        more += rise_figures(w.safety.lost) if w.safety.lost else []
        more += sign_figures(w.safety.contour) if w.safety.contour else []
    if w.budget is not None:
        more += _budget(w.budget, order.shift.starts)
    for quick in w.radiographs:
        more += _film(quick)
    for d in more:
        found.setdefault(plain_name(d.name), d)
    return found


def opened_order(plan: Plan) -> dict[str, Derived]:
    """The figures of the order as a whole on its pages: what adds up in the shift, and the contingency cards."""
    more: list[Derived] = []
    if plan.shift is not None:
        more.append(shifts.work_figure(plan.shift))
    if plan.schedule is not None:
        more += shifts.shift_figures(plan.schedule)
    order = Order.from_json(plan.order)
    for stuck in cards(
        plan.stuck, plan.schedule, plan.order["crew"], beside_sums(plan, order, Show(order.units))
    ):
        more += stuck_figures(stuck)
    more += kit_figures(order, plan)
    more += overload_figures(order, plan)
    more += way_in_figures(order, plan)
    found: dict[str, Derived] = {}
    for d in more:
        found.setdefault(d.name, d)
    return found


def find(figures: dict[str, Derived], asked: str) -> tuple[str, Derived] | None:
    """The figure of that name, or of that place as the sheet prints it (its rate); None where there is none.

    A point of the survey ring goes by that word too, though its name inside begins with `barrier`.
    """
    plain = plain_name(asked.replace("°", " deg"))
    inside = re.sub(r"(^|_)ring_(?=\d)", r"\1barrier_", plain)
    for name in (asked, plain, f"rate_{plain}", inside, f"rate_{inside}"):
        if name in figures:
            return name, figures[name]
    return None


def _geometry(order: Order, weld: Weld, c: Candidate) -> list[Derived]:
    """What hands set, the whole distance, and how far the source may be off along the pipe."""
    g = c.geometry
    found = [
        *c.settings,
        Derived(
            "source_to_detector",
            g.source_to_detector_m,
            "m",
            formula="source to object + object to detector",
            inputs=tuple(d for d in c.derived if d.name in ("source_to_object", "object_to_detector")),
            source="exact geometry",
        ),
    ]
    if g.opening_m is not None:
        found.append(_middles_apart(weld, g))
    found += _beam(order, weld, c)
    play = play_m(c, outer_m=weld.pipe.od, cap_m=weld.cap.width_m)
    if play is None:
        return found
    apart = f"{PARTED_SHARE:g} of the cap's width"
    if (ends := ends_m(weld, c)) is not None:
        apart = " or ".join(f"{e * 1e3:g}" for e in ends) + " mm"
    inputs = tuple(d for d in c.derived if d.name == "opening")
    return [
        *found,
        *(
            Derived(
                f"head_play_{to}",
                value,
                "m",
                formula=f"way along the pipe at which the images part by {apart}, over b/a - g/(a + De)",
                inputs=inputs,
                source="similar triangles",
            )
            for to, value in zip(("towards_weld", "away_from_weld"), play, strict=True)
        ),
    ]


def _beam(order: Order, weld: Weld, c: Candidate) -> list[Derived]:
    """How far the head may be off before its beam leaves what is judged."""
    room = beam_room(order, weld, c)
    if room is None:
        return []
    formula = (
        "largest {} at which every end of what is judged lies in the opening, seen from the source's middle"
    )
    return [
        Derived(f"head_beam_{to}", value, unit, formula=formula.format(what), source="exact geometry")
        for to, value, unit, what in (
            ("towards_weld", room.towards_m, "m", "shift along the pipe"),
            ("away_from_weld", room.away_m, "m", "shift along the pipe"),
            ("turn", room.turn_rad, "rad", "turn about the source"),
        )
    ]


def _indicators(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> list[Derived]:
    """How far the head may be off before its beam leaves the wire asked of two films' indicators, the least of both."""
    rooms = [s.room for s in laid_sets(order, weld, c, pair_clocks_rad(c, exposure)) if s.room is not None]
    if not rooms:
        return []
    formula = "largest {} at which 10 mm of the wire asked lie in the opening, seen from the source's middle"
    return [
        Derived(f"head_iqi_{to}", value, unit, formula=formula.format(what), source="exact geometry")
        for to, value, unit, what in (
            ("towards_weld", min(r.towards_m for r in rooms), "m", "shift along the pipe"),
            ("away_from_weld", min(r.away_m for r in rooms), "m", "shift along the pipe"),
            ("turn", min(r.turn_rad for r in rooms), "rad", "turn about the source"),
        )
    ]


def _middles_apart(weld: Weld, g: Geometry) -> Derived:
    """How far the middles of an ellipse's two images lie apart on the film."""
    gap = g.object_to_detector_m - weld.pipe.od
    given = (
        ("offset", abs(g.axial_offset_m)),
        ("standoff", g.standoff_m),
        ("outside diameter", weld.pipe.od),
        ("pipe to film", gap),
    )
    return Derived(
        "images_apart_planned",
        parted_m(offset_m=g.axial_offset_m, standoff_m=g.standoff_m, diameter_m=weld.pipe.od, gap_m=gap),
        "m",
        formula="offset x ((outside diameter + pipe to film) / standoff "
        "- pipe to film / (standoff + outside diameter))",
        inputs=tuple(Derived(name, value, "m") for name, value in given),
        source="similar triangles",
        basis="from middle to middle",
    )


def _budget(budget: TimeBudget, moment: datetime) -> list[Derived]:
    """Time of a weld by steps, exposures and sheets to count on, and what trial and reshoots may add to a dose."""
    steps = tuple(
        Derived(
            s.what, s.total_s, "s", formula=f"{s.times:g} x {s.each_s:g} s", source="crew_times of the order"
        )
        for s in budget.steps
    )
    planned = Derived("planned", budget.planned, "1")
    found = [
        Derived(
            "time_budget",
            budget.total_s,
            "s",
            formula="sum of the steps",
            inputs=steps,
            basis=f"{budget.basis}; from {moment.isoformat()}",
        ),
        Derived(
            "exposures_counted_on",
            budget.exposures,
            "1",
            formula="planned, the trial and the share of reshoots",
            inputs=(planned,),
            basis=budget.basis,
        ),
    ]
    for s in budget.steps:
        found.append(
            Derived(
                f"time_{plain_name(s.what)}",
                s.total_s,
                "s",
                formula=f"{s.times:g} x {s.each_s:g} s",
                source="crew_times of the order",
            )
        )
    for name, sheets in budget.films:
        found.append(
            Derived(
                f"sheets_{plain_name(name)}",
                sheets,
                "sheets",
                formula="sheets of an exposure x exposures to count on, one more where first films often miss",
                inputs=(planned,),
                basis=budget.basis,
            )
        )
    for d in budget.extra_doses:
        found.append(
            Derived(
                f"extra_dose_{plain_name(d.name)}",
                d.extra_Sv,
                "Sv",
                formula="dose of the repeated steps x (exposures counted on / planned - 1)",
                inputs=(Derived("factor", budget.factor, "1"),),
                basis=f"{d.name}, by trial and reshoots",
            )
        )
    return found


def _film(quick: Quick) -> list[Derived]:
    """What the predicted film of an exposure shows."""
    v, n = quick.verdict, quick.shot + 1
    tail = "" if n == 1 else f"_{n}"
    how = "prediction of the film over the whole focal spot (docs/radiograph.md)"
    found = []
    for name, value in (("finest_wire_seen", v.smallest_visible), ("finest_hole_seen", v.smallest_hole)):
        if value is not None:
            found.append(Derived(f"{name}{tail}", value, "", source=how))
    if v.readings is not None:
        for what, read in (("least", v.readings.least), ("most", v.readings.most)):
            found.append(
                Derived(
                    f"film_{what}{tail}",
                    read,
                    "1",
                    source=how,
                    basis=f"{'grey value' if v.digital else 'density'} in the picture of exposure {n}",
                )
            )
    if v.opening_m is not None:
        found.append(Derived(f"images_apart{tail}", v.opening_m, "m", source=how))
    return found
