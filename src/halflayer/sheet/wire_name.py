"""The name of an indicator's wire so that it reads like no weld's: `wire W12` wherever its set is not named too."""

from __future__ import annotations

import re


def wire(name: str) -> str:
    """A wire by its number with its kind before it; what is no such number as it is.

    >>> wire("W12"), wire("H8"), wire("wire 6")
    ('wire W12', 'H8', 'wire 6')
    """
    return wires(name) if re.fullmatch(r"W\d+", name) else name


def wires(words: str) -> str:
    """The same for every number of a wire in some words about an indicator, those named already left as they are.

    >>> wires("W13 without relief, wire W12 asked")
    'wire W13 without relief, wire W12 asked'
    """
    return re.sub(r"(?<!wire )\b(W\d+)\b(?! \(\d)", r"wire \1", words)
