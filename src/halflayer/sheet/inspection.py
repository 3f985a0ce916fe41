"""What an inspector checks of a weld before the first film, in one block: code, technique, film, IQI, density."""

from __future__ import annotations

import math

from halflayer.exposure.judged import least_lap_rad, sectors
from halflayer.exposure.result import Exposure
from halflayer.order.contract import Acceptance
from halflayer.order.equipment import Film
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.sheet.clause import checked_by, clause, within
from halflayer.sheet.content import agreement, relief_scope
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.film_picture import if_missing, no_margin, relief_words
from halflayer.sheet.first_film import label_of
from halflayer.sheet.lap_markers import OWN_ENDS, own_ends
from halflayer.sheet.letters_place import by_light
from halflayer.sheet.naming import count, way
from halflayer.sheet.reading import NOT_STATED, accepted_words
from halflayer.sheet.settings import by_id
from halflayer.sheet.testing_words import not_stated, testing_words
from halflayer.sheet.two_films_words import zone_densities
from halflayer.sheet.wire_name import wire, wires
from halflayer.technique import opening_check
from halflayer.technique.ask import overlap_asked, size_of_source
from halflayer.technique.asked_distance import least_by_reading_m
from halflayer.technique.choose import rules_for
from halflayer.technique.editions import figure_of, worked_from
from halflayer.technique.geometry import ROOT_SHARE, View
from halflayer.technique.result import Candidate, RuleVerdict
from halflayer.technique.rules import Answer
from halflayer.technique.words import fine_mm, mm

UNSHARPNESS = "geometric unsharpness"
FILM_RULES = ("film system class", "screens")
# Agreements on the range of the penetrated thickness, of which a sheet prints the weld's own.
OF_THICKNESS = ("se75-from-5mm", "ir192-from-10mm", "class-b-with-class-a-source-range")
TOLD = (*FILM_RULES, "density", "image quality indicator", "source to object distance", UNSHARPNESS)


def inspection_rows(order: Order, weld: Weld, w: WeldPlan, show: Show) -> list[list[str]]:
    """Rows of subject and words; each with what is asked, what is planned and where it stands."""
    c = w.chosen
    if c is None:
        return []
    rules = {r.rule: r for r in c.rules}
    code = order.code_of(weld)
    quick = w.radiographs[0] if w.radiographs else None
    rows = [
        (
            "code",
            f"{order.code_words(weld)}; procedure: {weld.procedure or order.procedure or NOT_STATED}",
        ),
        ("technique", _technique(c, order, weld, show)),
        ("source", _source(order, weld, c, show)),
        ("distances", _distances(c, rules, code, show, _size(order, weld, c)[1])),
        ("thickness", _thickness(c, weld, show, order.acceptance_of(weld))),
        ("film", _film(order, c, w.exposure, rules, code, show)),
        (
            "IQI",
            _iqi(c, weld, rules, code, show)
            + (
                f"; no margin predicted: missing, {if_missing(digital=quick.verdict.digital)}"
                if quick and no_margin(quick)
                else ""
            ),
        ),
        ("density", _density(c, rules, w.exposure, code, show)),
        ("coverage", _coverage(order, weld, c, w.exposure, show)),
        ("acceptance", f"{accepted_words(order, weld)}{_defective(order, w)}"),
        ("agreements", _agreements(order, c, show, w)),
        ("testing", testing_words(order, weld)),
        ("not stated", not_stated(order, weld)),
        ("to check", f"{worked_from(code)}; {checked_by(order)}"),
    ]
    return [[subject, words] for subject, words in rows if words]


def _defective(order: Order, w: WeldPlan) -> str:
    """Where it stands what follows where a weld is rejected; empty where nothing is read."""
    read = w.exposure is not None and bool(w.exposure.shots)
    return f"; rejected, repair: “{label_of(order, w)}”, last step" if read else ""


def _technique(c: Candidate, order: Order, weld: Weld, show: Show) -> str:
    figure = figure_of(order.code_of(weld), c.technique)
    clocks = "all round" if c.arrangement == "bore" else f"{count(len(c.shots), 'exposure')}"
    flat = (
        "round the pipe"
        if c.technique in ("DWSI contact", "SWSI panoramic")
        else "inside"
        if (c.technique == "SWSI outside")
        else "flat"
    )
    arranged = way(c).removeprefix(c.technique)
    return f"{c.technique} ({figure}){arranged}; {clocks}, film {flat}"


def _source(order: Order, weld: Weld, c: Candidate, show: Show) -> str:
    """The size that the code takes, which dimension it is, and what the strictest reading of it would ask."""
    one = by_id(order.sources, c.source)
    if one is None:
        return ""
    size, note = _size(order, weld, c)
    stated = show.drawn(one.diameter_m, one.length_m, exact=True)
    words = (
        f"{one.id}, {one.nuclide}, {stated} (diameter × length); d, the source's size: {note}, "
        f"{show.converted(fine_mm(size.value))} ({clause(size.source, order.code_of(weld))})"
    )
    _, by_diagonal = least_by_reading_m(one, c)
    if by_diagonal is None:
        return words
    diagonal = show.converted(fine_mm(math.hypot(one.diameter_m, one.length_m)))
    least = show.converted(mm(by_diagonal))
    asked = f"{words}; the code says no more of d (m): by the diagonal, {diagonal}, f ≥ {least}"
    if not short_by_diagonal(order, weld, c):
        return f"{asked}, reached too"
    g = c.geometry
    behind = g.source_to_detector_m - g.source_to_object_m
    longer = math.ceil(((by_diagonal + behind) / g.source_to_detector_m) ** 2 * 100 - 1e-6) / 100
    return (
        f"{asked}, NOT reached: then not shot, planned again (list, “code compared”): time about × {longer:.2f} "
        "(inverse square), doses and opening not computed"
    )


def _size(order: Order, weld: Weld, c: Candidate) -> tuple[Answer[float], str]:
    """Size d that the way is planned by [m], and which dimension of the source it is."""
    one = by_id(order.sources, c.source)
    assert one is not None
    view: View = "across" if one.axis == "across the beam" or c.arrangement == "bore" else "along"
    size = size_of_source(order, rules_for(order, weld), one, view)
    return size, size.note


def short_by_diagonal(order: Order, weld: Weld, c: Candidate | None) -> bool:
    """True where the planned distance would not do if the code meant the source's diagonal as its size.

    No agreement and no condition of the weld: a reading of the code, compared with all that is marked m.
    """
    one = by_id(order.sources, c.source) if c is not None else None
    if c is None or one is None:
        return False
    least = least_by_reading_m(one, c)[1]
    return least is not None and c.geometry.source_to_object_m < least - 1e-9


def in_block(r: RuleVerdict) -> bool:
    """True for a rule that the block tells in full, so that the table of rules does not say it again."""
    return r.rule in TOLD and r.verdict in ("holds", "not asked")


def _told(r: RuleVerdict | None, code: str, show: Show) -> str:
    """What a rule asks, with its clause and its verdict; empty where it asks nothing."""
    if r is None or (r.verdict == "not asked" and "to be read" not in r.reached):
        return ""
    verdict = "to be read" if "to be read" in r.reached else r.verdict
    source = show.converted(clause(r.source, code).split(" (")[0])
    return f"{show.converted(within(r.required, code))} ({source}): {verdict}"


def _distances(c: Candidate, rules: dict[str, RuleVerdict], code: str, show: Show, basis: str) -> str:
    """Least and planned distance and unsharpness; `basis`: which dimension of the source d is."""
    g = c.geometry
    rule = rules.get("source to object distance")
    reached = (
        show.converted(within(rule.reached, code))
        if rule
        else f"f = {show.converted(mm(g.source_to_object_m))}"
    )
    parts = [
        f"decides: {told}" if (told := _told(rule, code, show)) else "",
        reached,
        f"b {show.converted(mm(g.object_to_detector_m))}, source to film {show.converted(mm(g.source_to_detector_m))}",
    ]
    size = f"d b / f with d = {show.converted(fine_mm(g.focal_m))}{f', {basis}' if basis else ''}"
    blur = f"unsharpness Ug {show.value(g.unsharpness_m, 'length', digits=2)} ({size}"
    if told := _told(rules.get(UNSHARPNESS), code, show):
        blur += f"), asked {told}"
    else:
        most = g.focal_m * g.object_to_detector_m / g.minimum_source_to_object_m
        blur += f"; at the least f {show.value(most, 'length', digits=2)}; the code bounds f, not Ug)"
    return "; ".join(p for p in (*parts, blur) if p)


def _thickness(c: Candidate, weld: Weld, show: Show, accepted: Acceptance | None) -> str:
    """The code's thickness with what it is made of, and the metal on the axis with or without the weld's own.

    A cap counts as far as the code called up by the contract allows it (T-276.2, from memory, unverified).
    """
    g, wall = c.geometry, weld.pipe.wall
    parts = {
        f"2 × {show.drawn(wall, exact=True)}": 2.0 * wall,
        f"wall {show.drawn(wall, exact=True)} and cap {show.drawn(weld.cap.height_m, exact=True)}": wall
        + weld.cap.height_m,
    }
    made = next((f" ({w})" for w, sum_m in parts.items() if abs(sum_m - g.nominal_m) < 1e-5), "")
    nominal = show.drawn(g.nominal_m, exact=True)
    if made and abs(wall + weld.cap.height_m - g.nominal_m) < 1e-5:
        nominal = show.summed(wall, weld.cap.height_m)
        by = accepted.standard.split(" (")[0] if accepted else "the contract"
        made += f", the cap at most as {by} allows (T-276.2; m)"
    words = f"nominal {nominal}{made}, for source and IQI"
    inside = weld.contents.material
    full = (
        ""
        if inside == "air"
        else f"; {inside} in the bore ({show.drawn(weld.pipe.bore, exact=True)}) besides"
    )
    crossed = show.drawn(g.crossed_m, exact=True)
    return f"{words}; crossed on the axis {crossed}, {_weld_on_axis(c, weld)} in it{full}"


def _weld_on_axis(c: Candidate, weld: Weld) -> str:
    """Whether the axis of the beam goes through cap and root: that of an ellipse passes the weld's middle aslant.

    At the surface it lies tan(slant) times the radius beside the weld; the root is a third as wide as the cap.
    """
    g, radius = c.geometry, weld.pipe.od / 2
    if c.technique != "DWDI ellipse":
        return "cap and root"
    high = g.source_to_detector_m - (g.object_to_detector_m - radius)  # of the source over the pipe's axis
    slant = abs(g.axial_offset_m) / high if high > 0.0 else 0.0
    half = weld.cap.width_m / 2
    cap, root = slant * radius < half, slant * weld.pipe.bore / 2 < half * ROOT_SHARE
    return {(True, True): "cap and root", (True, False): "the cap", (False, True): "the root"}.get(
        (cap, root), "neither cap nor root"
    )


def films_of(order: Order, c: Candidate, exposure: Exposure | None) -> list[Film]:
    """The films of the holder, the candidate's first; none for a digital detector."""
    second = exposure.shots[0].second if exposure and exposure.shots else None
    found = [by_id(order.detectors, n) for n in (c.detector, *([second.detector] if second else []))]
    return [f for f in found if isinstance(f, Film)]


def _film(
    order: Order,
    c: Candidate,
    exposure: Exposure | None,
    rules: dict[str, RuleVerdict],
    code: str,
    show: Show,
) -> str:
    films = films_of(order, c, exposure)
    if not films:
        one = by_id(order.all_detectors, c.detector)
        kind = getattr(one, "kind", "")
        resolution = getattr(one, "basic_resolution_m", None)
        more = f", basic resolution {show.value(resolution, 'length')}" if resolution else ""
        return f"{kind} {c.detector}{more}"
    made = list(dict.fromkeys(show.converted(f.processing) for f in films))
    own = [f" ({show.converted(f.processing)})" if len(made) > 1 else "" for f in films]
    each = " and ".join(f"{f.id} class {f.film_class}{how}" for f, how in zip(films, own, strict=True))
    each += f" ({made[0]})" if len(made) == 1 else ""
    none = "no rule of the code" if code.startswith("ASME") else ""  # T-231, T-232: by the procedure
    asked = [
        f"{'screens' if name == 'screens' else 'class'} asked: {told}"
        for name in FILM_RULES
        if (told := _told(rules.get(name), code, show) or none)
    ]
    s = films[0].screens
    lead = f"{s.material} {show.drawn(s.front_m, exact=True)} front, {show.drawn(s.back_m, exact=True)} back"
    return "; ".join([each, f"screens {lead}", *asked])


def _iqi(c: Candidate, weld: Weld, rules: dict[str, RuleVerdict], code: str, show: Show) -> str:
    i = c.iqi
    if i is None:
        return NOT_COMPUTED
    size = show.code_length(i.diameter_m, code)
    also = f"; or {', '.join(e.split(' (')[0] for e in i.equivalents)}" if i.equivalents else ""
    each = " for each exposure" if len(c.shots) > 1 else ""
    relief = (
        f"; {wires(i.relief.split(' (')[0])}: {wires(i.required)} missing rejects a film" if i.relief else ""
    )
    rule = rules.get("image quality indicator")
    source = f" ({show.converted(clause(rule.source, code).split(' (')[0])})" if rule else ""
    must = f"{wire(i.required)} ({size}) must show{also}"
    inside = c.technique == "DWSI contact" and i.position == "film side" and not weld.access_inside
    why = " (bore: no access)" if inside else ""
    return f"{i.designation}, {i.pieces}{each}, {i.position}{why}; {must}{relief}{source}"


def _density(
    c: Candidate, rules: dict[str, RuleVerdict], exposure: Exposure | None, code: str, show: Show
) -> str:
    """Densities asked and planned within what is judged; empty without a film."""
    shot = exposure.shots[0] if exposure and exposure.shots else None
    rule = rules.get("density")
    if shot is None or shot.density is None:
        return ""
    asked = (_told(rule, code, show) or f"{c.density_min:g} to {c.density_max:g}").removesuffix(": holds")
    if code.startswith("ISO 17636-1"):  # its table has a least density only; the upper end is the viewer's
        asked = asked.replace(f"{c.density_min:g} to {c.density_max:g}", f"{c.density_min:g} or more", 1)
        asked += f", to {c.density_max:g} by the viewer (ISO 5580; m)"
    d, pair = shot.density, shot.pair
    planned = f"{d.least:.2f} to {d.most:.2f}"
    if pair is not None and exposure is not None:
        both = zone_densities(exposure.shots)  # which film judges what: the exposure time, the marking plan
        iso = code.startswith("ISO 17636-1")
        clauses = (
            " (7.8; m); viewing both at once, 1.3 or more on each (7.8; m), is not planned" if iso else ""
        )
        planned = f"{both}: single viewing, each film within the range over what is judged on it{clauses}"
    return f"asked within what is judged {asked}; planned there {planned}; to be read on every film"


def _coverage(order: Order, weld: Weld, c: Candidate, exposure: Exposure | None, show: Show) -> str:
    """How much each exposure judges of which wall, the lap, and the width judged."""
    rules = rules_for(order, weld)
    width = show.drawn(2 * rules.evaluated_half_width(weld_width_m=weld.cap.width_m).value)
    if c.arrangement == "bore":
        return f"the whole weld by one exposure, {width} wide; laps and markers: marking plan"
    found = sectors(c, exposure.coverage if exposure else None)
    lengths = sorted({round(math.degrees(s.length_rad), 1) for s in found})
    if not lengths:
        return NOT_COMPUTED
    each = f"{lengths[0]:g}°" if len(lengths) == 1 else f"{lengths[0]:g}° to {lengths[-1]:g}°"
    walls = " of each of two walls" if c.technique.startswith("DWDI") else ""
    least = least_lap_rad([(s.start_rad, s.length_rad) for s in found])
    lap = ""
    if least is not None:
        asked = (
            c.lap_rad
            if c.technique.startswith("DWDI")
            else 2 * overlap_asked(order, rules).value / weld.pipe.od
        )
        lap = f"; laps {show.drawn(max(least, 0.0) * weld.pipe.od / 2)}, {show.drawn(asked * weld.pipe.od / 2)} asked"
        lap += " by the order" if order.lap_m is not None else " (our rule; the code names none)"
    return f"{count(len(c.shots), 'exposure')} judge {each}{walls} each, {width} wide{lap}; markers: marking plan"


def _agreements(order: Order, c: Candidate, show: Show, planned: WeldPlan) -> str:
    """Those that the way stands on, and which of them nobody has signed; with them what the code leaves open."""
    told = [t for t in (_of_contract(order, c, show, planned), _left_open(order, planned)) if t]
    return "; ".join(told) or "none used"


def left_open(order: Order, planned: WeldPlan) -> list[str]:
    """All that both Level 3 accept with the code's figures of this weld: nobody has signed it before the shift.

    Of every weld its figures and the edition that they are of, then what is of this weld alone.
    """
    if planned.chosen is None or planned.status != "ready":
        return []
    edition = order.code_of(order.weld(planned.weld)).rpartition(":")[2]
    return [f"m/r figures, edition {edition}", *own_open(order, planned)]


def own_open(order: Order, planned: WeldPlan) -> list[str]:
    """What of it is of this weld alone."""
    weld, c = order.weld(planned.weld), planned.chosen
    if c is None or planned.status != "ready":
        return []
    found = (
        ("source size d", short_by_diagonal(order, weld, c)),
        ("ellipse opening", any(map(opening_check.is_off, c.rules))),
        (
            "film told by light or needle",
            planned.exposure is not None and by_light(order, weld, c, planned.exposure),
        ),
        (OWN_ENDS, own_ends(c, planned.exposure)),
    )
    return [what for what, wanted in found if wanted]


def _left_open(order: Order, planned: WeldPlan) -> str:
    """The same for the block, with where it is signed."""
    told = ", ".join(left_open(order, planned))
    return f"{told}: NOT signed, the order's “By agreement only”" if told else ""


def _of_contract(order: Order, c: Candidate, show: Show, planned: WeldPlan) -> str:
    """The contract's agreements that the way stands on."""
    waiting = order.unsigned(c.agreements_used)
    state = {a: "NOT signed" if a in waiting else "signed" for a in c.agreements_used}
    if "iqi-relief-gamma" in state and planned.radiographs:
        told = relief_words(planned.radiographs[0], c.iqi)
        state["iqi-relief-gamma"] += f"; {told}" if told else ""
    if "iqi-relief-gamma" in state and (scope := relief_scope(c.iqi)):
        state["iqi-relief-gamma"] += f"; granted for {scope} (m)"
    w = f", here w {show.drawn(c.geometry.nominal_m, exact=True)}"
    return "; ".join(
        f"{show.converted(agreement(a, c.iqi))}{w if a in OF_THICKNESS else ''} ({state[a]})"
        for a in c.agreements_used
    )
