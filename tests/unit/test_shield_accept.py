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
from halflayer.shielding.size import Look, propose, settle

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


def test_a_proof_runs_every_limited_place_on_to_its_error_however_far_under_its_limit() -> None:
    """Without a proof such places are left as the first look found them."""

    def play(shot: str, one: Ask, together: int) -> Rate:
        return rate(one, 0.05, 0.08 if together == 12 and shot not in asked else 0.03, True)

    asked: set[str] = set()
    plain = Played(play)
    accepted(plain)
    assert plain.runs == [("first", 12), ("second", 12)]

    proved = Played(play)
    budgets: list[dict[str, Any]] = []
    real = proved.rates

    def rates(fitting: Fitting, shot: str, asks: Sequence[Ask], **how: Any) -> list[Rate]:
        budgets.append(how)
        if "enough" in how:
            assert not how["enough"]([rate(one, 0.05, 0.08, True) for one in asks])
            assert not how["enough"]([rate(one, 0.05, 0.01, False) for one in asks])
            assert how["enough"]([rate(one, 0.05, 0.04, True) for one in asks])
            asked.add(shot)
        return real(fitting, shot, asks, **how)

    proved.rates = rates  # type: ignore[method-assign]
    found, stands = a.accept(proved, Fitting(), ASKS, seed=7, prove_to=0.05)  # type: ignore[arg-type]
    assert stands.ratio < 1
    assert proved.runs[2:] == [("first", 12), ("second", 12)]
    assert all(r.sigma_rel <= 0.05 for of_shot in found for r in of_shot)
    assert [b["batches"] for b in budgets] == [a.FIRST, a.FIRST, a.PROVE_MOST, a.PROVE_MOST]
    assert {b["seed"] for b in budgets} == {7}  # the acceptance's own random numbers, never the sizing's


def test_a_bound_that_the_proof_finds_over_its_limit_adds_a_piece_and_is_proved_again() -> None:
    """The first look lies low; each plate takes a fifth. By hand: 0.97 x 1.05 is over 1, 0.78 x 1.05 is not."""
    proofs: list[int] = []

    def verdict(fitting: Fitting) -> Any:
        def play(shot: str, one: Ask, together: int) -> Rate:
            first = together == len(ASKS) and (fitting.plates, shot) not in again
            ratio = 0.97 * 0.8 ** (fitting.plates - 3)
            return rate(one, 0.5 * ratio if first else ratio, 0.06 if first else 0.03, True)

        again: set[tuple[int, str]] = set()
        played = Played(play, shots=("first",))
        real = played.rates

        def rates(f: Fitting, shot: str, asks: Sequence[Ask], **how: Any) -> list[Rate]:
            if "enough" in how:
                again.add((f.plates, shot))
            return real(f, shot, asks, **how)

        played.rates = rates  # type: ignore[method-assign]
        proofs.append(fitting.plates)
        return a.accept(played, fitting, ASKS, seed=7, prove_to=0.05)[1]  # type: ignore[arg-type]

    proposed = propose(
        plate="plate",
        plates_max=9,
        blanket=None,
        layers_max=0,
        shots=1,
        guess=(3, 0),
        look=lambda fitting, shot: Look(0.9 * 0.8 ** (fitting.plates - 3), "p0", 0.01),
        cost=lambda fitting: 60.0 * fitting.plates,
    )
    sized = settle(proposed, verdict)
    assert sized.held
    assert sized.fitting.plates == 4
    assert proofs == [3, 4]
