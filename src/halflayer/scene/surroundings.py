"""Floor, walls and neighbouring equipment around a weld, as solids in the weld frame."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.order.weld import Obstacle, Weld
from halflayer.scene.frame import SiteFrame, add, scaled
from halflayer.scene.matter import order_material
from halflayer.scene.solids import Box, HalfSpace, Solid

NEAR_M = 6.0  # obstacles of the order within this of the weld are modelled when the weld names none
SLAB_M = (
    40.0  # edge of a floor slab of stated thickness, wide enough to be endless for the dose near the weld
)


def near_obstacles(order: Order, weld: Weld) -> tuple[Obstacle, ...]:
    """The obstacles modelled with this weld: those it names, else all whose surface is within 6 m."""
    if weld.obstacles:
        return tuple(o for o in order.obstacles if o.id in weld.obstacles)
    at = (weld.at[0], weld.at[1], weld.floor_level_m + weld.height_m)

    def gap(o: Obstacle) -> float:
        inside = (max(0.0, abs(p - c) - s / 2) for p, c, s in zip(at, o.centre, o.size, strict=True))
        return sum(d * d for d in inside) ** 0.5

    return tuple(o for o in order.obstacles if gap(o) <= NEAR_M)


def surroundings(order: Order, weld: Weld, frame: SiteFrame) -> list[Solid]:
    """Floor and obstacles; the site's axes are the boxes' own."""
    solids: list[Solid] = []
    site_axes = (
        frame.direction_to_local((1.0, 0.0, 0.0)),
        frame.direction_to_local((0.0, 1.0, 0.0)),
        frame.direction_to_local((0.0, 0.0, 1.0)),
    )
    if weld.floor_material:
        matter = order_material(order, weld.floor_material)
        below = frame.to_local((weld.at[0], weld.at[1], weld.floor_level_m))
        if weld.floor_thickness_m is None:
            solids.append(HalfSpace("floor", site_axes[2], below, matter))
        else:
            middle = add(below, scaled(site_axes[2], -weld.floor_thickness_m / 2))
            solids.append(Box("floor", middle, (SLAB_M, SLAB_M, weld.floor_thickness_m), matter, site_axes))
    for o in near_obstacles(order, weld):
        solids.append(
            Box(o.name, frame.to_local(o.centre), o.size, order_material(order, o.material), site_axes)
        )
    return solids
