"""What a first film and its screens leave of the kerma for a second film that lies behind them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from halflayer.exposure.paths import ShotScene
from halflayer.exposure.rates import Rates
from halflayer.exposure.scatter import lines_behind
from halflayer.order.equipment import Film
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.physics import dosimetry, photons
from halflayer.physics.materials import Material
from halflayer.scene.film_pack import BASE_M
from halflayer.scene.matter import order_material
from halflayer.scene.solids import Scene

Array = NDArray[np.float64]
Lines = tuple[Array, Array]

# Our choice: scatter is followed to 80 degrees off the film's normal; what comes flatter is shadowed by cap and clamp.
FLATTEST_RAD, ANGLES = float(np.radians(80.0)), 60
REST_KEV = 511.0


@dataclass(frozen=True)
class Share:
    """Kerma before the second film as a share of that before the first: over all, of straight rays, of scatter."""

    all: float
    straight: float
    scattered: float
    metal_m: float  # of the first film's screens, front and back


@lru_cache(maxsize=16)
def _angles() -> tuple[Array, Array]:
    angle = np.linspace(0.0, FLATTEST_RAD, ANGLES + 1)
    middle = 0.5 * (angle[1:] + angle[:-1])
    return np.cos(middle), np.sin(middle)


def straight_share(lines: Lines, sheets: tuple[tuple[Material, float], ...]) -> float:
    """Share of the kerma of these lines (energies [keV], photons) that goes straight through flat layers, square on."""
    energies, photons_per_decay = lines
    kerma = photons_per_decay * dosimetry.air_kerma_per_fluence(energies)
    depth = sum((photons.mu_per_m(m, energies) * t for m, t in sheets), np.zeros(len(energies)))
    whole = float(kerma.sum())
    return float(kerma @ np.exp(-depth)) / whole if whole > 0.0 else 1.0


def scattered_share(
    lines: Lines,
    wall: tuple[Material, float],
    own_front: tuple[Material, float],
    before: tuple[tuple[Material, float], ...],
) -> float:
    """The same of photons scattered once in a wall that lies on the film, as their film's dose figure counts them.

    Lines as they leave the weld, each scattered by Klein and Nishina's cross section in a plane lit evenly, through
    half the wall and, aslant, through the screens. A dose figure holds what its own front screen takes from straight
    rays, so what scatter loses in that screen beyond this is lost here too.
    """
    energies, photons_per_decay = lines
    cos, sin = _angles()
    ratio = 1.0 / (1.0 + energies[:, None] / REST_KEV * (1.0 - cos))
    after = energies[:, None] * ratio
    section = ratio**2 * (ratio + 1.0 / ratio - sin**2)

    def depth(layers: tuple[tuple[Material, float], ...]) -> Array:
        out = np.zeros_like(after)
        for one, thick in layers:
            out += photons.mu_per_m(one, after.ravel()).reshape(after.shape) * thick
        return out / cos

    kerma = photons_per_decay[:, None] * section * (sin / cos)
    kerma = kerma * dosimetry.air_kerma_per_fluence(after.ravel()).reshape(after.shape)
    kerma = kerma * np.exp(-depth(((wall[0], wall[1] / 2),)))
    first = float((kerma * np.exp(-depth((own_front,)))).sum()) / straight_share(lines, (own_front,))
    own_behind = straight_share(lines, (*before, own_front)) / straight_share(lines, before)
    second = float((kerma * np.exp(-depth((*before, own_front)))).sum()) / own_behind
    return second / first if first > 0.0 else 1.0


def share_behind(order: Order, weld: Weld, front: Film, lines: Lines, scatter_to_primary: float) -> Share:
    """What the first film's screens and base leave for the second, both films with screens of their own.

    `lines` as they leave the weld. A film's dose figure holds its own screens, so what stands before the second film
    beyond that is the first one's front screen, base and back screen. X rays and electrons that lead sends on are left
    out: the second film is then rather darker than said.
    """
    lead = order_material(order, front.screens.material)
    steel = order_material(order, weld.pipe.material)
    before = (
        (lead, front.screens.front_m),
        (order_material(order, "polyester"), BASE_M),
        (lead, front.screens.back_m),
    )
    straight = straight_share(lines, before)
    scattered = scattered_share(lines, (steel, weld.pipe.wall), before[0], before)
    both = (straight + scatter_to_primary * scattered) / (1.0 + scatter_to_primary)
    return Share(both, straight, scattered, front.screens.front_m + front.screens.back_m)


def by_front(
    order: Order, weld: Weld, built: ShotScene, scene: Scene, rates: Rates, lines: Lines
) -> Callable[[Film], float]:
    """The share behind a first film, for any film of the order: behind the weld, with the scatter of all judged."""
    inside = rates.judged
    primary = float(rates.primary[inside].sum())
    ratio = float(rates.scattered[inside].sum()) / primary if primary > 0.0 else 0.0
    behind = lines_behind(built, scene, rates.points, lines)
    return lambda front: share_behind(order, weld, front, behind, ratio).all
