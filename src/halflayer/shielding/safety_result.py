"""What the plan says about people beyond the shield itself: crew step by step, averaging rules, barrier, access."""

from __future__ import annotations

from dataclasses import dataclass

from halflayer.base.result import Derived, Finding
from halflayer.shielding.result import LimitCheck


@dataclass(frozen=True)
class CrewStep:
    """One step of one person's work at a weld: how long, how often, in which dose rate."""

    what: str
    seconds: float  # each time
    times: int
    rate_Sv_s: float | None  # upper value; None: not computed, `basis` says why
    distance_m: float | None  # body to what the dose comes from; None: has no single distance
    dose_Sv: float | None  # all times together
    basis: str


@dataclass(frozen=True)
class CrewMember:
    """One person's dose for a weld, whole body and hands, with the limits that hold for the crew."""

    id: str
    name: str
    role: str
    steps: tuple[CrewStep, ...]
    whole: Derived  # Sv, H*(10); value None: a step is not computed
    hands: Derived  # Sv; value None: not computed
    limits: tuple[LimitCheck, ...]
    # One approach with the meter to a source that is still out: in no sum. None: makes no survey.
    still_out: CrewStep | None = None


@dataclass(frozen=True)
class AveragedDose:
    """One place by one averaging rule. Instantaneous figures are rates [Sv/s], all others doses [Sv]."""

    place: str
    kind: str  # "instantaneous", "in any one hour", "per shift", "per week"; "per year" beside a limit
    averaging: str  # what was averaged, in words
    unit: str  # "Sv/s" or "Sv"
    value: float  # estimate
    upper: float  # bound that is compared with the limit
    limit: float | None
    ok: bool | None  # None: no such limit, or the figure is not reliable
    standing: float | None = (
        None  # the bound with every source at its weld, where a source on its way is above it
    )


@dataclass(frozen=True)
class RopePoint:
    """A corner of the rope: direction and distance from the weld in plan, site coordinates, what is there."""

    direction_rad: float  # anticlockwise from site x
    limit_at_m: float | None  # where the rate falls through the limit in this direction; None: not found
    at_m: float | None  # where the rope goes
    site: tuple[float, float, float] | None
    behind: tuple[str, ...] = ()  # walls and bodies between weld and rope, nearest first
    moved_out_of: str | None = (
        None  # the wall or body behind which the corner was moved because it lay inside
    )
    # Where a set-up as planned reads under its turn-back reading with its error too; None: nearer than the limit.
    reads_under_at_m: float | None = None


@dataclass(frozen=True)
class Sign:
    """A place for a warning sign, site coordinates."""

    site: tuple[float, float, float]
    why: str


@dataclass(frozen=True)
class Contour:
    """The barrier in plan at 1 m height: where the limit lies, where the rope goes, where signs hang."""

    height_m: float  # above the weld's floor
    basis: str
    points: tuple[RopePoint, ...]  # all directions, in turn
    closed: bool  # False: some direction has no distance, so that no rope can be laid by this plan
    length_m: Derived  # of the rope
    signs: tuple[Sign, ...]
    findings: tuple[Finding, ...]
    # Most that a source's ways bring at a corner in the hour, where the limit is a dose in it; infinite: not known.
    way_Sv: float = 0.0
    # So many times as far out as a set-up in order asks: for a head that may be off, a shield laid anew.
    times_out: float = 1.0
    # Nobody reads nearer to the weld: from there a bare source's way out breaks an exposure's limit; None: anywhere.
    read_from_m: float | None = None


@dataclass(frozen=True)
class FloorDose:
    """The highest dose rate 1 m above a floor over or under a weld, among the points asked."""

    floor: str
    side: str  # "above" or "below"
    where: str
    at: tuple[float, float, float]  # site
    rate_Sv_s: float | None
    sigma_rel: float | None
    upper_Sv_s: float | None
    reliable: bool
    limit_Sv_s: float | None
    ok: bool | None
    basis: str
    stated: bool = True  # False: a place's surroundings, on a floor that the order does not state
    emptied_by: str = ""  # who agreed that it may be emptied while a source is out; empty: it may not
    at_exposure: int = 1  # the one whose rate stands here
    # the rate there at each; empty in records that did not keep them
    by_exposure_Sv_s: tuple[float, ...] = ()
    by_exposure_sigma_rel: tuple[float, ...] = ()  # and the noise of each
    wall_k: float = 0.0  # what walls between weld and place add to k here


@dataclass(frozen=True)
class Route:
    """A way into the area: where it lies to the barrier, and whether someone must watch it."""

    id: str
    name: str
    kind: str
    side: str
    site: tuple[float, float, float]
    distance_m: float  # from the weld centre in plan
    inside: bool | None  # of the barrier in that direction; None: no barrier distance there
    sentry: bool
    why: str


@dataclass(frozen=True)
class Access:
    """All ways into the area of one weld and the people it takes to hold them."""

    routes: tuple[Route, ...]
    sentries_needed: Derived
    sentries_in_crew: int
    findings: tuple[Finding, ...]
    # Bodies that hide a part of the rope from the posts at ways in (from the one post without any), and the directions
    # from the weld in which those stand who see that part [rad, anticlockwise from site x]: one person each.
    hidden_by: tuple[str, ...] = ()
    more_towards_rad: tuple[float, ...] = ()
    # Where one person alone sees the whole rope, where bodies leave no choice; None: a way in is the post, or anywhere.
    sees_all_from_rad: float | None = None
    # Site x, y of everyone who watches [m]: at ways in first, in the sequence of `routes`, then those more. Empty where
    # one person sees the whole rope from anywhere.
    posts: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class LostCase:
    """Dose rates with something out of place: the worst barrier point, the crew's place, the worst place."""

    name: str  # "one plate missing", "one layer missing", "wrap open", "shroud open", "head turned", "head shifted"
    what: str  # exactly what was changed, in words
    barrier_Sv_s: float | None  # estimate at the worst of the barrier points asked
    barrier_upper_Sv_s: float | None  # never less than as planned
    barrier_where: str
    crew_Sv_s: float | None
    crew_upper_Sv_s: float | None
    exposure_Sv: float | None  # upper dose at the crew's place over the longest exposure
    factor: float | None  # estimate over that as planned, at the point where it rises most; 1 at least
    factor_sigma_rel: float | None
    factor_where: str
    sigma_rel: float | None  # of the barrier estimate
    holds: bool | None  # every limit asked still held at its upper bound; None: not known reliably
    basis: str
    # The rise is no more than the looks' noise: nothing of the case is seen, and nothing is said to be better by it.
    within_noise: bool = False
    # The estimate itself is over a limit where `holds` is None: too noisy to be sure of, yet no doubt for a crew.
    over: bool = False


@dataclass(frozen=True)
class NotHeld:
    """The least turn [rad] or shift [m] that was looked at and is not known to hold, and what is done in its place."""

    least: float
    # So many times as far out every limit at the rope would hold; None: it is not the rope.
    rope_times: float | None
    at: str  # where it is measured first; empty: at the rope


@dataclass(frozen=True)
class Tolerance:
    """How far the head may be out of place with every limit still held; value None: not known."""

    turn: Derived  # rad
    shift: Derived  # m
    # What stands in place of either; None where one holds or none is asked for.
    turn_not_held: NotHeld | None = None
    shift_not_held: NotHeld | None = None


@dataclass(frozen=True)
class SurveyHint:
    """What a first survey that reads more than expected points to."""

    factor: float  # reading over expected, about
    likely: str
    where: str


@dataclass(frozen=True)
class Lost:
    """Lost shielding at one weld: cases, tolerance, and what a first survey above the expected reading tells."""

    shot: int  # the shot that was looked at, counted from 1
    cases: tuple[LostCase, ...]
    tolerance: Tolerance
    hints: tuple[SurveyHint, ...]
    steps: tuple[str, ...]
    findings: tuple[Finding, ...]
    rope_times: float = (
        1.0  # the rope that all of it is told for stands so many times as far out for what may be off
    )


@dataclass(frozen=True)
class Safety:
    """Everything about people at one weld; parts that were not asked for are None."""

    crew: tuple[CrewMember, ...]
    averages: tuple[AveragedDose, ...]
    contour: Contour | None = None
    floors: tuple[FloorDose, ...] = ()
    access: Access | None = None
    lost: Lost | None = None
    findings: tuple[Finding, ...] = ()

    def figures(self) -> tuple[Derived, ...]:
        """The opened figures, each under a name of its own."""
        found = [d for p in self.crew for d in (p.whole, p.hands)]
        if self.contour:
            found.append(self.contour.length_m)
        if self.access:
            found.append(self.access.sentries_needed)
        if self.lost:
            found += [self.lost.tolerance.turn, self.lost.tolerance.shift]
        return tuple(found)
