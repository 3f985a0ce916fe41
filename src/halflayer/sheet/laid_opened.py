"""How a weld's shield is laid and borne, opened: pieces and lengths by layer, where film and plates lie, loads."""

from __future__ import annotations

import math

from halflayer.base.result import Derived
from halflayer.exposure.budget import sheet_lap_m, sheets_for
from halflayer.order.equipment import FLAT_FILM, ON_A_STAND, Blanket
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built, build_scene
from halflayer.scene.pipework import outside_radius
from halflayer.scene.solids import Box
from halflayer.scene.tent_pieces import TentLay
from halflayer.scene.wrap import MARGIN_M
from halflayer.scene.wrap_layers import OVERLAP, WrapLayer, lap_m
from halflayer.sheet.drawn_opened import drawn_figures, edge_figures
from halflayer.sheet.layers import layer_mass_kg
from halflayer.sheet.settings import by_id
from halflayer.sheet.slits_opened import slit_figures
from halflayer.sheet.tent_ends import ends_figures, tent_ends
from halflayer.sheet.wound_opened import wound_figures
from halflayer.shielding.bearers import CLEAR_M, STRAP_OVER_M, Bearer, bearers, left_on_legs_kg, wrap_kg
from halflayer.shielding.kit import blanket_mass_kg
from halflayer.shielding.opened import plain_name
from halflayer.shielding.result import Shielding
from halflayer.technique.result import Candidate

KIT = "kit of the order"
GEOMETRY = "elementary geometry"
STATICS = "elementary statics"
LAP = Derived("lap", OVERLAP, "1", basis="share of a piece that lies over its neighbour, our choice")


def laid_figures(order: Order, weld: Weld, c: Candidate, s: Shielding) -> list[Derived]:
    """Where film and plates lie, each layer of the wrap, the size of a tent, and what bears it."""
    if not c.shots:
        return []
    built = build_scene(order, weld, c, c.shots[0], s.fitting)
    found = _middles(order, weld, c, built)
    found += drawn_figures(order, weld, c, s.fitting, built)
    blanket = by_id(order.kit.blankets, s.fitting.blanket)
    laid = built.wrap.layers[: s.fitting.layers]
    if blanket is None or not laid:
        return found
    for n, one in enumerate(laid, start=1):
        found += _layer(order, weld, blanket, one, n, built.wrap.lay)
    found += wound_figures(laid, blanket)
    found += edge_figures(laid, built, blanket)
    found += slit_figures(laid, built, blanket)
    if built.wrap.lay is not None:
        found += _tent(built.wrap.lay, blanket)
        head = by_id(order.heads, c.head)
        ends = tent_ends(built.wrap.lay, built, weld, blanket, face_m=head.source_to_face_m)
        found += ends_figures(ends, built.wrap.lay, blanket) if ends is not None else []
    for b in bearers(order, weld, c, s):
        found += _bearer(order, weld, c, s, b)
    return found


def _middles(order: Order, weld: Weld, c: Candidate, built: Built) -> list[Derived]:
    """Where the middles of a flat film and of the plates lie along the pipe, and how sheets all round lap."""
    if c.arrangement == "bore":
        sheet = by_id(order.all_detectors, c.detector)
        n = sheets_for(order, weld, c)
        lap, length = sheet_lap_m(order, weld, c), max(sheet.sheet)
        inputs = (
            Derived("length of a sheet", length, "m", source=KIT),
            Derived("turn at the film", (length - lap) * n, "m", source=GEOMETRY),
            Derived("sheets", n, "1"),
        )
        formula = "length of a sheet - turn at the film / sheets"
        return [Derived("sheet_lap", lap, "m", formula=formula, inputs=inputs, source=GEOMETRY)]
    stops = [s for s in built.scene.solids if isinstance(s, Box) and s.name == "stop"]
    named = [("film_middle_along", "film", built.film.centre, 0.0)] if c.arrangement in FLAT_FILM else []
    if stops and c.arrangement in ON_A_STAND:
        named.append(("stop_middle_along", "plates", stops[0].centre, stops[0].size[2] / 2))
    aim, source = built.aim, built.source_at
    across = math.hypot(aim[1], aim[2])
    offset = Derived("source from the weld", source[0], "m", basis="along the pipe, + to the right")
    run = Derived("beam's way along the pipe", aim[0] / across, "1", basis="for each metre across it")
    found = []
    for name, what, at, above in named:
        # Both lie on the line of the source across the pipe, on the other side of its axis, at any clock.
        deep = math.hypot(*source[1:]) + math.hypot(*at[1:]) - above
        down = Derived("source to it", deep, "m", basis="across the pipe, to its upper face")
        found.append(
            Derived(
                name,
                at[0],
                "m",
                formula="source from the weld + source to it x beam's way along the pipe",
                inputs=(offset, down, run),
                source="exact geometry: the middle lies where the beam's axis meets it",
                basis=f"middle of the {what} from the weld along the pipe, + to the right",
            )
        )
    return found


def _layer(
    order: Order, weld: Weld, blanket: Blanket, one: WrapLayer, n: int, lay: TentLay | None
) -> list[Derived]:
    widths, lengths, more = (
        Derived(name, value, "1")
        for name, value in (
            ("widths", one.beside),
            ("lengths", one.lengths),
            ("others", one.more + len(one.over_laps_m)),
        )
    )
    large = by_id(order.kit.blankets, one.patch.blanket) if one.patch else None
    found = [
        Derived(
            f"layer_{n}_pieces",
            one.pieces,
            "pieces",
            formula="widths x lengths + others",
            inputs=(widths, lengths, more),
            source="what is to be covered over what a piece covers with its laps",
            basis=f"{blanket.id}, layer {n} from inside; others: hood, underside, covers, pieces over laps"
            + ("; lengths: pieces that begin in this turn of those wound on" if one.turn else "")
            + ("" if lay is None else "; a tent is laid of tent_pieces, or of what its area takes"),
        ),
        _round(weld, blanket, one, n, tent=lay is not None),
    ]
    mass = blanket_mass_kg(blanket)
    each = Derived("mass of a piece", mass, "kg", formula="width x length x mass per area", source=KIT)
    pieces = found[0].named()
    inputs: tuple[Derived, ...] = (pieces, each)
    formula = "pieces x mass of a piece"
    if one.patch is not None and large is not None:
        p = one.patch
        patch = Derived(
            f"layer_{n}_large_pieces",
            p.pieces,
            "pieces",
            formula="widths x lengths + over the head",
            inputs=(
                Derived("widths", p.beside, "1"),
                Derived("lengths", p.lengths, "1"),
                Derived("over the head", p.over_head, "1"),
            ),
            source="the beam's footprint and its rim over what a piece covers with its laps",
            basis=f"{large.id}, layer {n} from inside: on the far side and over the head",
        )
        heavy = Derived("mass of a large piece", blanket_mass_kg(large), "kg", source=KIT)
        along = Derived(
            f"layer_{n}_along",
            one.along_m,
            "m",
            formula="large pieces + widths x width x (1 - lap)",
            inputs=(
                Derived("large pieces", p.along_m, "m", basis="along the pipe"),
                widths,
                Derived("width", blanket.width_m, "m", source=KIT),
                LAP,
            ),
            source=GEOMETRY,
        )
        inputs, formula = (pieces, each, patch.named(), heavy), "pieces x mass of a piece, small and large"
        found += [patch, along]
    else:
        found.append(
            Derived(
                f"layer_{n}_along",
                one.along_m,
                "m",
                formula="width + (widths - 1) x width x (1 - lap)",
                inputs=(Derived("width", blanket.width_m, "m", source=KIT), widths, _lap(one, blanket)),
                source=GEOMETRY,
                basis="what whole pieces cover",
            )
        )
    if lay is None and one.lengths and one.turn is None:
        found.append(_over(blanket, one, n))
    found.append(
        Derived(f"layer_{n}_mass", layer_mass_kg(order, blanket, one), "kg", formula=formula, inputs=inputs)
    )
    return found


def _lap(one: WrapLayer, blanket: Blanket) -> Derived:
    """The share by which widths lap along the pipe: more than everywhere where they are spread to end with it."""
    share = lap_m(one, blanket) / blanket.width_m
    if abs(share - OVERLAP) < 1e-9:
        return LAP
    return Derived("lap", share, "1", basis="share of a width, spread so that the sleeve ends with the pipe")


def _over(blanket: Blanket, one: WrapLayer, n: int) -> Derived:
    """What of the lengths of a sleeve is left to lie over its beginning."""
    reach = blanket.length_m * (1 + (one.lengths - 1) * (1 - OVERLAP))
    inputs = (
        Derived("length", blanket.length_m, "m", source=KIT),
        Derived("lengths", one.lengths, "1"),
        LAP,
        Derived("round", one.round_m, "m", basis=f"opened under layer_{n}_round"),
    )
    return Derived(
        f"layer_{n}_over",
        reach - one.round_m,
        "m",
        formula="length + (lengths - 1) x length x (1 - lap) - round",
        inputs=inputs,
        source=GEOMETRY,
        basis="lies over its beginning",
    )


def _round(weld: Weld, blanket: Blanket, one: WrapLayer, n: int, *, tent: bool) -> Derived:
    thick = Derived("thickness", blanket.thickness_m, "m", source=KIT)
    under = (n - 0.5) * blanket.thickness_m
    number = Derived("layer", n, "1")
    if tent:
        slack = Derived("slack", MARGIN_M, "m", basis="our choice")
        bare = Derived(
            "outline",
            one.round_m - 2 * math.pi * (MARGIN_M + under),
            "m",
            basis="perimeter of the convex outline of head, pipe, film and stop across the pipe",
        )
        formula, inputs = "outline + 2 pi x (slack + (layer - 1/2) x thickness)", (bare, slack, number, thick)
        source = "Steiner's formula for a convex outline laid off"
    else:
        pipe = Derived(
            "outside of the pipe", outside_radius(weld), "m", basis="its radius, insulation included"
        )
        pack = Derived(
            "film and slack",
            one.round_m / (2 * math.pi) - under - pipe.value,  # type: ignore[operator]
            "m",
            basis="from the outside of the pipe to the innermost layer",
        )
        formula = "2 pi x (outside of the pipe + film and slack + (layer - 1/2) x thickness)"
        inputs, source = (pipe, pack, number, thick), GEOMETRY
    return Derived(f"layer_{n}_round", one.round_m, "m", formula=formula, inputs=inputs, source=source)


def _tent(lay: TentLay, blanket: Blanket) -> list[Derived]:
    """Its sizes and how a layer of it is laid."""
    counts = [
        Derived(name, value, "1")
        for name, value in (
            ("across", lay.across),
            ("along", lay.along),
            ("end to end", lay.lengths),
            ("collar", lay.collar),
        )
    ]
    foot = Derived(
        "tent_foot",
        2 * lay.foot_m,
        "m",
        source="what must fit inside (film, stop), with its slack",
        basis="inside, across the foot",
    )
    width, length = (
        Derived(name, value, "m", source=KIT)
        for name, value in (("width", blanket.width_m), ("length", blanket.length_m))
    )
    most = Derived("side of the cone", lay.side_m, "m", basis="from the head's face to the foot")
    return [
        Derived(
            "tent_pieces",
            lay.pieces,
            "pieces",
            formula="(across + along) x end to end + collar",
            inputs=tuple(counts),
            source="fewest that leave nothing of the cone and its foot open",
            basis=blanket.id,
        ),
        Derived("tent_top", 2 * lay.top_m, "m", source="the head's face, with its slack", basis="inside"),
        foot,
        Derived("tent_high", lay.high_m, "m", source="head's face to below film and stop, with its slack"),
        Derived(
            "tent_up",
            lay.up_m,
            "m",
            formula="(length + (end to end - 1) x length x (1 - lap) - foot) / 2, the side at most",
            inputs=(length, counts[2], LAP, foot.named(), most),
            source=GEOMETRY,
            basis="how far the pieces from below come up",
        ),
        Derived(
            "tent_gap",
            lay.gap_m,
            "m",
            formula="pi / 2 x foot - (width + (across - 1) x width x (1 - lap)), 0 at least",
            inputs=(foot.named(), width, counts[0], LAP),
            source=GEOMETRY,
            basis="what the pieces across leave open of the foot's circle at each end",
        ),
        Derived(
            "tent_collar_down",
            lay.down_m,
            "m",
            formula="width + (rows - 1) x width x (1 - lap), the side at most; 0 without rows",
            inputs=(width, Derived("rows", lay.rows, "1"), LAP, most),
            source=GEOMETRY,
            basis="how far the collar comes down from the head's face",
        ),
    ]


def _bearer(order: Order, weld: Weld, c: Candidate, s: Shielding, b: Bearer) -> list[Derived]:
    name = plain_name(b.kind)
    head_kg = next(h.mass_kg for h in order.heads if h.id == c.head)
    head, wrap = Derived("head", head_kg, "kg", source=KIT), Derived("wrap", wrap_kg(s), "kg", source=KIT)
    if b.kind == "tent frame":
        parts: tuple[Derived, ...] = (wrap,)
    elif b.kind == "hood strap":
        parts = (
            head,
            Derived("hood", b.load_kg - head_kg, "kg", formula="its pieces x mass of a piece", source=KIT),
        )
    else:
        parts = (wrap, head)
    if b.own_kg:
        parts += (Derived("the spool itself", b.own_kg, "kg", source="its sizes, metal and contents"),)
    load = Derived(
        f"{name}_load",
        b.load_kg,
        "kg",
        formula=" + ".join(p.name for p in parts),
        inputs=parts,
        source=STATICS,
        basis=f"on all of it; {b.held.id} of the kit bears it" if b.held else f"kit: {b.lacks}",
    )
    found = [load]
    left = left_on_legs_kg(order, c, s)
    if b.kind == "tent frame" and left is not None:
        legs = next(g for g in order.kit.legs if g.id == c.legs)
        stop = math.fsum(i.mass_kg for i in s.items if i.what.startswith("stop"))
        inputs = tuple(
            Derived(what, kg, "kg", source=KIT)
            for what, kg in (("legs carry", legs.carries_kg), ("head", head_kg), ("stop", stop))
        )
        formula = "legs carry - head - stop, 0 at least"
        found.append(Derived("legs_left", left, "kg", formula=formula, inputs=inputs, source=KIT))
    if b.each_kg != b.load_kg:
        at = tuple(
            Derived(f"saddle {n}", x, "m", basis="from the weld") for n, x in enumerate(b.at_m, start=1)
        )
        hung = tuple(
            Derived(f"mass {n}", kg, "kg", inputs=(Derived("hangs at", x, "m", basis="from the weld"),))
            for n, (kg, x) in enumerate(b.hung, start=1)
        )
        formula = "sum of mass x distance from the other saddle / distance between them, the larger"
        inputs = (load.named(), *at, *hung)
        found.append(Derived(f"{name}_each", b.each_kg, "kg", formula=formula, inputs=inputs, source=STATICS))
    for n, x in enumerate(b.at_m, start=1):
        place = f"{name}_at" if len(b.at_m) == 1 else f"{name}_{n}_at"
        found.append(
            Derived(
                place,
                x,
                "m",
                source=GEOMETRY,
                basis="its middle from the weld along the pipe, + to the right",
            )
        )
    for n, h in enumerate(b.heights_m, start=1):
        what = "saddle"
        if b.kind == "tent frame":
            what = "bars as high as the tent's upper edge and the ties of its floor ask in exposure"
        found.append(
            Derived(f"{name}_{n}_height", h, "m", source=GEOMETRY, basis=f"over the floor, {what} {n}")
        )
    if b.opening_m is not None:
        clear = Derived("clear", CLEAR_M, "m", basis="on each side, our choice")
        for which, wide in zip(("along", "across"), b.opening_m, strict=True):
            tent = Derived("tent", wide - 2 * CLEAR_M, "m", basis="its cloth included, over all exposures")
            formula = "tent + 2 x clear"
            found.append(
                Derived(f"{name}_{which}", wide, "m", formula=formula, inputs=(tent, clear), source=GEOMETRY)
            )
    if b.length_m:
        turn = Derived("once round head, hood and pipe", b.length_m - STRAP_OVER_M, "m", source=GEOMETRY)
        over = Derived("to close it", STRAP_OVER_M, "m", basis="our choice")
        formula = "once round head, hood and pipe + to close it"
        found.append(Derived(f"{name}_length", b.length_m, "m", formula=formula, inputs=(turn, over)))
    return found
