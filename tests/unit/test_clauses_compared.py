"""The order's list of clauses from memory: brackets that are marked, each clause once, figures in them left out."""

from __future__ import annotations

from halflayer.sheet.clauses_compared import named


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
