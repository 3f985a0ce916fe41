"""Least distances that a sheet prints beside the code's own, opened: by the source's diagonal, and with b as built."""

from __future__ import annotations

import math

from halflayer.base.result import Derived
from halflayer.order.equipment import Source
from halflayer.technique.result import Candidate

TWO_THIRDS = "b^(2/3)"  # in the formula of a code whose distance grows so with b


def distance_figures(source: Source, c: Candidate) -> list[Derived]:
    """What the real b would ask, what the strictest reading of the source's size besides, and Ug at the least distance.

    Formulas: f_min (b / b of the code)^(2/3); that times diagonal / d; d b / f_min.
    """
    g = c.geometry
    least = next((d for d in c.derived if d.name == "minimum_source_to_object"), None)
    if least is None or not g.minimum_source_to_object_m > 0.0:
        return []
    found = [
        Derived(
            "unsharpness_at_least_distance",
            g.focal_m * g.object_to_detector_m / g.minimum_source_to_object_m,
            "m",
            symbol="Ug",
            formula="d b / f_min",
            inputs=(least,),
            source="similar triangles",
        )
    ]
    asked, built = least, _as_built(c, least)
    if built is not None:
        found.append(built)
        asked = built
    diagonal = _diagonal_m(source, c)
    if diagonal is not None:
        assert isinstance(asked.value, float)
        found.append(
            Derived(
                "minimum_source_to_object_by_diagonal",
                asked.value * diagonal / g.focal_m,
                "m",
                symbol="f_min",
                formula="f_min diagonal / d",
                inputs=(asked, Derived("diagonal of the source", diagonal, "m", source="the order")),
                source="the code's formula with the diagonal for d, by which the plan does not go",
            )
        )
    return found


def _as_built(c: Candidate, least: Derived) -> Derived | None:
    """The least distance with what really lies between; None where the code's b is that or b does not count so."""
    g = c.geometry
    code_b = next((d.value for d in least.inputs if d.symbol == "b"), None)
    real = g.object_to_detector_m
    if (
        c.technique.startswith("DWDI")
        and TWO_THIRDS in least.formula
        and isinstance(code_b, float)
        and real > code_b + 1e-9
    ):
        return Derived(
            "minimum_source_to_object_as_built",
            g.minimum_source_to_object_m * (real / code_b) ** (2.0 / 3.0),
            "m",
            symbol="f_min",
            formula="f_min (b / b of the code)^(2/3)",
            inputs=(least, Derived("b as built", real, "m", formula="De + gap")),
            source="the code's formula with what really lies between",
        )
    return None


def least_by_reading_m(source: Source, c: Candidate) -> tuple[float, float | None]:
    """The least distance, b as built, by the code's size of the source and by its diagonal [m].

    None for the diagonal where it is no larger than that size.
    """
    found = {d.name: d.value for d in distance_figures(source, c)}
    by_size = found.get("minimum_source_to_object_as_built", c.geometry.minimum_source_to_object_m)
    assert isinstance(by_size, float)
    diagonal = _diagonal_m(source, c)
    return by_size, None if diagonal is None else by_size * diagonal / c.geometry.focal_m


def _diagonal_m(source: Source, c: Candidate) -> float | None:
    """The source's diagonal, where it lies across the beam and that is more than the code's size; else None."""
    diagonal = math.hypot(source.diameter_m, source.length_m)
    across = source.axis == "across the beam" or c.arrangement == "bore"
    return diagonal if across and diagonal > c.geometry.focal_m + 1e-9 else None
