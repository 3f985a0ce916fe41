"""Two films of different speed in one holder, where one film cannot hold the density range of a weld."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Finding
from halflayer.exposure.film import DENSITY_MAX, FilmCurve, film_curve
from halflayer.exposure.result import ShotTime
from halflayer.order.equipment import Film
from halflayer.order.models import Order
from halflayer.technique.result import Candidate, RuleVerdict

Array = NDArray[np.float64]
COVERAGE = 1.645  # of a film's dose figure


@dataclass(frozen=True)
class Loading:
    """What lies in the holder: the candidate's film alone, or with a second one, the faster towards the pipe.

    Curves are by the kerma before the first film: that of the film behind is slower by what the other's screens take.
    """

    film: Film
    curve: FilmCurve
    second: Film | None = None
    second_curve: FilmCurve | None = None
    behind: float = 1.0  # share of the kerma that comes to the slower film

    @property
    def films(self) -> tuple[Film, ...]:
        """The films that lie in the holder."""
        return (self.film,) if self.second is None else (self.film, self.second)

    @property
    def curves(self) -> tuple[FilmCurve, ...]:
        """Curves of the films that lie in the holder."""
        return (self.curve,) if self.second_curve is None else (self.curve, self.second_curve)

    @property
    def fast(self) -> FilmCurve:
        """The curve that blackens first."""
        return min(self.curves, key=lambda c: c.kerma_for_2_Gy)

    @property
    def slow(self) -> FilmCurve:
        """The curve that blackens last."""
        return max(self.curves, key=lambda c: c.kerma_for_2_Gy)

    @property
    def fast_film(self) -> Film:
        """The film that blackens first."""
        return next(f for f, c in zip(self.films, self.curves, strict=True) if c is self.fast)

    @property
    def named(self) -> tuple[str, str]:
        """The faster and the slower film's id; of one film its own twice."""
        ids = {id(c): f.id for f, c in zip(self.films, self.curves, strict=True)}
        return ids[id(self.fast)], ids[id(self.slow)]

    def verdicts(self, kerma_Gy: Array, *, least: float, most: float) -> NDArray[np.int64]:
        """-1 too light on all films, 1 too dark on all, 0 within the densities on one at least; shape of `kerma_Gy`.

        Kermas that lie at a limit by the choice of the seconds count as within it (to a millionth).
        """
        low, high = (np.asarray(kerma_Gy, dtype=np.float64) * f for f in (1.0 + 1e-6, 1.0 - 1e-6))
        shown = np.zeros(np.shape(kerma_Gy), dtype=bool)
        for curve in self.curves:
            shown |= (low >= curve.kerma_Gy(least)) & (high <= curve.kerma_Gy(min(most, DENSITY_MAX)))
        light = low < self.fast.kerma_Gy(least)
        return np.where(shown, 0, np.where(light, -1, 1))


@dataclass(frozen=True)
class Change:
    """Where a reader takes the other of two films: densities that show whether both leave no band between them.

    Both films' dose figures are uncertain, so that the room planned may not be there: a longer time does not bring it,
    as it darkens both alike. `room` is a share of the kerma.
    """

    fast: str
    slow: str
    fast_most: float  # where the faster film ends
    slow_least: float  # which the slower one must read there or more
    slow_planned: float  # what it reads there as planned
    room: float
    slow_curve: FilmCurve

    def chance_open(self, *uncertainties: float) -> float:
        """Share of pairs that leave a band, for the relative uncertainties of the films' own dose figures.

        Formula: both kermas are normal about the planned ones, sigma = u / 1.645, and independent (our choice: films of
        one maker may err together, then fewer do); open where (1 + room) (1 + e_fast) < 1 + e_slow. The source's
        certificate moves both alike.
        """
        fast, slow = uncertainties
        sigma = max(math.hypot((1.0 + self.room) * fast, slow) / COVERAGE, 1e-9)
        return 0.5 * math.erfc(self.room / sigma / math.sqrt(2.0))

    def factor(self, read: float) -> float:
        """Factor on the time of one more exposure in which the slower film reads as planned there, for one read now."""
        return self.slow_curve.kerma_Gy(self.slow_planned) / self.slow_curve.kerma_Gy(read)


def change_of(loading: Loading, candidate: Candidate) -> Change | None:
    """The change of films of a loading; None for one film and for two that do not meet.

    Formula: room = K_fast(most) / K_slow(least) - 1, the slower film planned at K_fast(most).
    """
    if loading.second is None:
        return None
    least, most = candidate.density_min, min(candidate.density_max, DENSITY_MAX)
    end, start = loading.fast.kerma_Gy(most), loading.slow.kerma_Gy(least)
    if end < start:
        return None
    fast, slow = loading.named
    return Change(fast, slow, most, least, float(loading.slow.density(end)), end / start - 1.0, loading.slow)


def pair(film: Film, second: Film, through: Callable[[Film], float]) -> Loading:
    """Two films in one holder; `through(front)` is the share of the kerma that a first film leaves for the second."""
    one, other = film_curve(film), film_curve(second)
    slower = one.kerma_for_2_Gy > other.kerma_for_2_Gy
    share = through(second if slower else film)
    if slower:
        one = behind_curve(one, share)
    else:
        other = behind_curve(other, share)
    return Loading(film, one, second, other, share)


def behind_curve(curve: FilmCurve, share: float) -> FilmCurve:
    """A film's curve by the kerma before the first film, where only a share of it comes to it."""
    return replace(curve, kerma_for_2_Gy=curve.kerma_for_2_Gy / share)


def spread_held(loading: Loading, candidate: Candidate) -> float:
    """Largest over least kerma that the loading shows within the densities, each place on one film at least.

    0 where a density between the two films' ranges is shown on neither.
    """
    least, most = candidate.density_min, min(candidate.density_max, DENSITY_MAX)
    if loading.fast.kerma_Gy(most) < loading.slow.kerma_Gy(least):
        return 0.0
    return loading.slow.kerma_Gy(most) / loading.fast.kerma_Gy(least)


def reading_room(curve: FilmCurve, candidate: Candidate) -> float:
    """Factor on the kerma that the first film's window must hold: twice the code's reading tolerance wide.

    A window that is narrower cannot be told from outside it by a densitometer: K(least + 2 tolerance) / K(least).
    """
    wide = min(candidate.density_min + 2.0 * candidate.density_tolerance, DENSITY_MAX)
    return curve.kerma_Gy(wide) / curve.kerma_Gy(candidate.density_min)


def load(
    order: Order,
    candidate: Candidate,
    film: Film,
    spreads: Sequence[float],
    through: Callable[[Film], float],
) -> Loading:
    """The loading of the holder for a weld: the film alone where it holds the spread of every shot, else a pair.

    `spreads` is the largest over the least kerma on the evaluated length, shot by shot. A loading that leaves the
    first film a window no narrower than its reading tolerance comes before one that just holds the spread.
    The second film is one of the candidate's partners (of the order's films those that the code admits in the same
    place and that have the same sheet). Of the pairs that hold every spread the one that blackens first is taken;
    where none does, the film alone, and the plan warns. `through`: see `pair`.
    """
    alone = Loading(film, film_curve(film))
    wanted = max(spreads, default=0.0)
    films = {f.id: f for f in order.detectors}
    if wanted * reading_room(alone.fast, candidate) <= spread_held(alone, candidate):
        return alone
    pairs = [pair(film, films[n], through) for n in candidate.partners]
    pairs.sort(key=lambda p: p.fast.kerma_for_2_Gy)
    for one in pairs:
        if wanted * reading_room(one.fast, candidate) <= spread_held(one, candidate):
            return one
    return next((one for one in (alone, *pairs) if wanted <= spread_held(one, candidate)), alone)


# A finding that ends so is told by the films and densities that a sheet prints.
PRINTED = "The slower lies behind the faster and its screens, which its densities hold."


def finding(loading: Loading, candidate: Candidate, least: float, most: float) -> Finding:
    """What a crew must know of a pair; `least` and `most` are kermas of the evaluated length [Gy]."""
    assert loading.second is not None and loading.second_curve is not None
    words = []
    for film, curve in ((loading.film, loading.curve), (loading.second, loading.second_curve)):
        low, high = float(curve.density(least)), float(curve.density(most))
        speed = "fast" if curve is loading.fast else "slow"
        words.append(f"{film.id} ({film.film_class}, {speed}) {low:.2f} to {high:.2f}")
    return Finding(
        "note",
        f"Two films in one holder, as one cannot hold the range with room to read it: {' and '.join(words)}. Each "
        f"place lies between {candidate.density_min:g} and {candidate.density_max:g} on one of them at least; each is "
        f"read alone. {PRINTED}",
        "common practice, no source",
    )


WINDOW = "density of each place"
SINGLE = "each film alone (single viewing), over what is judged on it"


def change_rule(candidate: Candidate) -> str:
    """The one rule by which a reader goes from film to film: either film is judged over all of its range.

    The plan changes in the middle of what both show in range; what it expects of each is told with the densities.
    """
    least, most = candidate.density_min, min(candidate.density_max, DENSITY_MAX)
    front = f"judge the front film where it reads {least:.2f} to {most:.2f}"
    return f"{front}; darker there: the rear film, {least:.2f} or more"


def verdict(loading: Loading | None, candidate: Candidate, shots: Sequence[ShotTime]) -> RuleVerdict | None:
    """Whether each of two films lies within the densities over all that is judged on it; None for one film."""
    if loading is None or loading.second is None:
        return None
    least, most = candidate.density_min, min(candidate.density_max, DENSITY_MAX)
    told, inside = [], True
    for film in loading.named:
        zones = [z for s in shots if s.pair for z in s.pair.zones if z.film == film]
        if not zones:
            continue
        low, high = min(z.least for z in zones), max(z.most for z in zones)
        inside &= least - 1e-3 <= low and high <= most + 1e-3
        told.append(f"{film} {low:.2f} to {high:.2f}")
    over = f"; {change_rule(candidate)}" if len(told) > 1 else ""
    return RuleVerdict(
        WINDOW,
        f"{least:g} to {most:g} on {SINGLE}",
        f"{', '.join(told)}{over}",
        "holds" if inside else "breaks",
        "the code's range of densities",
    )


def left(found: Finding) -> str:
    """The text of a finding; of that on two films nothing is left to say beside a sheet that prints both."""
    return "" if found.text.endswith(PRINTED) else found.text


def loading_of(order: Order, candidate: Candidate, shot: ShotTime) -> Loading | None:
    """What lay in the holder of a timed shot; None for a digital detector."""
    films = {f.id: f for f in order.all_detectors if isinstance(f, Film)}
    film = films.get(candidate.detector)
    if film is None:
        return None
    if shot.second is None:
        return Loading(film, film_curve(film))
    share = shot.second.behind
    return pair(film, films[shot.second.detector], lambda _: share)
