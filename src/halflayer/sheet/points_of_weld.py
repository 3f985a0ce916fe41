"""The survey points of a planned weld, and which of them are read at its rope: one choice for all its sheets."""

from __future__ import annotations

from weakref import ref

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.scene.beam_bearings import bearings
from halflayer.shielding.readings_due import floors_read
from halflayer.shielding.rope_readings import AtRope, at_ropes
from halflayer.shielding.shot_first import in_sequence, shot_first
from halflayer.shielding.survey_points import Points, arrange, due, first_read

# What was arranged last for a planned weld, by its identity: its sheets and the order's ask some twenty times.
_arranged: dict[int, tuple[ref[WeldPlan], ref[Order], Points]] = {}


def points_of(order: Order, w: WeldPlan) -> Points:
    """The points of a weld that has a shield, numbered; arranged once for as long as the plan lives."""
    known = _arranged.get(id(w))
    if known is not None and known[0]() is w and known[1]() is order:
        return known[2]
    found, key = _arrange(order, w), id(w)
    _arranged[key] = (ref(w, lambda _: _arranged.pop(key, None)), ref(order), found)
    return found


def _arrange(order: Order, w: WeldPlan) -> Points:
    assert w.shielding is not None
    line, floors = (w.safety.contour, w.safety.floors) if w.safety else (None, ())
    weld = order.weld(w.weld)
    beams = [turn for _, turn in bearings(order, weld, w.chosen)]
    return arrange(order, weld, w.shielding, line, floors, beams)


def first_names(order: Order, w: WeldPlan) -> frozenset[str]:
    """Names of the points and floors that a weld's first survey reads; empty where none is planned."""
    survey, people = w.exposure.first_survey if w.exposure else None, w.safety
    if survey is None or people is None or w.shielding is None:
        return frozenset()
    points, floors = points_of(order, w), floors_read(people)
    must = due(order.weld(w.weld), points, people.lost)
    read = first_read(points, must, survey.points, len(floors))
    return frozenset([*(p.name for _, p in read), *(f.floor for f in floors)])


def first_shot(order: Order, w: WeldPlan) -> int:
    """Number of the exposure that is shot first, with the head set for which the first survey is made."""
    if w.shielding is None:
        return 1
    lost = w.safety.lost if w.safety else None
    if lost is None or lost.shot == 1:
        return 1
    return shot_first(order, order.weld(w.weld), w.chosen, w.exposure, w.shielding, lost, points_of(order, w))


def sequence_of(order: Order, w: WeldPlan) -> list[int]:
    """Numbers of a weld's exposures as they are shot."""
    return in_sequence(first_shot(order, w), len(w.chosen.shots) if w.chosen else 0)


def ropes_of(order: Order, w: WeldPlan) -> dict[str, AtRope]:
    """By name those of page 1 that are read at the rope."""
    line = w.safety.contour if w.safety else None
    return at_ropes(order, order.weld(w.weld), points_of(order, w).front, line)
