"""From which wall to which wall a way stays what the code asks: same source range, indicator, count, dimensions."""

from __future__ import annotations

from collections.abc import Callable
from typing import cast

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.technique.choose import rules_for
from halflayer.technique.metal import metal_group
from halflayer.technique.result import Candidate
from halflayer.technique.rules import Rules, TechniqueName

# Our choice: how far from the nominal wall is looked, in how many steps, and how often a step with a change is halved.
FARTHEST, STEPS, HALVINGS = 0.5, 25, 16

Asked = tuple[object, ...]


def wall_range_m(order: Order, weld: Weld, c: Candidate) -> tuple[tuple[float, str], tuple[float, str]]:
    """Least and most wall [m] with which every rule of the code answers as with the nominal one, and what ends each.

    Looked at as far as half the wall either way: nothing ends it nearer, its word is empty. Cap, root, distance and
    the arc that a single image may show stay as planned. A range of the source may be one
    by agreement. Source: the tables of the code, asked again.
    """
    rules, nuclide = rules_for(order, weld), _nuclide(order, c)
    metal = metal_group(order, weld.pipe.material)

    def asked(wall_m: float) -> dict[str, Asked]:
        return _asked(rules, weld, c, nuclide, metal, wall_m)

    planned = asked(weld.pipe.wall)
    return _end(asked, planned, weld.pipe.wall, -1.0), _end(asked, planned, weld.pipe.wall, 1.0)


def _nuclide(order: Order, c: Candidate) -> str:
    return next(s.nuclide for s in order.sources if s.id == c.source)


def _asked(
    rules: Rules, weld: Weld, c: Candidate, nuclide: str, metal: str | None, wall_m: float
) -> dict[str, Asked]:
    """What each rule answers for a wall [m], by what it is about."""
    technique, od = cast(TechniqueName, c.technique), weld.pipe.od
    # A thickness of the code's grows with the wall as its nominal one does; what a cap adds stays.
    w = rules.nominal_thickness(technique, wall_m=wall_m).value
    more = w - rules.nominal_thickness(technique, wall_m=weld.pipe.wall).value
    ranges = [a.value for a in rules.source_ranges(nuclide, metal=metal)]
    told: dict[str, Asked] = {"source range": (any(r.holds(c.geometry.nominal_m + more) for r in ranges),)}
    if c.iqi is not None:
        need = rules.iqi(
            technique,
            side="film side" if "film side" in c.iqi.position else "source side",
            nuclide=nuclide,
            thickness_m=c.geometry.iqi_thickness_m + more,
            kind=c.iqi.type,
        ).value
        told["IQI"] = (need.name if need else None,)
    plan = rules.exposures(technique, diameter_m=od, wall_m=wall_m).value
    told["exposures"] = (plan.count if plan else None,)
    bounds = rules.technique_bounds(
        technique, diameter_m=od, wall_m=wall_m, weld_width_m=weld.cap.width_m
    ).value
    told["technique"] = tuple(b.holds for b in bounds)
    film = rules.film(nuclide, metal=metal, thickness_m=c.geometry.nominal_m + more).value
    told["film, screens"] = (film,)
    return told


def _end(
    asked: Callable[[float], dict[str, Asked]], planned: dict[str, Asked], wall_m: float, way: float
) -> tuple[float, str]:
    """The last wall on one side with the answers of the planned one [m], and what answers otherwise past it."""
    inside = wall_m
    for n in range(1, STEPS + 1):
        outside = wall_m * (1.0 + way * FARTHEST * n / STEPS)
        if asked(outside) != planned:
            break
        inside = outside
    else:
        return inside, ""
    for _ in range(HALVINGS):
        middle = (inside + outside) / 2
        inside, outside = (middle, outside) if asked(middle) == planned else (inside, middle)
    other = asked(outside)
    return inside, ", ".join(k for k in planned if other[k] != planned[k])
