"""Where a rule stands, in short: without the name of the sheet's own code, a letter for how it was verified."""

from __future__ import annotations

import re

from halflayer.order.models import Order

BOTH_SIGN = "both Level 3 sign “By agreement only” of the order"
# Clause on what a test report names (from memory, unverified).
REPORT_BY = {"ISO 17636-1:2013": "ISO 17636-1, 8; m", "ISO 17636-2:2013": "ISO 17636-2, 8; m"}
_ONCE = re.compile(r" \(([^()]*; m|[^()]*: m)\)(?=.*\(\1\))")


def clause(source: str, code: str) -> str:
    """A source without the name of the code in front of it, and with a letter for how it was verified.

    The letters m and r are told in the block for the inspector.
    """
    words = source.removeprefix(code).lstrip(" ,;:")
    return _short(words) or code


def within(words: str, code: str) -> str:
    """A text with clauses in it: the sheet's own code left out, marks in short, each bracket of them once.

    >>> within("W14 (ISO 17636-1:2013 6.8; from memory, unverified)", "ISO 17636-1:2013")
    'W14 (6.8; m)'
    >>> within("20-1T (T-283: from memory, unverified) or 10-4T (T-283: from memory, unverified)", "")
    '20-1T or 10-4T (T-283: m)'
    """
    return _ONCE.sub("", _short(words.replace(f"{code} ", "") if code else words))


def _short(words: str) -> str:
    return (
        words.replace("from memory, unverified", "m")
        .replace("read in a stored page", "r")
        .replace("from memory", "m")
    )


def settles(order: Order) -> str:
    """Who settles before the shift what the order leaves open of code and contract: by role and name."""
    return order.code_checked_by or "Level 3 of the contractor (name: not in the order)"


def checked_by(order: Order) -> str:
    """Who compares figures marked m and r with the code's text, by when, and where both parties sign: one wording."""
    return f"m and r checked before {order.shift.starts:%H:%M} by {settles(order)}; {BOTH_SIGN}"
