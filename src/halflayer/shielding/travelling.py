"""What the source on its way from its container means for places and barrier: doses, highest rates, findings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from halflayer.base.result import Derived, Finding
from halflayer.order.limits import AccessRoute, Limit
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.scene.frame import Vec3
from halflayer.shielding.bare import bare_h10_rate_Sv_s
from halflayer.shielding.barrier import HEIGHT_M, directions_rad
from halflayer.shielding.result import LimitCheck, Shielding
from halflayer.shielding.transit import BARE, guide_way, highest_rate, transit_dose, tube_shielding
from halflayer.shielding.transit import Shielding as Tube
from halflayer.technique.result import Candidate

FIGURE = "transit_dose"
WAY_IN = "way in: "  # names of the figures at ways into the area begin so
AT_BARRIER = "barrier"  # name of the figure at the wanted distance of the barrier begins so
NOBODY_THERE = ("nobody there while the source travels",)  # what lifts a rate above its limit on the way
REACH = "the barrier's rate limit is reached"
THROUGH_TUBE = "share through the tube, sideways"  # a figure of a source that travels through one


@dataclass(frozen=True)
class OnTheWay:
    """Upper figures at one place for a weld whose source travels: highest rate, dose of all ways, longest shot's."""

    peak_Sv_s: float
    dose_Sv: float  # every exposure, out and back
    once_Sv: float  # largest of one way


def travels(order: Order, candidate: Candidate) -> bool:
    """True where the source leaves its shield to get to the weld: through a guide tube, or into the bore."""
    head = next(h for h in order.heads if h.id == candidate.head)
    return candidate.guide is not None or head.kind == "spider"


@dataclass(frozen=True)
class Travel:
    """The ways of a weld's source, one for each exposure, with what is needed for the dose beside them."""

    ways: tuple[tuple[Vec3, ...], ...]
    speeds_m_s: tuple[float, ...]
    at_1m_Sv_s: float  # bare, upper value: as strong as the certificate allows
    tube: Tube

    def once_Sv(self, spot: Vec3) -> list[float]:
        """Dose at a place on the site by one way of each exposure."""
        return [
            transit_dose(w, spot, rate_at_1m=self.at_1m_Sv_s, speed_m_s=v, tube=self.tube)
            for w, v in zip(self.ways, self.speeds_m_s, strict=True)
        ]

    def dose_Sv(self, spot: Vec3) -> float:
        """Dose at a place on the site by all ways, out and back."""
        return 2 * math.fsum(self.once_Sv(spot))

    def peak_Sv_s(self, spot: Vec3) -> float:
        """Highest rate at a place on the site on any of the ways."""
        return max(highest_rate(w, spot, rate_at_1m=self.at_1m_Sv_s, tube=self.tube) for w in self.ways)


def travel_from(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    collimators: Sequence[Vec3],
    *,
    activity_Bq: float,
    energies_keV: NDArray[np.float64],
    photons_per_decay: NDArray[np.float64],
) -> Travel | str:
    """The ways of a source that travels to the weld; why they are not known where they are not."""
    guide = next((g for g in order.kit.guides if g.id == candidate.guide), None)
    head = next(h for h in order.heads if h.id == candidate.head)
    ways = [w for w in (guide_way(weld, c) for c in collimators) if w is not None]
    if len(ways) < len(collimators):
        return "the weld does not say where the container stands (guide_from)"
    if guide is None and not head.travel_s > 0.0:
        return f"no time of the source on its way is stated (travel of {head.id})"
    source = next(s for s in order.sources if s.id == candidate.source)
    # An upper value as on the card of a stuck source: the bare source may be as strong as its certificate allows.
    at_1m = (1.0 + source.activity_uncertainty) * bare_h10_rate_Sv_s(
        activity_Bq=activity_Bq,
        energies_keV=energies_keV,
        photons_per_decay=photons_per_decay,
        distance_m=1.0,
    )
    tube = tube_shielding(order, guide, energies_keV, photons_per_decay) if guide else BARE
    speeds = tuple(guide.speed_m_s if guide else _length_m(w) / head.travel_s for w in ways)
    return Travel(tuple(ways), speeds, at_1m, tube)


def transit_figure(
    order: Order,
    weld: Weld,
    candidate: Candidate,
    collimators: Sequence[Vec3],
    *,
    activity_Bq: float,
    energies_keV: NDArray[np.float64],
    photons_per_decay: NDArray[np.float64],
) -> Derived | None:
    """Dose at every named place while the source travels, out and back, for all exposures of the weld [Sv].

    `collimators` is the source's place on the site for each exposure. Value: the largest over the places; the
    places are its inputs, and the barrier at its wanted distance. A source that goes into the bore counts as
    bare all the way: neither tube, pipe nor wrap is in it. None where the source stays in its head; value None
    where the container's place is not stated.
    """
    if not travels(order, candidate):
        return None
    guide = next((g for g in order.kit.guides if g.id == candidate.guide), None)
    source = next(s for s in order.sources if s.id == candidate.source)
    made = travel_from(
        order,
        weld,
        candidate,
        collimators,
        activity_Bq=activity_Bq,
        energies_keV=energies_keV,
        photons_per_decay=photons_per_decay,
    )
    if isinstance(made, str):
        return Derived(FIGURE, None, "Sv", basis=f"not computed: {made}")
    at_1m, tube, speeds = made.at_1m_Sv_s, made.tube, made.speeds_m_s

    def at(name: str, spot: Vec3, basis: str) -> Derived:
        once, peak = made.once_Sv(spot), made.peak_Sv_s(spot)
        return Derived(
            name,
            2 * math.fsum(once),
            "Sv",
            formula="2 x sum over the exposures of the integral of K T / r^2 / speed",
            inputs=(
                Derived("largest one way", max(once), "Sv"),
                Derived("highest dose rate on the way", peak, "Sv/s"),
            ),
            basis=basis,
        )

    between = "nothing but the tube in the way" if guide else "nothing in the way"
    places = [at(p.name, p.at, f"at {p.kind} place; {between}") for p in order.places]
    within = weld.barrier_within_m or order.limits.barrier_within_m
    doors = [
        at(
            f"{WAY_IN}{r.name}",
            (r.at[0], r.at[1], r.at[2] + HEIGHT_M),
            f"{HEIGHT_M:g} m above its floor; {between}",
        )
        for r in order.access
    ]
    ring = [at("", spot, "") for spot in _ring(weld, within)]
    top = max(ring, key=lambda d: float(d.inputs[1].value or 0.0))
    name = f"{AT_BARRIER} at {within:.4g} m, worst of {len(ring)} directions"
    barrier = replace(top, name=name, basis=between)
    worst = max(places or [barrier], key=lambda d: float(d.value or 0.0))
    inputs = [
        *places,
        barrier,
        *doors,
        Derived(
            "bare source at 1 m",
            at_1m,
            "Sv/s",
            formula="activity x sum(yield x coefficient) / (4 pi r2), x (1 + certificate's uncertainty)",
            source="lines x ICRP 74 H*(10) coefficients",
            basis=f"upper value, {source.activity_uncertainty:.3g} for the certificate counted in",
        ),
        Derived(
            "speed", min(speeds), "m/s", source="the order" if guide else "length of the way over its time"
        ),
    ]
    if guide:
        inputs.append(
            Derived(
                THROUGH_TUBE,
                tube.share[-1],
                "1",
                source="Monte Carlo to points about a piece of the tube, upper bound",
            )
        )
    inputs += _reaches(order, at_1m, tube if guide else None)
    how = "through the guide tube" if guide else "bare, without tube, pipe or wrap"
    return Derived(
        FIGURE,
        worst.value,
        "Sv",
        formula="largest over the named places; the barrier where none is named",
        inputs=tuple(inputs),
        source="integral of the inverse square law along the way of the source",
        basis=f"upper value, at {worst.name}; {len(collimators)} exposures, out and back, {how}",
    )


def _length_m(way: Sequence[Vec3]) -> float:
    return math.fsum(math.dist(a, b) for a, b in zip(way, way[1:], strict=False))


def _ring(weld: Weld, radius_m: float) -> list[Vec3]:
    """Points of the barrier at its wanted distance."""
    x, y, z = weld.at[0], weld.at[1], weld.floor_level_m + HEIGHT_M
    return [(x + radius_m * math.cos(a), y + radius_m * math.sin(a), z) for a in directions_rad()]


def _reaches(order: Order, at_1m: float, tube: Tube | None) -> list[Derived]:
    """How far from the travelling source the barrier's rate limit lies, by inverse square alone."""
    rate = order.limits.barrier.rate_Sv_s
    if rate is None:
        return []
    source = "inverse square; no air, no ground, no walls"
    found = [(f"{REACH} {'in line with the tube' if tube else 'from the source'} at", 1.0)]
    if tube:
        found.append((f"{REACH} beside the tube at", tube.share[-1]))
    return [Derived(name, math.sqrt(at_1m * share / rate), "m", source=source) for name, share in found]


def travel_of(shielding: Shielding | None) -> Derived | None:
    """The figure of the travelling source among those of a weld; None where its source stays in its head."""
    figures = shielding.derived if shielding is not None else ()
    return next((f for f in figures if f.name == FIGURE), None)


def reach_m(figure: Derived | None) -> dict[str, float]:
    """How far from the source on its way the barrier's rate limit lies [m]: `side` of its way, `line` of a tube."""
    found: dict[str, float] = {}
    for d in figure.inputs if figure is not None and figure.value is not None else ():
        if d.name.startswith(REACH) and isinstance(d.value, int | float):
            found.setdefault("line" if "in line" in d.name else "side", float(d.value))
    return found


def on_the_way(figure: Derived | None) -> dict[str, OnTheWay]:
    """The figures by place; the barrier under `AT_BARRIER`. Empty where nothing travels or nothing is computed."""
    found = {}
    for d in figure.inputs if figure is not None and figure.value is not None else ():
        if [i.name for i in d.inputs] == ["largest one way", "highest dose rate on the way"]:
            once, peak = (float(i.value or 0.0) for i in d.inputs)
            name = AT_BARRIER if d.name.startswith(f"{AT_BARRIER} at ") else d.name
            found[name] = OnTheWay(peak, float(d.value or 0.0), once)
    return found


def not_known(figure: Derived | None) -> bool:
    """True for a source that travels with doses that are not computed."""
    return figure is not None and figure.value is None


def above_rate(order: Order, figure: Derived | None) -> list[tuple[str, float, Limit]]:
    """Places, and the barrier, whose rate limit the travelling source breaks: name, highest rate, limit."""
    found = []
    ways = on_the_way(figure)
    limits: list[tuple[str, Limit | None]] = [(p.name, p.limit) for p in order.places]
    for name, limit in [*limits, (AT_BARRIER, order.limits.barrier)]:
        way = ways.get(name)
        if way and limit and limit.rate_Sv_s is not None and way.peak_Sv_s > limit.rate_Sv_s:
            found.append((name, way.peak_Sv_s, limit))
    return found


def ways_above(order: Order, figure: Derived | None) -> list[tuple[AccessRoute, float]]:
    """Ways into the area where the travelling source brings more than the barrier's rate limit: way, highest rate."""
    limit, ways = order.limits.barrier.rate_Sv_s, on_the_way(figure)
    found = [(r, ways[f"{WAY_IN}{r.name}"].peak_Sv_s) for r in order.access if f"{WAY_IN}{r.name}" in ways]
    return [(r, peak) for r, peak in found if limit is not None and peak > limit]


def transit_findings(order: Order, figure: Derived | None) -> list[Finding]:
    """What the travelling source means: stated for every place, a stop where it alone breaks a limit on dose."""
    if figure is None:
        return []
    if figure.value is None:
        return [Finding("warn", f"dose while the source travels {figure.basis}", relax=("guide_from",))]
    found = []
    ways = on_the_way(figure)
    told = []
    for place in order.places:
        way, limit = ways[place.name], place.limit
        told.append(f"{place.name} {_dose(way.dose_Sv)} (up to {_rate(way.peak_Sv_s)})")
        bounds = (
            (
                ("in any one hour", limit.in_any_hour_Sv, way.dose_Sv),
                ("per exposure", limit.per_exposure_Sv, 2 * way.once_Sv),
                ("per shift", limit.per_shift_Sv, way.dose_Sv * place.occupancy),
            )
            if limit
            else ()
        )
        for what, bound, value in bounds:
            if bound is not None and value > bound:
                found.append(
                    Finding(
                        "stop",
                        f"{place.name}: the source on its way alone gives up to {_dose(value)}, the limit "
                        f"{what} is {_dose(bound)}",
                        source=limit.basis if limit else "",
                        relax=("a better shielded guide tube", "the container farther from that place"),
                    )
                )
    above = above_rate(order, figure)
    if above:
        words = ", ".join(
            f"{name} (up to {_rate(peak)}, limit {_rate(limit.rate_Sv_s or 0.0)})"
            for name, peak, limit in above
        )
        bases = "; ".join(dict.fromkeys(limit.basis for _, _, limit in above))
        text = f"while the source travels the dose rate is above its limit at {words}"
        found.append(Finding("warn", text, bases, NOBODY_THERE))
    found.append(
        Finding("note", "source on its way, all exposures out and back: " + "; ".join(told), figure.source)
    )
    return found


def _dose(value_Sv: float) -> str:
    """A dose in words: three digits, never in powers of ten."""
    return f"{value_Sv * 1e6:.3g} uSv" if value_Sv < 1e-3 else f"{value_Sv * 1e3:.3g} mSv"


def _rate(value_Sv_s: float) -> str:
    """A dose rate in words: three digits, never in powers of ten."""
    per_hour = value_Sv_s * 3600
    return f"{per_hour * 1e6:.3g} uSv/h" if per_hour < 1e-3 else f"{per_hour * 1e3:.3g} mSv/h"


def with_travel(order: Order, shielding: Shielding, *, times: float = 1.0) -> tuple[Shielding, list[Finding]]:
    """The limits on dose at places with the source on its way counted in, and a stop for each that it breaks.

    The shield is sized without it (no layer at the weld lowers it); a dose printed without it would be too low. times:
    how often the planned exposures' ways are gone, over once.
    """
    figure = travel_of(shielding)
    if figure is None:
        return shielding, []
    ways = on_the_way(figure)
    places = {p.name: p for p in order.places}
    checks, found = [], []
    for c in shielding.limits:
        place = places.get(c.place)
        way = ways.get(c.place) or (ways.get(AT_BARRIER) if c.place.startswith("barrier ") else None)
        if place is None and not c.place.startswith("barrier "):
            checks.append(c)
            continue
        if way is None:
            checks.append(replace(c, ok=None if c.ok else c.ok))
            continue
        there = place.occupancy if place and c.kind in ("per shift", "per week", "per year") else 1.0
        more = 2 * way.once_Sv if c.kind == "per exposure" else way.dose_Sv * there * times
        one = _with(c, more)
        checks.append(one)
        if one.ok is False and c.ok is not False:
            dose = f"{_dose(one.upper_Sv)} {c.kind}, the limit is {_dose(c.limit_Sv)}"
            text = f"{c.place}: with the source on its way {dose}"
            relax = ("a better shielded guide tube", "the container farther from that place")
            limit = place.limit if place else order.limits.barrier
            found.append(Finding("stop", text, limit.basis if limit else "", relax))
    return replace(shielding, limits=tuple(checks)), found


def _with(c: LimitCheck, more_Sv: float) -> LimitCheck:
    upper = c.upper_Sv + more_Sv
    ok = False if upper > c.limit_Sv else c.ok
    words = f"{c.averaging}; the source on its way counted in"
    return replace(c, averaging=words, value_Sv=c.value_Sv + more_Sv, upper_Sv=upper, ok=ok)
