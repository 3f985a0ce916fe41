"""What hands set on a stand: clamp and side, hole and reach, steps of lean, shroud."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.base.result import Derived
from halflayer.order.equipment import Shroud
from halflayer.order.stand_kit import Clamp
from halflayer.technique.ask import Ask
from halflayer.technique.placements import shrouds
from halflayer.technique.placements.stand_checks import Standing
from halflayer.technique.words import deg, mm

ORDER = "the order"


@dataclass(frozen=True)
class Stood:
    """A stand as it is put up: clamp and its place along the pipe [m], the standing of the source, the shroud."""

    clamp: Clamp | None
    clamp_x_m: float | None
    standing: Standing
    shroud: Shroud | None = None


def stand_settings(ask: Ask, stood: Stood) -> tuple[Derived, ...]:
    """The settings in working order; names are those that the sheet and `explain` use.

    clamp (id, in words where), clamp_to_weld [m], legs (id), leg_hole (number from the shortest reach),
    reach [m] (source to near pipe surface without lean), lean_steps (number), lean [rad], shroud (id),
    stop_gap [m] (film pack to the stop).
    """
    found: list[Derived] = []
    s, clamp, x = stood.standing, stood.clamp, stood.clamp_x_m
    if clamp is not None and x is not None:
        found += [
            Derived(
                "clamp",
                clamp.id,
                source=ORDER,
                basis=f"takes {mm(clamp.diameter_min_m)} to {mm(clamp.diameter_max_m)}, on the {side_word(ask, x)}",
            ),
            Derived("clamp_to_weld", abs(x), "m", source=ORDER, basis=f"its middle, {side_word(ask, x)}"),
        ]
    if s.legs is not None and s.hole is not None:
        first, pitch = s.legs.reach_min_m, s.legs.hole_pitch_m
        found += [
            Derived("legs", s.legs.id, source=ORDER, basis=f"carry {s.legs.carries_kg:g} kg"),
            Derived("leg_hole", s.hole, "", basis="counted from the shortest reach, both legs alike"),
            Derived(
                "reach",
                s.reach_m,
                "m",
                formula="first + (hole - 1) x pitch",
                inputs=(
                    Derived("first reach", first, "m", source=ORDER),
                    Derived("hole pitch", pitch, "m", source=ORDER),
                ),
                basis="source to near pipe surface before leaning",
            ),
        ]
        if s.lean_rad:
            steps = round(abs(s.lean_rad) / s.legs.lean_step_rad)
            found.append(
                Derived("lean_steps", steps, "", basis=f"steps of {deg(s.legs.lean_step_rad)} from upright")
            )
    if s.lean_rad:
        found.append(
            Derived(
                "lean",
                abs(s.lean_rad),
                "rad",
                basis=f"source {mm(abs(s.offset_m))} {side_word(ask, s.offset_m)}, aimed back at the weld",
            )
        )
    if stood.shroud is not None:
        found += [
            Derived(
                "shroud", stood.shroud.id, source=ORDER, basis=f"{stood.shroud.form}, {stood.shroud.material}"
            ),
            Derived(
                "stop_gap",
                max(shrouds.gap_to_stop_m(ask, s, stood.shroud), 0.0),
                "m",
                basis="film pack to the stop, which lies at the foot of the shroud",
            ),
        ]
    return tuple(found)


def side_word(ask: Ask, x_m: float) -> str:
    """Where a place along the pipe lies, as it is said on site."""
    if math.isclose(x_m, 0.0, abs_tol=1e-9):
        return "at the weld"
    if ask.upright:
        return "below the weld" if x_m < 0 else "above the weld"
    return "left of the weld" if x_m < 0 else "right of the weld"
