"""How a wrap is laid, in steps: what lies first, which piece next, where it is slit, what closes it."""

from __future__ import annotations

import math

from halflayer.order.equipment import STRAPPED, Blanket
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.over_laps import short_laps
from halflayer.scene.pipework import outside_radius
from halflayer.scene.sleeves import Sleeve, all_layers
from halflayer.scene.tent_pieces import TentLay, pieces_said, tent_said
from halflayer.scene.wrap_layers import OVERLAP, WrapLayer, covered_m
from halflayer.sheet.covers_laid import covers_step
from halflayer.sheet.figures import Show
from halflayer.sheet.held_words import held_by
from halflayer.sheet.load_plan import LIFT_KG
from halflayer.sheet.naming import count, side_words
from halflayer.sheet.sleeve_ends import hood_ends, sleeve_ends
from halflayer.sheet.slit_words import flat_slits_said, slits_said
from halflayer.sheet.tent_ends import ends_words, flange_words, tent_ends
from halflayer.sheet.winding_words import signed_degrees, sleeve_pieces, wound_steps
from halflayer.shielding.bearers import bearers, left_on_legs_kg, wrap_kg
from halflayer.shielding.kit import blanket_mass_kg
from halflayer.shielding.result import Shielding
from halflayer.technique.result import Candidate

# Head along and across the pipe, how far the hood hangs below its top, its piece's rest past the pipe's middle [m].
Measures = tuple[float, float, float, float]


def lay_steps(
    order: Order,
    weld: Weld,
    chosen: Candidate,
    shielding: Shielding,
    built: Built,
    blanket: Blanket,
    *,
    hood_m: Measures | None,
    show: Show,
) -> list[str]:
    """The steps of one layer and how the next follows; the words of all set-ups are common practice, no source."""
    laid = built.wrap.layers[: shielding.fitting.layers]
    if chosen.arrangement in STRAPPED:
        steps = _strapped(order, weld, chosen, laid, blanket, hood_m, show, built=built)
        if ends := sleeve_ends(weld, built, laid, blanket, show):
            steps[1] += f" {ends[:1].upper()}{ends[1:]}."
    elif chosen.arrangement == "bore":
        hung = any(b.own_kg > 0.0 and b.under_sleeve for b in bearers(order, weld, chosen, shielding))
        ties = held_by(order, "ties", "", bring=False).strip()
        bears = min((g.carries_kg for g in order.kit.gear if g.kind == "ties" and g.carries_kg), default=None)
        steps = _bore(weld, laid, blanket, built, show, hung=hung, ties=ties, bears=bears)
    else:
        folded = all(p.id != shielding.fitting.plate for p in order.kit.plates)
        stop = ("stop" if folded else "plates") if shielding.fitting.plates else ""
        steps = _tent(order, weld, chosen, built, blanket, show, stop=stop)
        if (borne := _borne(order, chosen, shielding, show)) and built.wrap.lay is not None:
            steps[0] = f"{steps[0]} {borne}"
    if laid[0].turn is not None:
        steps.append("Tie each turn as it lies and every end; no edge may hang open.")
    elif len(laid) > 1:
        nxt = "odd layers as layer 1, even ones as layer 2"
        nxt += _other_edges(all_layers(built, laid, blanket), show) if built.wrap.lay is None else ""
        if built.wrap.lay is not None:
            nxt = (
                "each layer the same way over the one before, its edges a hand to the side of those under it"
            )
        steps.append(f"Tie each layer before the next; {nxt}.")
    else:
        steps.append("Tie it at every piece's ends; no edge may hang open.")
    if (each := blanket_mass_kg(blanket)) > LIFT_KG:
        steps[-1] += f" {show.up(each, 'mass', digits=3)} a piece: {math.ceil(each / LIFT_KG)} people."
    return steps


def _pieces(first: int, last: int) -> str:
    return f"Piece {first}" if first == last else f"Pieces {first} to {last}"


def _numbered(laid: tuple[WrapLayer, ...]) -> str:
    """The pieces of a sleeve laid layer by layer, numbered on from layer to layer."""
    each = [one.beside * one.lengths for one in laid]
    if len(each) < 2:
        return _pieces(1, each[0])
    many = f"{each[0]} to a layer" if len(set(each)) == 1 else f"{', '.join(map(str, each))} to a layer"
    return f"{_pieces(1, sum(each))}, {many}"


def _round(
    laid: tuple[WrapLayer, ...], blanket: Blanket, show: Show, *, over: str, asked: bool = True
) -> str:
    """From the seam once round, and what is left over of the length; `asked`: what would do said too."""
    one = laid[0]
    rests = [
        blanket.length_m * (1 + (each.lengths - 1) * (1 - OVERLAP)) - each.round_m
        for each in laid
        if each.lengths
    ]
    ends = f", {one.lengths} lengths end to end" if one.lengths > 1 else ""
    rest = show.drawn(max(rests))
    if len(laid) > 1 and asked and show.drawn(min(rests)) != rest:
        rest = f"{show.drawn(min(rests)).split(' ')[0]} to {rest}"
    length = "" if asked else " of layer 1's length"
    laps = "laps grey, the higher number on top" if one.beside > 1 else "laps grey"
    return (
        f"from the seam (thick line) over {over} once round over the film{ends}, {laps}; "
        f"the last {rest}{length} lie over the beginning"
        + f", {show.drawn(blanket.length_m * OVERLAP)} would do"
        * asked
    )


def _other_edges(layers: list[Sleeve], show: Show) -> str:
    """Where the pieces lie of layers that are neither as layer 1 nor as layer 2 drawn; empty without any."""
    found: dict[str, list[str]] = {}
    for s in layers[2:]:
        if any(
            abs(a - b) > 0.0005
            for p, q in zip(s.pieces, layers[1 - s.number % 2].pieces, strict=False)
            for a, b in zip(p, q, strict=True)
        ) or len(s.pieces) != len(layers[1 - s.number % 2].pieces):
            unit = show.drawn(1.0).split(" ", 1)[1]
            spans = ", ".join(f"{_x(a, show)} to {_x(b, show)}" for a, b in s.pieces) + f" {unit}"
            found.setdefault(spans, []).append(str(s.number))
    return "".join(
        f"; {'layers' if len(ns) > 1 else 'layer'} {' and '.join(ns)} narrower, at {spans} along the pipe"
        for spans, ns in found.items()
    )


def _x(x_m: float, show: Show) -> str:
    return "0" if abs(x_m) < 0.0005 else ("+" if x_m > 0 else "−") + show.drawn(abs(x_m)).split(" ")[0]


def _strapped(
    order: Order,
    weld: Weld,
    chosen: Candidate,
    laid: tuple[WrapLayer, ...],
    blanket: Blanket,
    hood_m: Measures | None,
    show: Show,
    *,
    built: Built,
) -> list[str]:
    spiral = laid[0].turn is not None
    n, more = sleeve_pieces(laid), sum(each.more for each in laid)
    joined = (
        "the tube joined on its stands, " if chosen.guide else ""
    )  # no piece is then passed round beside it
    follows = f"then all {'turns' if spiral else 'layers'} of the sleeve, {joined}then the hood"
    steps = [
        f"First the film, tied on the far side, and the head, strapped on over it; {follows}. Drawn "
        "unrolled, seen from outside, +x to the right; clocks from the source.",
        *(
            wound_steps(laid, blanket, show)
            if spiral
            else (f"{_numbered(laid)}: {_round(laid, blanket, show, over='180°')}.",)
        ),
    ]
    if hood_m is None:
        return steps
    along, across, down, beyond = hood_m
    lines = "in every turn (thick lines, without lean)" if spiral else "(thick lines)"
    slit = (
        f"Where the head stands (grey) pieces have two slits along the pipe {lines}, {show.drawn(across)} apart, and "
        f"their tongues turned up against the head's end. Slit only pieces marked {weld.id} and their number."
    )
    if spiral:
        slit += f" {slits_said(laid, blanket, along / 2, show)}"
    elif not any(one.patch for one in laid):  # large pieces are larger than the head's place
        slit += f" {flat_slits_said(all_layers(built, laid, blanket), blanket, along / 2, across / 2, show)}"
    steps.append(slit.strip())
    hang = max((blanket.width_m - along) / 2, 0.0)
    met = hood_ends(weld, blanket.width_m / 2)
    piled = ", one over another" if more > 1 else ""
    hood = (
        f"{_pieces(n + 1, n + more)}, the hood{piled}: over the head across the pipe and down both sides, over the "
        f"sleeve, to the pipe's middle (chain line); from the head's top edges {show.drawn(hang)} of it hang down the "
        f"head's ends over the tongues, corners folded in{met}"
    )
    if beyond > 0.0005:
        hood += (
            f"; its ends, {show.drawn(beyond)} past that on either side, go on round over the sleeve, one over the "
            "other: no dose counts on them"
        )
    if chosen.guide:
        edge, guide = (
            show.drawn(blanket.width_m / 2),
            next((g for g in order.kit.guides if g.id == chosen.guide), None),
        )
        tube = show.drawn(guide.bore_m + 2 * guide.wall_m) if guide else "the tube's width"
        sides = [
            f"{_and(range(n + first, n + more + 1, 2))} from {side}"
            for first, side in ((1, "−x"), (2, "+x"))[:more]
        ]
        hood += (
            f"; slit for the guide tube {edge} from an edge to the middle and there {tube} across, no hole: "
            f"{', '.join(sides)}; lapped close round it"
        )
    elif control := opened_with(order, chosen.head):
        hood += f"; {_way_out(control)}"
    left = down - outside_radius(weld) - len(laid) * blanket.thickness_m - hang
    if left > 0.0005:
        hood += f". They end {show.drawn(left)} above the sleeve: the tongues close that"
    elif left < -0.0005:
        hood += ". What is more than the head is high lies flat on the sleeve, along the pipe"
    steps.append(hood + ".")
    return steps


def _and(numbers: range) -> str:
    """Numbers in a row, the last after `and`."""
    *before, last = map(str, numbers)
    return f"{', '.join(before)} and {last}" if before else last


def opened_with(order: Order, head: str) -> str:
    """Id of the remote control that opens a head; empty where the order has none."""
    return next((g.id for g in order.kit.gear if g.kind == "remote control" and head in g.heads), "")


def _way_out(control: str) -> str:
    """Where the cable of a remote control leaves a closed hood: without a bend back, under the hood's edge."""
    return (
        f"the cable of {control} comes out at the head's end nearer the crank, along the pipe under the hood's edge "
        "and over the tongues: nothing slit, cloth tied close round it"
    )


def _bore(
    weld: Weld,
    laid: tuple[WrapLayer, ...],
    blanket: Blanket,
    built: Built,
    show: Show,
    *,
    hung: bool,
    ties: str,
    bears: float | None,
) -> list[str]:
    """`hung`: the spool hangs from a hoist, as its props stand where the sleeve lies; `ties`: the kit's, by id.

    `bears`: what one of them bears [kg], the weakest of several kinds; None where the order does not say it.
    """
    one = laid[0]
    borne = "bar through its bore, hung from the hoist; " if hung else ""
    down = "set down on its props, bar out; " if hung else ""
    steps = [
        f"In this order: {borne}films tied on all round; sleeve {'in turns' if one.turn else 'layer by layer'}; {down}"
        "IQIs inside; spider with its tube; covers. Drawn unrolled, seen from outside, +x to the right; clocks from 0.",
        *(
            wound_steps(laid, blanket, show)
            if one.turn is not None
            else (
                f"{_numbered(laid)}: "
                + _round(laid, blanket, show, over="the top, 0°,", asked=not laid[-1].over_laps_m)
                + ": none lies on the props."
                + _over_laps(laid, blanket, show),
            )
        ),
    ]
    if covers := covers_step(weld, built, blanket, len(laid), show, ties=ties, carries_kg=bears):
        steps.append(covers)
    return steps


def _over_laps(laid: tuple[WrapLayer, ...], blanket: Blanket, show: Show) -> str:
    """The pieces that lie last over laps round that are too short; empty without any."""
    at, short = laid[-1].over_laps_m, short_laps(laid, blanket)
    if not at or not short:
        return ""
    seams = {round(one.seam_clock_rad, 6) for one, _, _ in short}
    middle = signed_degrees(laid[-1].seam_clock_rad) if len(seams) == 1 else "0°"
    left = math.floor(min(left for _, _, left in short) * 1000) / 1000
    ends = blanket.length_m - laid[-1].round_m
    where = " and ".join(
        f"{_x(x - blanket.width_m / 2, show)} to {_x(x + blanket.width_m / 2, show)}" for x in at
    )
    unit = show.drawn(1.0).split(" ", 1)[1]
    return (
        f" Layer {len(laid)} laps {show.drawn(ends)}, but only {show.drawn(left)} where pieces lie double "
        f"({show.drawn(blanket.length_m - left)} round there): {count(len(at), 'piece')} more round that, at {where} "
        f"{unit} along the pipe, middle at {middle}."
    )


def _tent(
    order: Order, weld: Weld, chosen: Candidate, built: Built, blanket: Blanket, show: Show, *, stop: str
) -> list[str]:
    lay = built.wrap.lay
    if lay is None:
        return [show.converted(built.wrap.outline[:1].upper() + built.wrap.outline[1:]) + "."]
    words = show.converted(tent_said(lay))
    head = next((h for h in order.heads if h.id == chosen.head), None)
    ends = tent_ends(lay, built, weld, blanket, face_m=head.source_to_face_m) if head is not None else None
    closed = "lapped and tied close round it"
    through = f"Where the pipe goes through, the slit closes over it, both edges {closed}"
    if ends is not None:
        if ends.past_m > 0.0005 and not lay.collar:
            words += (
                f", the {show.drawn(ends.past_m)} past it folded back outside, a tie round head and fold closing the "
                "ring"
            )
        words += f"; its floor's middle {_off(weld, ends.middle_m, show)}"
        if chosen.geometry.tilt_rad:
            words += f". It leans {show.degrees(abs(chosen.geometry.tilt_rad))} with the beam, its floor square to it"
        above = f", between it and the piece's end {show.drawn(OVERLAP * blanket.width_m)} over one another, tied twice"
        through = f"{ends_words(ends, lay, show)}; there its edges are {closed}{above}"
    if flange := flange_words(weld, show):
        through += f"; {flange}"
    on = f"film, IQI, letters, {stop}" if stop else "film (thick line; no plates), IQI, letters"
    steps = [
        f"First clamp, legs, head, {on}; then the "
        "tent round all but the head, legs inside. Numbers: the order of laying.",
        words[:1].upper() + words[1:] + "." + _over(built, lay) + _folded(lay, blanket, show),
        f"{through}. Laps {math.floor(100 * OVERLAP)} % of a piece.",
    ]
    if len(chosen.shots) > 1:
        moved = "film, IQI and letters" + (" and stop" if stop == "stop" else "")
        steps.append(
            f"For each further exposure it comes off; clamp turned, {moved} set at the new clock, then it is laid "
            "anew the same way about the head's new place."
        )
    return steps


def _off(weld: Weld, x_m: float, show: Show) -> str:
    return "at the weld" if abs(x_m) < 0.002 else f"{show.drawn(abs(x_m))} {side_words(weld, x_m)}"


def _over(built: Built, lay: TentLay) -> str:
    """Where the pieces lie that the tent's area asks for beside those of its lay; empty without any."""
    more = built.wrap.layers[0].pieces - lay.pieces
    if more <= 0:
        return ""
    named = pieces_said(lay.pieces + 1, more)
    return f" {named[:1].upper()}{named[1:]} over the corners, where the others fan apart."


def _folded(lay: TentLay, blanket: Blanket, show: Show) -> str:
    """How the pieces close the tent's corners: drawn in to a circle, for a box would stay open between them."""
    if not lay.along:
        return ""
    lap = (covered_m(lay.along, blanket) - lay.gap_m) / 2
    flank, turn = covered_m(lay.across, blanket), math.pi * lay.foot_m
    return (
        f" Round, no box: first a tie round the foot draws them in to a circle {show.drawn(2 * lay.foot_m)} across; a "
        f"flank goes round {show.drawn(flank)} of the half turn's {show.drawn(turn)}, the end's piece closes the other "
        f"{show.drawn(lay.gap_m)} and lies {show.drawn(lap)} under it on both sides (broken lines); corners folded "
        "flat, none cut."
    )


def _borne(order: Order, chosen: Candidate, shielding: Shielding, show: Show) -> str:
    """What bears a tent: the legs where they carry it beside head and stop, else a frame; empty without legs."""
    left = left_on_legs_kg(order, chosen, shielding)
    if left is None:
        return ""
    tent = wrap_kg(shielding)
    # A stop of folded blankets is tied to the pipe.
    beside = "head and stop" if any(i.what.startswith("stop") for i in shielding.items) else "the head"
    room = f"Tent {show.up(tent, 'mass')}, {chosen.legs} carries {show.floor(left, 'mass')} beside {beside}"
    if tent <= left:
        return f"{room}: hung over head and legs."
    return f"{room}: hung from the frame (“What bears it”), not from the head."
