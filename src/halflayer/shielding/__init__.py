"""Who stands where: plates and layers sized so that every limit holds, barrier distance, crew dose.

The one verb of the room is `shielding.shield.shield(order, weld, candidate, exposure) -> Shielding`.
"""
