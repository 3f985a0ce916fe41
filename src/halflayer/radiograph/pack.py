"""The film pack where scatter is computed: strips of it under a bent film, and what it makes of the primary itself."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from halflayer.order.equipment import Screens
from halflayer.order.models import Order
from halflayer.physics.materials import material
from halflayer.scene.film_pack import BASE_M
from halflayer.scene.film_surface import FilmSurface
from halflayer.scene.frame import Vec3, add, scaled
from halflayer.scene.matter import order_material
from halflayer.scene.solids import Box, Scene, Solid

Array = NDArray[np.float64]

BATCHES = 2  # our choice: 0.1 % of the primary (measured)
FAR_M, HALF_M, PATCH_M = (
    0.6,
    0.05,
    0.05,
)  # our choice: a source well off a piece of pack, scored in its middle
ROOM_M = 0.002  # our choice: a strip is so much wider than the patch on it


def layers(
    order: Order, screens: Screens, centre: Vec3, normal: Vec3, along: Vec3, size: Vec3
) -> list[Solid]:
    """A flat pack about a place of the emulsion; `size` along the pipe and across it, and a number for its names [m].

    `normal` points towards the source; the emulsion is the front of the film's base.
    """
    across = tuple(np.cross(normal, along))
    out: list[Solid] = []
    above = screens.front_m
    for name, matter, thick in (
        ("front screen", screens.material, screens.front_m),
        ("film", "polyester", BASE_M),
        ("back screen", screens.material, screens.back_m),
        ("backing lead", "lead", screens.backing_lead_m),
    ):
        if thick > 0.0:
            middle = add(centre, scaled(normal, above - thick / 2))
            box = Box(
                f"{name} {size[2]:g}",
                middle,
                (size[0], size[1], thick),
                order_material(order, matter),
                (along, across, normal),
            )
            out.append(box)
        above -= thick
    return out


def strips(
    order: Order, screens: Screens, film: FilmSurface, stations: Sequence[float], width_m: float
) -> tuple[Solid, ...]:
    """A flat strip of pack under each station [m] round a bent film that does not close: solids of rings would shield
    what comes from outside.
    """
    out: list[Solid] = []
    for n, v in enumerate(stations):
        size = (film.width_m, width_m + ROOM_M, float(n))
        out += layers(order, screens, film.at(0.0, float(v)), film.normal_at(float(v)), film.along, size)
    return tuple(out)


def gain(order: Order, screens: Screens, lines: tuple[Array, Array], *, seed: int) -> float:
    """Kerma that screens and backing lead make of the primary itself at the emulsion, as a share of it.

    It is in a film's dose figure already (air kerma free in air for a density, screens included), so it is no scatter.
    `lines` is the primary behind the weld, energies [keV] and photons; flat pack, square to the beam.
    """
    from halflayer.transport.problem import AreaScore, PointSource, Problem
    from halflayer.transport.run import transport

    if not (screens.front_m or screens.back_m or screens.backing_lead_m):
        return 0.0
    up, along = (0.0, 0.0, 1.0), (1.0, 0.0, 0.0)
    pack = layers(order, screens, (0.0, 0.0, 0.0), up, along, (2 * HALF_M, 2 * HALF_M, 0.0))
    source = PointSource(
        at=(0.0, 0.0, FAR_M),
        energies_keV=tuple(float(e) for e in lines[0]),
        photons_per_decay=tuple(float(y) for y in lines[1]),
        activity_Bq=1.0,
        aim=(0.0, 0.0, -1.0),
        half_angle_rad=math.atan(HALF_M / FAR_M),
    )
    score = AreaScore("middle", (0.0, 0.0, 0.0), up, (PATCH_M, PATCH_M), along)
    found = transport(
        Problem(Scene(tuple(pack), material("air")), (source,), (score,)), seed=seed, batches=BATCHES
    )
    (reading,) = found.readings
    return reading.air_kerma_rate_Gy_s / reading.uncollided_kerma_Gy_s - 1.0
