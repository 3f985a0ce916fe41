"""Room round a weld: what the clearances leave free, what a set-up needs, and the clocks that suit them best."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

from halflayer.order.equipment import Head
from halflayer.order.weld import Weld
from halflayer.technique.ask import Check, check
from halflayer.technique.geometry import Vec3
from halflayer.technique.words import deg, listed, mm

START_STEP = math.radians(15)  # starts of the clocks are tried in such steps, our choice: readable on a scale
SIDES = ("above", "below", "sides", "left", "right")
FLOOR = "floor"


@dataclass(frozen=True)
class Part:
    """Something that turns with the source's clock, by its corners with the source at clock 0 [m]."""

    what: str
    corners: tuple[Vec3, ...]


def box(
    what: str,
    *,
    centre: Vec3,
    size: tuple[float, float, float],
    lean_rad: float = 0.0,
    about: Vec3 | None = None,
) -> Part:
    """A box as a part; with a lean, turned in the plane y = 0 about `about`, its top towards positive x."""
    corners = []
    for i in (-0.5, 0.5):
        for j in (-0.5, 0.5):
            for k in (-0.5, 0.5):
                p = (centre[0] + i * size[0], centre[1] + j * size[1], centre[2] + k * size[2])
                corners.append(_leaned(p, lean_rad, about) if about else p)
    return Part(what, tuple(corners))


def _leaned(p: Vec3, lean_rad: float, about: Vec3) -> Vec3:
    x, z = p[0] - about[0], p[2] - about[2]
    c, s = math.cos(lean_rad), math.sin(lean_rad)
    return (about[0] + x * c + z * s, p[1], about[2] - x * s + z * c)


def head_part(head: Head, *, source: Vec3, lean_rad: float) -> Part:
    """The head's body about the source: front face `source_to_face` along the beam, the rest behind it."""
    x, y, z = source
    middle = (x, y, z + head.body[2] / 2 - head.source_to_face_m)
    return box("head body", centre=middle, size=head.body, lean_rad=lean_rad, about=source)


def ring_part(what: str, radius_m: float) -> Part:
    """A ring round the pipe, by points on it every 15 degrees."""
    steps = [2 * math.pi * i / 24 for i in range(24)]
    return Part(what, tuple((0.0, -radius_m * math.sin(c), radius_m * math.cos(c)) for c in steps))


def free_room(weld: Weld) -> dict[str, tuple[float, str] | None]:
    """Room from the pipe's surface by side [m] and what bounds it; left and right from the weld plane; None: free.

    The floor bounds it too: below a horizontal pipe, on the left (down) of a vertical one.
    """
    c = weld.clearances
    stated = {
        "above": c.above_m,
        "below": c.below_m,
        "sides": c.sides_m,
        "left": c.left_m,
        "right": c.right_m,
    }
    free = {side: None if value is None else (value, "stated") for side, value in stated.items()}
    side = "left" if weld.runs == "vertical" else "below"
    to_floor = weld.height_m if weld.runs == "vertical" else weld.height_m - weld.pipe.od / 2
    known = free[side]
    if known is None or to_floor < known[0]:
        free[side] = (to_floor, FLOOR)
    return free


def needed_room(
    parts: Iterable[Part], clocks: Iterable[float], *, radius_m: float, sides_height_m: float | None = None
) -> dict[str, tuple[float, str]]:
    """Room that the parts need by side, largest over the clocks [m], and which part needs it.

    With `sides_height_m` at the sides only what lies so near to the level of the pipe's axis counts.
    """
    need = dict.fromkeys(SIDES, (-math.inf, ""))
    turns = [(math.cos(c), math.sin(c)) for c in clocks]
    for part in parts:
        ups = [y * sin + z * cos for _, y, z in part.corners for cos, sin in turns]
        across = [y * cos - z * sin for _, y, z in part.corners for cos, sin in turns]
        if sides_height_m is None:
            aside = max(max(across), -min(across))
        else:
            aside = _within_band(part, turns, sides_height_m)
        reach = {
            "above": max(ups) - radius_m,
            "below": -min(ups) - radius_m,
            "sides": aside - radius_m,
            "left": -min(x for x, _, _ in part.corners),
            "right": max(x for x, _, _ in part.corners),
        }
        for side, value in reach.items():
            if value > need[side][0]:
                need[side] = (value, part.what)
    return need


def _within_band(part: Part, turns: Iterable[tuple[float, float]], half_m: float) -> float:
    """How far a convex part reaches sideways within `half_m` of the axis's level [m], over all turns; 0: not at all.

    Its outline's edges are among the lines between its corners: the most lies at a corner in the band or where such a
    line enters it.
    """
    most = 0.0
    for cos, sin in turns:
        flat = [(y * cos - z * sin, y * sin + z * cos) for _, y, z in part.corners]
        most = max([most, *(abs(a) for a, up in flat if abs(up) <= half_m)])
        for i, (a, up) in enumerate(flat):
            for b, high in flat[:i]:
                for level in (-half_m, half_m):
                    if (up - level) * (high - level) < 0.0:
                        most = max(most, abs(a + (b - a) * (level - up) / (high - up)))
    return most


def _needed(weld: Weld, parts: Iterable[Part], clocks: Iterable[float]) -> dict[str, tuple[float, str]]:
    """`needed_room` by what the weld states of its sides."""
    return _kept_need(tuple(parts), tuple(clocks), weld.pipe.od / 2, weld.clearances.sides_height_m)


@lru_cache(maxsize=2048)
def _kept_need(
    parts: tuple[Part, ...], clocks: tuple[float, ...], radius_m: float, sides_height_m: float | None
) -> dict[str, tuple[float, str]]:
    """The same set-up is asked for with every source, film and opening. Not to be written into."""
    return needed_room(parts, clocks, radius_m=radius_m, sides_height_m=sides_height_m)


def excess_m(need: dict[str, tuple[float, str]], free: dict[str, tuple[float, str] | None]) -> float:
    """Largest lack of room over the sides [m]; 0 when all fits."""
    lacks = [need[s][0] - room[0] for s, room in free.items() if room is not None]
    return max([0.0, *lacks])


@dataclass(frozen=True)
class Clocks:
    """Source clocks of the exposures of a weld [rad], their spacing and the verdict on the room they need."""

    clocks: tuple[float, ...]
    spacing_rad: float
    room: Check


def _turned(angle: float) -> float:
    turn = 2 * math.pi
    angle = math.fmod(angle, turn)
    angle = angle + turn if angle < -1e-12 else max(angle, 0.0)
    return 0.0 if turn - angle < 1e-9 else angle


@lru_cache(maxsize=64)
def _options(
    count: int, spacings_rad: tuple[float, ...], upright: bool
) -> tuple[tuple[tuple[float, ...], float], ...]:
    """Clocks with their spacing in order of preference: first spacing, sources high up, start near the top."""
    options = []
    for order, spacing in enumerate(spacings_rad):
        for start in (i * START_STEP for i in range(round(2 * math.pi / START_STEP))):
            clocks = tuple(_turned(start + i * spacing) for i in range(count))
            lowest = 0.0 if upright else -min(math.cos(c) for c in clocks)
            from_top = min(start, 2 * math.pi - start)
            options.append(((order, round(lowest, 6), round(from_top, 6), start), clocks, spacing))
    options.sort(key=lambda option: option[0])
    return tuple((clocks, spacing) for _, clocks, spacing in options)


def choose_clocks(
    weld: Weld, parts: tuple[Part, ...], *, count: int, spacings_rad: tuple[float, ...], unchecked: str
) -> Clocks:
    """The clocks that fit the room; among those the first spacing, then sources as high up as they can be.

    A source above the pipe shoots down into its stop and is easier to reach; a vertical pipe has no above,
    so its clocks start at the datum. Where nothing fits, the clocks that lack least.
    """
    free = free_room(weld)
    least: tuple[float, tuple[float, ...], float] | None = None
    for clocks, spacing in _options(count, spacings_rad, weld.runs == "vertical"):
        lack = round(excess_m(_needed(weld, parts, clocks), free), 6)
        if least is None or lack < least[0]:
            least = (lack, clocks, spacing)
        if lack <= 0.0:
            break
    assert least is not None
    clocks = _in_order(least[1])
    return Clocks(clocks, least[2], room_check(weld, parts, clocks, unchecked=unchecked))


def _in_order(clocks: tuple[float, ...]) -> tuple[float, ...]:
    """Clocks in turning order, starting after the widest pause between two of them."""
    turn = 2 * math.pi
    rising = sorted(clocks)
    pauses = [(rising[i] - rising[i - 1]) % turn if len(rising) > 1 else turn for i in range(len(rising))]
    widest = max(pauses)
    first = next(i for i, pause in enumerate(pauses) if pause > widest - 1e-9)
    return tuple(rising[first:] + rising[:first])


def room_check(weld: Weld, parts: tuple[Part, ...], clocks: tuple[float, ...], *, unchecked: str) -> Check:
    """The verdict on the room, naming every side that was checked, what was checked and what was not."""
    free = free_room(weld)
    need = _needed(weld, parts, clocks)
    asked, has, lacks = [], [], []
    for side, room in free.items():
        value, what = need[side]
        if room is None:
            asked.append(f"{side} not stated")
            continue
        band = weld.clearances.sides_height_m if side == "sides" else None
        level = f" (within {mm(band)} of its axis's level)" if band is not None else ""
        asked.append(f"{side} {mm(room[0])}" + (" (floor)" if room[1] == FLOOR else level))
        has.append(f"{side} {mm(max(value, 0.0))} ({what})")
        lack = value - room[0]
        if lack > 1e-6:
            lacks.append(f"{math.ceil(lack * 1e3 - 1e-6)} mm more room {_where(side)} for the {what}")
    at = f" at clock {listed(deg(c) for c in clocks)}" if clocks else ""
    names = listed(dict.fromkeys(p.what for p in parts))
    relax = (listed(lacks),) if lacks else ()
    return check(
        "room round the weld",
        required="free: " + ", ".join(asked),
        reached=f"needed{at}: {', '.join(has)}; checked: {names}; not checked: {unchecked}",
        holds=not lacks,
        source="geometry, clearances of the order",
        relax=relax,
    )


def _where(side: str) -> str:
    return {"sides": "at the sides", "left": "on the left", "right": "on the right"}.get(side, side)
