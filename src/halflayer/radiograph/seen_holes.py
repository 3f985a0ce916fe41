"""How well the holes of an indicator of plates are seen, step by step."""

from __future__ import annotations

from dataclasses import replace

from halflayer.exposure.paths import film_hit
from halflayer.radiograph.details import Detail, look_at, magnification
from halflayer.radiograph.response import SIGMA_OF_UNSHARPNESS
from halflayer.radiograph.scatter import ScatterField
from halflayer.radiograph.setting import Setting
from halflayer.radiograph.surface import Surfaces
from halflayer.radiograph.visible import Seen, seen

SAMPLES = 31  # our choice: places to either direction over the image of a hole
SPOTS = 14  # our choice: points of the spot, as in the quick prediction


def seen_holes(made: Setting, field: ScatterField) -> tuple[Seen, ...]:
    """How well each step (or each hole of a plaque) is seen, thickest first; of two holes the one seen less.

    The criterion is that of `visible`, the area that of the hole's image: a hole is looked for on its plate, which is
    compared with the same plate not drilled.
    """
    if made.plates is None:
        return ()
    few = made.with_surfaces(Surfaces.plain(), SPOTS)
    solids = tuple(s for s in made.optics.scene.solids if not s.name.startswith("wire "))
    drilled = replace(few, scene=replace(made.optics.scene, solids=solids))
    whole = tuple(s for s in solids if not s.name.startswith("hole "))
    undrilled = replace(few, scene=replace(made.optics.scene, solids=whole))
    film = made.built.film
    worst: dict[str, Seen] = {}
    for hole in made.plates.holes:
        hit = film_hit(film, made.built.source_at, hole.at)
        if hit is None or abs(hit[0]) > film.width_m / 2 or abs(hit[1]) > film.length_m / 2:
            found = seen(hole.designation, hole.diameter_m, 0.0, 0.0, (0.0, 0.0))
        else:
            large = magnification(made, hole.at, hit)
            unsharp = made.response.unsharpness_m
            half = 0.7 * (hole.diameter_m * large + unsharp) + 4.0 * unsharp * SIGMA_OF_UNSHARPNESS
            detail = Detail(hole.designation, hole.diameter_m, hole.at, hit, (half, half))
            found = look_at(made, field, detail, bare=undrilled, changed=drilled, samples=SAMPLES)
        before = worst.get(hole.designation)
        if before is None or found.contrast_to_noise < before.contrast_to_noise:
            worst[hole.designation] = found
    return tuple(sorted(worst.values(), key=lambda s: -s.size_m))
