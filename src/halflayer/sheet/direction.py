"""Words and arrow on which way +x runs, under the side elevation of a set-up."""

from __future__ import annotations

from collections.abc import Sequence

from halflayer.sheet import clear, labels, subject
from halflayer.sheet.elevation import Elevation
from halflayer.sheet.subject import Subject
from halflayer.sheet.svg import INK, Canvas
from halflayer.sheet.typeface import text_width

Point = tuple[float, float]
CAPTION_TYPE_MM = 2.7


def place(
    side: Elevation,
    s: Subject,
    covered: Sequence[clear.Box],
    placed: Sequence[labels.Placed],
    *,
    foot_mm: float,
) -> Point:
    """Where the words on which way +x runs begin: under the elevation, off figures, labels and their leaders [mm].

    Down to `foot_mm`, where the scale bar begins.
    """
    wide = text_width("plan 000.0°", CAPTION_TYPE_MM)
    x, low = side.left_mm - 11.5, side.top_mm + side.height_mm
    boxes = [*covered, *(p.box for p in placed)]

    def free(at: Point) -> bool:
        x0, y = at
        box = (
            (x0 - 0.9, y - 3.6, x0 + 8.0, y + 2.8) if s.vertical else (x0 - 0.3, y - 0.8, x0 + wide, y + 6.8)
        )
        return not any(clear.overlap(box, b) for b in boxes) and not any(p.led_through(box) for p in placed)

    tries = [
        (max(x - left, 0.5), low + down)
        for down in (k / 2 for k in range(33))
        for left in (0.0, 4.0, 9.0, 15.0, 22.0)
    ]
    tries += [(x + right, low + down) for right in (6.0, 14.0, 24.0, 36.0) for down in (2.0, 6.0, 10.0, 14.0)]
    # Between them where leaders lie close; what is free so is farther from the elevation's corner.
    tries += [
        (x + right, low + down / 2) for right in range(-20, 40, 2) for down in range(33) if x + right >= 0.5
    ]
    # Where labels and dimensions fill all that, under them.
    rows = range(17, max(17, int(foot_mm - low - 7.0)) + 1)
    tries += [(x + right, low + down) for down in rows for right in range(-20, 40, 3) if x + right >= 0.5]
    return next((at for at in tries if free(at)), tries[0])


def draw(canvas: Canvas, s: Subject, *, corner: Point) -> None:
    """Which way +x runs on the side elevation, at its lower left corner: settings and markings speak of it."""
    x, y, long = corner[0], corner[1] + 2.6, 6.0
    a, b = ((x, y), (x, y - long)) if s.vertical else ((x, y), (x + long, y))
    canvas.line(a, b, stroke_mm=0.25, kind="direction")
    tip = 1.6
    head = (
        [(b[0] - 0.6, b[1] + tip), (b[0] + 0.6, b[1] + tip)]
        if s.vertical
        else [(b[0] - tip, b[1] - 0.6), (b[0] - tip, b[1] + 0.6)]
    )
    canvas.path([[b, *head]], fill=INK)
    at = (x + 1.2, y - long / 2) if s.vertical else (x, y - 1.2)
    name = "+x up" if s.vertical else "+x"
    canvas.text(at, name, size_mm=CAPTION_TYPE_MM, bold=True, halo=True, kind="direction")
    if not s.vertical:  # what the sheets call left and right is told by it: which way it runs in the building
        below = (x - 0.2, y + 1.2 + CAPTION_TYPE_MM)
        canvas.text(below, subject.heading(s), size_mm=CAPTION_TYPE_MM, halo=True, kind="direction")
