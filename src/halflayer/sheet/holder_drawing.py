"""The plate holder on a set-up drawing: its hangers and rails to scale in either view, and its label."""

from __future__ import annotations

from halflayer.sheet.elevation import Elevation
from halflayer.sheet.labels import Point
from halflayer.sheet.plate_holder import hanger_lines
from halflayer.sheet.subject import Subject
from halflayer.sheet.svg import Canvas


def _lines(s: Subject) -> list[list[tuple[float, float, float]]]:
    plate = next((p for p in s.order.kit.plates if p.id == s.fitting.plate), None)
    return hanger_lines(plate, s.built) if plate is not None and s.fitting.plates else []


def draw(canvas: Canvas, e: Elevation, s: Subject) -> None:
    """Middle lines of what holds the plates; the width of its rods is not to scale."""
    for line in _lines(s):
        canvas.path([[e.spot(p) for p in line]], stroke_mm=0.3, closed=False, kind="plate holder")


def label(s: Subject, e: Elevation) -> list[tuple[str, Point]]:
    """Its name at the end of a rail; empty without plates on legs."""
    lines = _lines(s)
    if not lines:
        return []
    ident = next((g.id for g in s.order.kit.gear if g.kind == "plate holder"), "(bring)")
    return [(f"plate holder {ident}", e.spot(lines[1][0]))]
