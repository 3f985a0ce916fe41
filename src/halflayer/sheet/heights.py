"""The site in elevation to scale: floors, walls and bodies, welds, and places with their heights above zero."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.models import Order
from halflayer.sheet import dims
from halflayer.sheet.figures import Show
from halflayer.sheet.placing import AROUND, LEADS_FROM_MM, Places, nearest
from halflayer.sheet.plan_map import FOOT_MM, SCALES
from halflayer.sheet.svg import AMBER, INK, PAPER, Canvas
from halflayer.sheet.typeface import CAP_HEIGHT, text_width
from halflayer.shielding.past_walls import WALL_M

SIZE_MM = 2.6
MARGIN_M = 0.8
TOUCH_MM = 2.2  # dots nearer than this bear one name: our choice
Point = tuple[float, float]
LONG_MM = 18.0
CROSSED_MM, MISTAKEN_MM = 6.0, 20.0  # dots stand close, and all lines are upright: our choice
ASKEW: tuple[Point, ...] = (
    (0.6, -1.0),
    (-0.6, -1.0),
    (0.6, 1.0),
    (-0.6, 1.0),
)  # of long words, between the lines
SLAB_M = 0.8  # an obstacle so flat, so near to a level, is taken for its slab: our choice
HIGH_M = 2.5  # above the floor of the welds: out of reach of who stands on it, our choice


def heights(order: Order, show: Show, *, width_mm: float, most_mm: float) -> tuple[str, str, str]:
    """SVG of the site seen along +y (x to the right, z up), its scale, and what is said of floors and slabs.

    Everything is drawn at its own x and z, whatever its y: it shows heights, not what stands before what.
    """
    xs, zs = _reach(order)
    low, high = min(*zs, 0.0) - 0.3, max(zs) + MARGIN_M
    wide = max(xs) - min(xs) + 2 * MARGIN_M
    need = max(wide / (width_mm - 2.0), (high - low) / (most_mm - FOOT_MM - 1.0)) * 1000
    scale = next((s for s in SCALES if s >= need), SCALES[-1])
    k = 1000 / scale
    middle, tall = (min(xs) + max(xs)) / 2, min((high - low) * k, most_mm - FOOT_MM)
    canvas = Canvas(width_mm, tall + FOOT_MM)

    def spot(x: float, z: float) -> Point:
        return width_mm / 2 + (x - middle) * k, tall - (z - low) * k

    canvas.path([[(0.2, 0.2), (width_mm - 0.2, 0.2), (width_mm - 0.2, tall), (0.2, tall)]], stroke_mm=0.15)
    canvas.open_clip("clip-heights", 0.2, 0.2, width_mm - 0.4, tall - 0.2)
    taken = Places((0.6, 0.6, width_mm - 0.6, tall - 0.4), crossed_mm=CROSSED_MM, mistaken_mm=MISTAKEN_MM)
    named: list[tuple[str, Point]] = []
    floors: list[tuple[str, Point, Point]] = []  # name and both ends
    for o in order.obstacles:
        x0, x1 = o.centre[0] - o.size[0] / 2, o.centre[0] + o.size[0] / 2
        z0, z1 = o.centre[2] - o.size[2] / 2, o.centre[2] + o.size[2] / 2
        corners = [spot(x0, z0), spot(x1, z0), spot(x1, z1), spot(x0, z1)]
        canvas.path([corners], fill="#DDDAD2", opacity=0.7, kind="obstacle")
        canvas.path([corners], stroke_mm=0.2)
        taken.line(corners)
        named.append((f"{o.name}, top {_up(z1, show)}", spot((x0 + x1) / 2, z1)))
    levels = {w.floor_level_m: "floor of the welds" for w in order.welds} | {
        f.level_m: f.name for f in order.floors
    }
    for level, name in levels.items():
        high_mm = spot(0.0, level)[1]
        ends = [(0.2, high_mm), (width_mm - 0.2, high_mm)]
        area = next((f.area for f in order.floors if f.level_m == level and f.name == name), None)
        if area is not None:  # as far as it reaches
            ends = sorted((spot(x, level)[0], high_mm) for x, _ in area)
        canvas.path([ends], stroke_mm=0.6, closed=False, kind="floor")
        taken.line(ends, closed=False)
        floors.append((f"{name}, {_up(level, show)}", ends[0], ends[1]))
    groups: list[tuple[Point, list[str]]] = []  # welds whose dots touch bear one name
    for w in order.welds:
        at = spot(w.at[0], w.floor_level_m + w.height_m)
        canvas.circle(at, 0.9, fill=AMBER, kind="weld")
        taken.mark(at, 1.0)
        near = next((g for g in groups if math.dist(g[0], at) < TOUCH_MM), None)
        if near is None:
            groups.append((at, [w.id]))
        else:
            near[1].append(w.id)
    named = [(", ".join(ids), at) for at, ids in groups] + named
    for p in order.places:
        at = spot(p.at[0], p.at[2])
        canvas.line(at, spot(p.at[0], 0.0), stroke_mm=0.12, dash="0.6 0.8")
        taken.line([at, spot(p.at[0], 0.0)], closed=False)
        canvas.circle(at, 0.8, fill=PAPER, stroke_mm=0.3, kind="place")
        taken.mark(at, 0.9)
        named.append((f"{p.name}, {_up(p.at[2], show)}", at))
    # What is placed first stands best: the order that costs least is taken.
    orders = [
        [*named],
        sorted(named, key=lambda n: -n[1][0]),
        sorted(named, key=lambda n: n[1][0]),
        sorted(named, key=lambda n: -len(n[0])),
    ]
    tries = [(taken.copy(), order_) for order_ in orders]
    drawn = [[name_at(words, at, t) for words, at in order_] for t, order_ in tries]
    best = min(range(len(tries)), key=lambda n: tries[n][0].spent)
    taken = tries[best][0]
    names = [*drawn[best], *(name_at(words, _clear_on(words, a, b, taken), taken) for words, a, b in floors)]
    for one in names:
        if one is not None and one.leader is not None:
            canvas.line(*one.leader, stroke_mm=0.12, colour=INK)
    for one in names:
        if one is not None:
            canvas.text(one.at, one.words, size_mm=SIZE_MM, halo=True, kind="label")
    canvas.close_clip()
    dims.scale_bar(
        canvas, x=22.0, y=tall + 2.0, scale=scale, width_mm=min(60.0, width_mm - 34.0),
        imperial=show.system == "imperial",
    )  # fmt: skip
    canvas.text((0.3, tall + 4.2), f"1 : {scale:g}", size_mm=3.2, bold=True)
    return canvas.render(), f"1 : {scale:g}", f"{_not_in(order)}{floors_said(order, show)}"


def _not_in(order: Order) -> str:
    """Which welds only seem to lie in a body, as the sketch looks through along y; empty where none does."""
    said = []
    for w in order.welds:
        z = w.floor_level_m + w.height_m
        for o in order.obstacles:
            inside = abs(w.at[0] - o.centre[0]) < o.size[0] / 2 and abs(z - o.centre[2]) < o.size[2] / 2
            beyond = w.at[1] - o.centre[1]
            if inside and abs(beyond) > o.size[1] / 2 and min(o.size[:2]) >= WALL_M:
                said.append(f"{w.id} stands {'behind' if beyond > 0 else 'before'} {o.name}, not in it")
    return f"Everything at its own x and height, whatever its y: {'; '.join(said)}. " if said else ""


def floors_said(order: Order, show: Show) -> str:
    """Which floors above and below the order states: a floor that it does not state has no dose and no slab."""
    if not order.floors:
        return (
            "The order states no floor above or below the welds (floors): no slab is in any dose; the level of a place "
            f"with people on another floor is searched about that place.{_high(order, show)}"
        )
    told = ", ".join(f"{f.name} at {_up(f.level_m, show)}" for f in order.floors)
    return (
        f"Floors of the order: {told}; searched 1 m above, over the area that the order states, else about "
        f"each weld. {_slabs(order)}{walls_said(order, show)}{_above(order)}"
    )


def _above(order: Order) -> str:
    """That nothing is computed on a roof or below the welds where the order states none: searched, nobody stays there.

    Beams point into the floor too: what is below it only the site knows.
    """
    names = [*(f.name for f in order.floors), *(p.name for p in order.places)]
    ground = min((w.floor_level_m for w in order.welds), default=0.0)
    below = any(f.level_m < ground for f in order.floors) or any(p.at[2] < ground for p in order.places)
    lacks = [] if any("roof" in name.lower() for name in names) else ["Roof"]
    lacks += [] if below else ["below the welds' floor"]
    told = " and ".join(lacks)
    return (
        f" {told[0].upper()}{told[1:]}: none stated, dose there not computed: ask, nobody there."
        if told
        else ""
    )


def _slabs(order: Order) -> str:
    """Of which floors a slab is counted: a flat obstacle under the level."""
    flat = [o for o in order.obstacles if o.size[2] < SLAB_M]
    known = {f.name: [o.name for o in flat if abs(o.centre[2] - f.level_m) < SLAB_M] for f in order.floors}
    return (
        "Slab counted: "
        + "; ".join(
            f"of {name}, {', '.join(found) if found else 'none (the order states none)'}"
            for name, found in known.items()
        )
        + "."
    )


def walls_said(order: Order, show: Show) -> str:
    """Each wall with the material and thickness that the doses rest on, and the other bodies with theirs."""
    if not order.obstacles:
        return " Walls: the order states none, none is counted."
    told = []
    for o in order.obstacles:
        thick = min(o.size)
        told.append(f"{o.name}, {o.material}" + (f" {show.value(thick, 'length')}" if thick < WALL_M else ""))
    return f" Walls and bodies counted by the order: {'; '.join(told)}."


def _high(order: Order, show: Show) -> str:
    """The places far above or below a person's height, which have doses of their own all the same."""
    level = [w.floor_level_m for w in order.welds]
    some = [p for p in order.places if p.at[2] > max(level) + HIGH_M or p.at[2] < min(level)]
    if not some:
        return " No place of the order lies on another floor."
    told = ", ".join(f"{p.name} ({_up(p.at[2], show)})" for p in some)
    return f" Places at another height, each with a dose of its own for that point: {told}."


def _up(z_m: float, show: Show) -> str:
    """A height above the site's zero; beneath it with its sign."""
    return ("−" if z_m < -1e-9 else "") + show.paced(abs(z_m), digits=3) if abs(z_m) > 1e-9 else "0"


def _reach(order: Order) -> tuple[list[float], list[float]]:
    """All that is drawn, along x and up."""
    xs = [w.at[0] for w in order.welds] + [p.at[0] for p in order.places]
    zs = [w.floor_level_m + w.height_m for w in order.welds] + [p.at[2] for p in order.places]
    xs += [x for f in order.floors if f.area for x, _ in f.area]
    for o in order.obstacles:
        xs += [o.centre[0] - o.size[0] / 2, o.centre[0] + o.size[0] / 2]
        zs.append(o.centre[2] + o.size[2] / 2)
    zs += [f.level_m for f in order.floors] + [w.floor_level_m for w in order.welds]
    return xs, zs


def _clear_on(words: str, a: Point, b: Point, taken: Places) -> Point:
    """Where on a level its name is put, as near to its left end as no line runs through it."""
    wide, high = text_width(words, SIZE_MM) + 0.8, SIZE_MM * CAP_HEIGHT + 1.0
    low, far = max(a[0], taken.room[0]) + wide / 2 + 1.0, min(b[0], taken.room[2]) - wide / 2 - 1.0
    spots = [(low + k * 2.0, a[1]) for k in range(max(int((far - low) / 2.0), 0) + 1)]
    above = [(x - wide / 2, y - 1.2 - high, x + wide / 2, y - 1.2) for x, y in spots]
    clear = (s for s, box in zip(spots, above, strict=True) if taken.free(box) and not taken.crossed(box))
    return next(clear, ((a[0] + b[0]) / 2, a[1]))


@dataclass(frozen=True)
class _Name:
    """Words as they are set, and their leader where they stand off their mark."""

    words: str
    at: Point
    leader: tuple[Point, Point] | None


def name_at(words: str, at: Point, taken: Places) -> _Name | None:
    """Words beside their mark where there is room; None where there is none, never on top of others."""
    wide, high = text_width(words, SIZE_MM), SIZE_MM * CAP_HEIGHT
    rings = (1.2, 2.6, 4.4, 7.0, 10.0, 14.0, 18.0)
    around = (*AROUND, *ASKEW) if wide > LONG_MM else AROUND
    found = taken.beside(at, wide + 0.8, high + 1.0, rings=rings, around=around)
    if found is None:
        return None
    box, ring = found
    leader = (at, nearest(at, box)) if ring > LEADS_FROM_MM else None
    return _Name(words, (box[0] + 0.4, box[3] - 0.5), leader)
