"""How the indicators of two films lie beside the weld, in words: side, place, way round; all end markers."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.exposure.beam_room import is_lit, wire_points
from halflayer.exposure.beside_weld import (
    MARKER_M,
    EndMarker,
    Laid,
    MarkerSides,
    beside,
    laid_sets,
    marker_sides,
    markers_beside,
    pair_clocks_rad,
)
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import Show
from halflayer.sheet.iqi_wires import judged_ends
from halflayer.sheet.letters_on_film import image_of, surface_of
from halflayer.sheet.naming import side_words
from halflayer.technique.choose import rules_for
from halflayer.technique.geometry import Vec3
from halflayer.technique.result import Candidate
from halflayer.technique.wire_sets import WIRE_PITCH_M, wire_set


def laid_words(
    order: Order, weld: Weld, c: Candidate, show: Show, laid: Sequence[tuple[str, float]]
) -> list[str]:
    """Side and place of each film's indicator; `laid`: its words, and its clock from the source's [rad].

    ISO 17636-1 6.7 lets wires lie across the pipe's axis for double images, not in the image of the weld (from memory,
    unverified): two sets 30 mm wide have no room side by side round a small pipe. The first lies away from the head.
    """
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    told = []
    sets = laid_sets(order, weld, c, [clock for _, clock in laid])
    asked = c.iqi.required if c.iqi else ""
    for one, (words, clock), lies in zip(beside(weld, c), laid, sets, strict=False):
        nearest = "thickest" if lies.turned else "finest"
        past = (
            f", {lies.dark[0]}{f' to {lies.dark[-1]}' if len(lies.dark) > 1 else ''} not" if lies.dark else ""
        )
        how = (
            f", where the beam does NOT reach {asked}: no film counts so, another opening or place"
            if not lies.reached
            else f" (set turned about: so the beam reaches {asked}{past})"
            if lies.turned
            else ""
        )
        told.append(
            f"{words}, {side_words(weld, head * one.from_m)}, {nearest} wire {show.drawn(abs(one.from_m))} from the "
            f"weld's middle{how}{_past_edge(order, weld, c, one.from_m, clock, lies)}"
        )
    return told


def _past_edge(order: Order, weld: Weld, c: Candidate, from_m: float, clock_rad: float, lies: Laid) -> str:
    """Which wires' images the film's edge leaves out, but those that the beam does not reach; empty without any."""
    film = surface_of(order, weld, c)
    if film is None or c.iqi is None:
        return ""
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    names = list(wire_set(c.iqi.required, c.iqi.designation))  # thickest first
    source = (c.geometry.axial_offset_m, 0.0, weld.pipe.od / 2 + c.geometry.standoff_m)
    past = []
    for n, name in enumerate(names):
        off = (n if lies.turned else len(names) - 1 - n) * WIRE_PITCH_M
        x = head * (from_m + math.copysign(off, from_m))
        points = wire_points(weld, x_m=x, from_source_rad=clock_rad, length_m=0.0)
        image = image_of(film, source, points[1])
        if name not in lies.dark and (image is None or abs(image[0]) > film.width_m / 2):
            past.append(name)
    told = f"{past[0]} to {past[-1]}" if len(past) > 2 else ", ".join(past)
    return f", {told} past the film's edge" if past else ""


def wires_words(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show) -> str:
    """How long the wires of two films' sets are; empty without such sets."""
    wire_m = _at_sets(order, weld, c, exposure)[0]
    return f"; wires {show.drawn(wire_m)} long" if wire_m else ""


def small_words(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show) -> str:
    """How large end markers may be where the beam leaves room for small ones only; empty elsewhere."""
    half = marker_half_m(order, weld, c, exposure)
    return f", {show.drawn(2 * half)} or less" * (half < MARKER_M)


def marker_half_m(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> float:
    """Half the size of the end markers [m], less than usual where the beam leaves room for small ones only."""
    return min([MARKER_M, *(m.half_m for m in _at_sets(order, weld, c, exposure)[1])])


def _at_sets(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None
) -> tuple[float, list[EndMarker]]:
    """Length of the wires and the end markers of the source-side wall that have a set at their clock."""
    clocks = pair_clocks_rad(c, exposure)
    if len(clocks) < 2 or exposure is None:
        return 0.0, []
    return markers_beside(order, weld, c, clocks, judged_ends(c, exposure))


def end_marker_words(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show
) -> list[str]:
    """Clock, side and place of every end marker of a double image, a text for each exposure; empty without sectors.

    At a set of wires a marker lies on the set's other side, and the film-side wall's marker with its image off it.
    """
    sides, found = marker_sides(order, weld, c), _at_sets(order, weld, c, exposure)[1]
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    told: list[list[str]] = [[] for _ in c.shots]
    for wall in ("source-side wall", "film-side wall"):
        own, places = wall == "source-side wall", dict[str, list[float]]()
        for end in judged_ends(c, exposure, wall):
            at = next((m for m in found if _same(m.end_rad if own else math.pi - m.end_rad, end)), None)
            if at is not None and not own and at.film_m <= sides.film_m + 1e-6:
                at = None  # where it would lie without any set
            places.setdefault(_place(at, own, sides, head, weld, show), []).append(end)
        for s, texts in zip(c.shots, told, strict=True):
            each = [
                f"{', '.join(show.degrees((s.source_clock_rad + e) % math.tau) for e in ends)} {words}"
                for words, ends in places.items()
            ]
            texts += [f"{wall} {'; '.join(each)}"] * bool(each)
    return ["; ".join(texts) for texts in told if texts]


def end_marker_boxes(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None
) -> list[tuple[Vec3, ...]]:
    """Points on the pipe about every end marker of exposure 1's double image, as `end_marker_words` places them."""
    sides, found = marker_sides(order, weld, c), _at_sets(order, weld, c, exposure)[1]
    head = -1.0 if c.geometry.axial_offset_m < 0.0 else 1.0
    half = marker_half_m(order, weld, c, exposure)
    boxes = []
    for wall in ("source-side wall", "film-side wall"):
        own = wall == "source-side wall"
        for end in judged_ends(c, exposure, wall):
            at = next((m for m in found if _same(m.end_rad if own else math.pi - m.end_rad, end)), None)
            plain = sides.source_m if own else sides.film_m
            x = plain if at is None else at.at_m if own else at.film_m
            boxes.append(
                tuple(
                    p
                    for along in (x, x + math.copysign(2 * half, x))
                    for p in wire_points(weld, x_m=head * along, from_source_rad=end, length_m=2 * half)
                )
            )
    return boxes


def single_marker_words(order: Order, weld: Weld, c: Candidate, ends_rad: Sequence[float], show: Show) -> str:
    """Side and place of the end markers of one wall; `ends_rad`: ends of what a film judges, from its source's clock.

    Beside what is judged, away from the head; where the beam does not reach them there, the other side if it does that.
    """
    half = rules_for(order, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    away = 1.0 if c.geometry.axial_offset_m < 0.0 else -1.0

    def lit(side: float) -> bool:
        x = side * (half + 2 * MARKER_M)
        points = [p for e in ends_rad for p in wire_points(weld, x_m=x, from_source_rad=e, length_m=0.0)]
        return is_lit(order, weld, c, tuple(points))

    side = next((s for s in (away, -away) if lit(s)), None)
    dark = "" if side is not None else ", where the beam does NOT reach"
    words = side_words(weld, away if side is None else side).split()[0]
    return f"near edge {words}, {up_mm(half, show)} off the weld's middle{dark}"


def _same(a_rad: float, b_rad: float) -> bool:
    return abs((a_rad - b_rad + math.pi) % math.tau - math.pi) < 1e-6


def _place(at: EndMarker | None, own: bool, sides: MarkerSides, head: float, weld: Weld, show: Show) -> str:
    """Side and place of one marker; `at`: beside a set of wires, `own`: on the source-side wall."""
    if at is None:
        x = sides.source_m if own else sides.film_m
        return f"{side_words(weld, head * x).split()[0]}, {up_mm(x, show)}"
    if own and not at.at_m:
        return "NO room beside the sets, marked otherwise and told in the report"
    x = at.at_m if own else at.film_m
    dark = ", where the beam does NOT reach" * (own and not at.reached)
    return f"{side_words(weld, head * x).split()[0]}, {up_mm(x, show)}{dark}"


def up_mm(x_m: float, show: Show) -> str:
    """How far something keeps off the weld's middle, in whole millimetres, rounded up."""
    return show.drawn(math.ceil(abs(x_m) * 1e3 - 1e-6) / 1e3)
