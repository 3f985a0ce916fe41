"""Dose in voxels: what a flight is expected to leave in every voxel that it crosses, by its track length there.

Each flight adds weight x H*(10) per fluence x integral of exp(-depth) along its way through the voxel, over the voxel's
volume: the expected track length, exact along the flight whatever stands in it.
"""

from __future__ import annotations

from halflayer.scene.compiled import compiled, inlined, kernel
from halflayer.scene.rays import solid_at
from halflayer.transport.flight import left_after

# Places in `Tally.grid`: number of voxels (0: none asked), low corner, three rows that turn a direction into voxels per
# metre, voxels along each of the three axes.
VOXELS, CORNER, ROWS, SHAPE, GRID_COLUMNS = 0, 1, 4, 13, 16
_CORNER, _ROWS, _SHAPE = CORNER, ROWS, SHAPE
_NEVER = 1.0e30
_FLAT = 1.0e-12  # voxels per metre under which a flight never leaves its layer
# Steps thinner than this [mean free paths] by their series, whose error is then under 1e-6 of the step.
_THIN = 0.1


@compiled
def _span(p, d, count, low, high):
    """The part of the interval low ... high in which 0 <= p + d t <= count."""
    if abs(d) < _FLAT:
        if p < 0.0 or p >= count:
            return low, -1.0
        return low, high
    a = -p / d
    b = (count - p) / d
    if a > b:
        a, b = b, a
    return max(low, a), min(high, b)


@compiled
def _first(p, d, low, count):
    """Voxel number where a flight enters along one axis, and its distance to the next face."""
    i = int(p + d * low)
    i = min(max(i, 0), count - 1)
    if abs(d) < _FLAT:
        return i, _NEVER
    face = i + 1.0 if d > 0.0 else float(i)
    return i, (face - p) / d


@inlined
def _add(sums, i, value):
    """Add to a sum of which every thread has one of its own."""
    sums[i] += value


def tracker(add):
    """The kernel function `track`, which adds to its sums by `add(sums, i, value)`."""
    add_at = add

    @compiled
    def track(grid, sums, dose, x, y, z, dx, dy, dz, end, tau, m):
        """Add to the voxels what a flight from (x, y, z) along the unit vector d leaves in them.

        sums: of each voxel, x fastest; dose: weight x dose per fluence over the voxel's volume; end, tau: where the m
        stretches of the flight end [m], and the depth there.
        """
        px = x - grid[_CORNER]
        py = y - grid[_CORNER + 1]
        pz = z - grid[_CORNER + 2]
        u = grid[_ROWS] * px + grid[_ROWS + 1] * py + grid[_ROWS + 2] * pz
        v = grid[_ROWS + 3] * px + grid[_ROWS + 4] * py + grid[_ROWS + 5] * pz
        w = grid[_ROWS + 6] * px + grid[_ROWS + 7] * py + grid[_ROWS + 8] * pz
        du = grid[_ROWS] * dx + grid[_ROWS + 1] * dy + grid[_ROWS + 2] * dz
        dv = grid[_ROWS + 3] * dx + grid[_ROWS + 4] * dy + grid[_ROWS + 5] * dz
        dw = grid[_ROWS + 6] * dx + grid[_ROWS + 7] * dy + grid[_ROWS + 8] * dz
        nu = int(grid[_SHAPE])
        nv = int(grid[_SHAPE + 1])
        nw = int(grid[_SHAPE + 2])
        low, high = _span(u, du, nu, 0.0, end[m - 1])
        low, high = _span(v, dv, nv, low, high)
        low, high = _span(w, dw, nw, low, high)
        if high <= low:
            return
        # The stretch in which it enters, and what is left there.
        j = 0
        while j < m - 1 and end[j] <= low:
            j += 1
        before = end[j - 1] if j > 0 else 0.0
        deep = tau[j - 1] if j > 0 else 0.0
        mu = (tau[j] - deep) / max(end[j] - before, 1.0e-12)
        left = dose * left_after(deep + mu * (low - before))
        i, next_u = _first(u, du, low, nu)
        k, next_v = _first(v, dv, low, nv)
        n, next_w = _first(w, dw, low, nw)
        step_u = 1.0 / abs(du) if abs(du) >= _FLAT else _NEVER
        step_v = 1.0 / abs(dv) if abs(dv) >= _FLAT else _NEVER
        step_w = 1.0 / abs(dw) if abs(dw) >= _FLAT else _NEVER
        side_u = 1 if du > 0.0 else -1
        side_v = 1 if dv > 0.0 else -1
        side_w = 1 if dw > 0.0 else -1
        at = low
        while True:
            t = min(min(next_u, next_v), min(next_w, min(end[j], high)))
            length = t - at
            if length > 0.0:
                d = mu * length
                if d < _THIN:
                    mean = 1.0 - d * (0.5 - d * (1.0 / 6.0 - d * (1.0 / 24.0)))
                else:
                    mean = (1.0 - left_after(d)) / d
                add_at(sums, (n * nv + k) * nu + i, left * mean * length)
                left *= 1.0 - d * mean
                at = t
            if t >= high:
                return
            if t >= end[j]:
                if j >= m - 1:
                    return
                before = end[j]
                deep = tau[j]
                j += 1
                mu = (tau[j] - deep) / max(end[j] - before, 1.0e-12)
            elif t >= next_u:
                i += side_u
                next_u += step_u
                if i < 0 or i >= nu:
                    return
            elif t >= next_v:
                k += side_v
                next_v += step_v
                if k < 0 or k >= nv:
                    return
            else:
                n += side_w
                next_w += step_w
                if n < 0 or n >= nw:
                    return

    return track


track = tracker(_add)


@kernel
def pour(sums, batch, factor):
    """Add one batch to the sums of powers: sums (5, voxels): of x to x^4, and the largest x; x = batch x factor."""
    for i in range(batch.size):
        x = batch[i] * factor
        x2 = x * x
        sums[0, i] += x
        sums[1, i] += x2
        sums[2, i] += x2 * x
        sums[3, i] += x2 * x2
        sums[4, i] = max(sums[4, i], x)


@kernel
def solids_at(scene, places, out):
    """Number of the solid at each place (n, 3), 0 for the surround."""
    for i in range(out.size):
        out[i] = solid_at(scene, places[i, 0], places[i, 1], places[i, 2])
