"""The load plan: kit in lifts that one person can carry, shared among the crew so that loads come out even."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from halflayer.sheet.figures import Show

# Most for one lift by one person: our choice. Below the 25 kg that is widely used as the most for one person
# (common practice, no source), because the way may be long, dark and over ladders.
LIFT_KG = 20.0


@dataclass(frozen=True)
class Load:
    """Pieces of one item of the kit."""

    id: str
    what: str
    pieces: int
    each_kg: float
    loaded: bool = False  # a source is in it: for those alone who carry sources


@dataclass(frozen=True)
class Lift:
    """What is carried at one go: pieces of one item; two people where one piece alone is too heavy for one."""

    id: str
    what: str
    pieces: int
    mass_kg: float
    people: int
    loaded: bool = False


def lifts(loads: Sequence[Load], *, most_kg: float = LIFT_KG) -> list[Lift]:
    """Loads cut into lifts of at most `most_kg`, pieces spread evenly over an item's lifts.

    A piece heavier than that is a lift of its own, for as many people as it takes.

    >>> [(l.pieces, l.mass_kg, l.people) for l in lifts([Load("B", "blanket", 5, 9.0)])]
    [(2, 18.0, 1), (2, 18.0, 1), (1, 9.0, 1)]
    """
    out = []
    for load in loads:
        if load.pieces <= 0:
            continue
        per = max(1, math.floor(most_kg / load.each_kg + 1e-9)) if load.each_kg > 0 else load.pieces
        number = math.ceil(load.pieces / per)
        people = max(1, math.ceil(load.each_kg / most_kg - 1e-9))
        base, more = divmod(load.pieces, number)
        for n in range(number):
            pieces = base + (n < more)
            out.append(Lift(load.id, load.what, pieces, pieces * load.each_kg, people, load.loaded))
    return out


def shared(found: Sequence[Lift], people: int, carriers: Sequence[int] = ()) -> list[list[Lift]]:
    """Lifts by person: heaviest first, each to whoever has least so far (ties: in sequence).

    A lift for two stands with both, each with its share of the mass. Fewer people than it takes: with all.
    `carriers`: which of the people carry what holds a source, others help where they are too few; empty: all of them.
    """
    loads: list[list[Lift]] = [[] for _ in range(people)]
    mass = [0.0] * people
    for lift in sorted(found, key=lambda x: -x.mass_kg):
        theirs = range(people) if not (lift.loaded and carriers) else carriers
        takers = sorted(range(people), key=lambda i: (i not in theirs, mass[i], i))[: lift.people]
        for i in takers:
            loads[i].append(lift)
            mass[i] += lift.mass_kg / len(takers)
    return loads


def load_plan(
    loads: Sequence[Load], names: Sequence[str], show: Show, carriers: Sequence[int] = ()
) -> dict[str, Any]:
    """Content: per person the lifts with their masses, the number of walks, the sum; and what takes two."""
    all_lifts = lifts(loads)
    rows = []
    for name, mine in zip(names, shared(all_lifts, len(names), carriers), strict=True):
        total = sum(x.mass_kg / min(x.people, len(names)) for x in mine)
        grouped: dict[tuple[str, int, float, int], int] = {}
        for x in mine:
            key = (x.id, x.pieces, x.mass_kg, x.people)
            grouped[key] = grouped.get(key, 0) + 1
        rows.append(
            {
                "name": name,
                "walks": str(len(mine)),
                "mass": show.up(total, "mass", digits=3) if mine else "nothing",
                "lifts": [
                    f"{n} × " * (n > 1)
                    + f"{pieces} {ident}, {show.up(kg, 'mass', digits=3)}"
                    # typed out, because a lift that is too heavy must not be carried alone
                    + (f" by {people} people" if people > 1 else "")
                    for (ident, pieces, kg, people), n in grouped.items()
                ],
            }
        )
    heaviest = max((x.mass_kg for x in all_lifts), default=0.0)
    return {
        "rows": rows,
        "number": len(all_lifts),
        "heaviest": show.up(heaviest, "mass", digits=3) if all_lifts else "",
        "basis": f"at most {show.value(LIFT_KG, 'mass')} for one person and lift (our choice); site rules come first",
    }
