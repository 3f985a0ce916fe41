"""The contingency page: dose rate of the bare source against distance, and what to do first.

The steps are common guidance in our own words; a crew follows its own plan and its adviser.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from halflayer.order.equipment import Source
from halflayer.order.models import Order
from halflayer.physics import dosimetry, nuclides
from halflayer.plan import WeldPlan
from halflayer.scene.matter import order_material
from halflayer.scene.stop import stop_piece
from halflayer.sheet.figures import Show
from halflayer.shift.changing import activity_at_start_Bq

DISTANCES_M = (0.1, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0)
DISTANCES_FT = (0.5, 1.0, 3.0, 6.0, 15.0, 30.0, 60.0, 150.0, 300.0)
FOOT_M = 0.3048

HEADLINE = (
    "Follow your own contingency plan and your radiation protection adviser. These are reminders, not a plan."
)

# From the open guidance of the international agency's booklet on sealed sources, the United States rules
# for radiography (10 CFR 34) and a national information sheet on site radiography, in our own words.
STEPS = (
    "Believe the meter. If it has not fallen after the source was called back, the source is out or the shield "
    "is not where it was.",
    "Walk away the way the reading falls, past the control position, to beyond the distance at which the bare source "
    "is at the limit or to where less is read. Touch nothing: not the head, not the shield, and not the source.",
    "Keep everyone out. Move the barrier out until the meter there shows less than the rope's turn-back reading, "
    "guard it, write down time and readings.",
    "Call the adviser and the people that the plan names.",
    "Try to bring the source home only from the control position, and only if the plan allows it.",
    "Nobody goes in to recover a source without training, a written plan, a dose budget, a rehearsal and a "
    "direct-reading dosimeter.",
    "Afterwards: read every dosimeter early, survey, record, report, and take the equipment out of use until it "
    "was examined.",
)


def likeliest(order: Order, welds: Sequence[WeldPlan]) -> str:
    """What else reads like a source that is out: only what some weld of the shift has, named where not all have it."""
    have = [(w, what) for w in welds for what in _may_be_lost(order, w)]
    parts = []
    for what in dict.fromkeys(what for _, what in have):
        own = [w.weld for w, told in have if told == what]
        parts.append(what if len(own) == len(welds) else f"{what} ({', '.join(own)})")
    end = (
        f" Lost shielding ({'; '.join(parts)}) reads so too: look for it only once the source is known to be home."
        if parts
        else ""
    )
    return f"Above the turn-back figure take it that the source is out until it is shown to be home.{end}"


def _may_be_lost(order: Order, w: WeldPlan) -> list[str]:
    """What of a weld's set-up may be out of place, in words."""
    if w.shielding is None or w.chosen is None:
        return []
    fit, found = w.shielding.fitting, []
    if fit.plates:
        piece = stop_piece(order, fit.plate)
        found += ["beam off the stop", f"a {'folded piece' if piece and piece.folded else 'plate'} left out"]
    if fit.layers:
        found.append("a blanket slipped")
    if w.chosen.shroud:
        found.append("the shroud open")
    head = next((h for h in order.heads if h.id == w.chosen.head), None)
    found += ["another aperture in"] * (head is not None and len(head.apertures) > 1)
    return [*found, *([] if w.chosen.arrangement == "bore" else ["the head turned"])]


def h10_constant(order: Order, source: Source) -> float:
    """H*(10) rate at 1 m per activity of the source behind its own capsule [Sv m2/(Bq s)].

    Sum over the lines above 20 keV, each filtered by the capsule wall in narrow beam (see `physics.nuclides`).
    """
    nuclide = nuclides.nuclide(source.nuclide)
    capsule = order_material(order, source.capsule_material)
    return dosimetry.h10_rate_constant(*nuclides.filtered(nuclide, capsule, source.capsule_wall_m))


def bare_rate_Sv_s(order: Order, source: Source, *, distance_m: float) -> float:
    """H*(10) rate of the bare source in free space at the shift's start: A x constant / distance squared."""
    return activity_at_start_Bq(order, source) * h10_constant(order, source) / distance_m**2


def bare_source(order: Order, source: Source, show: Show) -> dict[str, Any]:
    """The table of one source as printed texts, with the distance at which it falls to the barrier's rate limit."""
    if show.system == "imperial":
        distances = [(f"{d:g} ft", d * FOOT_M) for d in DISTANCES_FT]
    else:
        distances = [(f"{d:g} m", d) for d in DISTANCES_M]
    at_1m = bare_rate_Sv_s(order, source, distance_m=1.0)
    limit = order.limits.barrier.rate_Sv_s
    rates = [at_1m / d**2 for _, d in distances]
    columns = zip(
        (words for words, _ in distances),
        show.column(rates, "equivalent_rate"),
        show.column([r * 60.0 for r in rates], "equivalent"),
        strict=True,
    )
    rows = [{"distance": words, "rate": rate, "minute": minute} for words, rate, minute in columns]
    return {
        "source": source.id,
        "nuclide": source.nuclide,
        "activity": show.pm(
            activity_at_start_Bq(order, source),
            activity_at_start_Bq(order, source) * source.activity_uncertainty / 1.645,
            "activity",
        ),
        "rows": rows,
        "limit": show.floor(limit, "equivalent_rate") if limit else "",
        "limit_distance": show.kept(math.sqrt(at_1m / limit)) if limit else "",
        "basis": (
            "H*(10) in free air from the emission lines behind the capsule, inverse square, no shield and no loss "
            f"in air: rounded up. Certificate ± {source.activity_uncertainty * 100:.0f} %."
        ),
    }
