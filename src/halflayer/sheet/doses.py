"""Doses of the crew as printed: one figure for one dose on every page, sums never below their printed parts."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from halflayer.base.result import Derived
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.shielding.result import LimitCheck
from halflayer.shielding.safety_result import CrewMember

COVERAGE = 1.645  # one-sided 95 %, as in the budget of the doses
DIGITS = 3  # of doses that are added up in front of the reader; one less where they are small
SMALL_SV = 1e-6


def upper_Sv(figure: Derived) -> float | None:
    """The upper bound of a dose; a sum of upper values has no spread of its own."""
    if not isinstance(figure.value, int | float):
        return None
    return float(figure.value) + COVERAGE * (figure.sigma or 0.0)


def whole_Sv(person: CrewMember, show: Show) -> float | None:
    """A person's dose at a weld as printed: never below the sum of the printed steps, which are rounded up each."""
    upper = upper_Sv(person.whole)
    if upper is None:
        return None
    parts = [
        raised_Sv(s.dose_Sv, show)
        for s in person.steps
        if s.dose_Sv is not None and s.seconds * s.times > 0.0
    ]
    return raised_Sv(max(upper, math.fsum(parts)), show)


def _digits(dose_Sv: float) -> int:
    return DIGITS if dose_Sv >= SMALL_SV else DIGITS - 1


def raised_Sv(dose_Sv: float, show: Show) -> float:
    """The value of `in_words`."""
    return show.raised(dose_Sv, "equivalent", digits=_digits(dose_Sv))


def in_words(dose_Sv: float | None, show: Show) -> str:
    """A dose rounded up to the digits of a sum."""
    return NOT_COMPUTED if dose_Sv is None else show.up(dose_Sv, "equivalent", digits=_digits(dose_Sv))


def as_printed(c: LimitCheck, printed_Sv: float | None, exact_Sv: float | None) -> LimitCheck:
    """A limit's figure with what rounding up added to the dose that it is made of: as often as that is in it."""
    if printed_Sv is None or exact_Sv is None or c.kind == "per exposure":
        return c
    times = c.value_Sv / exact_Sv if c.kind == "per week" and exact_Sv else 1.0
    return replace(c, upper_Sv=c.upper_Sv + times * max(printed_Sv - exact_Sv, 0.0))


def printed(values: Sequence[float | None], kind: str, show: Show, *, digits: int) -> dict[float, str]:
    """What each figure of one table is printed as: rounded up, all in one unit."""
    known = [v for v in values if v is not None]
    return dict(zip(known, show.column(known, kind, digits=digits), strict=True))
