"""Time, films and exposures that a weld takes with trial shot and reshoots, step by step, and a shift's sum of them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.exposure.findings import GENERIC
from halflayer.exposure.first_film import first_film
from halflayer.exposure.result import Exposure, ShotTime
from halflayer.exposure.two_films import change_of, loading_of
from halflayer.order.digital import Detector
from halflayer.order.equipment import Film
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.technique.result import Candidate

TRIAL = "trial shot, developed and read"
FIRST_READ = "first film or image, developed and read"
LAST_READ = "last films or images accepted, before taking down"
OFTEN_OF_TEN = (
    2  # first films outside their window, in ten: from there on film is brought for one more, our choice
)
OVERLAP_M = 0.010  # of sheets that lie end to end (usual practice)
MOUNTING, RESETTING = "mounting the shield", "resetting between exposures"
MOVING, ROPING, SEARCH = "moving head and kit", "roping, longer than setting up", "search, all out"
FIRST_SURVEY = "first survey, source out, no film"
OPENED = "opened after it, film in, laid anew"
FIRST_HOME = "source's way, walks, survey after it, film in"
AGAIN = "reading before an exposure, source out, no film"
AGAIN_HOME = "source's way, walks, survey after each, film in"
RESHOOTS = "reshoots allowed for"
EXPOSURES = "exposures"


@dataclass(frozen=True)
class BudgetStep:
    """One step of the work at a weld: how often, how long each time; reshoots are whole exposures."""

    what: str
    times: float
    each_s: float

    def __post_init__(self) -> None:
        # A count is kept as it is read back from a stored plan, so that both give the same bytes.
        object.__setattr__(self, "times", float(self.times))

    @property
    def total_s(self) -> float:
        """Time of all of them."""
        return self.times * self.each_s


@dataclass(frozen=True)
class DoseAllowance:
    """A person's dose for the planned exposures' repeated steps, and what trial and reshoots may add [Sv]."""

    name: str
    extra_Sv: float | None  # None: a step's dose is not computed


@dataclass(frozen=True)
class TimeBudget:
    """What a weld takes: steps one after the other, sheets of film (or scans) by detector, exposures to count on.

    `exposures` is the planned number with the trial and the reshoots, whole ones; its ratio to the planned one is
    the factor on everything that comes with an exposure.
    """

    steps: tuple[BudgetStep, ...]
    films: tuple[tuple[str, int], ...]
    planned: int
    exposures: int | float  # a float in records of plans that counted shares of an exposure
    trial: bool
    extra_doses: tuple[DoseAllowance, ...]
    basis: str
    reset: str = ""  # why a reset takes longer than the order states; empty where it does not
    wait_s: float = 0.0  # of the steps: the crew waits until exposure 1 (or the trial) is developed and read
    last_wait_s: float = 0.0  # and until the last films are accepted, where the set-up stays so long

    @property
    def total_s(self) -> float:
        """Time of all steps."""
        return math.fsum(s.total_s for s in self.steps)

    @property
    def trial_s(self) -> float:
        """Time of the trial shot; 0 without one."""
        return math.fsum(s.total_s for s in self.steps if s.what == TRIAL)

    @property
    def again_s(self) -> float:
        """What a trial takes more than a first film; 0 without one. A detector's trial is shot at its first weld."""
        return self.trial_s - self.wait_s if self.trial else 0.0

    @property
    def factor(self) -> float:
        """Exposures to count on over planned ones."""
        return self.exposures / self.planned


def counted_in(trial: bool, *, changes: bool = False) -> str:
    """What is counted beside planned exposures, in words: trial shots only where one is planned.

    >>> counted_in(False), counted_in(True, changes=True)
    ('reshoots', 'trial shots, reshoots and source changes')
    """
    parts = [*(["trial shots"] if trial else []), "reshoots", *(["source changes"] if changes else [])]
    return " and ".join(p for p in (", ".join(parts[:-1]), parts[-1]) if p)


def reshoots_allowed(order: Order, planned: int) -> int:
    """Whole exposures allowed for as shot again at one weld: the order's share of the planned ones, rounded up."""
    return math.ceil(order.allowance.reshoots * planned - 1e-9)


def exposures_to_count(order: Order, candidate: Candidate, planned: int) -> int:
    """Whole exposures of a weld to count on: the planned ones, a trial where one is shot, and what is shot again."""
    detector = next(d for d in order.all_detectors if d.id == candidate.detector)
    return planned + int(wants_trial(order, detector)) + reshoots_allowed(order, planned)


def spare_exposures(order: Order, candidate: Candidate, exposure: Exposure) -> int:
    """Exposures more that film is brought for: one where a first film may well miss its window, and of two films all
    planned ones, less the reshoots, where their change may well fail; 0 elsewhere.

    The one takes the film of the first reshoot; time and dose stay those of the order's share.
    """
    shot, n = exposure.shots[0], len(exposure.shots)
    again = max(n - reshoots_allowed(order, n), 0) if change_often_fails(order, candidate, shot) else 0
    loading = loading_of(order, candidate, shot)
    first = first_film(loading, candidate, shot) if loading else None
    if loading is None or first is None or wants_trial(order, loading.film):
        return again
    source = next(s for s in order.sources if s.id == candidate.source)
    film = next(d for d in order.detectors if d.id == first.detector)
    chance = first.chance_outside(film.dose_uncertainty, source.activity_uncertainty)
    return again + int(round(10 * chance) >= OFTEN_OF_TEN)


def change_often_fails(order: Order, candidate: Candidate, shot: ShotTime) -> bool:
    """True where two films may well leave a band between them: each exposure is then shot once more."""
    loading = loading_of(order, candidate, shot)
    change = change_of(loading, candidate) if loading else None
    if loading is None or change is None:
        return False
    spread = {f.id: f.dose_uncertainty for f in loading.films}
    return round(10 * change.chance_open(spread[change.fast], spread[change.slow])) >= OFTEN_OF_TEN


def wants_trial(order: Order, detector: Detector) -> bool:
    """True when the first exposure is to be developed and read before the others, by the order's allowance.

    "When not calibrated": a film without the crew's own calibration whose dose figure is less certain than
    20 %; a digital detector whose dose figure is (its image is seen at once, but its times are as uncertain).
    """
    if order.allowance.trial != "when not calibrated":
        return order.allowance.trial == "always"
    own = isinstance(detector, Film) and detector.calibration != 1.0
    return not own and detector.dose_uncertainty > GENERIC


def sheets_for(order: Order, weld: Weld, candidate: Candidate) -> int:
    """Sheets (or plates) laid for one exposure: one, or as many as go round a panoramic one with their overlap."""
    if candidate.technique != "SWSI panoramic":
        return 1
    detector = next(d for d in order.all_detectors if d.id == candidate.detector)
    return math.ceil(_turn_m(weld, candidate) / max(max(detector.sheet) - OVERLAP_M, OVERLAP_M) - 1e-9)


def _turn_m(weld: Weld, candidate: Candidate) -> float:
    """Once round the pipe where the sheets of a panoramic exposure lie [m]."""
    return 2 * math.pi * (weld.pipe.od / 2 + candidate.geometry.object_to_detector_m - weld.pipe.wall)


def sheet_lap_m(order: Order, weld: Weld, candidate: Candidate) -> float:
    """By how much neighbouring sheets of a panoramic exposure lap, laid evenly: (n sheets - the turn) / n [m]."""
    detector = next(d for d in order.all_detectors if d.id == candidate.detector)
    n = sheets_for(order, weld, candidate)
    return max(detector.sheet) - _turn_m(weld, candidate) / n


def ropers(order: Order) -> tuple[str, ...]:
    """Names of those who rope while others set up: all of the crew who do nothing at the head then."""
    return tuple(p.name for p in order.crew if ("set-up" not in p.tasks if p.tasks else p.role == "sentry"))


def before_s(order: Order, mounting_s: float) -> tuple[float, float, float]:
    """Time of a weld beside its set-up: moving there, what roping takes longer than setting up, the search [s].

    Roping goes on beside setting up where the crew has people for it, else before; the area is searched once whoever
    set up is out.
    """
    t = order.crew_times
    beside = t.set_up_s + mounting_s if ropers(order) else 0.0
    return t.moving_s or 0.0, max((t.roping_s or 0.0) - beside, 0.0), t.search_s or 0.0


def first_home_s(order: Order, exposure: Exposure, travel_s: float) -> float:
    """Time of a weld's first survey beside its readings [s]: the source's way, the walk in to read it home and lay the
    film, and out.

    0 where the order does not state how many points are read, and where it is made in exposure 1.
    """
    return home_s(order, travel_s) if exposure.first_out_s else 0.0


def again_home_s(order: Order, exposure: Exposure, travel_s: float) -> float:
    """The same of each reading before an exposure [s]; 0 where none is due."""
    return home_s(order, travel_s) if exposure.read_again else 0.0


def home_s(order: Order, travel_s: float) -> float:
    """Time of a reading without a film beside the source out [s]: its way, the walk in, reading it home, the film in,
    which that of an exposure takes too, and out."""
    t = order.crew_times
    return 2 * travel_s + 2 * t.walk_s + t.survey_s + t.film_change_s


def time_budget(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    exposure: Exposure,
    *,
    mounting_s: float,
    reset_s: float,
    reset_words: str = "",
    openings: int = 0,
    repeated_doses: Sequence[tuple[str, float | None]] = (),
) -> TimeBudget:
    """The budget of one weld. `mounting_s`: time to mount its shield; `reset_s`: between two exposures, with why
    it is longer than stated in `reset_words`; `openings`: resets more that put a film in after a reading without one;
    `repeated_doses`: by person, the dose of the steps that come again with
    every exposure [Sv], None where it is not computed.

    A cycle is: source out and back, exposure, walk in and out, survey, film change; resetting lies between two
    exposures. Exposure 1 is developed and read before the next one (before taking down where there is none), the last
    ones before taking down where the order has the set-up stay until they are accepted; the trial
    is one cycle more with that wait in it. Reshoots are their share of the cycles, rounded up, with a reset.
    Before them stands the first survey, with the source out and no film, where the order states it, and before each
    exposure what is read for a head that may be off, where that is due; reshoots have it too.
    Times of the crew are the order's (`crew_times`, `allowance`).
    """
    times, allowed, n = order.crew_times, order.allowance, len(exposure.shots)
    head = next(h for h in order.heads if h.id == candidate.head)
    detector = next(d for d in order.all_detectors if d.id == candidate.detector)
    shots = [float(s.seconds.value or 0.0) for s in exposure.shots]
    mean = math.fsum(shots) / n
    round_s = 2 * head.travel_s + 2 * times.walk_s + times.survey_s + times.film_change_s
    again_s = exposure.again_out_s + again_home_s(order, exposure, head.travel_s)
    more_s = again_s + (reset_s if openings and exposure.again_times else 0.0)  # of an exposure more
    trial = wants_trial(order, detector)
    down = mounting_s if allowed.take_down_s is None else allowed.take_down_s
    moving_s, roping_s, search_s = before_s(order, mounting_s)
    last_s = (
        0.0 if n == 1 and not trial else allowed.last_wait_s
    )  # of one exposure the first film is the last
    steps = [
        BudgetStep(MOVING, 1, moving_s),
        BudgetStep(ROPING, 1, roping_s),
        BudgetStep("setting up", 1, times.set_up_s),
        BudgetStep(MOUNTING, 1, mounting_s),
        BudgetStep(SEARCH, 1, search_s),
        BudgetStep(FIRST_SURVEY, 1, exposure.first_out_s),
        BudgetStep(FIRST_HOME, 1, first_home_s(order, exposure, head.travel_s)),
        BudgetStep(OPENED, openings, reset_s),
        BudgetStep(AGAIN, exposure.again_times, exposure.again_out_s),
        BudgetStep(AGAIN_HOME, exposure.again_times, again_s - exposure.again_out_s),
    ]
    if trial:
        steps.append(BudgetStep(TRIAL, 1, shots[0] + round_s + more_s + allowed.first_wait_s))
    steps += [
        BudgetStep(EXPOSURES, n, mean),
        BudgetStep("source on its way", 2 * n, head.travel_s),
        BudgetStep("walking in and out", 2 * n, times.walk_s),
        BudgetStep("survey", n, times.survey_s),
        BudgetStep("film change", n, times.film_change_s),
        BudgetStep(FIRST_READ, 0 if trial else 1, allowed.first_wait_s),
        BudgetStep(RESETTING, n - 1, reset_s),
        BudgetStep(RESHOOTS, reshoots_allowed(order, n), mean + round_s + reset_s + more_s),
        BudgetStep(LAST_READ, 1, last_s),
        BudgetStep("taking down", 1, down),
    ]
    exposures = exposures_to_count(order, candidate, n)
    factor = exposures / n
    second = exposure.shots[0].second
    names = [candidate.detector, *([second.detector] if second else [])]
    films = (exposures + spare_exposures(order, candidate, exposure)) * sheets_for(order, weld, candidate)
    return TimeBudget(
        steps=tuple(s for s in steps if s.total_s > 0.0),
        films=tuple((name, films) for name in names),
        planned=n,
        exposures=exposures,
        trial=trial,
        extra_doses=tuple(
            DoseAllowance(name, None if dose is None else dose * (factor - 1.0))
            for name, dose in repeated_doses
        ),
        basis=f"times per step: {times.basis}; allowance: {allowed.basis}",
        reset=reset_words,
        wait_s=allowed.first_wait_s,
        last_wait_s=last_s,
    )


@dataclass(frozen=True)
class ShiftBudget:
    """All ready welds of an order against the shift [s]: one after the other, shared by the teams at work."""

    welds: tuple[tuple[str, float], ...]  # by weld, a film's trial counted with the first weld that uses it
    total_s: float
    shift_s: float
    teams: int
    trials: bool = False  # a trial shot is planned at some weld

    @property
    def fits(self) -> bool:
        """True when each team's share ends in the shift."""
        return self.total_s <= self.shift_s * self.teams


def shift_budget(
    order: Order,
    budgets: Sequence[tuple[str, str, TimeBudget]],
    *,
    changes: Sequence[tuple[str, float]] = (),
) -> ShiftBudget:
    """The sum over welds; `budgets` holds (weld, detector, budget). A detector's trial is shot once.

    changes: source changes between welds, what and how long.
    """
    tried: set[str] = set()
    rows = []
    for weld, detector, budget in budgets:
        again = budget.again_s if detector in tried else 0.0
        if budget.trial:
            tried.add(detector)
        rows.append((weld, budget.total_s - again))
    rows += changes
    length = (order.shift.ends - order.shift.starts).total_seconds()
    trials = any(b.trial for _, _, b in budgets)
    return ShiftBudget(tuple(rows), math.fsum(s for _, s in rows), length, order.shift.teams, trials)


def shift_findings(shift: ShiftBudget, left_out: Sequence[str] = ()) -> list[Finding]:
    """Whether the ready welds fit into the shift, in words with figures; those left out of it are told apart.

    The longest is named without its time: that is its own sheet's, summed of what is printed there.
    """
    mine = [row for row in shift.welds if row[0] not in left_out]
    if not mine:
        return []
    done_s = math.fsum(s for _, s in mine)
    teams = "" if shift.teams == 1 else f" for {shift.teams} teams"
    most = max(mine, key=lambda row: row[1])
    changed = any(what.startswith("source change") for what, _ in shift.welds)
    work = f"with {counted_in(shift.trials, changes=changed)}"
    text = (
        f"The planned welds{' of this shift' if left_out else ''} together take {show(done_s, 'time', round_up=True)}"
        f" {work}, "
        f"the shift has {show(shift.shift_s * shift.teams, 'time')}{teams}; the longest is {most[0]}."
    )
    if left_out:
        more = show(shift.total_s - done_s, "time", round_up=True)
        text = f"{text.removesuffix('.')}; {', '.join(left_out)}, left to another shift, take {more} more."
    if shift.fits:
        return [Finding("note", text)]
    return [Finding("warn", text, relax=("a second team", "a second shift", "fewer welds in this shift"))]
