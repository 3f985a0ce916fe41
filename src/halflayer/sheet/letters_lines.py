"""What lead letters of a film say, line by line: its words in order, on as few signs a line as whole words allow."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from functools import lru_cache
from itertools import accumulate, combinations, permutations
from typing import Literal

from halflayer.order.models import Order
from halflayer.order.weld import Weld

HEIGHTS_M = (0.010, 0.006, 0.005, 0.003)  # of lead letters, the first that fits: our choice
WIDE, LINE = 0.8, 1.1  # from letter to letter and from line to line, of a letter's height: our choice
MOST_LINES = 4  # our choice
DATE, STAMP, FIRM = "DDMMYY", "SSS", "CCC"  # in place of what is put in on the day or not known: our choice

Takes = Literal["all", "weld", "number"]


def words_of(order: Order, weld: Weld, takes: Takes, shots: int) -> tuple[str, ...]:
    """The words in order; the number is that of exposure 1, with room for as many digits as there are exposures."""
    number = f"→{1:0{len(str(shots))}d}" if shots else ""  # behind it: W3 and 1 are not W31
    if takes == "number":
        return (number,)
    mine = [weld.id, weld.repair or "", number]
    if takes == "all":
        stamp = (weld.made.stamp if weld.made else None) or STAMP
        # A short one stands in the room of the three signs that are kept for one not known yet.
        mine += [
            order.contractor or FIRM,
            order.order,
            DATE,
            stamp if len(stamp) > len(STAMP) else STAMP,
        ]
    return tuple(w for w in mine if w)


def in_lines(words: tuple[str, ...], lines: int) -> tuple[str, ...]:
    """The words in order on so many lines, a sign between words, so that the longest line is the shortest.

    >>> in_lines(("W7", "→1", "RC", "TM-0147", "DDMMYY", "SSS"), 3)
    ('W7 →1', 'RC TM-0147', 'DDMMYY SSS')
    """
    n = min(lines, len(words))
    best: tuple[int, tuple[str, ...]] | None = None
    for cuts in combinations(range(1, len(words)), n - 1):
        ends = (0, *cuts, len(words))
        told = tuple(" ".join(words[a:b]) for a, b in zip(ends, ends[1:], strict=False))
        longest = max(map(len, told))
        if best is None or longest < best[0]:
            best = longest, told
    return best[1] if best else ()


@lru_cache(maxsize=256)
def at_hyphens(words: tuple[str, ...], lines: int) -> tuple[str, ...]:
    """The same as `in_turn` on lines that end with a word or its hyphen, the longest the shortest.

    >>> at_hyphens(("W3", "→1", "RC", "TM-0147", "131126", "SSS"), 4)
    ('W3→1RC', '131126', 'SSSTM-', '0147')
    """
    return _closest(words, lines, _parts)


@lru_cache(maxsize=256)
def in_turn(words: tuple[str, ...], lines: int) -> tuple[str, ...]:
    """Whole words without room between them, the longest line the shortest.

    Words behind the first two change places where that makes the longest line shorter or leaves more of them whole.

    >>> in_turn(("W3", "→1", "RC", "TM-0147", "131126", "SSS"), 4)
    ('W3→1RC', 'TM-0147', '131126', 'SSS')
    """
    return _closest(words, lines, lambda word: (word,))


def _closest(words: tuple[str, ...], lines: int, parted: Callable[[str], tuple[str, ...]]) -> tuple[str, ...]:
    best: tuple[tuple[int, int], tuple[str, ...]] | None = None
    for rest in permutations(words[2:]):
        # Each piece with whether a word ends with it.
        pieces = [
            (part, k == len(parts) - 1)
            for parts in (parted(w) for w in (*words[:2], *rest))
            for k, part in enumerate(parts)
        ]
        for cuts in combinations(range(1, len(pieces)), min(lines, len(pieces)) - 1):
            ends = (0, *cuts, len(pieces))
            told = tuple("".join(p for p, _ in pieces[a:b]) for a, b in zip(ends, ends[1:], strict=False))
            worth = max(map(len, told)), sum(not pieces[c - 1][1] for c in cuts)
            if best is None or worth < best[0]:
                best = worth, told
    return best[1] if best else ()


def _parts(word: str) -> tuple[str, ...]:
    """A word's parts, each but the last with its hyphen."""
    *some, last = word.split("-")
    return (*(f"{s}-" for s in some), last)


def chopped(words: tuple[str, ...], lines: int) -> tuple[str, ...]:
    """The same cut anywhere, where neither whole words nor lines that end at hyphens find room.

    Words behind the first two change places where that leaves more of them whole.

    >>> chopped(("W3", "→1", "TM-0147"), 2)
    ('W3→1TM', '-0147')
    """
    each = math.ceil(sum(map(len, words)) / lines)
    found = [(*words[:2], *rest) for rest in permutations(words[2:])]
    signs = "".join(min(found, key=lambda order: _cut(order, each)))
    return tuple(signs[i : i + each] for i in range(0, len(signs), each))


def _cut(words: Iterable[str], each: int) -> int:
    """How many words lie on two lines of so many signs."""
    ends = list(accumulate(map(len, words)))
    return sum((end - len(w)) // each != (end - 1) // each for w, end in zip(words, ends, strict=True))


def room_m(lines: tuple[str, ...], high_m: float) -> tuple[float, float]:
    """What lines take round the pipe and along it [m]."""
    return max(map(len, lines), default=0) * WIDE * high_m, len(lines) * LINE * high_m


def said(lines: tuple[str, ...], *, half_way: bool = False, date: str = "", stamp: str = "") -> str:
    """The lines as they are laid, and what stands in them in place of something else.

    `date`: six digits, where the day of the exposures is known; `stamp`: the welder's, where it is known and takes no
    more than the room kept for it. `half_way`: some stand half a turn from the datum, to which both ways are alike: one
    of them is named, our choice.
    """
    lines = tuple(line.replace(DATE, date or DATE).replace(STAMP, stamp or STAMP) for line in lines)
    to = f"→ to the datum{', at 180° anticlockwise' * half_way}"
    keys = [
        text
        for sign, text in (
            ("→", to),
            (FIRM, f"{FIRM} contractor's symbol"),
            (DATE, f"{DATE} date"),
            (STAMP, f"{STAMP} welder's stamp"),
        )
        if any(sign in line for line in lines)
    ]
    return f"“{' / '.join(lines)}” ({', '.join(keys)})"
