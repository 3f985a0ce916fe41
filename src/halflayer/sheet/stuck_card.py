"""The contingency card of one source as printed texts: bare and shielded rates, stay times, turn-back readings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from halflayer.sheet.contingency import HEADLINE
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.shielding.meter_range import BACKGROUND_SV_S
from halflayer.shielding.stuck import CREW_LIMIT, StayTime, StuckSource
from halflayer.shift.left import PER_YEAR, Taken, less_planned

STEP = "step 1"  # of the card: what its way out leaves for who is at the crank
A_YEAR = "all that a year may bring at once: for a recovery that the adviser plans, no time to stay"


def stuck_card(
    stuck: StuckSource,
    show: Show,
    taken: Mapping[str, Taken] | None = None,
    meter: str = "",
    carried: Mapping[str, int] | None = None,
    lost_under_Sv_s: float = BACKGROUND_SV_S,
    crank_s: int | None = None,
    planned_Sv: float | None = None,
) -> dict[str, Any]:
    """Content of the card. Doses and rates rounded up, times to a dose and turn-back readings rounded down.

    `taken`: what the plan already gives by kind of limit, as printed, taken off the doses that times are reckoned to.
    `meter`: what is said of the meter's own tolerance.
    `lost_under_Sv_s`: below it a reading says nothing.
    `crank_s`: what step 1 leaves at the crank, way out taken off: told beside longer times that have no way in them.
    `planned_Sv`: the most that an exposure with the source is planned to bring someone of the crew.
    `carried`: pieces that the kit list of the shift carries, by id: shields of more are left out; None: all are told.
    """
    stuck = stuck if carried is None else only_carried(stuck, carried)
    stuck = less_planned(stuck, taken or {})
    heads = [show.converted(s.what) for s in stuck.shields]
    stays: dict[StayTime, list[dict[str, Any]]] = {}
    first: dict[str, StayTime] = {}
    for t in _beside_it(stuck.stays):
        cells = [_time(t.bare_s, show), *(_time(v, show) for v in t.shielded_s)]
        stays.setdefault(first.setdefault(t.what, t), []).append(
            {"at": _at(t.distance_m, show), "cells": cells}
        )
    # One unit for the tables of all sources: who reads from one to the next in a hurry reads figures only.
    rates = show.column(
        [v for r in stuck.rows for v in (r.bare_Sv_s, *r.shielded_Sv_s)], "equivalent_rate", smallest=True
    )
    across = 1 + len(stuck.shields)
    home = [v for a in stuck.approach for v in (a.closed_Sv_s, a.turn_back_Sv_s, a.out_Sv_s)]
    above = show.column(home, "equivalent_rate", smallest=True)
    closed, out = above[0::3], above[2::3]
    turn_back = show.column(home, "equivalent_rate", floor=True, smallest=True)[1::3]
    limit = stuck.limit_distance
    reliable = [s for s in stuck.shields if isinstance(s.factor.value, int | float)]
    return {
        "source": stuck.source,
        "nuclide": stuck.nuclide,
        "activity": show.of(stuck.activity),
        "shields": heads,
        "rows": [
            {
                "distance": _at(r.distance_m, show),
                "cells": rates[n * across : (n + 1) * across],
            }
            for n, r in enumerate(stuck.rows)
        ],
        "stays": [
            {
                "what": f"{t.what}, {show.floor(t.dose_Sv, 'equivalent')}{_left(t, show, crank_s, planned_Sv)}",
                "rows": rows,
            }
            for t, rows in stays.items()
        ],
        "limit_distance": show.kept(float(limit.value))
        if isinstance(limit.value, int | float)
        else NOT_COMPUTED,
        "limit_basis": limit.basis,
        "rests_in": list(dict.fromkeys(a.head for a in stuck.approach)),
        "approach": [
            {
                "distance": _at(far, show),
                # By what the source rests in, in the sequence of `rests_in`.
                "cells": [
                    {
                        "head": a.head,
                        "closed": closed[n],
                        "turn_back": turn_back[n],
                        # Told from background only with background read before: its mark says so.
                        "low": a.turn_back_Sv_s < lost_under_Sv_s,
                    }
                    for n, a in enumerate(stuck.approach)
                    if a.distance_m == far
                ],
                "out": next(out[n] for n, a in enumerate(stuck.approach) if a.distance_m == far),
            }
            for far in dict.fromkeys(a.distance_m for a in stuck.approach)
        ],
        "low": show.up(lost_under_Sv_s, "equivalent_rate"),
        "approach_basis": "; ".join(w for w in (stuck.approach_basis, meter) if w),
        "basis": f"{stuck.at_1m.basis}; {stuck.at_1m.source}. Shielded: "
        + (
            # Shields differ in what follows the common part: each part once.
            "; ".join(
                dict.fromkeys(
                    part for s in reliable or stuck.shields for part in s.factor.basis.split("; ") if part
                )
            )
            or "no shield of these is carried"
        ),
        "headline": HEADLINE,
        "steps": [show.converted(s) for s in stuck.steps],
    }


def _beside_it(stays: tuple[StayTime, ...]) -> list[StayTime]:
    """The stays that are printed: minutes to a year's limit, beside those to the shift's or an exposure's, mislead.

    Who has only a limit of the year stated reads its times, with what they are.
    """
    sooner = [t for t in stays if t.what.removeprefix(CREW_LIMIT) != PER_YEAR]
    return sooner or list(stays)


def only_carried(stuck: StuckSource, carried: Mapping[str, int]) -> StuckSource:
    """The card without shields of more pieces than are carried: what lies in the store covers no source."""
    kept = [n for n, s in enumerate(stuck.shields) if s.pieces <= carried.get(s.id, 0)]
    return replace(
        stuck,
        shields=tuple(stuck.shields[n] for n in kept),
        rows=tuple(replace(r, shielded_Sv_s=tuple(r.shielded_Sv_s[n] for n in kept)) for r in stuck.rows),
        stays=tuple(replace(t, shielded_s=tuple(t.shielded_s[n] for n in kept)) for t in stuck.stays),
    )


def _left(stay: StayTime, show: Show, crank_s: int | None, planned_Sv: float | None) -> str:
    """What is left of a limit for whom, or that nothing was taken off it; no time here is the crank's."""
    kind = stay.what.removeprefix(CREW_LIMIT)
    what = f"; {A_YEAR}" if kind == PER_YEAR else ""
    if stay.left_Sv is None:
        most = (
            f" (up to {show.up(planned_Sv, 'equivalent', digits=2)})"
            if planned_Sv and kind == "per exposure"
            else ""
        )
        said = f"planned dose{most}, way out come on top"
        return f": {said}{_at_crank(crank_s, show)}{what}"
    so_far = (
        ", the year so far, this shift at most, carrying and survey taken off"
        if kind == PER_YEAR
        else f"; sheet 1's “at most” taken off, way out on top{_at_crank(crank_s, show)}"
    )
    if stay.left_Sv <= 0.0:
        return f": nothing is left for {stay.whose}{so_far}{what}"
    least = "least of those whose year is stated" if kind == PER_YEAR else "least of the crew"
    return f": {show.floor(stay.left_Sv, 'equivalent')} left for {stay.whose} ({least}){so_far}{what}"


def _at_crank(crank_s: int | None, show: Show) -> str:
    """How long the crank has, of which step 1 tells; empty where that is not known."""
    if crank_s is None:
        return ""
    return (
        f"; crank: {show.value(float(crank_s), 'time')} ({STEP})" if crank_s else f"; crank: no try ({STEP})"
    )


def _at(distance_m: float, show: Show) -> str:
    return show.value(distance_m, "length", digits=3)


def _time(seconds: float | None, show: Show) -> str:
    """A stay rounded down; more than a day is more than anyone stays."""
    if seconds is None:
        return NOT_COMPUTED
    if seconds <= 0.0:
        return "none left"
    if seconds >= 86400.0:
        return "over a day"
    if seconds < 1.0:
        return "under 1 s"
    step = 1 if seconds < 600.0 else 60 if seconds < 36000.0 else 3600
    return show.value(float(int(seconds / step) * step), "time", digits=3)
