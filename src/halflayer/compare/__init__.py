"""Every way to shoot a weld side by side, by quick looks, and what would make a stopped weld go.

The one verb of the room is `compare.ways.compare(order, weld) -> Comparison`.
"""
