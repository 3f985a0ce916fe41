"""Places on a weld's sheet opened: marks round the pipe from the datum, and how far off survey points lie."""

from __future__ import annotations

import math

from halflayer.base.result import Derived
from halflayer.exposure.judged import TURN, lap_markers, sectors
from halflayer.exposure.opened import COVER
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.sheet.crank import crank, winds
from halflayer.sheet.crew_line import crew_line
from halflayer.sheet.figures import Show
from halflayer.shielding.opened import plain_name
from halflayer.shielding.result import Shielding
from halflayer.shielding.safety_result import FloorDose
from halflayer.technique.result import Candidate

ROUND = "clock from the datum x outside diameter / 2"


def mark_figures(weld: Weld, c: Candidate, exposure: Exposure | None) -> list[Derived]:
    """Where markers stand round the outside from the datum, and the head of an outside exposure."""
    outside = Derived("outside diameter", weld.pipe.od, "m", source="the order")
    found = []
    if c.arrangement == "outside":
        for n, shot in enumerate(c.shots, start=1):
            clock = Derived(
                "clock", shot.source_clock_rad % TURN, "rad", source="what the exposures share out"
            )
            found.append(_run(f"girth_source_{n}", clock, outside, f"source and film of exposure {n}"))
    if c.arrangement == "bore" or c.technique.startswith("DWDI"):
        return found  # number tape, or a number and an arrow: no markers at ends
    judged = sectors(c, exposure.coverage if exposure else None)
    if laps := lap_markers(c, judged):
        for n, at in enumerate(laps, start=1):
            clock = Derived("clock", at % TURN, "rad", source=COVER, basis="the middle of a lap")
            found.append(_run(f"mark_{n}", clock, outside, f"lead number {n}"))
        return found
    seen: dict[int, int] = {}
    for s in judged:
        if s.whole:
            continue
        seen[s.exposure] = seen.get(s.exposure, 0) + 1
        tail = "" if seen[s.exposure] == 1 else f"_{seen[s.exposure]}"
        for word, at in (("from", s.start_rad), ("to", s.start_rad + s.length_rad)):
            clock = Derived("clock", at % TURN, "rad", source=COVER, basis="an end of what is judged")
            name = f"mark_{s.exposure}_{word}{tail}"
            found.append(_run(name, clock, outside, f"marker of exposure {s.exposure}"))
    return found


def _run(name: str, clock: Derived, outside: Derived, what: str) -> Derived:
    value = float(clock.value or 0.0) * float(outside.value or 0.0) / 2
    basis = f"{what}, on the outside from the datum"
    return Derived(
        name, value, "m", formula=ROUND, inputs=(clock, outside), source="exact geometry", basis=basis
    )


def survey_figures(
    order: Order, weld: Weld, s: Shielding, floors: tuple[FloorDose, ...] = ()
) -> list[Derived]:
    """How far from the weld every survey point, place and worst point of a floor lies, and how high places stand."""
    centre = (weld.at[0], weld.at[1], weld.floor_level_m + weld.height_m)
    level = Derived("floor of the weld", weld.floor_level_m, "m", source="the order")
    stated = {p.name for p in order.places}
    found = []
    searched = [(f.floor, f.at) for f in floors]
    stated |= {f.floor for f in floors}
    for place, at in [*((p.name, p.at) for p in s.points), *searched]:
        name, source = plain_name(place), "the order" if place in stated else "points asked round the weld"
        inputs = (
            Derived("in plan", math.dist(centre[:2], at[:2]), "m", source=source),
            Derived("up", at[2] - centre[2], "m", source=source),
        )
        found.append(
            Derived(
                f"distance_{name}",
                math.dist(centre, at),
                "m",
                formula="sqrt(in plan^2 + up^2)",
                inputs=inputs,
                source="exact geometry",
                basis=f"{place}, from the middle of the weld, straight",
            )
        )
        if place not in stated:
            continue  # a ring point has no height printed: all stand alike
        found.append(
            Derived(
                f"height_{name}",
                at[2] - weld.floor_level_m,
                "m",
                formula="height on site - floor of the weld",
                inputs=(Derived("height on site", at[2], "m", source=source), level),
                source="exact geometry",
                basis=place,
            )
        )
    return found


def crank_figures(order: Order, w: WeldPlan) -> list[Derived]:
    """How far the spot of the crank is from container and weld; none where no source is wound."""
    weld = order.weld(w.weld)
    if w.safety is None or not winds(order, w.chosen):
        return []
    spot = crank(order, weld, crew_line(order, weld, w.chosen, Show(), w.safety.contour))
    if spot is None:
        return []
    x, y = (
        Derived(f"site {axis}", c, "m", source="our choice") for axis, c in zip("xy", spot.at, strict=True)
    )
    return [
        Derived(
            f"crank_{name}",
            away,
            "m",
            formula="distance in plan",
            inputs=(x, y),
            source="exact geometry",
            basis=f"spot of the crank to the {what}",
        )
        for name, away, what in (
            ("to_container", spot.container_m, "container"),
            ("to_weld", spot.weld_m, "weld"),
        )
    ]
