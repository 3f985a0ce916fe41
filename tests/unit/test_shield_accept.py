"""The acceptance of a shield, with the dose played by hand: what refuses it, what is run again, and what a line is."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from types import SimpleNamespace
from typing import Any

import pytest

from halflayer.scene.fitting import Fitting
from halflayer.shielding import accept as a
from halflayer.shielding.asks import Ask, Kind
from halflayer.shielding.barrier_line import _bound
from halflayer.shielding.dose_findings import FAR
from halflayer.shielding.look import Rate

K = 0.2
LIMIT = 1e-9


def ask(n: int, *, radius: float = 8.0) -> Ask:
    turn = 2 * math.pi * n / 12
    at = (radius * math.cos(turn), radius * math.sin(turn), 0.0)
    return Ask(f"p{n}", at, at, (Kind("rate", "instantaneous", LIMIT, None),), turn, radius)


def rate(of: Ask, ratio: float, noise: float, reliable: bool) -> Rate:
    """A rate whose estimate with the budget stands at this part of the limit."""
    return Rate(of, ratio * LIMIT / (1 + K), noise, reliable, {})


@dataclass
class Played:
    """A setting whose runs give what a function says; it keeps the list of them."""

    play: Callable[[str, Ask, int], Rate]
    shots: tuple[str, ...] = ("first", "second")
    runs: list[tuple[str, int]] = field(default_factory=list)

    @property
    def candidate(self) -> Any:
        return SimpleNamespace(shots=self.shots)

    def budget(self, fitting: Fitting) -> tuple[tuple[()], float]:
        return (), K

    def build(self, fitting: Fitting, shot: str) -> Any:
        return SimpleNamespace(source_at=(0.0, 0.0, 0.0))

    def rates(self, fitting: Fitting, shot: str, asks: Sequence[Ask], **how: Any) -> list[Rate]:
        self.runs.append((shot, len(asks)))
        return [self.play(shot, one, len(asks)) for one in asks]


ASKS = [ask(n) for n in range(12)]


def accepted(played: Played) -> tuple[list[list[Rate]], Any]:
    return a.accept(played, Fitting(), ASKS, seed=2, prove_to=None)  # type: ignore[arg-type]


def test_one_rare_photon_does_not_refuse_a_shield_that_holds() -> None:
    def play(shot: str, one: Ask, together: int) -> Rate:
        if one is ASKS[3] and together == len(ASKS):
            return rate(one, 6.0, 0.98, False)  # one photon brought nearly all of it
        return rate(one, 0.2, 0.03, True)

    rates, stands = accepted(Played(play))
    assert stands.ratio < 1
    assert all(r.reliable for of_shot in rates for r in of_shot)


def test_a_limit_broken_beyond_its_noise_refuses_at_once() -> None:
    played = Played(lambda shot, one, together: rate(one, 1.5 if one is ASKS[0] else 0.1, 0.02, True))
    rates, stands = accepted(played)
    assert stands.ratio > 1
    assert stands.name == "p0"
    assert played.runs == [("first", 12)]
    assert len(rates) == 1


def test_what_stays_unknown_near_its_limit_refuses() -> None:
    _, stands = accepted(Played(lambda shot, one, together: rate(one, 0.7, 0.1, False)))
    assert stands.ratio > 1
    assert not stands.reliable


def test_vague_places_far_under_their_limits_are_run_again_a_few_neighbours_together() -> None:
    def play(shot: str, one: Ask, together: int) -> Rate:
        return rate(one, 0.1 if shot == "first" else 0.01, 0.2, together <= a.TOGETHER)

    played = Played(play)
    rates, stands = accepted(played)
    assert stands.ratio < 1
    again = played.runs[2:]
    assert sum(n for _, n in again) == 12
    assert {shot for shot, _ in again} == {"first"}  # the second shot decides nowhere
    assert max(n for _, n in again) <= a.TOGETHER
    assert all(r.reliable for r in rates[0])


def test_what_comes_near_its_limit_by_a_closer_look_is_settled_too() -> None:
    """A first run that saw too little must not let a place pass for one far under its limit."""

    def play(shot: str, one: Ask, together: int) -> Rate:
        if one is ASKS[5]:
            return rate(one, 0.05, 0.3, False) if together == 12 else rate(one, 1.3, 0.02, True)
        return rate(one, 0.1, 0.02, True)

    _, stands = accepted(Played(play))
    assert stands.ratio > 1
    assert stands.name == "p5"


@pytest.mark.parametrize(("reliable", "times"), [(True, 1.0), (False, FAR)])
def test_no_vague_point_outside_an_accepted_ring_stands_for_more_than_the_ring(
    reliable: bool, times: float
) -> None:
    """By hand: the ring's bound at 8 m by inverse square to 12 m is (8 / 12)^2 of it."""
    ring = rate(ask(0), 0.3, 0.1, reliable)
    outside = rate(ask(0, radius=12.0), 5.0, 0.9, False)
    bound = _bound(outside, K, ring)
    assert bound == pytest.approx(times * 0.3 * LIMIT * 1.1645 * (8 / 12) ** 2)
    inside = rate(ask(0, radius=4.0), 5.0, 0.9, False)
    assert _bound(inside, K, ring) == pytest.approx(5.0 * LIMIT * (1 + 3 * 0.9))
