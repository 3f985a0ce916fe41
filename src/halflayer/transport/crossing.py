"""Areas scored by the flights that cross them: what leaves so near an area that a next-event score would be noise."""

from __future__ import annotations

from halflayer.scene.compiled import compiled
from halflayer.transport.flight import left_after
from halflayer.transport.forward import depth_to, near_area
from halflayer.transport.layout import E1X, E1Y, E1Z, E2X, E2Y, E2Z, NX, NY, NZ, PER_AREA, X, Y, Z
from halflayer.transport.score import put


@compiled
def cross(rules, tables, scene, targets, s, m, tally, x, y, z, dx, dy, dz, lam, i, f, weight, solid):
    """Score the areas that a flight of m stretches crosses, if it left near them: expected weight / |cos| / area.

    Below |cos| = 0.02 the mean of 1 / |cos| over that range takes its place (2 / 0.02), so that the
    variance stays finite; the current there goes as |cos|, so that the mean stays right.
    """
    rows = targets.rows
    for p in range(targets.count):
        if not near_area(rows, p, x, y, z):
            continue
        nx = rows[p, NX]
        ny = rows[p, NY]
        nz = rows[p, NZ]
        cosine = dx * nx + dy * ny + dz * nz
        px = rows[p, X] - x
        py = rows[p, Y] - y
        pz = rows[p, Z] - z
        height = px * nx + py * ny + pz * nz
        if cosine * height <= 0.0:
            continue
        t = height / cosine
        px = t * dx - px
        py = t * dy - py
        pz = t * dz - pz
        a = px * rows[p, E1X] + py * rows[p, E1Y] + pz * rows[p, E1Z]
        b = px * rows[p, E2X] + py * rows[p, E2Y] + pz * rows[p, E2Z]
        if abs(a) > rows[p, E1X] ** 2 + rows[p, E1Y] ** 2 + rows[p, E1Z] ** 2:
            continue
        if abs(b) > rows[p, E2X] ** 2 + rows[p, E2Y] ** 2 + rows[p, E2Z] ** 2:
            continue
        deep = depth_to(tables, scene, s, m, i, f, t)
        slope = abs(cosine)
        per = 1.0 / slope if slope > 0.02 else 100.0
        out = weight * left_after(deep) * per * rows[p, PER_AREA]
        put(rules, tables, targets, tally, p, solid, out, i, f, lam)
