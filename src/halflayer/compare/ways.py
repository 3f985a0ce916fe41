"""Every way to shoot a weld with time, dose, mass and set-up time, by quick looks: the verb of the room."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from functools import partial

from halflayer.base.errors import OutOfRange
from halflayer.base.result import Derived, Finding
from halflayer.compare.look import look_at
from halflayer.compare.relax import relaxations
from halflayer.compare.result import Comparison, Look, Way
from halflayer.exposure.budget import first_home_s
from halflayer.exposure.first_survey import in_first_exposure
from halflayer.exposure.more_shots import timed, with_enough_shots
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.stop import stop_piece
from halflayer.shielding import kit
from halflayer.shielding.averaging import pause_s, shot_seconds
from halflayer.shielding.bare import bare_h10_rate_Sv_s
from halflayer.shielding.crew import Post, crew_member, mounting_s
from halflayer.shielding.resets import openings, reset_of
from halflayer.shielding.spots import setting_of
from halflayer.technique.choose import choose_technique
from halflayer.technique.looked_at import grouped
from halflayer.technique.result import Candidate

WAYS_AT_MOST = 5  # looked at, in order of preference: our choice, so that a weld takes seconds
SCATTER_BATCHES = 2  # of the exposure's scatter at the film; a plan takes several times as many
CAUTIONS = (
    "Looks, not plans: short runs of one exposure each, with their noise; what stands under its limits here is not "
    "proved. Plan the weld before anyone sets it up.",
    "The shield is the lightest of a few fittings looked at, the bare set-up first and then a piece for each halving "
    "that is missing: not the least that holds. A plan searches for that, and may mount less or more.",
    "A look asks the survey ring and the named places with the shield of its row. Floors above and below, the dose in "
    "an hour, the other exposures and a source on its way are in no look: the worst place of a plan may be another.",
    "Local rules, the radiation protection adviser and the licence come first.",
)
Progress = Callable[[str, float], None]


def compare(order: Order, weld: Weld, *, seed: int = 1, progress: Progress | None = None) -> Comparison:
    """All candidates of a weld; the best admissible ones with a look at time, dose, mass and set-up time.

    The same seed gives the same comparison. What would make a stopped weld go is named where no way stands
    under its limits.
    """
    tell = progress or (lambda text, done: None)
    tell("technique", 0.0)
    technique = choose_technique(order, weld)
    admissible = technique.admissible[:WAYS_AT_MOST]
    ways = []
    for n, candidate in enumerate(admissible):
        tell(f"{candidate.arrangement} with {candidate.source}", (n + 0.2) / len(admissible))
        ways.append(_look(order, weld, candidate, seed))
    more = len(technique.admissible) - len(admissible)
    for c in technique.admissible[WAYS_AT_MOST:]:
        ways.append(_unlooked(c, f"admissible; only the first {WAYS_AT_MOST} ways are looked at"))
    for c in technique.candidates:
        if c.verdict == "refused":
            broken = ", ".join(r.rule for r in c.broken)
            ways.append(_unlooked(c, f"refused by the rules: {broken}"))
    found = tuple(technique.findings)
    if more:
        words = "way was" if more == 1 else "ways were"
        found += (Finding("note", f"{more} more admissible {words} not looked at"),)
    judged = tuple(grouped(technique))
    made = Comparison(weld.id, tuple(ways), (), found, CAUTIONS, seed, judged)
    if made.goes:
        return made
    tell("what would make it go", 0.95)
    nearest = relaxations(order, weld, technique, ways, seed)
    return Comparison(weld.id, made.ways, nearest, found, CAUTIONS, seed, judged)


def _unlooked(candidate: Candidate, note: str) -> Way:
    return Way(candidate, None, len(candidate.shots), None, None, None, None, None, note)


def _look(order: Order, weld: Weld, candidate: Candidate, seed: int) -> Way:
    time = partial(timed, order, weld, seed=seed, batches=SCATTER_BATCHES)
    try:
        last = with_enough_shots(order, weld, candidate, time)[-1]
    except OutOfRange as outside:
        return _unlooked(candidate, f"exposure time not computed: {outside}")
    candidate, exposure = last.candidate, in_first_exposure(last.exposure)
    stops = tuple(f for f in exposure.findings if f.level == "stop")
    setting = setting_of(order, weld, candidate, exposure)
    found = look_at(setting, exposure, seed=seed)
    wrap = setting.build(found.fitting, candidate.shots[0]).wrap
    items = kit.items(order, weld, candidate, found.fitting, wrap)
    mount, reset = mounting_s(order, items), reset_of(order, items).seconds
    opened_s = openings(order, exposure, items) * reset
    set_up, whole = _times(order, candidate, exposure, mount, reset, opened_s)
    return Way(
        candidate=candidate,
        look=found,
        exposures=len(candidate.shots),
        exposure_s=_exposure_time(exposure),
        set_up_s=set_up,
        whole_s=whole,
        mass_kg=kit.added_mass_kg(order, found.fitting, wrap),
        crew_Sv=_crew(
            order, weld, candidate, exposure, found, mount, reset, openings(order, exposure, items)
        ),
        note=_note(found),
        stops=stops,
        folded=bool((piece := stop_piece(order, found.fitting.plate)) and piece.folded),
    )


def _note(found: Look) -> str:
    percent = f"{found.sigma_rel:.0%}" if math.isfinite(found.sigma_rel) else "not known"
    words = {
        "under": "stands under every limit of ring and places",
        "over": "breaks a limit with all that the kit holds",
        "close": "too close to a limit, or too noisy, for a look to tell",
        "not looked at": "no place has a limit",
    }
    return f"look (1 sigma {percent}): {words[found.standing]}; worst of them, with this shield, at {found.place}"


def _exposure_time(exposure: Exposure) -> Derived:
    shots = [s.seconds for s in exposure.shots]
    sigmas = [s.sigma for s in shots]
    # The same film, certificate and processing stand behind all shots: their errors add, not their squares.
    sigma = math.fsum(s for s in sigmas if s is not None) if all(s is not None for s in sigmas) else None
    return Derived(
        "exposure_time_all",
        math.fsum(shot_seconds(exposure)),
        "s",
        sigma=sigma,
        formula="sum over the exposures",
        inputs=tuple(shots),
        source=f"exposure stage with {SCATTER_BATCHES} batches of scatter: a look",
        basis="errors of the exposures taken as wholly correlated",
    )


def _times(
    order: Order, candidate: Candidate, exposure: Exposure, mount: float, reset_s: float, opened_s: float
) -> tuple[Derived, Derived]:
    """Set-up once, and the whole weld with its pauses."""
    t, n = order.crew_times, len(candidate.shots)
    source = f"times per step: {t.basis}; mounting times of the kit"
    set_up = Derived(
        "set_up_time",
        t.set_up_s + mount,
        "s",
        formula="setting up + mounting of every piece, one after the other",
        inputs=(Derived("setting up", t.set_up_s, "s"), Derived("mounting", mount, "s")),
        source=source,
    )
    pause = pause_s(order, candidate, reset_s)
    last = pause - reset_s  # after the last exposure nothing is set again
    head = next(h for h in order.heads if h.id == candidate.head)
    first = exposure.first_out_s + first_home_s(order, exposure, head.travel_s) + opened_s
    whole = Derived(
        "whole_time",
        t.set_up_s + mount + first + math.fsum(shot_seconds(exposure)) + pause * (n - 1) + last,
        "s",
        formula="set-up + first survey (and opened for film) + exposures + pauses (walk, survey, film change, reset)",
        inputs=(set_up, Derived("pause between exposures", pause, "s")),
        source=source,
        basis="taking down and changing place not included",
    )
    return set_up, whole


def _crew(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    exposure: Exposure,
    found: Look,
    mount: float,
    reset_s: float,
    opened: int,
) -> Derived:
    """Dose of the person with most, at the wanted barrier distance while the source is out."""
    setting = setting_of(order, weld, candidate, exposure)
    within = weld.barrier_within_m or order.limits.barrier_within_m
    post = Post(found.barrier_Sv_s, within, "upper rate at the wanted barrier distance, by a look")
    bare = bare_h10_rate_Sv_s(
        activity_Bq=setting.activity_Bq,
        energies_keV=setting.energies_keV,
        photons_per_decay=setting.photons_per_decay,
        distance_m=1.0,
    )
    people = [
        crew_member(
            order,
            candidate,
            person,
            activity_Bq=setting.activity_Bq,
            shots_s=shot_seconds(exposure),
            first_out_s=exposure.first_out_s,
            others_s=exposure.first_survey.during_s if exposure.first_survey else 0.0,
            openings=opened,
            post=post,
            mount_s=mount,
            reset_s=reset_s,
            bare_1m_Sv_s=bare,
        )
        for person in order.crew
    ]
    return _most([p.whole for p in people])


def _most(doses: Sequence[Derived]) -> Derived:
    """The highest dose; one that is not computed stands before all others."""
    unknown = [d for d in doses if d.value is None]
    return unknown[0] if unknown else max(doses, key=lambda d: float(d.value or 0.0))
