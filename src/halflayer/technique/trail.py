"""The figures of a candidate with everything they were made from."""

from __future__ import annotations

import math

from halflayer.base.result import Derived
from halflayer.order.equipment import STRAPPED
from halflayer.technique.ask import Ask, Proposal, size_of_source
from halflayer.technique.code_checks import Judged
from halflayer.technique.ellipse import wanted_opening_m
from halflayer.technique.geometry import Vec3, View, crossed_metal_m
from halflayer.technique.rules import double_image, double_wall

ORDER = "the order"
GEOMETRY = "exact geometry"


def _given(name: str, value: float, symbol: str = "") -> Derived:
    return Derived(name, value, "m", symbol=symbol, source=ORDER, basis="as stated, taken as exact")


def source_and_aim(ask: Ask, p: Proposal) -> tuple[Vec3, Vec3]:
    """Source and direction of the central ray with the source at clock 0 [m]."""
    if p.arrangement == "bore":
        return (0.0, 0.0, 0.0), (0.0, 0.0, -1.0)
    source = (p.offset_m, 0.0, ask.radius + p.standoff_m)
    return source, (-source[0], 0.0, -source[2])


def crossed_m(ask: Ask, source: Vec3, aim: Vec3) -> float:
    """Metal on a ray through this weld's pipe, cap and root [m]."""
    cap = ask.weld.cap
    return crossed_metal_m(
        source,
        aim,
        outer_radius_m=ask.radius,
        wall_m=ask.wall,
        cap_width_m=cap.width_m,
        cap_height_m=cap.height_m,
        root_height_m=cap.root_m,
    )


def crossed_on_axis_m(ask: Ask, p: Proposal) -> float:
    """Metal on the central ray between source and detector [m]: of a film inside the pipe the near wall alone."""
    whole = crossed_m(ask, *source_and_aim(ask, p))
    return whole / 2 if p.arrangement == "outside" else whole


def trail(ask: Ask, p: Proposal, judged: Judged) -> tuple[Derived, ...]:
    """Unsharpness, distances, offset, tilt, opening, exposures, thicknesses and IQI, each with its trail."""
    od, wall = _given("outside diameter", ask.od, "De"), _given("wall", ask.wall, "t")
    view: View = "across" if ask.source.axis == "across the beam" or p.arrangement == "bore" else "along"
    size = size_of_source(ask.order, ask.rules, ask.source, view)
    focal = Derived(
        "focal_size",
        p.focal_m,
        "m",
        symbol="d",
        formula=size.note,
        inputs=(
            _given("source diameter", ask.source.diameter_m),
            _given("source length", ask.source.length_m),
        ),
        source=f"outline of the source cylinder; {size.source}",
    )
    f = _source_to_object(ask, p, od, wall)
    gap = Derived(
        "gap",
        ask.gap,
        "m",
        symbol="g",
        formula="cap or insulation + cassette",
        inputs=(
            _given("cap height", ask.weld.cap.height_m),
            _given("insulation", ask.insulation),
            _given("cassette", ask.film.cassette_m),
        ),
        source=GEOMETRY,
    )
    formula = "De + g" if double_image(p.technique) else "t + g"
    if p.arrangement == "outside":  # the film lies inside, on the root
        formula = "t + g"
        gap = Derived(
            "gap",
            p.object_to_detector_m - ask.wall,
            "m",
            symbol="g",
            formula="root or thicker wall + cassette",
            inputs=(_given("root", ask.weld.cap.root_m), _given("cassette", ask.film.cassette_m)),
            source=GEOMETRY,
        )
    b = Derived(
        "object_to_detector",
        p.object_to_detector_m,
        "m",
        symbol="b",
        formula=formula,
        inputs=(od if double_image(p.technique) else wall, gap),
        source=GEOMETRY,
    )
    m = p.minimum.value
    least = Derived(
        "minimum_source_to_object",
        m.distance_m,
        "m",
        symbol="f_min",
        formula=f"{m.formula}, in mm" + (f", less {m.reduction:.0%}" if m.reduction else ""),
        inputs=(
            focal,
            Derived(
                "object to detector by the code",
                m.object_to_detector_m,
                "m",
                symbol="b",
                source=p.minimum.note,
            ),
        ),
        source=p.minimum.source,
        basis=m.condition,
    )
    blur = Derived(
        "unsharpness",
        judged.unsharpness_m,
        "m",
        symbol="Ug",
        formula="d b / f",
        inputs=(focal, b, f),
        source="similar triangles",
    )
    count = Derived(
        "exposures_count",
        len(p.shots),
        "",
        formula=("as prescribed" if p.usable_rad is None else "ceil(360 deg / (usable - overlap))")
        + (f", at least {ask.weld.exposures} by the order" if ask.weld.exposures else ""),
        inputs=p.trail,
        source=ask.rules.exposures(p.technique, diameter_m=ask.od, wall_m=ask.wall).source,
    )
    usable = tuple(d for d in p.trail if d.name == "usable_angle")
    return (
        blur,
        least,
        f,
        b,
        *_ellipse(ask, p, od, gap, f),
        count,
        *usable,
        *_thicknesses(ask, p, judged, wall),
    )


def _source_to_object(ask: Ask, p: Proposal, od: Derived, wall: Derived) -> Derived:
    inputs: tuple[Derived, ...]
    if p.arrangement == "bore":
        formula, inputs = "De/2 - t", (od, wall)
    elif p.arrangement in STRAPPED:
        standoff = Derived(
            "standoff",
            p.standoff_m,
            "m",
            formula="source to face + cap or insulation",
            inputs=(_given("source to face", ask.head.source_to_face_m), _given("on the pipe", ask.crown)),
            source=GEOMETRY,
        )
        formula, inputs = "De - t + standoff", (od, wall, standoff)
    else:
        formula = "(reach + De/2) cos(lean) - De/2, at right angles to the pipe: not more than along the beam"
        to_centre = math.hypot(p.offset_m, ask.radius + p.standoff_m)
        inputs = (
            Derived(
                "reach", to_centre - ask.radius, "m", source="hole of the legs", basis=f"hole {p.leg_hole}"
            ),
            Derived("lean", abs(p.lean_rad), "rad", source="lean of the legs"),
            od,
        )
    return Derived(
        "source_to_object",
        p.source_to_object_m,
        "m",
        symbol="f",
        formula=formula,
        inputs=inputs,
        source=GEOMETRY,
    )


def _ellipse(ask: Ask, p: Proposal, od: Derived, gap: Derived, f: Derived) -> tuple[Derived, ...]:
    if p.opening_m is None:
        return ()
    width = _given("weld width", ask.weld.cap.width_m, "w")
    wanted = Derived(
        "wanted opening",
        wanted_opening_m(ask.weld.cap.width_m),
        "m",
        formula="w, at least 3 and at most 15 mm",
        inputs=(width,),
        source=ask.rules.opening(p.technique, weld_width_m=ask.weld.cap.width_m).source,
    )
    offset = Derived(
        "offset",
        p.offset_m,
        "m",
        symbol="L",
        formula="(reach + De/2) sin(lean), the lean step that opens the images as wanted",
        inputs=(wanted, f),
        source=GEOMETRY,
    )
    return (
        offset,
        Derived(
            "tilt", p.lean_rad, "rad", formula="atan(L / (a + De/2))", inputs=(offset, f, od), source=GEOMETRY
        ),
        Derived(
            "opening",
            p.opening_m,
            "m",
            symbol="q",
            formula="L (b/a - g/(a + De)) - w/2 (1 + b/a) - w/2 (1 + g/(a + De))",
            inputs=(offset, f, od, gap, width),
            source="exact projection",
        ),
    )


def _thicknesses(ask: Ask, p: Proposal, judged: Judged, wall: Derived) -> tuple[Derived, ...]:
    nominal = Derived(
        "nominal_thickness",
        judged.nominal.value,
        "m",
        symbol="w",
        formula=judged.nominal.note or ("2 t, without cap" if double_wall(p.technique) else "t"),
        inputs=(wall,),
        source=judged.nominal.source,
    )
    by_code = Derived("iqi_thickness", nominal.value, "m", formula="nominal thickness", inputs=(nominal,))
    source, _ = source_and_aim(ask, p)
    cap = (
        wall,
        _given("cap height", ask.weld.cap.height_m),
        _given("root", ask.weld.cap.root_m),
    )
    crossed = Derived(
        "crossed_thickness",
        crossed_on_axis_m(ask, p),
        "m",
        formula="metal along the central ray: walls, cap, root",
        inputs=cap,
        source=GEOMETRY,
    )
    found = [nominal, by_code, crossed]
    if p.opening_m is not None:
        at_weld = crossed_m(ask, source, (-source[0], 0.0, ask.radius - source[2]))
        found.append(
            Derived(
                "crossed_at_weld",
                at_weld,
                "m",
                formula="metal along the ray through the middle of the near weld",
                inputs=cap,
                source=GEOMETRY,
            )
        )
    if judged.iqi:
        found.append(
            Derived(
                "iqi",
                judged.iqi.required,
                "",
                formula=f"{judged.iqi.type.removeprefix('step-')} that must be seen, {judged.iqi.position}",
                inputs=(by_code,),
                source=judged.iqi.table,
            )
        )
    return tuple(found)
