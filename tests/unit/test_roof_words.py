"""The roof is searched again where a beam goes up to it, and ways in that are locked are told with their key.

Common practice, no source; cases by hand.
"""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any, cast

import pytest

import plan_factory as pf
from halflayer.order.models import Order
from halflayer.sheet import cleared, go
from halflayer.sheet.figures import Show


def weld(at: tuple[float, float] = (2.0, 2.0)) -> Any:
    return SimpleNamespace(at=at, floor_level_m=0.0, height_m=1.3)


def floor(level_m: float, area: Any = None) -> Any:
    return SimpleNamespace(level_m=level_m, area=area)


def test_the_roof_is_searched_again_before_a_beam_upwards(monkeypatch: pytest.MonkeyPatch) -> None:
    """Exposures 1 and 3 of W-1 go up, none of W-2; whoever locks its access writes name and key."""
    monkeypatch.setattr(cleared, "upwards", lambda _order, w, _c: [1, 3] if w.at[0] == 2.0 else [])
    spots = {"W-1": weld(), "W-2": weld((5.0, 2.0))}
    used = cast(Any, [SimpleNamespace(weld=n, chosen=None) for n in spots])
    order = cast(Any, SimpleNamespace(floors=(), weld=spots.__getitem__))
    told = cleared._roof(order, used)
    assert "W-1 (exposures 1, 3): roof again, its access locked by ____" in told and "key ____" in told
    assert "W-2" not in told
    assert cleared._roof(order, used[1:]) == ""
    assert [tuple(cleared.to_roof(order, w)) for w in used] == [(1, 3), ()]  # page 1 has it too
    monkeypatch.setattr(go, "to_roof", lambda *_: (4, 5, 6, 7))
    plan = pf.plan()
    w = next(w for w in plan.welds if w.shielding)
    rows = {r["what"]: r["do"] for r in go.first_of_all(Order.from_json(plan.order), w, Show())}
    assert rows[go.ROOF] == "searched, its access locked: beam up in 4–7"


def test_a_stated_floor_above_has_its_own_watch_in_place_of_the_roof() -> None:
    """Level 4 over the weld at 1.3 m, in its area or without one; not beside it, nor at the weld's own level."""
    area = ((0.0, 0.0), (4.0, 4.0))
    for floors, under in (
        ((floor(4.0, area),), True),
        ((floor(4.0),), True),
        ((floor(4.0, ((6.0, 0.0), (9.0, 4.0))),), False),
        ((floor(0.0),), False),
        ((), False),
    ):
        order = cast(Any, SimpleNamespace(floors=floors))
        assert cleared._under_floor(order, weld()) is under


def test_ways_locked_are_told_with_who_has_the_key(monkeypatch: pytest.MonkeyPatch) -> None:
    """The gate is locked, the door is not; the reader opens it to read, but not at W-1, whose rope has it inside."""
    routes = (SimpleNamespace(name="Gate", locked=True), SimpleNamespace(name="Door", locked=False))
    monkeypatch.setattr(cleared, "holders", lambda _order: SimpleNamespace(reader="A. Reader"))
    monkeypatch.setattr(cleared, "shut_inside", lambda *_: {"Gate": ["W-1"]})
    ((what, text),) = cleared.locked(cast(Any, SimpleNamespace(access=routes)), [])
    assert what == "ways locked" and text.startswith(
        "Gate: owner agrees, escape kept; key: A. Reader, opened"
    )
    assert "but at W-1 (in its rope)" in text and "Door" not in text
    assert cleared.locked(cast(Any, SimpleNamespace(access=routes[1:])), []) == []
