"""Where a rule stands, in short: without the name of the sheet's own code, a letter for how it was verified."""

from __future__ import annotations

import re

from halflayer.order.models import Order

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


def checked_by(order: Order, *, of_both: bool = False) -> str:
    """Who signs that figures marked m and r were compared with the code's text, and by when: one wording everywhere.

    `of_both`: with the purchaser's Level 3, who takes them unverified: both sign in the log.
    """
    who = settles(order)
    signs = " and the purchaser's Level 3, who sign in the log" if of_both else ", date, signature"
    return f"m and r checked before {order.shift.starts:%H:%M} by {who}{signs}"
