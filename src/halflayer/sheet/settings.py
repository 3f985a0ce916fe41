"""The settings of a set-up in the order in which hands need them: clamp to time, each with its figure and a note."""

from __future__ import annotations

import math
from typing import Any

from halflayer.exposure.budget import sheet_lap_m, sheets_for
from halflayer.exposure.judged import end_markers, sectors
from halflayer.exposure.result import Exposure
from halflayer.order.equipment import FLAT_FILM, ON_A_STAND, STRAPPED, Aperture, Film, Head
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.build import Built
from halflayer.scene.solids import Box
from halflayer.scene.stop import StopPiece, stop_piece
from halflayer.sheet import plate_holder
from halflayer.sheet.bearer_words import in_brief
from halflayer.sheet.content import relieved
from halflayer.sheet.covers_laid import covers_row
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.held_words import empty_before, empty_first, film_held, held_by, put_in, spread_by
from halflayer.sheet.kit_gear import opened_with
from halflayer.sheet.lap_markers import numbers_of, numbers_words
from halflayer.sheet.letters_place import by_light, in_lead
from halflayer.sheet.naming import count
from halflayer.sheet.shroud_parts import parts_at_axis
from halflayer.sheet.stand_rows import Row, lean_row, middle_words, on_bar, stand_rows
from halflayer.sheet.stand_rows import row as _row
from halflayer.sheet.time_row import time_row
from halflayer.sheet.tube_rows import bare_supports, laid, source_tube, supports, tube_steps, tube_way_words
from halflayer.sheet.tube_side import end_of_tube
from halflayer.sheet.typeface import figure_em
from halflayer.sheet.wire_name import wire
from halflayer.shielding.bearers import Bearer, bearers
from halflayer.shielding.resets import openings
from halflayer.shielding.result import Shielding
from halflayer.technique.result import Candidate

ANEW = "; off and laid anew for each shot"
FAR_SIDE = "the far side of the pipe from the source"


def by_id(items: tuple[Any, ...], wanted: str | None) -> Any:
    """The item of that id, None when there is none."""
    return next((i for i in items if i.id == wanted), None)


def settings(
    order: Order,
    weld: Weld,
    chosen: Candidate,
    exposure: Exposure | None,
    shielding: Shielding | None,
    built: Built | None,
    show: Show,
    *,
    trial: bool = False,
    factor_of: str = "",
    shot: int = 1,
) -> list[Row]:
    """Rows of label, value, note and size: `time` largest, then `big` for plates and layers, else `plain`.

    `factor_of`: the weld whose first film corrects the times; `shot`: the exposure that is shot first.
    """
    hung = chosen.arrangement in FLAT_FILM and plate_holder.plates_of(order, shielding) is not None
    pins = plate_holder.pins_y_m(built)
    stand = stand_rows(order, weld, chosen, show, pins_m=pins, plates=hung, shot=shot)
    head = by_id(order.heads, chosen.head)
    # Legs stand as they lean and the opening is in its head before that goes on.
    heads = [lean_row(weld, chosen, show)] if chosen.arrangement in ON_A_STAND else []
    if chosen.aperture:
        opening = by_id(head.apertures, chosen.aperture) if head else None
        heads.append(_aperture(opening, chosen.aperture, show))
    heads.append(_head(order, chosen, head, exposure, show, carried=on_bar(order, chosen, pins, show)))
    parts = _parts(
        order,
        weld,
        chosen,
        head,
        show,
        plates=bool(shielding is None or shielding.fitting.plates),
        covered=bool(shielding and shielding.fitting.layers),
        off_m=plate_holder.off_pipe_m(weld, built),
    )
    film = _film(order, weld, chosen, built, exposure, show)
    marked = (
        chosen.arrangement == "bore" and chosen.iqi is not None and "film side" not in chosen.iqi.position
    )
    iqi = _iqi(order, weld, chosen, exposure, letters=not marked)
    if marked:  # the sleeve hides them before the IQIs go in
        film["note"] += f"; number tape under them; {_letters(order, weld, chosen, exposure)}"
        if any(b.lifted for b in bearers(order, weld, chosen, shielding)):
            film["note"] = f"spool on bar and hoist: “What bears it”; {film['note']}"
    shield = _shield(order, weld, chosen, shielding, built, show)
    if opened := bool(exposure and shielding and openings(order, exposure, shielding.items)):
        film["note"] = f"AFTER {_read_before(exposure)}: {film['note']}"
    elif exposure and exposure.first_survey and not exposure.first_survey.in_first:
        film["note"] = (
            f"AFTER {_read_before(exposure)} ({empty_before(order, chosen.detector)}): {film['note']}"
        )
    # An IQI on the film's side lies under the film.
    under = chosen.iqi is not None and "film side" in chosen.iqi.position
    both = [iqi, film] if under else [film, iqi]
    if chosen.arrangement == "bore":
        # Films and sleeve come first: the bar that bears the spool lies where source and IQI go.
        on_pipe = [*both, *shield] if under else [film, *shield, iqi]
        rows = [*on_pipe, *stand, *heads, *parts, *_covers(order, shielding, built)]
    elif chosen.shroud:
        # A shroud hides film and IQI, and legs and head go up over it.
        rows = [*stand[:1], *both, *parts, *stand[1:], *heads, *shield]
    elif chosen.arrangement in STRAPPED:
        # The straps of a head go over the film's back; no piece of the sleeve is passed round a guide tube.
        rows = [*both, *stand, *heads, *shield, *parts]
        props = tuple(b for b in bearers(order, weld, chosen, shielding) if _first(chosen, b))
        if props:  # what bears the pipe under all that is put on it
            rows[0]["note"] = f"before it {in_brief(props)}: “What bears it”; {rows[0]['note']}"
    else:
        rows = [*stand, *heads, *parts, *both, *shield]
    if opened:
        sheets = sheets_for(order, weld, chosen)
        first = empty_first(order, chosen.detector, rows.index(film) + 1, sheets=sheets)
        # What is opened for the film: the layers, else the shroud, whose row says how it is laid.
        lid = next((r for r in rows if r["label"] == "Shroud" and not shield[-1]["note"]), shield[-1])
        anew = ANEW * (lid is shield[-1])
        lid["note"] = "; ".join(filter(None, (lid["note"].removesuffix(ANEW), first))) + anew
    timed = time_row(order, weld, chosen, exposure, show, trial=trial, factor_of=factor_of, first=shot)
    return numbered([*rows, timed])


def _read_before(exposure: Exposure | None) -> str:
    """What is read with no film in before one goes in."""
    again = exposure is not None and exposure.read_again is not None
    return "the reading for each shot" if again else "the first survey"


def _first(c: Candidate, b: Bearer) -> bool:
    """Whether something bears the pipe before anything is put on it: props of a pipe that nothing lifts."""
    return c.arrangement in STRAPPED and b.kind == "pipe prop" and not b.lifted


def numbered(rows: list[Row]) -> list[Row]:
    """The rows with their number in working order and the width of their figure."""
    for n, row in enumerate(rows, start=1):
        row["n"] = n
        row["em"] = figure_em(row["value"], unit=0.5 if row["size"] == "time" else 0.66)
    return rows


def _parts(
    order: Order,
    weld: Weld,
    c: Candidate,
    head: Head | None,
    show: Show,
    *,
    plates: bool,
    covered: bool,
    off_m: float | None,
) -> list[Row]:
    """Shroud, guide tube and the way of a source that leaves its container, where the set-up has them.

    `off_m`: how far its plates stand off the pipe.
    """
    found = {d.name: d for d in c.settings}
    rows = []
    if "shroud" in found and "stop_gap" in found:
        gap = show.drawn(float(found["stop_gap"].value or 0.0))
        behind = f"{show.drawn(off_m)} off the pipe" if off_m else f"{gap} behind the film"
        foot = f"stop at its foot {behind}" if plates else f"no plates; its open foot {gap} behind the film"
        shroud = by_id(order.kit.shrouds, c.shroud)
        last = "; foot half once the head is on" if shroud is not None and parts_at_axis(shroud) else ""
        note = f"{found['shroud'].basis}; lid under the head's face, {foot}{last}"
        rows.append(_row("Shroud", str(found["shroud"].value), note))
    if "guide" in found and "guide_length" in found and "guide_travel" in found:
        length = show.of(found["guide_length"])
        told = bool(tube_steps(order, weld, c, show))
        way = laid(weld, found, float(found["guide_length"].value or 0.0), show, least=not told)
        tube = by_id(order.kit.guides, str(found["guide"].value))
        radius = tube.bend_radius_m if tube is not None else None
        bend = f"bends {show.drawn(radius)} or wider" if radius else "tightest bend: ask its maker"
        borne = supports(order, weld, c, show)
        when = "joined after the sleeve, before its hood; " if covered else ""
        note = f"{when}{length} long; {way}; {bend}{borne}"
        rows.append(_row("Guide tube", str(found["guide"].value), note))
    if head is not None and head.kind == "spider":
        note = f"the bare source is on its way that long, out and back; {tube_way_words(weld, show)}"
        if weld.guide_from is not None and covered:
            tube = source_tube(order, head.id, show)
            note += (
                f"; its tube{tube} goes in at {end_of_tube(weld)} through the cover, lapped close round it"
                f"{bare_supports(order, weld, head.id, show)}"
            )
        rows.append(_row("Way in", show.value(head.travel_s, "time"), note))
    return rows


def _head(
    order: Order, c: Candidate, head: Head | None, exposure: Exposure | None, show: Show, *, carried: str = ""
) -> Row:
    source = by_id(order.sources, c.source)
    nuclide = source.nuclide if source else ""
    activity = f"{show.of(exposure.activity)} at the shot" if exposure else f"activity {NOT_COMPUTED}"
    label = "Source" if head is not None and head.kind == "spider" else "Head"
    value = c.source if label == "Source" else c.head
    note = f"{nuclide}, {activity}"
    if label == "Source":
        return _row(label, value, note)
    opened = opened_with(order, c.head, show)
    return _row(label, value, f"{c.source}, {note}" + (f"; {opened}" if opened else "") + carried)


def _aperture(aperture: Aperture | None, name: str, show: Show) -> Row:
    note = ""
    if aperture is not None and aperture.half_angle_rad is not None:
        note = f"round, half angle {show.degrees(aperture.half_angle_rad)}"
    elif (
        aperture is not None and aperture.half_along_rad is not None and aperture.half_across_rad is not None
    ):
        note = (
            f"half angles {show.degrees(aperture.half_along_rad)} along, "
            f"{show.degrees(aperture.half_across_rad)} across the pipe"
        )
    return _row("Aperture", name, note)


def _film(
    order: Order, weld: Weld, c: Candidate, built: Built | None, exposure: Exposure | None, show: Show
) -> Row:
    film = by_id(order.all_detectors, c.detector)
    if film is None:
        return _row("Film", c.detector)
    sheet = (built.film.width_m, built.film.length_m) if built and c.arrangement != "bore" else film.sheet
    lay = {
        "strap": "round the far side",
        "strap-guided": "round the far side",
        "bore": "all round the pipe",
        "outside": "inside the pipe at the source",
    }
    wound = c.arrangement in STRAPPED or c.arrangement in ("bore", "outside")
    note = f"{show.drawn(*sheet)} ({'along × round' if wound else 'along × across'}), "
    note += lay.get(c.arrangement) or _flat(weld, c)
    note += film_held(order, c.detector)
    if c.arrangement == "outside":
        note += f", pressed to the wall{held_by(order, 'strut', ' by')} across the bore, pad behind"
        spread = show.converted(spread_by(order))
        how = spread or "spread by a rod that fits it (bring, try first)"
        first = c.shots[0].source_clock_rad if c.shots else 0.0
        note += put_in(weld, show, how=how, at_a_clock=first, turned=True) or (
            f"; {spread}" if spread else ""
        )
    else:
        # In working order: what bears a flat film lies behind it before both are tied.
        if c.arrangement in FLAT_FILM:
            note += held_by(order, "film board", ", on")
        note += f", tied on{held_by(order, 'ties', ' with', bring=False)}"
    if c.arrangement in FLAT_FILM:
        note += middle_words(weld, built.film.centre[0], show) if built is not None else ""
    if c.arrangement == "bore":
        number = count(sheets_for(order, weld, c), "sheet")
        note = f"{number} of {note}, lapping {laid_lap(order, weld, c, show)} each"
    s = film.screens
    note += f"; {s.material} screens {show.foil(s.front_m)} front, {show.foil(s.back_m)} back"
    if s.backing_lead_m > 0:
        lapped = c.arrangement == "bore" and sheets_for(order, weld, c) > 1
        # Lead between two sheets of a lap would hide the tape's numbers on the outer one: our choice.
        note += f", {show.foil(s.backing_lead_m)} lead behind"
        note += ", in a lap only behind the outer end, the clockwise one" * lapped
    second = exposure.shots[0].second if exposure and exposure.shots else None
    if second is not None:
        note = f"both in one holder; each {note}"
        return _row("Two films", f"{c.detector} + {second.detector}", note)
    return _row("Film" if isinstance(film, Film) else film.kind.capitalize(), c.detector, note)


def laid_lap(order: Order, weld: Weld, c: Candidate, show: Show) -> str:
    """The lap of sheets laid evenly all round, in whole millimetres and never more than there is."""
    return show.drawn(math.floor(sheet_lap_m(order, weld, c) * 1000 + 1e-6) / 1000)


def _flat(weld: Weld, c: Candidate) -> str:
    """Where a flat film lies: under the pipe only where every source stands above it."""
    above = weld.runs == "horizontal" and all(math.cos(s.source_clock_rad) > 1 - 1e-9 for s in c.shots)
    return "flat under the pipe" if above else f"flat on {FAR_SIDE}"


def _stop_middle(weld: Weld, built: Built | None, show: Show) -> str:
    """Where the middle of the plates lies along the pipe."""
    stops = [s for s in built.scene.solids if isinstance(s, Box) and s.name == "stop"] if built else []
    return middle_words(weld, stops[0].centre[0], show) if stops else ""


def _letters(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None) -> str:
    """What lies in lead on or beside the film, and what is written on it by light where the beam has no room."""
    told = f"{in_lead(order, weld, c, exposure)} in lead"
    if by_light(order, weld, c, exposure):
        told += ", the rest by light or needle"
    markers = f"lead B behind the film; {told}"
    if n := end_markers(c, sectors(c, exposure.coverage if exposure else None)):
        markers += f"; {n} end markers: marking plan"
    if words := numbers_words(numbers_of(c, exposure)):
        markers += f"; {words}: marking plan"
    return markers


def _iqi(
    order: Order, weld: Weld, c: Candidate, exposure: Exposure | None = None, *, letters: bool = True
) -> Row:
    markers = _letters(order, weld, c, exposure) if letters else ""
    if c.iqi is None:
        return _row("IQI", NOT_COMPUTED, markers)
    piece = count(c.iqi.pieces, "piece")
    if c.iqi.further:
        own = "one for each film" if c.density_variation is None else f"{len(c.iqi.further)} of them further"
        piece += f" for each exposure, {own}: see the marking plan"
    also = f" (or {', '.join(e.split(' (')[0] for e in c.iqi.equivalents)})" if c.iqi.equivalents else ""
    letter = "; lead F beside it" if "film side" in c.iqi.position else ""
    must = f"{wire(c.iqi.required)}{relieved(order, c.iqi)} must show{also}"
    note = f"{piece}, {c.iqi.position}{letter}; {must}" + (f"; {markers}" if markers else "")
    return _row("IQI", c.iqi.designation, note)


def _shield(
    order: Order, weld: Weld, c: Candidate, s: Shielding | None, built: Built | None, show: Show
) -> list[Row]:
    stand = c.arrangement in ON_A_STAND
    if s is None:
        rows = [_row("Plates", NOT_COMPUTED, size="big")] if stand else []
        return [*rows, _row("Layers", NOT_COMPUTED, size="big")]
    rows = []
    if stand:
        plate = by_id(order.kit.plates, s.fitting.plate)
        folded = stop_piece(order, s.fitting.plate) if plate is None else None
        if folded is not None and s.fitting.plates:
            note = (
                f"{folded.id}, {count(folded.pieces(s.fitting.plates), 'piece')} folded in {folded.per_piece} to "
                f"{show.drawn(folded.along_m, folded.across_m)} (along × across): {show.foil(s.stop_thickness_m)} in "
                "all, laid behind the film"
            )
            if off := plate_holder.off_pipe_m(weld, built):
                note += f", {show.drawn(off)} off the pipe"
            note += _stop_middle(weld, built, show)
            note += f", tied on{held_by(order, 'ties', ' with', bring=False)}"
            rows.append(_row("Stop", count(s.fitting.plates, "layer"), note, "big"))
        elif plate is None or s.fitting.plates == 0:
            rows.append(_row("Plates", "none", size="big"))
        else:
            off = plate_holder.off_pipe_m(weld, built)
            far = f"on {FAR_SIDE}" if c.arrangement == "outside" else "behind the film"
            gap = show.drawn(order.kit.stop_gap_m)
            under = f"{far}, {show.drawn(off)} off the pipe" if off else f"{gap} behind the film"
            note = (
                f"{plate.material}, {plate.id}, {show.drawn(plate.along_m, plate.across_m)}{_way_round(plate)}: "
                f"{show.foil(s.stop_thickness_m)} in all, {'at the foot of the shroud' if c.shroud else under}"
            )
            note += _stop_middle(weld, built, show)
            note += plate_holder.words(order, weld, c, built, s, show)
            rows.append(_row("Plates", f"{s.fitting.plates} × {show.foil(plate.thickness_m)}", note, "big"))
    blanket = by_id(order.kit.blankets, s.fitting.blanket)
    if blanket is None or s.fitting.layers == 0:
        rows.append(_row("Layers", "none", size="big"))
        return rows
    areal = show.value(blanket.areal_density_kg_m2, "areal_density")
    pieces = next((i.pieces for i in s.items if i.id == blanket.id), None)
    note = f"{blanket.id}, {areal}" + (f", {count(pieces, 'piece')} in all" if pieces else "")
    note += "".join(
        f" and {i.pieces} of {i.id}" for i in s.items if i.what == "blanket" and i.id != blanket.id
    )
    if built is not None:
        # Of a tent its size: its pieces are told, one by one, where it is drawn.
        size = (
            built.wrap.outline.partition("; each layer ")[0]
            .partition("; hood ")[0]
            .partition("; last of all ")[0]
        )
        for long_m in {one.along_m for one in built.wrap.layers}:  # as the drawing beside it has it
            size = size.replace(f"{long_m * 1000:.0f} mm long", f"{show.drawn(long_m)} long")
        note += f"; {show.converted(size)}: “How it is laid”"
    if borne := in_brief(tuple(b for b in bearers(order, weld, c, s) if not _first(c, b))):
        note += f"; {borne}: “What bears it”"
    if len(c.shots) > 1:
        note += ANEW
    rows.append(_row("Layers", count(s.fitting.layers, "layer"), note, "big"))
    return rows


def _covers(order: Order, s: Shielding | None, built: Built | None) -> list[Row]:
    """What closes the open ends of a spool, once everything else is in."""
    blanket = by_id(order.kit.blankets, s.fitting.blanket) if s else None
    told = covers_row(built, blanket, s.fitting.layers) if s and built and blanket else None
    return [_row("Covers", *told)] if told else []


def _way_round(plate: StopPiece) -> str:
    """Which side of a plate is which; a square one has no such."""
    return "" if abs(plate.along_m - plate.across_m) < 1e-6 else " (along × across)"
