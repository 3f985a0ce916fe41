"""Where a rope runs behind a wall: how far past its far face, and which places of the order lie behind that wall."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from halflayer.order.arm_reach import ARM_M
from halflayer.order.models import Order
from halflayer.order.weld import Obstacle, Weld
from halflayer.shielding.contour import crossed
from halflayer.shielding.safety_result import Contour

WALL_M = 0.5  # thinner in plan than this is a wall, along which nobody ropes: our choice
LONG_M = 1.0  # shorter than this in plan is a post, behind which there is no room: our choice


@dataclass(frozen=True)
class PastWall:
    """A wall that a rope runs behind: its name, how far past it at most [m], the places of its floor behind it."""

    wall: str
    past_m: float
    places: tuple[str, ...]


def past_walls(order: Order, weld: Weld, line: Contour | None) -> list[PastWall]:
    """Every wall of some length between the weld and a corner of its rope, in the sequence of the order.

    Formula: distance of the corner from the wall's far face, square to it; the most of the corners in its shadow, as
    the rope is straight between them. Places: those of people, of the crew and of film not higher than an arm's reach
    over the weld's floor, behind the wall seen from the weld with no other wall between. Source: plane geometry.
    """
    if line is None:
        return []
    start = (weld.at[0], weld.at[1], weld.floor_level_m + line.height_m)
    walls = [o for o in order.obstacles if is_wall(o) and max(o.size[0], o.size[1]) >= LONG_M]
    found = []
    for wall in walls:
        corners = [p.site for p in line.points if p.site is not None]
        past = [_past_m(wall, c) for c in corners if crossed([wall], start, c)]
        if past and max(past) > 0.0:
            places = tuple(_behind(order, weld, wall, [w for w in walls if w is not wall], start))
            found.append(PastWall(wall.name, max(past), places))
    return found


def is_wall(o: Obstacle) -> bool:
    """Whether a body is a wall: thin in plan."""
    return min(o.size[0], o.size[1]) < WALL_M


def _past_m(wall: Obstacle, at: tuple[float, float, float]) -> float:
    """How far a place lies from the nearer face of a wall, square to it [m]; of one behind it: from its far face."""
    thin = 0 if wall.size[0] <= wall.size[1] else 1
    return abs(at[thin] - wall.centre[thin]) - wall.size[thin] / 2


def _behind(
    order: Order, weld: Weld, wall: Obstacle, others: list[Obstacle], start: tuple[float, float, float]
) -> Iterator[str]:
    for p in order.places:
        high = p.at[2] - weld.floor_level_m
        if p.kind not in ("people", "crew", "stored film") or not -0.5 <= high <= ARM_M:
            continue
        at = (p.at[0], p.at[1], start[2])
        if crossed([wall], start, at) and not crossed(others, start, at):
            yield p.name
