"""Masses of the kit opened, of a weld and of all that is carried, and where a survey meter overloads."""

from __future__ import annotations

import math
from dataclasses import replace

from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan
from halflayer.sheet.kit_list import kit_loads, source_carriers, weighed
from halflayer.sheet.load_plan import LIFT_KG, Load, lifts, shared
from halflayer.sheet.meter import overload_m
from halflayer.shielding.opened import plain_name

AT_ONE_TIME = (
    "the most that as many welds as there are teams need together, all that is slit for one; a head once"
)


def mass_figures(w: WeldPlan) -> list[Derived]:
    """Mass of each kind of piece that a weld takes."""
    found = []
    for i in w.shielding.items if w.shielding else ():
        if not i.mass_kg:
            continue
        each = Derived("mass of a piece", i.mass_kg / i.pieces, "kg", source="kit of the order")
        found.append(
            Derived(
                f"mass_{plain_name(i.id)}",
                i.mass_kg,
                "kg",
                formula="pieces x mass of a piece",
                inputs=(Derived("pieces", i.pieces, "1"), each),
                source="kit of the order",
                basis=f"{i.what} {i.id}",
            )
        )
    return found


def kit_figures(order: Order, plan: Plan) -> list[Derived]:
    """Mass of every item of the kit list, of all of it, and of what each person carries."""
    loads = weighed(order, plan)
    masses = [_mass(x) for x in loads]
    if not masses:
        return []
    whole = Derived(
        "kit_mass",
        math.fsum(x.pieces * x.each_kg for x in loads),
        "kg",
        formula="sum over the items whose mass is known",
        inputs=tuple(m.named() for m in masses),
        source="kit of the order",
    )
    return [whole, *masses, *_carried(order, plan), *_of_welds(order, plan)]


def _of_welds(order: Order, plan: Plan) -> list[Derived]:
    """Mass of all that one weld takes, as the line on its own sheet has it."""
    found = []
    for w in plan.welds:
        if w.status != "ready" or w.chosen is None:
            continue
        loads = weighed(order, replace(plan, welds=(w,), schedule=None))
        found.append(
            Derived(
                f"weld_kit_mass_{plain_name(w.weld)}",
                math.fsum(x.pieces * x.each_kg for x in loads),
                "kg",
                formula="sum over the items whose mass is known",
                inputs=tuple(_mass(x).named() for x in loads),
                source="kit of the order",
                basis=w.weld,
            )
        )
    return found


def _carried(order: Order, plan: Plan) -> list[Derived]:
    """What each person carries in all, lift by lift."""
    each = shared(lifts(kit_loads(order, plan)), len(order.crew), source_carriers(order))
    found = []
    for person, mine in zip(order.crew, each, strict=True):
        inputs = tuple(
            Derived(
                f"{x.pieces} of {x.id}",
                x.mass_kg / min(x.people, len(order.crew)),
                "kg",
                basis=f"{x.what}"
                + (f"; a share of {x.mass_kg:g} kg for {x.people} people" if x.people > 1 else ""),
            )
            for x in mine
        )
        found.append(
            Derived(
                f"carries_{person.id}",
                math.fsum(float(i.value or 0.0) for i in inputs),
                "kg",
                formula="sum of the lifts",
                inputs=inputs,
                source=f"lifts of {LIFT_KG:g} kg at most, heaviest first to whoever has least, sources to who carries "
                "them (our choice)",
                basis=person.name,
            )
        )
    return found


def _mass(x: Load) -> Derived:
    return Derived(
        f"kit_mass_{plain_name(x.id)}",
        x.pieces * x.each_kg,
        "kg",
        formula="pieces x mass of a piece",
        inputs=(
            Derived("pieces", x.pieces, "1", basis=AT_ONE_TIME),
            Derived("mass of a piece", x.each_kg, "kg", source="kit of the order"),
        ),
        source="kit of the order",
        basis=f"{x.what} {x.id}",
    )


def overload_figures(order: Order, plan: Plan) -> list[Derived]:
    """How near to each bare source a survey meter comes to the end of its range."""
    found = []
    for tool in order.instruments:
        if tool.kind != "survey meter" or tool.range_Sv_s is None:
            continue
        most = Derived("reads up to", tool.range_Sv_s[1], "Sv/s", source=f"range of {tool.id}, the order")
        for card in plan.stuck:
            near = overload_m(card.at_1m.value, tool.range_Sv_s[1])
            if near is None:
                continue
            found.append(
                Derived(
                    f"overload_{plain_name(tool.id)}_{plain_name(card.source)}",
                    near,
                    "m",
                    formula="sqrt(rate at 1 m / reads up to) x 1 m",
                    inputs=(card.at_1m, most),
                    source="inverse square of a bare source, no air and no wall counted",
                    basis=f"nearer than this to {card.source} bare {tool.id} overloads",
                )
            )
    return found
