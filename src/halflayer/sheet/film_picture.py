"""The small predicted film of a build sheet: the picture to scale with a length bar, and what is read off it."""

from __future__ import annotations

import math
import re

from halflayer.exposure.film import DENSITY_MIN
from halflayer.exposure.first_film import first_film
from halflayer.exposure.result import Density, Exposure, ShotTime
from halflayer.exposure.two_films import loading_of
from halflayer.order.models import Order
from halflayer.radiograph.result import APART, Quick, Readings
from halflayer.radiograph.visible import LEAST_CONTRAST, ROSE, Seen
from halflayer.sheet.figures import Show
from halflayer.sheet.svg import INK, Canvas
from halflayer.sheet.wire_name import wire
from halflayer.technique.result import Candidate, Iqi

MOST_HEIGHT_MM = 27.0
BAR_M = (0.1, 0.05, 0.02, 0.01, 0.005)  # lengths of the scale bar (our choice)
BAR_IN_M = tuple(n * 0.0254 for n in (4.0, 2.0, 1.0, 0.5, 0.25))  # the same in inches
OF_A_FULL_IMAGE = (
    f"within {APART:.0%} of a full image's exposure"  # and why it is apart says `halflayer radiograph`
)
FOOT_MM = 4.6
METRIC = Show()
PLACES = 9  # densities looked at between the lightest and the darkest, our choice
AS_PLANNED = 0.15  # our choice: a densitometer's 0.1 and rounding


def film_picture(quick: Quick, show: Show, *, width_mm: float) -> str:
    """SVG of the picture, as wide as the column or as high as it may be, with a scale bar under it."""
    scale = min(width_mm / quick.width_m, MOST_HEIGHT_MM / quick.height_m)  # mm of paper per metre
    wide, high = quick.width_m * scale, quick.height_m * scale
    canvas = Canvas(width_mm, high + FOOT_MM)
    canvas.raw(
        f'<image x="0" y="0" width="{wide:.3f}" height="{high:.3f}" preserveAspectRatio="none" '
        f'href="data:image/png;base64,{quick.picture}"/>'
    )
    canvas.path([[(0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high)]], stroke_mm=0.2, colour=INK)
    bars = BAR_IN_M if show.system == "imperial" else BAR_M
    bar = next((b for b in bars if b * scale <= 0.45 * wide), bars[-1])
    y = high + 1.4
    canvas.line((0.0, y), (bar * scale, y), stroke_mm=0.4)
    for x in (0.0, bar * scale):
        canvas.line((x, y - 0.7), (x, y + 0.7), stroke_mm=0.25)
    canvas.text((bar * scale + 1.2, y + 0.9), f"{show.drawn(bar)} on the film", size_mm=2.5)
    return canvas.render()


def relief_words(quick: Quick, iqi: Iqi | None) -> str:
    """Whether the wire or hole of the code without the relief is predicted too; empty without one."""
    found = re.match(r"(\S+) without relief", iqi.relief) if iqi else None
    if found is None:
        return ""
    v = quick.verdict
    own = next((d for d in (*v.wires, *v.holes) if d.name == found[1]), None)
    if own is None:
        return f"{wire(found[1])} asked without relief is not in the set laid"
    if own.visible:
        asked = wire(v.required or v.required_hole or "")
        return f"{wire(found[1])} without relief predicted to hold: margin, {asked} alone is asked"
    return f"{wire(found[1])} without relief NOT predicted: stands on the relief"


def passed_words(order: Order, c: Candidate | None, shot: ShotTime | None, quick: Quick) -> str:
    """What the detail asked reaches on the lightest first film that goes on; empty without such a window.

    Formula: all kermas by one factor K(least) / K(planned); a film's signal is as its gradient G, its grain as the root
    of its density D above base and fog, so contrast to noise as G / sqrt(D), the step as G. Over all densities judged
    the least: where the wire lies is not asked for.
    """
    v = quick.verdict
    name, found = (v.required, v.wires) if v.required else (v.required_hole, v.holes)
    mine = next((d for d in found if d.name == name), None)
    loading = loading_of(order, c, shot) if c is not None and shot is not None else None
    if mine is None or loading is None or c is None or shot is None or shot.density is None:
        return ""
    first = first_film(loading, c, shot)
    if first is None or first.most is None or first.planned <= first.least:
        return ""
    curve, by = loading.curve, first.curve.kerma_Gy(first.least) / first.curve.kerma_Gy(first.planned)
    ends = [min(max(d, DENSITY_MIN), c.density_max) for d in (shot.density.least, shot.density.most)]
    ratios, steps = [], []
    for n in range(PLACES):
        before = ends[0] + (ends[1] - ends[0]) * n / (PLACES - 1)
        after = float(curve.density(curve.kerma_Gy(before) * by))
        steps.append(curve.gradient(after) / curve.gradient(before))
        ratios.append(steps[-1] * math.sqrt((before - curve.base_fog) / (after - curve.base_fog)))
    ratio, step = mine.contrast_to_noise * min(ratios), mine.contrast * min(steps)
    holds = "holds" if ratio >= ROSE and step >= LEAST_CONTRAST else "does NOT hold: read it"
    return f"contrast to noise {_two(ratio)} or more on a first film passed at {first.least:.2f}, {holds}"


def film_words(
    quick: Quick,
    show: Show = METRIC,
    planned: Density | None = None,
    iqi: Iqi | None = None,
    exposure: Exposure | None = None,
    passed: str = "",
) -> str:
    """One line under the picture: wire or hole, densities or signal to noise, opening.

    Densities that a densitometer does not tell from those `planned` are not printed beside them: one figure, one place.
    Of two films those planned are printed, of the whole film: what is judged lies within them, by the same exposure.
    """
    v = quick.verdict
    parts = [
        _detail("wire", v.required, v.smallest_visible, v.wires, digital=v.digital),
        _detail("hole", v.required_hole, v.smallest_hole, v.holes, digital=v.digital),
        passed,
        relief_words(quick, iqi),
    ]
    r = v.readings
    where = f" ({r.where_least.replace(' degrees', '°')})" if r is not None and r.where_least else ""
    if v.films:
        second = exposure.shots[0].second if exposure and exposure.shots else None
        own = {second.detector: second.density} if second is not None else {}
        of = [own.get(f.detector) or (planned if own else None) or f for f in v.films]
        spans = (f"{d.least:.2f} to {d.most:.2f} on {f.detector}" for f, d in zip(v.films, of, strict=True))
        parts.append(
            f"whole films {' and '.join(spans)} planned, the picture {OF_A_FULL_IMAGE}; judged: marking plan"
        )
        if v.wires:
            parts.append(
                "one set of wires drawn, over the weld, to judge contrast; laid beside it: marking plan"
            )
    elif r is not None and not v.digital and _as_planned(r, planned):
        parts.append(f"densities as planned, within {AS_PLANNED:g}")
    elif r is not None:
        parts.append(
            f"signal to noise {r.snr_n:.0f} beside the weld"
            if v.digital and r.snr_n is not None
            else f"grey value {r.least:.0f} to {r.most:.0f} over what is judged"
            if v.digital
            else f"density {r.least:.2f}{where} to {r.most:.2f} over what is judged, {OF_A_FULL_IMAGE}"
        )
    if v.opening_m is not None and v.opening_m > 0.0:
        parts.append(show.converted(f"{v.opening_m * 1e3:.1f} mm between the inner edges of the two images"))
    return "; ".join(p for p in parts if p)


def _as_planned(r: Readings, planned: Density | None) -> bool:
    return planned is not None and all(
        abs(a - b) <= AS_PLANNED for a, b in ((r.least, planned.least), (r.most, planned.most))
    )


def lighter_than_asked(quick: Quick, c: Candidate | None) -> str:
    """What to do where the picture is lighter somewhere than the code asks, though the plan's points are not.

    The plan looks along single rays, the picture over the whole focal spot: at an edge, such as that of the other
    wall's cap, they differ.
    """
    r = quick.verdict.readings
    if c is None or r is None or quick.verdict.digital or quick.verdict.films or r.least >= c.density_min:
        return ""
    return (
        f"; {r.least:.2f} lies below the {c.density_min:g} asked (over the whole focal spot; the plan looks along "
        "single rays): read that place first"
    )


def if_missing(*, digital: bool) -> str:
    """Where it stands what to change for a wire missing at the right density: in `film_rejected`."""
    return f"“First {'image' if digital else 'film'}” {5 if digital else 6}"


def no_margin(quick: Quick | None) -> str:
    """A caution for page 1 where the wire or hole asked is the finest predicted of finer ones laid; else empty."""
    if quick is None:
        return ""
    v = quick.verdict
    for name, best, found in (
        (v.required, v.smallest_visible, v.wires),
        (v.required_hole, v.smallest_hole, v.holes),
    ):
        if name is not None and best == name and found and min(found, key=lambda d: d.size_m).name != name:
            step = if_missing(digital=v.digital)
            return f"{name[:1].upper()}{name[1:]} asked, no finer one predicted; missing: {step}."
    return ""


def _reached(mine: Seen, *, digital: bool) -> str:
    """What the detail asked reaches against what is needed to see it, rounded down, and what that holds."""
    step = "" if digital else f", density step {_two(mine.contrast)} against {LEAST_CONTRAST:.4f}"
    return (
        f" (computed: contrast to noise {_two(mine.contrast_to_noise)} against {ROSE:g} needed{step}; focal spot, "
        "detector and scatter in it)"
    )


def _two(value: float) -> str:
    """Two figures, rounded down.

    >>> _two(7.39), _two(0.01288), _two(123.4)
    ('7.3', '0.012', '120')
    """
    if value <= 0.0:
        return "0"
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return f"{math.floor(value / step + 1e-9) * step:.{max(0, -round(math.log10(step)))}f}"


def _detail(
    kind: str, required: str | None, smallest: str | None, found: tuple[Seen, ...], *, digital: bool
) -> str:
    if required is None or not found:
        return ""
    mine = next((d for d in found if d.name == required), None)
    verdict = (
        "" if mine is None else f" {'holds' if mine.visible else 'breaks'}{_reached(mine, digital=digital)}"
    )
    last = min(found, key=lambda d: d.size_m).name
    end = f" (the {kind}s laid have no finer one)" if smallest is not None and smallest == last else ""
    margin = (
        f", no margin (missing: {if_missing(digital=digital)})"
        if mine is not None and mine.visible and smallest == required and not end
        else ""
    )
    finest = wire(smallest) if smallest else "none"
    return f"{kind} {required.removeprefix('wire ')} asked,{verdict}; finest seen {finest}{margin}{end}"
