"""Outside: head on a stand beside the pipe, film inside behind the near wall; single wall, shot by shot."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass

from halflayer.base.result import Derived
from halflayer.order.equipment import Aperture, PlacementName
from halflayer.order.stand_kit import Legs
from halflayer.technique import aperture as openings
from halflayer.technique import room
from halflayer.technique.ask import Ask, Check, Proposal, check
from halflayer.technique.coverage import (
    exposures_needed,
    near_half_angle_for_density_rad,
    near_half_angle_for_growth_rad,
)
from halflayer.technique.placements.base import (
    GEOMETRY,
    access_check,
    arc_with_lap_rad,
    closing_checks,
    distance_check,
    empty_check,
    unequal_check,
    wrapped_film_check,
)
from halflayer.technique.placements.stand import Swing, hole_count, standings, stood_at
from halflayer.technique.placements.stand_checks import (
    Standing,
    clamp_options,
    head_part,
    legs_check,
    neighbours_check,
)
from halflayer.technique.placements.stand_settings import Stood, stand_settings
from halflayer.technique.result import Shot
from halflayer.technique.rules import Answer, MinimumDistance, TechniqueName
from halflayer.technique.usable import BORE_EDGE, attenuation_per_m
from halflayer.technique.words import deg, listed, mm

HOLES_LOOKED_AT = 6  # per legs, from the first that keeps the distance to the last: our choice
UPRIGHT = Swing(leans=False)


@dataclass(frozen=True)
class Coverage:
    """Aperture, usable arc [rad], exposures, their overlap [rad], how they came about and the verdicts on them."""

    aperture: Aperture
    usable_rad: float
    count: int
    overlap_rad: float
    trail: tuple[Derived, ...]
    checks: tuple[Check, ...]


class Outside:
    """Single wall, source outside."""

    name: PlacementName = "outside"
    technique: TechniqueName = "SWSI outside"
    head_kind = "shielded"

    def propose(self, ask: Ask) -> Iterator[Proposal]:
        """Holes from the nearest that keeps the distance on: farther off an exposure judges a wider arc."""
        for clamp, clamp_x, clamp_verdict in clamp_options(ask):
            for s, minimum, more in self._standings(ask):
                cover = coverage(ask, self.technique, s.standoff_m)
                below = _stop_part(ask)
                clocks = room.choose_clocks(
                    ask.weld,
                    (head_part(ask, s), below),
                    count=cover.count,
                    spacings_rad=(2 * math.pi / cover.count,),
                    unchecked="further plates, legs and blankets",
                )
                arc = arc_with_lap_rad(cover.count, cover.overlap_rad)
                yield Proposal(
                    technique=self.technique,
                    arrangement=self.name,
                    standoff_m=s.standoff_m,
                    offset_m=0.0,
                    lean_rad=0.0,
                    source_to_object_m=s.standoff_m,
                    object_to_detector_m=inside_gap_m(ask) + ask.wall,
                    focal_m=ask.focal(),
                    minimum=minimum,
                    shots=tuple(Shot(c, c, arc) for c in clocks.clocks),
                    checks=(
                        distance_check(
                            ask, minimum, focal_m=ask.focal(), source_to_object_m=s.standoff_m, more=more
                        ),
                        *_inside(ask),
                        clamp_verdict,
                        legs_check(ask, s, clamp=clamp),
                        *cover.checks,
                        wrapped_film_check(ask),
                        neighbours_check(ask, s),
                        *unequal_check(ask),
                        clocks.room,
                    ),
                    aperture=cover.aperture,
                    clamp=clamp.id if clamp else None,
                    clamp_x_m=clamp_x,
                    legs=s.legs.id if s.legs else None,
                    leg_hole=s.hole,
                    usable_rad=cover.usable_rad,
                    lap_rad=cover.overlap_rad,
                    settings=stand_settings(ask, Stood(clamp, clamp_x, s)),
                    trail=cover.trail,
                )

    def _standings(self, ask: Ask) -> Iterator[tuple[Standing, Answer[MinimumDistance], tuple[str, ...]]]:
        for s, minimum, more in standings(ask, self.technique, UPRIGHT, lift_m=inside_gap_m(ask)):
            yield s, minimum, more
            if more or s.legs is None or s.hole is None:
                continue
            for hole in _holes_beyond(s.legs, s.hole):
                yield stood_at(ask, s.legs, hole, UPRIGHT), minimum, ()


def _holes_beyond(legs: Legs, first: int) -> list[int]:
    """Some holes beyond the first, evenly to the last."""
    left = hole_count(legs) - first
    steps = min(left, HOLES_LOOKED_AT)
    return [first + round(left * (i + 1) / steps) for i in range(steps)]


def inside_gap_m(ask: Ask) -> float:
    """Inside surface of the pipe to the detector: the cassette lies on the root bead or the thicker wall [m]."""
    thicker = max(ask.weld.left.wall_m or ask.wall, ask.weld.right.wall_m or ask.wall) - ask.wall
    return max(ask.weld.cap.root_m, thicker) + ask.film.cassette_m


def coverage(ask: Ask, technique: TechniqueName, standoff_m: float) -> Coverage:
    """What one exposure may judge of the near wall, and how many close the weld.

    The usable arc is the least of what the code allows, beam and film; the smallest opening that needs no more
    exposures than the largest is taken.
    """
    to_axis = ask.radius + standoff_m
    film_radius = ask.radius - ask.wall - inside_gap_m(ask)
    overlap = ask.overlap()
    overlap_rad = overlap.value / film_radius if film_radius > 0 else math.inf
    by_film = max(ask.film.sheet) / film_radius if film_radius > 0 else 0.0
    by_code, what, required, source = _by_code(ask, technique, to_axis)
    least = ask.at_least(ask.rules.least_exposures(technique).value)

    def beam_of(one: Aperture) -> float:
        return 2 * openings.lit_near_half_angle_rad(
            one,
            outer_radius_m=ask.radius,
            source_to_axis_m=to_axis,
            half_width_m=ask.zone().value,
        )

    def shots_of(one: Aperture) -> float:
        usable = min(by_code, by_film, beam_of(one))
        return exposures_needed(usable_rad=usable, overlap_rad=overlap_rad, minimum=least) or math.inf

    chosen = min(ask.head.apertures, key=lambda one: (shots_of(one), openings.solid_angle(one)))
    by_beam = beam_of(chosen)
    limits = {what: by_code, "beam": by_beam, "film": by_film}
    limit = min(limits, key=lambda k: limits[k])
    usable = limits[limit]
    count = exposures_needed(usable_rad=usable, overlap_rad=overlap_rad, minimum=least)
    relax = (
        f"an aperture or a sheet that covers {deg(overlap_rad + math.radians(10))} and more of the pipe",
    )
    checks = (
        check(
            "usable arc of one exposure",
            required=required,
            reached=f"{deg(usable)} by {limit}: " + listed(f"{k} {deg(a)}" for k, a in limits.items()),
            holds=count is not None,
            source=source,
            relax=relax,
        ),
        *closing_checks(
            overlap, overlap_rad=overlap_rad, by_beam_rad=by_beam, count=count, opening=chosen, relax=relax
        ),
    )
    arcs = tuple(Derived(f"usable by {k}", a, "rad", source=GEOMETRY) for k, a in limits.items())
    trail = (
        Derived("usable_angle", usable, "rad", formula="least of code, beam and film", inputs=arcs),
        Derived("overlap", overlap_rad, "rad", formula="overlap / film radius", source=overlap.source),
    )
    return Coverage(chosen, usable, count or 1, overlap_rad, trail, checks)


def _by_code(ask: Ask, technique: TechniqueName, to_axis: float) -> tuple[float, str, str, str]:
    """Arc that the code allows [rad], what bounds it, the rule in words, its source."""
    growth = ask.rules.growth(technique)
    half: Callable[[float], float] = lambda g: near_half_angle_for_growth_rad(  # noqa: E731
        outer_radius_m=ask.radius, wall_m=ask.wall, growth=g, source_to_axis_m=to_axis
    )
    if growth.value is not None:
        text = f"wall crossed at most {growth.value:.0%} more than {mm(ask.wall)}"
        return 2 * half(growth.value), "growth of the crossed wall", text, growth.source
    variation = ask.rules.density_variation()
    if variation.value is None:
        return 2 * half(BORE_EDGE), "edge of the bore", "no bound of its own", growth.source
    low, high = variation.value
    by_density = near_half_angle_for_density_rad(
        outer_radius_m=ask.radius,
        wall_m=ask.wall,
        source_to_axis_m=to_axis,
        attenuation_per_m=attenuation_per_m(ask.source.nuclide, ask.weld.pipe.material, round(ask.wall, 6)),
        low=low,
        high=high,
    )
    return (
        2 * by_density,
        "density",
        f"density from {low:+.0%} to {high:+.0%} of that at the IQI",
        variation.source,
    )


def _inside(ask: Ask) -> tuple[Check, ...]:
    """Access for the film, a bore that it fits, nothing in the pipe."""
    turn = 2 * math.pi * max(ask.radius - ask.wall - inside_gap_m(ask), 0.0)
    return (
        access_check(ask, required="a film can be laid inside at the weld"),
        empty_check(ask),
        check(
            "film inside the pipe",
            required=f"sheet no longer than the turn inside, {mm(turn)}",
            reached=mm(max(ask.film.sheet)),
            holds=max(ask.film.sheet) <= turn + 1e-9,
            source=GEOMETRY,
            relax=(f"a sheet up to {mm(turn)} long",),
        ),
    )


def _stop_part(ask: Ask) -> room.Part:
    """Stop gap and first plate across the pipe from the source."""
    top = -(ask.radius + ask.insulation)
    plates = [p for p in ask.order.kit.plates if p.count > 0]
    if not plates:
        return room.ring_part("pipe", ask.radius + ask.insulation)
    plate = min(plates, key=lambda p: p.along_m * p.across_m)
    depth = ask.order.kit.stop_gap_m + plate.thickness_m
    return room.box(
        "stop gap and first plate",
        centre=(0.0, 0.0, top - depth / 2),
        size=(plate.along_m, plate.across_m, depth),
    )
