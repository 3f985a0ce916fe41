"""Least distances that a sheet prints beside the code's own, opened: by the source's diagonal, and with b as built."""

from __future__ import annotations

import math

from halflayer.base.result import Derived
from halflayer.order.equipment import Source
from halflayer.technique.result import Candidate

TWO_THIRDS = "b^(2/3)"  # in the formula of a code whose distance grows so with b


def distance_figures(source: Source, c: Candidate) -> list[Derived]:
    """What the strictest reading of the source's size would ask, what the real b would, and Ug at the least distance.

    Formulas: f_min diagonal / d; f_min (b / b of the code)^(2/3); d b / f_min.
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
    diagonal = math.hypot(source.diameter_m, source.length_m)
    across = source.axis == "across the beam" or c.arrangement == "bore"
    if across and diagonal > g.focal_m + 1e-9:
        found.append(
            Derived(
                "minimum_source_to_object_by_diagonal",
                g.minimum_source_to_object_m * diagonal / g.focal_m,
                "m",
                symbol="f_min",
                formula="f_min diagonal / d",
                inputs=(least, Derived("diagonal of the source", diagonal, "m", source="the order")),
                source="the code's formula with the diagonal for d, by which the plan does not go",
            )
        )
    code_b = next((d.value for d in least.inputs if d.symbol == "b"), None)
    real = g.object_to_detector_m
    if (
        c.technique.startswith("DWDI")
        and TWO_THIRDS in least.formula
        and isinstance(code_b, float)
        and real > code_b + 1e-9
    ):
        found.append(
            Derived(
                "minimum_source_to_object_as_built",
                g.minimum_source_to_object_m * (real / code_b) ** (2.0 / 3.0),
                "m",
                symbol="f_min",
                formula="f_min (b / b of the code)^(2/3)",
                inputs=(least, Derived("b as built", real, "m", formula="De + gap")),
                source="the code's formula with what really lies between",
            )
        )
    return found
