"""What attempts that stopped say together: no outside source, the rule is our own."""

from __future__ import annotations

from dataclasses import replace

import placement_orders as po
from halflayer.attempt import Attempt, told_of
from halflayer.base.result import Finding


def test_of_one_way_with_more_and_more_exposures_the_last_speaks() -> None:
    """Alike but for their figures: said once, as of the last; what an earlier one alone says, and another way, stay."""
    made = po.order("over")
    way = po.best(made, "over")

    def tried(shots: int, *words: str, source: str = way.source) -> Attempt:
        c = replace(way, shots=way.shots[:1] * shots, source=source)
        return Attempt(c, None, None, None, tuple(Finding("stop", w) for w in words))

    loose = "no indicators hold {} of the places, such as {} degrees {} from the middle"
    found = told_of(
        [
            tried(6, loose.format(4, 38.9, "anticlockwise"), "the wall is too thick at 6 exposures"),
            tried(7, loose.format(2, 38.1, "clockwise"), loose.format(3, 20, "clockwise")),
            tried(6, loose.format(4, 38.9, "anticlockwise"), source="IR-2"),
        ]
    )
    assert [f.text for f in found] == [
        f"over with {way.source}, 6 to 7 exposures tried: {loose.format(2, 38.1, 'clockwise')}",
        f"over with {way.source}, 6 to 7 exposures tried: {loose.format(3, 20, 'clockwise')}",
        f"over with {way.source}, 6 to 7 exposures tried: the wall is too thick at 6 exposures",
        f"over with IR-2: {loose.format(4, 38.9, 'anticlockwise')}",
    ]
