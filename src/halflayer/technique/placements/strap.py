"""Strap: head strapped on the pipe, film bent round the far side; the film-side wall is judged, shot by shot."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halflayer.base.result import Derived
from halflayer.order.equipment import Aperture, PlacementName
from halflayer.technique import aperture as openings
from halflayer.technique import room
from halflayer.technique.ask import Ask, Check, Proposal, check
from halflayer.technique.coverage import exposures_needed, wall_path_m
from halflayer.technique.placements.base import (
    GEOMETRY,
    arc_with_lap_rad,
    closing_checks,
    distance_check,
    lying_check,
    shots_at,
    unequal_check,
    wrapped_film_check,
)
from halflayer.technique.rules import TechniqueName
from halflayer.technique.usable import usable_arc
from halflayer.technique.words import deg, listed, mm


class Strap:
    """Double wall single image with the head in contact."""

    name: PlacementName = "strap"
    technique: TechniqueName = "DWSI contact"
    head_kind = "shielded"

    def propose(self, ask: Ask) -> Iterator[Proposal]:
        """One geometry for each least distance of the code: the head's face lies on cap or insulation."""
        standoff = ask.head.source_to_face_m + ask.crown
        f = ask.od - ask.wall + standoff
        focal = ask.focal()
        minima = ask.rules.minimum_distances(
            self.technique, focal_m=focal, diameter_m=ask.od, wall_m=ask.wall, lift_m=ask.gap
        )
        overlap_rad = ask.overlap().value / ask.radius
        kept = [m for m in minima if f >= m.value.distance_m - 1e-9] or list(minima[:1])
        chosen, usable, count, trail, verdict = self._coverage(ask, standoff)
        head = room.head_part(ask.head, source=(0.0, 0.0, ask.radius + standoff), lean_rad=0.0)
        ring, unchecked = film_ring(ask)
        clocks = room.choose_clocks(
            ask.weld,
            (head, ring),
            count=count,
            spacings_rad=(2 * math.pi / count,),
            unchecked=unchecked,
        )
        lack = max(kept[0].value.distance_m - f, 0.0)
        more: tuple[str, ...] = (
            f"a head whose source lies {math.ceil(lack * 1e3 - 1e-6)} mm farther behind its face",
        )
        if (
            clocks.room.verdict.verdict == "breaks"
        ):  # such a head is longer too, and would need more room still
            more = ()
        for minimum in kept:
            yield Proposal(
                technique=self.technique,
                arrangement=self.name,
                standoff_m=standoff,
                offset_m=0.0,
                lean_rad=0.0,
                source_to_object_m=f,
                object_to_detector_m=ask.wall + ask.gap,
                focal_m=focal,
                minimum=minimum,
                shots=shots_at(clocks.clocks, evaluated_rad=arc_with_lap_rad(count, overlap_rad)),
                checks=(
                    distance_check(ask, minimum, focal_m=focal, source_to_object_m=f, more=more),
                    *verdict,
                    wrapped_film_check(ask),
                    lying_check(ask, half_width_m=ask.head.body[0] / 2, what="head"),
                    lying_check(ask, half_width_m=min(ask.film.sheet) / 2, what="film"),
                    *unequal_check(ask),
                    clocks.room,
                ),
                aperture=chosen,
                usable_rad=usable,
                lap_rad=overlap_rad,
                trail=trail,
            )

    def _coverage(
        self, ask: Ask, standoff_m: float
    ) -> tuple[Aperture, float, int, tuple[Derived, ...], tuple[Check, ...]]:
        """Aperture, usable arc, exposures, their trail and verdicts.

        The usable arc is the least of growth of the crossed wall, beam and film; the density over it is the
        exposure's to prove. The smallest opening that needs no more exposures than the largest is taken.
        """
        to_axis = ask.radius + standoff_m
        by_code = usable_arc(ask, self.technique, source_to_axis_m=to_axis)
        by_growth = by_code.arc_rad
        overlap = ask.overlap()
        overlap_rad = overlap.value / ask.radius
        zone = ask.zone()
        by_film = max(ask.film.sheet) / (ask.radius + ask.gap)
        least = ask.at_least(ask.rules.least_exposures(self.technique).value)

        def beam_of(one: Aperture) -> float:
            return 2 * openings.lit_half_angle_rad(
                one, outer_radius_m=ask.radius, source_to_axis_m=to_axis, half_width_m=zone.value
            )

        def shots_of(one: Aperture) -> float:
            usable = min(by_growth, by_film, beam_of(one))
            return exposures_needed(usable_rad=usable, overlap_rad=overlap_rad, minimum=least) or math.inf

        chosen = min(ask.head.apertures, key=lambda one: (shots_of(one), openings.solid_angle(one)))
        by_beam = beam_of(chosen)
        usable = min(by_growth, by_film, by_beam)
        count = exposures_needed(usable_rad=usable, overlap_rad=overlap_rad, minimum=least)
        limits = {by_code.what: by_growth, "beam": by_beam, "film": by_film}
        limit = min(limits, key=lambda k: limits[k])
        edge = ""
        if count:
            judged = arc_with_lap_rad(count, overlap_rad)
            path = (
                wall_path_m(
                    angle_rad=judged / 2,
                    outer_radius_m=ask.radius,
                    wall_m=ask.wall,
                    source_to_axis_m=to_axis,
                )
                if judged <= by_growth + 1e-9
                else math.nan
            )
            if not math.isnan(path):
                edge = (
                    f"; at the ends of the {deg(judged)} judged the wall is crossed on {mm(path)} "
                    f"({path / ask.wall - 1:+.1%}), both walls on {mm(2 * path)}"
                )
        relax = (
            f"an aperture or a sheet that covers {deg(overlap_rad + math.radians(10))} and more of the pipe"
        )
        verdicts = (
            check(
                "usable arc of one exposure",
                required=by_code.required,
                reached=(
                    f"{deg(usable)} by {limit}: "
                    + listed(f"{what} {deg(a)}" for what, a in limits.items())
                    + edge
                    + "; density over it is proved with the exposure"
                ),
                holds=count is not None,
                source=by_code.source,
                relax=(relax,),
            ),
            *closing_checks(
                overlap,
                overlap_rad=overlap_rad,
                by_beam_rad=by_beam,
                count=count,
                opening=chosen,
                relax=(relax,),
            ),
        )
        arcs = tuple(Derived(f"usable by {what}", a, "rad", source=GEOMETRY) for what, a in limits.items())
        trail = (
            Derived("usable_angle", usable, "rad", formula="least of growth, beam and film", inputs=arcs),
            Derived("overlap", overlap_rad, "rad", formula="overlap / R", source=overlap.source),
        )
        return chosen, usable, count or 1, trail, verdicts


def film_ring(ask: Ask) -> tuple[room.Part, str]:
    """Film pack and one blanket round the pipe, and in words what that leaves out."""
    radius = ask.radius + ask.gap + ask.film.screens.back_m + ask.film.screens.backing_lead_m
    blankets = [b for b in ask.order.kit.blankets if b.count > 0]
    if not blankets:
        return room.ring_part("film pack", radius), "nothing else of the kit"
    radius += min(b.thickness_m for b in blankets)
    return room.ring_part("film pack and one blanket", radius), "further blankets"
