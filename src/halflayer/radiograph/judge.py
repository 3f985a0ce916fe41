"""The verdict on one exposure: densities, wires, the opening of an ellipse, and what to change when short."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Literal

import numpy as np

from halflayer.base.result import Finding
from halflayer.exposure.paths import film_hit, is_double_image
from halflayer.exposure.scatter_field import ScatterField
from halflayer.radiograph import advice, holder
from halflayer.radiograph.details import better
from halflayer.radiograph.digital import DigitalResponse
from halflayer.radiograph.project import at_places
from halflayer.radiograph.result import FilmReadings, Readings, Verdict
from halflayer.radiograph.seen_holes import seen_holes
from halflayer.radiograph.setting import (
    Setting,
    film_of,
    geometric_unsharpness_m,
    judged,
    weld_index,
)
from halflayer.radiograph.visible import ROSE, Seen, smallest, wires_seen
from halflayer.scene.frame import about_x
from halflayer.technique.ellipse import LARGEST_OPENING_M, LEAST_OPENING_M, wanted_opening_m

CRITERION = (
    "A. Rose, J. Opt. Soc. Am. 38 (1948) 196: a signal of 5 times the noise over 10 mm of the wire's image"
)


def criterion(made: Setting) -> str:
    """The criterion of what is seen, with where its noise comes from."""
    noise = "noise by the detector's measured ratio"
    return f"{CRITERION}; {'largest granularity of the film class' if film_of(made) else noise}"


def verdict(
    made: Setting,
    field: ScatterField,
    flaws: tuple[Seen, ...] = (),
    *,
    densities: bool = True,
    needed_holes: bool = False,
) -> Verdict:
    """Judge one exposure with its scattered field; `densities`: state those that cannot be read as findings.

    `needed_holes`: of an indicator of plates look only at what the answer hangs on (`seen_holes`).
    """
    scattered = field.at_points(np.array([(p.u_m, p.v_m) for p in made.points]).reshape(-1, 2))
    at = weld_index(made)
    readings = _readings(made, scattered, at)
    films: tuple[FilmReadings, ...] = ()
    if at is not None and made.partner is not None:
        kerma = (made.kerma + scattered) * made.decays
        films = holder.film_readings(made, kerma, at, judged(made))
    ratio: float | None = None
    sigma: float | None = None
    if at is not None:
        ratio = float(scattered[at] / made.kerma[at])
        sigma = field.sigma_Gy / float(made.kerma[at])
    wires = seen_wires(made, field)
    holes = seen_holes(made, field, needed_only=needed_holes)
    asked_hole = made.plates.required if made.plates else None
    required = made.candidate.iqi.required if made.candidate.iqi and made.wires else None
    best = smallest(wires)
    opening = opening_m(made)
    found = [
        *_lit(made, at),
        *(_density(made, readings, scattered) if readings and densities else ()),
        *(_pair(made, films) if densities else ()),
        *_opening(made, opening),
        *_wires(made, field, wires, required),
        *_holes(made, field, holes, wires),
    ]
    return Verdict(
        readings=readings,
        digital=film_of(made) is None,
        wires=wires,
        flaws=flaws,
        required=required,
        smallest_visible=best,
        ok=not any(f.level == "stop" for f in found),
        opening_m=opening,
        scatter_to_primary=ratio,
        scatter_to_primary_sigma=sigma,
        unsharpness_m=geometric_unsharpness_m(made),
        inherent_unsharpness_m=made.response.unsharpness_m,
        findings=tuple(found),
        films=films,
        double=holder.viewed_double(films),
        holes=holes,
        required_hole=asked_hole,
        smallest_hole=smallest(holes),
    )


def seen_wires(made: Setting, field: ScatterField) -> tuple[Seen, ...]:
    """How well each wire of the indicator is seen."""
    hits = (
        film_hit(made.built.film, made.built.source_at, about_x((0.0, 0.0, w.radius_m), w.clock_rad))
        for w in made.wires
    )
    where = field.at_points(np.array([h or (0.0, 0.0) for h in hits]).reshape(-1, 2))
    first, *more = wires_seen(
        made.wires,
        made.optics,
        made.bare,
        made.built,
        cap_width_m=made.weld.cap.width_m,
        responses=[made.response, *((made.partner_response,) if made.partner_response else ())],
        exposure=made.decays,
        scattered_at=where,
    )
    if not more:
        return first
    (second,) = more
    places = np.array([(w.u_m, w.v_m) for w in first]).reshape(-1, 2)
    kerma = made.decays * (at_places(replace(made.optics, scene=made.bare), places) + where)
    return tuple(better(made, a, b, float(k)) for a, b, k in zip(first, second, kerma, strict=True))


def _readings(made: Setting, scattered: np.ndarray, at: int | None) -> Readings | None:
    inside = judged(made)
    if at is None or not inside:
        return None
    kerma = (made.kerma + scattered) * made.decays
    density = made.response.reading(kerma)
    low = min(inside, key=lambda i: float(density[i]))
    high = max(inside, key=lambda i: float(density[i]))
    return Readings(
        float(density[at]),
        float(density[low]),
        float(density[high]),
        made.points[low].where,
        made.points[high].where,
        _least_ratio(made, kerma, inside),
    )


def _least_ratio(made: Setting, kerma: np.ndarray, inside: list[int]) -> float | None:
    """Least normalised signal-to-noise ratio beside the cap, where the code asks it; None for film."""
    beside = [i for i in inside if not made.points[i].crown] or inside
    if not isinstance(made.response, DigitalResponse):
        return None
    return float(np.min(made.response.snr_n(kerma[beside])))


def _ratio(made: Setting, r: Readings) -> list[Finding]:
    out = []
    asked = made.candidate.snr_n_min
    if asked is not None and r.snr_n is not None and r.snr_n < asked:
        text = (
            f"Normalised signal-to-noise ratio {r.snr_n:.0f} beside the weld, the code asks for {asked:.0f}."
        )
        out.append(Finding("stop", text, relax=("expose longer",)))
    if r.most >= 65535.0:
        text = f"The detector is saturated at the {r.where_most}: nothing is seen there."
        out.append(Finding("stop", text, relax=("expose shorter, in more frames or twice",)))
    return out


def opening_m(made: Setting) -> float | None:
    """Clear distance between the two images of the weld along the pipe, ray by ray [m]; None for single images.

    Rays from the middle of the source past the four edges of the cap in the middle of either wall, at the
    surface of the pipe, on to the film.
    """
    if not is_double_image(made.candidate):
        return None
    spans = _spans(made)
    if spans is None:
        return None
    (a0, a1), (b0, b1) = spans
    return max(a0 - b1, b0 - a1)


def _spans(made: Setting) -> list[tuple[float, float]] | None:
    """From and to of the two images of the cap along the pipe, on the film [m]; None where one misses it."""
    half, radius = made.weld.cap.width_m / 2, made.weld.pipe.od / 2
    spans: list[tuple[float, float]] = []
    for clock in (made.shot.source_clock_rad, made.shot.source_clock_rad + math.pi):
        hits = [
            film_hit(made.built.film, made.built.source_at, about_x((x, 0.0, radius), clock))
            for x in (-half, half)
        ]
        u = sorted(h[0] for h in hits if h is not None)
        if len(u) < 2:
            return None
        spans.append((u[0], u[1]))
    return spans


def _apart_m(made: Setting) -> float:
    """From middle to middle of the two images of the cap [m]; 0 where one misses the film."""
    spans = _spans(made)
    return abs(sum(spans[0]) - sum(spans[1])) / 2 if spans else 0.0


def _lit(made: Setting, at: int | None) -> list[Finding]:
    if at is None:
        return [
            Finding(
                "stop",
                "No part of the weld's crown falls on the film and in the beam: the detector misses the beam.",
                relax=("move the film under the beam", "a wider aperture", "a larger sheet"),
            )
        ]
    beside = [p for i, p in enumerate(made.points) if not p.on_sheet]
    dark = [p for i, p in enumerate(made.points) if p.on_sheet and not made.kerma[i] > 0.0]
    out = []
    for points, what in ((beside, "beside the sheet"), (dark, "outside the beam")):
        if points:
            first = min(points, key=lambda p: abs(p.from_middle_rad))
            out.append(Finding("warn", f"Part of the evaluated weld falls {what}: {first.where} and beyond."))
    return out


def _pair(made: Setting, films: tuple[FilmReadings, ...]) -> list[Finding]:
    """What a person must know of the two films of a holder."""
    if not films:
        return []
    c, both = made.candidate, holder.viewed_double(films)
    assert both is not None
    each = " and ".join(f"{f.detector} {f.least:.2f} to {f.most:.2f}" for f in films)
    double = holder.double_holds(films, least=c.density_min, most=c.density_max)
    words = "can be read so as well" if double else "not to be read so"
    text = (
        f"Two films in the holder, each read alone: {each}. On top of each other {both.least:.2f} to "
        f"{both.most:.2f}: {words} (at least {holder.LEAST_OF_A_PAIR:g} on each, the sum between "
        f"{c.density_min:g} and {c.density_max:g})."
    )
    return [Finding("note", text, "ISO 17636-1:2013 7.8 (from memory, unverified)")]


def _density(made: Setting, r: Readings, scattered: np.ndarray) -> list[Finding]:
    # A place that is judged and cannot be read is a film to be shot again, wherever it lies.
    c = made.candidate
    if film_of(made) is None:
        return _ratio(made, r)
    if made.partner is not None:
        return _on_neither(made, scattered)
    kerma = ((made.kerma + scattered) * made.decays)[judged(made)]
    low, high = float(kerma.min()), float(kerma.max())
    out = []
    if r.least < c.density_min - holder.TOLERANCE:
        out.append(
            Finding(
                "stop",
                f"Density {r.least:.2f} ({r.where_least}), the code asks for {c.density_min:.1f}.",
                relax=(advice.exposure(made, low, c.density_min), "a faster film for that part"),
            )
        )
    if r.most > c.density_max + holder.TOLERANCE:
        out.append(
            Finding(
                "stop",
                f"Density {r.most:.2f} ({r.where_most}), up to {c.density_max:.1f} can be read.",
                relax=(advice.exposure(made, high, c.density_max), "a slower film beside this one"),
            )
        )
    return out


def _on_neither(made: Setting, scattered: np.ndarray) -> list[Finding]:
    """Places that neither film of the holder shows within the range."""
    inside = judged(made)
    crown = np.array([p.crown for p in made.points])
    taken = holder.shown(made, (made.kerma + scattered) * made.decays, crown)
    out = []
    for sign, words, relax in (
        (-1, "lighter", ("expose longer", "a faster film for that part")),
        (1, "darker", ("expose shorter", "a slower film for that part")),
    ):
        short = [i for i in inside if taken[i] == sign]
        if short:
            first = min(short, key=lambda i: abs(made.points[i].from_middle_rad))
            text = (
                f"{len(short)} of {len(inside)} places are {words} than the code asks on both films of the "
                f"holder, the first at: {made.points[first].where}."
            )
            out.append(Finding("stop", text, relax=relax))
    return out


def _opening(made: Setting, opening: float | None) -> list[Finding]:
    if opening is None or made.candidate.technique != "DWDI ellipse":
        return []
    wanted = wanted_opening_m(made.weld.cap.width_m)
    text = f"The ellipse opens by {opening * 1e3:.1f} mm, wanted are {wanted * 1e3:.1f} mm"
    if opening < LEAST_OPENING_M - 1e-9:
        relax = (advice.offset(made, opening, _apart_m(made)),)
        return [Finding("stop", f"{text}: the two images run into each other.", relax=relax)]
    if opening > LARGEST_OPENING_M + 1e-9:
        relax = (advice.offset(made, opening, _apart_m(made)),)
        return [Finding("warn", f"{text}: the images are distorted.", relax=relax)]
    return []


def _wires(
    made: Setting, field: ScatterField, wires: tuple[Seen, ...], required: str | None
) -> list[Finding]:
    """The required wire, and which single change would show it."""
    if required is None:
        return []
    mine = next((w for w in wires if w.name == required), None)
    if mine is None:
        return [Finding("note", f"Wire {required} is not in the set that fits the pipe: not judged.")]
    if mine.visible:
        return []
    text = (
        f"Wire {required} is expected not to be seen: {mine.contrast_to_noise:.1f} times the noise, "
        f"{ROSE:.0f} are asked for (chance {mine.chance:.0%})."
    )

    def ratio(changed: Setting) -> float:
        only = replace(changed, wires=tuple(w for w in changed.wires if w.designation == required))
        return seen_wires(only, field)[0].contrast_to_noise

    return [Finding("stop", text, source=criterion(made), relax=advice.changes(made, ratio))]


def _holes(
    made: Setting, field: ScatterField, holes: tuple[Seen, ...], wires: tuple[Seen, ...]
) -> list[Finding]:
    """The required hole; it stops a film only where no wire shows what it asks in its place."""
    laid = made.plates
    if laid is None:
        return []
    mine = next((h for h in holes if h.name == laid.required), None)
    if mine is not None and mine.visible:
        return []
    required = made.candidate.iqi.required if made.candidate.iqi else None
    by_wire = any(w.visible for w in wires if w.name == required)
    level: Literal["warn", "stop"] = "warn" if by_wire else "stop"
    if mine is None:
        text = f"Hole {laid.required} ({laid.name}) falls beside the film or the beam wherever the plate is laid."
        beside = ("a larger sheet", "a wider aperture", "wires in its place")
        return [Finding(level, text, laid.source, beside)]
    text = (
        f"Hole {laid.required} ({laid.name}) is expected not to be seen: {mine.contrast_to_noise:.1f} times the "
        f"noise, {ROSE:.0f} are asked for (chance {mine.chance:.0%})."
    )
    only = tuple(h for h in laid.holes if h.designation == laid.required)

    def ratio(changed: Setting) -> float:
        looked = seen_holes(replace(changed, plates=replace(laid, holes=only)), field)
        return looked[0].contrast_to_noise if looked else 0.0

    relax = (*advice.changes(made, ratio), "wires in its place")
    return [Finding(level, text, f"{criterion(made)}; asked: {laid.source}", relax)]
