"""What every placement answers, and the verdicts that several of them share."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Protocol

from halflayer.order.equipment import Aperture, PlacementName
from halflayer.order.weld import Neighbour
from halflayer.technique import aperture as openings
from halflayer.technique.ask import NOT_WITH_CAP, ONLY_BY_DE, Ask, Check, Proposal, check
from halflayer.technique.result import Shot
from halflayer.technique.rules import OURS, Answer, MinimumDistance, TechniqueName
from halflayer.technique.words import NO_LENGTH, deg, fine_mm, listed, mm

GEOMETRY = "geometry"
KIT = "kit of the order"
WIDER = {"flange": 0.85, "valve": 0.75}  # radius as a share of De, as the scene draws them: our choice
BENT = ("elbow", "tee", "reducer")


class Placement(Protocol):
    """A way to stand at a weld. It proposes geometries with its own checks; the code's checks come from the rules."""

    name: PlacementName
    technique: TechniqueName
    head_kind: str

    def propose(self, ask: Ask) -> Iterable[Proposal]:
        """Every geometry worth judging, also those that break a check; at least one."""


def opposite(clock_rad: float) -> float:
    """The clock across the pipe [rad].

    >>> round(math.degrees(opposite(math.radians(315))), 9)
    135.0
    """
    return math.fmod(clock_rad + math.pi, 2 * math.pi)


def shots_at(clocks: Iterable[float], *, evaluated_rad: float) -> tuple[Shot, ...]:
    """One shot per source clock, the detector across the pipe."""
    return tuple(Shot(c, opposite(c), evaluated_rad) for c in clocks)


def arc_with_lap_rad(count: int, overlap_rad: float) -> float:
    """The arc that each of some exposures judges: its share of the turn and half an overlap past both ends [rad].

    >>> round(math.degrees(arc_with_lap_rad(4, math.radians(10))), 9)
    100.0
    """
    return min(2 * math.pi / count + (overlap_rad if math.isfinite(overlap_rad) else 0.0), 2 * math.pi)


def access_check(ask: Ask, *, required: str) -> Check:
    """Access to the inside of the pipe, as the order states it."""
    return check(
        "access to the bore",
        required=required,
        reached="access inside stated" if ask.weld.access_inside else "no access inside stated",
        holds=ask.weld.access_inside,
        source="the order",
        relax=("access to the inside of the pipe at the weld",),
    )


def empty_check(ask: Ask) -> Check:
    """Nothing but air in the pipe, where a source or a film goes inside."""
    inside = ask.weld.contents.material
    return check(
        "empty pipe",
        required="air in the pipe, where a source or a film goes inside",
        reached=f"{inside} in the pipe",
        holds=inside in ("air", "vacuum"),
        source="the order",
        relax=("an empty pipe",),
    )


def closing_checks(
    overlap: Answer[float],
    *,
    overlap_rad: float,
    by_beam_rad: float,
    count: int | None,
    opening: Aperture,
    relax: tuple[str, ...],
) -> tuple[Check, Check]:
    """Whether exposures with their overlaps close the weld, and the smallest opening that needs no more of them."""
    return (
        check(
            "exposures with overlap",
            required=f"films overlap by {mm(overlap.value)} ({deg(min(overlap_rad, math.pi))})"
            + ("" if overlap.mark == "stated" else f": common practice, {NO_LENGTH}"),
            reached=f"{count} exposures" if count else "no number of exposures closes the weld",
            holds=count is not None,
            source=overlap.source + f" ({overlap.note})",
            relax=relax,
        ),
        check(
            "aperture",
            required=f"no more exposures than the largest opening needs, {deg(openings.MARGIN_RAD)} to spare",
            reached=openings.said(opening),
            holds=by_beam_rad > overlap_rad,
            source=f"{GEOMETRY}; margin: {OURS}",
            relax=relax,
        ),
    )


def distance_check(
    ask: Ask,
    minimum: Answer[MinimumDistance],
    *,
    focal_m: float,
    source_to_object_m: float,
    more: tuple[str, ...] = (),
) -> Check:
    """Source to object against the code's least distance; `more` says in words how to come farther off."""
    m = minimum.value
    lack = m.distance_m - source_to_object_m
    relax: list[str] = []
    if lack > 1e-9:
        largest = m.largest_focal_m(source_to_object_m=source_to_object_m)
        tenths = math.floor(largest * 1e4 + 1e-9)
        relax += [f"a {tenths / 10:g} mm source"] if tenths > 0 else []
        relax += more
        relax += ask.rules.distance_relaxations(minimum=m, reached_m=source_to_object_m)
    b_is = f", {m.b_is}" if m.b_is else ""
    less = f", less {m.reduction:.0%} where {m.condition}" if m.reduction else ""
    return check(
        "source to object distance",
        required=(
            f"f >= {mm(m.distance_m)} ({m.formula} with d = {fine_mm(focal_m)}, "
            f"b = {mm(m.object_to_detector_m)}{b_is}{less})"
        ),
        reached=f"f = {mm(source_to_object_m)}{_by_the_real_b(ask, m, source_to_object_m)}",
        holds=lack <= 1e-9,
        source=minimum.source + (f" ({minimum.note})" if minimum.note else ""),
        relax=tuple(relax),
        agreement=m.agreement,
    )


def with_the_real_b_m(ask: Ask, m: MinimumDistance) -> float | None:
    """The least distance of a double image with b as it is, gap and all [m]; None where the code's b is that one.

    Formula: f_min (b / De)^(2/3), with b = De + cap or insulation + cassette.
    """
    real = ask.od + ask.gap
    if not m.b_is.startswith("De") or real <= m.object_to_detector_m + 1e-9:
        return None
    return float(m.distance_m * (real / m.object_to_detector_m) ** (2.0 / 3.0))


def _by_the_real_b(ask: Ask, m: MinimumDistance, reached_m: float) -> str:
    least = with_the_real_b_m(ask, m)
    if least is None:
        return ""
    verdict = "reached too" if reached_m >= least - 1e-9 else ONLY_BY_DE
    outer = "insulation" if ask.insulation > 0.0 else "cap"
    made = f"{mm(ask.od + ask.gap)} = De + {mm(ask.gap)}, {outer} and holder"
    built = f"; f >= {mm(least)} with b as built ({made}): {verdict}"
    return built + _from_the_cap(ask, m, reached_m)


def _from_the_cap(ask: Ask, m: MinimumDistance, reached_m: float) -> str:
    """The same with the cap towards the source as the object's nearest side: it takes from f what it adds to b."""
    cap = ask.weld.cap.height_m
    if cap <= 0.0:
        return ""
    b = ask.od + ask.gap + cap
    asked, had = float(m.distance_m * (b / m.object_to_detector_m) ** (2.0 / 3.0)), reached_m - cap
    verdict = "holds" if had >= asked - 1e-9 else NOT_WITH_CAP
    return f"; f is from the pipe's surface: from the cap {mm(had)}, f >= {mm(asked)}: {verdict}"


def straight_run_m(neighbour: Neighbour) -> float:
    """Straight pipe on one side of the weld [m]; without end where plain pipe goes on."""
    return math.inf if neighbour.kind == "pipe" else neighbour.distance_m


def unequal_check(ask: Ask) -> tuple[Check, ...]:
    """Unequal walls: said, with what is proved over both; none where the walls are alike."""
    thick = {side: n.wall_m for side, n in (("left", ask.weld.left), ("right", ask.weld.right)) if n.wall_m}
    if not thick:
        return ()
    sides = listed(f"{mm(wall)} on the {side}" for side, wall in thick.items())
    return (
        check(
            "unequal walls",
            required="density over both sides of the weld; source and IQI by the thinner wall",
            reached=f"{mm(ask.wall)} and {sides}: the exposure proves the density on both, check on site that "
            "both are in range of the source",
            holds=None,
            source=GEOMETRY,
        ),
    )


def lying_check(ask: Ask, *, half_width_m: float, what: str) -> Check:
    """Something that lies on the pipe against what stands next to the weld on both sides."""
    blocked: list[str] = []
    unsure: list[str] = []
    for side, n in (("left", ask.weld.left), ("right", ask.weld.right)):
        if straight_run_m(n) >= half_width_m - 1e-9:
            continue
        place = f"{n.kind} on the {side} at {mm(n.distance_m)}"
        (unsure if n.kind in BENT else blocked).append(place)
    reached = listed([*blocked, *unsure]) or "straight pipe on both sides"
    if unsure and not blocked:
        reached += ": it lies partly on the bend, check on site"
    return check(
        f"straight pipe under the {what}",
        required=f"{mm(half_width_m)} on each side of the weld",
        reached=reached,
        holds=False if blocked else None if unsure else True,
        source=GEOMETRY,
        relax=(f"a {what} no wider than {mm(2 * _shortest(ask))}",) if blocked and _shortest(ask) > 0 else (),
    )


def _shortest(ask: Ask) -> float:
    return min(straight_run_m(ask.weld.left), straight_run_m(ask.weld.right))


def wrapped_film_check(ask: Ask) -> Check:
    """The bent sheet against the width of the zone that is judged."""
    zone = ask.zone()
    width = min(ask.film.sheet)
    return check(
        "film width along the pipe",
        required=f">= {mm(2 * zone.value)} (weld and 10 mm on each side)",
        reached=mm(width),
        holds=width >= 2 * zone.value - 1e-9,
        source=zone.source,
        relax=(f"a sheet {mm(2 * zone.value)} wide",),
    )
