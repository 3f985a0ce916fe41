"""Where the letter between two films lies that tells the rear one: from the holder's middle, off what films show."""

from __future__ import annotations

import math

from halflayer.exposure.beam_room import is_lit, wire_points
from halflayer.exposure.beside_weld import MARKER_M, marker_sides, pair_clocks_rad
from halflayer.exposure.judged import sectors
from halflayer.exposure.result import Exposure
from halflayer.order.equipment import FLAT_FILM, Film
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.film_pack import flat_surface
from halflayer.sheet.figures import Show
from halflayer.sheet.naming import side_words
from halflayer.sheet.pair_marks import Box, apart, laid_images
from halflayer.technique.result import Candidate

STEP_M = 0.005  # from place to place tried along the pipe: our choice
STEPS = 5


def rear_letter_words(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show) -> str:
    """Where a letter between two films lies, from the holder's middle; empty where the beam leaves it no place.

    In line from the source with a place on the pipe, past the zone judged of either wall towards the head: the first
    off the images of both sets, end markers and letters, else off all but wires that need not show; else at the clock
    of the letters. Source: similar triangles, as of the opening.
    """
    film = next((f for f in order.all_detectors if f.id == c.detector), None)
    if not isinstance(film, Film) or c.arrangement not in FLAT_FILM:
        return ""
    turn = letters_turn_rad(c, exposure)
    every = laid_images(order, weld, c, exposure)
    needed = laid_images(order, weld, c, exposure, asked=True)
    tried = [
        (found, way)
        for way in (turn, -turn, 0.0)
        for n in range(STEPS)
        if (found := _on_film(order, weld, c, film, way, n * STEP_M)) is not None
    ]
    if not tried or tried[0][1] != turn:
        return ""
    clear, told = next((one for one in tried if _free(one[0], every)), None), ""
    if clear is None:
        clear = next((one for one in tried if _free(one[0], needed)), None)
        told = f" (beside the IQI's wires, off {c.iqi.required})" if clear and c.iqi else ""
    (along, across), way = clear or tried[0]
    side = side_words(weld, along).replace("the weld", "the holder's middle")
    aside_rad = math.copysign(math.pi / 2, way)
    sides = dict.fromkeys(show.degrees((s.source_clock_rad + aside_rad) % math.tau) for s in c.shots)
    aside = show.drawn(round(abs(across), 3))
    by = " by exposure" * (len(sides) > 1)
    return (
        f"{show.drawn(round(abs(along), 3))} {side} and {aside} towards clock {', '.join(sides)}{by}{told}, that "
        "corner chalked on the holder's back"
    )


def _on_film(
    order: Order, weld: Weld, c: Candidate, film: Film, turn_rad: float, out_m: float
) -> tuple[float, float] | None:
    """The image along and across from the film's middle [m] of such a place, `out_m` farther off the weld; None where
    the beam or the film has none.
    """
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    x = head * (marker_sides(order, weld, c).over_m + MARKER_M + out_m)
    points = wire_points(weld, x_m=x, from_source_rad=turn_rad, length_m=0.0)
    if not is_lit(order, weld, c, points):
        return None
    g, (_, y, z) = c.geometry, points[0]
    source_z = weld.pipe.od / 2 + g.standoff_m
    grown = (g.standoff_m + g.object_to_detector_m) / (source_z - z)
    along = g.axial_offset_m + grown * (x - g.axial_offset_m) - flat_surface(weld, film, c).centre[0]
    across = y * grown
    if abs(along) + MARKER_M > min(film.sheet) / 2 or abs(across) + MARKER_M > max(film.sheet) / 2:
        return None
    return along, across


def _free(at: tuple[float, float], others: list[Box | None]) -> bool:
    along, across = at
    mine = along - MARKER_M, along + MARKER_M, across - MARKER_M, across + MARKER_M
    return all(apart(mine, b) for b in others)


def letters_turn_rad(c: Candidate, exposure: Exposure | None) -> float:
    """Clock of the letters from the middle of what exposure 1 judges [rad]: half-way to an end, away from the sets."""
    found = [
        s for s in sectors(c, exposure.coverage if exposure else None) if s.exposure == 1 and not s.whole
    ]
    sets = pair_clocks_rad(c, exposure)
    quarter = min((s.length_rad for s in found), default=0.0) / 4
    return -quarter if not sets or sets[0] >= 0.0 else quarter
