"""The build sheet of one weld: page 1 is the set-up, page 2 why it is so."""

from __future__ import annotations

import math
from typing import Any

from halflayer.cautions import ALWAYS, of_stopped
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.scene.build import Built, build_scene
from halflayer.sheet import (
    beam_points,
    crew_reading,
    floor_points,
    go,
    home_witness,
    lost_words,
    low_readings,
    meter,
    near_turn_back,
    only_if,
    stand_off,
    still_out_rows,
    survey,
)
from halflayer.sheet.barrier_words import both_kinds
from halflayer.sheet.content import Sheet, agreements_in_words, moment, span
from halflayer.sheet.covers_laid import as_laid
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.film_picture import no_margin
from halflayer.sheet.first_film import first_row
from halflayer.sheet.head_place import by_dose, checked, close_words
from halflayer.sheet.naming import count, way
from halflayer.sheet.overridden import overrides
from halflayer.sheet.own_lines import with_own_lines
from halflayer.sheet.passed_on import factor_of
from halflayer.sheet.points_of_weld import first_shot, points_of, ropes_of, sequence_of
from halflayer.sheet.qr import record_qr
from halflayer.sheet.second_page import back_page
from halflayer.sheet.sectors import fine_clock
from halflayer.sheet.settings import by_id, numbered, settings
from halflayer.sheet.setup_drawing import setup_drawing
from halflayer.sheet.subject import Subject
from halflayer.sheet.travel import told_by_table
from halflayer.sheet.typeface import text_width
from halflayer.shielding.kit import blanket_kind
from halflayer.shielding.meter_range import under_Sv_s
from halflayer.shielding.resets import openings
from halflayer.shielding.rope_readings import behind
from halflayer.shielding.survey_points import due, is_barrier
from halflayer.shielding.walls import through_ways

CAUTION_MM = 2.65  # smallest type for cautions on page 1 (7.5 pt)
CAUTION_LINES_MM = 3.8 * 186.0 - 50.0  # what its room holds at that size, less line ends and `MORE`
FULL_ROWS = 7  # of either half of the survey's table, for which page 1 is measured
GO_MM = 12.5  # the line that says go or do not go, less what the survey's heading gave up for it
DO_MOST = 8  # lines of what is done first; a drawing made smaller still could not be read
NARROWER_MM = 10.0  # that the drawing gives the settings beside it where the list is longer: by eye
ON_ITS_WAY_MM = 4.6  # the line of the barrier while the source travels, taken from the drawing
MORE = "more cautions further on"  # the sheet that has them is printed in its place
FIRST_CAUTION = (
    "The meter decides, not this sheet: barriers stand where the meter says. At a turn-back reading the source goes "
    "home, nobody goes on, and shield and beam are checked."
)


def weld_sheet(
    plan: Plan, order: Order, w: WeldPlan, file: str, show: Show, *, drawing_mm: tuple[float, float]
) -> Sheet:
    """The sheet of a weld that has a plan."""
    weld = order.weld(w.weld)
    assert w.chosen is not None
    first = go.first_of_all(order, w, show, stand_off.words(plan, order, w, show))
    listed = go.lines(first)
    more_mm = go.DO_LINE_MM * min(listed, DO_MOST)
    way_mm = ON_ITS_WAY_MM if survey.barrier_on_the_way(w, show) else 0.0
    way_mm += floor_points.room_mm(order, w, show) + GO_MM
    phone = (
        drawing_mm[0] < 100.0
    )  # its page is as long as what stands on it: no words take the drawing's room
    full_mm = drawing_mm[1]
    if not phone:
        wide_mm = drawing_mm[0] - (NARROWER_MM if listed > DO_MOST else 0.0)
        drawing_mm = (wide_mm, full_mm - more_mm - way_mm)
    built = _built(order, weld, w)
    data: dict[str, Any] = heading(plan, order, weld, w, show)
    data["drawing"] = None
    if built is not None and w.scene is not None and w.shielding is not None:
        fitting = w.shielding.fitting
        scene = as_laid(weld, w.scene, blanket_kind(order, fitting))
        s = Subject(order, weld, w.chosen, fitting, built, scene, show)
        drawing = setup_drawing(s, width_mm=drawing_mm[0], height_mm=drawing_mm[1])
        data["drawing"] = drawing.svg
        data["scale"] = drawing.stated
    data["settings"] = numbered(
        [
            *settings(
                order,
                weld,
                w.chosen,
                w.exposure,
                w.shielding,
                built,
                show,
                trial=bool(w.budget and w.budget.trial),
                factor_of=factor_of(plan, w),
                shot=first_shot(order, w),
            ),
            *first_row(plan, order, w, show),
        ]
    )
    off_m = stand_off.keep_m(plan, order, w)
    data["survey"] = _survey(order, weld, w, show) | {"closed": home_witness.line(order, w, show, off_m)}
    rows = len(data["survey"]["rows"])
    front, rest = _cautions(plan, order, weld, w, show, rows=rows)
    data["go"], data["first"] = go.go(order, w, show), first
    data["cautions"], data["more"] = front, MORE
    narrow = {"map_wide_mm": (drawing_mm[0],)} if phone else {}
    data["back"] = back_page(
        plan, order, weld, w, show, built=built, map_mm=52.0 if full_mm > 155.0 else 44.0, **narrow
    )
    data["back"]["cautions"] = rest
    data["back"]["until"] = only_if.in_full(w, show)
    data["counted"] = lost_words.counted(order, w)
    data["main_width_mm"], data["main_height_mm"] = drawing_mm
    return Sheet(file, "weld", f"{order.order} {weld.id}", plan.made_at, data)


def _spare_mm(rows: int, w: WeldPlan) -> float:
    """What a short table of the survey leaves on page 1; below 0 what a long one takes beyond the drawing's part."""
    half = (rows + 1) // 2
    over = max(0, half - FULL_ROWS - floor_points.due_rows(w))
    return (max(0, FULL_ROWS - half) - over) * floor_points.ROW_MM


def _cautions(
    plan: Plan, order: Order, weld: Weld, w: WeldPlan, show: Show, *, rows: int
) -> tuple[list[str], list[str]]:
    """Cautions for page 1, as many as can be read there, and those that go on to page 2.

    `rows` of the survey: fewer leave more room.
    """
    first, *more = w.cautions or (FIRST_CAUTION,)
    # A rule that a person set aside comes before everything that others are warned of.
    texts = [first, *(f"RULE SET ASIDE: {o['text']}" for o in overrides(w, show)), *more]
    texts[1:1] = [
        *([close] if (close := _close(order, weld, w, show)) else []),
        *([bare] if (bare := no_margin(w.radiographs[0] if w.radiographs else None)) else []),
        *(
            [fine]
            if (fine := fine_clock(order, weld, w.chosen, w.exposure.coverage if w.exposure else None, show))
            else []
        ),
        *([far] if (far := near_turn_back.words(order, w, show)) else []),
        *([own] if (own := crew_reading.words(order, w, show)) else []),
        *(f"LIMIT BREAKS, {text}." for _, text in still_out_rows.warnings(plan, show, weld.id)),
    ]
    told = [f for f in w.findings if f.level == "warn" and not told_by_table(f)]
    # What changes how the weld is shot comes before the general words: a time too short to survey in.
    texts[1:1] = [f.text for f in told if "too short to time" in f.text or "urvey shot" in f.text]
    texts += [
        f.text for f in told if not only_if.told_by_condition(w, f) and not lost_words.told_by_check(f.text)
    ]
    if weld.note:
        texts.append(f"Note: {weld.note}")
    checked = bool(lost_words.check_words(order, w, show))
    texts = [
        t for t in dict.fromkeys(texts) if not _told_behind(t, w) and not (checked and lost_words.general(t))
    ]
    iqi = w.chosen.iqi if w.chosen else None
    texts = [show.converted(agreements_in_words(t, iqi)) for t in texts]
    # What to do at a turn-back reading comes before all that warns of less: those that every weld has stay here.
    kept = [show.converted(c) for c in ALWAYS if show.converted(c) in texts]
    texts = [*kept, *(t for t in texts if t not in kept)] if kept[:1] == texts[:1] else texts
    front: list[str] = []
    spare = _spare_mm(rows, w) / 3.4  # lines; what is taken away is no whole number of them
    room = CAUTION_LINES_MM + (spare if spare < 0.0 else math.floor(spare)) * 186.0
    for n, text in enumerate(texts):
        room -= text_width(text, CAUTION_MM, bold=n == 0) + 2.0
        if n >= max(1, len(kept)) and room < 0:
            return [*front, MORE], texts[n:]
        front.append(text)
    return front, []


def _close(order: Order, weld: Weld, w: WeldPlan, show: Show) -> str:
    return close_words(order, weld, w.chosen, show, by_dose(order, w), w.exposure, told=checked(w))


def _told_behind(caution: str, w: WeldPlan) -> bool:
    """True for what changes nothing that a crew does and stands behind page 1 in full in another place.

    Agreements, with who signed them, are the inspector's; the table of doses marks every figure that is not reliable.
    """
    if caution.startswith("By agreement only"):
        return w.chosen is not None
    if any(caution.startswith(f"dose rate on {f.floor} is an estimate") for f in floor_points.pressing(w)):
        return True  # its row of the survey says so, with what to expect
    if any(
        f.ok is False and caution.startswith(f"{f.floor}, {f.where}: up to ")
        for f in floor_points.pressing(w)
    ):
        return True  # so does the line under the survey, with who reads what in its place
    return w.shielding is not None and "are not known reliably: they are" in caution


def _built(order: Order, weld: Weld, w: WeldPlan) -> Built | None:
    if w.chosen is None or w.shielding is None or not w.chosen.shots:
        return None
    return build_scene(order, weld, w.chosen, w.chosen.shots[0], w.shielding.fitting)


def heading(plan: Plan, order: Order, weld: Weld, w: WeldPlan, show: Show) -> dict[str, Any]:
    """What the title strip and the running head carry."""
    c = w.chosen
    bits = [f"{show.pipe(weld.pipe.od, weld.pipe.wall)} {weld.pipe.material}"]
    cap = show.drawn(weld.cap.width_m, weld.cap.height_m, exact=True)
    bits.append(f"cap {cap}, root {show.drawn(weld.cap.root_m, exact=True)}")
    if weld.contents.material.lower() != "air":
        bits.append(f"filled with {weld.contents.material}")
    if weld.insulation:
        off = weld.insulation.removed_m
        at = "on at the weld" if off is None else f"off over {show.drawn(off)} at the weld"
        bits.append(f"{weld.insulation.material} {show.drawn(weld.insulation.thickness_m)}, {at}")
    at = show.converted(f"site x {weld.at[0]:g} m, y {weld.at[1]:g} m")
    bits.append(f"{weld.runs}, {at}, {show.value(weld.height_m, 'length')} up")
    proved = ""
    if w.shielding is not None:
        proved = "dose proved to a target error" if w.shielding.proved else "dose planned, not proved"
    return {
        "weld": weld.id,
        "order": order.order,
        "order_title": order.title,
        "revision": order.revision,
        "site": order.site.name + (f", {order.site.area}" if order.site.area else ""),
        "adviser": order.site.adviser,
        "shift": _shift(plan, order, w),
        "pipe": "; ".join(bits),
        "technique": way(c) if c else "no technique",
        "code": order.code_words(weld),
        "status": w.status,
        "proved": proved,
        "only_if": only_if.in_short(w),
        "content": plan.content,
        "version": plan.version,
        "made_at": moment(plan.made_at),
        "qr": record_qr(order.order, order.revision, weld.id, plan.content),
        "quantity": survey.QUANTITY,
    }


def _shift(plan: Plan, order: Order, w: WeldPlan) -> str:
    """When the weld is shot; of one that the schedule leaves out only the moment that its figures are for."""
    if w.status == "stopped":
        return f"not exposed; planned for {span(order.shift.starts, order.shift.ends)}"
    if w.status == "ready" and w.weld not in {k.weld for k in in_shift(plan)}:
        return f"not in this shift; planned as if on {moment(order.shift.starts)}"
    return span(order.shift.starts, order.shift.ends)


def capital(words: str) -> str:
    """The words as a sentence begins."""
    return words[:1].upper() + words[1:]


def _survey(order: Order, weld: Weld, w: WeldPlan, show: Show) -> dict[str, Any]:
    out: dict[str, Any] = {
        "rows": [],
        "pressing": "",
        "more": 0,
        "floor_points": "",
        **both_kinds(order, w, show),
        "barrier_way": survey.barrier_on_the_way(w, show),
        "kept_when": survey.kept_when(w, show),
        "rope_reading": meter.rope_reading(order, show, w),
        "meter_short": meter.in_short(order),
        "meter": capital(meter.one_rule(order)),
        "low": low_readings.words(order, show),
        "shot_first": 1,
    }
    if w.shielding is not None:
        line = w.safety.contour if w.safety else None
        points, under, shot = points_of(order, w), under_Sv_s(order), first_shot(order, w)
        read = survey.Where(
            ropes_of(order, w),
            {p.name: behind(order, weld, p, line) for p in points.front if is_barrier(p)},
            {
                p.name: ways[0].kind
                for p in points.front
                if not is_barrier(p) and (ways := through_ways(order, weld, p.at))
            },
        )
        rows = survey.rows(weld, w.shielding, points, show, line, read, under, order, shot)
        out["rows"] = with_own_lines(order, w, rows[: len(points.front)], show)
        floors = floor_points.point_rows(order, weld, w, show)
        out["rows"] += [*floors, *beam_points.rows(order, w, show)]
        out["pressing"] = survey.pressing(
            points,
            w.exposure.first_survey if w.exposure else None,
            [f["n"] for f in floors if f["turn_back"] != floor_points.CLOSED],
            due(weld, points, w.safety.lost if w.safety else None),
            show,
            opened=bool(w.exposure and openings(order, w.exposure, w.shielding.items)),
            sequence=sequence_of(order, w),
        )
        out["shot_first"] = shot
        out["floor_points"] = floor_points.words(order, w, show)
        out["more"] = len(points.rest) + len(points.brief)
    return out


def stopped_sheet(plan: Plan, order: Order, w: WeldPlan, file: str, show: Show) -> Sheet:
    """The sheet of a weld without a plan: why, what would lift it, and what is known. It carries no drawing."""
    weld = order.weld(w.weld)
    stops = [f for f in w.findings if f.level == "stop"]
    data = heading(plan, order, weld, w, show)
    data["reasons"] = [{"text": show.converted(f.text), "source": f.source} for f in stops]
    if not stops:
        data["reasons"] = [{"text": "The plan gives no reason.", "source": ""}]
    relax: list[str] = []
    for f in stops:
        relax += [r for r in f.relax if r not in relax]
    data["relax"] = [show.converted(r) for r in relax]
    data["note"] = weld.note or ""
    # What is done at an exposure is none of a weld's that has none.
    data["cautions"] = [agreements_in_words(c) for c in of_stopped(w.cautions)]
    data["known"] = _known(order, weld, w, show)
    data["back"] = back_page(plan, order, weld, w, show, built=None)
    return Sheet(file, "stopped", f"{order.order} {weld.id}", plan.made_at, data)


def _known(order: Order, weld: Weld, w: WeldPlan, show: Show) -> list[dict[str, str]]:
    """What was reached before the plan stopped, `not computed` for the rest; no time, so that nobody exposes by one."""
    barrier, _ = survey.barrier(w.shielding, show)
    shield = NOT_COMPUTED
    if w.shielding is not None:
        f = w.shielding.fitting
        shield = f"{count(f.plates, 'plate')}, {count(f.layers, 'layer')}, not accepted"
    rows = [
        ("candidates looked at", str(len(w.technique.candidates))),
        ("allowed by the code", str(len(w.technique.admissible))),
        ("chosen", way(w.chosen) if w.chosen else "none"),
        ("stop and layers", shield),
        ("barrier distance", barrier),
        ("weld cap", show.drawn(weld.cap.width_m, weld.cap.height_m, exact=True) + " wide × high"),
        ("left, right", f"{_neighbour(weld.left, show)}; {_neighbour(weld.right, show)}"),
    ]
    if w.chosen is not None and (source := by_id(order.sources, w.chosen.source)):
        rows.append(("source", f"{source.id}, {source.nuclide}"))
    return [{"name": n, "value": v} for n, v in rows]


def _neighbour(n: Any, show: Show) -> str:
    return f"{n.kind} at {show.drawn(n.distance_m)}"
