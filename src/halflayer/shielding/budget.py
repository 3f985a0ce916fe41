"""The printed budget: what the Monte Carlo error does not hold (activity, plates, blankets, gaps, head)."""

from __future__ import annotations

import math

import numpy as np

from halflayer.order.equipment import Source
from halflayer.order.models import Order
from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import Material
from halflayer.scene.fitting import Fitting
from halflayer.scene.matter import blanket_material, order_material
from halflayer.shielding.kit import blanket_kind, plate_kind, shroud_kind
from halflayer.shielding.result import BudgetLine

GAPS = "gaps at seams"
COVERAGE = 1.645  # one-sided 95 % of a normal distribution


def _transmission(material: Material, energies: np.ndarray, weights: np.ndarray, thickness_m: float) -> float:
    mu = photons.mu_per_m(material, energies)
    return float(np.sum(weights * np.exp(-mu * thickness_m)) / np.sum(weights))


def budget(
    order: Order,
    source: Source,
    fitting: Fitting,
    energies_keV: np.ndarray,
    photons_per_decay: np.ndarray,
    *,
    shroud: str | None = None,
) -> tuple[tuple[BudgetLine, ...], float]:
    """The lines of the budget and k, relative, for one fitting.

    Each tolerance is worked out as if the whole dose came straight through the part at fault (the largest
    effect it can have): transmission of the source's lines at the tolerated lower thickness over that at the
    nominal one. Tolerances are independent and add as squares; seams always raise the dose and add outright:
    layers have staggered seams, so that a share g of each layer's area is open. Formulas:
    gaps = product over the layers of (1 + g (1/T - 1)) - 1, with T the transmission of that layer for what
    has passed the ones before it; k = gaps + sqrt(sum of squares). Source: our choice, stated on every sheet.
    """
    weights = photons_per_decay * dosimetry.h10_per_fluence(energies_keV)
    lines = [BudgetLine("activity certificate", source.activity_uncertainty, f"certificate of {source.id}")]
    plate, blanket = plate_kind(order, fitting), blanket_kind(order, fitting)
    # What has passed the plates is harder; taking the unfiltered lines for the blankets errs on the high side.
    if plate and fitting.plates:
        matter, t = plate.matter, fitting.plates * plate.thickness_m
        rise = _transmission(matter, energies_keV, weights, t * (1 - plate.tolerance)) / _transmission(
            matter, energies_keV, weights, t
        )
        lines.append(
            BudgetLine(
                "mass of the stop" if plate.folded else "thickness of plates",
                rise - 1,
                f"{plate.tolerance:.0%} of {t * 1000:g} mm",
            )
        )
    rigid = shroud_kind(order, shroud)
    if rigid:
        matter, t = order_material(order, rigid.material), rigid.wall_m
        rise = _transmission(matter, energies_keV, weights, t * (1 - rigid.tolerance)) / _transmission(
            matter, energies_keV, weights, t
        )
        lines.append(BudgetLine("wall of the shroud", rise - 1, f"{rigid.tolerance:.0%} of {t * 1000:g} mm"))
    gaps = 0.0
    if blanket and fitting.layers:
        matter = blanket_material(order, blanket)
        t = fitting.layers * blanket.thickness_m
        rise = _transmission(matter, energies_keV, weights, t * (1 - blanket.tolerance)) / _transmission(
            matter, energies_keV, weights, t
        )
        areal = fitting.layers * blanket.areal_density_kg_m2
        lines.append(BudgetLine("mass of blankets", rise - 1, f"{blanket.tolerance:.0%} of {areal:g} kg/m2"))
        through = [
            _transmission(matter, energies_keV, weights, n * blanket.thickness_m)
            for n in range(fitting.layers + 1)
        ]
        open_share = order.kit.gap_allowance
        gaps = math.prod(1 + open_share * (a / b - 1) for a, b in zip(through, through[1:], strict=False)) - 1
        lines.append(
            BudgetLine(GAPS, gaps, f"{order.kit.gap_allowance:.0%} of each layer open, seams staggered")
        )
    k = gaps + math.sqrt(sum(b.relative**2 for b in lines if b.what != GAPS))
    return tuple(lines), k
