"""Every way to shoot a weld, judged rule by rule: the admissible ones in order of preference, the others kept."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache, cached_property

from halflayer.base.errors import OutOfRange
from halflayer.base.result import Derived
from halflayer.order.digital import Detector
from halflayer.order.equipment import Film, Head, Source
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.technique import asme_v_art2_2007, iso17636_1_2013, iso17636_2_2013
from halflayer.technique.ask import Ask, Check, Proposal, check
from halflayer.technique.asme_v_art2_2007 import AsmeVArticle2
from halflayer.technique.code_checks import Judged, film_admitted, judge
from halflayer.technique.estimate import estimated_time
from halflayer.technique.findings import technique_findings
from halflayer.technique.iso17636_1_2013 import Iso17636Part1
from halflayer.technique.iso17636_2_2013 import Iso17636Part2
from halflayer.technique.looked_at import Kept
from halflayer.technique.overrides import not_covered, overridden
from halflayer.technique.placements import PLACEMENTS
from halflayer.technique.placements.base import Placement
from halflayer.technique.result import Candidate, Geometry, Technique
from halflayer.technique.rules import Rules, SetUp
from halflayer.technique.trail import crossed_on_axis_m, trail
from halflayer.technique.words import fine_mm, listed, mm

RANKING = (
    "wanted placements in the order's sequence, fewest rules set aside, fewest exposures, an ellipse before in "
    "plane, fewest agreements that "
    "it cannot do without, softest source, least dose on the film, largest margin over the least distance, "
    "smallest unsharpness"
)
EASING = (
    "iqi-relief-gamma",
    "density-1.5-class-a",
    "density-2.0-class-b",
)  # ease a candidate, do not make it


@dataclass(frozen=True)
class Judgement:
    """A proposal with every verdict on it, for ranking and for finding what would lift a refusal."""

    ask: Ask
    proposal: Proposal
    judged: Judged
    checks: tuple[Check, ...]

    @property
    def broken(self) -> tuple[Check, ...]:
        """Checks that refuse the proposal."""
        return tuple(c for c in self.checks if c.verdict.verdict == "breaks")

    @property
    def agreements(self) -> tuple[str, ...]:
        """Agreements that the proposal makes use of."""
        return tuple(dict.fromkeys(c.agreement for c in self.checks if c.agreement))

    @cached_property
    def time(self) -> Derived:
        """First estimate of the whole time."""
        return estimated_time(self.ask, self.proposal, self.judged)

    @cached_property
    def candidate(self) -> Candidate:
        """The candidate in the form that the other stages read."""
        return _candidate(self)


def rules_for(order: Order, weld: Weld) -> Rules:
    """The code module that a weld is judged by, for its class and the order's agreements."""
    code, test_class = order.code_of(weld), order.class_of(weld)
    if code == asme_v_art2_2007.NAME:
        return AsmeVArticle2()
    assert test_class is not None
    if code == iso17636_2_2013.NAME:
        return Iso17636Part2(test_class, order.agreements)
    assert code == iso17636_1_2013.NAME
    return Iso17636Part1(test_class, order.agreements)


def ask_for(order: Order, weld: Weld, source: Source, head: Head, film: Detector, rules: Rules) -> Ask:
    """The question of one combination, its rules told of weld and detector."""
    asked = Ask(order, weld, source, head, film, rules)
    return replace(asked, rules=rules.with_set_up(SetUp(asked.gap, weld.cap.height_m)))


def choose_technique(order: Order, weld: Weld) -> Technique:
    """All candidates of a weld with every rule's verdict, best admissible first, refused ones after them.

    Each source with each head that is made for it and each placement that the head is made for; over films,
    shrouds, clamps and legs the best is a candidate, every other one stands in `looked_at` with its verdicts
    and what puts it behind. The aperture is part of a combination: the placement takes the one that suits it.
    Nothing admissible is a stop with the nearest changes that would lift it; no exception for a value outside
    a table.
    """
    outside = not_covered(weld)
    if outside is not None:
        return Technique(weld.id, (), (outside,))
    rules = rules_for(order, weld)
    kept: list[Judgement] = []
    every = Kept()
    ellipse: str | None = None
    why_not = ""  # what refuses the nearest ellipse: the one with fewest broken rules
    broken = math.inf
    for placement in PLACEMENTS:  # lean-out stands before over: in plane asks whether an ellipse can be shot
        for source, head in _pairs(order, weld, placement):
            asks = [ask_for(order, weld, source, head, film, rules) for film in order.judged_detectors(weld)]
            judged = [_judgement(ask, p, ellipse, why_not) for ask in asks for p in placement.propose(ask)]
            if not judged:
                continue
            keys = [nearest(j) for j in judged]
            first = keys.index(min(keys))
            best = judged[first]
            every.add(judged, keys, first)
            kept.append(best)
            if placement.technique == "DWDI ellipse" and not best.broken and ellipse is None:
                ellipse = f"{placement.name} with {source.id} in {head.id}"
            if placement.technique == "DWDI ellipse" and 0 < len(best.broken) < broken:
                why_not, broken = _why_not(best), len(best.broken)
    kept.sort(key=lambda j: (len(j.broken), *_preference(j)))
    return Technique(
        weld=weld.id,
        candidates=tuple(j.candidate for j in kept),
        findings=technique_findings(weld, kept, looked=len(every.found), ranking=_ranking(order)),
        looked_at=every.found,
        verdicts=every.verdicts,
    )


def _why_not(best: Judgement) -> str:
    """What refuses the nearest ellipse, in one phrase: the dimensions beyond its limits, else the first broken rule."""
    ask, first = best.ask, best.broken[0].verdict
    if not first.rule.startswith("limits of"):
        return f"{first.rule}, {first.required} wanted, {first.reached}"
    bounds = ask.rules.technique_bounds(
        best.proposal.technique, diameter_m=ask.od, wall_m=ask.wall, weld_width_m=ask.weld.cap.width_m
    ).value
    return listed(
        f"{b.what} {fine_mm(b.reached_m)}, at most {mm(b.most_m)} allowed" for b in bounds if not b.holds
    )


def _ranking(order: Order) -> str:
    if order.prefer != "shortest time":
        return RANKING
    return RANKING.replace("fewest exposures,", "shortest estimated time, fewest exposures,")


def _pairs(order: Order, weld: Weld, placement: Placement) -> Iterator[tuple[Source, Head]]:
    for source in order.sources:
        if weld.sources and source.id not in weld.sources:
            continue
        for head in order.heads:
            made = source.nuclide in head.nuclides and placement.name in head.placements
            if made and head.kind == placement.head_kind:
                yield source, head


def nearest(j: Judgement) -> tuple[float, ...]:
    """The choice among films, shrouds, clamps and legs of one placement, source and head, smallest first.

    Fewest broken rules, exposures and agreements, then what shoots soonest: least dose on the film, shortest
    distance that the code allows. `looked_at.BEHIND_BY` has the same in words.
    """
    return (
        len(j.broken),
        _set_aside(j),
        _whole_time_s(j),
        len(j.proposal.shots),
        _needed_agreements(j),
        _film_dose_Gy(j),
        round(j.proposal.source_to_object_m, 6),
    )


def _preference(j: Judgement) -> tuple[float, ...]:
    """The ranking as a key, smallest first (`RANKING`)."""
    p = j.proposal
    wanted = list(j.ask.weld.placements)
    least = max(p.minimum.value.distance_m, 1e-9)
    return (
        wanted.index(p.arrangement) if p.arrangement in wanted else len(wanted),
        _set_aside(j),
        _whole_time_s(j),
        len(p.shots),
        float(p.technique == "DWDI in plane"),
        _needed_agreements(j),
        _mean_energy_keV(j.ask.source.nuclide),
        _film_dose_Gy(j),
        -round(p.source_to_object_m / least, 2),
        round(j.judged.unsharpness_m, 6),
    )


def _whole_time_s(j: Judgement) -> float:
    """The estimated time, rounded, where the order prefers the shortest; else all ways are alike in it."""
    if j.ask.order.prefer != "shortest time":
        return 0.0
    return round(j.time.value, 1) if isinstance(j.time.value, float) else math.inf


def _set_aside(j: Judgement) -> int:
    return sum(c.verdict.verdict == "overridden" for c in j.checks)


def _needed_agreements(j: Judgement) -> int:
    return sum(a not in EASING for a in j.agreements)


def _film_dose_Gy(j: Judgement) -> float:
    """Dose that brings the film to the least density asked [Gy]; in proportion to density, good enough to rank by."""
    film = j.ask.film
    if not isinstance(film, Film):
        return round(film.snr_n_dose_Gy / film.snr_n**2, 12)  # in proportion to the square of the ratio asked
    return round(film.dose_for_density_2_Gy * film.calibration * j.judged.density.least / 2, 6)


@cache
def _mean_energy_keV(nuclide: str) -> float:
    """Mean photon energy of a nuclide's lines [keV]; unknown nuclides rank last."""
    from halflayer.physics.nuclides import nuclide as lines_of

    try:
        lines = lines_of(nuclide)
    except OutOfRange:
        return math.inf
    return float((lines.energies_keV * lines.photons_per_decay).sum() / lines.photons_per_decay.sum())


def _judgement(ask: Ask, p: Proposal, ellipse: str | None, why_not: str) -> Judgement:
    judged = judge(ask, p, ellipse=ellipse, why_not=why_not)
    checks = (*judged.checks, *p.checks, _activity(ask))
    return Judgement(ask, p, judged, overridden(ask.weld, checks))


def _candidate(j: Judgement) -> Candidate:
    ask, p, judged = j.ask, j.proposal, j.judged
    return Candidate(
        technique=p.technique,
        arrangement=p.arrangement,
        source=ask.source.id,
        head=ask.head.id,
        aperture=p.aperture.id if p.aperture else None,
        detector=ask.film.id,
        clamp=p.clamp,
        clamp_x_m=p.clamp_x_m,
        legs=p.legs,
        leg_hole=p.leg_hole,
        geometry=_geometry(ask, p, judged),
        shots=p.shots,
        usable_rad=p.usable_rad,
        density_min=judged.density.least,
        density_max=judged.density.most,
        density_tolerance=judged.density.tolerance,
        iqi=judged.iqi,
        rules=tuple(c.verdict for c in j.checks),
        verdict="refused" if j.broken else "admissible",
        agreements_used=j.agreements,
        derived=(*trail(ask, p, judged), j.time),
        estimated_s=j.time.value if isinstance(j.time.value, float) else None,
        partners=_partners(ask, judged),
        growth_max=ask.rules.growth(p.technique).value,
        density_variation=ask.rules.density_variation().value,
        snr_n_min=_snr_n_min(ask, judged),
        shroud=p.shroud,
        guide=p.guide,
        settings=p.settings,
        lap_rad=p.lap_rad,
    )


def _partners(ask: Ask, judged: Judged) -> tuple[str, ...]:
    """Films that may lie in the holder beside the candidate's: admitted by the code, of the same sheet."""
    if not isinstance(ask.film, Film):
        return ()
    own = sorted(ask.film.sheet)
    return tuple(
        other.id
        for other in ask.order.detectors
        if other.id != ask.film.id
        and sorted(other.sheet) == own
        and film_admitted(replace(ask, film=other), judged.nominal.value)
    )


def _snr_n_min(ask: Ask, judged: Judged) -> float | None:
    if isinstance(ask.film, Film):
        return None
    metal, w = ask.metal, judged.nominal.value
    return ask.rules.signal_to_noise(ask.source.nuclide, metal=metal, thickness_m=w).value


def _geometry(ask: Ask, p: Proposal, judged: Judged) -> Geometry:
    return Geometry(
        source_to_detector_m=p.source_to_object_m + p.object_to_detector_m,
        source_to_object_m=p.source_to_object_m,
        object_to_detector_m=p.object_to_detector_m,
        minimum_source_to_object_m=p.minimum.value.distance_m,
        unsharpness_m=judged.unsharpness_m,
        axial_offset_m=p.offset_m,
        tilt_rad=p.lean_rad,
        standoff_m=p.standoff_m,
        opening_m=p.opening_m,
        nominal_m=judged.nominal.value,
        iqi_thickness_m=judged.nominal.value,
        crossed_m=crossed_on_axis_m(ask, p),
        focal_m=p.focal_m,
    )


def _activity(ask: Ask) -> Check:
    """The source's activity at the start of the shift against what the head may hold."""
    from halflayer.physics.decay import activity_at
    from halflayer.physics.nuclides import nuclide

    most = ask.head.maximum_activity_Bq
    try:
        half_life = nuclide(ask.source.nuclide).half_life_s
        activity = activity_at(
            activity_Bq=ask.source.activity_Bq,
            reference=ask.source.on,
            when=ask.order.shift.starts,
            half_life_s=half_life,
        )
    except (OutOfRange, ValueError) as error:
        return check(
            "activity in the head",
            required="an activity at the start of the shift",
            reached=str(error),
            holds=False,
            source="table of half-lives",
        )
    return check(
        "activity in the head",
        required="not stated" if most is None else f"{ask.head.id} holds up to {most / 1e12:.3g} TBq",
        reached=f"{activity / 1e12:.3g} TBq at the start of the shift",
        holds=None if most is None else activity <= most,
        source="the order and the law of decay",
        relax=("a weaker source or a head for a stronger one",),
    )
