"""What the scheduling of a shift takes and gives."""

from __future__ import annotations

from dataclasses import dataclass, field

from halflayer.base.result import Derived, Finding
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import AveragedDose, CrewStep

LATE = "does not end within the shift"  # begins why a weld that falls out of it is left out
SHORT = "short by"  # and what it lacks of the shift's time, in minutes


@dataclass(frozen=True)
class PlaceRate:
    """Dose rate at a place while a weld's source is out: estimate, upper bound, and whether it is reliable.

    For a source that travels to its weld also the highest rate and the mean dose of one way, upper values.
    """

    rate_Sv_s: float
    upper_Sv_s: float
    reliable: bool
    peak_Sv_s: float = 0.0
    way_Sv: float = 0.0


CLEARING = "clearing"  # a stretch before a source change, in which its surroundings are emptied
BREAK = "break"  # a stretch that the order keeps free before a weld
# Stretches with the source out and no film.
FIRST_SURVEY, READ_AGAIN = "first survey", "reading before an exposure"


@dataclass(frozen=True)
class Job:
    """One weld as the shift sees it: times, place in plan, barrier, rates at the order's places, crew doses."""

    weld: str
    at: tuple[float, float]
    set_up_s: float
    shots_s: tuple[float, ...]
    pause_s: float  # source stored, between two exposures
    last_s: float  # source stored, after the last exposure: walk, survey, film
    rates: dict[str, PlaceRate] = field(default_factory=dict)
    barrier_m: float | None = None
    crew_Sv: tuple[Derived, ...] = ()  # in the sequence of the order's crew
    travel_s: float = 0.0  # of the source on its way, one way; 0: it stays in its head
    travel_known: bool = True  # False: it travels, and its doses on the way are not computed
    allowance: float = 1.0  # exposures to count on, trial and reshoots included, over those planned
    source: str = ""  # what it is shot with; "" leaves out of account what heads are loaded with
    device: str = ""  # what holds the source: a head, or the container that it is sent from
    extra_Sv: tuple[
        float | None, ...
    ] = ()  # what trial and reshoots may add to each person; None: not computed
    take_down_s: float = 0.0  # beside the closed head, after everything else
    head: str = ""  # whose readings are those of `device`
    # Time to count on, trial and reshoots included; 0: that of the planned steps. Of it the trial's, once a detector,
    # beyond the wait for its film.
    whole_s: float = 0.0
    trial_s: float = 0.0
    detector: str = ""
    first_out_s: float = 0.0  # source out for the first survey, before any film
    first_home_s: float = 0.0  # and the rest of that survey, source at rest
    # The same of what is read before an exposure, and the first exposure that has such a reading.
    again_out_s: float = 0.0
    again_home_s: float = 0.0
    again_from: int = 1
    wait_s: float = 0.0  # source stored, until exposure 1 is developed and read
    last_wait_s: float = 0.0  # and until the last films are accepted
    break_s: float = 0.0  # kept free before it, its source change included
    films_later: int = 0  # of its exposures, that nobody waits for
    films_again: int = 0  # and of what may be shot again

    @property
    def again_times(self) -> int:
        """Before how many exposures something is read, what is shot again among them."""
        return max(len(self.shots_s) - self.again_from + 1, 0) if self.again_out_s > 0.0 else 0

    @property
    def readings_s(self) -> float:
        """Time of all readings without a film, source out and at rest [s]."""
        again = self.again_times * (self.again_out_s + self.again_home_s)
        return self.first_out_s + self.first_home_s + again


@dataclass(frozen=True)
class Slot:
    """A stretch of a team's time; seconds from the start of the shift."""

    team: int  # from 1
    weld: str
    # "break", "clearing", "source change", "set-up", "first survey", "reading before an exposure", "exposure",
    # "between", "first film", "last films", "taking down"
    what: str
    shot: int | None  # from 1, for exposures
    start_s: float
    end_s: float


@dataclass(frozen=True)
class SourceChange:
    """A source taken into another device: before which weld, by which changer, and what rests and moves in it."""

    weld: str
    source: str
    into: str
    out: str  # the source that came out of that device; "": it was empty
    changer: str
    seconds: float
    # By source that is there: the heads or changers, by the id of their readings, in which it rests in turn.
    rests: tuple[tuple[str, tuple[str, ...]], ...] = ()
    moved: tuple[
        tuple[str, int], ...
    ] = ()  # by source: how often it is bare on its way, in or out of the changer
    clearing_s: float = (
        0.0  # before it, every source at rest in its head: everybody out of a bare source's reach
    )

    @property
    def whole_s(self) -> float:
        """What the schedule keeps free for it."""
        return self.clearing_s + self.seconds

    @property
    def words(self) -> str:
        """What is done, in a few words."""
        return (
            f"{self.source} into {self.into}"
            + (f", {self.out} out" if self.out else "")
            + f", by {self.changer}"
        )


@dataclass(frozen=True)
class BesideChange:
    """A place or a way into the area while a source change is made: distance, upper rates and dose, no wall counted."""

    weld: str  # that the change comes before
    place: str
    kind: str  # of the place; "way in" or "locked way in"
    distance_m: float
    rest_Sv_s: float | None  # every source at rest; None: not computed
    bare_Sv_s: float | None  # highest, a source bare on its way
    way_s: float  # how long a source is bare, all its ways
    dose_Sv: float | None  # of the change
    limit_Sv_s: float | None  # rate limit that holds there

    @property
    def above(self) -> bool:
        """True where the bare source brings more than the rate limit."""
        return None not in (self.limit_Sv_s, self.bare_Sv_s) and (self.bare_Sv_s or 0.0) > (
            self.limit_Sv_s or 0.0
        )


@dataclass(frozen=True)
class CrewShift:
    """One person's dose over the shift; value None where a weld's dose is not computed.

    Source changes are in it, and in the limits, unless a step of `changes` has no dose: then nothing holds.
    """

    id: str
    name: str
    dose: Derived
    limits: tuple[LimitCheck, ...]
    changes: tuple[
        tuple[str, CrewStep], ...
    ] = ()  # steps of source changes, by the weld that they come before

    @property
    def changes_known(self) -> bool:
        """False where the dose of a source change is not computed."""
        return all(step.dose_Sv is not None for _, step in self.changes)


@dataclass(frozen=True)
class Drops:
    """The last weld of the sequence: begun later than this it does not end within the shift."""

    weld: str
    begun_by_s: float  # from the start of the shift; its source change, where it has one, begins it
    takes_s: float  # reshoots and its source change counted in
    change_s: float = 0.0  # of this the source change that it stands on; 0: none
    changed_before: bool = (
        False  # planned before an earlier weld: still to be made only where that is left out
    )


@dataclass(frozen=True)
class LaterFilms:
    """The films that are read after the last exposure: how many, for how long, from when to when [s from the start].

    `most`, `most_from_s`, `most_to_s`: with what may be shot again.
    """

    count: int
    most: int
    first_s: float  # until the first of them is ready to read
    each_s: float
    from_s: float
    to_s: float
    most_from_s: float
    most_to_s: float


@dataclass(frozen=True)
class ShiftPlan:
    """The schedule of a shift and what adds up in it."""

    teams: int
    slots: tuple[Slot, ...]
    ends: Derived  # s from the start of the shift
    fits: bool
    places: tuple[AveragedDose, ...]  # four rules at each place, all set-ups together
    crew: tuple[CrewShift, ...]
    findings: tuple[Finding, ...]
    changes: tuple[SourceChange, ...] = ()
    beside_changes: tuple[BesideChange, ...] = ()  # places and ways in at the source changes
    left_out: tuple[tuple[str, str], ...] = ()  # welds not in this shift, and why
    ends_with_reshoots: Derived | None = None  # s from the start of the shift, trial shots counted in too
    drops: Drops | None = None  # what is left undone first where the shift runs late
    later_films: LaterFilms | None = (
        None  # None: each film is waited for, or a record from before they were planned
    )
