"""What the exposure stage gives for the shots of a weld."""

from __future__ import annotations

from dataclasses import dataclass

from halflayer.base.result import Derived, Finding
from halflayer.technique.result import RuleVerdict


@dataclass(frozen=True)
class Density:
    """Predicted optical density on the film: at the weld, least and most over the evaluated length."""

    weld: float
    least: float
    most: float
    sigma: float  # absolute, of the density at the weld
    where_least: str
    where_most: str


@dataclass(frozen=True)
class SignalToNoise:
    """Predicted normalised signal-to-noise ratio of a digital detector over the evaluated length."""

    weld: float
    beside_least: float  # least beside the cap, where the code asks it
    most: float
    required: float
    sigma: float  # absolute, of the least
    where_least: str
    frames: int | None  # of a panel


@dataclass(frozen=True)
class SecondFilm:
    """The second film of a holder, and the densities that it shows; with both, each place lies in range on one."""

    detector: str
    density: Density
    behind: float = 1.0  # share of the kerma before the faster film that comes to the slower one behind it


@dataclass(frozen=True)
class Indicator:
    """An image quality indicator as one film of two shows it, and the densities that the code lets it hold."""

    film: str
    wall: str
    from_middle_rad: float  # clock from the middle of the arc judged, clockwise positive
    least: float  # density read beside it, on the crown and beside the cap, as far as in range
    most: float
    holds_from: float
    holds_to: float


@dataclass(frozen=True)
class Variation:
    """Departure of the density judged from that at the indicator, as shares, and where further ones are laid."""

    least: float | None  # None: two films, each held to indicators of its own
    most: float | None
    further: tuple[str, ...]
    indicators: tuple[Indicator, ...] = ()  # of two films: all that are laid, film by film
    loose: tuple[str, ...] = ()  # of two films: places that no indicator holds


@dataclass(frozen=True)
class Stretch:
    """A stretch that the slower film of two judges, from and to by the clock from the middle of its arc [rad]."""

    wall: str
    what: str  # "weld crown", "beside the cap, left" or "beside the cap, right"
    from_rad: float
    to_rad: float


@dataclass(frozen=True)
class FilmZone:
    """Densities of one film of two over what is judged on it, and where the indicator lies that is read on it."""

    film: str
    least: float
    most: float
    indicator: Indicator | None


@dataclass(frozen=True)
class PairReading:
    """Which of two films judges what: the slower one its stretches, the faster one, towards the pipe, the rest."""

    behind: float  # share of the kerma that comes to the slower film through the faster one's screens
    fast_at: float  # density of the faster film where it hands over
    slow_at: float
    slow: str
    zones: tuple[FilmZone, ...]
    stretches: tuple[Stretch, ...]


@dataclass(frozen=True)
class ShotTime:
    """Exposure time of one shot and the density (film) or the signal-to-noise ratio (digital) it gives."""

    seconds: Derived  # value in s, trail down to half-life, line table, film figures
    density: Density | None  # None: a digital detector
    kerma_rate_Gy_s: float  # at the detector behind the weld, scatter included
    scatter_to_primary: float
    scatter_to_primary_sigma: float
    snr: SignalToNoise | None = None  # None: a film
    second: SecondFilm | None = None  # beside the candidate's film, where one cannot hold the range
    variation: Variation | None = None  # where the code bounds the density by that at the indicator
    pair: PairReading | None = None  # of two films in one holder


@dataclass(frozen=True)
class Covered:
    """A stretch of the weld that one exposure covers, by the clock [rad], and what ends it on both sides.

    Ends: "film", "beam", "growth of the crossed wall", "too light", "too dark", "not looked at farther"; "" all round.
    """

    exposure: int  # number, from 1
    wall: str  # "wall"; of two images "source-side wall" or "film-side wall"
    start_rad: float
    length_rad: float
    ends: tuple[str, str]


@dataclass(frozen=True)
class Coverage:
    """The weld unrolled: what each exposure covers, and the stretches (start clock, length) that none covers [rad]."""

    covered: tuple[Covered, ...]
    uncovered: tuple[tuple[float, float], ...]
    step_rad: float  # to which the ends are known


@dataclass(frozen=True)
class FirstSurvey:
    """The first survey of a weld with the source out: points read, way walked, seconds the source is out.

    It comes before any film, or `in_first`: in exposure 1, film in place, which lasts at least as long.
    """

    points: int
    way_m: float
    out_s: float
    # Of the other points so many are read during each exposure, from the first on, and how long that takes in all.
    others: tuple[int, ...] = ()
    others_s: float = 0.0
    in_first: bool = False
    longer: int = 0  # at so many of them no meter tells the expected reading: they are read longer

    @property
    def during_s(self) -> float:
        """How long something is read during exposures [s], the survey itself among it where it is made in one."""
        return self.others_s + (self.out_s if self.in_first else 0.0)


@dataclass(frozen=True)
class ReadAgain:
    """Readings without a film before an exposure: points, way walked, seconds the source is out, how many exposures.

    The last `times` exposures of a weld have one each; the first survey stands in for that before exposure 1.
    """

    points: int
    way_m: float
    out_s: float
    times: int


@dataclass(frozen=True)
class Exposure:
    """Times of all shots of a weld, in the order of the shots, at the moment stated."""

    activity: Derived  # Bq at the moment of the shot
    shots: tuple[ShotTime, ...]
    findings: tuple[Finding, ...]
    coverage: Coverage | None = None
    rules: tuple[RuleVerdict, ...] = ()  # of the code, whose verdict waits for times and densities
    first_survey: FirstSurvey | None = None  # None: the order does not state one
    read_again: ReadAgain | None = None  # None: nothing has to be read before each exposure

    @property
    def first_out_s(self) -> float:
        """How long the source is out for the first survey beside exposures [s]; 0 without one and in exposure 1."""
        survey = self.first_survey
        return survey.out_s if survey and not survey.in_first else 0.0

    @property
    def again_out_s(self) -> float:
        """How long the source is out for the reading before an exposure that needs one [s]; 0 where none does."""
        return self.read_again.out_s if self.read_again else 0.0

    @property
    def again_times(self) -> int:
        """Before how many of the planned exposures it is read."""
        return self.read_again.times if self.read_again else 0

    @property
    def readings_without_film(self) -> int:
        """How often the set-up stands ready without a film, to be read: first survey and readings before exposures."""
        return (self.first_out_s > 0.0) + self.again_times
