"""A rigid shroud on a stand: what it must hold, what it must clear, and where its foot stands."""

from __future__ import annotations

import math

from halflayer.order.equipment import Aperture, Shroud
from halflayer.order.stand_kit import Clamp
from halflayer.technique import room
from halflayer.technique.ask import Ask, Check, check
from halflayer.technique.placements.base import GEOMETRY, KIT, lying_check
from halflayer.technique.placements.stand_checks import Standing
from halflayer.technique.words import deg, listed, mm


def kinds(ask: Ask, form: str) -> tuple[Shroud, ...]:
    """Shrouds of the kit of one form."""
    return tuple(s for s in ask.order.kit.shrouds if s.form == form and s.count > 0)


def foot_z_m(ask: Ask, s: Standing, shroud: Shroud) -> float:
    """Height of the shroud's foot about the pipe axis where the beam axis meets it [m]."""
    way = ask.head.source_to_face_m + shroud.length_m
    return ask.radius + s.standoff_m - way * math.cos(s.lean_rad)


def gap_to_stop_m(ask: Ask, s: Standing, shroud: Shroud) -> float:
    """From the back of the film pack to the stop at the shroud's foot [m]; negative where the foot is too high."""
    back = ask.radius + ask.gap + ask.film.screens.back_m + ask.film.screens.backing_lead_m
    return -foot_z_m(ask, s, shroud) - back


def part(ask: Ask, s: Standing, shroud: Shroud) -> room.Part:
    """The shroud's outside where it stands."""
    source = (s.offset_m, 0.0, ask.radius + s.standoff_m)
    middle = source[2] - ask.head.source_to_face_m - shroud.length_m / 2
    along, across = (2 * half for half in _outer_halves_m(shroud))
    return room.box(
        "shroud",
        centre=(source[0], 0.0, middle),
        size=(along, across, shroud.length_m),
        lean_rad=s.lean_rad,
        about=source,
    )


def checks(
    ask: Ask, s: Standing, shroud: Shroud, aperture: Aperture, clamp: Clamp | None, clamp_x_m: float | None
) -> tuple[Check, ...]:
    """Length, lean, pipe and film pack inside, beam off the walls, clamp and neighbours beside it."""
    return (
        _length(ask, s, shroud),
        _inside(ask, s, shroud),
        _beam(ask, shroud, aperture),
        _clamp(ask, s, shroud, clamp, clamp_x_m),
        lying_check(ask, half_width_m=_half_on_pipe_m(ask, s, shroud), what="shroud"),
    )


def _outer_halves_m(shroud: Shroud) -> tuple[float, float]:
    return shroud.inner[0] / 2 + shroud.wall_m, shroud.inner[1] / 2 + shroud.wall_m


def _half_on_pipe_m(ask: Ask, s: Standing, shroud: Shroud) -> float:
    """How far from the weld the shroud reaches along the pipe, over the pipe's whole height [m]."""
    lean = abs(s.lean_rad)
    bore = ask.radius + ask.insulation + shroud.slot_gap_m
    return _outer_halves_m(shroud)[0] / math.cos(lean) + bore * math.tan(lean)


def _length(ask: Ask, s: Standing, shroud: Shroud) -> Check:
    gap = gap_to_stop_m(ask, s, shroud)
    lack = -gap / math.cos(s.lean_rad)
    fits = gap >= -1e-9
    lacks = [] if fits else [f"a shroud {math.ceil(lack * 1e3 - 1e-6)} mm longer"]
    half_step = (s.legs.lean_step_rad if s.legs else 0.0) / 2 + 1e-9
    leans = shroud.lean_rad is None or abs(abs(s.lean_rad) - shroud.lean_rad) <= half_step
    if not leans:
        lacks.append(f"a shroud that leans {deg(abs(s.lean_rad))}")
    made = "" if shroud.lean_rad is None else f", made for a lean of {deg(shroud.lean_rad)}"
    return check(
        "length of the shroud",
        required="from the head's face to below the film pack, at the lean of the beam",
        reached=(
            f"{shroud.id}: {mm(shroud.length_m)}{made}; lean {deg(abs(s.lean_rad))}, "
            + (f"the stop lies {mm(gap)} below the film pack" if fits else f"{mm(lack)} short")
        ),
        holds=fits and leans,
        source=f"{GEOMETRY}, {KIT}",
        relax=(listed(lacks),) if lacks else (),
    )


def _inside(ask: Ask, s: Standing, shroud: Shroud) -> Check:
    """Pipe with its cut-outs and film pack against the clear opening; on a leaning one the level width counts."""
    along, across = shroud.inner[0] / math.cos(s.lean_rad), shroud.inner[1]
    short, long = sorted(ask.film.sheet)
    pipe = 2 * (ask.radius + ask.insulation + shroud.slot_gap_m)
    lacks = []
    if pipe > across + 1e-9 or long > across + 1e-9:
        lacks.append(f"a shroud {mm(max(pipe, long))} wide inside across the pipe")
    if short > along + 1e-9:
        lacks.append(f"a shroud {mm(short)} wide inside along the pipe")
    return check(
        "room in the shroud",
        required=f"pipe {mm(pipe)} with its cut-outs, film {mm(short)} along and {mm(long)} across",
        reached=f"{shroud.id}: {mm(along)} along and {mm(across)} across",
        holds=not lacks,
        source=f"{GEOMETRY}, {KIT}",
        relax=(listed(lacks),) if lacks else (),
    )


def _beam(ask: Ask, shroud: Shroud, aperture: Aperture) -> Check:
    """The beam at the shroud's foot, penumbra included, against the clear opening."""
    face = ask.head.source_to_face_m
    path = face + shroud.length_m
    half_along = aperture.half_along_rad or aperture.half_angle_rad or 0.0
    half_across = aperture.half_across_rad or aperture.half_angle_rad or 0.0
    blur = ask.focal() * (0.5 + shroud.length_m / face)
    need = [2 * (path * math.tan(half) + blur) for half in (half_along, half_across)]
    holds = all(n <= inner + 1e-9 for n, inner in zip(need, shroud.inner, strict=True))
    return check(
        "beam inside the shroud",
        required=f"{mm(need[0])} along and {mm(need[1])} across at its foot",
        reached=f"{shroud.id}: {mm(shroud.inner[0])} along and {mm(shroud.inner[1])} across",
        holds=holds,
        source=GEOMETRY,
        relax=("a smaller aperture or a wider shroud",),
    )


def _clamp(ask: Ask, s: Standing, shroud: Shroud, clamp: Clamp | None, clamp_x_m: float | None) -> Check:
    reach = _half_on_pipe_m(ask, s, shroud)
    if clamp is None or clamp_x_m is None:
        begins, said = math.inf, "no clamp"
    else:
        begins = abs(clamp_x_m) - clamp.width_m / 2
        said = f"{clamp.id} begins {mm(begins)} from the weld"
    return check(
        "clamp beside the shroud",
        required=f"clamp beyond {mm(reach)} from the weld",
        reached=said,
        holds=reach <= begins + 1e-9,
        source=f"{GEOMETRY}, {KIT}",
        relax=(f"a clamp {math.ceil((reach - begins) * 1e3 - 1e-6)} mm farther from the weld",)
        if math.isfinite(begins) and reach > begins
        else (),
    )
