"""Exposures for tests of the predicted image: small orders with a wire indicator, and plain views made by hand."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from exposure_cases import MOMENT, built, candidate, order
from halflayer.exposure.scatter_field import ScatterField
from halflayer.exposure.time import expose
from halflayer.order.models import Order
from halflayer.physics.materials import material
from halflayer.radiograph.kernels import FLAT, OPEN, View
from halflayer.radiograph.lines import LineGroups
from halflayer.radiograph.setting import Indicator, Setting, setting, weld_index
from halflayer.radiograph.view import Optics
from halflayer.scene.build import Built
from halflayer.scene.solids import Scene, Solid
from halflayer.scene.trace import materials_of
from halflayer.technique.result import Candidate, Iqi


def wire_iqi(required: str = "W13", position: str = "source side") -> Iqi:
    """A set of wires about the required one."""
    return Iqi("wire", f"{required} (10 FE EN)", required, 2e-4, position, "test", 1)


def way(
    made: Order,
    arrangement: str = "over",
    *,
    required: str = "W13",
    position: str = "source side",
    **facts: Any,
) -> tuple[Candidate, Built]:
    """A candidate with an indicator and the scene of its first shot."""
    c = replace(candidate(made, arrangement, **facts), iqi=wire_iqi(required, position))
    return c, built(made, c)[0]


def set_up(
    made: Order | None = None,
    arrangement: str = "over",
    *,
    seconds: float = 120.0,
    spots: int = 24,
    **facts: Any,
) -> Setting:
    """An exposure ready for prediction: by default in plane on a 60.3 x 5.5 mm pipe with Se-75."""
    made = made or order()
    c, scene = way(made, arrangement, **facts)
    return setting(
        made,
        made.welds[0],
        c,
        c.shots[0],
        scene,
        activity_Bq=made.sources[0].activity_Bq,
        seconds=seconds,
        spots=spots,
    )


def timed(made: Order, c: Candidate, *, batches: int = 4) -> tuple[float, float]:
    """Seconds of the first shot for the wanted density and the activity."""
    exposure = expose(made, made.welds[0], c, built(made, c), moment=MOMENT, batches=batches)
    seconds, activity = exposure.shots[0].seconds.value, exposure.activity.value
    assert isinstance(seconds, float) and isinstance(activity, float)
    return seconds, activity


def plain_optics(
    solids: tuple[Solid, ...], spots: np.ndarray, *, film_z_m: float = 0.0, mu_per_m: float = 1e4
) -> Optics:
    """A flat film at z = `film_z_m` facing up, one energy, one attenuation for all matter, none for the surround."""
    scene = Scene(solids, material("vacuum"))
    n = len(materials_of(scene))
    mu = np.full((n, 1), mu_per_m)
    mu[0] = 0.0
    film = np.array([FLAT, 0, 0, film_z_m, 1, 0, 0, 0, 1, 0, 0, 0, 1, 0.0], dtype=np.float64)
    flat = np.zeros((2, 2))
    view = View(
        film,
        np.array([OPEN, 0, 0, 0, *spots[:, :3].mean(axis=0), 0, 0, -1, 1e-9], dtype=np.float64),
        np.array([1.0, 0.0, 0.0]),
        spots,
        mu,
        np.ones(1),
        np.zeros(3),
        flat,
        flat,
        np.zeros(1),
        np.zeros(1),
    )
    groups = LineGroups(mu, np.ones(1), np.array([300.0]))
    at = spots[:, :3].mean(axis=0)
    return Optics(scene, view, groups, np.zeros(n), (float(at[0]), float(at[1]), float(at[2])))


def per_decay(made: Order, c: Candidate, scene: Built, indicator: Indicator | None) -> tuple[Setting, int]:
    """The first exposure for one decay, with an indicator, and the film point that stands for the weld."""
    one = setting(
        made,
        made.welds[0],
        c,
        c.shots[0],
        scene,
        activity_Bq=1.0,
        seconds=1.0,
        spots=14,
        indicator=indicator,
    )
    at = weld_index(one)
    assert at is not None
    return one, at


def laid(
    arrangement: str = "over",
    *,
    indicator: Indicator | None = "holes",
    position: str = "source side",
    od_m: float = 0.0603,
    density: float = 2.5,
    iqi: Any = None,
    made: Order | None = None,
    **facts: Any,
) -> tuple[Setting, ScatterField]:
    """An exposure with plates, to a density behind the weld, scatter 0.7 of the primary."""
    made = made or order(od_m=od_m)
    c = replace(candidate(made, arrangement, **facts), iqi=iqi or wire_iqi("W13", position))
    scene = built(made, c)[0]
    one, at = per_decay(made, c, scene, indicator)
    field = ScatterField.even(0.7 * float(one.kerma[at]))
    kerma = one.response.curve.kerma_Gy(density)  # type: ignore[union-attr]
    return replace(one, decays=kerma / (1.7 * float(one.kerma[at]))), field
