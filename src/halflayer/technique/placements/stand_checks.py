"""Verdicts on a stand: clamp, legs, aperture, film and stop below the pipe, what stands next to the weld."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.equipment import Aperture, Shroud
from halflayer.order.stand_kit import Clamp, Legs
from halflayer.order.weld import Neighbour
from halflayer.technique import aperture as openings
from halflayer.technique import room
from halflayer.technique.ask import Ask, Check, check
from halflayer.technique.ellipse import film_span_m
from halflayer.technique.placements.base import BENT, GEOMETRY, KIT, WIDER, straight_run_m
from halflayer.technique.rules import OURS
from halflayer.technique.words import deg, listed, mm


@dataclass(frozen=True)
class Standing:
    """Where a source stands on a stand [m, rad], signed lean and offset: positive away from a clamp at x < 0."""

    legs: Legs | None
    hole: int | None
    reach_m: float
    lean_rad: float
    offset_m: float
    standoff_m: float


def head_part(ask: Ask, s: Standing) -> room.Part:
    """The head's body where it stands."""
    source = (s.offset_m, 0.0, ask.radius + s.standoff_m)
    return room.head_part(ask.head, source=source, lean_rad=s.lean_rad)


ClampOption = tuple[Clamp | None, float | None, Check]


def clamp_options(ask: Ask) -> list[ClampOption]:
    """Clamps that fit with the side they stand on, left before right; if none fits, the nearest miss."""
    good: list[ClampOption] = []
    bad: list[tuple[int, ClampOption]] = []
    for clamp in ask.order.kit.clamps:
        if clamp.count < 1:
            continue
        size = ask.od + 2 * ask.weld.insulation_at_m(clamp.from_weld_m)
        for side, sign, n in (("left", -1, ask.weld.left), ("right", 1, ask.weld.right)):
            verdict, lacks = _clamp_check(ask, clamp, size, side, n)
            option = (clamp, sign * clamp.from_weld_m, verdict)
            if lacks:
                bad.append((lacks, option))
            else:
                good.append(option)
    if good:
        return good
    if bad:
        return [min(bad, key=lambda b: b[0])[1]]
    none = check(
        "clamp",
        required=f"a clamp for {mm(ask.od)}",
        reached="no clamp in the kit",
        holds=False,
        source=KIT,
        relax=(f"a clamp for {mm(ask.od)}",),
    )
    return [(None, None, none)]


def _clamp_check(ask: Ask, clamp: Clamp, size: float, side: str, n: Neighbour) -> tuple[Check, int]:
    """The verdict and the number of things that do not fit."""
    run = clamp.from_weld_m + clamp.width_m / 2
    fits = clamp.diameter_min_m - 1e-9 <= size <= clamp.diameter_max_m + 1e-9
    stands = straight_run_m(n) >= run - 1e-9
    lacks = []
    near, far = (ask.weld.insulation_at_m(clamp.from_weld_m + k * clamp.width_m / 2) for k in (-1, 1))
    if near != far:
        lacks.append("the insulation off as far as the clamp, or left on under all of it")
    if not fits:
        lacks.append(f"a clamp for {mm(size)}")
    if not stands:
        lacks.append(f"a clamp within {mm(n.distance_m)} of the weld")
    free = "plain pipe" if math.isinf(straight_run_m(n)) else f"{n.kind} at {mm(n.distance_m)}"
    verdict = check(
        "clamp",
        required=(
            f"{clamp.id}: {mm(clamp.diameter_min_m)} to {mm(clamp.diameter_max_m)} around, "
            f"{mm(run)} of straight pipe"
        ),
        reached=f"{mm(size)} around, on the {side}: {free}" + (f"; wants {listed(lacks)}" if lacks else ""),
        holds=not lacks,
        source=KIT,
        relax=(listed(lacks),) if lacks else (),
    )
    return verdict, len(lacks)


def legs_check(ask: Ask, s: Standing, shroud: Shroud | None = None, clamp: Clamp | None = None) -> Check:
    """Load, lean and reach of the legs, and whether their arm goes from the clamp to the weld."""
    load_kg = ask.head.mass_kg + (shroud.mass_kg if shroud else 0.0)
    if s.legs is None:
        wanted = f"legs with a reach of {mm(s.reach_m)}"
        return check(
            "legs", required=wanted, reached="no legs in the kit", holds=False, source=KIT, relax=(wanted,)
        )
    lacks = []
    if not s.legs.reach_min_m - 1e-9 <= s.reach_m <= s.legs.reach_max_m + 1e-9:
        lacks.append(f"legs with a reach of {mm(s.reach_m)}")
    if load_kg > s.legs.carries_kg:
        lacks.append(f"legs that carry {load_kg:g} kg")
    if abs(s.lean_rad) > s.legs.lean_max_rad + 1e-9:
        lacks.append(f"legs that lean {deg(abs(s.lean_rad))}")
    arm, far = s.legs.arm, clamp.from_weld_m if clamp else None
    if arm is not None and far is not None and not arm[0] - 1e-9 <= far <= arm[1] + 1e-9:
        lacks.append(f"an arm of {mm(far)} from clamp to weld, in place of {mm(arm[0])} to {mm(arm[1])}")
    return check(
        "legs",
        required=(
            f"{s.legs.id}: reach {mm(s.legs.reach_min_m)} to {mm(s.legs.reach_max_m)}, lean up to "
            f"{deg(s.legs.lean_max_rad)}, carries {s.legs.carries_kg:g} kg"
        ),
        reached=(
            f"hole {s.hole}: reach {mm(s.reach_m)}, lean {deg(abs(s.lean_rad))}, "
            f"head {'and shroud ' if shroud else ''}{load_kg:g} kg (the stop's plates are weighed with the shielding)"
        ),
        holds=not lacks,
        source=KIT,
        relax=(listed(lacks),) if lacks else (),
    )


def aperture_for(ask: Ask, s: Standing) -> tuple[Aperture, Check]:
    """The smallest opening that lights the judged zone of both walls, all round."""
    zone = ask.zone()
    need = openings.needed_rad(
        radius_m=ask.radius + ask.weld.cap.height_m,
        half_width_m=zone.value,
        offset_m=s.offset_m,
        source_height_m=ask.radius + s.standoff_m,
        lean_rad=s.lean_rad,
    )
    chosen, lit = openings.smallest_covering(ask.head.apertures, need)
    margin = deg(openings.MARGIN_RAD)
    cone, along, across = (a + openings.MARGIN_RAD for a in need)
    wanted = (
        f"{deg(_up(cone))} half angle"
        if chosen.shape == "round"
        else f"{deg(_up(along))} along and {deg(_up(across))} across"
    )
    return chosen, check(
        "aperture",
        required=f"{wanted}, with {margin} to spare (both walls, weld and 10 mm on each side)",
        reached=openings.said(chosen),
        holds=lit,
        source=f"{GEOMETRY}; margin: {OURS}",
        relax=(f"an aperture of {wanted}",),
    )


def _up(angle: float) -> float:
    """An angle rounded up to a tenth of a degree."""
    return math.radians(math.ceil(math.degrees(angle) * 10 - 1e-9) / 10)


def film_check(ask: Ask, s: Standing, clamp: Clamp | None, clamp_x: float | None) -> Check:
    """The flat sheet under the pipe: both images of the zone, the pipe's shadow, and the clamp beside it."""
    zone = ask.zone()
    low, high = film_span_m(
        offset_m=s.offset_m,
        standoff_m=s.standoff_m,
        diameter_m=ask.od,
        gap_m=ask.gap,
        half_width_m=zone.value,
    )
    middle = -s.offset_m * (ask.radius + ask.gap) / (ask.radius + s.standoff_m)
    along = 2 * max(high - middle, middle - low)
    to_axis = ask.radius + s.standoff_m
    r = ask.radius + ask.weld.cap.height_m
    shadow = 2 * (to_axis + ask.radius + ask.gap) * math.tan(math.asin(min(r / to_axis, 1.0)))
    short, long = sorted(ask.film.sheet)
    fits = (along <= short + 1e-9 and shadow <= long + 1e-9) or (
        along <= long + 1e-9 and shadow <= short + 1e-9
    )
    clear = True
    beside = ""
    if clamp and clamp_x is not None:
        reach = middle * math.copysign(1.0, clamp_x) + (short if along <= short + 1e-9 else long) / 2
        clear = reach <= abs(clamp_x) - clamp.width_m / 2 + 1e-9
        beside = (
            f"; film ends {mm(reach)} from the weld, clamp begins at {mm(abs(clamp_x) - clamp.width_m / 2)}"
        )
    return check(
        "film under the pipe",
        required=f"{mm(along)} along and {mm(shadow)} across for both images of the zone, clear of the clamp",
        reached=f"sheet {mm(short)} x {mm(long)}{beside}",
        holds=fits and clear,
        source=f"{GEOMETRY}; {zone.source}",
        relax=()
        if fits and clear
        else (f"a sheet of {mm(along)} x {mm(shadow)}" if not fits else "a shorter sheet",),
    )


def neighbours_check(ask: Ask, s: Standing) -> Check:
    """The head's body over what stands next to the weld."""
    corners = head_part(ask, s).corners
    low = min(z for _, _, z in corners)
    blocked, unsure, passed = [], [], []
    for side, n, reach in (
        ("left", ask.weld.left, -min(x for x, _, _ in corners)),
        ("right", ask.weld.right, max(x for x, _, _ in corners)),
    ):
        if n.kind in ("pipe", "open end", "cap") or reach <= n.distance_m:
            continue
        place = f"{n.kind} on the {side} at {mm(n.distance_m)}"
        if n.kind in BENT:
            unsure.append(place)
        elif low >= WIDER[n.kind] * ask.od:
            passed.append(place)
        else:
            blocked.append(place)
    if blocked:
        reached = f"the head meets the {listed(blocked)}"
    elif unsure:
        reached = f"the head reaches over the {listed(unsure)}: check on site that it turns away"
    elif passed:
        reached = f"the head passes {mm(low - ask.radius)} above the pipe over the {listed(passed)}"
    else:
        reached = "the head ends before them"
    return check(
        "distance to neighbours",
        required="head body clear of what stands next to the weld",
        reached=reached,
        holds=False if blocked else None if unsure else True,
        source=f"{GEOMETRY}; flange and valve radius as shares of De: {OURS}",
        relax=("a smaller head body or legs with a longer first reach",) if blocked else (),
    )


def below_part(
    ask: Ask, s: Standing, *, foot_z_m: float | None = None, plates: bool = True
) -> tuple[room.Part, str]:
    """Film pack, stop gap and one plate across the pipe from the source, and in words what that leaves out.

    `foot_z_m`: height of a shroud's foot, on which the stop then lies. `plates` False: the smallest blanket,
    folded, in the place of the first plate.
    """
    pack = ask.gap + ask.film.screens.back_m + ask.film.screens.backing_lead_m
    kit = [p for p in ask.order.kit.plates if p.count > 0] if plates else []
    blankets = [b for b in ask.order.kit.blankets if b.count > 0] if not plates else []
    top = -(ask.radius + ask.gap)
    if blankets:
        small = min(blankets, key=lambda b: b.width_m * b.length_m)
        depth, what = pack - ask.gap + small.thickness_m, "film pack and first folded blanket"
        along = small.width_m
        across = small.length_m / small.folds
    elif not kit:
        depth, along, across, what = pack - ask.gap, *sorted(ask.film.sheet), "film pack"
    else:
        plate = min(kit, key=lambda p: p.along_m * p.across_m)
        depth = pack - ask.gap + ask.order.kit.stop_gap_m + plate.thickness_m
        if foot_z_m is not None:
            depth = max(top - foot_z_m, pack - ask.gap) + plate.thickness_m
        along, across, what = plate.along_m, plate.across_m, "film pack, stop gap and first plate"
    bottom = top - depth
    middle = s.offset_m * bottom / (ask.radius + s.standoff_m)
    part = room.box(what, centre=(middle, 0.0, (top + bottom) / 2), size=(along, across, depth))
    return part, "further plates, legs and blankets" if plates else "further blankets and legs"
