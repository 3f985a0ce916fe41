"""Between what an alarm may be set to at a weld: what stays under it as planned, and what a live head gives beside it.

A source that was not brought home lies behind its shield still: an alarm tells it only where it sounds there.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.shielding.contour import crossed
from halflayer.shielding.control_spot import ControlSpot
from halflayer.shielding.readings import stored_rate_Sv_s
from halflayer.shielding.result import PointDose, Shielding
from halflayer.shielding.survey_points import is_barrier
from halflayer.technique.result import Candidate

NOISE = 1.645  # sigmas taken off an estimate, and off one that is not reliable: our choice for the latter
NOISE_UNSURE = 3.0
# What reaches a point of the ring from there is no nearer beside the head: it is taken off before the inverse square.
FAR_OFF = ("from the air", "from the floor")


@dataclass(frozen=True)
class AlarmRoom:
    """Rates between which an alarm of whoever works at the head may be set [Sv/s]; value None: not known."""

    weld: str
    least: Derived  # set lower it sounds as planned
    most: Derived  # set higher it is silent beside a live head

    @property
    def span_Sv_s(self) -> tuple[float, float] | None:
        """Least and most, whether an alarm fits between them or not; None where one is not known."""
        low, high = self.least.value, self.most.value
        if not isinstance(low, int | float) or not isinstance(high, int | float):
            return None
        return float(low), float(high)


def alarm_room(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    shielding: Shielding,
    activity_Bq: float,
    spot: ControlSpot | None,
    post_Sv_s: float | None,
    read_Sv_s: float | None = None,
) -> AlarmRoom:
    """The room at one weld. `spot`: where the crank stands; without one `post_Sv_s`, the rate that the crew is counted
    at. `read_Sv_s`: the highest turn-back reading of the points that are read with the source out; None: none is."""
    return AlarmRoom(
        weld.id,
        _least(order, candidate, activity_Bq, spot, post_Sv_s, read_Sv_s),
        _most(order, weld, shielding),
    )


def _least(
    order: Order,
    candidate: Candidate,
    activity_Bq: float,
    spot: ControlSpot | None,
    post_Sv_s: float | None,
    read_Sv_s: float | None,
) -> Derived:
    """The largest of the upper rate at the crank, the closed head's at the hands' distance and the points' readings."""
    head = next(h for h in order.heads if h.id == candidate.head)
    near = order.crew_times.hand_distance_m
    beside = stored_rate_Sv_s(head, activity_Bq, near)
    at_crank = spot.rate if spot else Derived("rate where the crew is counted", post_Sv_s, "Sv/s")
    closed = Derived(
        "closed head at the hands' distance", beside, "Sv/s", source="reading of the stored head"
    )
    points = [Derived("highest turn-back reading of the points read", read_Sv_s, "Sv/s")]
    inputs = (at_crank, closed, *(points if read_Sv_s is not None else []))
    values = [d.value for d in inputs]
    known = [float(v) for v in values if isinstance(v, int | float)]
    return Derived(
        "alarm_set_at_least",
        max(known) if len(known) == len(values) else None,
        "Sv/s",
        formula="the largest of the rates at the crank, beside the closed head and at the points that are read",
        inputs=inputs,
        source="an alarm that sounds as planned is not heeded (common practice, no source)",
        basis="" if len(known) == len(values) else "not computed: one of them is not known",
    )


def _most(order: Order, weld: Weld, shielding: Shielding) -> Derived:
    """The least rate beside the weld with its source out, at the hands' distance, of all directions and exposures.

    Formula: least estimate of the exposures x (1 - noise) / (1 + k) x share from the set-up x (ring / hands' distance)
    squared. Source: inverse square law from the survey ring; directions behind a body or lost in noise are left out.
    """
    near = order.crew_times.hand_distance_m
    found = sorted(_beside(order, weld, shielding, near), key=lambda f: f[0])
    basis = "lower figure; inside the survey ring by inverse square, not computed there"
    return Derived(
        "alarm_set_at_most",
        found[0][0] if found else None,
        "Sv/s",
        formula="least estimate x (1 - noise) / (1 + k) x share from the set-up x (ring / hands' distance)^2",
        inputs=(*(found[0][1] if found else ()), Derived("hands' distance", near, "m")),
        source="inverse square law from the survey ring, the least of its directions",
        basis=basis if found else "not computed: no direction is known",
    )


def _beside(
    order: Order, weld: Weld, shielding: Shielding, near_m: float
) -> Iterator[tuple[float, tuple[Derived, ...]]]:
    centre = (*weld.at, weld.floor_level_m + weld.height_m)
    bodies = {f"from the {o.name}" for o in order.obstacles}
    for p in shielding.points:
        noise = (NOISE if p.reliable else NOISE_UNSURE) * p.sigma_rel
        if not is_barrier(p) or noise >= 1.0 or crossed(order.obstacles, (*weld.at, p.at[2]), p.at):
            continue
        ring, least = math.dist(centre, p.at), _least_of(p)
        own = 1.0 - math.fsum(v for name, v in p.shares.items() if name in FAR_OFF or name in bodies)
        rate = least * (1.0 - noise) / (1.0 + shielding.k) * max(own, 0.0) * (ring / near_m) ** 2
        yield (
            rate,
            (
                Derived(f"least estimate, {p.name}", least, "Sv/s"),
                Derived("noise", noise, "1"),
                Derived("k", shielding.k, "1"),
                Derived("share from the set-up", own, "1"),
                Derived("survey ring", ring, "m"),
            ),
        )


def _least_of(p: PointDose) -> float:
    return min(p.by_exposure_Sv_s, default=p.rate_Sv_s)
