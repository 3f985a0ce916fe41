"""What the verdicts of each code were worked from, in words: edition, what was at hand of it, what is not judged."""

from __future__ import annotations

from halflayer.order.codes import Code

WORKED_FROM: dict[Code, tuple[str, str]] = {
    "ISO 17636-1:2013": ("ISO 17636-1, edition 2013, film", "edition 2022 not checked"),
    "ISO 17636-2:2013": (
        "ISO 17636-2, edition 2013, digital detectors",
        "what it shares with part 1 is taken as there; edition 2022 not checked",
    ),
    "ASME V Article 2:2007": (
        "ASME BPVC Section V, Article 2, edition 2007, film",
        "later editions not checked",
    ),
}
"""Edition of each code in full, and what of it was not looked at."""


def worked_from(code: Code, classed: str) -> str:
    """One line for a sheet: edition, class, what was at hand, what the marks mean, and whose the acceptance is.

    classed: the test class in words, empty for a code without classes.
    """
    edition, unseen = WORKED_FROM[code]
    test = f", {classed}" if classed else ""
    return (
        f"{edition}{test}; its text was not at hand: figures are from memory, unverified (memory), or read in a stored "
        f"page (read): check them against your own copy; {unseen}"
    )
