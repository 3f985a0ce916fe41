"""Pieces slit for one weld are in no other's stock: which weld waits for more, and for how many, counted by hand."""

from __future__ import annotations

from types import SimpleNamespace as Bag
from typing import Any

import pytest

from halflayer import conditions_of_kit
from halflayer.conditions_of_kit import BROUGHT, pieces_brought


def _weld(name: str, pieces: int) -> Any:
    item = Bag(id="B", pieces=pieces)
    return Bag(weld=name, status="ready", chosen=None, shielding=Bag(items=(item,), fitting=Bag(blanket="B")))


def _order(stock: int) -> Any:
    return Bag(kit=Bag(blankets=(Bag(id="B", count=stock),)), weld=lambda name: name)


def test_a_weld_waits_for_what_those_before_it_have_slit(monkeypatch: pytest.MonkeyPatch) -> None:
    """12 in stock: 1 and 4 slit before leave 7 of the 9 that the third takes. Common practice, no source."""
    slit = {"a": 1, "b": 4, "c": 5}
    monkeypatch.setattr(conditions_of_kit, "slit_pieces", lambda order, weld, chosen, shielding: slit[weld])
    plans = [_weld("a", 3), _weld("b", 7), _weld("c", 9)]
    found = pieces_brought(_order(12), plans, [])
    assert list(found) == ["c"] and found["c"].short == BROUGHT
    assert found["c"].do == "2 of B: 5 of the kit's 12 are slit before, for a, b"
    # c in this shift, b in another: 9 of c stay, 5 of them slit; b comes last and finds 6 of its 7
    later = pieces_brought(_order(12), plans, ["b"])
    assert list(later) == ["b"] and later["b"].do.startswith("1 of B: 6 of the kit's 12")
    assert pieces_brought(_order(14), plans, []) == {}
