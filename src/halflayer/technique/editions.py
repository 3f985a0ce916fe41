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


# Figures of ISO 17636-1 that show a technique (from memory, unverified).
ISO_FIGURES = {
    "SWSI panoramic": "Figure 5",
    "SWSI outside": "Figure 2",
    "DWDI ellipse": "Figure 11",
    "DWDI in plane": "Figure 12",
    "DWSI contact": "Figure 13",
}
# Paragraphs of ASME V Article 2: m, from memory, unverified; r, read in a stored page, as the exposures they ask for.
ASME_PARAGRAPHS = {
    "SWSI panoramic": "T-271.1; m",
    "SWSI outside": "T-271.1; m",
    "DWDI ellipse": "T-271.2(b)(1); r",
    "DWDI in plane": "T-271.2(b)(2); r",
    "DWSI contact": "T-271.2(a); r",
}


def figure_of(code: Code, technique: str) -> str:
    """Where a code shows a technique, marked for how that was verified.

    >>> figure_of("ISO 17636-1:2013", "DWDI ellipse"), figure_of("ASME V Article 2:2007", "DWSI contact")
    ('Figure 11; m', 'T-271.2(a); r')
    """
    if code.startswith("ASME"):
        return ASME_PARAGRAPHS.get(technique, "no figure of the code")
    return f"{ISO_FIGURES[technique]}; m" if technique in ISO_FIGURES else "no figure of the code"


def worked_from(code: Code) -> str:
    """One line for a sheet: edition, what was at hand of it, what the marks mean, and what is to be done about it."""
    edition, unseen = WORKED_FROM[code]
    return (
        f"the text of {edition}, was not at hand. m: from memory, unverified; r: read in a stored page, both to be "
        f"compared with your own copy of the code before use; {unseen}"
    )
