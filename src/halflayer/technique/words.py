"""Short texts for verdicts: lengths and angles as they are said on site."""

from __future__ import annotations

import math
from collections.abc import Iterable

# Of ISO 17636-1 6.6 and T-275 (from memory, unverified): films overlap, markers prove it; by how much, neither says.
NO_LENGTH = "the code names no length"


def mm(length_m: float) -> str:
    """A length in millimetres with one decimal, without it where it is zero.

    >>> mm(0.346), mm(0.0071)
    ('346 mm', '7.1 mm')
    """
    text = f"{length_m * 1e3:.1f}"
    return f"{text[:-2] if text.endswith('.0') else text} mm"


def fine_mm(length_m: float) -> str:
    """A thickness in millimetres with two decimals, as walls are given, without the zeros at its end.

    >>> fine_mm(2 * 0.00874), fine_mm(0.006)
    ('17.48 mm', '6 mm')
    """
    return f"{length_m * 1e3:.2f}".rstrip("0").rstrip(".") + " mm"


def deg(angle_rad: float) -> str:
    """An angle in degrees with one decimal, without it where it is zero.

    >>> deg(math.pi / 3)
    '60 deg'
    """
    text = f"{math.degrees(angle_rad):.1f}"
    return f"{text[:-2] if text.endswith('.0') else text} deg"


def listed(items: Iterable[str], *, last: str = "and") -> str:
    """Words joined as in a sentence.

    >>> listed(["a", "b", "c"])
    'a, b and c'
    """
    parts = list(items)
    if len(parts) < 2:
        return "".join(parts)
    return f"{', '.join(parts[:-1])} {last} {parts[-1]}"
