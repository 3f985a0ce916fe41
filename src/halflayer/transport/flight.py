"""Where a photon collides next: in matter, in the solids that matter to the scores more often, deep enough."""

from __future__ import annotations

import math

from halflayer.scene.compiled import compiled, inlined

# Depth to which the collisions of one stretch are spread evenly.
_DEEPEST = 20.0
# Beyond this depth along a flight nothing is looked for (e^-25 of it arrives).
_BLACK = 25.0


@inlined
def fading(t):
    """About exp(-t), never less: 1 / (1 + t + t2/2 + t3/6 + t4/24). For choices only, never for weights."""
    return 1.0 / (1.0 + t * (1.0 + t * (0.5 + t * (1.0 / 6.0 + t / 24.0))))


@compiled
def lay_out(grid, columns, material, worth, end, solid, tau, m, i, f):
    """Depths tau at the ends of the m stretches of a flight, and running worth of colliding up to there.

    tau[j]: optical depth at the end of stretch j; tau[m + j]: sum up to it of (share of photons that collide
    in the stretch) x (worth of a collision in its solid). Returns how many stretches to look at.
    """
    total = 0.0
    left = 1.0
    run = 0.0
    at = 0.0
    seen = 0
    for j in range(m):
        k = i * columns + 2 + material[solid[j]]
        a = grid[k]
        step = (a + f * (grid[k + columns] - a)) * (end[j] - at)
        at = end[j]
        after = left * fading(step)
        total += step
        tau[j] = total
        run += (left - after) * worth[solid[j]]
        tau[m + j] = run
        left = after
        seen = j + 1
        if total > _BLACK:
            break
    return seen


@compiled
def choose(tau, m, seen, u, share):
    """Depth of the next collision along a flight laid out by `lay_out`, its stretch, and its weight.

    The stretch is chosen by worth. Inside it the depth follows the exponential law, in a `share` of cases (if
    the stretch is longer than one mean free path) it is spread evenly instead: scoring rays from the far side of
    a shield are worth as much as those from the near side, and an exponential law would hardly start there.
    The weight is exact: exp(-depth) over the density with which it was chosen. u is used for all choices.
    """
    total = tau[m + seen - 1]
    want = u * total
    j = 0
    while j < seen - 1 and tau[m + j] < want:
        j += 1
    low = tau[m + j - 1] if j > 0 else 0.0
    chance = (tau[m + j] - low) / total
    v = min(max((want - low) / (tau[m + j] - low), 0.0), 1.0 - 1e-15)
    before = tau[j - 1] if j > 0 else 0.0
    step = tau[j] - before
    if step < 1.0:
        share = 0.0
    lost = -math.expm1(-step)
    top = min(step, _DEEPEST)
    if v < share:
        t = v / share * top
        left = math.exp(-t)
    else:
        left = 1.0 - (v - share) / (1.0 - share) * lost
        t = min(-math.log(left), step)
    density = (1.0 - share) * left / lost
    if t < top:
        density += share / top
    return before + t, j, math.exp(-before) * left / (density * chance)
