"""What bears a wrap that head, legs and pipe do not: frame, props, straps; load, size, what the kit has."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from halflayer.order.carrier import Carrier
from halflayer.order.equipment import ON_A_STAND, STRAPPED
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built, build_scene
from halflayer.scene.frame import Vec3, about_x, add, scaled
from halflayer.scene.matter import order_material
from halflayer.scene.outline import circle, round_m
from halflayer.scene.pipework import outside_radius, pipe_span
from halflayer.scene.solids import Box, Tube
from halflayer.scene.turned_back import turned_back
from halflayer.scene.winding import over_turns
from halflayer.shielding.kit import blanket_kind, blanket_mass_kg
from halflayer.shielding.result import Shielding
from halflayer.shielding.saddles import Saddles, saddles, under_hood
from halflayer.shielding.sleeve_masses import sleeve_masses
from halflayer.shielding.tent_stays import Stay, stays
from halflayer.technique.result import Candidate

# All our choice.
LIES_BY_ITSELF_RAD = math.radians(
    30
)  # a hood on a head that leans no farther from upright stays where it lies
CLEAR_M = 0.02  # between a tent's outside and a foot, film or hood and a saddle
STRAP_OVER_M = 0.2  # of a strap, to close it
COLLAR = "collar"  # under a sleeve on a vertical pipe; no order states one


Point = tuple[float, float]


@dataclass(frozen=True)
class Bearer:
    """One thing that bears, what it must bear and reach, and what of the kit does it."""

    kind: str  # of the order's carriers, or COLLAR
    load_kg: float  # on all of it
    each_kg: float  # on the piece that bears most: what one must carry
    pieces: int
    heights_m: tuple[float, ...] = ()  # of bars over the floor by exposure, or of the saddles
    opening_m: tuple[float, float] | None = None  # that the feet must leave, along and across
    at_m: tuple[float, ...] = ()  # along the pipe from the weld: a frame's middle, each saddle's
    across_m: float = 0.0  # a frame's middle across the pipe, from its axis
    under_sleeve: bool = False  # a saddle stands under the sleeve, not on bare pipe
    own_kg: float = 0.0  # of the load a spool's own, that nothing else bears
    hung: tuple[
        tuple[float, float], ...
    ] = ()  # on props: masses, and where along the pipe each hangs [kg, m]
    length_m: float = 0.0  # that a strap must have
    widest_m: float | None = None  # that it may be, between a guide tube and the head's end
    outlines_m: tuple[
        tuple[Point, ...], ...
    ] = ()  # the tent of each exposure: across the pipe, over the floor
    stays: tuple[tuple[Stay, ...], ...] = ()  # of each exposure: ties that spread the tent
    held: Carrier | None = None
    lacks: str = ""  # why nothing of the kit does it; empty where something does

    @property
    def lifted(self) -> bool:
        """Whether a spool hangs from a hoist while it is wrapped: where its props stand under the sleeve."""
        return self.own_kg > 0.0 and self.under_sleeve and bool(self.at_m)


def bearers(
    order: Order, weld: Weld, candidate: Candidate | None, shielding: Shielding | None
) -> tuple[Bearer, ...]:
    """What must bear the wrap of a weld beside stand and head; empty where nothing must.

    The plant's own supports of a pipe are not in the order: what hangs on the pipe beside it is asked of props. A
    spool open at both ends lies on them with its own mass.
    """
    if candidate is None or shielding is None or not candidate.shots or not shielding.fitting.layers:
        return ()
    built = build_scene(order, weld, candidate, candidate.shots[0], shielding.fitting)
    if candidate.arrangement in ON_A_STAND:
        found = [_frame(order, weld, candidate, shielding, built)]
    elif candidate.arrangement in STRAPPED:
        found = [
            _props(order, weld, candidate, shielding, built),
            _straps(order, weld, candidate, shielding, built),
        ]
    else:
        found = [_props(order, weld, candidate, shielding, built)]
    return tuple(b for b in found if b is not None)


def wrap_kg(shielding: Shielding) -> float:
    """Mass of a weld's blankets [kg]."""
    return math.fsum(i.mass_kg for i in shielding.items if i.what.startswith("blanket"))


def left_on_legs_kg(order: Order, candidate: Candidate, shielding: Shielding) -> float | None:
    """What the legs carry beside head and plates [kg]; None without legs. A stop of blankets hangs on the pipe."""
    legs = next((g for g in order.kit.legs if g.id == candidate.legs), None)
    if legs is None:
        return None
    stop = math.fsum(i.mass_kg for i in shielding.items if i.what.startswith("stop"))
    return max(legs.carries_kg - _head_kg(order, candidate) - stop, 0.0)


def _head_kg(order: Order, candidate: Candidate) -> float:
    return next(h.mass_kg for h in order.heads if h.id == candidate.head)


def _taken(order: Order, kind: str, why: Callable[[Carrier], str], pieces: int) -> tuple[Carrier | None, str]:
    """The lightest of the kit's carriers of a kind that nothing speaks against, else what speaks against them."""
    mine = sorted((c for c in order.kit.carriers if c.kind == kind), key=lambda c: c.mass_kg)
    told = []
    for c in mine:
        reason = why(c) or (f"{c.count} of {pieces}" if c.count < pieces else "")
        if not reason:
            return c, ""
        told.append(f"{c.id}: {reason}")
    return None, "; ".join(told) or "none in the kit"


def _carries(c: Carrier, each_kg: float) -> str:
    return f"carries {c.carries_kg:g} kg" if each_kg > c.carries_kg + 1e-9 else ""


def _height(c: Carrier, heights_m: Sequence[float]) -> str:
    assert c.heights is not None
    low, high = c.heights
    if all(low - 1e-9 <= h <= high + 1e-9 for h in heights_m):
        return ""
    return f"reaches {low * 1000:.0f} to {high * 1000:.0f} mm"


def _frame(
    order: Order, weld: Weld, candidate: Candidate, shielding: Shielding, built: Built
) -> Bearer | None:
    """A frame about a tent that is heavier than what the legs carry beside head and stop."""
    left, load = left_on_legs_kg(order, candidate, shielding), wrap_kg(shielding)
    if left is None or load <= left + 1e-9 or built.wrap.lay is None:
        return None
    lay, blanket = built.wrap.lay, blanket_kind(order, shielding.fitting)
    assert blanket is not None
    t = shielding.fitting.layers * blanket.thickness_m
    head = next(h for h in order.heads if h.id == candidate.head)
    up, along = (0, 2) if weld.runs == "vertical" else (2, 0)
    tops, spans, outlines, floors = [], [], [], []
    for shot in candidate.shots:
        turn = shot.source_clock_rad - candidate.shots[0].source_clock_rad
        aim = about_x(built.aim, turn)
        face = add(about_x(built.source_at, turn), scaled(aim, head.source_to_face_m))
        foot = add(face, scaled(aim, lay.high_m + t))
        ends = [(face, lay.top_m + t), (foot, lay.foot_m + t)]
        spans.append([_span(ends, aim, axis) for axis in (along, 1)])
        tops.append(weld.height_m + _span(ends, aim, up)[1])
        outlines.append(_outline(ends, aim, up, weld.height_m))
        floors.append((foot, aim))
    low = [min(s[i][0] for s in spans) for i in (0, 1)]
    high = [max(s[i][1] for s in spans) for i in (0, 1)]
    opening = (high[0] - low[0] + 2 * CLEAR_M, high[1] - low[1] + 2 * CLEAR_M)
    middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)

    def why(c: Carrier) -> str:
        assert c.opening is not None and c.width_m is not None
        if any(need > have + 1e-9 for need, have in zip(opening, c.opening, strict=True)):
            return f"leaves {c.opening[0] * 1000:.0f} x {c.opening[1] * 1000:.0f} mm"
        sides = weld.clearances.sides_m
        if sides is not None and abs(middle[1]) + c.opening[1] / 2 + c.width_m > outside_radius(weld) + sides:
            return f"no room beside the pipe for its feet ({sides * 1000:.0f} mm)"
        half = c.opening[0] / 2 + c.width_m
        for side, free, need in (
            ("left", weld.clearances.left_m, half - middle[0]),
            ("right", weld.clearances.right_m, half + middle[0]),
        ):
            if free is not None and up == 2 and need > free + 1e-9:
                return f"no room {side} of the weld for its feet ({free * 1000:.0f} mm)"
        return _carries(c, load) or _height(c, tops)

    held, lacks = _taken(order, "tent frame", why, 1)
    spread: tuple[tuple[Stay, ...], ...] = ()
    if held is not None and held.opening is not None and held.heights is not None and up == 2:
        room, most = held.opening, held.heights[1]
        spread = tuple(
            stays(foot, aim, lay.foot_m, axis_m=weld.height_m, opening=room, middle=middle, most_m=most)
            for foot, aim in floors
        )
        # Bars as high as the highest tie asks: one level with the tent's edge would bear nothing of it.
        tops = [max([top, *(s.post_m for s in each)]) for top, each in zip(tops, spread, strict=True)]
    return Bearer(
        "tent frame",
        load,
        load,
        1,
        tuple(tops),
        opening,
        (middle[0],),
        middle[1],
        held=held,
        lacks=lacks,
        outlines_m=tuple(outlines),
        stays=spread,
    )


def _outline(ends: Sequence[tuple[Vec3, float]], aim: Vec3, up: int, axis_m: float) -> tuple[Point, ...]:
    """A cone from disc to disc as it is seen along the pipe: across it, and over the floor."""
    flat = math.hypot(aim[1], aim[up])
    if flat < 1e-9:
        return ()
    side = (-aim[up] / flat, aim[1] / flat)

    def rim(end: tuple[Vec3, float], sign: float) -> Point:
        middle, r = end
        return middle[1] + sign * r * side[0], axis_m + middle[up] + sign * r * side[1]

    return rim(ends[0], -1.0), rim(ends[0], 1.0), rim(ends[1], 1.0), rim(ends[1], -1.0)


def _span(ends: Sequence[tuple[Vec3, float]], normal: Vec3, axis: int) -> tuple[float, float]:
    """From where to where discs (middle, radius) across `normal` reach along an axis; source: geometry of a disc."""
    reach = math.sqrt(max(1.0 - normal[axis] ** 2, 0.0))
    return min(m[axis] - r * reach for m, r in ends), max(m[axis] + r * reach for m, r in ends)


def _props(
    order: Order, weld: Weld, candidate: Candidate, shielding: Shielding, built: Built
) -> Bearer | None:
    """Two props under the pipe, left and right of the weld, for what hangs on it.

    They stand on bare pipe beyond the sleeve, else under its end, clear of film and hood. Each bears its share by the
    lever rule: sum of mass x distance from the other / distance between them.
    """
    sleeve = [s for s in built.scene.solids if isinstance(s, Tube) and s.name == "wrap"]
    if not sleeve:
        return None
    if weld.runs == "vertical":
        load = wrap_kg(shielding) + _head_kg(order, candidate)
        return Bearer(COLLAR, load, load, 1, lacks="none in the kit")
    low = min(s.centre[0] - s.length_m / 2 for s in sleeve if s.length_m)
    high = max(s.centre[0] + s.length_m / 2 for s in sleeve if s.length_m)
    masses = _hung(order, weld, candidate, shielding, built, (low, high))
    load = math.fsum(m for m, _ in masses)
    bare = outside_radius(weld)
    laid = built.wrap.layers[: shielding.fitting.layers]
    cloth = blanket_kind(order, shielding.fitting)
    hood = next(
        (s.size[0] / 2 for s in built.scene.solids if isinstance(s, Box) and s.name == "wrap over head"), 0.0
    )
    clear = max(hood, built.film.width_m / 2) + CLEAR_M

    def places(width: float) -> Saddles | None:
        return saddles(weld, laid, (low, high), width, clear)

    def shares(at: tuple[float, float]) -> float:
        far = at[1] - at[0]
        on_right = math.fsum(m * (x - at[0]) for m, x in masses) / far
        return max(on_right, load - on_right)

    def outer(x: float) -> float:
        """Radius over all that lies at a place, what goes on over a wound sleeve's end included."""
        more = over_turns(laid, cloth, x) * cloth.thickness_m if cloth else 0.0
        there = [s.outer_radius_m for s in sleeve if s.length_m and abs(x - s.centre[0]) < s.length_m / 2]
        more += turned_back(weld, laid, x) * cloth.thickness_m if cloth else 0.0
        return max(there, default=bare) + more

    def heights(at: tuple[float, float]) -> tuple[float, float]:
        a, b = (weld.height_m - (outer(x) if low < x < high else bare) for x in at)
        return a, b

    widths = [c.width_m for c in order.kit.carriers if c.kind == "pipe prop" and c.width_m] or [0.06]
    spot = places(min(widths))
    each = shares(spot.at_m) if spot else load

    def why(c: Carrier) -> str:
        assert c.width_m is not None
        if weld.clearances.below_m is not None:
            return f"no room to the floor ({weld.clearances.below_m * 1000:.0f} mm below the pipe)"
        mine = places(c.width_m)
        if mine is None:
            return f"its saddle of {c.width_m * 1000:.0f} mm has no room beside film and head"
        tall = heights(mine.at_m)
        thick, _ = under_hood(candidate, laid, cloth, mine.at_m, c.width_m)
        return _carries(c, shares(mine.at_m)) or _height(c, (*tall, min(tall) - thick))

    held, lacks = _taken(order, "pipe prop", why, 2)
    if held is not None and held.width_m is not None:
        spot = places(held.width_m)
    if spot:
        each = shares(spot.at_m)
    return Bearer(
        "pipe prop",
        load,
        each,
        2,
        heights(spot.at_m) if spot else (),
        at_m=spot.at_m if spot else (),
        under_sleeve=spot is not None and spot.under,
        own_kg=spool_kg(order, weld),
        hung=tuple((kg, x) for kg, x in masses if kg),
        held=held,
        lacks=lacks,
    )


def _hung(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    shielding: Shielding,
    built: Built,
    sleeve: tuple[float, float],
) -> list[tuple[float, float]]:
    """Masses and where along the pipe they hang [kg, m]: sleeve, covers, head with its hood, a spool itself."""
    blanket = blanket_kind(order, shielding.fitting)
    each = blanket_mass_kg(blanket) if blanket else 0.0
    laid = built.wrap.layers[: shielding.fitting.layers]
    more = math.fsum(one.more for one in laid) * each
    middle = (sleeve[0] + sleeve[1]) / 2
    found = sleeve_masses(
        built, laid, blanket, each_kg=each, sleeve_kg=wrap_kg(shielding) - more, middle_m=middle
    )
    found.append((_head_kg(order, candidate), 0.0))
    ends = [s for s in built.scene.solids if isinstance(s, Tube) and s.name.startswith("end cover")]
    found += [(more / len(ends), s.centre[0]) for s in ends] if ends else [(more, 0.0)]
    left, right = pipe_span(weld)
    return [*found, (spool_kg(order, weld), (left + right) / 2)]


def spool_kg(order: Order, weld: Weld) -> float:
    """Mass of a spool open at both ends with what is in it [kg]; 0 where the pipe runs on in a plant that bears it."""
    if not weld.left.kind == weld.right.kind == "open end":
        return 0.0
    left, right = pipe_span(weld)
    p = weld.pipe
    metal = math.pi * (p.od - p.wall) * p.wall * order_material(order, p.material).density_kg_m3
    inside = math.pi * p.bore**2 / 4 * order_material(order, weld.contents.material).density_kg_m3
    return (metal + inside) * (right - left)


def _straps(
    order: Order, weld: Weld, candidate: Candidate, shielding: Shielding, built: Built
) -> Bearer | None:
    """Two straps round head, hood and pipe where the head is beside or under it; either bears it all."""
    upright = [abs((s.source_clock_rad + math.pi) % (2 * math.pi) - math.pi) for s in candidate.shots]
    if weld.runs != "vertical" and max(upright) <= LIES_BY_ITSELF_RAD:
        return None
    over = next((s for s in built.scene.solids if isinstance(s, Box) and s.name == "wrap over head"), None)
    sleeve = [s for s in built.scene.solids if isinstance(s, Tube) and s.name == "wrap"]
    if over is None or not sleeve:
        return None
    laid = built.wrap.layers[: shielding.fitting.layers]
    blankets = {b.id: blanket_mass_kg(b) for b in order.kit.blankets}
    hood = math.fsum(one.more * blankets.get(shielding.fitting.blanket or "", 0.0) for one in laid)
    hood += math.fsum(p.over_head * blankets[p.blanket] for p in built.wrap.patches(shielding.fitting.layers))
    load = hood + _head_kg(order, candidate)
    half, high = over.size[1] / 2, over.size[2]
    cloth = blanket_kind(order, shielding.fitting)
    over_m = over_turns(laid, cloth) * cloth.thickness_m if cloth else 0.0
    section = [
        (-half, 0.0),
        (half, 0.0),
        (half, high),
        (-half, high),
        *circle(max(s.outer_radius_m for s in sleeve) + over_m),
    ]
    length = round_m(section, off_m=0.0) + STRAP_OVER_M

    def why(c: Carrier) -> str:
        assert c.length_m is not None
        if length > c.length_m + 1e-9:
            return f"{c.length_m * 1000:.0f} mm long"
        if widest is not None and c.width_m is not None and c.width_m > widest + 1e-9:
            return f"{c.width_m * 1000:.0f} mm wide"
        return _carries(c, load)

    off = over.size[0] / 4
    guide = next((g for g in order.kit.guides if g.id == candidate.guide), None)
    widest = None
    if guide is not None:  # up through the hood's middle: a strap lies halfway from it to the head's end
        tube = guide.bore_m / 2 + guide.wall_m
        half = next(h.body[0] / 2 for h in order.heads if h.id == candidate.head)
        off, widest = (tube + half) / 2, max(half - tube, 0.0)
    held, lacks = _taken(order, "hood strap", why, 2)
    return Bearer(
        "hood strap",
        load,
        load,
        2,
        at_m=(-off, off),
        length_m=length,
        widest_m=widest,
        held=held,
        lacks=lacks,
    )
