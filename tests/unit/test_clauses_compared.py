"""The order's list of clauses from memory: brackets that are marked, each clause once, figures in them left out."""

from __future__ import annotations

from dataclasses import replace

import plan_factory
from halflayer.order.models import Order
from halflayer.sheet.clauses_compared import boxes, named
from halflayer.sheet.figures import Show
from halflayer.sheet.figures_compared import box


def test_marked_clauses_are_listed_once_and_in_order() -> None:
    texts = [
        "f >= 100 mm (7.10; m), again (7.6, EN 12679; m) and (7.6; m)",
        "paragraph (T-271.2(a); r), lead (Annex B, Table B.5; m), shown (Figure 11; m)",
        "not marked (7.9); through the film (30 cd/m2 to 2.5, 10 above: ISO 5580; m)",
    ]
    assert named(texts) == [
        "7.6",
        "7.10",
        "T-271.2(a)",
        "Table B.5",
        "Figure 11",
        "Annex B",
        "EN 12679",
        "ISO 5580",
    ]


def test_every_clause_of_the_example_stands_with_what_is_compared() -> None:
    """Figures in the words that the sheets have beside the clause; a rule's name where they have none."""
    told = box(
        "7.6", {"7.6": ["f ≥ 116.7 mm (7.5 d b^(2/3) with d = 1.5 mm) (7.6; m)", "no figure (7.6; m)"]}, {}
    )
    assert told == "7.6: f ≥ 7.5 d b^(2/3)"
    wires = [
        "W13 (0.2 mm) seen, source side, above 5 up to 7 mm; W14 without relief, 1 less with Se-75 agreed",
        "W15 (0.125 mm) seen, source side, above 3.5 up to 5 mm",
    ]
    # Before any relief: that is what the table has.
    assert box("Table B.5", {"Table B.5": wires}, {}) == "Table B.5: W14: 5 to 7 mm, W15: 3.5 to 5 mm"
    assert (
        box("T-274", {"T-274": ["none"]}, {"T-274": ["geometric unsharpness"]})
        == "T-274: geometric unsharpness"
    )
    assert box("T-1", {}, {}) == "T-1"


def test_boxes_have_what_a_report_names_and_the_gradients_of_the_classes() -> None:
    plan = plan_factory.plan()
    order = Order.from_json(plan.order)
    found = boxes(plan, order, Show())
    assert len({one.partition(":")[0] for one in found}) == len(found) > 2
    assert "8: report's contents" in found
    films = {d.film_class for d in order.detectors if d.gradient_at_2 is None}
    (gradients,) = (one for one in found if one.startswith("ASTM E1815, ISO 11699-1: least gradients C"))
    assert {one.split()[0] for one in gradients.partition("gradients ")[2].split(", ")} <= films
    assert boxes(replace(plan, welds=()), order, Show()) == []
