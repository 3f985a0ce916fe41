"""One way of a weld timed, and timed again with more exposures for as long as that mends what stops it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from halflayer.base.errors import OutOfRange
from halflayer.exposure.fine_clock import cost, eased
from halflayer.exposure.result import Exposure
from halflayer.exposure.scatter import BATCHES
from halflayer.exposure.time import expose
from halflayer.exposure.whole_weld import with_more_shots
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built, build_scene
from halflayer.scene.fitting import Fitting
from halflayer.technique.result import Candidate

TRIES_AT_MOST = 6  # numbers of exposures of one way: our choice, each takes a second or two


@dataclass(frozen=True)
class Timed:
    """A way with the scenes of its exposures, without a shield, and their times."""

    candidate: Candidate
    built: tuple[Built, ...]
    exposure: Exposure

    @property
    def stopped(self) -> bool:
        """True where what the exposures show, or take, stops the way."""
        return any(f.level == "stop" for f in self.exposure.findings)


Time = Callable[[Candidate], Timed]


def timed(order: Order, weld: Weld, candidate: Candidate, *, seed: int = 1, batches: int = BATCHES) -> Timed:
    """The way as it is. Raises: OutOfRange where it cannot be timed."""
    built = tuple(build_scene(order, weld, candidate, shot, Fitting()) for shot in candidate.shots)
    moment = order.shift.starts
    return Timed(
        candidate, built, expose(order, weld, candidate, built, moment=moment, seed=seed, batches=batches)
    )


def with_enough_shots(order: Order, weld: Weld, candidate: Candidate, time: Time) -> tuple[Timed, ...]:
    """The way as asked and, while more exposures mend what stops it, the same with so many: the last one counts.

    Raises: OutOfRange where the way as asked cannot be timed; one with more exposures that cannot be is left out.
    """
    tried = [time(candidate)]
    while tried[-1].stopped and len(tried) < TRIES_AT_MOST:
        more = with_more_shots(order, weld, tried[-1].candidate, tried[-1].exposure)
        if more is None:
            break
        try:
            tried.append(time(more))
        except OutOfRange:
            break
    fine = next((t for t in tried[:-1] if eased(t.exposure) is not None), None)
    if fine is not None:
        last = tried[-1]
        told = cost(order, last.candidate, fine.exposure, last.exposure, first=fine.candidate)
        exposure = replace(last.exposure, findings=(*last.exposure.findings, told))
        tried[-1] = replace(last, exposure=exposure)
    # A clock set finer than hands can is no reason to leave a weld unshot where no more exposures mend it.
    if (known := eased(tried[-1].exposure)) is not None:
        tried[-1] = replace(tried[-1], exposure=known)
    return tuple(tried)
