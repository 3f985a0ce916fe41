"""Where a photon collides next: in matter, in the solids that matter to the scores more often, deep enough."""

from __future__ import annotations

import numpy as np

from halflayer.scene.compiled import compiled, inlined

_EIGHTHS = np.exp(-np.arange(480) / 8.0)
# Beyond this depth along a flight nothing is looked for (e^-25 of it arrives).
_BLACK = 25.0
# Stretches that begin deeper than this along a flight are looked at by a photon of their own (our choice).
FAR = 1.0


@inlined
def fading(t):
    """About exp(-t), never less: 1 / (1 + t + t2/2 + t3/6 + t4/24). For choices only, never for weights."""
    return 1.0 / (1.0 + t * (1.0 + t * (0.5 + t * (1.0 / 6.0 + t * (1.0 / 24.0)))))


@inlined
def left_after(t):
    """exp(-t) for t >= 0 to 1e-10 of itself, 0 beyond 60: a table in eighths and a series (no library call)."""
    k = int(t * 8.0)
    if k >= 480:
        return 0.0
    r = k * 0.125 - t
    return _EIGHTHS[k] * (
        1.0
        + r * (1.0 + r * (0.5 + r * (1.0 / 6.0 + r * (1.0 / 24.0 + r * (1.0 / 120.0 + r * (1.0 / 720.0))))))
    )


@compiled
def lay_out(grid, material, worth, end, solid, tau, m, i, f):
    """Depths tau[j] at the ends of the m stretches of a flight, and two running sums over the stretches.

    tau[m + j]: share of photons that collide up to the end of stretch j; tau[2 m + j]: the same, each stretch
    times the worth of a collision in its solid. Returns how many stretches to look at.
    """
    total = 0.0
    left = 1.0
    run = 0.0
    at = 0.0
    seen = 0
    for j in range(m):
        k = 2 + material[solid[j]]
        a = grid[i, k]
        step = (a + f * (grid[i + 1, k] - a)) * (end[j] - at)
        at = end[j]
        after = left * fading(step)
        total += step
        run += (left - after) * worth[solid[j]]
        left = after
        tau[j] = total
        tau[m + j] = 1.0 - left
        tau[2 * m + j] = run
        seen = j + 1
        if total > _BLACK:
            break
    return seen


@compiled
def beyond(tau, seen):
    """The first stretch of a flight that begins deeper than `FAR`; `seen` if there is none."""
    for j in range(1, seen):
        if tau[j - 1] >= FAR:
            return j
    return seen


@compiled
def choose(tau, m, first, end, u, steep):
    """Depth of the next collision among the stretches first ... end - 1 of a flight, its stretch, and its weight.

    The stretch is chosen half by the share of photons that collide there and half by that share times worth, so
    that no weight more than doubles by it. Inside it, over its depth D, the depth t has the density
    (1 + b D) / (D (1 + b t)^2), which is between even (b = 0) and about exponential (b = 1): scoring rays from
    the far side of a shield are worth as much as those from the near side, and an exponential law would hardly
    start there. The weight is exact: exp(-depth) over the density with which it was chosen. u serves all
    choices; steep is b.
    """
    share_0 = tau[m + first - 1] if first > 0 else 0.0
    worth_0 = tau[2 * m + first - 1] if first > 0 else 0.0
    per_share = 0.5 / (tau[m + end - 1] - share_0)
    per_worth = 0.5 / (tau[2 * m + end - 1] - worth_0)
    j = first
    while j < end - 1 and (tau[m + j] - share_0) * per_share + (tau[2 * m + j] - worth_0) * per_worth < u:
        j += 1
    low = 0.0
    if j > first:
        low = (tau[m + j - 1] - share_0) * per_share + (tau[2 * m + j - 1] - worth_0) * per_worth
    part = (tau[m + j] - share_0) * per_share + (tau[2 * m + j] - worth_0) * per_worth - low
    v = min(max((u - low) / part, 0.0), 1.0)
    before = tau[j - 1] if j > 0 else 0.0
    step = min(tau[j] - before, _BLACK)
    whole = 1.0 + steep * step
    t = v * step / (1.0 + steep * step * (1.0 - v))
    bend = 1.0 + steep * t
    return before + t, j, left_after(before + t) * step * bend * bend / (whole * part)
