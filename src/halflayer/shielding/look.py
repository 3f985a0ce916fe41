"""One dose run for a fitting and a shot: the transport problem and the rates at the asks."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from halflayer.order.equipment import Head, Source
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics import photons
from halflayer.scene.build import Built, build_scene
from halflayer.scene.fitting import Fitting
from halflayer.scene.frame import Vec3
from halflayer.scene.matter import order_material
from halflayer.shielding.asks import Ask
from halflayer.shielding.budget import COVERAGE, GAPS, budget
from halflayer.shielding.result import BudgetLine
from halflayer.shielding.walls import Beam, Relied, added_k, relied_on
from halflayer.shielding.zones import with_zones
from halflayer.technique.result import Candidate, Shot
from halflayer.transport.field import Reading
from halflayer.transport.pilot import Learned
from halflayer.transport.problem import LeakageSource, PointScore, PointSource, Problem, Rect
from halflayer.transport.run import Run

# What leaks from a head has passed its shield. Where the shell is not stated, our choice of a usual one.
ZONES_M = 6.0  # radius of the zones where no barrier point is asked for
LEAST_LINE = 1e-6  # lines that bring a smaller share of what leaks are left out
# Runs of so few batches learn so much of the usual beforehand, without and with a hint from a run before (our choice).
SHORT, SHORT_LESSONS, SHORT_AGAIN = 8, 0.35, 0.1
LEAST_SHARE = 0.01  # smaller shares are not named
USUAL_SHELL = ("tungsten heavy alloy 95", 0.02)


# What the pilots of earlier runs found, by the number of asks and by shot.
Hints = dict[tuple[int, int | None], Learned]


@dataclass(frozen=True)
class Rate:
    """The dose rate at one ask for one shot: estimate, error, and where it comes from.

    `sigma_rel` is the error on which its bound stands: where it is reliable, wider by what is not known of the error
    itself. `spread_rel` is the error as the run found it, None where that is the same.
    """

    ask: Ask
    rate_Sv_s: float
    sigma_rel: float
    reliable: bool
    shares: dict[str, float]
    spread_rel: float | None = None
    wall_k: float = 0.0  # what walls between weld and ask add to k

    @property
    def noise(self) -> float:
        """Relative error as found; 1 where the run was too short to know it (such a figure is never reliable)."""
        found = self.sigma_rel if self.spread_rel is None else self.spread_rel
        return found if math.isfinite(found) else 1.0

    def upper_Sv_s(self, k: float) -> float:
        """(estimate + 1.645 sigma) x (1 + k), the walls relied on counted in."""
        sigma = self.sigma_rel if math.isfinite(self.sigma_rel) else 1.0
        return self.rate_Sv_s * (1 + COVERAGE * sigma) * (1 + k + self.wall_k)

    def ratio(self, k: float) -> float:
        """Upper bound over the strictest limit; 0 where nothing is asked."""
        limit = self.ask.limit_Sv_s
        return self.upper_Sv_s(k) / limit if limit else 0.0


@dataclass(frozen=True)
class Setting:
    """What does not change while a weld's shield is sized."""

    order: Order
    weld: Weld
    candidate: Candidate
    source: Source
    head: Head
    activity_Bq: float
    energies_keV: np.ndarray  # lines behind the capsule
    photons_per_decay: np.ndarray
    # Hints for the next run. They cannot bias a rate, and the order of a weld's runs is fixed, so that the same order
    # of work gives the same figures.
    hints: Hints = field(default_factory=dict, compare=False, repr=False)
    relied: dict[Vec3, tuple[Relied, ...]] = field(default_factory=dict, compare=False, repr=False)
    # Asked for at every step; a setting made from this one by `replace` begins with none.
    _budgets: dict[Fitting, tuple[tuple[BudgetLine, ...], float]] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )
    _built: dict[tuple[Fitting, Shot], Built] = field(
        default_factory=dict, init=False, compare=False, repr=False
    )

    def budget(self, fitting: Fitting) -> tuple[tuple[BudgetLine, ...], float]:
        """Lines and k of the printed budget for a fitting."""
        if fitting not in self._budgets:
            self._budgets[fitting] = budget(
                self.order,
                self.source,
                fitting,
                self.energies_keV,
                self.photons_per_decay,
                shroud=self.candidate.shroud,
            )
        return self._budgets[fitting]

    def walls(self, site: Vec3) -> tuple[Relied, ...]:
        """The walls that stand between the weld and a place, with what they may lack."""
        if site not in self.relied:
            beam = Beam(self.energies_keV, self.photons_per_decay, self.activity_Bq)
            self.relied[site] = relied_on(self.order, self.weld, site, beam)
        return self.relied[site]

    def behind_walls(self, fitting: Fitting, rates: list[Rate]) -> list[Rate]:
        """The rates with what the tolerance of walls before their places adds to k."""
        if not any(self.walls(r.ask.site) for r in rates):
            return rates
        lines, _ = self.budget(fitting)
        squares = math.fsum(b.relative**2 for b in lines if b.what != GAPS)
        return [
            replace(r, wall_k=added_k(walls, r.rate_Sv_s, squares))
            if (walls := self.walls(r.ask.site))
            else r
            for r in rates
        ]

    def build(self, fitting: Fitting, shot: Shot) -> Built:
        """The scene of one shot with that fitting."""
        if (fitting, shot) not in self._built:
            self._built[fitting, shot] = build_scene(self.order, self.weld, self.candidate, shot, fitting)
        return self._built[fitting, shot]

    def sources(self, built: Built) -> tuple[PointSource | LeakageSource, ...]:
        """The beam, and the head's leakage where it was measured.

        A head given as solids leaks through them: its source is open all round and the solids do the rest.
        """
        energies, yields = tuple(map(float, self.energies_keV)), tuple(map(float, self.photons_per_decay))
        solid_head = self.head.solids is not None
        rect = Rect(*built.rect, axis_u=built.axis_along) if built.rect and not solid_head else None
        beam = PointSource(
            at=built.source_at,
            energies_keV=energies,
            photons_per_decay=yields,
            activity_Bq=self.activity_Bq,
            aim=built.aim,
            half_angle_rad=None if solid_head else built.half_angle_rad,
            aperture=rect,
        )
        leak = self.head.leakage
        if leak is None:
            return (beam,)
        name, thickness = USUAL_SHELL
        if self.head.shell_material and self.head.shell_m:
            name, thickness = self.head.shell_material, self.head.shell_m
        through = np.exp(-photons.mu_per_m(order_material(self.order, name), self.energies_keV) * thickness)
        leaking = self.photons_per_decay * through
        kept = leaking > LEAST_LINE * float(np.sum(leaking))
        factor = self.activity_Bq / leak.activity_Bq
        leakage = LeakageSource(
            centre=built.head_centre,
            energies_keV=tuple(map(float, self.energies_keV[kept])),
            photons=tuple(map(float, leaking[kept])),
            size_m=self.head.body,
            axes=built.head_axes,
            h10_surface_Sv_s=None if leak.surface_Sv_s is None else leak.surface_Sv_s * factor,
            h10_1m_Sv_s=None if leak.at_1m_Sv_s is None else leak.at_1m_Sv_s * factor,
        )
        return (beam, leakage)

    def problem(self, built: Built, asks: Sequence[Ask]) -> Problem:
        """The transport problem of one scene with a point score per ask."""
        scores = tuple(PointScore(f"{n}: {a.name}", a.local) for n, a in enumerate(asks))
        reach = max((a.radius_m or 0.0 for a in asks), default=0.0) or ZONES_M
        return Problem(with_zones(built.scene, reach), self.sources(built), scores)

    def rates(
        self,
        fitting: Fitting,
        shot: Shot,
        asks: Sequence[Ask],
        *,
        seed: int,
        batches: int,
        enough: Callable[[list[Rate]], bool] | None = None,
        first: int | None = None,
        lessons: float | None = None,
    ) -> list[Rate]:
        """The rates at the asks for one shot, by `batches` batches at most.

        `enough` may end the run earlier; it is asked after `first` batches (an eighth), twice as many and so on up
        to all, never by the clock, so that the same order gives the same figures on any machine. `lessons`: how much
        of the usual is learned beforehand, by the number of batches where it is left out.
        """
        number = self.candidate.shots.index(shot)
        hint = (
            self.hints.get((len(asks), number))
            or self.hints.get((0, number))
            or self.hints.get((len(asks), None))
            or self.hints.get((0, None))
        )
        run = Run(
            self.problem(self.build(fitting, shot), asks),
            seed,
            lessons=lessons or _lessons(batches, hint),
            hint=hint,
        )
        for key in ((len(asks), number), (0, number), (len(asks), None), (0, None)):
            self.hints[key] = run.learned
        step = (first or max(1, batches // 8)) if enough else batches
        while True:
            run.advance(min(step, batches - run.batches))
            found = [_rate(ask, r) for ask, r in zip(asks, run.field().readings, strict=True)]
            found = self.behind_walls(fitting, found)
            if run.batches >= batches or (enough is not None and enough(found)):
                return found
            step = run.batches  # doubles what is done


def _lessons(batches: int, hint: Learned | None) -> float:
    """How much of the usual a run learns beforehand."""
    if batches > SHORT:
        return 1.0
    return SHORT_LESSONS if hint is None else SHORT_AGAIN


def _rate(ask: Ask, r: Reading) -> Rate:
    """A reading of the transport with the shares in words."""
    shares = {_origin(name): float(share) for name, share in r.solids.items() if share >= LEAST_SHARE}
    leak = float(r.sources.get("leakage", 0.0))
    if leak >= LEAST_SHARE:
        shares = {name: share * (1 - leak) for name, share in shares.items()}
        shares["as leakage of the head"] = leak
    return as_rate(ask, r, shares)


def as_rate(ask: Ask, r: Reading, shares: dict[str, float]) -> Rate:
    """A reading as the rate at an ask. One that is not reliable is said to hold nowhere; its error stays as found."""
    wide = r.h10_bound_sigma_rel if r.reliable else r.h10_sigma_rel
    return Rate(ask, r.h10_rate_Sv_s, wide, r.reliable, shares, r.h10_sigma_rel)


def _origin(name: str) -> str:
    """Where a share comes from, in words: "from the pipe", "from the air", "straight from the beam"."""
    return name if name.startswith("straight") else f"from the {name.removeprefix('the ')}"


def worst(rates: Sequence[Rate], k: float) -> Rate | None:
    """The rate whose upper bound stands highest over its limit; None when no limit is asked anywhere."""
    asked = [r for r in rates if r.ask.limit_Sv_s is not None]
    return max(asked, key=lambda r: r.ratio(k), default=None)
