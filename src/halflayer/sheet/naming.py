"""What each thing on a set-up drawing is called, and the point in it that its leader goes to."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.order.equipment import ON_A_STAND, STRAPPED
from halflayer.order.weld import Weld
from halflayer.scene.pipework import FLANGE_RADIUS
from halflayer.scene.solids import HalfSpace, Solid
from halflayer.sheet import hatch, section
from halflayer.sheet.elevation import BACKGROUND_M, Elevation
from halflayer.sheet.labels import Point
from halflayer.sheet.subject import Subject, sleeve_cut
from halflayer.technique.result import Candidate


def count(n: int, what: str, many: str | None = None) -> str:
    """`1 plate`, `7 plates`; `many` where the plural is not made with an s."""
    return f"{n} {what}" if n == 1 else f"{n} {many or what + 's'}"


def side_words(weld: Weld, x_m: float) -> str:
    """On which side of the weld something stands along the pipe."""
    if weld.runs == "vertical":
        return "below the weld" if x_m < 0 else "above the weld"
    return "left of the weld" if x_m < 0 else "right of the weld"


def way(c: Candidate) -> str:
    """Technique and arrangement in words, the second where the first does not say it already.

    An arrangement in a rigid shroud is told so, as the name that an order gives it reads like none.
    """
    stands = c.arrangement.replace("-shrouded", f" in shroud {c.shroud}" if c.shroud else " in a shroud")
    return c.technique if c.technique.endswith(stands) else f"{c.technique}, {stands}"


def named(s: Subject, e: Elevation, *, skip: tuple[str, ...] = ()) -> list[tuple[str, Point]]:
    """Labels of the side elevation with their anchors on paper [mm], each thing once."""
    names = _names(s)
    w = e.window
    if sleeve_cut(s, w) is not None:  # no dimension line can say it
        first = s.built.wrap.layers[0]
        names["wrap"] += f", {s.show.drawn(first.along_m)} long"
        if first.patch is not None:
            names["wrap"] += f", {first.patch.blanket} in the beam"
    out: list[tuple[str, Point]] = [(f"source, {_nuclide(s)}", e.spot(s.built.source_at))]
    done: set[str] = set()
    shown = [x for x in s.scene.solids if x.name not in skip]
    for solid in s.scene.solids:
        text = names.get("head" if solid.name.startswith("head") else solid.name)
        if text is None or text in done or solid.name in skip:
            continue
        at = _anchor(solid, e, shown, off=e.spot(s.built.source_at))
        if at is not None:
            done.add(text)
            out.append((text, e.paper(at)))
    r, wall = s.weld.pipe.od / 2, s.weld.pipe.wall
    low = w.y0 if s.vertical else w.x0
    pipe = f"pipe {s.show.pipe(2 * r, wall)}"
    out.append((pipe, e.spot(s.at(low * 0.8, r - wall / 2))))
    # A strapped head hides the weld under it.
    weld_at = wall / 2 - r if s.candidate.arrangement in STRAPPED else r + s.weld.cap.height_m / 2
    out.append((f"weld {s.weld.id}", e.spot(s.at(0.0, weld_at))))
    if s.weld.contents.material.lower() not in ("air", "vacuum"):
        out.append((f"filled: {s.weld.contents.material}", e.spot(s.at(low * 0.62, -r * 0.4))))
    film = s.built.film
    size = "all round" if s.candidate.arrangement == "bore" else s.show.drawn(film.width_m, film.length_m)
    out.append((f"film {size}", e.spot(film.at(-film.width_m * 0.4, 0.0))))
    return out


def _names(s: Subject) -> dict[str, str]:
    c, weld = s.candidate, s.weld
    folded = any(b.id == s.fitting.plate for b in s.order.kit.blankets)  # a stop of folded blankets
    names = {
        "head": f"head {c.head}",
        "wrap": f"{_wrap(s)}, {count(s.fitting.layers, 'layer')}",
        "wrap over head": f"hood, {count(s.fitting.layers, 'layer')}",
        "end cover left": "cover over the end",
        "end cover right": "cover over the end",
        "clamp": f"clamp {c.clamp}",
        "leg right": legs_words(s),
        "leg left": legs_words(s),
        "arm right": f"arms of {c.legs}",
        "arm left": f"arms of {c.legs}",
        "stop": f"stop, {count(s.fitting.plates, 'layer' if folded else 'plate')}",
        "shroud": f"shroud {c.shroud}",
        "guide tube": f"guide tube {c.guide}",
        "insulation": "insulation",
        "floor": "floor",
        f"{weld.left.kind} left": _neighbour(s, weld.left.kind),
        f"{weld.right.kind} right": _neighbour(s, weld.right.kind),
    }
    return names | {o.name: o.name for o in s.order.obstacles}


def legs_words(s: Subject) -> str:
    """The legs with their hole: where hands look for them."""
    c = s.candidate
    if c.leg_hole is None:
        return f"legs {c.legs}"
    return f"legs {c.legs}, hole {c.leg_hole}"


def _neighbour(s: Subject, kind: str) -> str:
    """A flange with the size it is taken at, which an order does not state."""
    if kind != "flange":
        return kind
    return f"flange, {s.show.drawn(2 * FLANGE_RADIUS * s.weld.pipe.od)} taken"


def _wrap(s: Subject) -> str:
    """What the blankets make: a tent over a stand, a sleeve round the pipe."""
    return "tent" if s.candidate.arrangement in ON_A_STAND else "sleeve"


def _nuclide(s: Subject) -> str:
    return next((i.nuclide for i in s.order.sources if i.id == s.candidate.source), s.candidate.source)


def _anchor(
    solid: Solid, e: Elevation, shown: Sequence[Solid] = (), *, off: Point | None = None
) -> Point | None:
    """A point in a solid's visible part, well to its left; None when nothing of it is seen.

    Of those that would do the first that no other of the `shown` solids is painted over; of a head one that keeps
    `off` the mark of its source, where it has any.
    """
    w = e.window
    inset = (
        (0.4 if solid.name in ("shroud", "wrap over head") else 2.5) * e.scale / 1000
    )  # hollow: on its wall
    found = section.cut(solid, e.view, w.polygon)
    if found is not None:
        loops = found.loops
    else:
        seen = section.outline(solid, e.view)
        if seen is None or seen[2] <= 0 or seen[1] > BACKGROUND_M or hatch.kind_of(solid.material) == "air":
            return None
        loops = [seen[0]]
    ys = [p[1] for loop in loops for p in section.clip(loop, w.polygon)]
    if not ys:
        return None
    low, high = min(ys), max(ys)
    shares = (0.35,) if isinstance(solid, HalfSpace) else (0.5, 0.93, 0.97, 0.03, 0.985, 0.015, 0.25, 0.75)
    if solid.name.startswith("end cover"):
        shares = (0.9,)
    # Apart from the head, about which the leaders would else bunch: the hood at its upper edge, the sleeve far below.
    if solid.name == "wrap over head":
        shares = (0.93, 0.97, *shares)
    if solid.name == "wrap" and not isinstance(solid, HalfSpace):
        shares = (0.03, 0.015, *shares)
    tries: list[Point] = []
    for share in shares:
        y = low + share * (high - low)
        for a, b in _spans(loops, y, w.x0, w.x1):
            tries.append((a + min((b - a) / 2, inset), y))
    if solid.name.startswith(HIDDEN):
        over = _painted_over(solid, e, shown, cut=found is not None)
        return next((p for p in tries if not any(_within(p, one) for one in over)), None)
    if solid.name.startswith("head") and off is not None:
        tries = [p for p in tries if math.dist(e.paper(p), off) > SOURCE_MM] or tries
    return tries[0] if tries else None


SOURCE_MM = 3.2  # the mark of a source with its rays, and a dot's room
HIDDEN = ("shroud", "leg", "arm", "clamp")  # what others stand before, or are painted over


def _painted_over(
    solid: Solid, e: Elevation, shown: Sequence[Solid], *, cut: bool
) -> list[list[section.Polygon]]:
    """Cuts painted over a solid: all of them where it lies behind the plane, else those of later solids."""
    after = [x is solid for x in shown].index(True) + 1 if cut and any(x is solid for x in shown) else 0
    found = (section.cut(x, e.view, e.window.polygon) for x in shown[after:] if not isinstance(x, HalfSpace))
    return [one.loops for one in found if one is not None]


def _within(p: Point, loops: list[section.Polygon]) -> bool:
    """True inside even-odd loops."""
    return any(a <= p[0] <= b for a, b in _spans(loops, p[1], -math.inf, math.inf))


def _spans(loops: list[section.Polygon], y: float, x0: float, x1: float) -> list[tuple[float, float]]:
    """Where a horizontal line runs inside even-odd loops, within x0..x1, longer than a hair."""
    hits = []
    for loop in loops:
        for i, b in enumerate(loop):
            a = loop[i - 1]
            if (a[1] <= y) != (b[1] <= y):
                hits.append(a[0] + (y - a[1]) / (b[1] - a[1]) * (b[0] - a[0]))
    hits.sort()
    pairs = [(max(hits[i], x0), min(hits[i + 1], x1)) for i in range(0, len(hits) - 1, 2)]
    return [p for p in pairs if p[1] - p[0] > 1e-4]


def weld_list(some: Sequence[str], every: Sequence[str]) -> str:
    """Welds by their ids, three or more neighbours of the order's sequence as the first `to` the last.

    >>> weld_list(["W1", "W3", "W4", "W5"], ["W1", "W2", "W3", "W4", "W5"])
    'W1, W3 to W5'
    """
    if len(every) > 2 and set(some) == set(every):
        return "all welds"
    return in_runs(some, every)


def in_runs(some: Sequence[str], every: Sequence[str]) -> str:
    """Ids, three or more neighbours of a sequence as the first `to` the last.

    >>> in_runs(["SM-1", "SM-2", "SM-3"], ["SM-1", "SM-2", "SM-3"])
    'SM-1 to SM-3'
    """
    at = {weld: n for n, weld in enumerate(every)}
    runs: list[list[str]] = []
    for weld in sorted(some, key=lambda w: at[w]):
        if runs and at[runs[-1][-1]] + 1 == at[weld]:
            runs[-1].append(weld)
        else:
            runs.append([weld])
    return ", ".join(f"{r[0]} to {r[-1]}" if len(r) > 2 else ", ".join(r) for r in runs)
