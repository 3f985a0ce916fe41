"""At a turn-back reading the source is brought home and treated as out until the meter shows it home, on every sheet.

"Source home" alone reads as a statement at night. Common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace

import safety_plan
from halflayer.cautions import ALWAYS
from halflayer.order.models import Order
from halflayer.sheet.figures import Show
from halflayer.sheet.lost_words import check_words


def test_the_caution_of_every_sheet_says_what_to_do_and_what_to_take_it_for() -> None:
    (told,) = [c for c in ALWAYS if c.startswith("At a turn-back reading")]
    assert "bring the source home from the control position" in told
    assert "treat it as out until the meter shows it home" in told
    assert "source home, walk out" not in told


def test_the_check_of_page_1_leaves_it_to_the_line_under_it() -> None:
    plan = safety_plan.plan()
    w = next(w for w in plan.welds if w.safety and w.safety.lost and w.safety.lost.cases)
    assert w.safety and w.safety.lost
    case = replace(w.safety.lost.cases[0], holds=False)
    lost = replace(w.safety.lost, cases=(case,))
    told = check_words(Order.from_json(plan.order), replace(w, safety=replace(w.safety, lost=lost)), Show())
    assert told.endswith("Not checked: do not expose") and "turn-back at the rope" not in told
    assert any("At a turn-back reading: bring the source home" in c for c in ALWAYS)
