"""What an eye finds on a film: signal of a wire or a flaw against grain, and the criterion that decides.

Criterion: A. Rose, "The sensitivity performance of the human eye on an absolute scale", J. Opt. Soc. Am. 38 (1948)
196: a detail is found when its signal, taken over its own area, is about five times the noise of that area
(Rose's k of 5). The area of a wire is 10 mm of its length, which is what must be seen of it, times the width of
its image; the sum is weighted by the profile of the image that is looked for. That is the image as sharp as
the detector makes it: a shadow of the focal spot wider than the detector's own unsharpness only takes signal
out of it, and does not widen what is looked for, since a reader looks for a wire and not for a broad shade
(our choice; where the shadow is no wider it is the plain matched filter). A detail so blurred that hardly any
contrast is left is lost all the same: on a film it must reach about one per cent of the light beside it
(H. R. Blackwell, J. Opt. Soc. Am. 36 (1946) 624, from memory, unverified), a density difference of 0.0043; a
digital picture can be steepened and has no such floor. Around the criterion the answer is a chance: 1/2 at 5,
and the standard normal distribution of (k - 5) besides, an observer's scatter of one standard deviation
(signal detection theory; our choice of width).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.paths import film_hit
from halflayer.radiograph.bodies import Wire
from halflayer.radiograph.project import at_places
from halflayer.radiograph.response import SIGMA_OF_UNSHARPNESS
from halflayer.radiograph.view import Optics
from halflayer.scene.build import Built
from halflayer.scene.frame import Vec3, about_x
from halflayer.scene.solids import Scene
from halflayer.technique.wire_sets import WIRE_SEEN_M

Array = NDArray[np.float64]

ROSE = 5.0
LEAST_CONTRAST = math.log10(1.01)  # of the eye, as a density difference
BESIDE_CAP_M = 0.006  # our choice: wires are judged on the wall, so far from the cap's foot
PROFILE_POINTS, FEW_OF = 81, 8  # our choice: samples across a wire's image, of which so few without it


class Response(Protocol):
    """What a detector must answer here (`response.FilmResponse`, `digital.DigitalResponse`)."""

    @property
    def unsharpness_m(self) -> float: ...  # noqa: D102

    @property
    def least_contrast(self) -> float: ...  # noqa: D102

    def signal(self, kerma_Gy: float, relative: float) -> float:
        """Difference of the reading for a small relative difference of kerma."""
        ...

    def noise(self, kerma_Gy: float, area_m2: float) -> float:
        """Standard deviation of the reading taken over an area."""
        ...


@dataclass(frozen=True)
class Seen:
    """How well one detail is seen. `contrast`: largest difference of the reading (density, or relative grey)."""

    name: str
    size_m: float
    contrast: float
    contrast_to_noise: float
    visible: bool
    chance: float
    u_m: float
    v_m: float


def chance(contrast_to_noise: float) -> float:
    """Chance that a detail is found at a ratio of signal to noise.

    >>> round(chance(ROSE), 3)
    0.5
    """
    return 0.5 * math.erfc((ROSE - contrast_to_noise) / math.sqrt(2.0))


def seen(
    name: str,
    size_m: float,
    contrast: float,
    ratio: float,
    place: tuple[float, float],
    *,
    least: float = LEAST_CONTRAST,
) -> Seen:
    """A detail with its verdict: `ratio` of signal to noise, and at least the contrast `least`."""
    works_like = min(ratio, ROSE * contrast / least) if least > 0.0 else ratio
    return Seen(name, size_m, contrast, ratio, works_like >= ROSE, chance(works_like), *place)


def spread(profile: Array, step_m: float, unsharpness_m: float) -> Array:
    """A profile blurred by the detector's own unsharpness; ends are taken as zero."""
    sigma = unsharpness_m * SIGMA_OF_UNSHARPNESS
    if sigma < 0.1 * step_m:
        return profile
    n = math.ceil(4.0 * sigma / step_m)
    x = np.arange(-n, n + 1) * step_m
    bell = np.exp(-0.5 * (x / sigma) ** 2)
    out: Array = np.convolve(profile, bell / bell.sum(), mode="same")
    return out


def wire_place(wire: Wire, built: Built, cap_width_m: float) -> tuple[Vec3, tuple[float, float]] | None:
    """A point of a wire over the wall beside the cap, and its image (u, v); None when it misses the film.

    Of the two sides the one whose image lies nearer to the middle of the sheet.
    """
    found = []
    beside = min(cap_width_m / 2 + BESIDE_CAP_M, wire.length_m / 2)
    for x in (-beside, beside):
        point = about_x((x, 0.0, wire.radius_m), wire.clock_rad)
        hit = film_hit(built.film, built.source_at, point)
        if hit is not None:
            found.append((abs(hit[0]), point, hit))
    if not found:
        return None
    _, point, hit = min(found, key=lambda f: f[0])
    return point, hit


def sharp_view(optics: Optics, *, magnification: float, unsharpness_m: float) -> Optics:
    """The same exposure from a spot whose shadow is no wider than the detector's own unsharpness.

    `magnification` is that of the detail looked at; the very same view where its spot is as small already.
    """
    spots = optics.view.spots
    shadow = float(np.ptp(spots[:, :3], axis=0).max()) * (magnification - 1.0)
    if shadow <= unsharpness_m:
        return optics
    middle = spots[:, :3].mean(axis=0)
    small = spots.copy()
    small[:, :3] = middle + (unsharpness_m / shadow) * (small[:, :3] - middle)
    return replace(optics, view=optics.view._replace(spots=small))


def against_noise(signal: Array, wanted: Array, area_m2: float, noise_m: float) -> float:
    """Signal to noise of an image seen through the image that is looked for, sampled every `area_m2`.

    sum(s w) sqrt(a) / (n sqrt(sum(w^2))), n the noise of one square metre: with s = w the matched filter.
    """
    size = float(np.sum(wanted * wanted))
    if not (size > 0.0 and noise_m > 0.0):
        return 0.0
    return max(float(np.sum(signal * wanted)), 0.0) * math.sqrt(area_m2 / size) / noise_m


def wire_profile(
    optics: Optics, bare: Scene, wire: Wire, built: Built, cap_width_m: float, unsharpness_m: float
) -> tuple[Array, Array, Array, Array, tuple[float, float]] | None:
    """Across the image of a wire: places [m], kerma with and without wires [Gy per decay], the relative loss of
    kerma as sharp as the detector allows, and the middle (u, v).

    None when the wire's image does not fall on the film or nothing reaches it.
    """
    place = wire_place(wire, built, cap_width_m)
    if place is None:
        return None
    point, (u, v) = place
    film = built.film
    if abs(u) > film.width_m / 2 or abs(v) > film.length_m / 2:
        return None
    start = np.asarray(built.source_at)
    to_object = float(np.linalg.norm(np.asarray(point) - start))
    to_film = float(np.linalg.norm(np.asarray(film.at(u, v)) - start))
    large = to_film / to_object
    # the image that is looked for, and so far past it as the detector spreads
    half = 0.7 * (wire.diameter_m * large + unsharpness_m) + 4.0 * unsharpness_m * SIGMA_OF_UNSHARPNESS
    t = np.linspace(-half, half, PROFILE_POINTS)
    at = np.column_stack([np.full_like(t, u), v + t])
    plain = replace(optics, scene=bare)
    with_wire, without = at_places(optics, at), _smooth(plain, at)
    if not without[PROFILE_POINTS // 2] > 0.0:
        return None
    view = sharp_view(optics, magnification=large, unsharpness_m=unsharpness_m)
    if view is optics:
        sharp = 1.0 - with_wire / np.maximum(without, 1e-300)
    else:
        below = _smooth(replace(view, scene=bare), at)
        sharp = 1.0 - at_places(view, at) / np.maximum(below, 1e-300)
    return t, with_wire, without, sharp, (u, v)


def _smooth(optics: Optics, at: Array) -> Array:
    """Kerma without wires across one: smooth over so short a way, so a few places are traced and the rest read
    between them."""
    few = np.arange(0, PROFILE_POINTS, FEW_OF)
    return np.interp(np.arange(PROFILE_POINTS), few, at_places(optics, at[few]))


def wires_seen(
    wires: Sequence[Wire],
    optics: Optics,
    bare: Scene,
    built: Built,
    *,
    cap_width_m: float,
    responses: Sequence[Response],
    exposure: float,
    scattered_at: Array,
) -> tuple[tuple[Seen, ...], ...]:
    """How well each wire is seen on the wall beside the weld, thickest first, by each detector of the holder.

    `bare` is the scene without wires, with the same materials; `exposure` the decays (activity x seconds);
    `scattered_at` (wires,) the scattered kerma per decay at each wire's image [Gy]. A wire whose image falls
    beside the film or the beam is not visible. The detectors are of about the same unsharpness.
    """
    out: list[list[Seen]] = [[] for _ in responses]
    for wire, scattered in zip(wires, scattered_at, strict=True):
        got = wire_profile(optics, bare, wire, built, cap_width_m, responses[0].unsharpness_m)
        for found, response in zip(out, responses, strict=True):
            if got is None:
                found.append(seen(wire.designation, wire.diameter_m, 0.0, 0.0, (0.0, 0.0)))
            else:
                found.append(_wire_seen(wire, got, response, float(scattered), exposure))
    return tuple(tuple(found) for found in out)


def _wire_seen(
    wire: Wire,
    profile: tuple[Array, Array, Array, Array, tuple[float, float]],
    response: Response,
    scattered: float,
    exposure: float,
) -> Seen:
    t, with_wire, without, sharp, place = profile
    kerma = (float(without[len(t) // 2]) + scattered) * exposure
    step = float(t[1] - t[0])
    relative = (without - with_wire) / (without + scattered)
    # small differences: proportional
    signal = response.signal(kerma, 1.0) * held(relative, step, response.unsharpness_m)
    wanted = held(sharp, step, response.unsharpness_m)
    # over one square metre: the noise falls with the root of the area
    ratio = against_noise(signal, wanted, step * WIRE_SEEN_M, response.noise(kerma, 1.0))
    contrast = float(np.max(np.abs(signal)))
    return seen(wire.designation, wire.diameter_m, contrast, ratio, place, least=response.least_contrast)


def held(profile: Array, step_m: float, unsharpness_m: float) -> Array:
    """A profile blurred by the detector's own unsharpness, its end values going on beyond its ends."""
    pad = math.ceil(4.0 * unsharpness_m * SIGMA_OF_UNSHARPNESS / step_m) + 1
    return spread(np.pad(profile, pad, mode="edge"), step_m, unsharpness_m)[pad:-pad]


def smallest(found: Sequence[Seen]) -> str | None:
    """The finest wire such that it and every thicker one of the set is seen; None where the thickest is not."""
    best = None
    for one in sorted(found, key=lambda s: -s.size_m):
        if not one.visible:
            break
        best = one.name
    return best
