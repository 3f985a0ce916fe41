"""The search for the fewest plates and layers, on dose laws that are known in closed form."""

from __future__ import annotations

import math

from hypothesis import given
from hypothesis import strategies as st

from halflayer.scene.fitting import Fitting
from halflayer.shielding.size import Look, least, propose, settle


def cost(f: Fitting) -> float:
    return 50.0 * f.plates + 500.0 * f.layers


def run(look, accept=None, plates_max=14, layers_max=20, shots=1, guess=(5, 5), whole=lambda n: n):
    proposed = propose(
        plate="P",
        plates_max=plates_max,
        blanket="B",
        layers_max=layers_max,
        shots=shots,
        guess=guess,
        look=look,
        cost=cost,
        whole=whole,
    )
    return settle(proposed, accept or (lambda f: look(f, 0)))


@given(truth=st.integers(0, 15), guess=st.integers(-3, 25), slope=st.floats(0.05, 3))
def test_least_finds_the_first_that_holds_from_any_guess(truth, guess, slope):
    found = least(15, guess, lambda n: math.exp(slope * (truth - 0.5 - n)))
    assert found == truth


def test_least_says_none_when_the_most_is_not_enough():
    assert least(6, 3, lambda n: 2.0) is None


def test_least_needs_few_looks_for_an_exponential():
    looked = []

    def ratio(n):
        looked.append(n)
        return math.exp(0.4 * (9.5 - n))

    assert least(30, 4, ratio) == 10
    assert len(looked) <= 4


@given(stop=st.floats(1, 1e4), side=st.floats(1, 1e3))
def test_size_is_the_cheapest_pair_when_stop_and_wrap_are_apart(stop, side):
    """Beam through the plates and scatter through the layers, each on its own: the answer is exact."""

    def look(f, shot):
        return Look(max(stop * math.exp(-0.7 * f.plates), side * math.exp(-0.5 * f.layers)), "wall", 0.03)

    sized = run(look)
    plates = max(0, math.ceil(math.log(stop) / 0.7))
    layers = max(0, math.ceil(math.log(side) / 0.5))
    assert sized.held == (plates <= 14 and layers <= 20)
    if sized.held:
        assert (sized.fitting.plates, sized.fitting.layers) == (plates, layers)


def test_a_size_refused_by_the_other_seed_grows_until_it_holds():
    def look(f, shot):
        return Look(0.9 * math.exp(0.5 * (6 - f.plates)), "wall", 0.05)

    sized = run(look, accept=lambda f: Look(1.3 * look(f, 0).ratio, "wall", 0.02), layers_max=0)
    assert sized.held
    assert sized.enlarged >= 1
    assert 1.3 * look(sized.fitting, 0).ratio <= 1


def test_what_is_wanted_beside_the_places_is_accepted_with_them():
    def look(f, shot):
        return Look(0.9 * math.exp(0.5 * (3 - f.layers)), "wall", 0.05)

    accepted = []

    def accept(f):
        accepted.append(f)
        return look(f, 0)

    proposed = propose(
        plate=None, plates_max=0, blanket="B", layers_max=20, shots=1, guess=(0, 3), look=look, cost=cost
    )
    sized = settle(proposed, accept, widened=lambda f: Fitting(f.plates, f.plate, f.layers + 4, f.blanket))
    assert (sized.fitting.layers, sized.held) == (7, True)
    assert accepted == [sized.fitting]  # one acceptance does for both


def test_dose_that_comes_round_is_named():
    shares = {"from the floor": 0.8, "from the pipe": 0.2}

    def look(f, shot):
        return Look(1.4 + 100 * math.exp(-f.layers - f.plates), "office", 0.03, shares)

    sized = run(look)
    assert not sized.held
    assert sized.saturated
    assert "more layers do not help" in sized.note
    assert "comes from the floor (80%), from the pipe (20%)" in sized.note


def test_a_short_stock_is_not_called_saturated():
    sized = run(
        lambda f, s: Look(1e4 * math.exp(-0.5 * f.layers), "office", 0.02), layers_max=8, plates_max=0
    )
    assert not sized.held
    assert not sized.saturated
    assert sized.fitting.layers == 8


def test_the_worst_shot_decides():
    def look(f, shot):
        return Look((1 + shot) * math.exp(0.5 * (4 - f.layers)), "wall", 0.02)

    one = run(look, accept=lambda f: max((look(f, s) for s in range(3)), key=lambda x: x.ratio), shots=3)
    assert one.held
    assert look(one.fitting, 2).ratio <= 1


@given(stop=st.floats(1.5, 1e3))
def test_a_stop_of_folded_pieces_has_the_layers_of_whole_ones(stop):
    """Pieces of four layers: the fewest whole ones that hold, never a part of one; no other count is looked at."""
    looked = set()

    def look(f, shot):
        looked.add(f.plates)
        return Look(stop * math.exp(-0.7 * f.plates), "wall", 0.03)

    sized = run(look, plates_max=16, layers_max=0, whole=lambda n: 4 * math.ceil(n / 4))
    assert sized.fitting.plates == 4 * math.ceil(math.log(stop) / 0.7 / 4)
    assert all(n % 4 == 0 for n in looked)


def test_of_many_shots_those_are_looked_at_that_a_glance_puts_first():
    looked = []

    def look(f, shot):
        looked.append(shot)
        return Look((8 if shot == 3 else 6) * math.exp(-0.5 * (f.layers + f.plates)), "office", 0.03)

    def glance(f, shot):
        return Look({0: 1.0, 1: 2.0, 2: 9.0, 3: 8.0, 4: 0.5}[shot], "office", 0.3)

    found = propose(
        plate="P", plates_max=9, blanket="B", layers_max=9, shots=5, guess=(2, 2), look=look, cost=cost,
        glance=glance,
    )  # fmt: skip
    assert found.shot == 3
    assert set(looked) == {2, 3}


def test_the_shot_that_decided_with_another_kind_is_the_only_one_looked_at():
    looked = []

    def look(f, shot):
        looked.append(shot)
        return Look(6 * math.exp(-0.5 * (f.layers + f.plates)), "office", 0.03)

    found = propose(
        plate="P", plates_max=9, blanket="B", layers_max=9, shots=5, guess=(2, 2), look=look, cost=cost,
        glance=lambda f, shot: Look(1.0, "office", 0.3), worst=4,
    )  # fmt: skip
    assert found.shot == 4
    assert set(looked) == {4}


def test_what_is_refused_at_once_is_enlarged_before_anything_more_is_asked_of_it():
    """The first batches break a limit under three layers: floors are searched, and all accepted, with those alone."""

    def look(f, shot):
        return Look(0.9, "wall", 0.05)

    widened, accepted = [], []

    def wanted(f):
        widened.append(f.layers)
        return f

    def accept(f):
        accepted.append(f.layers)
        return Look(0.8, "wall", 0.02)

    proposed = propose(
        plate=None, plates_max=0, blanket="B", layers_max=20, shots=1, guess=(0, 0), look=look, cost=cost
    )
    sized = settle(
        proposed,
        accept,
        widened=wanted,
        refused=lambda f: Look(4.0 / (1 + f.layers), "office", 0.05) if f.layers < 3 else None,
    )
    assert (sized.fitting.layers, sized.held, sized.enlarged) == (3, True, 3)
    assert widened == accepted == [3]


def test_a_stock_that_is_refused_at_once_asks_nothing_of_the_floors():
    proposed = propose(
        plate=None, plates_max=0, blanket="B", layers_max=2, shots=1, guess=(0, 0), cost=cost,
        look=lambda f, shot: Look(0.9, "wall", 0.05),
    )  # fmt: skip
    asked = []
    sized = settle(
        proposed,
        lambda f: asked.append(f) or Look(0.5, "wall", 0.02),
        widened=lambda f: asked.append(f) or f,
        refused=lambda f: Look(3.0, "office", 0.05),
    )
    assert not sized.held
    assert asked == []


def test_where_the_sizing_saw_nothing_wrong_the_cheapest_piece_comes_first():
    """A place that the sizing did not look at breaks its limit; what lowers the places it did look at is no guide."""

    def look(f, shot):
        return Look(0.4 * math.exp(-0.05 * f.plates - 3.0 * f.layers), "north", 0.05)

    def accept(f):
        return Look(1.9 * math.exp(-0.8 * f.plates), "south", 0.05)

    sized = run(look, accept=accept, guess=(0, 0))
    assert sized.held
    assert (sized.fitting.plates, sized.fitting.layers) == (1, 0)
