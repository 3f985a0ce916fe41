"""Wire image quality indicators by ISO 19232-1: diameters, the sets they come in, and how a set is named."""

from __future__ import annotations

from functools import lru_cache

from halflayer.data import load

# First wire of each set of seven neighbouring wires, ISO 19232-1 (from memory, unverified).
SETS = (1, 6, 10, 13)
WIRES_IN_SET = 7


@lru_cache(maxsize=1)
def wires() -> dict[str, tuple[float, str]]:
    """Diameter [m] and verification mark by wire designation, W1 to W19 (ISO 19232-1)."""
    return {
        row["designation"]: (row["diameter_mm"] / 1e3, row["verification"])
        for row in load.table("iso19232_1_wires").rows()
    }


def wire_number(designation: str) -> int:
    """The number in a wire's designation.

    >>> wire_number("W13")
    13
    """
    return int(designation.removeprefix("W"))


def thicker(designation: str, steps: int) -> str:
    """The wire `steps` numbers thicker, not beyond W1.

    >>> thicker("W13", 2)
    'W11'
    """
    return f"W{max(wire_number(designation) - steps, 1)}"


def set_with(designation: str) -> int:
    """First wire of the set to lay: the one in whose middle the wire stands best, the finer of two alike.

    The middle, so that a thicker wire is seen as well and a finer one shows what is in hand (our choice).

    >>> set_with("W13"), set_with("W16"), set_with("W19")
    (10, 13, 13)
    """
    number = wire_number(designation)
    holding = [first for first in SETS if first <= number < first + WIRES_IN_SET]
    return min(holding, key=lambda first: (abs(number - (first + WIRES_IN_SET // 2)), -first))


def designation_to_lay(designation: str, letters: str) -> str:
    """What to lay so that the wire can be seen: the wire and the set with its material.

    >>> designation_to_lay("W13", "FE")
    'W13 (10 FE EN)'
    """
    return f"{designation} ({set_with(designation)} {letters} EN)"
