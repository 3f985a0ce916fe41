"""The opened figures of the shield and the findings that come from its size, footprint and stock."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from halflayer.base.result import Derived, Finding
from halflayer.order.crew import Person
from halflayer.order.equipment import STRAPPED
from halflayer.order.models import Order
from halflayer.scene.build import Built
from halflayer.scene.fitting import Fitting
from halflayer.scene.wrap_layers import OVERLAP, least_round_lap_m
from halflayer.shielding import kit
from halflayer.shielding.crew import crew_dose
from halflayer.shielding.look import Rate, Setting
from halflayer.shielding.result import BudgetLine, LimitCheck
from halflayer.shielding.size import Sized
from halflayer.shielding.travelling import transit_figure, transit_findings, travels
from halflayer.technique.result import Candidate

FEWEST = "fewest with which the upper bound holds every limit"
NOT_HELD = "the last that was tried: the upper bound does not hold every limit"


def main_figures(
    setting: Setting,
    sized: Sized,
    built: Built,
    highest: Sequence[Rate],
    budget: Sequence[BudgetLine],
    k: float,
) -> tuple[Derived, ...]:
    """Plates, layers, k, footprint, added mass and the worst place as opened figures."""
    order, fitting = setting.order, sized.fitting
    lines = tuple(Derived(b.what, b.relative, "1", basis=b.basis) for b in budget)
    k_figure = Derived(
        "budget_k",
        k,
        "1",
        symbol="k",
        formula="gaps + sqrt(sum of squares of the others)",
        inputs=lines,
        source="printed budget, coverage factor 1.645",
    )
    asked = [r for r in highest if r.ask.limit_Sv_s is not None]
    worst = max(asked, key=lambda r: r.ratio(k), default=None)
    dose = Derived("worst_place", "no place with a limit", "")
    if worst is not None:
        dose = Derived(
            "worst_place",
            worst.upper_Sv_s(k),
            "Sv/s",
            sigma=worst.rate_Sv_s * worst.sigma_rel,
            symbol="H*(10) rate",
            formula="(estimate + 1.645 sigma) x (1 + k)",
            inputs=(
                Derived("estimate", worst.rate_Sv_s, "Sv/s", sigma=worst.rate_Sv_s * worst.sigma_rel),
                Derived("strictest limit as a rate", worst.ask.limit_Sv_s, "Sv/s"),
                k_figure,
                Derived("activity", setting.activity_Bq, "Bq", basis="at the moment of the shot"),
            ),
            source="Monte Carlo, independent random numbers",
            basis=worst.ask.name,
        )
    plate, blanket = kit.plate_kind(order, fitting), kit.blanket_kind(order, fitting)
    found = [
        Derived(
            "stop_plates",
            fitting.plates,
            "layers" if plate and plate.folded else "plates",
            formula=FEWEST if sized.held else NOT_HELD,
            inputs=(dose, Derived("thickness each", plate.thickness_m if plate else 0.0, "m")),
            source="shield search: sized on one seed, accepted on another",
            basis=sized.note,
        ),
        Derived(
            "blanket_layers",
            fitting.layers,
            "layers",
            formula=FEWEST if sized.held else NOT_HELD,
            inputs=(
                dose,
                Derived("mass per area of a layer", blanket.areal_density_kg_m2 if blanket else 0.0, "kg/m2"),
            ),
            source="shield search: sized on one seed, accepted on another",
            basis=sized.note or built.wrap.outline,
        ),
        k_figure,
        dose,
        Derived(
            "added_mass",
            kit.added_mass_kg(order, fitting, built.wrap),
            "kg",
            formula="plates + blankets",
            basis="measured mass per area of the blankets, density and size of the plates",
        ),
        Derived(
            "beam_footprint_along",
            built.footprint_m[0],
            "m",
            formula="rim rays of the aperture + penumbra",
            source="exact geometry of the point source's rim rays; similar triangles for the penumbra",
            basis=f"on the {built.footprint_on}",
        ),
        Derived("beam_footprint_across", built.footprint_m[1], "m", basis=f"on the {built.footprint_on}"),
    ]
    travelling = _transit(setting)
    return tuple([*found, travelling] if travelling else found)


def _transit(setting: Setting) -> Derived | None:
    """Dose while the source travels through a guide tube or into the bore; None where it stays in its head."""
    if not travels(setting.order, setting.candidate):
        return None
    built = [setting.build(Fitting(), shot) for shot in setting.candidate.shots]
    return transit_figure(
        setting.order,
        setting.weld,
        setting.candidate,
        [b.to_site(b.source_at) for b in built],
        activity_Bq=setting.activity_Bq,
        energies_keV=setting.energies_keV,
        photons_per_decay=setting.photons_per_decay,
    )


def footprint_findings(setting: Setting, built: Built, fitting: Fitting) -> list[Finding]:
    """The beam against the size of plates and blankets; the source on its way;
    the load of the legs.
    """
    along, across = built.footprint_m
    travelling = transit_findings(setting.order, _transit(setting))
    plate, blanket = kit.plate_kind(setting.order, fitting), kit.blanket_kind(setting.order, fitting)
    found = [*travelling, *load_findings(setting, fitting)]
    if plate and fitting.plates and (along > plate.along_m or across > plate.across_m):
        found.append(
            Finding(
                "warn",
                f"the beam lights {along * 1000:.0f} x {across * 1000:.0f} mm on the stop, the plates are "
                f"{plate.along_m * 1000:.0f} x {plate.across_m * 1000:.0f} mm: what passes beside them is in the dose",
                relax=("a smaller aperture", "larger plates"),
            )
        )
    strapped = setting.candidate.arrangement in STRAPPED and built.footprint_on == "blanket"
    if strapped and blanket and fitting.layers and along > blanket.width_m:
        found.append(
            Finding(
                "note",
                f"the beam lights {along * 1000:.0f} mm along the pipe on the far side, more than the "
                f"{blanket.width_m * 1000:.0f} mm width of a blanket: {built.wrap.pieces_beside} side by side, "
                "no seam on another. To cover the beam: "
                + ", ".join(
                    f"{kind.id} ({kind.width_m * 1000:.0f} mm) {n} wide"
                    for kind, n in kit.beam_against_widths(setting.order, along)
                )
                + "".join(
                    f". {kind.id} lies on the far side and over the head"
                    for kind, _ in kit.taken(setting.order, fitting, built.wrap)
                    if kind.id != blanket.id
                ),
                source="exact footprint of the beam; widths of the kit",
            )
        )
    return found


def load_findings(setting: Setting, fitting: Fitting) -> list[Finding]:
    """Head, shroud and stop against what the legs carry."""
    order, candidate = setting.order, setting.candidate
    legs = next((g for g in order.kit.legs if g.id == candidate.legs), None)
    plate, shroud = kit.plate_kind(order, fitting), kit.shroud_kind(order, candidate.shroud)
    if legs is None:
        return []
    load = setting.head.mass_kg + (shroud.mass_kg if shroud else 0.0)
    load += plate.mass_kg(fitting.plates) if plate and not plate.folded else 0.0
    if load <= legs.carries_kg + 1e-9:
        return []
    return [
        Finding(
            "stop",
            f"head{', shroud' if shroud else ''} and stop weigh {load:.1f} kg, "
            f"{legs.id} carries {legs.carries_kg:g} kg",
            source="kit of the order",
            relax=(f"legs that carry {math.ceil(load)} kg",),
        )
    ]


def stock_findings(order: Order, fitting: Fitting, built: Built) -> list[Finding]:
    """Blankets needed against the number in the kit: a layer's length grows a little with each layer under it."""
    blanket = kit.blanket_kind(order, fitting)
    needed = kit.pieces(order, fitting, built.wrap)
    stop = kit.plate_kind(order, fitting)
    if blanket and stop and stop.id == blanket.id:  # the same blankets make the stop
        needed += stop.pieces(fitting.plates)
    if blanket and needed > blanket.count:
        return [
            Finding(
                "stop",
                f"{needed} blankets {blanket.id} are needed, the kit holds {blanket.count}",
                relax=(f"{needed - blanket.count} more blankets",),
            )
        ]
    return []


def lap_findings(order: Order, fitting: Fitting, built: Built) -> list[Finding]:
    """Where the outer layers are too long for their pieces, as laps along the pipe lie one over another under them."""
    blanket = kit.blanket_kind(order, fitting)
    # A tent's pieces lie crosswise, drawn in to a circle: no length closes a turn.
    if blanket is None or not fitting.layers or built.wrap.lay is not None:
        return []
    laid = built.wrap.layers[: fitting.layers]
    asked, least = OVERLAP * blanket.length_m, least_round_lap_m(laid, blanket)
    if least >= asked - 0.0005 or laid[-1].over_laps_m:
        return []
    mm = math.floor(least * 1000)
    left = f"laps round only {mm} mm" if mm > 0 else f"is {-mm} mm short of closing"
    text = (
        f"{blanket.id}: the outermost layer {left} where the widths lap along the pipe, {asked * 1000:.0f} mm asked: "
        "left so, no piece is laid over it: read there in every survey"
    )
    return [Finding("warn", text, "geometry of the layers", ("longer blankets", "more blankets"))]


def crew_with_limits(
    order: Order, candidate: Candidate, person: Person, **rates: Any
) -> tuple[Derived, LimitCheck | None]:
    """One person's dose for the weld, and how it stands against the crew's limit per shift where there is one."""
    dose = crew_dose(order, candidate, person, **rates)
    limit = order.limits.crew.per_shift_Sv
    if limit is None:
        return dose, None
    value = float(dose.value) if isinstance(dose.value, float) else math.nan
    known = math.isfinite(value)
    # A part that is not computed leaves the sum unknown, and an unknown sum never holds.
    parts = [float(p.value) for p in dose.inputs if isinstance(p.value, float)]
    least = math.fsum(parts)
    return dose, LimitCheck(
        person.name,
        "per shift",
        "this weld only",
        value if known else least,
        value if known else least,
        limit,
        (value <= limit) if known else (False if least > limit else None),
    )
