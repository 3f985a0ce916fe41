"""A source that does not come home: dose rate against distance, bare and under what the kit holds, and what to do."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from halflayer.base.result import Derived
from halflayer.order.equipment import Changer, Head, Source
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics import decay, dosimetry, nuclides, photons
from halflayer.physics.materials import Material, material
from halflayer.scene.matter import blanket_material, order_material
from halflayer.scene.solids import Scene, Sphere
from halflayer.shielding.bare import bare_h10_rate_Sv_s
from halflayer.shielding.budget import COVERAGE
from halflayer.shielding.readings import stored_rate_Sv_s
from halflayer.shielding.stuck_steps import in_m, steps, with_control
from halflayer.transport.problem import PointSource, Problem, RingScore
from halflayer.transport.run import Run

DISTANCES_M = (0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
APPROACH_M = (5.0, 2.0, 1.0, 0.5)
STAYS_M = (1.0, 2.0, 5.0, 10.0)
# The same for sheets in feet, in figures that can be paced off: our choice.
DISTANCES_FT = (2.0, 3.0, 6.0, 15.0, 30.0, 60.0, 150.0, 300.0)
APPROACH_FT = (15.0, 6.0, 3.0, 2.0)
STAYS_FT = (3.0, 6.0, 15.0, 30.0)
LAYERS = (1, 2, 4)  # of blankets, and stacks of plates: what people would lay over a source, our choice
STACKS = (2, 5)
INNER_M = 0.05  # the shell about the source lies so far from it, our choice
BATCHES = 16  # of one shell at most
LESSONS = 0.5  # of the usual learning: with a quarter of it some shells were not known reliably
ERROR = 0.05  # relative noise at which a shell's run ends early, once it is reliable
NOISE_LEAST = 0.3  # of a run that is not reliable: batch sigmas of short runs are too small
TURN_BACK = 2.0  # a reading so many times the expected one is no longer the closed head: our choice

CREW_LIMIT = "crew's limit "  # in front of the kind of limit that a stay is reckoned to
HEADLINE = "Follow your own contingency plan and your radiation protection adviser: this card is a reminder, no plan."
NOT_IN_IT = (
    "a closed shell of this thickness about the source: what comes round the edges of pieces laid over it, off floor "
    "and walls, and through gaps is not in it, so the real rate is higher; measure"
)


@dataclass(frozen=True)
class StuckShield:
    """What a shield from the kit leaves of the rate: closed shell about the source, by transport."""

    id: str
    what: str
    pieces: int  # layers of blankets or plates in a stack
    thickness_m: float
    factor: Derived  # rate with it over the bare rate, scatter in it included
    narrow: float  # the same for a narrow beam, nothing scattered


@dataclass(frozen=True)
class StuckRow:
    """Dose rates at one distance: bare, and under each shield (upper bound, in the sequence of the shields)."""

    distance_m: float
    bare_Sv_s: float
    shielded_Sv_s: tuple[float | None, ...]


@dataclass(frozen=True)
class StayTime:
    """How long a stay brings a dose at a distance: bare, and under each shield."""

    what: str  # which dose
    dose_Sv: float
    distance_m: float
    bare_s: float
    shielded_s: tuple[float | None, ...]
    left_Sv: float | None = None  # of that dose after what the plan already gives; None: nothing is taken off
    whose: str = ""  # the person to whom least is left


@dataclass(frozen=True)
class TurnBack:
    """On the way in after closing: what the source's place of rest should read, what a bare source reads, when to turn
    back; distances from its surface."""

    distance_m: float
    closed_Sv_s: float
    out_Sv_s: float
    turn_back_Sv_s: float
    head: str = (
        ""  # what the source rests in: a head, or the container that the order states its readings for
    )


@dataclass(frozen=True)
class StuckSource:
    """The contingency card of one source as data."""

    source: str
    nuclide: str
    activity: Derived
    at_1m: Derived  # bare, H*(10) rate, upper by the certificate's uncertainty
    shields: tuple[StuckShield, ...]
    rows: tuple[StuckRow, ...]
    limit_distance: Derived  # bare source to the barrier's rate limit
    stays: tuple[StayTime, ...]
    approach: tuple[TurnBack, ...]
    approach_basis: str
    headline: str
    steps: tuple[str, ...]


def stuck_source(
    order: Order,
    source: Source,
    heads: tuple[Head | Changer, ...],
    *,
    seed: int,
    welds: Sequence[Weld] = (),
) -> StuckSource:
    """Everything for the card of one source at the start of the shift; `heads`: what it rests in, changers too.

    `welds`: those shot with it, whose control positions are among the distances.

    Air and ground are left out: air takes a quarter off at 100 m, the ground adds about as much (our estimate).
    """
    nuclide = nuclides.nuclide(source.nuclide)
    energies, yields = _lines(order, source)
    activity = decay.activity_at(
        activity_Bq=source.activity_Bq,
        reference=source.on,
        when=order.shift.starts,
        half_life_s=nuclide.half_life_s,
    )
    estimate = bare_h10_rate_Sv_s(
        activity_Bq=activity, energies_keV=energies, photons_per_decay=yields, distance_m=1.0
    )
    upper = estimate * (1.0 + source.activity_uncertainty)
    shields = shields_if_stuck(order, source, seed=seed)
    figure = Derived(
        "activity",
        activity,
        "Bq",
        activity * source.activity_uncertainty / COVERAGE,
        source="certificate, decayed",
    )
    factors = [_upper(s.factor) for s in shields]
    return StuckSource(
        source=source.id,
        nuclide=source.nuclide,
        activity=figure,
        at_1m=Derived(
            f"bare_rate_1m_{source.id}",
            upper,
            "Sv/s",
            sigma=estimate * source.activity_uncertainty / COVERAGE,
            symbol="H*(10) rate",
            formula="activity x sum(yield x coefficient) / (4 pi r2), x (1 + certificate's uncertainty)",
            inputs=(figure,),
            source="emission lines behind the capsule, ICRP 74",
            basis="upper value; no shield, no air, no ground",
        ),
        shields=shields,
        rows=tuple(
            StuckRow(d, upper / d**2, tuple(None if f is None else upper / d**2 * f for f in factors))
            for d in distances_m(order, welds)
        ),
        limit_distance=_limit_distance(order, source, upper),
        stays=tuple(_stays(order, upper, factors, welds)),
        approach=tuple(_approach(heads, activity, upper, in_m(order, APPROACH_M, APPROACH_FT))),
        approach_basis=_approach_words(heads, activity),
        headline=HEADLINE,
        steps=steps(order, upper, welds),
    )


def distances_m(order: Order, welds: Sequence[Weld] = ()) -> list[float]:
    """Where rates are tabulated: round figures and control positions, which may be one of them but for rounding."""
    return with_control(order, in_m(order, DISTANCES_M, DISTANCES_FT), welds)


def _limit_distance(order: Order, source: Source, upper_1m: float) -> Derived:
    limit = order.limits.barrier.rate_Sv_s
    return Derived(
        f"stuck_distance_{source.id}",
        None if limit is None else math.sqrt(upper_1m / limit),
        "m",
        formula="sqrt(bare rate at 1 m / rate limit at the barrier)",
        inputs=() if limit is None else (Derived("limit", limit, "Sv/s", source=order.limits.barrier.basis),),
        source="inverse square law",
        basis="not computed: no rate limit at the barrier"
        if limit is None
        else "no shield, no air, no ground",
    )


def _stays(
    order: Order, upper_1m: float, factors: list[float | None], welds: Sequence[Weld]
) -> list[StayTime]:
    """Stay times to the crew's own limits; no other dose is assumed to be allowed."""
    crew = order.limits.crew
    doses = (
        (f"{CREW_LIMIT}per exposure", crew.per_exposure_Sv),
        (f"{CREW_LIMIT}per shift", crew.per_shift_Sv),
        (f"{CREW_LIMIT}per year", crew.per_year_Sv),
    )
    found = []
    for words, dose in doses:
        # The control position too: closing again is tried from there.
        for d in with_control(order, in_m(order, STAYS_M, STAYS_FT), welds) if dose is not None else ():
            assert dose is not None
            bare = upper_1m / d**2
            found.append(
                StayTime(
                    words,
                    dose,
                    d,
                    dose / bare,
                    tuple(None if f is None else dose / (bare * f) for f in factors),
                )
            )
    return found


def _approach(
    heads: tuple[Head | Changer, ...], activity_Bq: float, upper_1m: float, distances_m: tuple[float, ...]
) -> list[TurnBack]:
    """The expected readings of each thing in which the source may rest; none for one without readings.

    Each has its own: the lowest of several would call back whoever stands before another one, the highest would call
    nobody.
    """
    found = []
    for head in heads:
        for d in distances_m:
            closed = stored_rate_Sv_s(head, activity_Bq, d)
            if closed is not None:
                found.append(TurnBack(d, closed, upper_1m / d**2, TURN_BACK * closed, head.id))
    return found


def _approach_words(heads: tuple[Head | Changer, ...], activity_Bq: float) -> str:
    if not heads:
        return "not computed: the source is not used in a head of this plan"
    missing = [h.id for h in heads if stored_rate_Sv_s(h, activity_Bq, 1.0) is None]
    lack = f"not computed: no reading of the stored head is given for {', '.join(missing)}" if missing else ""
    if len(missing) == len(heads):
        return lack
    words = (
        "by the readings of what the source rests in (head, changer, container of a guide tube or spider) and inverse "
        f"square, distances from its surface; turn back at {TURN_BACK:g} times that (our choice), background not "
        "included"
    )
    return "; ".join(w for w in (words, lack) if w)


def _upper(factor: Derived) -> float | None:
    if not isinstance(factor.value, float):
        return None
    return factor.value + COVERAGE * (factor.sigma or 0.0)


# --- shields -------------------------------------------------------------------------------------------


def _lines(order: Order, source: Source) -> tuple[np.ndarray, np.ndarray]:
    """Photon lines of a source behind its capsule: energies [keV] and photons per decay."""
    capsule = order_material(order, source.capsule_material)
    return nuclides.filtered(nuclides.nuclide(source.nuclide), capsule, source.capsule_wall_m)


def shields_if_stuck(order: Order, source: Source, *, seed: int) -> tuple[StuckShield, ...]:
    """What the kit takes off a source stuck out: blankets and stacks of the plates of which most are in stock.

    What was computed of the same shields and lines before is not computed again.
    """
    energies, yields = _lines(order, source)
    found = []
    blanket = max(
        order.kit.blankets,
        key=lambda b: b.count * b.width_m * b.length_m * b.areal_density_kg_m2,
        default=None,
    )
    if blanket is not None:
        matter = blanket_material(order, blanket)
        for n in LAYERS:
            if n <= blanket.count:
                what = f"{n} layer{'s' if n > 1 else ''} of blanket {blanket.id}"
                found.append(
                    _shield(blanket.id, what, n, n * blanket.thickness_m, matter, energies, yields, seed)
                )
    plate = max(order.kit.plates, key=lambda p: p.count * p.thickness_m, default=None)
    if plate is not None:
        matter = order_material(order, plate.material)
        for n in STACKS:
            if n <= plate.count:
                what = f"{n} plates {plate.id} of {plate.material}, {n * plate.thickness_m * 1000:g} mm"
                found.append(
                    _shield(plate.id, what, n, n * plate.thickness_m, matter, energies, yields, seed)
                )
    return tuple(found)


def _shield(
    ident: str,
    what: str,
    pieces: int,
    thickness_m: float,
    matter: Material,
    energies: np.ndarray,
    yields: np.ndarray,
    seed: int,
) -> StuckShield:
    value, sigma, reliable, narrow = _shell(
        matter, thickness_m, tuple(map(float, energies)), tuple(map(float, yields)), seed
    )
    noise = sigma if reliable else max(sigma, NOISE_LEAST)
    known = math.isfinite(noise)
    words = (
        NOT_IN_IT
        if reliable
        else f"{NOT_IN_IT}; noise not known reliably, taken as {NOISE_LEAST:.0%} at least"
    )
    return StuckShield(
        ident,
        what,
        pieces,
        thickness_m,
        Derived(
            f"shell_{ident}_{pieces}",
            value if known else None,
            "1",
            sigma=value * noise if known else None,
            formula="H*(10) rate at 1 m with the shell / without it",
            source="Monte Carlo",
            basis=words if known else "not computed: the run was too short to know its noise",
        ),
        narrow,
    )


@lru_cache(maxsize=64)
def _shell(
    matter: Material,
    thickness_m: float,
    energies_keV: tuple[float, ...],
    photons_per_decay: tuple[float, ...],
    seed: int,
) -> tuple[float, float, bool, float]:
    """`shell_factor`, once for all sources of the same lines."""
    return shell_factor(matter, thickness_m, np.array(energies_keV), np.array(photons_per_decay), seed=seed)


def shell_factor(
    matter: Material,
    thickness_m: float,
    energies_keV: np.ndarray,
    photons_per_decay: np.ndarray,
    *,
    seed: int,
) -> tuple[float, float, bool, float]:
    """Rate at 1 m behind a closed shell over the bare one: value, relative sigma, reliable, and the narrow-beam value.

    Point source in the middle of a spherical shell in void. Source: photon transport; narrow beam by attenuation
    of each line.
    """
    bare = bare_h10_rate_Sv_s(
        activity_Bq=1.0, energies_keV=energies_keV, photons_per_decay=photons_per_decay, distance_m=1.0
    )
    weights = photons_per_decay * dosimetry.h10_per_fluence(energies_keV)
    mu = photons.mu_per_m(matter, energies_keV)
    narrow = float(np.sum(weights * np.exp(-mu * thickness_m)) / np.sum(weights))
    shell = Sphere("shield", (0.0, 0.0, 0.0), INNER_M + thickness_m, thickness_m, matter)
    problem = Problem(
        Scene((shell,), material("vacuum")),
        (
            PointSource(
                (0.0, 0.0, 0.0),
                tuple(map(float, energies_keV)),
                tuple(map(float, photons_per_decay)),
                activity_Bq=1.0,
            ),
        ),
        (RingScore("1 m", (0.0, 0.0, 0.0), (0.0, 0.0, 1.0), 1.0, math.pi / 2),),
    )
    run = Run(problem, seed, lessons=LESSONS)
    while True:
        run.advance(max(2, run.batches))  # doubles what is done: tested at fixed numbers, never by the clock
        reading = run.field().readings[0]
        if run.batches >= BATCHES or (reading.reliable and reading.h10_sigma_rel <= ERROR):
            return reading.h10_rate_Sv_s / bare, reading.h10_bound_sigma_rel, reading.reliable, narrow
