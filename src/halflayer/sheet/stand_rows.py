"""Settings of what carries the head: clamp and legs, strap or spider, offset and lean; and what a setting's row is."""

from __future__ import annotations

import math
from typing import Any

from halflayer.order.equipment import STRAPPED
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.held_words import held_by, put_in
from halflayer.sheet.naming import count, side_words
from halflayer.technique.result import Candidate
from halflayer.technique.words import mm

Row = dict[str, Any]


def row(label: str, value: str, note: str = "", size: str = "plain") -> Row:
    """One setting: what it is, its figure, what is said of it, and how large it is set."""
    return {"label": label, "value": value, "note": note, "size": size}


def stand_rows(
    order: Order,
    weld: Weld,
    c: Candidate,
    show: Show,
    *,
    pins_m: float | None = None,
    plates: bool = False,
    shot: int = 1,
) -> list[Row]:
    """What carries the head: strap, spider, or clamp and legs, their pins `pins_m` off the plane of pipe and source.

    `plates`: some hang under the film, off whenever it is changed; `shot`: the exposure that is shot first.
    """
    if c.arrangement in STRAPPED:
        where = show.degrees(c.shots[shot - 1].source_clock_rad) if c.shots else "0°"
        text = (
            f"head on the pipe, {_head_straps(order, c, show)}, first at clock {where}; "
            f"source {show.converted(mm(c.geometry.standoff_m))} off it"
        )
        return [row("Strap", "on the weld", text)]
    if c.arrangement == "bore":
        # The rod out again: else the cover at that end would want a slit for it. Its tube is joined outside, where it
        # can be pulled at; a mark on it then shows that both are home.
        tube = next(
            (g.id for g in order.kit.gear if g.kind == "source tube" and c.head in g.heads), "its tube"
        )
        way_in = put_in(weld, show, how=f"{tube} joined on outside, pulled at, both put in on a rod")
        home = f" (chalked on {tube} too, flush with the end: home)" * bool(way_in)
        text = f"centred in the bore at the weld plane{way_in}{home}; all hands out before the source"
        return [row("Spider", c.head, text)]
    clamp = c.clamp or NOT_COMPUTED
    at = (
        f"middle {show.drawn(abs(c.clamp_x_m))} {side_words(weld, c.clamp_x_m)}"
        if c.clamp_x_m is not None
        else ""
    )
    if weld.insulation and at and c.clamp_x_m is not None:
        wool = weld.insulation_at_m(c.clamp_x_m)
        size = show.drawn(weld.pipe.od + 2 * wool)
        at += f", {'round the insulation' if wool else 'on the pipe, insulation off'} ({size})"
    if at and c.shots:
        at += f"; legs first at clock {show.degrees(c.shots[shot - 1].source_clock_rad)}"
        at += f"; {_turned(weld, c, plates=plates)}" if len(c.shots) > 1 else ""
    hole = f"hole {c.leg_hole}" if c.leg_hole is not None else NOT_COMPUTED
    reach = f"{c.legs or 'legs'}, hole 1 shortest; {_on_pins(weld, c, show, pins_m)}"
    reach += "it" if reach.endswith("to source; ") else "source"  # a line of page 1 is not there to be had
    reach += f" {show.converted(mm(c.geometry.standoff_m))} off the pipe"
    return [row("Clamp", clamp, at), row("Legs", hole, reach)]


def _turned(weld: Weld, c: Candidate, *, plates: bool) -> str:
    """How the clamp is turned to the next clock, and what is then set anew: common practice, no source.

    On an upright pipe nothing but the clamp's grip bears what stands on it: it is loosened bare, held by hand.
    """
    if c.shroud:
        return "for each other shot bare again: “How it is laid”"
    off = "head and legs off, clamp held, " if weld.runs == "vertical" else ""
    stop = ", stop" if c.arrangement == "lean-back" else ", plates" * plates
    return f"for each other shot {'plates off, ' * plates}{off}loosened, turned, tightened, film, IQI{stop} set anew"


def _head_straps(order: Order, c: Candidate, show: Show) -> str:
    """The straps of a head: two, each over a quarter of it, over the film's back, either bearing it alone.

    Common practice, no source: a strap under a film lifts it off the pipe and shows on it.
    """
    head = next((h for h in order.heads if h.id == c.head), None)
    with_them = held_by(order, "straps", "with 2")
    if head is None:
        return with_them
    return (
        f"{with_them} {show.drawn(head.body[0] / 4)} left and right of the weld, over the film's back, "
        f"one off at a time: either bears it ({show.up(head.mass_kg, 'mass', digits=3)})"
    )


def _on_pins(weld: Weld, c: Candidate, show: Show, pins_m: float | None) -> str:
    """How a leg stands: its pin beside the weld, and what its foot is set to so that holes count from the pipe."""
    if c.clamp_x_m is None or c.leg_hole is None:
        return ""
    g = c.geometry
    far = math.hypot(g.axial_offset_m, weld.pipe.od / 2 + g.standoff_m)
    foot = show.converted(mm(weld.pipe.od / 2))
    out = f", {show.drawn(pins_m)} aside" if pins_m is not None else ""
    return f"pins at the axis{out}, foot {foot}, {show.converted(mm(far))} to source; "


def on_bar(order: Order, c: Candidate, pins_m: float | None, show: Show) -> str:
    """The cross bar of the legs on which the head stands, from leg to leg; empty without legs."""
    legs = next((g for g in order.kit.legs if g.id == c.legs), None)
    if legs is None or pins_m is None:
        return ""
    bar = f"; on the legs' cross bar, {show.drawn(2 * pins_m)}"
    if legs.bar is not None and not legs.bar[0] - 1e-9 <= 2 * pins_m <= legs.bar[1] + 1e-9:
        bar += f" (theirs {show.drawn(legs.bar[0])} to {show.drawn(legs.bar[1])}: bring one)"
    return bar


def lean_row(weld: Weld, c: Candidate, show: Show) -> Row:
    """How far the source stands off the weld plane and how much the head leans."""
    g = c.geometry
    if abs(g.axial_offset_m) < 1e-6:
        return row("Offset", "none", "source at x = 0, in the weld plane, beam straight across")
    value = f"{show.drawn(abs(g.axial_offset_m))}, {show.degrees(abs(g.tilt_rad))}"
    steps = next((d for d in c.settings if d.name == "lean_steps"), None)
    how = "leaning back over the clamp" if c.arrangement == "lean-back" else "leaning out"
    note = f"{side_words(weld, g.axial_offset_m)}, {how}, its beam on the weld"
    if steps is not None:
        note += f"; {count(int(steps.value or 0), 'step')}, {show.converted(steps.basis)}"
    return row("Offset", value, note)


def middle_words(weld: Weld, x_m: float, show: Show) -> str:
    """Where the middle of something under the pipe lies along it; at the weld within 2 mm of it."""
    if abs(x_m) < 0.002:
        return ", middle at the weld"
    return f", middle {show.drawn(abs(x_m))} {side_words(weld, x_m)}"
