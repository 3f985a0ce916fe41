"""One detail of an image, a flaw or a hole, looked at from end to end: its signal against the noise, film by film."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.scatter_field import ScatterField
from halflayer.radiograph.digital import DigitalResponse
from halflayer.radiograph.holder import TOLERANCE
from halflayer.radiograph.project import at_places
from halflayer.radiograph.response import SIGMA_OF_UNSHARPNESS, FilmResponse
from halflayer.radiograph.setting import Setting, films_of
from halflayer.radiograph.view import Optics
from halflayer.radiograph.visible import Seen, against_noise, seen, sharp_view, spread
from halflayer.scene.frame import Vec3

Array = NDArray[np.float64]

LEAST_STEP_M = 1.5e-5  # our choice: finer than any detector shows
NODES = 5  # our choice: places to either direction through which an even background is laid
# Our choice: a background is even where a parabola through every second node meets the others within this share of it;
# what is laid through all nodes is then far nearer (measured: 1e-6).
EVEN = 2e-4


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
    made: Setting,
    field: ScatterField,
    one: Detail,
    *,
    bare: Optics,
    changed: Optics,
    samples: int,
    shadow: Array | None = None,
) -> Seen:
    """How well a detail is seen: its window by `samples` x `samples` places, with it (`changed`) and without.

    `shadow`: corners (n, 2) of the detail's image from every point of the spot; places beyond them are the same with
    it as without, and what is without it is even, so a few places of that are traced. Left out, all are.
    Of two films of a holder the one that shows it best in range.
    """
    du, dv = (max(2.0 * h / (samples - 1), LEAST_STEP_M) for h in one.half_m)
    u = one.place[0] + du * (np.arange(samples, dtype=np.float64) - samples // 2)
    v = one.place[1] + dv * (np.arange(samples, dtype=np.float64) - samples // 2)
    places = np.column_stack([np.repeat(u, samples), np.tile(v, samples)])
    shape, place = (samples, samples), np.array(one.place)
    inside = np.ones(len(places), dtype=bool) if shadow is None else within(places, shadow, max(du, dv))

    def without_it(view: Optics) -> Array:
        even = None if shadow is None else even_background(view, u, v)
        if even is not None:
            return even
        out = at_places(view, place[None]).repeat(len(places))  # what is beyond the shadow is not looked at
        out[inside] = at_places(view, places[inside])
        return out.reshape(shape)

    def with_it(view: Optics, below: Array) -> Array:
        out = below.ravel().copy()
        out[inside] = at_places(view, places[inside])
        return out.reshape(shape)

    without = without_it(bare)
    scattered = float(field.at(np.array([one.place[0]]), np.array([one.place[1]]))[0, 0])
    middle = float(without[samples // 2, samples // 2])
    if not middle > 0.0:
        return seen(one.label, one.size_m, 0.0, 0.0, one.place)
    relative = (with_it(changed, without) - without) / (without + scattered)
    large = magnification(made, one.at, one.place)
    kerma = (middle + scattered) * made.decays
    sharp = relative * ((without + scattered) / np.maximum(without, 1e-300))

    def on(response: FilmResponse | DigitalResponse) -> Seen:
        unsharp = response.unsharpness_m
        view = sharp_view(changed, magnification=large, unsharpness_m=unsharp)
        clear = sharp
        if view is not changed:
            below = without_it(sharp_view(bare, magnification=large, unsharpness_m=unsharp))
            clear = with_it(view, below) / np.maximum(below, 1e-300) - 1.0
        signal = response.signal(kerma, 1.0) * spread_both(relative, du, dv, unsharp)
        wanted = spread_both(clear, du, dv, unsharp)
        ratio = against_noise(signal, wanted, du * dv, response.noise(kerma, 1.0))
        contrast = float(np.max(np.abs(signal)))
        return seen(one.label, one.size_m, contrast, ratio, one.place, least=response.least_contrast)

    first = on(made.response)
    return first if made.partner_response is None else better(made, first, on(made.partner_response), kerma)


def within(places: Array, corners: Array, room_m: float) -> NDArray[np.bool_]:
    """Places (n, 2) not farther out than the corners (m, 2) in any of eight directions, with room: (n,)."""
    turn = np.arange(8) * (np.pi / 4.0)
    way = np.array([np.cos(turn), np.sin(turn)])
    return np.asarray((places @ way <= (corners @ way).max(axis=0) + room_m).all(axis=1))


def even_background(optics: Optics, u: Array, v: Array) -> Array | None:
    """Kerma per decay over a grid (len(u), len(v)), its logarithm a polynomial through `NODES` x `NODES` places.

    None where it is not even: an edge or a kink runs through, or something is unlit.
    """
    picked = [np.round(np.linspace(0, len(x) - 1, NODES)).astype(int) for x in (u, v)]
    at_u, at_v = u[picked[0]], v[picked[1]]
    places = np.column_stack([np.repeat(at_u, NODES), np.tile(at_v, NODES)])
    kerma = at_places(optics, places).reshape(NODES, NODES)
    if not (kerma > 0.0).all():
        return None
    log = np.log(kerma)
    few = _through(at_u[::2], at_u) @ log[::2, ::2] @ _through(at_v[::2], at_v).T
    if np.abs(few - log).max() > EVEN:
        return None
    out: Array = np.exp(_through(at_u, u) @ log @ _through(at_v, v).T)
    return out


def _through(nodes: Array, x: Array) -> Array:
    """Weights (len(x), len(nodes)) of the polynomial through values at nodes (Lagrange)."""
    out = np.ones((len(x), len(nodes)))
    for k, here in enumerate(nodes):
        for other in np.delete(nodes, k):
            out[:, k] *= (x - other) / (here - other)
    return out


def spread_both(image: Array, du: float, dv: float, unsharpness_m: float) -> Array:
    """A small image blurred by the detector's own unsharpness in both directions, its edge values going on."""
    out: Array = _blur(image.shape[0], du, unsharpness_m) @ image @ _blur(image.shape[1], dv, unsharpness_m).T
    return out


@lru_cache(maxsize=64)
def _blur(count: int, step_m: float, unsharpness_m: float) -> Array:
    """What `visible.held` does to a profile of so many places, as a matrix."""
    pad = math.ceil(4.0 * unsharpness_m * SIGMA_OF_UNSHARPNESS / step_m) + 1
    going_on = np.clip(np.arange(count + 2 * pad) - pad, 0, count - 1)
    padded = np.eye(count)[going_on]
    return np.array([spread(c, step_m, unsharpness_m)[pad:-pad] for c in padded.T]).T


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
