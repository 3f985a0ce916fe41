"""The order's table of all that two Level 3 sign: agreements of the contract, and what is accepted with the code."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from halflayer.order.models import Order
from halflayer.plan import Plan, WeldPlan, in_shift
from halflayer.sheet.clause import settles
from halflayer.sheet.clauses_compared import boxes
from halflayer.sheet.code_and_films import code_figures, opened_off
from halflayer.sheet.figures import NOT_COMPUTED, Show
from halflayer.sheet.grouped import NOT_SIGNED, agreements, apart, parties, to_sign
from halflayer.sheet.inspection import short_by_diagonal
from halflayer.sheet.lap_markers import OWN_ENDS, lap_m, own_ends
from halflayer.sheet.letters_place import BY_LIGHT, by_light
from halflayer.sheet.to_sign import AGREEMENT
from halflayer.technique.editions import WORKED_FROM
from halflayer.technique.ellipse import FILM_SHARE, ends_m, wanted_opening_m

FIGURES = "m/r figures: m from memory"
# Of rows that both sign whom the table's heading names.
AS_ABOVE = to_sign(("purchaser", "contractor"), line="_" * 17)


def agreement_rows(plan: Plan, order: Order, show: Show) -> list[dict[str, Any]]:
    """Every row of the table, those that are not signed first."""
    every = [w.weld for w in plan.welds]
    rows = agreements(plan, every, order.agreements, show, order)
    # In the word by which the rows of what waits for it name it.
    rows = [
        r | {"text": f"{AGREEMENT}: {r['text']}"} if r["signed"].startswith(NOT_SIGNED) else r for r in rows
    ]
    rows += accepted(plan, order)
    rows.sort(key=lambda r: not r["signed"].startswith(NOT_SIGNED))
    full = to_sign(parties(order))
    rows = [r | {"signed": AS_ABOVE} if r["signed"] == full else r for r in rows]
    return [r | {"ticked": boxes(plan, order, show) if r["text"].startswith(FIGURES) else []} for r in rows]


def signed_by(order: Order) -> str:
    """Who signs the rows that name a purchaser and a contractor alone, without what stands in brackets behind them."""
    return " and ".join(who.partition(" (")[0] for who in parties(order))


def accepted(plan: Plan, order: Order) -> list[dict[str, Any]]:
    """What both accept with the code's figures, each with the welds that stand on it; empty where nothing is shot.

    Figures from memory or a stored page; where the code names no bound or was not at hand, the reading planned by.
    """
    if not code_figures(plan, order):
        return []
    ready = [w for w in plan.welds if w.status == "ready" and w.chosen is not None]
    apart_laps = [w for w in ready if own_ends(w.chosen, w.exposure)]
    told = [
        (
            f"{FIGURES}, r read in a stored page, by own copy of {settles(order).partition(',')[0]}",
            ready,
        ),
        (_editions(order, ready), ready),
        (
            "source size d: larger of diameter and length (7.6, EN 12679; m), not diagonal; else not shot",
            [w for w in ready if short_by_diagonal(order, order.weld(w.weld), w.chosen)],
        ),
        (_opened(order, opened_off(ready), Show(order.units)), opened_off(ready)),
        (BY_LIGHT, [w for w in ready if _by_light(order, w)]),
        (_laps(order, apart_laps, Show(order.units)), apart_laps),
    ]
    return [
        {
            "text": text,
            "stands": ", ".join(w.weld for w in on),
            "welds": "every weld" if len(on) == len(ready) else apart(plan, [w.weld for w in on]),
            "signed": to_sign((parties(order)[0], order.code_checked_by or parties(order)[1])),
        }
        for text, on in told
        if on
    ]


def _opened(order: Order, welds: list[WeldPlan], show: Show) -> str:
    """What is asked and planned of each opening, and what both accept on the film."""
    each = []
    for w in welds:
        if w.chosen is None or (planned := w.chosen.geometry.opening_m) is None:
            continue
        weld = order.weld(w.weld)
        if (ends := ends_m(weld, w.chosen)) is not None:
            wanted = wanted_opening_m(weld.cap.width_m)
            low, high = (show.drawn(m) for m in ends)
            each.append(
                f"{w.weld} planned {show.drawn(planned)}, asked {show.drawn(wanted)}, film {low} to {high}"
            )
    share = f"{100 * FILM_SHARE:g} %"
    about = f"film: {share} past either; our choice"
    return f"ellipse opening: not about one weld width (7.1.6; m): {'; '.join(each)} ({about})"


def _laps(order: Order, welds: list[WeldPlan], show: Show) -> str:
    """What of the laps of double images is ours: markers of each film alone, and a length that no code names."""
    found = [lap_m(w.chosen, w.exposure, order.weld(w.weld)) for w in welds if w.chosen]
    laps = sorted({show.drawn(m): m for m in found if m is not None}.items(), key=lambda lap: lap[1])
    by = dict.fromkeys(
        "T-275" if order.code_of(order.weld(w.weld)).startswith("ASME") else "6.6" for w in welds
    )
    span = " to ".join(dict.fromkeys((laps[0][0], laps[-1][0]))) if laps else NOT_COMPUTED
    return (
        f"{OWN_ENDS} of double images: each film its own end markers, none on both ({', '.join(by)}; m); {span} by "
        f"{'the order' if order.lap_m is not None else 'our rule'}"
    )


def _editions(order: Order, welds: Iterable[WeldPlan]) -> str:
    """By which edition the sheets work and which nobody looked at: the contract may call up another."""
    codes = dict.fromkeys(order.code_of(order.weld(w.weld)) for w in welds)
    return "; ".join(
        f"edition {code.rpartition(':')[2]} of {code.rpartition(':')[0]}: "
        f"{WORKED_FROM[code][1].replace('edition 20', '20').replace('later editions', 'later')}"
        for code in codes
    )


def to_accept(plan: Plan, order: Order) -> int:
    """How many of those rows welds of this shift stand on: nobody has signed one before it."""
    mine = {w.weld for w in in_shift(plan)}
    return sum(bool(mine & set(r["stands"].split(", "))) for r in accepted(plan, order))


def _by_light(order: Order, w: WeldPlan) -> bool:
    return by_light(order, order.weld(w.weld), w.chosen, w.exposure)
