"""Where indicators are laid so that each film holds what it shows: place by place, by the code's bounds of density."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from halflayer.exposure.paths import in_degrees
from halflayer.exposure.result import Indicator, Variation

# Two indicators lie no nearer to each other round the pipe: 1/2 in, the width of a hole-type plate (T-233.1, from
# memory, unverified). A set of six wires is wider, 1 in between the outer ones (ASTM E747, from memory, unverified).
PLATE_M = 0.0127
WIRE_SET_M = 0.0254
ANY = (0.0, math.inf)


@dataclass(frozen=True)
class Shown:
    """A place judged: its clock from the middle of its arc [rad], its wall, and its density film by film."""

    what: str  # "weld crown" or "beside the cap"
    wall: str
    from_middle_rad: float
    density: Mapping[str, float]  # by film


def of_films(
    places: Sequence[Shown],
    bounds: tuple[float, float],
    *,
    allowed: tuple[float, float] = ANY,
    apart_rad: float = 0.0,
) -> Variation:
    """Indicators that leave no place judged outside the bounds about one of them, film by film; what none can hold.

    A place is held where one film shows it within `allowed` and an indicator is read on that film, within `allowed`
    too, from whose density it departs within the bounds. Two sides of the middle are alike, but an indicator on one
    shows nothing of the other: beyond what that in the middle holds, it holds its own side only. Indicators lie on the
    source's side of the pipe (T-277.1), so of two walls on that which the source sees first, `apart_rad` or more from
    each other. They lie across the weld and are read on the crown and beside the cap. The one in the middle is always
    laid. Places that no film shows within `allowed` are left to the rule of the whole weld.
    """
    places = [p for p in places if any(_within(d, allowed) for d in p.density.values())]
    walls = dict.fromkeys(p.wall for p in places)
    wall = "source-side wall" if "source-side wall" in walls else next(iter(walls), "")
    read: dict[float, list[Shown]] = {}
    for p in places:
        if p.wall == wall:
            read.setdefault(round(p.from_middle_rad, 6) + 0.0, []).append(p)
    if not read:
        return Variation(None, None, ())
    middle = min(read, key=abs)
    held_by = {
        at: {n for n, p in enumerate(places) if _held(p, spots, at == middle, bounds, allowed)}
        for at, spots in read.items()
    }
    laid, held = _laid(middle, held_by, apart_rad)
    shares = [
        d / s.density[film] - 1.0
        for film in places[0].density
        for s in read[middle]
        if s.what == "weld crown" and len(s.density) == 1
        for d in (p.density[film] for p in places)
    ]
    return Variation(
        min(shares, default=None),
        max(shares, default=None),
        tuple(_words(a, wall) for a in laid if a != middle),
        tuple(one for a in laid for one in _readings(read[a], bounds, allowed)),
        tuple(_loose(p) for n, p in enumerate(places) if n not in held),
    )


def _laid(middle: float, held_by: Mapping[float, set[int]], apart_rad: float) -> tuple[list[float], set[int]]:
    """Of all choices alike on both sides of the middle that which holds most, then with fewest pieces, then farthest
    out: the outermost stand for the lightest or darkest part (T-277.2, from memory, unverified).
    """
    turns = sorted({round(abs(a), 4) for a in held_by if a != middle})
    best: tuple[tuple[int, int, float], list[float], set[int]] | None = None
    for n in range(2 ** len(turns)):
        chosen = {t for k, t in enumerate(turns) if n >> k & 1}
        laid = sorted(
            (a for a in held_by if a == middle or round(abs(a), 4) in chosen), key=lambda a: (abs(a), a)
        )
        for a in laid[1:]:  # one that holds nothing by itself is left out, the inner ones first
            others = [o for o in laid if o != a]
            if held_by[a] <= set[int]().union(*(held_by[o] for o in others)):
                laid = others
        if any(abs(a - o) < apart_rad - 1e-6 for k, a in enumerate(laid) for o in laid[:k]):
            continue
        held = set[int]().union(*(held_by[a] for a in laid))
        score = (-len(held), len(laid), -sum(abs(a) for a in laid))
        if best is None or score < best[0]:
            best = (score, laid, held)
    assert best is not None  # the middle alone is always a choice
    return best[1], best[2]


def _within(density: float, allowed: tuple[float, float]) -> bool:
    return allowed[0] - 1e-6 <= density <= allowed[1] + 1e-6


def _held(
    place: Shown,
    spots: Sequence[Shown],
    middle: bool,
    bounds: tuple[float, float],
    allowed: tuple[float, float],
) -> bool:
    if not middle and place.from_middle_rad * spots[0].from_middle_rad < -1e-9:
        return False
    return any(
        _within(d, allowed)
        and _within(s.density[film], allowed)
        and bounds[0] - 1e-9 <= d / s.density[film] - 1.0 <= bounds[1] + 1e-9
        for film, d in place.density.items()
        for s in spots
    )


def _readings(
    spots: Sequence[Shown], bounds: tuple[float, float], allowed: tuple[float, float]
) -> list[Indicator]:
    """What is read beside an indicator on each film that shows it in range, and the densities that this holds."""
    out = []
    for film in spots[0].density:
        found = sorted(s.density[film] for s in spots if _within(s.density[film], allowed))
        if found:
            low, high = (1.0 + bounds[0]) * found[0], (1.0 + bounds[1]) * found[-1]
            out.append(
                Indicator(
                    film,
                    spots[0].wall,
                    spots[0].from_middle_rad,
                    found[0],
                    found[-1],
                    max(low, allowed[0]),
                    min(high, allowed[1]),
                )
            )
    return out


def _words(at: float, wall: str) -> str:
    return f"{in_degrees(at)} degrees {'clockwise' if at > 0 else 'anticlockwise'} from the middle, {wall}"


def _loose(p: Shown) -> str:
    shown = " and ".join(f"{d:.2f} on {film}" for film, d in p.density.items())
    side = "clockwise" if p.from_middle_rad > 0 else "anticlockwise"
    return f"{p.what}, {p.wall}, {in_degrees(p.from_middle_rad)} degrees {side} from the middle ({shown})"
