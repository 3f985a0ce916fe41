"""The quick prediction for a plan: readings and wires of one exposure, and a small picture for its sheet."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from halflayer.base.result import Finding
from halflayer.exposure.result import Exposure, ShotTime
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.radiograph import files, judge, pair_wires
from halflayer.radiograph.predict import density_image, surfaces_of
from halflayer.radiograph.project import frame
from halflayer.radiograph.result import Quick
from halflayer.radiograph.setting import Setting, by_exposure, setting
from halflayer.scene.build import Built
from halflayer.technique.result import Candidate

# Our choice: points of the spot for wires and densities; within 2 % of a wire's signal to noise with 200 (measured;
# 12 and 16 fall worse across a wire, up to 7 %).
QUICK_SPOTS = 14
PICTURE_PIXELS = 300  # along the longer side: about 150 to the inch as it is printed (our choice)
STRIP_PIXELS = 60  # across it at least, where a film goes round a large pipe (our choice)
AROUND_M = 0.02  # of the film beside what is judged (our choice)


def quick(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    built: Built,
    timed: ShotTime,
    *,
    shot: int = 0,
    activity_Bq: float,
    seed: int = 1,
    picture: bool = True,
) -> Quick:
    """Predict one exposure from what the exposure stage found: its seconds and its scatter behind the weld.

    Between the places whose scatter the exposure stage tells it is read on a bell. `built` is the scene of that
    shot. Without `picture` only the verdict is made. Raises: KeyError for ids that are not in the order.
    """
    seconds = timed.seconds.value
    assert isinstance(seconds, float)
    made = setting(
        order,
        weld,
        candidate,
        candidate.shots[shot],
        built,
        activity_Bq=activity_Bq,
        seconds=seconds,
        spots=QUICK_SPOTS,
        second=timed.second.detector if timed.second else None,
        behind=timed.second.behind if timed.second else 1.0,
    )
    field = by_exposure(made, timed)
    # the exposure stage has stated the densities
    verdict = judge.verdict(made, field, densities=False, needed_holes=True)
    if timed.pair is not None and candidate.density_variation is None:
        verdict = pair_wires.judged(made, field, timed, built, verdict)
    if not picture:
        return Quick(shot, verdict, "", 0.0, 0.0)
    width, length, middle = _part(made)
    pixels = frame(
        built.film,
        pixel_m=max(min(max(width, length) / PICTURE_PIXELS, min(width, length) / STRIP_PIXELS), 5e-5),
        width_m=width,
        length_m=length,
        middle=middle,
    )
    image = density_image(
        made,
        field,
        pixels,
        surfaces=surfaces_of(weld, seed=seed, grid_m=1e-3),
        seed=seed,
        grain=False,
        sketch=True,
    )
    low, high = files.film_window(verdict.readings)
    light = np.clip((high - image) / (high - low), 0.0, 1.0)
    data = files.png_bytes((255.0 * light).astype(np.uint8), small=False)
    return Quick(
        shot,
        verdict,
        base64.b64encode(data).decode("ascii"),
        pixels.columns * pixels.pixel_m,
        pixels.rows * pixels.pixel_m,
    )


def for_plan(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    built_shots: Sequence[Built],
    exposure: Exposure,
) -> tuple[Quick, ...]:
    """Quick predictions of the exposures of a weld that differ: those alike in time and density are seen once."""
    activity = exposure.activity.value
    assert isinstance(activity, float)
    out: list[Quick] = []
    done: set[tuple[object, ...]] = set()
    for n, (built, timed) in enumerate(zip(built_shots, exposure.shots, strict=True)):
        key = (timed.seconds.value, timed.density, timed.scatter_to_primary)
        if key not in done:
            done.add(key)
            out.append(
                quick(order, weld, candidate, built, timed, shot=n, activity_Bq=activity, picture=not out)
            )
    return tuple(out)


def findings(predicted: Sequence[Quick]) -> tuple[Finding, ...]:
    """What the predictions say for a plan: stops of a picture are warnings of a plan, made before any film is."""
    found: dict[Finding, None] = {}
    for one in predicted:
        for f in one.verdict.findings:
            level = "warn" if f.level == "stop" else f.level
            found[replace(f, level=level, text=f"Exposure {one.shot + 1}, predicted: {f.text}")] = None
    return tuple(found)


def _part(made: Setting) -> tuple[float, float, tuple[float, float]]:
    """Width along the pipe, length across it and middle of the part of the film that a small picture shows."""
    if not made.points:
        film = made.built.film
        return film.width_m, film.length_m, (0.0, 0.0)
    u = [p.u_m for p in made.points]
    v = [p.v_m for p in made.points]
    width = max(u) - min(u) + 2.0 * AROUND_M
    length = max(v) - min(v) + 2.0 * AROUND_M
    return width, length, ((max(u) + min(u)) / 2, (max(v) + min(v)) / 2)
