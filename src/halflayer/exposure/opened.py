"""The printed figures of the exposures opened: densities, ratios, the first film's window, days, laps, the viewer."""

from __future__ import annotations

import math
from datetime import datetime

from halflayer.base.result import Derived
from halflayer.exposure import judged
from halflayer.exposure.decay_days import decay_days
from halflayer.exposure.first_film import FirstFilm, first_film
from halflayer.exposure.result import Density, Exposure, ShotTime
from halflayer.exposure.two_films import Loading, loading_of
from halflayer.exposure.viewer import SOURCE as VIEWER_SOURCE
from halflayer.exposure.viewer import darkest_read, viewer_for
from halflayer.order.models import Order
from halflayer.technique.result import Candidate

CURVE = "characteristic curve through the film's gradients"
COVER = "what each exposure covers, by rays through what is judged"


def density_figures(exposure: Exposure) -> list[Derived]:
    """Densities (or signal-to-noise ratios) of every exposure: at the weld, least and most over what is judged.

    Those of exposure 1 without a number, of the others with theirs behind the name.
    """
    found: list[Derived] = []
    for n, shot in enumerate(exposure.shots, start=1):
        tail = "" if n == 1 else f"_{n}"
        if shot.density is not None:
            found += _densities(shot, shot.density, "density", tail)
        if shot.second is not None:
            found += _densities(shot, shot.second.density, f"density_{shot.second.detector}", tail)
        if shot.snr is not None:
            s = shot.snr
            found.append(
                Derived(
                    f"snr_beside{tail}",
                    s.beside_least,
                    "1",
                    s.sigma,
                    formula="SNR_N by the detector's response at kerma rate x time",
                    inputs=(_rate(shot), shot.seconds, Derived("asked", s.required, "1")),
                    basis=s.where_least,
                )
            )
    return found


def _densities(shot: ShotTime, d: Density, name: str, tail: str) -> list[Derived]:
    rows = (
        ("weld", d.weld, "the middle of what is judged"),
        ("least", d.least, d.where_least),
        ("most", d.most, d.where_most),
    )
    told = f"one sigma {d.sigma:.2g} at the weld: certificate, film's dose figure, noise of the scatter"
    ratio = Derived(
        "scatter over primary",
        shot.scatter_to_primary,
        "1",
        shot.scatter_to_primary_sigma,
        basis="at the weld",
    )
    return [
        Derived(
            f"{name}_{what}{tail}",
            value,
            "1",
            d.sigma if what == "weld" else None,
            symbol="D",
            formula="D(K) with K = kerma rate at the place x time; the rates of the places differ by what they cross",
            inputs=(_rate(shot), shot.seconds, ratio),
            source=CURVE,
            basis=where
            if what == "weld"
            else f"{where}; the spread over what is judged, along rays from the source's middle; {told}",
        )
        for what, value, where in rows
    ]


def _rate(shot: ShotTime) -> Derived:
    return Derived(
        "kerma rate",
        shot.kerma_rate_Gy_s,
        "Gy/s",
        basis="free in air at the film behind the weld, scatter included; opened under exposure_time",
    )


def first_film_figures(order: Order, c: Candidate, exposure: Exposure) -> list[Derived]:
    """The window of the first film, and the factor on the time for each reading outside it."""
    if not exposure.shots or (loading := loading_of(order, c, exposure.shots[0])) is None:
        return []
    first = first_film(loading, c, exposure.shots[0])
    if first is None:
        return []
    planned = Derived("planned", first.planned, "1", basis=first.where)
    found = [
        Derived(
            "first_film_least",
            first.least,
            "1",
            formula="the code's least density, at the lightest place judged",
            inputs=(planned,),
            basis=first.where,
        )
    ]
    if first.most is not None:
        found.append(
            Derived(
                "first_film_most",
                first.most,
                "1",
                formula="D(K(planned) x K(allowed) / K(darkest planned)): the darkest then reads the most allowed",
                inputs=(planned, Derived("most allowed", c.density_max, "1"), *density_of(exposure, "most")),
                source=CURVE,
                basis=f"at {first.where}, on {first.detector}",
            )
        )
    return [*found, *_factors(first, loading, exposure.shots[0])]


def density_of(exposure: Exposure, what: str) -> tuple[Derived, ...]:
    """The opened density of exposure 1 by its last word; empty where there is none."""
    return tuple(d for d in density_figures(exposure) if d.name == f"density_{what}")


def _factors(first: FirstFilm, loading: Loading, shot: ShotTime) -> list[Derived]:
    film = loading.film if loading.film.id == first.detector else loading.second
    aim = Derived(
        "aim",
        first.aim,
        "1",
        formula="the planned density of the lightest place, moved into the window where it lies outside",
        basis=first.where,
    )
    gradient = Derived(
        "gradient at the aim", first.gradient, "1", source=CURVE, basis=film.basis if film else ""
    )
    seconds = float(shot.seconds.value) if isinstance(shot.seconds.value, int | float) else math.nan
    return [
        Derived(
            f"first_film_time_at_{read:.1f}",
            seconds * factor,
            "s",
            formula="planned time x K(aim) / K(read)",
            inputs=(shot.seconds.named(), aim, Derived("factor", factor, "1"), gradient),
            source=CURVE,
            basis=f"exposure 1, where {read:.1f} is read at the lightest place",
        )
        for read, factor in first.factors()
    ]


def decay_figures(nuclide: str, exposure: Exposure, moment: datetime) -> list[Derived]:
    """Activity and time of exposure 1 on each of the following days, as the decay table prints them."""
    if not exposure.shots or not isinstance(exposure.activity.value, int | float):
        return []
    found = []
    for d in decay_days(nuclide, exposure, moment=moment)[1:]:
        left = Derived(
            f"activity_day_{d.day}",
            d.activity_Bq,
            "Bq",
            formula="A0 2^(-t / T)",
            inputs=(exposure.activity.named(),),
            source="law of radioactive decay",
            basis=d.when.isoformat(),
        )
        time = Derived(
            f"exposure_time_day_{d.day}",
            d.seconds[0],
            "s",
            formula="planned time x 2^(t / T)",
            inputs=(exposure.shots[0].seconds.named(), Derived("factor", d.factor, "1")),
            source="law of radioactive decay",
            basis=f"exposure 1 on {d.when.isoformat()}",
        )
        found += [left, time]
    return found


def coverage_figures(order: Order, c: Candidate, exposure: Exposure, outer_m: float) -> list[Derived]:
    """What is judged by each exposure, by how much neighbours lap, the reserve, and how far a clock may be off."""
    found = judged.sectors(c, exposure.coverage)
    out = [
        Derived(
            f"judged_{s.exposure}_{s.wall.replace('-', '_').replace(' ', '_')}"
            + ("" if n == 0 else f"_{n + 1}"),
            s.length_rad,
            "rad",
            basis=f"from clock {math.degrees(s.start_rad):.1f} deg, clockwise",
            source=COVER,
        )
        for exposure_wall in dict.fromkeys((s.exposure, s.wall) for s in found)
        for n, s in enumerate(s for s in found if (s.exposure, s.wall) == exposure_wall)
    ]
    whole = any(s.whole for s in found) or c.arrangement == "bore"
    if whole or {s.exposure for s in found} != set(range(1, len(c.shots) + 1)):
        return out
    least = judged.least_lap_rad([(s.start_rad, s.length_rad) for s in found])
    if least is None:
        return out
    lap = Derived(
        "lap_least",
        least,
        "rad",
        formula="farthest end so far less the next start, round the pipe; below 0: a gap",
        inputs=(Derived("asked", c.lap_rad, "rad"),),
        source=COVER,
        basis=f"{max(least, 0.0) * outer_m / 2:.4g} m round the outside",
    )
    reserve = judged.least_reserve_rad(found)
    room = judged.growth_room_rad(c)
    half = Derived("half of the least lap", max(least, 0.0) / 2, "rad")
    kept, end = judged.clock_room_rad(c, exposure.coverage) or (max(least, 0.0) / 2, judged.LAP)
    usable = () if room is None else (Derived("half of usable arc less judged arc", room, "rad"),)
    return [
        *out,
        lap,
        Derived(
            "reserve_least",
            reserve,
            "rad",
            formula="how far every film shows the weld past both ends of what is judged",
            source=COVER,
            basis=f"{reserve * outer_m / 2:.4g} m round the outside",
        ),
        Derived(
            "clock_room",
            kept,
            "rad",
            formula="the least of half the least lap, half of what the usable arc is longer than the judged, and what "
            "films show past a marker before another end than the growth of the wall",
            inputs=(
                half,
                *usable,
                Derived("reserve", reserve, "rad", source=COVER),
                Derived("reckoned with", order.clock_tolerance_rad, "rad", source="the order"),
            ),
            source=COVER,
            basis=f"ended by: {end}",
        ),
    ]


def viewer_figures(c: Candidate, exposure: Exposure) -> list[Derived]:
    """The luminance that the darkest place read asks of the viewer; none without a film."""
    if not any(s.density for s in exposure.shots):
        return []
    dark = darkest_read(c, exposure)
    return [
        Derived(
            "viewer_needed",
            viewer_for(dark),
            "cd/m2",
            formula="30 x 10^D to density 2.5, 10 x 10^D above, the larger up to D",
            inputs=(Derived("darkest density read", dark, "1"),),
            source=VIEWER_SOURCE,
        )
    ]
