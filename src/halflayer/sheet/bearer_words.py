"""What bears a wrap, in words: its line among the settings, its steps, its row of the kit list, its mass to carry."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from halflayer.order.equipment import Blanket
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import Plan
from halflayer.scene.build import Built
from halflayer.scene.frame import site_frame
from halflayer.scene.pipework import outside_radius, pipe_span
from halflayer.scene.turned_back import turned_back
from halflayer.scene.wrap_layers import WrapLayer
from halflayer.sheet.bearer_drawing import bearer_drawing
from halflayer.sheet.figures import Show
from halflayer.sheet.kit_beside import other, ready
from halflayer.sheet.load_plan import LIFT_KG, Load
from halflayer.sheet.naming import side_words, weld_list
from halflayer.sheet.number_words import runs
from halflayer.sheet.travel import spot
from halflayer.sheet.tube_rows import tube_steps
from halflayer.shielding.bearers import COLLAR, Bearer, bearers, wrap_kg
from halflayer.shielding.kit import blanket_kind
from halflayer.shielding.result import Shielding
from halflayer.shielding.saddles import turns_fewer, under_hood
from halflayer.shielding.tent_stays import SAME_M, Stay
from halflayer.technique.result import Candidate

WHAT = {
    "tent frame": "frame about the tent",
    "pipe prop": "props under the pipe",
    "hood strap": "straps round the hood",
    COLLAR: "collar under the sleeve",
}
IN_BRIEF = {"tent frame": "hung from", "pipe prop": "pipe on", "hood strap": "hood in", COLLAR: "sleeve on"}


def named(b: Bearer) -> str:
    """By its id, else by what it is and that the kit has none that bears it."""
    if b.held is None:
        return f"a {b.kind} to be brought" if b.pieces == 1 else f"{b.pieces} {b.kind}s to be brought"
    return b.held.id if b.pieces == 1 else f"{b.pieces} {b.held.id}"


def in_brief(found: tuple[Bearer, ...]) -> str:
    """For the line of the layers among the settings; empty where head, legs and pipe bear it all."""
    return ", ".join(f"{IN_BRIEF[b.kind]} {named(b)}" for b in found)


def bears(
    order: Order,
    weld: Weld,
    chosen: Candidate | None,
    shielding: Shielding | None,
    built: Built | None,
    show: Show,
) -> dict[str, Any] | None:
    """Drawing and steps; None where nothing but head, legs and pipe bears. Steps: common practice, no source."""
    found = bearers(order, weld, chosen, shielding)
    if chosen is None or shielding is None or built is None:
        return None
    if not found:
        steps = tube_steps(order, weld, chosen, show)
        return {"svg": None, "steps": steps} if steps else None
    svg = bearer_drawing(weld, chosen, built, found, show)
    steps = [text for b in found for text in _steps(order, weld, chosen, shielding, b, show, built=built)]
    steps += tube_steps(order, weld, chosen, show)
    return {"svg": svg, "steps": steps}


def _kg(mass_kg: float, show: Show) -> str:
    """A mass to be borne, rounded up in its third digit: so that pieces times their mass is what is printed."""
    return show.up(mass_kg, "mass", digits=3)


def _load(b: Bearer, show: Show) -> str:
    """What it is, what it must bear and what it does."""
    if b.held is None:
        return (
            f"{named(b).capitalize()}, to bear {_kg(b.each_kg, show)} each"
            if b.pieces > 1
            else (f"{named(b).capitalize()}, to bear {_kg(b.each_kg, show)}")
        )
    each = " each" if b.pieces > 1 else ""
    strap = b.kind == "hood strap" and b.held.width_m is not None
    wide = f"{show.drawn(b.held.width_m or 0.0)} wide, " if strap else ""
    carries = f"{wide}{show.value(b.held.mass_kg, 'mass')}{each}, carries {show.floor(b.held.carries_kg, 'mass')}{each}"
    return f"{named(b)} ({carries}; load {_kg(b.each_kg, show)})"


def _steps(
    order: Order, weld: Weld, c: Candidate, s: Shielding, b: Bearer, show: Show, *, built: Built
) -> list[str]:
    if b.kind == "tent frame":
        lay = built.wrap.lay
        return _frame(weld, b, show, collar=lay is None or bool(lay.collar))
    if b.kind == "pipe prop":
        return _props(order, weld, c, s, b, show, laid=built.wrap.layers[: s.fitting.layers])
    if b.kind == "hood strap":
        at_most = ""
        if b.widest_m is not None:
            at_most = f", at most {show.drawn(math.floor(b.widest_m * 1000) / 1000)} wide beside the tube"
        return [
            f"{_load(b, show)}: once round head, hood and pipe over the last layer, "
            f"{show.drawn(round(b.at_m[1], 3))} left and right of the weld{at_most}, {show.drawn(_up(b.length_m))} or "
            "longer, "
            f"buckles on the pipe's far side. {_piece_by_piece(s, show)} Either bears head and hood alone."
        ]
    return [f"{_load(b, show)}: clamped round the pipe under the sleeve's lower end before the first piece."]


def _piece_by_piece(s: Shielding, show: Show) -> str:
    """Each piece of a hood strapped before the next, as nobody holds all of them; how many it takes to hold one."""
    pieces = [i for i in s.items if i.what == "blanket"]
    each = max((i.mass_kg / i.pieces for i in pieces if i.pieces), default=0.0)
    people = "person" if each <= LIFT_KG else f"{math.ceil(each / LIFT_KG)} people"
    held = f"{_kg(each, show)}: {'1 ' if people == 'person' else ''}{people}"
    return (
        f"Piece by piece: one strap off, the next piece held over the other ({held}), that strap tight over it, then "
        "the other; no hand leaves the hood before."
    )


def _frame(weld: Weld, b: Bearer, show: Show, *, collar: bool) -> list[str]:
    bars = show.drawn(_up(max(b.heights_m)))
    along, across = (b.held.opening if b.held and b.held.opening else b.opening_m) or (0.0, 0.0)
    axis = (
        "at the weld"
        if not b.at_m or abs(b.at_m[0]) < 0.002
        else f"{show.drawn(abs(b.at_m[0]))} {side_words(weld, b.at_m[0])}"
    )
    middle = (
        "under the pipe"
        if abs(b.across_m) < 0.002
        else f"{show.drawn(abs(b.across_m))} beside the pipe's axis"
    )
    need = b.opening_m or (0.0, 0.0)
    high = "higher than" if b.stays else "as high as"
    span = ""
    if b.held and b.held.heights:
        span = f" ({b.held.id}: {show.drawn(b.held.heights[0])} to {show.drawn(b.held.heights[1])})"
    steps = [
        f"{_load(b, show)}: after clamp, legs and head, before the tent. Four feet on the floor, "
        f"{show.drawn(along)} along and {show.drawn(across)} across clear between them (tent "
        f"{show.drawn(_up(need[0]))} and {show.drawn(_up(need[1]))}), middle {axis}, {middle}.",
        f"Bars on all four sides {bars} above the floor{span}, {high} the tent's edge in any exposure. Each piece that "
        f"comes up is tied at its fold, at both edges, to the nearest bar{', the collar by its upper edge' * collar}; "
        "the head bears nothing. Push at a bar: nothing may move.",
    ]
    return [*steps, *_spread(weld, b, show)]


def _spread(weld: Weld, b: Bearer, show: Show) -> list[str]:
    """Which post every corner of the floor is tied to in each exposure, and how high; alike exposures as one."""
    if not b.stays:
        return []
    alike: dict[str, list[str]] = {}
    for n, each in enumerate(b.stays, start=1):
        alike.setdefault(_ties(each, show), []).append(str(n))
    told = "\n".join(f"exposure {', '.join(ns)}: {words}" for words, ns in alike.items())
    unit = show.drawn(1.0).split(" ", 1)[1]
    return [
        "Then four ties from the tie round the tent's foot, from its places 45° off the pipe's direction, spread it, "
        "taut to the post on their "
        "side; where the foot stands steep its weight hangs in the upper two: tie these first. Heights above the floor "
        f"of the site [{unit}], at the foot → on the post:\n{told}"
    ]


def _ties(each: tuple[Stay, ...], show: Show) -> str:
    """Four ties of one exposure: the higher side first, which is the film's side where the beam goes aside."""

    def figure(m: float) -> str:
        return show.drawn(round(m, 3)).split(" ", 1)[0]

    def pair(two: list[Stay]) -> str:
        each = (
            f"{'right' if s.right else 'left'} {figure(s.corner[2])} → {figure(s.post_m)}"
            for s in sorted(two, key=lambda s: s.right)
        )
        return ", ".join(each)

    sides = [[s for s in each if s.across == sign] for sign in (1, -1)]
    if not all(len(two) == 2 for two in sides):
        return ""
    high, low = sorted(sides, key=lambda two: -sum(s.corner[2] for s in two))
    if abs(high[0].corner[2] - low[0].corner[2]) < SAME_M:
        return f"both sides {pair(high)}"
    return f"side away from the source {pair(high)}; source's side {pair(low)}"


def _props(
    order: Order,
    weld: Weld,
    c: Candidate,
    s: Shielding,
    b: Bearer,
    show: Show,
    *,
    laid: Sequence[WrapLayer],
) -> list[str]:
    wound = bool(laid and laid[0].turn)
    if not b.at_m:
        return [f"{_load(b, show)}: no room was found for saddles beside film and head."]
    bare = weld.height_m - outside_radius(weld)
    lifted = b.own_kg > 0.0 and b.under_sleeve
    cloth = blanket_kind(order, s.fitting)
    tops = [
        _heights(bare, h, show, lifted=lifted) + ("" if lifted else _each_end(c, laid, cloth, x, b, h, show))
        for x, h in zip(b.at_m, b.heights_m, strict=True)
    ]
    alike = len(set(tops)) == 1
    spots = " and ".join(
        f"{show.drawn(abs(x))} {'left' if x < 0 else 'right'}"
        + ", on the end turned back" * (b.under_sleeve and turned_back(weld, laid, x) > 0)
        + ("" if alike else f" ({top})")
        for x, top in zip(b.at_m, tops, strict=True)
    ) + (f", both {tops[0]}" if alike else "")
    spool = b.own_kg > 0.0
    parts = f"wrap {_kg(wrap_kg(s), show)}"
    parts += f", the spool itself {_kg(b.own_kg, show)} and the source's holder" if spool else " and head"
    wide = f" ({show.drawn(b.held.width_m)} wide)" if b.held and b.held.width_m else ""
    first = f"{_load(b, show)}: {parts}, {_kg(b.load_kg, show)} in all. Middles of the saddles{wide} {spots}."
    if spool and b.under_sleeve:
        put_on = "wound on" if wound else "laid layer by layer"
        return [
            first,
            f"Both stand under the sleeve. While films are tied on and the sleeve is {put_on} the spool hangs level, "
            f"{_hung_at(weld, show)}, from a hoist that then sets it down on both, wound until its axis is "
            f"{show.drawn(weld.height_m)} above the floor: hoist, slings and bar for "
            f"{_kg(b.load_kg, show)}; bar out before IQIs and spider go in, where it went; off in the other order.",
        ]
    if b.under_sleeve:
        _, low = under_hood(c, laid, cloth, b.at_m, _wide_m(b))
        hood = f", in exposure {', '.join(map(str, low))} for each of the hood too" if low else ""
        return [
            first,
            "Wound up to the bare pipe before the first piece (start); one under the sleeve is wound down a hand for "
            f"each {'turn' if wound else 'piece'} to pass{hood}, then up again until it bears (end): the "
            "other and the pipe's own support hold meanwhile.",
        ]
    return [first, "Both on bare pipe, wound up until they touch, before the first piece."]


NOT_SAID = "not in the order, settled before by who may lift"


def _hung_at(weld: Weld, show: Show) -> str:
    """Where a spool hangs, how long the bar through it is, and what the hoist hangs from where the order says it."""
    said = show.converted(weld.hoist_from) if weld.hoist_from else ""
    above = (
        f"; the hoist hangs from {said}" if said else f" (what the hoist hangs from, how high: {NOT_SAID})"
    )
    left, right = pipe_span(weld)
    at = spot(site_frame(weld).to_site(((left + right) / 2, 0.0, 0.0)), show)
    return (
        f"its middle at site {at}, slung at both ends of a bar through its bore, {show.drawn(right - left)} and both "
        f"slings' hold long{above}"
    )


def _heights(bare_m: float, end_m: float, show: Show, *, lifted: bool) -> str:
    """A saddle's height over the floor: on the bare pipe at the start, under the sleeve at the end."""
    if lifted:  # what lies between saddle and pipe gives: the axis is what is set
        return f"top about {show.drawn(end_m)} above the floor"
    if abs(bare_m - end_m) < 0.0005:
        return f"top {show.drawn(end_m)} above the floor"
    return f"top {show.drawn(bare_m)} above the floor at the start, {show.drawn(end_m)} at the end"


def _each_end(
    c: Candidate,
    laid: Sequence[WrapLayer],
    cloth: Blanket | None,
    x_m: float,
    b: Bearer,
    end_m: float,
    show: Show,
) -> str:
    """A saddle's height at the end of the exposures that differ: fewer turns on the underside, a hood's cloth under it.

    Empty where all have the height stated.
    """
    if cloth is None or not b.under_sleeve:
        return ""
    fewer = turns_fewer(c, laid, cloth, x_m) or (0,) * len(c.shots)
    thick, low = under_hood(c, laid, cloth, (x_m,), _wide_m(b))
    by: dict[str, list[int]] = {}
    for n, few in enumerate(fewer, start=1):
        off_m = few * cloth.thickness_m - (thick if n in low else 0.0)
        if abs(off_m) > 0.0005:
            by.setdefault(show.drawn(end_m + off_m), []).append(n)
    return "".join(f", {top} in exposure{'s' * (len(ns) > 1)} {runs(ns)}" for top, ns in by.items())


def _wide_m(b: Bearer) -> float:
    return b.held.width_m if b.held and b.held.width_m else 0.0


def _up(length_m: float) -> float:
    """A length to be had, in whole millimetres, rounded up."""
    return math.ceil(length_m * 1000 - 1e-6) / 1000


def _all(order: Order, plan: Plan) -> list[tuple[str, Bearer]]:
    return [
        (w.weld, b) for w in ready(plan) for b in bearers(order, order.weld(w.weld), w.chosen, w.shielding)
    ]


def _needs(order: Order, plan: Plan) -> list[tuple[str, str, int, list[str], list[Bearer]]]:
    """By piece of kit (or what is to be brought): kind, id, pieces at one time, welds, what they ask."""
    found: dict[tuple[str, str], list[tuple[str, Bearer]]] = {}
    for weld, b in _all(order, plan):
        found.setdefault((b.kind, b.held.id if b.held else ""), []).append((weld, b))
    out = []
    for (kind, ident), each in found.items():
        pieces = sum(sorted((b.pieces for _, b in each), reverse=True)[: order.shift.teams])
        out.append((kind, ident, pieces, [w for w, _ in each], [b for _, b in each]))
    return out


def bearer_rows(order: Order, plan: Plan, show: Show) -> list[dict[str, Any]]:
    """Rows of the kit list; what the kit has nothing for is to be brought."""
    rows = []
    for kind, ident, pieces, welds, mine in _needs(order, plan):
        most = max(mine, key=lambda b: b.each_kg)
        note = f"bears {_kg(most.each_kg, show)}" + (" each" if most.pieces > 1 else "")
        row = other(ident or "–", WHAT[kind], note, pieces, weld_list(welds, [w.id for w in order.welds]))
        if most.held is None:
            row["note"] += f"; {show.converted(most.lacks)}; not in the order: bring"
        else:
            row["note"] += f" of {show.floor(most.held.carries_kg, 'mass')}"
            row["stock"], row["short"] = str(most.held.count), most.held.count < pieces
            row["mass"] = show.up(pieces * most.held.mass_kg, "mass", digits=3)
        rows.append(row)
    return rows + _lifting(order, plan, show)


def _lifting(order: Order, plan: Plan, show: Show) -> list[dict[str, Any]]:
    """Hoist and bar of spools that hang while they are wrapped; the order states none, nor what they weigh."""
    mine = [(weld, b) for weld, b in _all(order, plan) if b.lifted]
    if not mine:
        return []
    most = sorted((b.load_kg for _, b in mine), reverse=True)[: order.shift.teams]
    on = weld_list([weld for weld, _ in mine], [w.id for w in order.welds])
    load = _kg(most[0], show)
    return [
        other("–", f"{what} for {load}", f"{why}; not in the order: bring", len(most), on)
        for what, why in (
            ("hoist", "holds the spool while it is wrapped, sets it down"),
            ("lifting bar, 2 slings", "through the spool's bore, out before IQIs and source's holder"),
        )
    ]


def bearer_loads(order: Order, plan: Plan) -> list[Load]:
    """The same as pieces to be carried."""
    return [
        Load(ident, WHAT[kind], pieces, mine[0].held.mass_kg)
        for kind, ident, pieces, _, mine in _needs(order, plan)
        if mine[0].held is not None
    ]


def bearer_short(order: Order, plan: Plan) -> list[str]:
    """What the kit holds too few of for all teams at one time, in words."""
    return [
        f"KIT SHORT: {pieces} of {ident} ({WHAT[kind]}) are needed at one time, the kit holds {mine[0].held.count}"
        for kind, ident, pieces, _, mine in _needs(order, plan)
        if mine[0].held is not None and mine[0].held.count < pieces
    ]
