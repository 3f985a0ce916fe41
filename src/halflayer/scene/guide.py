"""The end of a guide tube at a collimator as solids at clock 0: an open bore through the wrap and its wall."""

from __future__ import annotations

from halflayer.order.guide import STRAIGHT_M, GuideTube
from halflayer.order.models import Order
from halflayer.scene.matter import order_material
from halflayer.scene.solids import Solid, Tube


def guide_solids(order: Order, guide: GuideTube, *, back_z: float) -> list[Solid]:
    """Bore and wall from the collimator's back on, along the beam's axis away from the pipe; its bends are left out.

    The bore is open: what comes out of the collimator's back runs up the tube and through the wrap. A channel
    in the collimator itself is one of its own solids.
    """
    length = min(guide.length_m, STRAIGHT_M)
    centre = (0.0, 0.0, back_z + length / 2)
    up = (0.0, 0.0, 1.0)
    inner = guide.bore_m / 2
    air, matter = order_material(order, "air"), order_material(order, guide.material)
    return [
        Tube("bore of the guide tube", centre, up, inner, None, length, air),
        Tube("guide tube", centre, up, inner + guide.wall_m, guide.wall_m, length, matter),
    ]
