"""How long the wires of an indicator are, and how far a set across the weld reaches, clear of markers."""

from __future__ import annotations

import math

from halflayer.exposure.beam_room import is_lit, wire_points
from halflayer.exposure.beside_weld import MARKER_M, markers_beside, pair_clocks_rad
from halflayer.exposure.indicators import WIRE_SET_M
from halflayer.exposure.judged import sectors
from halflayer.exposure.result import Exposure
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.radiograph.bodies import WIRE_LENGTHS_M
from halflayer.scene.pipework import root_width_m
from halflayer.sheet.figures import Show
from halflayer.sheet.iqi_mark import Mark, mark_across, mark_words
from halflayer.sheet.naming import side_words
from halflayer.technique.choose import rules_for
from halflayer.technique.result import Candidate
from halflayer.technique.wire_sets import WIRE_SEEN_M


def in_bore(c: Candidate) -> bool:
    """Whether an indicator lies in the bore, over the root."""
    return c.arrangement == "bore" and c.iqi is not None and "source side" in c.iqi.position


def wire_length_m(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> float | None:
    """Length of the wires of a weld's indicators [m]: the shortest that does; None where no set of ISO 19232-1 does.

    Two films' sets lie round the pipe, as long as the end markers leave room. Others lie across the weld: over all of
    the cap and 10 mm of metal on one side. Lengths: ISO 19232-1 (from memory, unverified).
    """
    if c.iqi is None or c.iqi.type != "wire" or not c.iqi.designation.endswith("EN)"):
        return None
    clocks = pair_clocks_rad(c, exposure)
    if len(clocks) > 1 and exposure is not None:
        return markers_beside(order, weld, c, clocks, judged_ends(c, exposure))[0]
    wanted = _reach_m(weld, c) + _over_m(weld, c) / 2
    return next((v for v in WIRE_LENGTHS_M if v >= wanted - 1e-9), None)


def judged_ends(c: Candidate, exposure: Exposure | None, wall: str = "source-side wall") -> list[float]:
    """Ends of what the first exposure judges of a wall, from its source's clock [rad]."""
    first = c.shots[0].source_clock_rad
    mine = [s for s in sectors(c, exposure.coverage if exposure else None) if s.exposure == 1]
    return [
        e - first
        for s in mine
        if s.wall == wall and not s.whole
        for e in (s.start_rad, s.start_rad + s.length_rad)
    ]


def across_words(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show, *, why: str
) -> str:
    """How a set lies across the weld: length, side and how far its ends reach; `why`: whose rule that is.

    On the side where its mark is shown off what is judged. As far as 10 mm of metal ask, its own mark past that; or
    with its other end at the cap's foot, where long wires would else reach under markers there.
    """
    beside = show.drawn(WIRE_SEEN_M)
    over = "in the bore, taped on from an open end, over the root" if in_bore(c) else "over the cap"
    mark = mark_of(order, weld, c, exposure)
    side = side_words(weld, mark.side).split()[0]
    on = f"{side} of it" if side in ("left", "right") else f"{side} it"
    length = wire_length_m(order, weld, c, exposure)
    if length is None:
        return f"wires across the weld, {over} and {beside} or more of metal {on} (m{why})"
    reach = far_end_m(order, weld, c, length)
    return (
        f"wires {show.drawn(length)} long across the weld, {over} and {beside} of metal {on}, ends there "
        f"{show.drawn(reach)} off the weld's middle, {mark_words(mark)} (m{why})"
    )


def letter_f_words(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show) -> str:
    """Where the lead F lies that tells an indicator on the film's side: on the side of its mark, past what is judged.

    Clockwise of the set by half its width and a marker's; beside it only where the beam does not reach that.
    """
    side = mark_of(order, weld, c, exposure).side
    half = rules_for(order, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    aside = math.ceil((WIRE_SET_M / 2 + MARKER_M) * 1e3) / 1e3
    shot = c.shots[0]
    at = shot.detector_clock_rad - shot.source_clock_rad + aside / (weld.pipe.od / 2)
    spots = wire_points(weld, x_m=side * (half + 2 * MARKER_M), from_source_rad=at, length_m=2 * MARKER_M)
    if not is_lit(order, weld, c, spots):
        return "beside it"
    return (
        f"{side_words(weld, side)}, near edge {show.drawn(math.ceil(half * 1e3 - 1e-6) / 1e3)} off its middle, "
        f"{show.drawn(aside)} clockwise of it"
    )


def far_end_m(order: Order, weld: Weld, c: Candidate, length_m: float) -> float:
    """How far off the weld's middle the wires of a set across it end on the side of its mark [m], whole millimetres.

    Where the other end would lie under markers it lies at the cap's foot.
    """
    reach = _reach_m(weld, c)
    half = rules_for(order, weld).evaluated_half_width(weld_width_m=weld.cap.width_m).value
    if length_m - reach > half + 1e-9:
        return math.floor((length_m - _over_m(weld, c) / 2) * 1e3 + 1e-6) / 1e3
    return reach


def letters_clear_m(weld: Weld, c: Candidate) -> float:
    """From where letters lie clear of the ends of a set across the weld and its mark, on the same side [m]."""
    return _reach_m(weld, c) + MARKER_M


def mark_of(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> Mark:
    """On which side of the weld the mark of a set across it lies, past its wires; of plates their longer side."""
    length = wire_length_m(order, weld, c, exposure)
    return mark_across(
        order, weld, c, exposure, _reach_m(weld, c) if length is None else far_end_m(order, weld, c, length)
    )


def _over_m(weld: Weld, c: Candidate) -> float:
    return root_width_m(weld) if in_bore(c) else weld.cap.width_m


def _reach_m(weld: Weld, c: Candidate) -> float:
    """Half of the cap and 10 mm of metal, up to the next millimetre, as it is laid by a rule; in the bore too.

    There the root is narrower, but its wires end where what is judged does, so that their mark lies past it.
    """
    return math.ceil((max(_over_m(weld, c), weld.cap.width_m) / 2 + WIRE_SEEN_M) * 1e3 - 1e-6) / 1e3
