"""What a set-up drawing shows: the two views, how much of the pipe, and the lengths worth a dimension."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from halflayer.order.equipment import ON_A_STAND, STRAPPED
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.pipework import outside_radius, pipe_span
from halflayer.scene.solids import Scene
from halflayer.sheet import section
from halflayer.sheet.elevation import Vec3, Window
from halflayer.sheet.figures import Show
from halflayer.sheet.section import View
from halflayer.shielding.result import Fitting
from halflayer.technique.result import Candidate

FAR_OFF = ("guide tube", "bore of the guide tube")  # leads away from the set-up
ENDS = (
    "end cover left",
    "end cover right",
)  # behind the section at the weld: left out of it, it would be small
TUBE_SEEN_M = 0.16  # of a guide tube drawn, from the source on: our choice
LONG_SLEEVE = 1.3  # times the rest of a strapped set-up: longer ones are cut, our choice
PAD_M = 0.012  # room round the set-up inside the window
NOT_SET_UP = ("floor", "contents", "insulation", "pipe", "pipe end", "weld cap", "weld root")


class Span(NamedTuple):
    """A length worth a dimension: from and to [m], its figure, how far out it stands, its name among the figures."""

    a_m: float
    b_m: float
    text: str
    level: int
    name: str


@dataclass(frozen=True)
class Subject:
    """A weld's set-up with its two views; `radial` points from the pipe axis to the source's side."""

    order: Order
    weld: Weld
    candidate: Candidate
    fitting: Fitting
    built: Built
    scene: Scene
    show: Show

    @cached_property
    def radial(self) -> Vec3:
        """Unit vector across the pipe towards the source's clock position."""
        clock = self.built.clock_rad
        return (0.0, -math.sin(clock), math.cos(clock))

    @property
    def vertical(self) -> bool:
        """True for a vertical pipe."""
        return self.weld.runs == "vertical"

    @cached_property
    def side(self) -> View:
        """Section through pipe axis and source: pipe across the sheet, or up it for a vertical pipe."""
        right: Vec3 = (1.0, 0.0, 0.0)
        if self.vertical:
            return View((0, 0, 0), self.radial, right)
        r = self.radial
        return View((0, 0, 0), right, r if r[2] > -1e-9 else (0.0, -r[1], -r[2]))

    @cached_property
    def end(self) -> View:
        """Section across the pipe at the weld, seen along +x: clock 0 up and clockwise."""
        return View((0, 0, 0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0))

    @property
    def turned(self) -> bool:
        """True where the side elevation is not a true view of the site: the source is not at the top."""
        return abs(self.built.clock_rad) > 1e-9

    def outline(self, n: int, view: View) -> tuple[section.Polygon, float, float] | None:
        """Outline of the scene's n-th solid in a view, reckoned once."""
        key = (n, view == self.side)
        if key not in self._outlines:
            self._outlines[key] = section.outline(self.scene.solids[n], view)
        return self._outlines[key]

    @cached_property
    def _outlines(self) -> dict[tuple[int, bool], tuple[section.Polygon, float, float] | None]:
        return {}

    def at(self, x: float, r: float) -> Vec3:
        """A point of the plane through axis and source [m]."""
        return (x, r * self.radial[1], r * self.radial[2])

    @cached_property
    def axial(self) -> list[Span]:
        """Lengths along the pipe worth a dimension."""
        return axial_spans(self)

    @cached_property
    def across(self) -> list[Span]:
        """Lengths across the pipe worth a dimension."""
        return radial_spans(self)

    def is_set_up(self, name: str) -> bool:
        """True for solids that belong to the set-up, false for pipework and surroundings."""
        others = {o.name for o in self.order.obstacles}
        others |= {f"{self.weld.left.kind} left", f"{self.weld.right.kind} right"}
        return name not in NOT_SET_UP and name not in others


def heading(s: Subject) -> str:
    """The weld's heading in plan: the way of +x, of an upright pipe the sides of clock 0 and 90, seen upwards."""
    plan = f"plan {s.show.degrees(s.weld.heading_rad % (2 * math.pi))}"
    return (
        f"{plan}, 90 at {s.show.degrees((s.weld.heading_rad + math.pi / 2) % (2 * math.pi))}"
        if s.vertical
        else plan
    )


def film_points(s: Subject, view: View) -> list[Vec3]:
    """The film as a line in a view."""
    f = s.built.film
    if view == s.side:
        return [f.at(-f.width_m / 2, 0.0), f.at(f.width_m / 2, 0.0)]
    steps = 60 if f.kind == "curved" else 1
    return [f.at(0.0, f.length_m * (i / steps - 0.5)) for i in range(steps + 1)]


def _extent(s: Subject, view: View, *, skip: tuple[str, ...] = ()) -> Window:
    """Window that just holds the set-up in a view, but for the solids named in `skip`."""
    r = outside_radius(s.weld)
    points = [view.flat(s.built.source_at)]
    for n, solid in enumerate(s.scene.solids):
        if solid.name not in skip and s.is_set_up(solid.name) and (found := s.outline(n, view)):
            points += found[0]
    points += [view.flat(p) for p in film_points(s, view)]
    points += [(-r, -r), (r, r)] if view == s.end else [view.flat(s.at(0.0, r)), view.flat(s.at(0.0, -r))]
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return Window(min(xs), min(ys), max(xs), max(ys))


def windows(s: Subject) -> tuple[Window, Window]:
    """What either view shows: the whole set-up, a piece of pipe on both sides, and the floor when it is near."""
    side, end = _extent(s, s.side, skip=FAR_OFF), _extent(s, s.end, skip=(*FAR_OFF, *ENDS))
    if any(solid.name in FAR_OFF for solid in s.scene.solids):  # a piece of it is enough
        side, end = _with(side, s.side.flat(_tube_seen(s))), _with(end, s.end.flat(_tube_seen(s)))
    beyond = max(0.045, 0.35 * outside_radius(s.weld))
    low, high = pipe_span(s.weld)
    lo, hi = (side.y0, side.y1) if s.vertical else (side.x0, side.x1)
    if s.candidate.arrangement in STRAPPED:
        lo, hi = _without_ends(s, lo, hi)
    # Past a pipe's end there is nothing but the cover over it.
    lo = min(max(lo - beyond, low - 0.02), lo - PAD_M)
    hi = max(min(hi + beyond, high + 0.02), hi + PAD_M)
    if s.vertical:
        side = Window(side.x0 - PAD_M, lo, side.x1 + PAD_M, hi)
        return side, Window(end.x0 - PAD_M, end.y0 - PAD_M, end.x1 + PAD_M, end.y1 + PAD_M)
    if s.turned:
        side = Window(lo, side.y0 - PAD_M, hi, side.y1 + PAD_M)
        return side, Window(end.x0 - PAD_M, end.y0 - PAD_M, end.x1 + PAD_M, end.y1 + PAD_M)
    # Both windows share their heights, so that one elevation projects into the other.
    y0, y1 = min(side.y0, end.y0) - PAD_M, max(side.y1, end.y1) + PAD_M
    if floor_near(s, y0, y1):
        y0 = -s.weld.height_m - 0.03
    return Window(lo, y0, hi, y1), Window(end.x0 - PAD_M, y0, end.x1 + PAD_M, y1)


def _without_ends(s: Subject, lo: float, hi: float) -> tuple[float, float]:
    """The run of a strapped set-up that is drawn: a long sleeve is cut on both sides of the head, to a larger scale."""
    core = _extent(s, s.side, skip=("wrap", *FAR_OFF))
    a, b = (core.y0, core.y1) if s.vertical else (core.x0, core.x1)
    return (max(lo, a), min(hi, b)) if hi - lo > LONG_SLEEVE * (b - a) else (lo, hi)


def sleeve_cut(s: Subject, window: Window) -> float | None:
    """Outer radius of a sleeve that goes on beyond the side elevation [m]; None where all of it is seen."""
    found = _across(s, "wrap", s.side) if s.candidate.arrangement in STRAPPED else None
    if found is None:
        return None
    x0, y0, x1, y1 = found
    over = (y0 < window.y0 or y1 > window.y1) if s.vertical else (x0 < window.x0 or x1 > window.x1)
    return max(abs(x0), abs(x1)) if over and s.vertical else max(abs(y0), abs(y1)) if over else None


def _tube_seen(s: Subject) -> Vec3:
    """A point of the guide tube up to which it is drawn."""
    x, y, z = s.built.source_at
    return (x, y + s.radial[1] * TUBE_SEEN_M, z + s.radial[2] * TUBE_SEEN_M)


def _with(w: Window, p: tuple[float, float]) -> Window:
    """The window with a point in it."""
    return Window(min(w.x0, p[0]), min(w.y0, p[1]), max(w.x1, p[0]), max(w.y1, p[1]))


def floor_near(s: Subject, y0: float, y1: float) -> bool:
    """True when the floor is so near below a window that it is worth drawing."""
    gap = y0 + s.weld.height_m
    return s.weld.floor_material is not None and gap < 0.25 * (y1 - y0)


def _across(s: Subject, name: str, view: View) -> tuple[float, float, float, float] | None:
    """Bounds of all solids of a name in a view: x0, y0, x1, y1."""
    xs: list[float] = []
    ys: list[float] = []
    for n, solid in enumerate(s.scene.solids):
        if solid.name == name and (found := s.outline(n, view)):
            xs += [p[0] for p in found[0]]
            ys += [p[1] for p in found[0]]
    return (min(xs), min(ys), max(xs), max(ys)) if xs else None


def axial_spans(s: Subject) -> list[Span]:
    """Lengths along the pipe: clamp to weld, offset of the source, stop plates, length of the wrap."""
    g, length = s.candidate.geometry, s.show.drawn
    out: list[Span] = []
    clamp = s.candidate.clamp_x_m
    # On the clamp's own side the offset lies within the clamp's distance: a line of its own, the shorter one nearer.
    level = 1 if clamp is not None and clamp * g.axial_offset_m > 0 else 0
    if clamp is not None:
        nearer = level and abs(clamp) > abs(g.axial_offset_m)
        at = 1 if nearer else 0
        out.append(Span(min(clamp, 0.0), max(clamp, 0.0), length(abs(clamp)), at, "drawn_clamp_to_weld"))
    if abs(g.axial_offset_m) > 1e-6:
        nearer = clamp is None or abs(clamp) > abs(g.axial_offset_m)
        at = 0 if nearer else level
        out.append(Span(0.0, g.axial_offset_m, length(abs(g.axial_offset_m)), at, "drawn_offset"))
    for name in ("stop",) if s.candidate.arrangement in ON_A_STAND else ("wrap",):
        found = _across(s, name, s.side)
        if found and not (name == "wrap" and sleeve_cut(s, windows(s)[0]) is not None):
            a, b = (found[1], found[3]) if s.vertical else (found[0], found[2])
            named = "drawn_stop_along" if name == "stop" else "drawn_sleeve_along"
            words = length(b - a) + " stop" * (name == "stop" and not s.vertical)
            out.append(Span(a, b, words, level + 1 if out else 0, named))
    # A flange or valve that is drawn: how far from the weld it begins.
    low, high = _pipe_seen(s)
    for side, n in ((-1.0, s.weld.left), (1.0, s.weld.right)):
        x = side * n.distance_m
        if n.kind in ("flange", "valve") and low < x < high:
            at = max((o.level for o in out), default=-1) + 1  # below the others: there no label stands
            out.append(Span(min(x, 0.0), max(x, 0.0), length(abs(x)), at, f"drawn_{n.kind}_to_weld"))
    # Covers over open ends: how far from the weld they stand.
    for x in (x for x in pipe_span(s.weld) if _cover(s, x) is not None):
        named = f"drawn_cover_{'right' if x > 0 else 'left'}"
        out.append(Span(min(x, 0.0), max(x, 0.0), length(abs(x)), 1, named))
    return out


def _pipe_seen(s: Subject) -> tuple[float, float]:
    """The run of pipe that the side elevation shows [m]."""
    w = windows(s)[0]
    return (w.y0, w.y1) if s.vertical else (w.x0, w.x1)


def _cover(s: Subject, x: float) -> float | None:
    """Radius of the cover over the pipe's end at x [m]; None where there is none."""
    found = _across(s, f"end cover {'right' if x > 0 else 'left'}", s.side)
    if found is None:
        return None
    return (found[2] - found[0]) / 2 if s.vertical else (found[3] - found[1]) / 2


def radial_spans(s: Subject) -> list[Span]:
    """Distances from the pipe axis, positive towards the source: standoff, diameter, stop, source to film."""
    g, r, length = s.candidate.geometry, s.weld.pipe.od / 2, s.show.drawn
    film = s.built.film
    film_r = film.radius_m or math.hypot(film.centre[1], film.centre[2])
    if s.candidate.arrangement == "bore":
        wide = max((c for x in pipe_span(s.weld) if (c := _cover(s, x)) is not None), default=None)
        cover = [Span(wide, -wide, length(2 * wide), 2, "drawn_cover_across")] if wide is not None else []
        return [
            Span(0.0, -film_r, length(film_r), 0, "drawn_film_off_axis"),
            Span(r, -r, s.show.outside(2 * r), 1, "drawn_outside_diameter"),
            *cover,
        ]
    source_r = r + g.standoff_m
    out = [
        Span(source_r, r, length(g.standoff_m), 0, "drawn_source_off_pipe"),
        Span(r, -r, s.show.outside(2 * r), 0, "drawn_outside_diameter"),
    ]
    stop = _across(s, "stop", s.side)
    if stop is not None:
        flip = not s.vertical and s.radial[2] < -1e-9
        near = -stop[1] if flip else stop[2] if s.vertical else stop[3]
        if -r - near > 1e-4:
            out.append(
                Span(
                    -r,
                    near,
                    length(-r - near) + " gap" * (not s.vertical),
                    1 if s.vertical else 0,  # under an upright pipe three figures find no room in one row
                    "drawn_pipe_to_stop",
                )
            )
    film_at = -film_r if s.built.film.hollow else film_r
    row = 1 + max(span.level for span in out)
    out.append(Span(source_r, film_at, length(source_r - film_at), row, "drawn_source_to_film"))
    return out


def stop_across(s: Subject) -> tuple[float, float, float] | None:
    """The stop in the end elevation: x0, x1 and its lower edge [m]."""
    found = _across(s, "stop", s.end)
    return (found[0], found[2], found[1]) if found else None
