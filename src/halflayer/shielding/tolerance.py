"""How far a head may be out of place with every limit still held: room on the stop, confirmed by a look."""

from __future__ import annotations

import math
from collections.abc import Callable

from halflayer.base.result import Derived
from halflayer.scene.build import Built
from halflayer.scene.frame import Vec3, add, scaled
from halflayer.scene.solids import Box, Tube
from halflayer.shielding.bench import AT_LINE, ROPE, Bench, cosine, holds, sideways, upper
from halflayer.shielding.moved import cross, head_turned, hole_along
from halflayer.shielding.safety_result import LostCase, Tolerance
from halflayer.shielding.spots import changed

TURN_MOST_RAD = math.radians(10.0)  # no one fails to see more: our choice
SHIFT_MOST_M = 0.10
NOT_FARTHER = "farther out was not looked at"  # of a tolerance that is a lower bound: no more was tried


def margins_m(built: Built) -> tuple[float, float] | None:
    """Room between the beam's edge and the edge of what stops it, along the pipe and across [m]; None without either.

    Stop plates: half the difference of plate and footprint. Sleeve: along the pipe only, it goes all round.
    """
    along, across = built.footprint_m
    stop = next((s for s in built.scene.solids if s.name == "stop" and isinstance(s, Box)), None)
    if stop is not None:
        return (stop.size[0] - along) / 2, (stop.size[1] - across) / 2
    wrap = next((s for s in built.scene.solids if s.name == "wrap" and isinstance(s, Tube)), None)
    if wrap is not None:
        return (wrap.length_m - along) / 2, math.inf
    return None


def weak_axis(b: Bench) -> tuple[Vec3, str]:
    """Axis about which a turn soonest brings the beam off what stops it, towards the barrier point that sees it."""
    found = margins_m(b.built)
    along, across = b.built.axis_along, sideways(b.built)
    off, words = (
        (along, "along the pipe") if found is None or found[0] <= found[1] else (across, "across the pipe")
    )
    seen = [r.ask for r in b.planned if r.ask.radius_m is not None]
    plus = max((cosine(b.built, a, off) for a in seen), default=0.0)
    minus = max((cosine(b.built, a, scaled(off, -1.0)) for a in seen), default=0.0)
    if minus > plus:
        off = scaled(off, -1.0)
    # turning about aim x off by a small angle moves the aim towards off
    if found is not None:
        words += ", least room"
    return cross(b.built.aim, off), words


def tolerance(
    b: Bench, case: LostCase | None, shifted: LostCase | None = None, *, thorough: bool
) -> Tolerance:
    """The largest turn and shift with the beam still on what stops it, or the turn of the case, confirmed by a look.

    `case` and `shifted` are the looks at the stated turn and shift: where one does not hold, nothing from it on is
    said to hold either; where the shift's holds, that shift is what is said, neither less nor more.
    """
    margin = margins_m(b.built)
    if b.built.beam.is_open or margin is None:
        why = (
            "not applicable: the source is open all round"
            if b.built.beam.is_open
            else "not computed: no plates stand in the beam; what a head turned or shifted as stated brings is below"
        )
        kit = b.setting.order.kit
        return Tolerance(
            _as_looked("turn_tolerance", kit.head_turn_rad, "rad", case, why),
            _as_looked("shift_tolerance", kit.head_shift_m, "m", shifted, why),
        )
    room = min(margin)
    axis, words = weak_axis(b)
    far = _to_stop_m(b.built)

    def turned(angle: float) -> Callable[[Built], Built]:
        return lambda built: head_turned(built, axis=axis, angle_rad=angle)

    inputs = (
        Derived("room on the stop", room, "m", basis=f"beam's edge to the edge of what stops it, {words}"),
        Derived("source to stop", far, "m", basis="along the beam"),
    )
    turn, basis = _largest(b, min(math.atan2(max(room, 0.0), far), TURN_MOST_RAD), turned, case, thorough)
    shift = None if turn is None else min(far * math.tan(turn), SHIFT_MOST_M)
    shift_basis = basis if turn is None else f"as the turn: {basis}"
    stated = b.setting.order.kit.head_shift_m
    if shift is not None and contradicted(shifted, shift, stated):
        shift, shift_basis = None, f"not computed: a look at a shift of {stated * 1000:.3g} mm does not hold"
    elif shift is not None and holds_as_stated(shifted):
        shift = stated
        shift_basis = f"held by a look at a shift of {stated * 1000:.3g} mm, not proved; {NOT_FARTHER}"
    source = "geometry, confirmed by looks"
    return Tolerance(
        turn=Derived(
            "turn_tolerance",
            turn,
            "rad",
            formula="atan(room / source to stop), or the stated turn where a look holds only that",
            inputs=inputs,
            source=source,
            basis=basis,
        ),
        shift=Derived(
            "shift_tolerance",
            shift,
            "m",
            formula="the stated shift where a look holds it, else source to stop x tan(turn): it moves the beam as far",
            inputs=inputs,
            source=source,
            basis=shift_basis,
        ),
    )


def _as_looked(name: str, stated: float, unit: str, case: LostCase | None, why: str) -> Derived:
    """The stated turn or shift where a look at it holds, though no edge says how much more would: a lower bound."""
    if not holds_as_stated(case):
        return Derived(name, None, unit, basis=why)
    basis = f"a look as stated holds every limit, not proved; no plates stand in the beam, {NOT_FARTHER}"
    return Derived(name, stated, unit, source="the order, confirmed by a look", basis=basis)


def holds_as_stated(case: LostCase | None) -> bool:
    """True where a look at the stated shift holds every limit: then that shift is said, what was looked at."""
    return case is not None and case.holds is True


def contradicted(case: LostCase | None, found: float, stated: float) -> bool:
    """True where a look at the stated turn or shift, no more than what was found, does not hold every limit."""
    return case is not None and case.holds is not True and found >= stated


def _to_stop_m(built: Built) -> float:
    """Source to the stop's near face or the far sleeve along the beam [m]."""
    hole = hole_along(built, start=built.source_at, direction=built.aim, edge_m=0.1)
    stop = next((s for s in built.scene.solids if s.name == "stop" and isinstance(s, Box)), None)
    if stop is not None:
        d = add(stop.centre, scaled(built.source_at, -1.0))
        return max(sum(a * c for a, c in zip(d, built.aim, strict=True)) - stop.size[2] / 2, 0.01)
    return math.dist(hole.centre, built.source_at) if hole is not None else 1.0


def _no_room(b: Bench, k: float) -> str:
    """Why the set-up as planned leaves nothing to tell of a head out of place, in a short phrase."""
    asked = [r for r in b.planned if r.ask.limit_Sv_s]
    top = max(asked, key=lambda r: upper(r, k) / (r.ask.limit_Sv_s or 1.0), default=None)
    if top is None:
        return "no limit is asked here"
    if top.ask.name.startswith(AT_LINE):
        stands = "rope" if top.ask.name.startswith(ROPE) else "barrier line"
        return f"no room at the {stands} for the noise of a short look; the plan's own run decides there"
    return f"the short look is too noisy at {top.ask.name} to tell: a longer run would"


def _largest(
    b: Bench,
    edge: float,
    change: Callable[[float], Callable[[Built], Built]],
    case: LostCase | None,
    thorough: bool,
) -> tuple[float | None, str]:
    """The turn that brings the beam's edge to the edge of what stops it where a look holds every limit there."""
    k = b.setting.budget(b.fitting)[1]
    if edge <= 0.0:
        return 0.0, "the beam is as wide as what stops it: none"
    if holds(b.planned, k) is not True:
        return None, f"not computed: {_no_room(b, k)}"
    stated = b.setting.order.kit.head_turn_rad
    if case is not None and case.holds is True and edge <= stated:
        return edge, "a look at the stated turn holds, not proved; beyond this the beam leaves what stops it"
    if contradicted(case, edge, stated):
        return None, "not computed: a look at the stated turn does not hold every limit"
    if thorough and holds(b.look(changed(b.setting, change(edge)), b.fitting), k) is True:
        return edge, "held by a look, not proved; beyond it the beam leaves what stops it"
    if case is not None and case.holds is True:
        far = "a look farther out does not hold" if thorough else NOT_FARTHER
        return stated, f"limits held by a look at the stated turn, not proved; {far}"
    return None, "not computed: no look with the head turned held every limit"
