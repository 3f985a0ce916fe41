"""Of two films in one holder which one judges where: stretch by stretch, with its densities and its own indicator."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Finding
from halflayer.exposure.film import DENSITY_MAX
from halflayer.exposure.paths import in_degrees
from halflayer.exposure.rates import Rates
from halflayer.exposure.result import FilmZone, Indicator, PairReading, ShotTime, Stretch
from halflayer.exposure.two_films import Loading
from halflayer.technique.result import Candidate

Array = NDArray[np.float64]
CROWN = "weld crown"
SOURCE = (
    "ISO 17636-1:2013 7.8 (from memory, unverified): each film is judged alone, so each shows an indicator"
)


def handed_Gy(loading: Loading, least: float, most: float) -> float:
    """Kerma at which the faster film hands over to the slower one: midway between what both show in range.

    Formula: root of K_fast(most) K_slow(least); at the fast film's most density where nothing is shown by both.
    """
    end, start = loading.fast.kerma_Gy(most), loading.slow.kerma_Gy(least)
    return math.sqrt(end * start) if start <= end else end


def reading(loading: Loading, candidate: Candidate, rates: Rates, kerma_Gy: Array) -> PairReading | None:
    """Who judges what; None for one film. `kerma_Gy` of a shot's film points, before the first film."""
    if loading.second is None:
        return None
    least, most = candidate.density_min, min(candidate.density_max, DENSITY_MAX)
    handed = handed_Gy(loading, least, most)
    fast, slow = loading.named
    zones, stretches = [], []
    for film, curve, mine in (
        (fast, loading.fast, kerma_Gy <= handed),
        (slow, loading.slow, kerma_Gy > handed),
    ):
        inside = [i for i in rates.judged if mine[i]]
        if inside:
            d = curve.density(kerma_Gy[inside])
            indicator = _indicator(loading, film, rates, kerma_Gy, inside, least, most)
            zones.append(FilmZone(film, float(d.min()), float(d.max()), indicator))
    for line in _lines(rates):
        stretches += _darker(line, rates, kerma_Gy, handed)
    at = float(loading.fast.density(handed)), float(loading.slow.density(handed))
    if (
        len(zones) == 2
    ):  # between two points one film reads up to where it hands over, the other from there on
        zones = [
            replace(zones[0], most=max(zones[0].most, at[0])),
            replace(zones[1], least=min(zones[1].least, at[1])),
        ]
    return PairReading(loading.behind, at[0], at[1], slow, tuple(zones), tuple(stretches))


def further(candidate: Candidate, shots: Sequence[ShotTime]) -> tuple[str, ...]:
    """Where the indicators lie that a second film asks for beside the first; () for one film, or by another rule.

    Two films whose indicators lie at one place share it.
    """
    if candidate.density_variation is not None:
        return ()
    found = [z.indicator for s in shots if s.pair for z in s.pair.zones if z.indicator]
    at = {round(i.from_middle_rad, 6): i for i in found}
    first, *more = sorted(at) or [0.0]
    return tuple(
        f"{in_degrees(a)} degrees clockwise from the middle, {at[a].wall}, read on {at[a].film}" for a in more
    )


def findings(found: PairReading | None) -> list[Finding]:
    """A warning for a film that judges a part of the weld and no place where its indicator could lie."""
    return [
        Finding(
            "warn",
            f"{z.film} judges a part of the weld, but no place beside the cap on the source's side where its "
            "indicator could lie: lay one where it shows the parent metal in range, and tell it in the report.",
            SOURCE,
        )
        for z in (found.zones if found else ())
        if z.indicator is None
    ]


def _side(rates: Rates, i: int) -> str:
    p = rates.points[i]
    return CROWN if p.crown else f"beside the cap, {'left' if p.x_m < 0.0 else 'right'}"


def _lines(rates: Rates) -> list[list[int]]:
    """Points judged along each line round the pipe: a wall's crown and both sides of its cap, by their clock."""
    found: dict[tuple[str, str], list[int]] = {}
    for i in rates.judged:
        found.setdefault((_wall(rates, i), _side(rates, i)), []).append(i)
    return [sorted(v, key=lambda i: rates.points[i].from_middle_rad) for v in found.values()]


def _wall(rates: Rates, i: int) -> str:
    return rates.points[i].where.split(", ")[1]


def _darker(line: list[int], rates: Rates, kerma_Gy: Array, handed: float) -> list[Stretch]:
    """Stretches of a line that the slower film judges: kerma above `handed`, ends between points by its logarithm."""
    at = [rates.points[i].from_middle_rad for i in line]
    over = [math.log(float(kerma_Gy[i]) / handed) for i in line]
    out: list[Stretch] = []
    begun: float | None = at[0] if over[0] > 0.0 else None
    for (a, u), (b, v) in zip(zip(at, over, strict=True), zip(at[1:], over[1:], strict=True), strict=False):
        if (u > 0.0) == (v > 0.0):
            continue
        cross = a + (b - a) * u / (u - v)
        if begun is None:
            begun = cross
        else:
            out.append(Stretch(_wall(rates, line[0]), _side(rates, line[0]), begun, cross))
            begun = None
    if begun is not None:
        out.append(Stretch(_wall(rates, line[0]), _side(rates, line[0]), begun, at[-1]))
    return out


def _indicator(
    loading: Loading,
    film: str,
    rates: Rates,
    kerma_Gy: Array,
    inside: list[int],
    least: float,
    most: float,
) -> Indicator | None:
    """Where this film's indicator lies: beside the cap of the source's side, where the film judges both sides of it.

    The slower film's nearest to the middle, the faster one's where its density lies nearest to the middle of the
    range, clockwise of the middle: there a reading 20 % off leaves it in range. None where it judges no such place.
    """
    walls = dict.fromkeys(_wall(rates, i) for i in rates.judged)
    wall = "source-side wall" if "source-side wall" in walls else next(iter(walls))
    mine = set(inside)
    beside: dict[float, list[int]] = {}
    for i in rates.judged:
        if _wall(rates, i) == wall and not rates.points[i].crown:
            beside.setdefault(round(rates.points[i].from_middle_rad, 6) + 0.0, []).append(i)
    curve = loading.fast if film == loading.named[0] else loading.slow
    whole = {a: v for a, v in beside.items() if all(i in mine for i in v) and a >= 0.0}
    if not whole:
        return None
    found = {a: curve.density(kerma_Gy[v]) for a, v in whole.items()}
    middle = (least + most) / 2
    if curve is loading.slow:
        at = min(found)
    else:
        at = min(found, key=lambda a: float(np.abs(found[a] - middle).max()))
    d = found[at]
    return Indicator(film, wall, at, float(d.min()), float(d.max()), least, most)
