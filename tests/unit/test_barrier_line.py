"""The barrier line of several exposures: every one that leads somewhere is run, and a short run never shortens it."""

import math

import pytest

from halflayer.shielding.asks import Ask, Kind
from halflayer.shielding.barrier_line import _along, _bound, _leading
from halflayer.shielding.look import Rate

LIMIT = 7.5e-6 / 3600
K = 0.25


def rate(
    share: float, *, direction: float, radius_m: float, reliable: bool = True, sigma: float = 0.02
) -> Rate:
    where = (radius_m * math.cos(direction), radius_m * math.sin(direction), 0.0)
    ask = Ask("barrier", where, where, (Kind("rate", "instantaneous", LIMIT, None),), direction, radius_m)
    return Rate(ask, share * LIMIT, sigma, reliable, {})


def test_an_exposure_that_leads_in_one_direction_only_is_run() -> None:
    """The first is the highest of all; the second leads behind it, the third nowhere."""
    rings = [
        {0.0: rate(0.9, direction=0.0, radius_m=8.0), math.pi: rate(0.1, direction=math.pi, radius_m=8.0)},
        {0.0: rate(0.1, direction=0.0, radius_m=8.0), math.pi: rate(0.4, direction=math.pi, radius_m=8.0)},
        {0.0: rate(0.2, direction=0.0, radius_m=8.0), math.pi: rate(0.2, direction=math.pi, radius_m=8.0)},
    ]
    assert _leading(rings) == {0, 1}


def test_inside_the_ring_a_vague_point_counts_for_no_less_than_inverse_square() -> None:
    ring = rate(0.4, direction=0.0, radius_m=8.0)
    low = rate(0.01, direction=0.0, radius_m=2.0, reliable=False, sigma=0.4)
    assert _bound(low, K, ring) == pytest.approx(ring.upper_Sv_s(K) * 16.0)
    high = rate(50.0, direction=0.0, radius_m=2.0, reliable=False, sigma=0.4)
    assert _bound(high, K, ring) == pytest.approx(50.0 * LIMIT * (1 + 3 * 0.4) * (1 + K))


def test_a_reliable_point_stands_for_itself() -> None:
    ring = rate(0.4, direction=0.0, radius_m=8.0)
    known = rate(0.3, direction=0.0, radius_m=2.0)
    assert _bound(known, K, ring) == pytest.approx(known.upper_Sv_s(K))


def test_an_exposure_that_is_not_run_enters_by_inverse_square() -> None:
    ring = rate(0.4, direction=0.0, radius_m=8.0)
    assert _along(ring, K, 4.0) == pytest.approx(4.0 * ring.upper_Sv_s(K))
