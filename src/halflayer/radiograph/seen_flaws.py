"""The chance that each flaw of an order is found on a film: its image with and without it, against the noise."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.scatter_field import ScatterField
from halflayer.physics import photons
from halflayer.radiograph import surface
from halflayer.radiograph.details import Detail, look_at, magnification
from halflayer.radiograph.flaws import (
    Placed,
    dented,
    flaw_solids,
    half_sizes_m,
    image_place,
    placed,
    reach_m,
)
from halflayer.radiograph.setting import Setting
from halflayer.radiograph.view import Optics
from halflayer.radiograph.visible import Seen, seen
from halflayer.scene.trace import materials_of
from halflayer.technique.wire_sets import WIRE_SEEN_M

Array = NDArray[np.float64]

SAMPLES = 41  # our choice: places to either direction over the image of a flaw


def seen_flaws(made: Setting, field: ScatterField) -> tuple[Seen, ...]:
    """How well each flaw of the weld is seen on this exposure; one whose image misses the film has no chance.

    Of a long flaw 10 mm are looked at, as of a wire. The reading around it is that of a smooth weld: ripples of
    the cap, which hide small flaws in it, are not in the figure, so it is a chance at best.
    """
    found = placed(made.weld)
    if not found:
        return ()
    bare = replace(made.optics, scene=made.bare)
    out = []
    for one, sizes in zip(found, half_sizes_m(found), strict=True):
        place = image_place(one, made.built)
        if place is None:
            out.append(seen(one.label, _size(one), 0.0, 0.0, (0.0, 0.0)))
            continue
        out.append(_seen(made, field, one, sizes, place, bare))
    return tuple(out)


def _size(one: Placed) -> float:
    """What a flaw is named by [m]: depth or height where it has one, else its diameter."""
    return one.flaw.height_m if one.flaw.height_m is not None else one.flaw.width_m


def _seen(
    made: Setting,
    field: ScatterField,
    one: Placed,
    sizes: tuple[float, float],
    place: tuple[float, float],
    bare: Optics,
) -> Seen:
    large = magnification(made, one.at, place)
    spot = float(np.ptp(made.optics.view.spots[:, :3], axis=0).max())
    margin = spot * (large - 1.0) + 1.2 * made.response.unsharpness_m + 2e-4
    along, across = (min(s, WIRE_SEEN_M / 2) * large + margin for s in sizes)
    detail = Detail(one.label, _size(one), one.at, place, (along, across))
    return look_at(made, field, detail, bare=bare, changed=_with(made, one), samples=SAMPLES)


def _with(made: Setting, one: Placed) -> Optics:
    """The smooth weld with one flaw in it."""
    solids = tuple(s for s in flaw_solids(made.order, made.weld) if s.name == f"flaw {one.number}")
    optics = replace(made.optics, scene=replace(made.bare, solids=(*made.bare.solids, *solids)))
    reach = reach_m(made.weld)
    if solids or not reach:
        return _same_materials(optics, made)
    maps = dented(surface.flat_maps(made.weld, reach_m=reach), made.weld, only=one.number)
    skin = np.array([made.weld.pipe.od / 2, made.weld.pipe.bore / 2, maps.half_m])
    return replace(optics, view=optics.view._replace(skin=skin, outer=maps.outer, inner=maps.inner))


def _same_materials(optics: Optics, made: Setting) -> Optics:
    """Attenuation rows for what the flaw brings new (tungsten, slag), at the mean energies of the groups."""
    materials = materials_of(optics.scene)
    known = materials_of(made.bare)
    assert materials[: len(known)] == known  # painted last, so new ones come last
    more = [photons.mu_per_m(m, made.optics.groups.energy_keV) for m in materials[len(known) :]]
    mu = np.vstack([optics.view.mu[: len(known)], *more])
    return replace(optics, view=optics.view._replace(mu=np.ascontiguousarray(mu)))
