"""Bore: bare source centred in the pipe, film wrapped outside; the whole weld in one exposure."""

from __future__ import annotations

import math
from collections.abc import Iterator

from halflayer.order.equipment import PlacementName
from halflayer.technique import room, tube_room
from halflayer.technique.ask import Ask, Check, Proposal, check
from halflayer.technique.placements.base import (
    KIT,
    access_check,
    distance_check,
    empty_check,
    lying_check,
    unequal_check,
    wrapped_film_check,
)
from halflayer.technique.placements.strap import film_ring
from halflayer.technique.result import Shot
from halflayer.technique.rules import TechniqueName
from halflayer.technique.words import mm


class Bore:
    """Single wall, panoramic."""

    name: PlacementName = "bore"
    technique: TechniqueName = "SWSI panoramic"
    head_kind = "spider"

    def propose(self, ask: Ask) -> Iterator[Proposal]:
        """One geometry for the first least distance of the code that the inner radius keeps."""
        f = ask.radius - ask.wall
        focal = ask.focal("across")  # a source on the pipe's axis is seen from its side all round
        minima = ask.rules.minimum_distances(
            self.technique, focal_m=focal, diameter_m=ask.od, wall_m=ask.wall, lift_m=ask.gap
        )
        kept = [m for m in minima if f >= m.value.distance_m - 1e-9]
        minimum = kept[0] if kept else minima[1 if len(minima) > 1 else 0]
        ring, unchecked = film_ring(ask)
        yield Proposal(
            technique=self.technique,
            arrangement="bore",
            standoff_m=0.0,
            offset_m=0.0,
            lean_rad=0.0,
            source_to_object_m=f,
            object_to_detector_m=ask.wall + ask.gap,
            focal_m=focal,
            minimum=minimum,
            shots=(Shot(0.0, 0.0, 2 * math.pi),),
            checks=(
                distance_check(ask, minimum, focal_m=focal, source_to_object_m=f),
                *self._inside(ask),
                wrapped_film_check(ask),
                self._films(ask),
                *unequal_check(ask),
                lying_check(ask, half_width_m=min(ask.film.sheet) / 2, what="film"),
                room.room_check(ask.weld, (ring,), (0.0,), unchecked=unchecked),
                *_way(ask),
            ),
            usable_rad=2 * math.pi,
        )

    def _inside(self, ask: Ask) -> tuple[Check, ...]:
        body = max(ask.head.body[1], ask.head.body[2])
        bore = ask.weld.pipe.bore - 2 * ask.weld.cap.root_m
        return (
            access_check(ask, required="a source can be brought into the bore at the weld"),
            empty_check(ask),
            check(
                "spider in the bore",
                required=f"bore >= {mm(body)} (body of {ask.head.id})",
                reached=f"{mm(bore)} between the root beads" if ask.weld.cap.root_m else mm(bore),
                holds=bore >= body - 1e-9,
                source=KIT,
            ),
        )

    def _films(self, ask: Ask) -> Check:
        turn = 2 * math.pi * (ask.radius + ask.gap)
        overlap = ask.overlap()
        step = max(ask.film.sheet) - overlap.value
        pieces = math.ceil(turn / step - 1e-9) if step > 0 else 0
        return check(
            "film length round the pipe",
            required=f"{mm(turn)} round the pipe, ends overlapping by {mm(overlap.value)}",
            reached=f"{pieces} sheets of {mm(max(ask.film.sheet))}",
            holds=pieces > 0,
            source=f"{overlap.source} ({overlap.note})",
            relax=("a longer sheet",),
        )


def _way(ask: Ask) -> tuple[Check, ...]:
    """Whether the source's way into the bore keeps out of what the order states; the tube's own size is not stated."""
    weld = ask.weld
    if weld.guide_from is None:
        return ()
    centre = (*weld.at, weld.floor_level_m + weld.height_m)
    path = (centre, *reversed(weld.guide_by), weld.guide_from)
    return (tube_room.room_check(ask.order, weld, [("the exposure", path)], outer_m=0.0),)
