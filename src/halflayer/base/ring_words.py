"""Points on the survey ring in words for people: inside the program their names still begin with `barrier`."""

from __future__ import annotations

import re
from typing import Any

_POINT = re.compile(r"\bbarrier (?=\d+(?:\.\d+)? ?(?:deg\b|°))")
_ROPE = re.compile(r"\bbarrier (?=rope \d)")


def ring_words(text: str) -> str:
    """A text with every point of the survey ring under the name that the sheets give it.

    The ring is the farthest that the barrier may stand; the barrier's own line and the rope lie nearer.

    >>> ring_words("the upper bound at barrier 90 deg, 2 m; barrier line 90 deg, 1.4 m; barrier 7.5 uSv/h")
    'the upper bound at ring 90 deg, 2 m; barrier line 90 deg, 1.4 m; barrier 7.5 uSv/h'
    >>> ring_words("barrier rope 270 deg, 7 m")
    'rope 270 deg, 7 m'
    """
    if "barrier " not in text:
        return text  # a plan has some 100 000 texts
    return _ROPE.sub("", _POINT.sub("ring ", text))


def ring_words_in(data: Any) -> Any:
    """The same for all text values of plain data; keys stay as they are.

    >>> ring_words_in({"barrier 90 deg": ["barrier 90 deg, 2 m", 1.0]})
    {'barrier 90 deg': ['ring 90 deg, 2 m', 1.0]}
    """
    if isinstance(data, str):
        return ring_words(data)
    if isinstance(data, dict):
        return {key: ring_words_in(value) for key, value in data.items()}
    if isinstance(data, list | tuple):
        return [ring_words_in(value) for value in data]
    return data
