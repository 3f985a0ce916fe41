"""The materials of an order: its own mixtures first, then the built-in ones, and blankets by measured mass."""

from __future__ import annotations

from dataclasses import replace

from halflayer.order.equipment import Blanket
from halflayer.order.models import Order
from halflayer.physics import materials
from halflayer.physics.materials import Material


def order_material(order: Order, name: str, *, density_kg_m3: float | None = None) -> Material:
    """The material of that name: the order's own where it defines one, else the built-in one.

    `density_kg_m3` replaces the tabled density (contents and insulation as they are on site).
    Raises: OutOfRange for an unknown name.
    """
    found = None
    for spec in order.materials:
        if spec.name == name:
            if spec.mass_fractions:
                density = spec.density_kg_m3 or materials.material("water").density_kg_m3
                found = materials.custom(spec.name, density, spec.mass_fractions, source="the order")
            else:
                found = materials.material(spec.name)
                if spec.density_kg_m3:
                    found = replace(found, density_kg_m3=spec.density_kg_m3)
    found = found or materials.material(name)
    return replace(found, density_kg_m3=density_kg_m3) if density_kg_m3 else found


def blanket_material(order: Order, blanket: Blanket) -> Material:
    """A blanket as a homogeneous sheet of its measured mass per area over its thickness."""
    base = order_material(order, blanket.material)
    sheet = materials.sheet_from_areal_density(
        base,
        areal_kg_m2=blanket.areal_density_kg_m2,
        thickness_m=blanket.thickness_m,
        name=f"blanket {blanket.id}",
    )
    return sheet.material
