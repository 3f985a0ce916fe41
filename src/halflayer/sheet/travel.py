"""The dose at places while the source travels to the weld, as a table for the sheet."""

from __future__ import annotations

from typing import Any

from halflayer.base.result import Derived, Finding
from halflayer.base.units import number
from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.sheet.survey import beside_limits
from halflayer.shielding.travelling import AT_BARRIER, NOBODY_THERE, REACH, WAY_IN, on_the_way, travel_of


def told_by_table(f: Finding) -> bool:
    """True for what the table says itself: doses by place, and rates above their limits, marked there."""
    return f.relax == NOBODY_THERE or f.text.startswith("source on its way, all exposures out and back")


def transit_rows(order: Order, w: WeldPlan, show: Show) -> dict[str, Any]:
    """`rows` of place, doses and highest rate with their limit, and a `note`; no rows where nothing travels."""
    figure = travel_of(w.shielding)
    if figure is None:
        return {"rows": [], "note": "", "said": ""}
    ways = on_the_way(figure)
    limits = [(p.name, p.limit) for p in order.places]
    barrier = next((d.name for d in figure.inputs if d.name.startswith(f"{AT_BARRIER} at ")), AT_BARRIER)
    told = []
    # At a way in, the barrier's limit: whoever comes through it stands where the barrier should.
    doors = [(f"{WAY_IN}{r.name}", order.limits.barrier) for r in order.access]
    for name, limit in [*limits, (AT_BARRIER, order.limits.barrier), *doors]:
        way = ways.get(name)
        if way is None:
            continue
        rate = limit.rate_Sv_s if limit else None
        told.append(
            (
                show.converted(barrier).replace(AT_BARRIER, "survey ring", 1)
                if name == AT_BARRIER
                else name.removeprefix(WAY_IN),
                way,
                rate,
            )
        )
    # Each column in one unit, limits in that of the rates beside them.
    doses = show.column([v for _, way, _ in told for v in (way.dose_Sv, way.once_Sv)], "equivalent")
    peaks, beside = beside_limits(
        [show.raised(way.peak_Sv_s, "equivalent_rate", digits=2) for _, way, _ in told],
        [rate for _, _, rate in told if rate is not None],
        "equivalent_rate",
        show,
    )
    bounds = iter(beside)
    rows = [
        {
            "place": place,
            "dose": doses[2 * n],
            "once": doses[2 * n + 1],
            "peak": peaks[n],
            "limit": "–" if rate is None else next(bounds),
            "above": rate is not None and way.peak_Sv_s > rate,
        }
        for n, (place, way, rate) in enumerate(told)
    ]
    if not rows:
        return {"rows": [], "note": show.converted(figure.basis), "said": ""}
    inputs = {f.name: f for f in figure.inputs}
    tube = _SHARE in inputs
    parts = [_said(name, f, show) for name, f in inputs.items() if name in _SAID]
    # What is reached is said once, where and how far off for each.
    said = [
        f"{REACH if n == 0 else 'and'}{name.removeprefix(REACH)} {show.kept(float(f.value or 0.0))}"
        for n, (name, f) in enumerate((name, f) for name, f in inputs.items() if name.startswith(REACH))
    ]
    how = "through the guide tube" if tube else "bare: neither pipe nor wrap is counted"
    return {
        "rows": rows,
        "note": "; ".join([how, *parts, "the certificate's uncertainty counted in"]),
        "said": " ".join(said) + (" (no air, no walls)" if said else ""),
    }


_SHARE = "share through the tube, sideways"
_SAID = ("bare source at 1 m", "speed", _SHARE)


def _said(name: str, figure: Derived, show: Show) -> str:
    """A figure behind the travel in the units of the sheet: a speed has no kind of its own among the others."""
    if name == "speed" and show.system == "imperial" and isinstance(figure.value, int | float):
        return f"speed {number(float(figure.value), 'ft'):.3g} ft/s"
    return f"{name.replace('1 m', show.value(1.0, 'length'))} {show.of(figure)}"


def route(weld: Weld, show: Show) -> str:
    """Where the container stands and how the source gets to the weld, on the site; empty where nothing is stated."""
    if weld.guide_from is None:
        return ""
    x, y, z = weld.guide_from
    by = ", by " + " and ".join(spot(p, show) for p in weld.guide_by) if weld.guide_by else ", straight"
    return f"container at site {spot((x, y, z), show)}{by}"


def spot(p: tuple[float, float, float], show: Show) -> str:
    """A place on the site in words."""
    unit = "ft" if show.system == "imperial" else "m"
    x, y, z = (f"{number(c, unit):.2f}".rstrip("0").rstrip(".") for c in p)
    return f"x {x}, y {y}, {z} {unit} up"
