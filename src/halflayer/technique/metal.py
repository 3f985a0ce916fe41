"""The group of metals that a pipe's material belongs to, by its heaviest element."""

from __future__ import annotations

from halflayer.base.errors import OutOfRange
from halflayer.order.models import Order

GROUPS = {"Fe": "steel", "Ni": "nickel", "Cu": "copper", "Al": "aluminium", "Ti": "titanium"}
IQI_LETTERS = {
    "steel": "FE",
    "nickel": "NI",
    "copper": "CU",
    "aluminium": "AL",
    "titanium": "TI",
}  # ISO 19232-1
# (from memory, unverified)


def metal_group(order: Order, name: str) -> str | None:
    """ "steel", "nickel", "copper", "aluminium", "titanium", or None for a material of no such group.

    The group is that of the element with the largest mass fraction (our choice: alloys are named so).
    """
    from halflayer.physics import materials

    fractions: dict[str, float] | None = None
    for own in order.materials:
        if own.name == name and own.mass_fractions:
            fractions = dict(own.mass_fractions)
    if fractions is None:
        try:
            fractions = dict(materials.material(name).mass_fractions)
        except OutOfRange:
            return None
    if not fractions:
        return None
    return GROUPS.get(max(fractions, key=lambda symbol: fractions[symbol]))
