"""Every limit that an order states, with its basis."""

from __future__ import annotations

from halflayer.order.limits import Limit
from halflayer.order.models import Order
from halflayer.sheet.figures import Show

LIMIT_KINDS = (
    ("rate_Sv_s", "rate", "equivalent_rate"),
    ("in_any_hour_Sv", "in any one hour", "equivalent"),
    ("per_exposure_Sv", "per exposure", "equivalent"),
    ("per_shift_Sv", "per shift", "equivalent"),
    ("per_week_Sv", "per week", "equivalent"),
    ("per_year_Sv", "per year", "equivalent"),
)

AVERAGED = "rate: of each exposure, not averaged; over what time its rule averages: not in the order, ask the adviser"
MOST_PLACES = 6  # places named in one row of the limits; the build sheets name them all


def _limit(where: str, limit: Limit, show: Show) -> list[dict[str, str]]:
    out = []
    for field, words, kind in LIMIT_KINDS:
        value = getattr(limit, field)
        if value is not None:
            out.append(
                {
                    "where": where,
                    "kind": words,
                    "value": show.floor(value, kind),
                    "basis": show.converted(limit.basis),
                }
            )
    return out


def no_dose_limit(order: Order) -> str:
    """Places where people are whose dose no limit of the order holds, by name; empty: all have one."""
    kinds = [field for field, _, kind in LIMIT_KINDS if kind == "equivalent"]
    return ", ".join(
        p.name
        for p in order.places
        if p.kind == "people" and not any(p.limit and getattr(p.limit, field) for field in kinds)
    )


def averaged(order: Order) -> str:
    """Over what time rates are averaged; empty without a limit on a rate.

    Held are the rates of each exposure themselves, so that a rule that averages over more is held too.
    """
    limits = [order.limits.barrier, *(p.limit for p in order.places_and_floors if p.limit)]
    if all(one.rate_Sv_s is None for one in limits):
        return ""
    dose = (
        f"; dose at {names}: no limit in the order, the adviser states it"
        if (names := no_dose_limit(order))
        else ""
    )
    return f"{AVERAGED}{dose}"


def limit_rows(order: Order, show: Show) -> list[dict[str, str]]:
    """Every limit of the order with its basis; equal limits of several places in one row."""
    rows: list[dict[str, str]] = []
    merged: dict[tuple[str, str, str], list[str]] = {}
    for r in _limit("barrier", order.limits.barrier, show):
        merged.setdefault((r["kind"], r["value"], r["basis"]), []).append(r["where"])
    for p in order.places:
        for r in _limit(p.name, p.limit, show) if p.limit else []:
            merged.setdefault((r["kind"], r["value"], r["basis"]), []).append(p.name)
    for f in order.floors:
        for r in _limit(f.name, f.limit, show) if f.limit else []:
            merged.setdefault((r["kind"], r["value"], r["basis"]), []).append(f.name)
    for (kind, value, basis), places in merged.items():
        where = ", ".join(places if len(places) <= MOST_PLACES else [*places[: MOST_PLACES - 1]])
        if len(places) > MOST_PLACES:
            where += f" and {len(places) - MOST_PLACES + 1} more places"
        rows.append({"where": where, "kind": kind, "value": value, "basis": basis})
    with_barrier = sum(r["where"].startswith("barrier") for r in rows)
    return [*rows[:with_barrier], *_limit("crew, each person", order.limits.crew, show), *rows[with_barrier:]]
