"""At which end of its wires each of two films' indicators has its own mark, so that the film shows it apart."""

from __future__ import annotations

import math
from collections.abc import Iterable

from halflayer.exposure.beam_room import is_lit, wire_points
from halflayer.exposure.beside_weld import MARKER_M, beside, laid_sets, pair_clocks_rad
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.iqi_mark import off_judged
from halflayer.sheet.iqi_wires import wire_length_m
from halflayer.sheet.letters_on_film import falls_on_film, image_of, surface_of
from halflayer.sheet.letters_place import letters_place
from halflayer.sheet.naming import side_words
from halflayer.sheet.pair_indicators import end_marker_boxes
from halflayer.technique.geometry import Vec3
from halflayer.technique.result import Candidate
from halflayer.technique.wire_sets import WIRE_PITCH_M, wire_set

Box = tuple[
    float, float, float, float
]  # of an image on the film: least, most along the pipe, least, most across [m]


def marks_words(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> str:
    """Where the marks of both sets lie, after the length of their wires; empty without such sets."""
    found = mark_ends(order, weld, c, exposure)
    names = [f"{end} end" if end else "" for end in found]
    if not names:
        return ""
    if len(set(names)) == 1:
        return (
            f"; own marks at their {names[0]}s" if names[0] else "; own marks not shown: numbers in the log"
        )
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    told = [
        f"{side_words(weld, side).split(' the weld')[0].removesuffix(' of')} "
        + (f"at its {n}" if n else "not shown (number in the log)")
        for side, n in zip((-head, head), names, strict=False)
    ]
    return f"; own mark {', '.join(told)}"


def mark_ends(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> list[str]:
    """Of each set the end with a place in the beam and on the film, off what is judged, end markers and letters.

    "clockwise", "anticlockwise", or empty where neither has one. The mark is taken in the middle across the wires.
    """
    clocks, length = pair_clocks_rad(c, exposure), wire_length_m(order, weld, c, exposure)
    if len(clocks) < 2 or not length or c.iqi is None:
        return []
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    radius = weld.pipe.od / 2
    wide = _wide_m(c)
    others = laid_images(order, weld, c, exposure)[:-2]  # wires of its own clock end where it begins
    ends = []
    for one, clock in zip(beside(weld, c), clocks, strict=False):
        middle = head * (one.from_m + (wide / 2 if one.from_m > 0.0 else -wide / 2))
        fits = ""
        for name, way in (("clockwise", 1.0), ("anticlockwise", -1.0)):
            at = clock + way * (length + MARKER_M) / 2 / radius
            points = [
                p
                for x in (middle - MARKER_M, middle + MARKER_M)
                for p in wire_points(weld, x_m=x, from_source_rad=at, length_m=MARKER_M)
            ]
            mine = _image(order, weld, c, points)
            if (
                is_lit(order, weld, c, tuple(points))
                and falls_on_film(order, weld, c, points)
                and off_judged(order, weld, c, exposure, points)
                and all(apart(mine, b) for b in others)
            ):
                fits = name
                break
        ends.append(fits)
    return ends


def _letters(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> Box | None:
    found = letters_place(order, weld, c, exposure)
    if found is None:
        return None
    at = found.clocks_rad[0] - c.shots[0].source_clock_rad
    wide, along = found.room_m
    out = along if found.at_m > 0.0 else -along
    points = [
        p
        for x in (found.at_m, found.at_m + out)
        for p in wire_points(weld, x_m=x, from_source_rad=at, length_m=wide)
    ]
    return _image(order, weld, c, points)


def _image(order: Order, weld: Weld, c: Candidate, points: Iterable[Vec3]) -> Box | None:
    """The room that the images of points take on the film; None where it is not known."""
    film = surface_of(order, weld, c)
    g = c.geometry
    source = (g.axial_offset_m, 0.0, weld.pipe.od / 2 + g.standoff_m)
    images = [i for p in points if film is not None and (i := image_of(film, source, p)) is not None]
    if not images:
        return None
    along, across = [i[0] for i in images], [i[1] for i in images]
    return min(along), max(along), min(across), max(across)


def apart(a: Box | None, b: Box | None) -> bool:
    """Whether two images have no place of the film in common; True where one is not known."""
    if a is None or b is None:
        return True
    return a[1] <= b[0] or b[1] <= a[0] or a[3] <= b[2] or b[3] <= a[2]


def laid_images(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, *, asked: bool = False
) -> list[Box | None]:
    """The images of all that lies in lead on the pipe in exposure 1: end markers, letters, both sets' wires.

    `asked`: of the wires only the one that must show.
    """
    clocks, length = pair_clocks_rad(c, exposure), wire_length_m(order, weld, c, exposure) or 0.0
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    sets = []
    for one, clock, lies in zip(beside(weld, c), clocks, laid_sets(order, weld, c, clocks), strict=False):
        out = math.copysign(1.0, one.from_m)
        ends = one.from_m, one.from_m + out * _wide_m(c)
        if asked:
            names = list(wire_set(c.iqi.required, c.iqi.designation)) if c.iqi else [""]
            n = names.index(c.iqi.required) if c.iqi else 0
            wire = one.from_m + out * WIRE_PITCH_M * (n if lies.turned else len(names) - 1 - n)
            ends = wire - WIRE_PITCH_M / 4, wire + WIRE_PITCH_M / 4
        points = [
            p for x in ends for p in wire_points(weld, x_m=head * x, from_source_rad=clock, length_m=length)
        ]
        sets.append(_image(order, weld, c, points))
    markers = [_image(order, weld, c, b) for b in end_marker_boxes(order, weld, c, exposure)]
    return [*markers, _letters(order, weld, c, exposure), *sets]


def _wide_m(c: Candidate) -> float:
    """From the first to the last wire of a set [m]."""
    return (len(wire_set(c.iqi.required, c.iqi.designation)) - 1) * WIRE_PITCH_M if c.iqi else 0.0
