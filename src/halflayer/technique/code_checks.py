"""The code's verdicts on a proposal: source, technique, exposures, film, screens, density, IQI."""

from __future__ import annotations

import math
from dataclasses import dataclass

from halflayer.order.equipment import Film
from halflayer.technique import iqi as wires
from halflayer.technique import step_holes
from halflayer.technique.ask import Ask, Check, Proposal, check
from halflayer.technique.digital_checks import digital_checks
from halflayer.technique.geometry import unsharpness_m
from halflayer.technique.metal import IQI_LETTERS
from halflayer.technique.opening_check import opening_checks
from halflayer.technique.result import Iqi
from halflayer.technique.rules import Answer, DensityRange, Side, SourceRange, double_image
from halflayer.technique.words import deg, fine_mm, listed, mm

ONLY_WITHOUT_ELLIPSE = "in plane only where an ellipse is not practicable"
FILM_CLASSES = ("C1", "C2", "C3", "C4", "C5", "C6")  # best first, ISO 11699-1


@dataclass(frozen=True)
class Judged:
    """What the code says of a proposal: verdicts, densities, IQI, thicknesses [m] and the range that holds."""

    checks: tuple[Check, ...]
    nominal: Answer[float]
    density: DensityRange
    iqi: Iqi | None
    source_range: Answer[SourceRange] | None
    unsharpness_m: float


def iqi_side(p: Proposal, ask: Ask) -> Side:
    """Where the IQI lies: source side, film side only for a single image through two walls."""
    return "film side" if p.technique == "DWSI contact" else "source side"


def judge(ask: Ask, p: Proposal, *, ellipse: str | None, why_not: str = "") -> Judged:
    """Every rule of the code on a proposal. `ellipse`: how an ellipse can be shot at this weld; None: `why_not`."""
    nominal = ask.rules.nominal_thickness(p.technique, wall_m=ask.wall)
    source_check, found = _source(ask, nominal.value)
    film_check, screens_check, better = _film(ask, nominal.value)
    class_a = p.minimum.value.class_a or (found.value.class_a if found else False)
    density = ask.rules.density(class_a=class_a, better_film=better)
    iqi_check, iqi = _iqi(ask, p, nominal.value)
    blur = unsharpness_m(
        focal_m=p.focal_m,
        source_to_object_m=p.source_to_object_m,
        object_to_detector_m=p.object_to_detector_m,
    )
    checks = [
        source_check,
        *_bounds(ask, p),
        *_without_ellipse(ask, p, ellipse, why_not),
        _unsharpness(ask, nominal.value, blur),
        *opening_checks(ask, p),
        _exposures(ask, p),
        _growth(ask, p),
        film_check,
        screens_check,
        iqi_check,
    ]
    if isinstance(ask.film, Film):
        checks.insert(-1, _density(ask, density))
    else:
        checks += digital_checks(ask, p, ask.film, thickness_m=nominal.value, unsharpness_m=blur)
    if p.minimum.value.class_a and found and found.value.class_a:
        checks.append(_both_class_a(ask, density))
    return Judged(tuple(checks), nominal, density.value, iqi, found, blur)


def _source(ask: Ask, w: float) -> tuple[Check, Answer[SourceRange] | None]:
    nuclide = ask.source.nuclide
    ranges = ask.rules.source_ranges(nuclide, metal=ask.metal)
    holding = next((r for r in ranges if r.value.holds(w)), None)
    metal = ask.metal or ask.weld.pipe.material
    if not ranges:
        return (
            check(
                "source for the thickness",
                required=f"{nuclide} on {metal} in class {ask.rules.test_class}",
                reached="no range for it in the table",
                holds=False,
                source=f"{ask.rules.name} source table",
                relax=ask.rules.source_relaxations(nuclide, metal=ask.metal, thickness_m=w),
            ),
            None,
        )
    shown = holding or ranges[-1]
    if holding and holding.value.least_m <= 0.0 and math.isinf(holding.value.most_m):
        free = check(
            "source for the thickness",
            required="no range: density and image quality indicator decide",
            reached=f"{nuclide} on {fine_mm(w)} of {metal}",
            holds=None,
            source=holding.source,
        )
        return free, holding
    agreed = ", by agreement" if shown.value.agreement else ""
    return (
        check(
            "source for the thickness",
            required=(
                f"{nuclide}: {mm(shown.value.least_m)} to {mm(shown.value.most_m)} of {metal} penetrated{agreed}"
            ),
            reached=f"w = {fine_mm(w)}",
            holds=holding is not None,
            source=shown.source,
            relax=ask.rules.source_relaxations(nuclide, metal=ask.metal, thickness_m=w),
            agreement=holding.value.agreement if holding else None,
        ),
        holding,
    )


def _bounds(ask: Ask, p: Proposal) -> list[Check]:
    answer = ask.rules.technique_bounds(
        p.technique, diameter_m=ask.od, wall_m=ask.wall, weld_width_m=ask.weld.cap.width_m
    )
    if not answer.value:
        return []
    broken = [b for b in answer.value if not b.holds]
    agreements = {b.agreement for b in broken}
    lifted = bool(broken) and None not in agreements and agreements <= ask.rules.agreements
    names = sorted(a for a in agreements if a)
    relax = (
        ()
        if None in agreements
        else (f"agree the {p.technique} outside its limits (agreements: {listed(names)})",)
    )
    return [
        check(
            f"limits of {p.technique}",
            required=", ".join(f"{b.what} <= {mm(b.most_m)}" for b in answer.value),
            reached=", ".join(f"{b.what.split(' (')[0]} {fine_mm(b.reached_m)}" for b in answer.value)
            + (f"; agreed: {listed(names)}" if lifted else ""),
            holds=not broken or lifted,
            source=answer.source,
            relax=relax,
            agreement=names[0] if lifted else None,
        )
    ]


def _without_ellipse(ask: Ask, p: Proposal, ellipse: str | None, why_not: str) -> list[Check]:
    answer = ask.rules.only_without_ellipse(p.technique)
    if not answer.value:
        return []
    wanted = list(ask.weld.placements)
    first = wanted.index(p.arrangement) if p.arrangement in wanted else math.inf
    ellipses = [wanted.index(n) for n in ("lean-out", "lean-back", "lean-out-shrouded") if n in wanted]
    ordered = first < min(ellipses, default=math.inf)
    if ordered:
        reached, holds = f"the order asks for {p.arrangement} before an ellipse", True
    elif ellipse is None:
        reached, holds = (
            f"no ellipse can be shot here: {why_not or 'no placement for one in head and kit'}",
            True,
        )
    else:
        reached, holds = f"an ellipse can be shot: {ellipse}", False
    return [
        check(
            ONLY_WITHOUT_ELLIPSE,
            required="an ellipse is not practicable",
            reached=reached,
            holds=holds,
            source=answer.source,
            relax=(f"ask for {p.arrangement} in the weld's placements",),
        )
    ]


def _unsharpness(ask: Ask, w: float, blur: float) -> Check:
    limit = ask.rules.unsharpness_limit(thickness_m=w)
    return check(
        "geometric unsharpness",
        required="no limit of its own" if limit.value is None else f"Ug <= {limit.value * 1e3:.2f} mm",
        reached=f"Ug = {blur * 1e3:.2f} mm",
        holds=None if limit.value is None else blur <= limit.value + 1e-12,
        source=limit.source,
    )


def _exposures(ask: Ask, p: Proposal) -> Check:
    answer = ask.rules.exposures(p.technique, diameter_m=ask.od, wall_m=ask.wall)
    clocks = listed(deg(s.source_clock_rad) for s in p.shots)
    reached = f"{len(p.shots)} at source clock {clocks}"
    ratio = f"t/De = {ask.wall / ask.od:.3f}{answer.note}"
    if answer.value is None:
        least = ask.rules.least_exposures(p.technique)
        return check(
            "number of exposures",
            required=f"from the usable arc, at least {least.value}",
            reached=reached,
            holds=len(p.shots) >= least.value,
            source=least.source,
        )
    plan = answer.value
    angles = listed((deg(a) for a in plan.spacings_rad), last="or")
    return check(
        "number of exposures",
        required="one for the whole weld" if plan.count == 1 else f"{plan.count} at {angles} ({ratio})",
        reached="1, all round" if plan.count == 1 else reached,
        holds=len(p.shots) >= plan.count,
        source=answer.source,
    )


def _growth(ask: Ask, p: Proposal) -> Check:
    answer = ask.rules.growth(p.technique)
    variation = ask.rules.density_variation()
    if answer.value is None and variation.value is not None:
        low, high = variation.value
        return check(
            "density over the zone",
            required=f"{low:+.0%} to {high:+.0%} of that at the image quality indicator",
            reached="predicted with the exposure",
            holds=None,
            source=variation.source,
        )
    if answer.value is not None:
        return check(
            "growth of the crossed wall",
            required=f"at most {answer.value:.0%} at the ends of the evaluated length",
            reached="held by the usable arc",
            holds=True,
            source=answer.source,
        )
    why = (
        "double image: number and angles are prescribed; density over the evaluated length and the IQI decide"
        if double_image(p.technique)
        else "source in the centre: the wall is crossed squarely all round"
    )
    return check(
        "growth of the crossed wall", required="not applied", reached=why, holds=None, source=answer.source
    )


def film_admitted(ask: Ask, thickness_m: float) -> bool:
    """True when the code admits the film's class and screens for this source and thickness."""
    verdicts = _film(ask, thickness_m)[:2]
    return not any(c.verdict.verdict == "breaks" for c in verdicts)


def _film(ask: Ask, w: float) -> tuple[Check, Check, bool]:
    answer = ask.rules.film(ask.source.nuclide, metal=ask.metal, thickness_m=w)
    film = ask.film
    if answer.value is None:
        said = answer.note or "no row in the table"
        refused = [
            check(rule, required="a row in the table", reached=said, holds=False, source=answer.source)
            for rule in ("film system class", "screens")
        ]
        return refused[0], refused[1], False
    need = answer.value
    if need.film_class is None or need.screens is None:
        kind = film.film_class if isinstance(film, Film) else film.kind
        free = {"film system class": f"{kind} ({film.id})", "screens": film.screens.material}
        asked = [
            check(
                rule,
                required=answer.note or "none of its own",
                reached=text,
                holds=None,
                source=answer.source,
            )
            for rule, text in free.items()
        ]
        return asked[0], asked[1], False
    assert isinstance(film, Film)  # a code that asks for a film class is asked about films only
    rank, worst = FILM_CLASSES.index(film.film_class), FILM_CLASSES.index(need.film_class)
    class_check = check(
        "film system class",
        required=f"{need.film_class} or better",
        reached=f"{film.film_class} ({film.id})",
        holds=rank <= worst,
        source=answer.source,
        relax=(f"a film of class {need.film_class} or better",),
    )
    s, wanted = film.screens, need.screens
    metals = listed(wanted.metals, last="or")
    bounds = (("front", s.front_m, wanted.front_m), ("back", s.back_m, wanted.back_m))
    inside = all(low - 1e-9 <= t <= high + 1e-9 for _, t, (low, high) in bounds)
    none = s.front_m == 0.0 and s.back_m == 0.0
    metal_fits = none or any(m in s.material.lower() for m in wanted.metals)
    ranges = listed(f"{name} {low * 1e3:g} to {high * 1e3:g} mm" for name, _, (low, high) in bounds)
    screens_check = check(
        "screens",
        required=f"{metals}, {ranges}",
        reached=f"{s.material}, front {s.front_m * 1e3:g} mm and back {s.back_m * 1e3:g} mm",
        holds=inside and metal_fits,
        source=answer.source,
        relax=(f"screens of {metals}, {ranges}",),
    )
    return class_check, screens_check, rank < worst


def _density(ask: Ask, answer: Answer[DensityRange]) -> Check:
    d = answer.value
    wanted = ask.weld.density
    holds = wanted is None or d.least - 1e-9 <= wanted <= d.most + 1e-9
    note = f" ({answer.note})" if answer.note else ""
    return check(
        "density",
        # A code that permits a tolerance of the measurement lets a lower reading pass: none of it is used.
        required=f"{d.least:g} to {d.most:g} as read, ±{d.tolerance:g} of measurement not used",
        reached="the whole range: the order wants no density of its own"
        if wanted is None
        else f"wanted: {wanted:g}",
        holds=holds,
        source=answer.source + note,
        relax=(f"a wanted density of {d.least:g} or more",),
        agreement=d.agreement,
    )


def _both_class_a(ask: Ask, density: Answer[DensityRange]) -> Check:
    return check(
        "one class A condition only",
        required="either the source range or the distance of class A in a class B test",
        reached="both",
        holds=False,
        source=density.source,
    )


def _iqi(ask: Ask, p: Proposal, w: float) -> tuple[Check, Iqi | None]:
    side = iqi_side(p, ask)
    kind = ask.order.iqi_of(ask.weld)
    answer = ask.rules.iqi(p.technique, side=side, nuclide=ask.source.nuclide, thickness_m=w, kind=kind)
    if answer.value is None:
        return (
            check(
                "image quality indicator",
                required="a wire from the table"
                if kind == "wire"
                else "a hole of a step-hole plate from the table",
                reached=answer.note or "no row in the table",
                holds=False,
                source=answer.source,
                relax=() if kind == "wire" else ("wires in their place (iqi: wire)",),
            ),
            None,
        )
    need = answer.value
    to_lay = wires.designation_to_lay if kind == "wire" else step_holes.designation_to_lay
    letters = IQI_LETTERS.get(ask.metal or "", "FE")
    relief = ""
    if need.relief:
        nuclide = ask.source.nuclide
        relief = (
            f"; {need.normal} without relief, {need.relief} less with {nuclide} agreed ({need.relief_clause})"
        )
    pieces = ask.rules.iqi_pieces(p.technique).value
    iqi = Iqi(
        type=kind,
        designation=need.lay.format(metal=ask.metal or "own metal")
        if need.lay
        else to_lay(need.name, letters),
        required=need.name,
        diameter_m=need.diameter_m,
        position=side,
        table=f"{answer.clause}, {need.band}{relief}; {answer.mark}",
        pieces=pieces,
        equivalents=need.equivalents,
        relief=relief.removeprefix("; "),
    )
    also = f"; or {listed(need.equivalents, last='or')}" if need.equivalents else ""
    return (
        check(
            "image quality indicator",
            required=f"{need.name} ({need.diameter_m * 1e3:g} mm) seen, {side}, {need.band}{relief}{also}",
            reached="to be read on the radiograph",
            holds=None,
            source=answer.source,
            agreement=need.agreement,
        ),
        iqi,
    )
