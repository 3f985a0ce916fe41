"""The predicted radiograph of one exposure: image, readings, wires, verdict."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import replace
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Finding
from halflayer.exposure.paths import film_hit
from halflayer.exposure.result import ShotTime
from halflayer.exposure.scatter_field import ScatterField
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics import photons
from halflayer.physics.materials import material
from halflayer.radiograph import flaws, judge, markers, surface, tangential
from halflayer.radiograph.digital import DigitalResponse
from halflayer.radiograph.plates import outlines
from halflayer.radiograph.project import Frame, frame, primary, rod_points, shared
from halflayer.radiograph.response import FilmResponse, blurred, mapped, normal_noise
from halflayer.radiograph.result import Radiograph, Technique, WeldMap
from halflayer.radiograph.seen_flaws import seen_flaws
from halflayer.radiograph.setting import (
    LAID,
    Indicator,
    Setting,
    alike,
    by_exposure,
    by_monte_carlo,
    film_of,
    geometric_unsharpness_m,
    judged,
    setting,
    spots_for,
)
from halflayer.radiograph.surface import Surfaces
from halflayer.radiograph.unrolled import weld_map
from halflayer.scene.build import Built
from halflayer.scene.frame import Vec3
from halflayer.scene.solids import Box, Sphere, Tube
from halflayer.technique.result import Candidate

Array = NDArray[np.float64]
Image = NDArray[np.float32]

PIXEL_M = 50e-6  # the usual pixel of a film digitiser (common practice, no source)
SKETCH_SPOTS, SKETCH_BEND = 5, 0.2  # our choice: 2.5 % of the exposure, 0.03 of density in a picture
JUDGE_SPOTS = 40  # our choice: points of the spot for wires and densities
SECOND_SEED = 7919  # added to the seed: the second film has grain of its own
DARKEST, LIGHTEST = 1e-4, 1e3  # exposures in the table of the curve, of a usual one (our choice)


def predict(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    built: Built,
    *,
    shot: int = 0,
    activity_Bq: float,
    seconds: float,
    pixel_m: float = PIXEL_M,
    seed: int = 1,
    width_m: float | None = None,
    length_m: float | None = None,
    walls: bool = False,
    letters: bool = True,
    rough: bool = True,
    second: str | None = None,
    behind: float = 1.0,
    indicator: Indicator | None = None,
    backend: Literal["cpu", "cuda"] = "cpu",
    all_built: Sequence[Built] = (),
    times: Sequence[ShotTime] = (),
) -> Radiograph:
    """Predict one exposure of a weld: the whole sheet, or a part of it about its middle.

    `built` is the scene of that shot; `rough` gives the bead ripples that a picture needs, invented from the
    seed, which no reading of the verdict uses. The same seed gives the same image.
    With `walls` the pipe's wall is read from both edges of its image (flat films under the pipe). `second`: the
    id of a second film in the holder, `behind`: the share of the kerma that comes to the slower one. `indicator`:
    wires, an indicator of plates with holes, or both; left out, what the technique asks. With the scenes and times of
    all exposures the weld is unrolled as well. `backend` traces the pixels; readings and scatter are the CPU's.
    Raises: OutOfRange for pixels or images that cannot be; KeyError for ids that are not in the order.
    """
    began = time.perf_counter()
    made = setting(
        order,
        weld,
        candidate,
        candidate.shots[shot],
        built,
        activity_Bq=activity_Bq,
        seconds=seconds,
        spots=JUDGE_SPOTS,
        second=second,
        behind=behind,
        indicator=indicator,
    )
    pixels = frame(built.film, pixel_m=pixel_m, width_m=width_m, length_m=length_m)
    field = by_monte_carlo(made, pixels, seed=seed)
    verdict = judge.verdict(made, field, seen_flaws(made, field))
    read, why = tangential.readings(made, field, seed=seed) if walls else ((), ())
    verdict = replace(verdict, findings=(*verdict.findings, *(Finding("note", text) for text in why)))
    unrolled_weld: WeldMap | None = None
    if all_built:
        unrolled_weld, said = _unrolled(made, field, shot, all_built, times, activity_Bq)
        verdict = replace(verdict, findings=(*verdict.findings, *said))
    exposed = exposure_image(
        made,
        field,
        pixels,
        surfaces=surfaces_of(weld, seed=seed, rough=rough),
        letters=_letters(made, pixels, shot) if letters else (),
        backend=backend,
    )
    image = reading_image(exposed, made.response, pixels, seed=seed)
    other = made.partner_response
    beside = None if other is None else reading_image(exposed, other, pixels, seed=seed + SECOND_SEED)
    record = technique_of(made, shot, seconds=seconds, activity_Bq=activity_Bq)
    planned = times[shot].density if times else None
    took = time.perf_counter() - began
    return Radiograph(image, pixels, record, verdict, took, read, unrolled_weld, beside, planned)


def _unrolled(
    made: Setting,
    field: ScatterField,
    shot: int,
    all_built: Sequence[Built],
    times: Sequence[ShotTime],
    activity_Bq: float,
) -> tuple[WeldMap, tuple[Finding, ...]]:
    """The weld over all exposures: this one with its own scatter, others alike with the same, else with the
    exposure stage's figures."""
    settings, fields = [], []
    for n, (built, timed) in enumerate(zip(all_built, times, strict=True)):
        if n == shot:
            settings.append(made)
            fields.append(field)
            continue
        seconds = timed.seconds.value
        assert isinstance(seconds, float)
        one = setting(
            made.order,
            made.weld,
            made.candidate,
            made.candidate.shots[n],
            built,
            activity_Bq=activity_Bq,
            seconds=seconds,
            spots=JUDGE_SPOTS,
            second=timed.second.detector if timed.second else None,
            behind=timed.second.behind if timed.second else 1.0,
        )
        settings.append(one)
        fields.append(field if alike(one, made) else by_exposure(one, timed))
    return weld_map(settings, fields)


def surfaces_of(weld: Weld, *, seed: int, rough: bool = True, grid_m: float = surface.GRID_M) -> Surfaces:
    """The surfaces of a weld for its image: rough or smooth, with the flaws that lie on them."""
    reach = flaws.reach_m(weld)
    if rough:
        return flaws.dented(surface.welded(weld, seed=seed, grid_m=grid_m, reach_m=reach), weld)
    if not reach:
        return Surfaces.plain()
    return flaws.dented(surface.flat_maps(weld, grid_m=grid_m, reach_m=reach), weld)


def density_image(
    made: Setting,
    field: ScatterField,
    pixels: Frame,
    *,
    surfaces: Surfaces,
    letters: tuple[markers.Letters, ...] = (),
    seed: int,
    grain: bool = True,
    sketch: bool = False,
) -> Image:
    """Density or grey value at every pixel, (rows, columns) float32: exposure, lead, unsharpness, curve, noise.

    A `sketch` is for a small picture: few points of the spot, no wires, straight between nodes where a full
    image would look closer.
    """
    exposed = exposure_image(made, field, pixels, surfaces=surfaces, letters=letters, sketch=sketch)
    return reading_image(exposed, made.response, pixels, seed=seed, grain=grain)


def exposure_image(
    made: Setting,
    field: ScatterField,
    pixels: Frame,
    *,
    surfaces: Surfaces,
    letters: tuple[markers.Letters, ...] = (),
    sketch: bool = False,
    backend: Literal["cpu", "cuda"] = "cpu",
) -> Image:
    """Air kerma at every pixel [Gy], (rows, columns) float32, lead letters and scatter included."""
    if sketch:
        solids = tuple(s for s in made.scene.solids if not s.name.startswith(LAID))
        optics = made.with_surfaces(surfaces, SKETCH_SPOTS)
        optics = replace(optics, scene=replace(optics.scene, solids=solids))
        image = primary(optics, pixels, bend=SKETCH_BEND)
    else:
        spots = spots_for(geometric_unsharpness_m(made), pixels.pixel_m)
        optics = made.with_surfaces(surfaces, spots)
        if backend == "cuda":
            from halflayer.radiograph import run_cuda

            image = run_cuda.primary(optics, pixels, marked=marked_points(made))
        else:
            image = primary(optics, pixels, marked=marked_points(made))
    _add_scatter(image, field, pixels)
    image *= np.float32(made.decays)
    for row, column, lead in markers.lead_map(letters, pixels):
        part = image[row : row + lead.shape[0], column : column + lead.shape[1]]
        part *= _through_lead(made, lead)
    return image


def reading_image(
    exposed: Image,
    response: FilmResponse | DigitalResponse,
    pixels: Frame,
    *,
    seed: int,
    grain: bool = True,
) -> Image:
    """What a film or a detector makes of an exposure: unsharpness of its own, curve, seeded noise."""
    low, high = response.kerma_scale_Gy * DARKEST, response.kerma_scale_Gy * LIGHTEST
    image = blurred(exposed, unsharpness_m=response.unsharpness_m, pixel_m=pixels.pixel_m)
    reading = mapped(image, response.reading, low=low, high=high)
    if grain:
        area = pixels.pixel_m**2
        noise = mapped(image, lambda k: response.reading_noise(k, area), low=low, high=high)
        noise *= normal_noise(reading.shape, seed=seed)
        reading += noise
    return reading


def marked_points(made: Setting) -> list[Vec3]:
    """Points on what is small: wires, plates with their holes, and the solids of flaws."""
    out: list[Vec3] = outlines(made.plates) if made.plates else []
    for s in made.scene.solids:
        if s.name.startswith(("wire ", "flaw ")):
            if isinstance(s, Tube):
                out += rod_points(s.centre, s.axis, s.length_m)
            elif isinstance(s, Sphere):
                for axis in ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0)):
                    out += rod_points(s.centre, axis, 2.0 * s.outer_radius_m, step_m=s.outer_radius_m)
            elif isinstance(s, Box):
                for axis, size in zip(s.axes, s.size, strict=True):
                    out += rod_points(s.centre, axis, size)
    return out


def _add_scatter(image: Image, field: ScatterField, pixels: Frame) -> None:
    if field.even_everywhere:
        image += np.float32(field.at(np.zeros(1), np.zeros(1))[0, 0])
        return

    def part(first: int, last: int) -> None:
        image[first:last] += field.at(pixels.u_m[first:last], pixels.v_m).astype(np.float32)

    shared(pixels.rows, part)


def _through_lead(made: Setting, lead: Image) -> Image:
    """Share of the exposure that passes lead letters: that of the primary behind the weld, scatter alike."""
    groups = made.optics.groups
    kerma = groups.weight * np.exp(-(made.optics.crossed_m @ groups.mu_per_m))
    mu = photons.mu_per_m(material("lead"), groups.energy_keV)
    depths = np.linspace(0.0, float(lead.max()), 32)
    share = np.exp(-np.outer(depths, mu)) @ kerma / kerma.sum()
    return np.interp(lead, depths, share).astype(np.float32)


def _letters(made: Setting, pixels: Frame, shot: int) -> tuple[markers.Letters, ...]:
    film = made.built.film
    seen = judged(made)
    if not seen:
        return ()
    us = [made.points[i].u_m for i in seen]
    half = max(abs(made.points[i].v_m) for i in seen)
    if film.radius_m is None:
        g = made.candidate.geometry
        half = max(half, 0.35 * made.weld.pipe.od * g.source_to_detector_m / g.source_to_object_m)
    return markers.usual_letters(
        pixels,
        weld=made.weld.id,
        exposure=f"E{shot + 1}",
        order=made.order.order,
        date=f"{made.order.shift.starts:%Y-%m-%d}",
        image_u_m=(min(us), max(us)),
        half_v_m=half,
        radius_m=film.radius_m,
        clock_rad=made.shot.detector_clock_rad,
        kept_free=_under_plates(made),
    )


def _under_plates(made: Setting) -> tuple[float, float, float, float] | None:
    """Part of the film in the shadow of an indicator of plates: u from and to, v from and to [m]."""
    points = outlines(made.plates) if made.plates else []
    hits = [film_hit(made.built.film, made.built.source_at, p) for p in points]
    u = [h[0] for h in hits if h is not None]
    v = [h[1] for h in hits if h is not None]
    return (min(u), max(u), min(v), max(v)) if u else None


def technique_of(made: Setting, shot: int, *, seconds: float, activity_Bq: float) -> Technique:
    """The exposure in the words of a film record."""
    c, detector, film = made.candidate, made.detector, film_of(made)
    s = detector.screens
    screens = f"{s.front_m * 1e3:g} mm front, {s.back_m * 1e3:g} mm back, {s.material}"
    return Technique(
        order=made.order.order,
        weld=made.weld.id,
        shot=shot + 1,
        shots=len(c.shots),
        technique=c.technique,
        arrangement=c.arrangement,
        source=c.source,
        nuclide=made.source.nuclide,
        activity_Bq=activity_Bq,
        exposure_s=seconds,
        source_to_detector_m=c.geometry.source_to_detector_m,
        source_to_object_m=c.geometry.source_to_object_m,
        focal_m=c.geometry.focal_m,
        detector=detector.id,
        detector_kind=detector.kind,
        film_class=film.film_class if film else f"SRb {made.response.unsharpness_m * 5e5:.0f} um",
        screens=screens,
        source_clock_rad=made.shot.source_clock_rad,
        material=made.weld.pipe.material,
        nominal_m=c.geometry.nominal_m,
        made_at=made.order.shift.starts.isoformat(),
    )
