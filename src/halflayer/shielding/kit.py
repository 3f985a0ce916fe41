"""What a fitting takes from the kit: pieces, masses, mounting time, and how far the stock goes."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace

from halflayer.exposure.budget import sheets_for
from halflayer.order.equipment import ON_A_STAND, Blanket, Film, Shroud, StopPlate
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.fitting import Fitting
from halflayer.scene.matter import order_material
from halflayer.scene.stop import StopPiece, folded_piece, plate_piece, smallest_blanket, stop_piece
from halflayer.scene.wrap import OVERLAP, Wrap
from halflayer.scene.wrap_layers import said, widths_for
from halflayer.shielding.result import Item
from halflayer.technique.result import Candidate

# Our choice: a kilogram carried to the weld and back counts as much as so many seconds of mounting.
CARRY_S_PER_KG = 6.0


def plate_mass_kg(order: Order, plate: StopPlate) -> float:
    """Mass of one stop plate [kg]."""
    density = order_material(order, plate.material).density_kg_m3
    return plate.along_m * plate.across_m * plate.thickness_m * density


def blanket_mass_kg(blanket: Blanket) -> float:
    """Mass of one blanket [kg], by its measured mass per area."""
    return blanket.width_m * blanket.length_m * blanket.areal_density_kg_m2


def plate_kind(order: Order, fitting: Fitting) -> StopPiece | None:
    """The layers of the stop of a fitting: plates, or small blankets folded."""
    return stop_piece(order, fitting.plate)


def blanket_kind(order: Order, fitting: Fitting) -> Blanket | None:
    """The blankets of a fitting."""
    return next((b for b in order.kit.blankets if b.id == fitting.blanket), None)


def shroud_kind(order: Order, ident: str | None) -> Shroud | None:
    """The shroud of that id; None without one."""
    return next((s for s in order.kit.shrouds if s.id == ident), None)


def plates_carried(order: Order, candidate: Candidate, plate: StopPiece) -> int:
    """How many plates of a kind stock and legs allow: the legs carry head, shroud and stop.

    Folded blankets hang on the pipe, not on the legs.
    """
    legs = next((g for g in order.kit.legs if g.id == candidate.legs), None)
    if legs is None or plate.folded:
        return plate.count
    head = next(h for h in order.heads if h.id == candidate.head)
    shroud = shroud_kind(order, candidate.shroud)
    left = legs.carries_kg - head.mass_kg - (shroud.mass_kg if shroud else 0.0)
    return max(0, min(plate.count, math.floor(left / plate.piece_kg + 1e-9)))


def kinds_to_compare(
    order: Order, candidate: Candidate
) -> tuple[tuple[StopPiece | None, Blanket | None], ...]:
    """Every pair of a stop kind and a wrap kind worth sizing for a candidate, the one with most in stock first.

    A stop stands only on a stand, its count cut to what the legs carry; leaning back it is made of the smallest
    blankets, folded, of which the wrap may leave a third where both are of one kind (our choice). A shroud
    takes the place of blankets. None in a pair: no such part. At least one pair.
    """
    stops: list[StopPiece | None] = [None]
    if candidate.arrangement == "lean-back":
        small = smallest_blanket(order)
        stops = [folded_piece(order, small) if small else None]
    elif candidate.arrangement in ON_A_STAND:
        kinds = [plate_piece(order, p) for p in order.kit.plates if p.count]
        stops = [replace(p, count=plates_carried(order, candidate, p)) for p in kinds] or [None]
    blankets: list[Blanket | None] = [None]
    if candidate.shroud is None:
        blankets = [b for b in order.kit.blankets if b.count] or [None]
    pairs = [_shared(s, b) for s in stops for b in blankets]

    def stock(pair: tuple[StopPiece | None, Blanket | None]) -> tuple[float, float]:
        stop, blanket = pair
        return (
            -stop.count * stop.thickness_m if stop else 0.0,
            -blanket.count * blanket_mass_kg(blanket) if blanket else 0.0,
        )

    return tuple(sorted(pairs, key=stock))


def _shared(stop: StopPiece | None, blanket: Blanket | None) -> tuple[StopPiece | None, Blanket | None]:
    """A stop and a wrap of the same blankets share the stock."""
    if stop is None or blanket is None or stop.id != blanket.id:
        return stop, blanket
    for_stop = blanket.count // 3
    return (
        replace(stop, count=for_stop * stop.per_piece),
        blanket.model_copy(update={"count": blanket.count - for_stop}),
    )


def pieces(order: Order, fitting: Fitting, wrap: Wrap) -> int:
    """Blankets of its own kind that the wrap of a fitting takes, large pieces in its patches left out."""
    blanket = blanket_kind(order, fitting)
    return wrap.pieces(fitting.layers) if blanket else 0


def taken(order: Order, fitting: Fitting, wrap: Wrap) -> tuple[tuple[Blanket, int], ...]:
    """Every kind of blanket that the wrap of a fitting takes, with its pieces: its own first, then large ones."""
    blanket = blanket_kind(order, fitting)
    if blanket is None or not fitting.layers:
        return ()
    counts = {blanket.id: pieces(order, fitting, wrap)}
    for patch in wrap.patches(fitting.layers):
        counts[patch.blanket] = counts.get(patch.blanket, 0) + patch.pieces
    return tuple((next(b for b in order.kit.blankets if b.id == i), n) for i, n in counts.items() if n)


def layers_in_stock(blanket: Blanket, wrap_of: Callable[[int], Wrap]) -> int:
    """Most layers that the stock of a kind allows; `wrap_of(n)` gives the wrap of n layers, longer for larger n.

    Large pieces need no look here: the wrap takes them only as far as their stock goes. A wound piece makes several
    layers: only the pieces count, never the layers.
    """
    n = 0
    while (more := wrap_of(n + 1)).layers and more.pieces(n + 1) <= blanket.count:
        n += 1
    return n


def beam_against_widths(order: Order, along_m: float) -> tuple[tuple[Blanket, int], ...]:
    """For each kind of blanket in stock how many widths side by side cover the beam along the pipe, widest first."""
    kinds = sorted((b for b in order.kit.blankets if b.count), key=lambda b: -b.width_m)
    return tuple((b, widths_for(along_m, b)) for b in kinds)


def added_mass_kg(order: Order, fitting: Fitting, wrap: Wrap) -> float:
    """Mass of plates, blankets and shroud of a fitting [kg]."""
    plate, shroud = plate_kind(order, fitting), shroud_kind(order, wrap.shroud)
    mass = shroud.mass_kg if shroud else 0.0
    mass += plate.mass_kg(fitting.plates) if plate else 0.0
    return mass + math.fsum(n * blanket_mass_kg(b) for b, n in taken(order, fitting, wrap))


def cost_s(order: Order, fitting: Fitting, wrap: Wrap) -> float:
    """What a fitting costs: mounting time plus carrying, in seconds of work."""
    plate, shroud = plate_kind(order, fitting), shroud_kind(order, wrap.shroud)
    time = shroud.mounting_s if shroud else 0.0
    time += fitting.plates * plate.mounting_s if plate else 0.0
    time += math.fsum(n * b.mounting_s for b, n in taken(order, fitting, wrap))
    return time + CARRY_S_PER_KG * added_mass_kg(order, fitting, wrap)


def items(order: Order, weld: Weld, candidate: Candidate, fitting: Fitting, wrap: Wrap) -> tuple[Item, ...]:
    """The kit list of one weld: head, stand, film, plates, blankets."""
    head = next(h for h in order.heads if h.id == candidate.head)
    film = next(d for d in order.all_detectors if d.id == candidate.detector)
    found = [
        Item(
            head.id,
            f"head with source {candidate.source}",
            1,
            head.mass_kg,
            f"aperture {candidate.aperture}" if candidate.aperture else "",
        )
    ]
    clamp = next((c for c in order.kit.clamps if c.id == candidate.clamp), None)
    if clamp:
        found.append(Item(clamp.id, "clamp", 1, clamp.mass_kg))
    legs = next((g for g in order.kit.legs if g.id == candidate.legs), None)
    if legs:
        found.append(Item(legs.id, "legs", 1, legs.mass_kg, f"hole {candidate.leg_hole}"))
    shroud = shroud_kind(order, candidate.shroud)
    if shroud:
        along, across = (s * 1000 for s in shroud.inner)
        form = "leaning" if shroud.form == "skewed" else shroud.form
        size = f"{form}, {along:g} x {across:g} mm inside, {shroud.length_m * 1000:g} mm long"
        wall = f"{shroud.wall_m * 1000:g} mm {shroud.material}"
        found.append(Item(shroud.id, "shroud", 1, shroud.mass_kg, f"{size}, {wall}"))
    guide = next((g for g in order.kit.guides if g.id == candidate.guide), None)
    if guide:
        note = f"{guide.length_m:g} m, {guide.wall_m * 1000:g} mm {guide.material}"
        found.append(Item(guide.id, "guide tube", 1, guide.mass_kg, note))
    w, length = (round(s * 1000) for s in film.sheet)
    front, back = film.screens.front_m * 1000, film.screens.back_m * 1000
    film_class = film.film_class if isinstance(film, Film) else film.kind
    note = f"{film_class}, {w} x {length} mm, screens {front:g}/{back:g} mm"
    found.append(
        Item(
            film.id,
            "film in its pack" if isinstance(film, Film) else film.kind,
            len(candidate.shots) * sheets_for(order, weld, candidate),
            0.0,
            note,
        )
    )
    plate = plate_kind(order, fitting)
    if plate and fitting.plates:
        along, across, deep = (s * 1000 for s in (plate.along_m, plate.across_m, plate.thickness_m))
        size = f"{along:g} x {across:g} x {deep:g} mm {plate.matter.name}"
        if plate.folded:
            told = f"{fitting.plates} layer{'s' * (fitting.plates != 1)}"
            size = f"{told} of {size}, each piece folded in {plate.per_piece}, under the film"
        pieces = plate.pieces(fitting.plates)
        found.append(Item(plate.id, plate.what, pieces, plate.mass_kg(fitting.plates), size))
    for blanket, n in taken(order, fitting, wrap):
        seams = (
            "wound on in turns, each piece where the one before it ends"
            if wrap.layers and wrap.layers[0].turn
            else "closing seams in turn left and right of the head"
        )
        many = "s" * (fitting.layers != 1)
        note = f"{fitting.layers} layer{many}, overlap {OVERLAP:.0%}, {seams}; {said(wrap.layers)}; {wrap.outline}"
        if blanket.id != fitting.blanket:
            layers = len(wrap.patches(fitting.layers))
            note = f"large pieces in {layers} of {fitting.layers} layers: on the far side and over the head"
        found.append(Item(blanket.id, "blanket", n, n * blanket_mass_kg(blanket), note))
    return tuple(found)
