"""A first guess of plates and layers from the straight way through them, to start the search near its end."""

from __future__ import annotations

import numpy as np

from halflayer.order.equipment import Blanket, StopPlate
from halflayer.physics import dosimetry, photons
from halflayer.scene.matter import blanket_material, order_material
from halflayer.scene.stop import StopPiece
from halflayer.shielding.look import Setting

# Share of the open beam that the lit pipe sends sideways at the same distance: common practice, no source.
SIDEWAYS = 0.005


def _pieces(mu: np.ndarray, rates: np.ndarray, piece_m: float, wanted: float) -> int:
    """Least number of pieces that bring the sum of `rates` under `wanted`, narrow beam; at most 60."""
    for n in range(60):
        if float(np.sum(rates * np.exp(-mu * piece_m * n))) <= wanted:
            return n
    return 60


def first_guess(
    setting: Setting, plate: StopPlate | StopPiece | None, blanket: Blanket | None, within_m: float
) -> tuple[int, int]:
    """Plates and layers that a narrow beam would need at the wanted barrier distance."""
    limit = setting.order.limits.barrier
    wanted = limit.rate_Sv_s or (limit.in_any_hour_Sv or 2e-5) / 3600.0
    e, y = setting.energies_keV, setting.photons_per_decay
    open_beam = setting.activity_Bq * y * dosimetry.h10_per_fluence(e) / (4 * np.pi * within_m**2)
    plates = layers = 0
    if plate is not None:
        matter = (
            plate.matter if isinstance(plate, StopPiece) else order_material(setting.order, plate.material)
        )
        mu = photons.mu_per_m(matter, e)
        plates = _pieces(mu, open_beam, plate.thickness_m, wanted)
    if blanket is not None:
        mu = photons.mu_per_m(blanket_material(setting.order, blanket), e)
        share = SIDEWAYS if plate is not None else 1.0
        layers = _pieces(mu, open_beam * share, blanket.thickness_m, wanted)
    return plates, layers
