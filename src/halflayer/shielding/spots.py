"""Dose rates at places of one's own choice in a set-up as planned, or with something in it changed."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics import nuclides
from halflayer.scene.build import Built
from halflayer.scene.fitting import Fitting
from halflayer.scene.matter import order_material
from halflayer.shielding.asks import Ask
from halflayer.shielding.look import Hints, Rate, Setting, as_rate
from halflayer.technique.result import Candidate, Shot
from halflayer.transport.field import Reading
from halflayer.transport.run import Run

LESSONS = 0.1  # of the usual learning before a look
AS_FLAT = 0.02  # sine of the beam's rise: about a degree, our choice
FIRST = 2  # batches of a look before its noise is asked for


def setting_of(
    order: Order, weld: Weld, candidate: Candidate, exposure: Exposure, hints: Hints | None = None
) -> Setting:
    """What a dose run of a weld needs: source, head, activity at the moment of the shot, lines behind the capsule.

    hints: those of earlier runs of the same weld and candidate.
    """
    source = next(s for s in order.sources if s.id == candidate.source)
    head = next(h for h in order.heads if h.id == candidate.head)
    capsule = order_material(order, source.capsule_material)
    energies, yields = nuclides.filtered(nuclides.nuclide(source.nuclide), capsule, source.capsule_wall_m)
    assert isinstance(exposure.activity.value, float)
    return Setting(
        order,
        weld,
        candidate,
        source,
        head,
        exposure.activity.value,
        energies,
        yields,
        {} if hints is None else hints,
    )


@dataclass(frozen=True)
class Changed(Setting):
    """A setting whose scenes are changed after they are built."""

    change: Callable[[Built], Built] | None = None

    def build(self, fitting: Fitting, shot: Shot) -> Built:
        """The scene of one shot with that fitting, changed."""
        built = super().build(fitting, shot)
        return self.change(built) if self.change else built


def changed(setting: Setting, change: Callable[[Built], Built]) -> Changed:
    """The setting with a change to every scene that it builds."""
    return Changed(
        setting.order,
        setting.weld,
        setting.candidate,
        setting.source,
        setting.head,
        setting.activity_Bq,
        setting.energies_keV,
        setting.photons_per_decay,
        setting.hints,
        change=change,
    )


def rates_over_shots(
    setting: Setting, fitting: Fitting, shots: Sequence[Shot], asks: Sequence[Ask], *, seed: int, batches: int
) -> list[Rate]:
    """At each ask the rate of the shot with the highest upper bound."""
    k = setting.budget(fitting)[1]
    found = [setting.rates(fitting, shot, asks, seed=seed, batches=batches) for shot in shots]
    return [max(of_ask, key=lambda r: r.upper_Sv_s(k)) for of_ask in zip(*found, strict=True)]


def flattest(setting: Setting) -> list[Shot]:
    """The exposures whose beam lies nearest to the horizontal on site: they point at people standing about.

    One that lies a little steeper counts as one of them.
    """

    def rise(shot: Shot) -> float:
        built = setting.build(Fitting(), shot)
        start = built.to_site(built.source_at)
        end = built.to_site(tuple(s + a for s, a in zip(built.source_at, built.aim, strict=True)))  # type: ignore[arg-type]
        return round(abs(end[2] - start[2]), 6)

    rises = [rise(shot) for shot in setting.candidate.shots]
    least = min(rises)
    return [s for s, r in zip(setting.candidate.shots, rises, strict=True) if r <= least + AS_FLAT]


def quick_rates(
    setting: Setting,
    fitting: Fitting,
    shot: Shot,
    asks: Sequence[Ask],
    *,
    seed: int,
    batches: int,
    keep: bool = False,
    enough: Callable[[list[Rate]], bool] | None = None,
) -> list[Rate]:
    """Rates by a short run that learns little of its own beside what earlier runs of the weld found: a look.

    A few batches may do: what is done is doubled until the noise at every ask is known, or what `enough` asks for is,
    or all batches are done.
    `keep`: what this run learned is handed to the next one.
    """
    number = setting.candidate.shots.index(shot)
    hint = setting.hints.get((0, number)) or setting.hints.get((0, None))
    run = Run(setting.problem(setting.build(fitting, shot), asks), seed, lessons=LESSONS, hint=hint)
    if keep:
        setting.hints[(0, number)] = run.learned
    while True:
        run.advance(min(max(FIRST, run.batches), batches - run.batches))
        readings = run.field().readings
        found = setting.behind_walls(fitting, [_rate(a, r) for a, r in zip(asks, readings, strict=True)])
        done = enough(found) if enough is not None else all(math.isfinite(r.h10_sigma_rel) for r in readings)
        if run.batches >= batches or done:
            return found


def _rate(ask: Ask, r: Reading) -> Rate:
    shares = {
        name if name.startswith("straight") else f"from the {name.removeprefix('the ')}": float(share)
        for name, share in r.solids.items()
    }
    return as_rate(ask, r, shares)
