"""The density of the zone against that at the indicator: the rule's verdict, and where further indicators are laid."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from halflayer.exposure.paths import in_degrees
from halflayer.exposure.result import ShotTime, Variation
from halflayer.technique.result import RuleVerdict
from halflayer.technique.rules import Answer

RULE = "density over the zone"
SECOND = "in the part that the second film shows"


@dataclass(frozen=True)
class Place:
    """A place of the weld's crown: its density, its wall and how far from the middle of the arc judged [rad]."""

    density: float
    wall: str
    from_middle_rad: float

    @property
    def where(self) -> str:
        """The place in words, its side too: an indicator is laid there."""
        degrees = math.degrees(self.from_middle_rad)
        side = "" if abs(degrees) < 0.5 else " clockwise" if degrees > 0 else " anticlockwise"
        return f"{in_degrees(self.from_middle_rad)} degrees{side} from the middle, {self.wall}"


def of_one_film(places: Sequence[Place], at_indicator: float, bounds: tuple[float, float]) -> Variation:
    """Least and largest departure, and places for further indicators that leave none beyond the bounds.

    A place is held by an indicator whose density it departs from within the bounds; the one farthest off is given an
    indicator of its own until each is held.
    """
    low, high = bounds
    shares = [p.density / at_indicator - 1.0 for p in places]
    laid: list[Place] = []
    while True:
        at = [at_indicator, *(p.density for p in laid)]
        free = [p for p in places if not any(low <= p.density / d - 1.0 <= high for d in at)]
        # both sides of the middle are alike, and an indicator on one shows nothing of the other
        free += [
            p for p in places if p not in free and _beyond(p, at_indicator, bounds) and not _beside(p, laid)
        ]
        if not free:
            return Variation(min(shares), max(shares), tuple(p.where for p in laid))
        laid.append(max(free, key=lambda p: abs(math.log(p.density / at_indicator))))


def _beyond(place: Place, at_indicator: float, bounds: tuple[float, float]) -> bool:
    return not bounds[0] <= place.density / at_indicator - 1.0 <= bounds[1]


def _beside(place: Place, laid: Sequence[Place]) -> bool:
    """True where an indicator lies on the same wall and side of the middle."""
    return any(p.wall == place.wall and p.from_middle_rad * place.from_middle_rad >= 0.0 for p in laid)


def further(shots: Sequence[ShotTime]) -> tuple[str, ...]:
    """Where further indicators are laid for each exposure: all places that some exposure asks for."""
    return tuple(dict.fromkeys(w for s in shots if s.variation for w in s.variation.further))


def verdict(shots: Sequence[ShotTime], asked: Answer[tuple[float, float] | None]) -> RuleVerdict | None:
    """The rule as the exposures meet it, with the further indicators that are planned; None where it is not asked."""
    found = [s.variation for s in shots if s.variation is not None]
    if asked.value is None or not found:
        return None
    low, high = asked.value
    required = (
        f"{low:+.0%} to {high:+.0%} of that at an image quality indicator; beyond it one more indicator there"
    )
    least = [v.least for v in found if v.least is not None]
    most = [v.most for v in found if v.most is not None]
    reached = (
        f"{min(least):+.0%} to {max(most):+.0%} of that in the middle" if least and most else "two films"
    )
    if places := further(shots):
        reached += (
            f": one indicator would not do; holds by further ones, where it departs, planned for each exposure: "
            f"{'; '.join(places)}"
        )
    return RuleVerdict(RULE, required, reached, "holds", asked.source)
