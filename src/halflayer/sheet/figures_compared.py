"""What is compared with each clause of the code: its figures as the sheets print them, for the boxes of the order."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

LENGTH = r"[\d.]+ (?:mm|in)"
# How a figure stands in the words beside its clause, and how the box tells it. Found in those words alone, so that box
# and sheet tell the same figure; whatever has none here is told by the name of its rule.
FIGURES: dict[str, tuple[tuple[str, str], ...]] = {
    "6.6": (
        (r"names no length", "films lap, no length"),
        (r"in the middle of every lap", "marker on both"),
        (r"one at every end", "ends marked"),
    ),
    "6.7": ((rf"({LENGTH}) unbroken", r"\1 of wire"),),
    "7.1.6": (
        (
            rf"outside diameter ≤ ({LENGTH}), wall ≤ ({LENGTH}), weld width \(a quarter of De\)",
            r"De ≤ \1, wall ≤ \2, cap ≤ De/4",
        ),
        (r"(\d) at (\d+)° \(t/De = [\d.]+, (below|from) ([\d.]+)", r"\1 at \2°: t/De \3 \4"),
        (r"(about) [\d.]+ \w+, one weld width", r"opening \1 one weld width"),
    ),
    "7.1.7": ((r"(\d) at (\d+)° or (\d+)°", r"\1 at \2° or \3°"),),
    "7.2.2": ((rf"(\w+-\d+): ([\d.]+) (?:mm|in) to ({LENGTH}) of", r"\1 \2 to \3"),),
    "7.5": ((r"B, ([\d.]+) (?:mm|in) high, ([\d./]+ (?:mm|in)) thick", r"B \1 × \2"),),
    "7.6": ((r"\(([\d.]+ d b\^\(2/3\))", r"f ≥ \1"),),
    "7.7": ((rf"({LENGTH}) of parent metal on each side", r"\1 beside the weld"),),
    "7.8": (
        (r"([\d.]+) or more on each", r"\1 on each of two"),
        (r"at most ([\d.]+):", r"base and fog ≤ \1"),
    ),
    "Table 2": ((rf"(\w+-\d+): ([\d.]+) (?:mm|in) to ({LENGTH}) of", r"\1 \2 to \3"),),
    "Table 3": (
        (r"(C\d) or better", r"\1"),
        (rf"lead, front ([\d.]+) to ({LENGTH})", r"lead \1 to \2"),
    ),
    "Table 5": ((r"judged ([\d.]+) or more as read, (±[\d.]+)", r"≥ \1, \2"),),
    "Annex A": ((r"at most (\d+ ?%)", r"\1 more wall"),),
    "Annex B": ((rf"(\d less with \S+) .*w above ([\d.]+ to {LENGTH})", r"\1, w \2"),),
    "EN 12679": ((r"d.*the (larger of diameter and length)", r"d: \1"),),
    "GB 3323-87": ((rf"([\d.]+) (?:mm|in) to ({LENGTH}) at all", r"opening \1 to \2"),),
    "ISO 5580": ((r"to ([\d.]+) by the viewer", r"density to \1"),),
    "ISO 17635": ((r"level (\d+).*goes with (class \w)", r"level \1 with \2"),),
}
# Tables of indicators, whatever their numbers: the wire or hole that they ask for before any relief.
INDICATOR = (
    (rf"above ([\d.]+) up to ({LENGTH}); (\S+) without", r"\3: \1 to \2"),
    (rf"^(\S+) \([^)]*\) seen, .*above ([\d.]+) up to ({LENGTH})$", r"\1: \2 to \3"),
)
TECHNIQUE = ((r"((?:SWSI|DWSI|DWDI) (?:ellipse|in plane|outside|panoramic|contact))", r"\1"),)


def told(clause: str, texts: Iterable[str]) -> list[str]:
    """The figures of a clause in the words that stand beside it, each once, in their order.

    >>> told("7.6", ["f ≥ 116.7 mm (7.5 d b^(2/3) with d = 1.5 mm)", "f ≥ 25.5 mm (7.5 d b^(2/3) with d = 1 mm)"])
    ['f ≥ 7.5 d b^(2/3)']
    """
    patterns = FIGURES.get(clause, ())
    if clause.startswith("Figure"):
        patterns = TECHNIQUE
    elif clause.startswith("Table B"):
        patterns = INDICATOR
    found: dict[str, None] = {}
    for text in texts:
        for pattern, words in patterns:
            if match := re.search(pattern, text):
                found[match.expand(words)] = None
                if patterns is INDICATOR:
                    break
    return [f for f in found if f]


def box(clause: str, beside: Mapping[str, Iterable[str]], rules: Mapping[str, Iterable[str]]) -> str:
    """A clause with the figures compared, else with the names of the rules that stand on it.

    `beside`: by clause the words beside it; `rules`: by clause the rules that name it as their source.
    """
    figures = told(clause, beside.get(clause, ())) or list(dict.fromkeys(rules.get(clause, ())))
    return f"{clause}: {', '.join(figures)}" if figures else clause
