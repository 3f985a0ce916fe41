"""Orders for the tests of placements: the small order of `order_factory` with what each placement needs."""

from __future__ import annotations

from typing import Any

import numpy as np

import order_factory as of
from halflayer.base.result import Derived
from halflayer.order.models import Order
from halflayer.scene.build import Built
from halflayer.shielding.travelling import transit_figure
from halflayer.technique.choose import choose_technique
from halflayer.technique.result import Candidate, RuleVerdict
from halflayer.transport.problem import PointScore, PointSource, Problem, Rect

DEG = of.DEG


def small_head(*placements: str, **more: Any) -> dict:
    """The small head with narrow openings, for the placements given."""
    openings = [
        {"id": f"R{a}", "shape": "round", "half_angle_rad": a * DEG} for a in (7, 8, 9, 10, 12, 15, 20)
    ]
    base = {"placements": list(placements), "apertures": openings, "source_to_face_m": 0.06}
    return of.head(**{**base, **more})


def shroud(form: str = "straight", **more: Any) -> dict:
    """A lead shroud that suits a 60 mm pipe on the small order's legs."""
    return {
        "id": f"SH-{form}",
        "form": form,
        "material": "lead",
        "wall_m": 0.008,
        "inner": [0.18, 0.26],
        "length_m": 0.40,
        "mass_kg": 24.0,
        **more,
    }


def order(
    *placements: str, weld: dict | None = None, kit: dict | None = None, head: dict | None = None, **more: Any
) -> Order:
    """An order of one weld that wants the placements in this sequence."""
    given = weld if weld and "pipe" in weld else of.weld(**(weld or {}))
    welds = [{**given, "placements": list(placements)}]
    film = more.pop("film", of.film(sheet=[0.10, 0.24]))
    return of.order(
        welds=welds,
        heads=[small_head(*placements, **(head or {}))],
        detectors=[film],
        kit=of.kit(**(kit or {})),
        **more,
    )


def best(made: Order, arrangement: str) -> Candidate:
    """The first candidate of a placement."""
    found = choose_technique(made, made.welds[0]).candidates
    return next(c for c in found if c.arrangement == arrangement)


def way_figure(made: Order, c: Candidate) -> Derived | None:
    """The figure of a source on its way to the order's first weld: 1 TBq, one photon of 400 keV a decay."""
    return transit_figure(
        made,
        made.welds[0],
        c,
        [(0.0, 0.0, 1.2)],
        activity_Bq=1e12,
        energies_keV=np.array([400.0]),
        photons_per_decay=np.array([1.0]),
    )


def rule(c: Candidate, name: str) -> RuleVerdict:
    """The one verdict of that name."""
    (one,) = [r for r in c.rules if r.rule == name]
    return one


def broken(c: Candidate) -> list[str]:
    """Names of the broken rules."""
    return [r.rule for r in c.broken]


def setting(c: Candidate, name: str) -> Any:
    """The value of a setting."""
    (one,) = [d for d in c.settings if d.name == name]
    return one.value


def problem(
    built: Built, points: dict[str, tuple[float, float, float]], energy_keV: float = 400.0
) -> Problem:
    """One line of 1 TBq in the built scene's beam, scored at points of the weld's frame."""
    source = PointSource(
        at=built.source_at,
        energies_keV=(energy_keV,),
        photons_per_decay=(1.0,),
        activity_Bq=1e12,
        aim=built.aim,
        half_angle_rad=built.half_angle_rad,
        aperture=Rect(*built.rect, axis_u=built.axis_along) if built.rect else None,
    )
    return Problem(built.scene, (source,), tuple(PointScore(n, at) for n, at in points.items()))
