"""The clauses of the code that the sheets of a shift have from memory or a stored page, for one list of the order."""

from __future__ import annotations

import re
from collections.abc import Iterable

from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.clause import clause
from halflayer.sheet.figures import Show
from halflayer.sheet.inspection import inspection_rows
from halflayer.sheet.marking import marking_data

# A bracket that ends in its mark, such as `(7.6, EN 12679; m)`; brackets in it are those of a paragraph.
_MARKED = re.compile(r"\(((?:[^()]|\([^()]*\))*)[;:] [mr]\)")
_NAMED = re.compile(
    r"(?P<other>(?:ISO|EN|GB|ASTM) [A-Z]?\d[\d-]*)|Table (?P<table>[A-Z]?[-.\d]*\d)|Figure (?P<figure>\d+)"
    r"|Annex (?P<annex>[A-Z])"
    r"|(?P<clause>T-\d[\d.]*\d(?:\([a-z]\))?|\d+(?:\.\d+)+)"
)
_KINDS = (("clause", ""), ("table", "Table "), ("figure", "Figure "), ("annex", "Annex "), ("other", ""))


def named(texts: Iterable[str]) -> list[str]:
    """Each clause, table, figure and other standard that stands in a bracket marked m or r, once, in order of kind.

    >>> named(["f >= 100 mm (7.6, EN 12679; m)", "lead (Table 3; m), not marked (7.9)", "(7.6; m)", "(Annex A; m)"])
    ['7.6', 'Table 3', 'Annex A', 'EN 12679']
    """
    found: dict[str, set[str]] = {kind: set() for kind, _ in _KINDS}
    for text in texts:
        for bracket in _MARKED.finditer(text):
            # What else stands in it, figures of its own among them, is no clause.
            for one in filter(None, map(_NAMED.fullmatch, re.split(r"[,;:] ", bracket[1]))):
                if one.lastgroup:
                    found[one.lastgroup].add(one[one.lastgroup])
    return [f"{word}{n}" for kind, word in _KINDS for n in sorted(found[kind], key=_by_number)]


def boxes(plan: Plan, order: Order, show: Show) -> list[str]:
    """What whoever compares the sheets of this shift ticks by its own copy; empty where nothing is shot."""
    return named(text for w in in_shift(plan) for text in _texts(order, w, show))


def _texts(order: Order, w: WeldPlan, show: Show) -> list[str]:
    """What a weld's sheet says of its code: the inspector's block, the rules, the marking plan."""
    c, weld = w.chosen, order.weld(w.weld)
    if c is None:
        return []
    code = order.code_of(weld)
    block = [words for _, words in inspection_rows(order, weld, w, show)]
    rules = [text for r in c.rules for text in (r.required, r.reached, f"({clause(r.source, code)})")]
    return [
        *block,
        *rules,
        *(row["what"] for row in marking_data(order, weld, c, w.exposure, show, reading=False)),
    ]


def _by_number(name: str) -> tuple[str, list[int]]:
    """Numbers by their parts, so that 7.10 follows 7.9."""
    return re.sub(r"\d.*", "", name), [int(n) for n in re.findall(r"\d+", name)]
