"""Sets of wires of either code: which wires lie on one indicator, and which sets hold a wire that must be seen."""

from __future__ import annotations

import re

from halflayer.technique import asme_v_art2_2007 as asme
from halflayer.technique import iqi
from halflayer.technique.result import Iqi

WIRE_PITCH_M = 0.005  # middle to middle, ISO 19232-1 asks for at least 5 mm (from memory, unverified)
WIRE_SEEN_M = 0.010  # length of wire that must be seen, ISO 17636-1 6.7 (from memory, unverified)
LAID = re.compile(r"\((\d+) ")  # of "W13 (10 FE EN)": the first wire of the set


def wire_set(required: str, designation: str = "") -> dict[str, float]:
    """Names and diameters [m] of the set that is laid for a required wire, thickest first.

    `W13` and the like: seven neighbouring wires of ISO 19232-1, from the one that `designation` names, else those in
    whose middle the wire stands best; `wire 6` and the like: a set of ASME V Article 2.
    Raises: ValueError for a name of neither kind.
    """
    if required.startswith("W"):
        named = LAID.search(designation)
        first = int(named[1]) if named else iqi.set_with(required)
        names = [f"W{n}" for n in range(first, first + iqi.WIRES_IN_SET)]
        return {name: iqi.wires()[name][0] for name in names}
    number = int(required.removeprefix("wire "))
    held = asme.wires()
    letter = asme.set_to_lay(number)
    numbers = sorted((n for n, (_, sets) in held.items() if letter in sets), reverse=True)
    return {f"wire {n}": held[n][0] for n in numbers}


def other_sets(one: Iqi) -> list[str]:
    """Designations of the other sets of ISO 19232-1 that hold the wire asked; empty for another kind of indicator.

    >>> other_sets(Iqi("wire", "W13 (10 FE EN)", "W13", 0.0002, "source side", "", 1))
    ['W13 (13 FE EN)']
    """
    named = LAID.search(one.designation)
    if one.type != "wire" or not one.required.startswith("W") or named is None:
        return []
    number = iqi.wire_number(one.required)
    firsts = [f for f in iqi.SETS if f <= number < f + iqi.WIRES_IN_SET and f != int(named[1])]
    return [one.designation.replace(named[0], f"({f} ") for f in firsts]
