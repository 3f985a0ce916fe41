"""How a rigid shroud is closed, hung, taken off and what its legs bear, step by step: past the legs as they stand."""

from __future__ import annotations

import math

from halflayer.order.equipment import Shroud
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.solids import Box
from halflayer.scene.stand import LEG_RADIUS_M
from halflayer.sheet.figures import Show
from halflayer.sheet.held_words import held_by
from halflayer.sheet.naming import side_words
from halflayer.sheet.plate_holder import pins_y_m
from halflayer.sheet.settings import by_id
from halflayer.sheet.shroud_parts import parts_at_axis
from halflayer.shielding.result import Shielding
from halflayer.technique.result import Candidate


def shroud_steps(
    order: Order, weld: Weld, c: Candidate, shroud: Shroud, shielding: Shielding, built: Built, show: Show
) -> list[str]:
    """In the order in which hands need them; common practice, no source."""
    gap, mass = show.drawn(shroud.slot_gap_m), show.value(shroud.mass_kg, "mass")
    load = _legs_bear(order, c, shielding, show)
    plates = [i for i in shielding.items if i.what.startswith("stop")] if shielding.fitting.plates else []
    steps = [
        *(_at_axis if parts_at_axis(shroud) else _along_beam)(order, weld, shroud, built, show),
        f"{_hung(weld)}, {mass}, not from the pipe{load}. "
        f"See and feel: lid flush, {gap} open all round the pipe as reckoned, no light through the joint.",
    ]
    if plates:
        borne = show.up(math.fsum(i.mass_kg for i in plates), "mass", digits=2)
        holder = held_by(order, "plate holder", "in")
        steps.append(
            f"Last the plates, {borne}, against its foot over the whole opening, {holder}, "
            f"{_drawn_up(weld, built, show)}."
        )
    if shroud.form == "skewed":
        longer = -built.source_at[0]  # the lid is square to the beam, which comes from over the other side
        towards = ", towards the clamp" if (c.clamp_x_m or 0.0) * longer > 0.0 else ""
        steps.append(f"Leaning: longer side {side_words(weld, longer)}{towards}; foot along the pipe.")
    first = "foot half" if parts_at_axis(shroud) else "head and legs, one half after the other"
    strap = "" if parts_at_axis(shroud) else "strap, "
    last = (
        f"Off: source home, meter read beside it; then {'plates, ' * bool(plates)}{strap}catches, {first}, held until "
        "it is down"
    )
    if len(c.shots) > 1:
        bare = "head, legs and head half off too, " if parts_at_axis(shroud) else ""
        held = "held and " if weld.runs == "vertical" else ""
        last += (
            f"; so for each further exposure: {bare}clamp and arms {held}turned, film, IQI, letters as in 1, closed "
            "anew"
        )
    steps.append(last + ".")
    return steps


def _hung(weld: Weld) -> str:
    """What bears the shroud: on an upright pipe it would slide down, along the pipe, until its hooks are shut."""
    if weld.runs == "vertical":
        return (
            "Hooks shut on both legs bear it against the head's face, a second person holds it until they are"
        )
    return "It hangs from the head's face and both legs, a second person holds it until its hooks are shut"


def _drawn_up(weld: Weld, built: Built, show: Show) -> str:
    """How the plates come up to the shroud's foot: upwards, or sideways on an upright pipe, where they would slide."""
    if weld.runs == "vertical":
        stop = next((s for s in built.scene.solids if isinstance(s, Box) and s.name == "stop"), None)
        edge = ""
        if stop is not None:  # nothing but the ties sets how high they hang
            edge = (
                f", their upper edge {show.drawn(stop.centre[0] + stop.size[0] / 2)} above the weld's middle"
            )
        return (
            "on the legs' pins on either side, drawn towards the pipe until they touch, tied to the legs against "
            f"sliding down{edge}, held by a second person until then"
        )
    return "which hangs on the legs' pins on either side and is pulled up until they touch"


def _at_axis(order: Order, weld: Weld, shroud: Shroud, built: Built, show: Show) -> list[str]:
    """Head half from the source's side, foot half from the far side: both pass between the legs."""
    under = "below and above" if weld.runs == "vertical" else "left and right"
    unsaid = " (the kit does not say: its maker's way goes first)" if shroud.parts is None else ""
    pins = pins_y_m(built)
    between = (
        ""
        if pins is None
        else (
            f" Arms and legs clear it: they begin {show.drawn(pins - LEG_RADIUS_M)} off the middle, its sides end at "
            f"{show.drawn(shroud.inner[1] / 2 + shroud.wall_m)}."
        )
    )
    return [
        "First clamp and arms; then film, IQI and letters on the pipe, read by two: the shroud hides "
        "them. It parts at the pipe's "
        f"axis into head half and foot half{unsaid}.{between}",
        f"Head half over the pipe from the source's side, cut-outs {under}, held by a second person; then legs on "
        f"their pins{', leant and locked,' * (shroud.form == 'skewed')} and head over it, its lid up under the head's "
        "face, hooked to both legs. Foot half over the film "
        "from the far side until the joint shuts all round; catches closed, each pulled at.",
    ]


def _along_beam(order: Order, weld: Weld, shroud: Shroud, built: Built, show: Show) -> list[str]:
    """A half from each side, which the legs would stop: they go up last."""
    under = "below and above" if weld.runs == "vertical" else "left and right"
    return [
        "First clamp, without arms and legs; then film, IQI and letters on the pipe, read by two: the "
        "shroud hides them. It parts "
        "in two along the beam, in the plane of pipe and beam.",
        f"One half from each side, cut-outs ({under}) over the pipe, pushed together until the joint shuts from lid to "
        f"foot; catches closed{_strapped(order)} round both, halfway from pipe to foot, held. Arms and legs (broken "
        "lines) last, head on them, its face on the lid: legs first would stand in the halves' way.",
    ]


def _strapped(order: Order) -> str:
    """The strap round both halves, called one where it is only an id."""
    ours = any(g.kind == "straps" for g in order.kit.gear)
    return held_by(order, "straps", ", then strap" if ours else ", then")


def _legs_bear(order: Order, c: Candidate, shielding: Shielding, show: Show) -> str:
    """What the legs are loaded with, head and shroud and stop, against what they carry; empty without legs."""
    legs, head, shroud = (
        by_id(order.kit.legs, c.legs),
        by_id(order.heads, c.head),
        by_id(order.kit.shrouds, c.shroud),
    )
    if legs is None or head is None or shroud is None:
        return ""
    stop = math.fsum(i.mass_kg for i in shielding.items if i.what.startswith("stop"))
    holder = (
        next((g.mass_kg or 0.0 for g in order.kit.gear if g.kind == "plate holder"), 0.0) if stop else 0.0
    )
    load = head.mass_kg + shroud.mass_kg + stop + holder
    both = "head, stop and its holder" if stop else "head"
    return f" ({legs.id}: {show.up(load, 'mass')} with {both}, carry {show.floor(legs.carries_kg, 'mass')})"
