"""The error on which an upper bound stands: wider than the run's own, the more so the less is known of it."""

import math

import pytest

from halflayer.transport.variance import WIDER, Estimate, widened


def test_a_well_known_figure_keeps_its_error():
    assert widened(1e-4, 0.0) == pytest.approx(1e-4, rel=1e-3)


def test_two_standard_deviations_of_the_variance_are_added_to_it():
    """vov is the square of the variance's own relative error: 0.04 is 20 %, twice that makes the variance 1.4 times."""
    assert widened(1e-6, 0.04) == pytest.approx(1e-6 * math.sqrt(1.4), rel=1e-4)


def test_the_error_grows_by_its_own_size():
    assert widened(0.05, 0.0) == pytest.approx(0.05 * (1.0 + WIDER * 0.05))


def test_a_variance_known_to_half_is_still_reliable_and_one_known_less_is_not():
    assert Estimate(1.0, 1e-4, 500.0, 0.01, 0.3).reliable
    assert not Estimate(1.0, 1e-4, 500.0, 0.01, 0.6).reliable
