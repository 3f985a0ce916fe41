"""Which kinds of plate and blanket are sized: the one most in stock, one that promises to cost less, none in vain.

Costs by hand from masses and mounting times of the kit; no outside source.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from halflayer.order.models import Order
from halflayer.scene.fitting import Fitting
from halflayer.shielding import kinds, kit
from halflayer.shielding.look import Setting
from halflayer.shielding.size import Look
from setups import ORDER, candidate

SLOW_S = 200.0  # to hang a plate of the first kind
HELD = Fitting(8, "P4", 3, "B25")
LOOK = Look(0.8, "office", 0.03)


def order_with(*, plate: dict[str, Any] | None = None, blanket: dict[str, Any] | None = None) -> Order:
    """The order of the set-ups with one more kind of plate or blanket, like the one there but for what is given."""
    own = ORDER.kit
    first = own.plates[0].model_copy(update={"mounting_s": SLOW_S})
    plates = [first, *([first.model_copy(update=plate)] if plate else [])]
    blankets = [*own.blankets, own.blankets[0].model_copy(update=blanket)] if blanket else own.blankets
    legs = [g.model_copy(update={"carries_kg": 100.0}) for g in own.legs]
    parts = {"plates": plates, "blankets": blankets, "legs": legs}
    return ORDER.model_copy(update={"kit": own.model_copy(update=parts)})


def setting(order: Order) -> Setting:
    weld = order.weld("W1")
    return Setting(order, weld, candidate(weld, "over"), order.sources[0], order.heads[0], 1e12, [], [], {})  # type: ignore[arg-type]


def pairs(order: Order) -> dict[tuple[str | None, str | None], Any]:
    way = candidate(order.weld("W1"), "over")
    return {(p and p.id, b and b.id): (p, b) for p, b in kit.kinds_to_compare(order, way)}


@pytest.mark.parametrize(
    ("mounting_s", "saves"), [(20.0, True), (400.0, False)], ids=["quick to hang", "slow to hang"]
)
def test_plates_of_twice_the_thickness_are_sized_where_they_save_work(mounting_s: float, saves: bool) -> None:
    """Four plates of 8 mm in place of eight of 4 mm weigh the same; only the time to hang them differs."""
    order = order_with(plate={"id": "P8", "thickness_m": 0.008, "count": 6, "mounting_s": mounting_s})
    here = setting(order)
    plate, blanket = pairs(order)["P8", "B25"]
    bare = Fitting(8, "P4", 0, "B25")
    by_hand = kit.cost_s(order, bare, here.build(bare, here.candidate.shots[0]).wrap)
    assert by_hand == pytest.approx(8 * SLOW_S + kit.CARRY_S_PER_KG * 8 * 4.086, rel=1e-9)
    assert kinds._saves(here, bare, plate, blanket) is saves


def test_a_kind_whose_stock_does_not_give_as_much_mass_is_not_sized() -> None:
    order = order_with(plate={"id": "P8", "thickness_m": 0.008, "count": 3, "mounting_s": 1.0})
    plate, blanket = pairs(order)["P8", "B25"]
    assert not kinds._saves(setting(order), HELD, plate, blanket)


def test_the_kind_that_holds_is_not_compared_with_itself() -> None:
    plate, blanket = pairs(ORDER)["P4", "B25"]
    assert not kinds._saves(setting(ORDER), HELD, plate, blanket)
    assert not kinds._saves(setting(ORDER), Fitting(0, "P4", 0, "B25"), plate, blanket)


def test_less_of_the_same_matter_is_not_tried_after_more_of_it_has_failed() -> None:
    order = order_with(blanket={"id": "B20", "areal_density_kg_m2": 20.0})
    here, by_id = setting(order), pairs(order)
    most = {b: kinds._most(here, *by_id["P4", b]) for b in ("B25", "B20")}
    assert most["B20"].wrap_kg_m2 < most["B25"].wrap_kg_m2
    assert most["B20"].is_no_more_than(most["B25"]) and not most["B25"].is_no_more_than(most["B20"])


def test_other_matter_is_tried_whatever_has_failed() -> None:
    order = order_with(blanket={"id": "L20", "areal_density_kg_m2": 15.0, "material": "lead rubber 75"})
    here, by_id = setting(order), pairs(order)
    other = kinds._most(here, *by_id["P4", "L20"])
    assert not other.is_no_more_than(kinds._most(here, *by_id["P4", "B25"]))


@pytest.mark.parametrize(
    ("accepted_at", "settled"),
    [(1, ["B20"]), (9, ["B20", "B25"])],
    ids=["the other costs more as proposed", "the other may still cost less"],
)
def test_a_kind_is_accepted_only_where_what_is_proposed_may_cost_less(
    monkeypatch: pytest.MonkeyPatch, accepted_at: int, settled: list[str]
) -> None:
    """Two kinds are proposed, 3 layers of B25 and 1 of B20; the cheap one is accepted first."""
    order = order_with(blanket={"id": "B20", "areal_density_kg_m2": 20.0})
    here, done, told = setting(order), [], []
    layers = {"B25": (3, 3), "B20": (1, accepted_at)}

    def tried(setting: Setting, exposure: Any, most: Any, plate: Any, blanket: Any, *rest: Any) -> Any:
        proposed, held = (Fitting(0, None, n, blanket.id) for n in layers[blanket.id])
        told.append(rest[-1])

        def settle() -> Any:
            done.append(blanket.id)
            return kinds.Kind(kinds.Sized(held, True, LOOK, 0, False, ""), None, [], [], ())

        plan: Any = SimpleNamespace(
            fitting=proposed, shot=2, short=None, cost=lambda f: kinds._cost_s(setting, f)
        )
        return kinds._Tried(plan, most, settle)

    monkeypatch.setattr(kinds, "_tried", tried)
    monkeypatch.setattr(kinds, "_saves", lambda *_: True)
    monkeypatch.setattr(
        kit, "kinds_to_compare", lambda *_: [(None, b) for b in order.kit.blankets if b.id in layers]
    )
    best = kinds.least_kind(here, None, 8.0, (1, 2), None, None)  # type: ignore[arg-type]
    assert done == settled
    assert told == [None, 2]  # the second kind is sized on the shot that decided the first
    assert best.sized.fitting.blanket == ("B20" if accepted_at == 1 else "B25")
