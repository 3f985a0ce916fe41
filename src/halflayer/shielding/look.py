"""One dose run for a fitting and a shot: the transport problem, its field, and how it stands against the limits."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from halflayer.order.equipment import Head, Source
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built, build_scene
from halflayer.scene.fitting import Fitting
from halflayer.shielding.asks import Ask
from halflayer.shielding.budget import COVERAGE, budget
from halflayer.shielding.result import BudgetLine
from halflayer.technique.result import Candidate, Shot


@dataclass(frozen=True)
class Rate:
    """The dose rate at one ask for one shot: estimate, noise, and where it comes from."""

    ask: Ask
    rate_Sv_s: float
    sigma_rel: float
    reliable: bool
    shares: dict[str, float]

    def upper_Sv_s(self, k: float) -> float:
        """(estimate + 1.645 sigma) x (1 + k)."""
        return self.rate_Sv_s * (1 + COVERAGE * self.sigma_rel) * (1 + k)


@dataclass(frozen=True)
class Setting:
    """What does not change while a weld's shield is sized."""

    order: Order
    weld: Weld
    candidate: Candidate
    source: Source
    head: Head
    activity_Bq: float
    energies_keV: np.ndarray
    photons_per_decay: np.ndarray

    def budget(self, fitting: Fitting) -> tuple[tuple[BudgetLine, ...], float]:
        """Lines and k of the printed budget for a fitting."""
        return budget(self.order, self.source, fitting, self.energies_keV, self.photons_per_decay)

    def build(self, fitting: Fitting, shot: Shot) -> Built:
        """The scene of one shot with that fitting."""
        return build_scene(self.order, self.weld, self.candidate, shot, fitting)
