"""Paints one elevation of a scene on a canvas: what is cut thick and hatched, what lies behind thin, beam as a wash."""

from __future__ import annotations

from dataclasses import dataclass

from halflayer.scene.solids import HalfSpace, Scene, Solid
from halflayer.sheet import hatch, section
from halflayer.sheet.section import Cut, Polygon, View
from halflayer.sheet.svg import AMBER, INK, PAPER, Canvas

CUT_MM = 0.4
BEHIND_MM = 0.15
AXIS_MM = 0.13
CHAIN = "5 0.9 0.8 0.9"
HIDDEN = "1.6 0.8"
ALWAYS_SOLID = ("weld cap", "weld root")  # a weld is drawn black, as drawings do
FILM_PACK = ("front screen", "film", "back screen", "backing lead")  # too thin to show a hatch
BACKGROUND_M = 1.0  # what lies farther behind the plane is not drawn, our choice
NOT_IN_LEGEND = ALWAYS_SOLID + FILM_PACK

Point = tuple[float, float]
Vec3 = tuple[float, float, float]


@dataclass(frozen=True)
class Window:
    """The part of a view that is drawn, in the view's metres: x0 < x1, y0 < y1."""

    x0: float
    y0: float
    x1: float
    y1: float

    @property
    def polygon(self) -> Polygon:
        """The four corners, anticlockwise."""
        return [(self.x0, self.y0), (self.x1, self.y0), (self.x1, self.y1), (self.x0, self.y1)]


@dataclass(frozen=True)
class Elevation:
    """A view of a scene set on paper: `left_mm`, `top_mm` is the window's upper left corner."""

    view: View
    window: Window
    scale: float
    left_mm: float
    top_mm: float

    def paper(self, flat: Point) -> Point:
        """A point of the view [m] on the canvas [mm]."""
        k = 1000.0 / self.scale
        return self.left_mm + (flat[0] - self.window.x0) * k, self.top_mm + (self.window.y1 - flat[1]) * k

    def spot(self, point: Vec3) -> Point:
        """A point of the weld frame [m] on the canvas [mm]."""
        return self.paper(self.view.flat(point))

    @property
    def width_mm(self) -> float:
        """Width of the window on paper."""
        return (self.window.x1 - self.window.x0) * 1000.0 / self.scale

    @property
    def height_mm(self) -> float:
        """Height of the window on paper."""
        return (self.window.y1 - self.window.y0) * 1000.0 / self.scale


def paint(
    canvas: Canvas, e: Elevation, scene: Scene, *, key: str, skip: tuple[str, ...] = ()
) -> list[hatch.Kind]:
    """The scene's solids in the window, clipped to it; gives the hatches used. `skip` names solids left out."""
    shown = [s for s in scene.solids if s.name not in skip]
    canvas.open_clip(f"clip-{key}", e.left_mm, e.top_mm, e.width_mm, e.height_mm)
    for solid in _behind(shown, e):
        outline = section.outline(solid, e.view)
        assert outline is not None
        loop = [e.paper(p) for p in outline[0]]
        canvas.path([loop], fill=PAPER, stroke_mm=BEHIND_MM, kind=f"behind {solid.name}")
    used: list[hatch.Kind] = []
    for solid in shown:
        found = section.cut(solid, e.view, e.window.polygon)
        if found is None:
            continue
        kind = hatch.kind_of(solid.material)
        _paint_cut(canvas, e, solid, found, kind)
        told = kind == "air" or kind in used or solid.name in NOT_IN_LEGEND
        if not told and _in_window(found, e.window):
            used.append(kind)
    canvas.close_clip()
    return used


def _behind(solids: list[Solid], e: Elevation) -> list[Solid]:
    """Solids that reach behind the cutting plane, farthest first, so that nearer ones cover them."""
    out = []
    for solid in solids:
        found = section.outline(solid, e.view)
        if found is None or hatch.kind_of(solid.material) == "air":
            continue
        if found[2] > 1e-6 and found[1] < BACKGROUND_M:
            out.append((found[2], solid))
    return [s for _, s in sorted(out, key=lambda f: -f[0])]


def _paint_cut(canvas: Canvas, e: Elevation, solid: Solid, found: Cut, kind: hatch.Kind) -> None:
    loops = [[e.paper(p) for p in loop] for loop in found.loops]
    canvas.path(loops, fill=PAPER)
    if solid.name in ALWAYS_SOLID:
        canvas.path(loops, fill=INK, stroke_mm=0.2, kind=f"cut {solid.name}")
        return
    if kind != "air":
        canvas.path(loops, fill=hatch.fill(canvas, kind), kind=f"cut {solid.name}")
    width = BEHIND_MM if kind == "air" else 0.3 if isinstance(solid, HalfSpace) else CUT_MM
    canvas.path([(e.paper(a), e.paper(b)) for a, b in found.edges], stroke_mm=width, closed=False)


def _in_window(found: Cut, w: Window) -> bool:
    return any(len(section.clip(loop, w.polygon)) > 2 for loop in found.loops)


def beam_wash(
    canvas: Canvas, e: Elevation, *, source: Vec3, edges: tuple[Vec3, Vec3], aim: Vec3, reach_m: float
) -> None:
    """The beam from its source as a light wash between two thin lines, and its axis as a chain line."""
    a = e.view.flat(source)
    ends = [_reach(e, a, d, reach_m) for d in edges]
    fan = [a, ends[0], ends[1]]
    canvas.path([[e.paper(p) for p in section.clip(_anticlockwise(fan), e.window.polygon)]], fill=AMBER, opacity=0.13,
                kind="beam")  # fmt: skip
    for end in ends:
        span = section.inside_span(a, end, e.window.polygon)
        if span:
            canvas.line(
                e.paper(_at(a, end, span[0])), e.paper(_at(a, end, span[1])), stroke_mm=0.2, colour=AMBER
            )
    axis = _reach(e, a, aim, reach_m * 1.04)
    span = section.inside_span(a, axis, e.window.polygon)
    if span:
        canvas.line(e.paper(a), e.paper(_at(a, axis, span[1])), stroke_mm=AXIS_MM, dash=CHAIN, colour=AMBER)


def _at(a: Point, b: Point, t: float) -> Point:
    return a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])


def _anticlockwise(p: Polygon) -> Polygon:
    area = sum(p[i - 1][0] * p[i][1] - p[i][0] * p[i - 1][1] for i in range(len(p)))
    return p if area > 0 else p[::-1]


def _reach(e: Elevation, start: Point, direction: Vec3, length_m: float) -> Point:
    """End of a ray of the space shown on paper, as long as its own depth along the aim asks."""
    x = section.dot(direction, e.view.right)
    y = section.dot(direction, e.view.up)
    return start[0] + x * length_m, start[1] + y * length_m


def source_mark(canvas: Canvas, at: Point) -> None:
    """The source point: a filled dot in a ring with four ticks."""
    canvas.circle(at, 1.35, stroke_mm=0.3, fill=PAPER, colour=AMBER, kind="source")
    canvas.circle(at, 0.62, fill=AMBER)
    for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
        canvas.line(
            (at[0] + dx * 1.35, at[1] + dy * 1.35),
            (at[0] + dx * 2.2, at[1] + dy * 2.2),
            stroke_mm=0.3,
            colour=AMBER,
        )


def break_line(canvas: Canvas, e: Elevation, a: Vec3, b: Vec3) -> None:
    """The mark of a pipe that goes on: a thin line with a kink across it, from a to b."""
    p, q = e.spot(a), e.spot(b)
    dx, dy = q[0] - p[0], q[1] - p[1]
    n = (dx * dx + dy * dy) ** 0.5
    ux, uy = dx / n, dy / n
    over, kink = 1.6, 1.1
    m = ((p[0] + q[0]) / 2, (p[1] + q[1]) / 2)
    points = [
        (p[0] - ux * over, p[1] - uy * over),
        (m[0] - ux * kink, m[1] - uy * kink),
        (m[0] - ux * kink / 3 - uy * kink, m[1] - uy * kink / 3 + ux * kink),
        (m[0] + ux * kink / 3 + uy * kink, m[1] + uy * kink / 3 - ux * kink),
        (m[0] + ux * kink, m[1] + uy * kink),
        (q[0] + ux * over, q[1] + uy * over),
    ]
    canvas.path([points], stroke_mm=0.9, colour=PAPER, closed=False)
    canvas.path([points], stroke_mm=0.18, closed=False, kind="break")


def film_line(canvas: Canvas, e: Elevation, points: list[Vec3]) -> None:
    """The film as a thick black line (its thickness is not to scale)."""
    canvas.path([[e.spot(p) for p in points]], stroke_mm=0.9, closed=False, kind="film")
