"""What hangs on the legs of a shrouded stand, as the sheet says it. Source: the masses of the kit, added by hand."""

from __future__ import annotations

from types import SimpleNamespace as Bag
from typing import Any, cast

from halflayer.sheet.figures import Show
from halflayer.sheet.shroud_steps import _legs_bear, _strapped


def test_the_load_on_the_legs_stands_beside_what_they_carry() -> None:
    """10 kg of head, 16 kg of shroud, 2 + 6 kg of stop and 3 kg of what holds it are 37 kg."""
    order: Any = Bag(
        heads=(Bag(id="H", mass_kg=10.0),),
        kit=Bag(
            legs=(Bag(id="L", carries_kg=40.0),),
            shrouds=(Bag(id="S", mass_kg=16.0),),
            gear=(Bag(id="ST-9", kind="straps"), Bag(id="PH", kind="plate holder", mass_kg=3.0)),
        ),
    )
    chosen = cast(Any, Bag(legs="L", head="H", shroud="S"))
    items = (Bag(what="stop", mass_kg=2.0), Bag(what="stop", mass_kg=6.0), Bag(what="shroud", mass_kg=16.0))
    told = _legs_bear(order, chosen, cast(Any, Bag(items=items)), Show())
    assert told == " (L: 37 kg with head, stop and its holder, carry 40 kg)"
    assert _strapped(order) == ", then strap ST-9"
    order.kit.gear = ()
    assert _strapped(order) == ", then straps to be brought"
