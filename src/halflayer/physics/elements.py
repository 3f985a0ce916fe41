"""Symbols of the elements and their standard atomic weights."""

from __future__ import annotations

from halflayer.data import load

_ALL = (
    "H He Li Be B C N O F Ne Na Mg Al Si P S Cl Ar K Ca Sc Ti V Cr Mn Fe Co Ni Cu Zn Ga Ge As Se Br Kr "
    "Rb Sr Y Zr Nb Mo Tc Ru Rh Pd Ag Cd In Sn Sb Te I Xe Cs Ba La Ce Pr Nd Pm Sm Eu Gd Tb Dy Ho Er Tm Yb "
    "Lu Hf Ta W Re Os Ir Pt Au Hg Tl Pb Bi Po At Rn Fr Ra Ac Th Pa U Np Pu Am Cm Bk Cf Es Fm"
)
SYMBOLS: tuple[str, ...] = tuple(_ALL.split())
"""Element symbols in the order of the atomic number, hydrogen first (100 of them, as in the tables)."""


def atomic_number(symbol: str) -> int:
    """Atomic number of an element; raises ValueError for an unknown symbol."""
    try:
        return SYMBOLS.index(symbol) + 1
    except ValueError:
        raise ValueError(f"unknown element symbol {symbol!r}") from None


def atomic_weight(symbol: str) -> float:
    """Standard atomic weight of an element, g/mol (table `elements`); raises ValueError when unknown."""
    return float(load.table("elements")["atomic_weight"][atomic_number(symbol) - 1])
