"""One detail of an image, a flaw or a hole, looked at from end to end: its signal against the noise, film by film."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from halflayer.radiograph.digital import DigitalResponse
from halflayer.radiograph.holder import TOLERANCE
from halflayer.radiograph.project import at_places
from halflayer.radiograph.response import FilmResponse
from halflayer.radiograph.scatter import ScatterField
from halflayer.radiograph.setting import Setting, films_of
from halflayer.radiograph.view import Optics
from halflayer.radiograph.visible import Seen, against_noise, held, seen, sharp_view
from halflayer.scene.frame import Vec3

Array = NDArray[np.float64]

LEAST_STEP_M = 1.5e-5  # our choice: finer than any detector shows


@dataclass(frozen=True)
class Detail:
    """A detail in space and its image: what it is called, the size that names it, half its window on the film [m]."""

    label: str
    size_m: float
    at: Vec3
    place: tuple[float, float]
    half_m: tuple[float, float]  # along the pipe and across it, on the film


def magnification(made: Setting, at: Vec3, place: tuple[float, float]) -> float:
    """How much larger than itself a detail is shown."""
    start = np.asarray(made.built.source_at)
    to_object = float(np.linalg.norm(np.asarray(at) - start))
    return float(np.linalg.norm(np.asarray(made.built.film.at(*place)) - start)) / to_object


def look_at(
    made: Setting, field: ScatterField, one: Detail, *, bare: Optics, changed: Optics, samples: int
) -> Seen:
    """How well a detail is seen: its window by `samples` x `samples` places, with it (`changed`) and without.

    Of two films of a holder the one that shows it best in range.
    """
    du, dv = (max(2.0 * h / (samples - 1), LEAST_STEP_M) for h in one.half_m)
    u = one.place[0] + du * (np.arange(samples) - samples // 2)
    v = one.place[1] + dv * (np.arange(samples) - samples // 2)
    places = np.column_stack([np.repeat(u, samples), np.tile(v, samples)])
    shape = (samples, samples)
    without = at_places(bare, places).reshape(shape)
    scattered = float(field.at(np.array([one.place[0]]), np.array([one.place[1]]))[0, 0])
    middle = float(without[samples // 2, samples // 2])
    if not middle > 0.0:
        return seen(one.label, one.size_m, 0.0, 0.0, one.place)
    relative = (at_places(changed, places).reshape(shape) - without) / (without + scattered)
    large = magnification(made, one.at, one.place)
    kerma = (middle + scattered) * made.decays
    sharp = relative * ((without + scattered) / np.maximum(without, 1e-300))

    def on(response: FilmResponse | DigitalResponse) -> Seen:
        unsharp = response.unsharpness_m
        view = sharp_view(changed, magnification=large, unsharpness_m=unsharp)
        clear = sharp
        if view is not changed:
            below = at_places(sharp_view(bare, magnification=large, unsharpness_m=unsharp), places)
            clear = (at_places(view, places) / np.maximum(below, 1e-300) - 1.0).reshape(shape)
        signal = response.signal(kerma, 1.0) * spread_both(relative, du, dv, unsharp)
        wanted = spread_both(clear, du, dv, unsharp)
        ratio = against_noise(signal, wanted, du * dv, response.noise(kerma, 1.0))
        contrast = float(np.max(np.abs(signal)))
        return seen(one.label, one.size_m, contrast, ratio, one.place, least=response.least_contrast)

    first = on(made.response)
    return first if made.partner_response is None else better(made, first, on(made.partner_response), kerma)


def spread_both(image: Array, du: float, dv: float, unsharpness_m: float) -> Array:
    """A small image blurred by the detector's own unsharpness in both directions."""
    rows = np.array([held(r, dv, unsharpness_m) for r in image])
    return np.array([held(c, du, unsharpness_m) for c in rows.T]).T


def better(made: Setting, one: Seen, other: Seen, kerma_Gy: float) -> Seen:
    """A detail on the film of the holder that shows it best, of those that are in range at its place."""
    c = made.candidate
    low, high = c.density_min - TOLERANCE, c.density_max + TOLERANCE
    inside = [
        found
        for found, (_, response) in zip((one, other), films_of(made), strict=True)
        if low <= float(response.density(kerma_Gy)) <= high
    ]
    return max(inside or (one, other), key=lambda s: s.contrast_to_noise)
