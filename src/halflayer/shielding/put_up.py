"""What a sized set-up puts up round its weld, as parts that take room: turning with the source or standing still."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.equipment import ON_A_STAND, STRAPPED
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built, build_scene
from halflayer.scene.covers import cover_lay, cover_size_m
from halflayer.scene.frame import Vec3, about_x, add, scaled, unit
from halflayer.scene.solids import Box, Frustum, Solid, Sphere, Tube
from halflayer.scene.winding import over_turns
from halflayer.shielding.bearers import Bearer, bearers
from halflayer.shielding.kit import blanket_kind
from halflayer.shielding.result import Shielding
from halflayer.technique import room
from halflayer.technique.result import Candidate

STRAP_M = 0.003  # a strap over the last layer: our choice
RIM = 24  # points of a round end, our choice: its true edge lies at most 1 % farther out, which `_rim` makes up for

# What a crew calls the solids of a stand; what is not here belongs to the plant.
CALLED = {
    "head": "head",
    "clamp": "clamp",
    "arm": "arms",
    "leg": "legs",
    "stop": "stop",
    "film": "film",
    "backing": "film",
    "wrap": "tent",
    "shroud": "shroud",
}


@dataclass(frozen=True)
class PutUp:
    """Parts of a set-up: `turning` with the source at clock 0, `still` as they stand in every exposure."""

    turning: tuple[room.Part, ...]
    still: tuple[room.Part, ...]


def put_up(order: Order, weld: Weld, candidate: Candidate, shielding: Shielding) -> PutUp:
    """Everything that the sized set-up puts up beside the pipe; guide tube and plate holder are not among it."""
    built = build_scene(order, weld, candidate, candidate.shots[0], shielding.fitting)
    still = [p for b in bearers(order, weld, candidate, shielding) for p in borne(weld, b)]
    if candidate.arrangement in ON_A_STAND:
        turning = _on_a_stand(order, candidate, built)
    else:
        turning = wrapped_parts(order, shielding, built, strapped=candidate.arrangement in STRAPPED)
    return PutUp(turning, tuple(still))


def _on_a_stand(order: Order, candidate: Candidate, built: Built) -> tuple[room.Part, ...]:
    """Head, clamp, arms, legs, film, stop and tent or shroud by their corners."""
    head = next(h for h in order.heads if h.id == candidate.head)
    body = Box("head", built.head_centre, head.body, built.scene.surround, built.head_axes)
    found = [
        body,
        *(s for s in built.scene.solids if s.name.split()[0] in CALLED and not s.name.startswith("head")),
    ]
    return tuple(
        room.Part(CALLED[s.name.split()[0]], tuple(about_x(p, -built.clock_rad) for p in corners(s)))
        for s in found
    )


def wrapped_parts(
    order: Order, shielding: Shielding, built: Built, *, strapped: bool
) -> tuple[room.Part, ...]:
    """Hood, sleeve and covers with the strap over them, by their corners with the source at clock 0; none unwrapped."""
    solids = built.scene.solids
    over = next((s for s in solids if isinstance(s, Box) and s.name == "wrap over head"), None)
    sleeve = [s for s in solids if isinstance(s, Tube) and s.name == "wrap" and s.length_m is not None]
    covers = [
        s for s in solids if isinstance(s, Tube) and s.name.startswith("end cover") and s.length_m is not None
    ]
    cloth = blanket_kind(order, shielding.fitting)
    if not sleeve or cloth is None or (strapped and over is None):
        return ()
    more = (
        over_turns(built.wrap.layers[: shielding.fitting.layers], cloth) * cloth.thickness_m
        if strapped
        else 0.0
    )
    found = []
    if over is not None:
        along, across, high = over.size
        size = (along, across + 2 * STRAP_M, high + STRAP_M)
        found.append(room.box("head in its hood and strap", centre=(0.0, 0.0, size[2] / 2), size=size))
    wrapped = max(s.outer_radius_m for s in sleeve) + more + STRAP_M
    # A cover is of whole pieces: it reaches past the disc that stands for it in the dose.
    disc = 2 * max((s.outer_radius_m for s in covers), default=0.0)
    laid = max(cover_size_m(cover_lay(disc, cloth), cloth)) / 2 if covers else 0.0
    for name, tubes, radius in (("sleeve and strap", sleeve, wrapped), ("covers", covers, laid)):
        for s in tubes:
            assert s.length_m is not None
            ring = room.ring_part(name, radius).corners
            ends = (s.centre[0] - s.length_m / 2, s.centre[0] + s.length_m / 2)
            found.append(room.Part(name, tuple((x, y, z) for x in ends for _, y, z in ring)))
    return tuple(found)


def borne(weld: Weld, b: Bearer) -> tuple[room.Part, ...]:
    """A frame's outside with its feet down to the pipe's underside, and what props take along the pipe.

    What stands on the floor is not asked of the room below the pipe: a frame stands beside it, props are refused
    where that room is stated.
    """
    if b.held is None or b.held.width_m is None or not b.at_m:
        return ()
    if b.kind == "pipe prop":
        half = b.held.width_m / 2
        return tuple(
            room.Part(f"prop {b.held.id}", ((x - half, 0.0, 0.0), (x + half, 0.0, 0.0))) for x in b.at_m
        )
    if b.held.opening is None:
        return ()
    along, across = (o / 2 + b.held.width_m for o in b.held.opening)
    name = f"frame {b.held.id}"
    top = max(b.heights_m) - weld.height_m
    if (
        weld.runs == "vertical"
    ):  # its bars stand up along the pipe: the first of its two ways lies towards clock 0
        return (
            room.Part(
                name,
                tuple(
                    (x, b.across_m + i * across, b.at_m[0] + k * along)
                    for x in (0.0, top)
                    for i in (-1, 1)
                    for k in (-1, 1)
                ),
            ),
        )
    return (
        room.Part(
            name,
            tuple(
                (b.at_m[0] + i * along, b.across_m + k * across, z)
                for z in (0.0, top)
                for i in (-1, 1)
                for k in (-1, 1)
            ),
        ),
    )


def corners(s: Solid) -> tuple[Vec3, ...]:
    """Points of a solid whose hull holds it [m]: a box's corners, the rims of what is round."""
    if isinstance(s, Box):
        return tuple(
            add(
                s.centre,
                add(
                    add(scaled(s.axes[0], i * s.size[0] / 2), scaled(s.axes[1], j * s.size[1] / 2)),
                    scaled(s.axes[2], k * s.size[2] / 2),
                ),
            )
            for i in (-1, 1)
            for j in (-1, 1)
            for k in (-1, 1)
        )
    if isinstance(s, Sphere):
        r = s.outer_radius_m
        return tuple(add(s.centre, (i * r, j * r, k * r)) for i in (-1, 1) for j in (-1, 1) for k in (-1, 1))
    assert isinstance(s, Tube | Frustum), "half spaces stand for no piece of a set-up"
    length = s.length_m or 0.0
    first, last = (
        (s.radius_start_m, s.radius_end_m) if isinstance(s, Frustum) else (s.outer_radius_m, s.outer_radius_m)
    )
    axis = unit(s.axis)
    return (
        *_rim(add(s.centre, scaled(axis, -length / 2)), axis, first),
        *_rim(add(s.centre, scaled(axis, length / 2)), axis, last),
    )


def _rim(middle: Vec3, axis: Vec3, radius_m: float) -> tuple[Vec3, ...]:
    """A circle's rim by points of a polygon round it, so that the circle lies within."""
    least = min(range(3), key=lambda i: abs(axis[i]))
    aside = _cross(axis, tuple(float(i == least) for i in range(3)))  # type: ignore[arg-type]
    a = unit(aside)
    b = _cross(axis, a)
    r = radius_m / math.cos(math.pi / RIM)
    turns = [2 * math.pi * i / RIM for i in range(RIM)]
    return tuple(add(middle, add(scaled(a, r * math.cos(t)), scaled(b, r * math.sin(t)))) for t in turns)


def _cross(a: Vec3, b: Vec3) -> Vec3:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])
