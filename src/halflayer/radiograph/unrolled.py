"""The weld unrolled: what each exposure shows of it within the allowed growth of the wall and the range of readings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Finding
from halflayer.exposure import covered, paths, whole_weld
from halflayer.exposure.covered import STEP_RAD, TURN
from halflayer.exposure.paths import BESIDE_M, film_hit, in_beam
from halflayer.exposure.result import Coverage, Covered
from halflayer.exposure.scatter_field import ScatterField
from halflayer.radiograph.bodies import bead_height
from halflayer.radiograph.holder import TOLERANCE, shown
from halflayer.radiograph.project import at_places
from halflayer.radiograph.result import Strip, WeldMap
from halflayer.radiograph.setting import Setting, alike, film_of
from halflayer.scene.frame import about_x

Array = NDArray[np.float64]

ACROSS = 9  # our choice: places across the weld, from the wall on one side of the cap to that on the other


@dataclass(frozen=True)
class _Looked:
    """A strip with what its coverage is made from."""

    strip: Strip
    middle: float
    half: float
    offsets: tuple[float, ...]

    def covers(self, why: Sequence[Sequence[str]]) -> list[Covered]:
        ends = [next((w for w in row if w), "") for row in why]
        return covered.stretches(
            self.strip.exposure, self.strip.wall, self.middle, self.half, self.offsets, ends
        )


def weld_map(
    settings: Sequence[Setting], fields: Sequence[ScatterField]
) -> tuple[WeldMap, tuple[Finding, ...]]:
    """The map over all exposures of a weld with their scattered fields, and what it says.

    A place is covered where it falls on the sheet and in the beam, its wall is crossed within the code's growth
    (where the code bounds it) and the detector shows it within the range: density on one film at least, or
    the ratio asked beside the cap and no saturation. A clock is covered where all places across the weld are.
    """
    looked: list[_Looked] = []
    for n, (made, field) in enumerate(zip(settings, fields, strict=True), start=1):
        if n > 1 and alike(made, settings[0]):
            turn = made.shot.detector_clock_rad - settings[0].shot.detector_clock_rad
            looked += [_turned(one, n, turn) for one in looked if one.strip.exposure == 1]
        else:
            looked += _strips(made, field, n)
    arcs = [c for one in looked for c in one.covers(one.strip.why)]
    found = Coverage(tuple(arcs), covered.gaps([(c.start_rad, c.length_rad) for c in arcs]), STEP_RAD)
    return WeldMap(tuple(one.strip for one in looked), found), _findings(settings, looked, found)


def _turned(one: _Looked, number: int, turn: float) -> _Looked:
    strip = replace(one.strip, exposure=number, clock_rad=one.strip.clock_rad + turn)
    return replace(one, strip=strip, middle=one.middle + turn)


def _strips(made: Setting, field: ScatterField, number: int) -> list[_Looked]:
    weld, film = made.weld, made.built.film
    reach = weld.cap.width_m / 2 + BESIDE_M
    across = np.linspace(-reach, reach, ACROSS)
    crown = np.abs(across) < weld.cap.width_m / 2
    out: list[_Looked] = []
    for wall, middle, half in paths.evaluated_arcs(made.candidate, made.shot):
        offsets = covered.looked_at(weld, made.candidate, made, wall, middle, half)
        if not offsets:
            continue
        places, why = [], []
        for offset in offsets:
            row = []
            for x in across:
                radius = weld.pipe.od / 2 + bead_height(float(x), weld.cap.width_m, weld.cap.height_m)
                hit = film_hit(film, made.built.source_at, about_x((float(x), 0.0, radius), middle + offset))
                places.append(hit or (0.0, 0.0))
                if hit is None or abs(hit[0]) > film.width_m / 2 or abs(hit[1]) > film.length_m / 2:
                    row.append("film")
                else:
                    row.append("" if in_beam(made.built, film.at(*hit)) else "beam")
            why.append(row)
        at = np.array(places)
        scattered = field.at_points(at)
        primary = at_places(replace(made.optics, scene=made.bare), at)
        kerma = ((primary + scattered) * made.decays).reshape(len(offsets), ACROSS)
        grown = np.array([covered.growth(weld, made, middle + o) for o in offsets])
        taken = shown(made, kerma, np.broadcast_to(crown, kerma.shape))
        _judge(made, why, grown, taken)
        dark = np.array([[w in ("film", "beam") for w in row] for row in why])
        strip = Strip(
            number,
            wall,
            middle + np.array(offsets),
            across,
            np.where(dark, np.nan, kerma),
            _reading(made, kerma),
            grown,
            tuple(tuple(row) for row in why),
            (-half - offsets[0], half - offsets[0]),
        )
        out.append(_Looked(strip, middle, half, tuple(offsets)))
    return out


def _reading(made: Setting, kerma: Array) -> Array:
    """Density or grey value; of two films the first where it is in range or neither is, else the second."""
    out = made.response.reading(kerma)
    if made.partner_response is None:
        return out
    other = made.partner_response.reading(kerma)
    c = made.candidate
    low, high = c.density_min - TOLERANCE, c.density_max + TOLERANCE
    second = ((out < low) | (out > high)) & (other >= low) & (other <= high)
    return np.where(second, other, out)


def _judge(made: Setting, why: list[list[str]], grown: Array, taken: NDArray[np.int64]) -> None:
    """Fill in why places on the sheet and in the beam are not covered."""
    most = made.candidate.growth_max
    for row, more, verdicts in zip(why, grown, taken, strict=True):
        for m, verdict in enumerate(verdicts):
            if row[m]:
                continue
            if most is not None and more > most + 1e-6:
                row[m] = "growth of the crossed wall"
            elif verdict:
                row[m] = "too light" if verdict < 0 else "too dark"


def _findings(settings: Sequence[Setting], looked: Sequence[_Looked], found: Coverage) -> tuple[Finding, ...]:
    if not found.uncovered:
        return ()
    made = settings[0]
    on_film = film_of(made) is not None
    (plain,) = whole_weld.findings(made.weld, made.candidate, found, on_film=on_film)
    text = plain.text
    if not found.covered:  # no stretch whose ends would say it
        reasons = dict.fromkeys(w for one in looked for row in one.strip.why for w in row if w)
        text = f"{text.removesuffix('.')}; why: {', '.join(reasons)}."
    # What a film will show stops nothing: a warning here, whatever the plan makes of it.
    return (replace(plain, level="warn", text=text, relax=_changes(settings, looked, found)),)


def _changes(settings: Sequence[Setting], looked: Sequence[_Looked], found: Coverage) -> tuple[str, ...]:
    """What would cover the rest, each tried or worked out by itself."""
    made = settings[0]
    reasons = {w for one in looked for row in one.strip.why for w in row if w}
    ends = {e for c in found.covered for e in c.ends}
    out: list[str] = []
    if reasons & {"too light", "too dark"}:
        out += _time(settings, looked, found)
        if made.partner is None and film_of(made) is not None:
            out += _two_films(settings, looked)
    widest = max((c.length_rad for c in found.covered), default=0.0)
    shots = len(settings)
    walls = 2 if paths.is_double_image(made.candidate) else 1
    if widest > STEP_RAD and not any(e == "film" for e in ends):
        asked = math.ceil(TURN / walls / max(widest - STEP_RAD, STEP_RAD))
        asked = max(asked, shots + 1)
        out.append(f"{asked} exposures in place of {shots}")
    if "film" in reasons and (more := _sheet(made, looked)):
        out.append(more)
    if "beam" in ends or (not found.covered and "beam" in reasons):
        out.append("a wider aperture, or a larger distance with the same one")
    if "growth of the crossed wall" in ends:
        out.append("a larger distance, so that the rays cross the wall less obliquely")
    return tuple(dict.fromkeys(out)) or ("more exposures",)


def _left(settings: Sequence[Setting], looked: Sequence[_Looked]) -> float:
    """Angle that stays uncovered with the kermas of the strips judged by other settings [rad]."""
    arcs: list[tuple[float, float]] = []
    for one in looked:
        made = settings[one.strip.exposure - 1]
        crown = np.abs(one.strip.across_m) < made.weld.cap.width_m / 2
        kerma = np.nan_to_num(one.strip.kerma_Gy)
        taken = shown(made, kerma, np.broadcast_to(crown, kerma.shape))
        why = [[w if w in ("film", "beam") else "" for w in row] for row in one.strip.why]
        _judge(made, why, one.strip.growth, taken)
        arcs += [(c.start_rad, c.length_rad) for c in one.covers(why)]
    return sum(length for _, length in covered.gaps(arcs))


FACTORS = (0.6, 0.7, 0.8, 0.9, 1.1, 1.25, 1.4, 1.6, 2.0, 2.5)  # of the time, tried (our choice)


def _time(settings: Sequence[Setting], looked: Sequence[_Looked], found: Coverage) -> list[str]:
    """The least change of the time that covers all, or the one that leaves least where it is much better."""
    now = sum(length for _, length in found.uncovered)
    tried = []
    for factor in FACTORS:
        scaled = [
            replace(one, strip=replace(one.strip, kerma_Gy=one.strip.kerma_Gy * factor)) for one in looked
        ]
        tried.append((_left(settings, scaled), abs(math.log(factor)), factor))
    left, _, factor = min(tried)
    if left > 0.75 * now:
        return []
    rest = "" if left < 1e-6 else f", which leaves {math.degrees(left):.0f} degrees"
    return [f"{factor:g} times the exposure time{rest}"]


def _two_films(settings: Sequence[Setting], looked: Sequence[_Looked]) -> list[str]:
    """A second film of the order that would cover all beside the first."""
    from halflayer.radiograph.response import film_response

    made = settings[0]
    own = film_of(made)
    assert own is not None
    for film in made.order.detectors:
        if film.id == own.id or film.sheet != own.sheet:
            continue
        response = film_response(film, energy_keV=100.0)  # its curve alone is asked
        pair = [replace(s, partner=film, partner_response=response) for s in settings]
        if _left(pair, looked) < 1e-6:
            return [f"film {film.id} beside {own.id} in the holder"]
    return ["two films of different speed in the holder"]


def _sheet(made: Setting, looked: Sequence[_Looked]) -> str:
    """How large a sheet would hold what is judged."""
    film, weld = made.built.film, made.weld
    wide, long = 0.0, 0.0
    for one in looked:
        if one.strip.exposure != 1:
            continue
        for offset in (-one.half, 0.0, one.half):
            for x in (one.strip.across_m[0], one.strip.across_m[-1]):
                spot = about_x((float(x), 0.0, weld.pipe.od / 2), one.middle + offset)
                hit = film_hit(film, made.built.source_at, spot)
                if hit is not None:
                    wide, long = max(wide, 2.0 * abs(hit[0])), max(long, 2.0 * abs(hit[1]))
    parts = []
    if wide > film.width_m + 1e-9:
        parts.append(f"{wide * 1e3:.0f} mm along the pipe")
    if long > film.length_m + 1e-9:
        parts.append(f"{long * 1e3:.0f} mm across or round it")
    return f"a sheet of {' and '.join(parts)}" if parts else ""
