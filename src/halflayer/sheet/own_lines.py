"""Lines of a survey row for exposures with turn-back readings of their own, where a point tells a loss in each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from halflayer.order.models import Order
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show
from halflayer.sheet.first_exposure import First
from halflayer.sheet.number_words import runs
from halflayer.sheet.survey_again import in_lower_line


def with_own_lines(order: Order, w: WeldPlan, rows: list[dict[str, Any]], show: Show) -> list[dict[str, Any]]:
    """The rows, in those of such points the lower line with each exposure's figures behind its number.

    The upper line is that of the exposure shot first, which may be the one that brings most. The lower one has the
    number of its first exposure in `first.at`, as in other rows, and a common unit behind the last figure.
    """
    found = in_lower_line(order, w)
    return [_row(r, found[r["n"]], show) if r["n"] in found else r for r in rows]


def _row(r: dict[str, Any], own: Mapping[tuple[int, ...], First | None], show: Show) -> dict[str, Any]:
    most = (r["reads"], r["turn_back"])
    lines = {
        runs(at): most
        if f is None
        else (
            show.pm(f.rate_Sv_s, f.sigma_Sv_s, "equivalent_rate") if f.sigma_Sv_s is not None else "",
            show.floor(f.back_Sv_s, "equivalent_rate", digits=2),
        )
        for at, f in own.items()
    }
    # Without one of its own the exposure shot first brings most.
    upper = r["first"] or {"reads": most[0], "turn_back": most[1], "low": r["low"]}
    return r | {
        "first": upper | {"at": next(iter(lines))},
        "reads": _joined({at: reads for at, (reads, _) in lines.items()}, upper["reads"]),
        "turn_back": _joined({at: back for at, (_, back) in lines.items()}, upper["turn_back"]),
    }


def _joined(told: dict[str, str], upper: str) -> str:
    """Figures one behind the other, each but the first behind its exposures; more than one in the upper line's unit.

    Of several the figure alone: its standard deviation finds no room, and the turn-back reading holds it.

    >>> _joined({"2": "2.1 ± 0.3 uSv/h", "3": "1.3 ± 0.2 uSv/h"}, "5.1 ± 0.4 uSv/h")
    '2.1 (3) 1.3'
    >>> _joined({"2": "2.1 ± 0.3 uSv/h"}, "5.1 ± 0.4 uSv/h")
    '2.1 ± 0.3 uSv/h'
    """
    if len(told) == 1:
        return next(iter(told.values()))
    unit = upper.rpartition(" ")[2]
    parts = []
    for n, (at, words) in enumerate(told.items()):
        figure, _, own = words.rpartition(" ")
        figure = figure.partition(" ± ")[0] + ("" if own == unit else f" {own}")
        parts.append(f"({at}) {figure}" if n else figure)
    return " ".join(parts)
