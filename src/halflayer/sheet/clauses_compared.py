"""The clauses of the code that the sheets of a shift have from memory or a stored page, for one list of the order."""

from __future__ import annotations

import re
from collections.abc import Iterable

from halflayer.exposure.two_films import loading_of
from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.clause import REPORT_BY, clause
from halflayer.sheet.figures import Show
from halflayer.sheet.figures_compared import box
from halflayer.sheet.first_film import fog_let
from halflayer.sheet.inspection import inspection_rows
from halflayer.sheet.marking import marking_data

# A bracket that ends in its mark, such as `(7.6, EN 12679; m)`; brackets in it are those of a paragraph.
_MARKED = re.compile(r"\(((?:[^()]|\([^()]*\))*)[;:] [mr]\)")
_NAMED = re.compile(
    r"(?P<other>(?:ISO|EN|GB|ASTM) [A-Z]?\d[\d-]*)|Table (?P<table>[A-Z]?[-.\d]*\d)|Figure (?P<figure>\d+)"
    r"|Annex (?P<annex>[A-Z])"
    r"|(?P<clause>T-\d[\d.]*\d(?:\([a-z]\))?|\d+(?:\.\d+)+)"
)
GRADIENTS = "ASTM E1815, ISO 11699-1"  # of the classes of film systems: m on the sheets
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
    """What whoever compares the sheets of this shift ticks by its own copy, each with the figures that the sheets have
    of it; empty where nothing is shot.
    """
    welds = [w for w in in_shift(plan) if w.chosen is not None]
    texts = [text for w in welds for text in _texts(order, w, show)]
    beside: dict[str, dict[str, None]] = {}
    for name, words in (pair for text in texts for pair in _beside(text)):
        beside.setdefault(name, {})[words] = None
    rules: dict[str, dict[str, None]] = {}
    for w in welds:
        for r in w.chosen.rules if w.chosen else ():
            for name in _of_rule(clause(r.source, order.code_of(order.weld(w.weld)))):
                beside.setdefault(name, {})[show.converted(r.required)] = None
                rules.setdefault(name, {})[r.rule] = None
    told = [box(name, beside, rules) for name in named(texts)]
    gradients = dict.fromkeys(g for w in welds for g in _gradients(order, w))
    told += [f"{GRADIENTS}: least gradients {', '.join(gradients)}"] if gradients else []
    return [*told, *dict.fromkeys(by for w in welds if (by := _report(order, w)))]


def _beside(text: str) -> list[tuple[str, str]]:
    """Each clause of a text with the words from the bracket marked before to the end of its own."""
    found, start = [], 0
    for bracket in _MARKED.finditer(text):
        found += [(name, text[start : bracket.end()]) for name in named([bracket[0]])]
        start = bracket.end()
    return found


def _of_rule(source: str) -> list[str]:
    """The clauses that a rule names as its source, where that is marked.

    >>> _of_rule("7.7 and Annex A; m"), _of_rule("7.1.7; number read, angles m"), _of_rule("kit of the order")
    (['7.7', 'Annex A'], ['7.1.7'], [])
    """
    names, _, mark = source.partition(";")
    return named([f"({names.replace(' and ', ', ')}; m)"]) if re.search(r"\b[mr]\b", mark) else []


def _gradients(order: Order, w: WeldPlan) -> list[str]:
    """Classes whose least gradients a weld's times stand on, with them; a film that states its own is none."""
    if w.chosen is None or w.exposure is None:
        return []
    loading = loading_of(order, w.chosen, w.exposure.shots[0])
    return [
        f"{f.film_class} {k.gradient_at_2:.2g}/{k.gradient_at_4:.2g}"
        for f, k in (zip(loading.films, loading.curves, strict=True) if loading else ())
        if f.gradient_at_2 is None
    ]


def _report(order: Order, w: WeldPlan) -> str:
    """The clause on what a report names; empty where the sheets have none of the code."""
    words = REPORT_BY.get(order.code_of(order.weld(w.weld)), "")
    return f"{words.rpartition(', ')[2].partition(';')[0]}: report's contents" if words else ""


def _texts(order: Order, w: WeldPlan, show: Show) -> list[str]:
    """What a weld's sheet says of its code: the inspector's block, the rules, the marking plan."""
    c, weld = w.chosen, order.weld(w.weld)
    if c is None:
        return []
    code = order.code_of(weld)
    block = [words for _, words in inspection_rows(order, weld, w, show)]
    told = [text for r in c.rules for text in (r.required, r.reached, f"({clause(r.source, code)})")]
    rules = [show.converted(text) for text in told]
    return [
        *block,
        *rules,
        f"base and fog (of the order{fog_let(code)})",
        *(row["what"] for row in marking_data(order, weld, c, w.exposure, show, reading=False)),
    ]


def _by_number(name: str) -> tuple[str, list[int]]:
    """Numbers by their parts, so that 7.10 follows 7.9."""
    return re.sub(r"\d.*", "", name), [int(n) for n in re.findall(r"\d+", name)]
