"""Survey points and dose tables: expected reading, turn-back reading, limit and verdict of every place."""

from __future__ import annotations

import math
from typing import Any

from halflayer.order.models import Order
from halflayer.order.weld import Weld
from halflayer.sheet.figures import NOT_COMPUTED, Show, percent_up
from halflayer.shielding.result import LimitCheck, PointDose, Shielding

FRONT_ROWS = 14  # survey points that page 1 has room for
QUANTITY = "H*(10)"


def _distance(weld: Weld, p: PointDose) -> float:
    centre = (weld.at[0], weld.at[1], weld.floor_level_m + weld.height_m)
    return math.dist(centre, p.at)


def total_sigma(p: PointDose, k: float) -> float:
    """One standard deviation of a rate [Sv/s]: the noise of the calculation and the budget k (at 1.645) together."""
    return p.rate_Sv_s * math.hypot(p.sigma_rel, k / 1.645)


def _urgency(p: PointDose) -> tuple[int, float]:
    if p.limit_Sv_s is None:
        return (2, -p.upper_Sv_s)
    return (0 if p.ok is not True else 1, -p.upper_Sv_s / p.limit_Sv_s)


def verdict(ok: bool | None, *, limited: bool, reliable: bool = True) -> str:
    """The verdict in words."""
    if not reliable:
        return "not reliable"
    if not limited:
        return "no limit"
    return NOT_COMPUTED if ok is None else "holds" if ok else "breaks"


def numbered(shielding: Shielding) -> list[tuple[int, PointDose]]:
    """All points, the most pressing first, with the numbers that sheet and plan carry."""
    return list(enumerate(sorted(shielding.points, key=_urgency), start=1))


def rows(order: Order, weld: Weld, shielding: Shielding, show: Show) -> list[dict[str, Any]]:
    """Every point as printed texts, in the order of `numbered`."""
    del order
    out = []
    for n, p in numbered(shielding):
        shares = sorted(p.shares.items(), key=lambda s: -s[1])
        out.append(
            {
                "n": n,
                "name": p.name,
                "distance": show.value(_distance(weld, p), "length", digits=2),
                "expected": show.pm(p.rate_Sv_s, total_sigma(p, shielding.k), "equivalent_rate"),
                "noise": percent_up(p.sigma_rel),
                "upper": show.value(p.upper_Sv_s, "equivalent_rate", digits=2),
                "limit": show.floor(p.limit_Sv_s, "equivalent_rate") if p.limit_Sv_s is not None else "–",
                "turn_back": show.floor(p.turn_back_Sv_s, "equivalent_rate"),
                "verdict": verdict(p.ok, limited=p.limit_Sv_s is not None, reliable=p.reliable),
                "from_short": ", ".join(f"{_plain(k)} {show.share(v)}" for k, v in shares[:2] if v >= 0.005),
                "from": ", ".join(f"{_plain(k)} {show.share(v)}" for k, v in shares[:3] if v >= 0.005),
            }
        )
    return out


def _plain(share: str) -> str:
    return share.removeprefix("from ").removeprefix("the ")


def limit_rows(checks: tuple[LimitCheck, ...], show: Show) -> list[dict[str, str]]:
    """Limits of other kinds than a rate, as printed texts."""
    return [
        {
            "place": c.place,
            "kind": c.kind,
            "averaging": c.averaging,
            "value": show.value(c.value_Sv, "equivalent", digits=2),
            "upper": show.value(c.upper_Sv, "equivalent", digits=2),
            "limit": show.floor(c.limit_Sv, "equivalent"),
            "verdict": verdict(c.ok, limited=True),
        }
        for c in checks
    ]


def barrier(shielding: Shielding | None, show: Show) -> tuple[str, str]:
    """Barrier distance as printed, and what it rests on."""
    if shielding is None:
        return NOT_COMPUTED, ""
    b = shielding.barrier_m
    if b.value is None:
        return "none within reach", b.basis or b.formula
    return show.pm(float(b.value), b.sigma, "length", up=True), b.formula or b.basis
