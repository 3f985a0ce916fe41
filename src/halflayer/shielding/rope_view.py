"""What stands between a weld and its rope, so that one person at one post does not see the whole of it."""

from __future__ import annotations

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.barrier import HEIGHT_M
from halflayer.shielding.contour import crossed
from halflayer.shielding.safety_result import Access, Contour


def passed(order: Order, weld: Weld, rope: Contour) -> list[str]:
    """Names of the walls and bodies that a straight way from the weld to a corner of its rope passes.

    What stands too far from a weld to be in its dose stands there all the same for those who lay and watch the rope.
    """
    sites = [p.site for p in rope.points if p.site is not None]
    if len(sites) < 3:
        return []
    start = (weld.at[0], weld.at[1], weld.floor_level_m + HEIGHT_M)
    return list(dict.fromkeys(o.name for site in sites for _, _, o in crossed(order.obstacles, start, site)))


def hiding(order: Order, weld: Weld, rope: Contour | None, access: Access | None) -> list[str]:
    """The bodies that hide a part of the rope from one post; empty without any, or where sentries stand at ways in.

    A body between weld and rope hides what lies behind it from wherever on the other side someone stands.
    """
    if rope is None or access is None or any(r.sentry for r in access.routes):
        return []
    behind = [name for p in rope.points for name in p.behind]
    return list(dict.fromkeys([*behind, *passed(order, weld, rope)]))
