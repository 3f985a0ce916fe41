"""The time zone of a moment as it is printed behind it."""

from __future__ import annotations

from datetime import datetime


def zone_words(when: datetime) -> str:
    """`UTC`, or how far a clock there is from it; of a moment without a zone UTC, as orders are read.

    >>> zone_words(datetime.fromisoformat("2026-03-14T21:00Z"))
    'UTC'
    >>> zone_words(datetime.fromisoformat("2026-03-14T21:00-04:00"))
    '(UTC-4)'
    >>> zone_words(datetime.fromisoformat("2026-03-14T21:00+05:30"))
    '(UTC+5:30)'
    """
    offset = when.utcoffset()
    minutes = 0 if offset is None else round(offset.total_seconds() / 60)
    if minutes == 0:
        return "UTC"
    hours, rest = divmod(abs(minutes), 60)
    return f"(UTC{'+' if minutes > 0 else '-'}{hours}{f':{rest:02}' if rest else ''})"
