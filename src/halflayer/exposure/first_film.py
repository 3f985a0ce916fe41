"""The first film of a set-up: between which densities the work goes on, and the factor on the time for another reading.

The method of the characteristic curve: factor = K(aim) / K(read), which near the aim is 10^((aim - read) / G) with
the gradient G = dD/dlog10 K. What is read is the lightest place of what is judged: on it hangs whether a film is dark
enough, and the darkest place follows by the ratio of the two kermas, which the time does not change.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.exposure.calibrate import retime
from halflayer.exposure.film import DENSITY_MAX, FilmCurve
from halflayer.exposure.film_time import MARGIN
from halflayer.exposure.result import Density, ShotTime
from halflayer.exposure.two_films import Loading
from halflayer.technique.result import Candidate

# Our choice: readings for which the factor is given, and the factor beyond which the film is not what is wrong.
READINGS = (1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 2.1, 2.2, 2.5, 3.0, 3.5, 4.0)
MOST_FACTOR = 2.0
COVERAGE = 1.645  # of the allowances of film and certificate: 9 of 10
SAME_AIM = (
    0.1  # our choice, what a densitometer tells apart: the aim is then the planned density itself, one figure
)

OFTEN = 0.2  # of first films outside their window: it is told from there on, our choice
MISSED = "normal law of the allowances of film and certificate, coverage 1.645"  # told beside the first film


@dataclass(frozen=True)
class FirstFilm:
    """Total densities of the lightest place judged, on the film that blackens first.

    `planned` is what the plan's time gives; from `least` to `most` everything judged lies in the code's range on one
    film at least. None for `most`: no time keeps all of it in range. `aim` is what another time is made for.
    """

    detector: str
    slow: str  # the second film of the holder, on which the darkest place is read; "" with one film
    planned: float
    least: float
    most: float | None
    aim: float
    where: str
    curve: FilmCurve

    def factor(self, read: float) -> float:
        """Factor on the exposure time for a density read at the lightest place. Raises: OutOfRange."""
        return retime(seconds=1.0, density_got=read, density_wanted=self.aim, curve=self.curve)

    def goes_on(self, read: float) -> bool:
        """True where a film of such a reading stands."""
        return self.most is not None and self.least <= read <= self.most

    @property
    def spare(self) -> float:
        """Reading below which the film stands, but those after it take another time: nothing is left to them else.

        Midway between the least of the window and what is planned, up to the next twentieth, our choice; the least
        itself where nothing lies between them to tell apart.
        """
        midway = math.ceil((self.least + self.planned) * 10 - 1e-6) / 20
        return midway if self.planned - self.least > SAME_AIM else self.least

    def factors(self) -> tuple[tuple[float, float], ...]:
        """Readings that ask for another time, of a factor that a film's spread can explain, each with its factor."""
        asks = (d for d in READINGS if not self.goes_on(d) or d < self.spare)
        found = ((d, self.factor(d)) for d in asks if abs(d - self.aim) > 0.05)
        return tuple((d, f) for d, f in found if 1 / MOST_FACTOR <= f <= MOST_FACTOR)

    def expected(self, *uncertainties: float) -> tuple[float, float]:
        """Densities between which the lightest place is expected for relative uncertainties of the kerma's effect.

        Formula: D(K (1 - u)) to D(K (1 + u)) with u the root of the sum of their squares: the film's dose figure and
        the certificate's activity, both at coverage 1.645, so that one film in ten lies outside.
        """
        u = min(math.hypot(*uncertainties), 0.99)
        kerma = self.curve.kerma_Gy(self.planned)
        low, high = (float(self.curve.density(kerma * f)) for f in (1.0 - u, 1.0 + u))
        return low, high

    def chance_outside(self, *uncertainties: float) -> float:
        """Share of first films whose lightest place reads outside the window, for uncertainties as of `expected`.

        Formula: the kerma's effect is normal about the planned one, sigma = u / 1.645. 1 where there is no window.
        """
        if self.most is None:
            return 1.0
        sigma = max(math.hypot(*uncertainties) / COVERAGE, 1e-9)
        kerma = self.curve.kerma_Gy(self.planned)
        low, high = (
            0.5 * (1.0 + math.erf((self.curve.kerma_Gy(d) / kerma - 1.0) / sigma / math.sqrt(2.0)))
            for d in (self.least, self.most)
        )
        return 1.0 - max(high - low, 0.0)

    @property
    def gradient(self) -> float:
        """Gradient dD/dlog10 K at the aim."""
        return self.curve.gradient(self.aim)


def first_film(loading: Loading, candidate: Candidate, shot: ShotTime) -> FirstFilm | None:
    """What decides on the first film of a shot; None where its densities lie outside the curve (nothing to go by)."""
    if shot.density is None:
        return None
    shown: list[tuple[str, FilmCurve, Density]] = [(loading.film.id, loading.curve, shot.density)]
    if shot.second is not None and loading.second_curve is not None:
        shown.append((shot.second.detector, loading.second_curve, shot.second.density))
    fast = min(shown, key=lambda s: s[1].kerma_for_2_Gy)
    slow = max(shown, key=lambda s: s[1].kerma_for_2_Gy)
    least, planned = candidate.density_min, fast[2].least
    if not 0.5 <= planned <= DENSITY_MAX:
        return None
    most = _most(fast[1], planned, slow[1], slow[2].most, min(candidate.density_max, DENSITY_MAX))
    most = None if most is None or most < least else most
    aim = least if most is None else max(min(planned, most), min(least + MARGIN, (least + most) / 2))
    if most is not None and planned <= most and aim - planned <= SAME_AIM:
        aim = planned
    return FirstFilm(
        detector=fast[0],
        slow=slow[0] if len(shown) > 1 else "",
        planned=planned,
        least=least,
        most=most,
        aim=aim,
        where=fast[2].where_least,
        curve=fast[1],
    )


def _most(fast: FilmCurve, lightest: float, slow: FilmCurve, darkest: float, allowed: float) -> float | None:
    """Density of the lightest place at which the darkest one lies at the range's end; None: too dark by far."""
    if not 0.5 <= darkest <= DENSITY_MAX:
        return None
    grows = slow.kerma_Gy(allowed) / slow.kerma_Gy(darkest)
    return float(fast.density(fast.kerma_Gy(lightest) * grows))


def of_misses(
    first: FirstFilm,
    allowances: tuple[float, float],
    *,
    films: int,
    out_s: float | None = None,
    wait_s: float = 0.0,
) -> list[Finding]:
    """How many first films fall outside their window, and what is done; `allowances` of film and certificate.

    `out_s`, `wait_s`: what a shot made before to calibrate the film costs, the source out and until its film is read.

    Formula: `FirstFilm.chance_outside`. Two films are taken where one does not hold the range, not for this: a film's
    own dose figure, once known from exposure 1, serves all others.
    """
    chance = first.chance_outside(*allowances)
    if first.most is None or chance < OFTEN:
        return []
    film, source = allowances
    cost = "" if out_s is None else f": {show(out_s, 'time')} more of source out and its dose, a sheet, "
    cost += f"{show(wait_s, 'time')} until it is read" if cost else ""
    return [
        Finding(
            "note",
            f"First film: {chance:.0%} fall outside {first.least:.2f} to {int(first.most * 100 + 1e-6) / 100:.2f} on "
            f"{first.detector}, by its dose figure ({film:.0%}) and the certificate ({source:.0%}). Exposure 1 is read "
            "before the others are shot, shot again by its reading where it is outside, and corrects all others; "
            + (
                "two films lie in the holder."
                if films > 1
                else "one film holds the range planned, so no second lies."
            ),
            MISSED,
            (
                "the film calibrated (calibration of the film)",
                f"a shot before to calibrate it (allowance: trial: always){cost}",
            ),
        )
    ]
