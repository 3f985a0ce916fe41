"""What to change when a film is short: time by a factor, offset by a length, and changes tried on what is not seen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from halflayer.radiograph.lines import mean_energy_keV
from halflayer.radiograph.response import FilmResponse, film_response
from halflayer.radiograph.setting import Setting, film_of, source_to_object_m
from halflayer.radiograph.visible import ROSE
from halflayer.technique.ellipse import wanted_opening_m

CLASSES = ("C6", "C5", "C4", "C3", "C2", "C1")  # from the coarsest to the finest
FARTHER = {2.0: "twice the distance", 4.0: "four times the distance"}  # our choice: what is tried
TOO_MUCH = 20.0  # our choice: beyond such a factor it is another exposure, and no number is named


def changes(made: Setting, ratio: Callable[[Setting], float]) -> tuple[str, ...]:
    """Single changes that would bring a detail's signal to five times the noise, tried one by one; all of them where
    none does. `ratio` looks at the detail in a changed setting.
    """
    tries = {
        **{words: _with_spot(made, _blur_farther(made, times)) for times, words in FARTHER.items()},
        "a spot half as wide": _with_spot(made, 0.5),
        "a fifth more exposure": replace(made, decays=made.decays * 1.2),
    }
    film = film_of(made)
    finer = CLASSES[min(CLASSES.index(film.film_class) + 2, len(CLASSES) - 1)] if film else ""
    if film and finer != film.film_class:
        film = film.model_copy(update={"film_class": finer, "gradient_at_2": None})
        energy = mean_energy_keV(made.optics.groups, made.optics.crossed_m)
        tries[f"a film of class {finer}"] = replace(made, response=film_response(film, energy_keV=energy))
    helps = tuple(name for name, changed in tries.items() if ratio(changed) >= ROSE)
    near, far = FARTHER.values()
    if near in helps:  # the smaller change is enough
        helps = tuple(name for name in helps if name != far)
    return helps or tuple(f"{name} is not enough alone" for name in tries)


def _with_spot(made: Setting, share: float) -> Setting:
    """The same exposure from a source of a share of its size, all directions alike."""
    spots = made.optics.view.spots
    middle = spots[:, :3].mean(axis=0)
    small = spots.copy()
    small[:, :3] = middle + share * (spots[:, :3] - middle)
    source = made.source.model_copy(
        update={"diameter_m": made.source.diameter_m * share, "length_m": made.source.length_m * share}
    )
    return replace(
        made, source=source, optics=replace(made.optics, view=made.optics.view._replace(spots=small))
    )


def _blur_farther(made: Setting, times: float) -> float:
    """What is left of the spot's shadow beside a detail, as a share, from so many times as far: d b / (f + b) on the
    object, so (f + b) / (k f + b) (similar triangles). The time that keeps the density is taken for granted.
    """
    b = made.candidate.geometry.object_to_detector_m
    f = source_to_object_m(made)
    return (f + b) / (times * f + b)


def exposure(made: Setting, kerma_Gy: float, density: float) -> str:
    """How much longer or shorter brings a place of a film from its exposure to a density, in words."""
    assert isinstance(made.response, FilmResponse)
    factor = made.response.curve.kerma_Gy(density) / kerma_Gy if kerma_Gy > 0.0 else float("inf")
    words = "longer" if factor > 1.0 else "shorter"
    if not 1.0 / TOO_MUCH <= factor <= TOO_MUCH:
        return f"expose {words}, by more than {TOO_MUCH:.0f} times"
    return f"expose {words}: {factor:.2f} times the time brings {density:.1f} there"


def offset(made: Setting, opening_m: float, apart_m: float) -> str:
    """The shift of the source along the pipe that opens an ellipse as wanted, in words.

    `apart_m` from middle to middle of the two images, which goes with the shift (similar triangles).
    """
    shift = abs(made.candidate.geometry.axial_offset_m)
    wanted = wanted_opening_m(made.weld.cap.width_m)
    words = "a larger offset" if wanted > opening_m else "a smaller offset"
    if not (shift > 0.0 and apart_m > 0.0):
        return words
    return f"{words}: {1e3 * shift * (apart_m + wanted - opening_m) / apart_m:.0f} mm in place of {1e3 * shift:.0f} mm"
