"""Rays that a leaking head sends straight to a place are cast by chance where they promise little (our rule).

That the mean stays is held in `test_each_trick` (the head, gates alone).
"""

from __future__ import annotations

from halflayer.physics.materials import material
from halflayer.scene.solids import Box, Scene
from halflayer.transport import layout as k
from halflayer.transport.pilot import Learned
from halflayer.transport.problem import LeakageSource, PointScore, Problem
from halflayer.transport.run import Run, _batch

HEAD = LeakageSource((0, 0, 0), (300.0,), (1.0,), size_m=(0.1, 0.1, 0.1), h10_1m_Sv_s=1e-8)
PLATE = Scene((Box("plate", (0.3, 0, 0), (0.02, 0.5, 0.5), material("lead")),), material("vacuum"))
PLACES = (PointScore("open", (-1.0, 0.0, 0.0)), PointScore("shut", (1.0, 0.0, 0.0)))


def rays(learned: Learned) -> float:
    """Scoring rays of a history."""
    groups = 32
    tally = _batch(learned.for_source(0), 5, 0, 0, groups)
    return float(tally.counts[k.SCORING_RAYS]) / (groups * learned.group[0])


def test_a_ray_through_a_shield_to_a_place_that_sees_more_otherwise_is_seldom_cast() -> None:
    learned = Run(Problem(PLATE, (HEAD,), PLACES), 1).learned
    gate = [r.copy() for r in learned.rows]
    for r in learned.rows:
        assert (r[:, k.GATE] > 0.0).all()
    reach = learned.reach[0].reshape(len(PLACES), -1, k.BANDS)
    assert (reach[0, -1] == 1.0).all(), "nothing lies before the open place"
    assert reach[1, -1].min() < 0.1, (
        "20 mm of lead at 300 keV (nine mean free paths, XCOM) let next to nothing through"
    )
    cast = rays(learned)
    for r in learned.rows:
        r[:, k.GATE] = 0.0
    all_cast = rays(learned)
    for r, g in zip(learned.rows, gate, strict=True):
        r[:] = g
    assert cast < 0.8 * all_cast
