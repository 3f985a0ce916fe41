"""Step-hole image quality indicators by ISO 19232-2: holes, the plates they come in, and how a plate is named."""

from __future__ import annotations

from functools import lru_cache

from halflayer.data import load

# Step-hole plates, ISO 19232-2 (from memory, unverified): six neighbouring steps, each as thick as its hole is wide;
# first number of the plate, its width and the length of a step [m].
PLATES = {1: (0.010, 0.005), 5: (0.010, 0.005), 9: (0.012, 0.007), 13: (0.020, 0.015)}
STEPS = 6


@lru_cache(maxsize=1)
def holes() -> dict[str, float]:
    """Diameter of the holes [m] by designation, H1 to H18 (ISO 19232-2); the step is as thick.

    >>> round(holes()["H6"] * 1e3, 3)
    0.4
    """
    return {
        str(r["designation"]): float(r["hole_mm"]) / 1e3 for r in load.table("iso19232_2_step_holes").rows()
    }


def hole_number(designation: str) -> int:
    """The number in a hole's designation.

    >>> hole_number("H8")
    8
    """
    return int(designation.removeprefix("H"))


def larger(designation: str, steps: int) -> str:
    """The hole `steps` numbers larger, not beyond H18.

    >>> larger("H8", 2), larger("H17", 2)
    ('H10', 'H18')
    """
    return f"H{min(hole_number(designation) + steps, len(holes()))}"


def plate_with(number: int) -> int:
    """First number of the step-hole plate in whose middle a hole stands best, the finer of two alike (our choice).

    >>> plate_with(3), plate_with(6), plate_with(8), plate_with(18)
    (1, 5, 5, 13)
    """
    holding = [first for first in PLATES if first <= number < first + STEPS]
    return min(holding, key=lambda first: (abs(number - (first + (STEPS - 1) / 2)), first))


def designation_to_lay(designation: str, letters: str) -> str:
    """What to lay so that the hole can be seen: the hole and its plate with its material (from memory, unverified).

    >>> designation_to_lay("H8", "FE")
    'H8 (H5 FE EN)'
    """
    return f"{designation} (H{plate_with(hole_number(designation))} {letters} EN)"
