"""The plate holder on a set-up drawing: its hangers and rails to scale in either view, and its label."""

from __future__ import annotations

from halflayer.scene.frame import about_x
from halflayer.sheet.elevation import Elevation
from halflayer.sheet.labels import Point
from halflayer.sheet.naming import legs_words
from halflayer.sheet.plate_holder import hanger_lines, pins_y_m
from halflayer.sheet.subject import Subject
from halflayer.sheet.svg import Canvas

LEGS_MM = 2.6


def _lines(s: Subject) -> list[list[tuple[float, float, float]]]:
    plate = next((p for p in s.order.kit.plates if p.id == s.fitting.plate), None)
    return hanger_lines(plate, s.built) if plate is not None and s.fitting.plates else []


def draw(canvas: Canvas, e: Elevation, s: Subject) -> None:
    """Middle lines of what holds the plates; the width of its rods is not to scale."""
    for line in _lines(s):
        canvas.path([[e.spot(p) for p in line]], stroke_mm=0.3, closed=False, kind="plate holder")
    if s.candidate.shroud and e.view == s.end and (pins := pins_y_m(s.built)) is not None:
        # In the side elevation the shroud hides them.
        top = about_x((0.0, pins, s.built.beam.at[2]), s.built.clock_rad)
        x, y = e.spot(top)
        words = legs_words(s).partition(", foot")[0]
        canvas.text((x + 2.0, y - 1.4), words, size_mm=LEGS_MM, anchor="end", halo=True)


def label(s: Subject, e: Elevation) -> list[tuple[str, Point]]:
    """Its name at the end of a rail; empty without plates on legs."""
    lines = _lines(s)
    if not lines:
        return []
    ident = next((g.id for g in s.order.kit.gear if g.kind == "plate holder"), "to be brought")
    return [(f"plate holder {ident}", e.spot(lines[1][0]))]
