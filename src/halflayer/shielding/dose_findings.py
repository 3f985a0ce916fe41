"""What the doses of a sized shield mean for the plan, as findings."""

from __future__ import annotations

import math
from collections.abc import Sequence

from halflayer.base.result import Finding
from halflayer.base.units import show
from halflayer.shielding.asks import Ask
from halflayer.shielding.result import PointDose
from halflayer.shielding.size import Sized

COMES = "; the dose there comes"  # of a stop's text: what follows says why, not by how much
FAR = 2.5  # an unreliable figure so far under its limit does not stop a plan, and is not said to hold either


def dose_findings(sized: Sized, points: Sequence[PointDose], unseen: Sequence[Ask]) -> list[Finding]:
    found = []
    if not sized.held:
        found.append(
            Finding(
                "stop",
                _not_held(sized, points),
                source="shield search",
                relax=_relaxations(sized, points),
            )
        )
    vague = [p for p in points if p.limit_Sv_s is not None and p.ok is None]
    near = [p.name for p in vague if p.limit_Sv_s is not None and p.upper_Sv_s > p.limit_Sv_s / FAR]
    far = [p.name for p in vague if p.name not in near]
    if near and sized.held:
        found.append(
            Finding(
                "stop",
                "not proved: the dose rate is not known reliably enough at " + _some(near),
                source="reliability of a Monte Carlo score",
                relax=("a longer run of the plan (--prove)",),
            )
        )
    if far and sized.held:
        found.append(
            Finding(
                "warn",
                f"estimates at {_some(far)} lie more than {FAR:g} times under their limits but are not known reliably: "
                "they are not said to hold; read in the survey, where people are in the first",
                source="reliability of a Monte Carlo score",
            )
        )
    if sized.enlarged and sized.held:
        found.append(
            Finding(
                "note",
                f"the first size was refused by the independent random numbers and grew by {sized.enlarged}",
            )
        )
    for a in unseen:
        found.append(
            Finding(
                "stop" if a.kinds else "warn",
                f"dose at {a.name} not computed: the place lies inside the set-up",
            )
        )
    return found


def _not_held(sized: Sized, points: Sequence[PointDose]) -> str:
    """Why no shield of the stock does, at the place that the table of doses shows as the worst.

    The sizing looks with other random numbers than the doses that are printed: its own worst place is named only
    where none of the printed rates breaks its limit.
    """
    shield = f"with {sized.fitting.plates} plates and {sized.fitting.layers} layers the upper bound"
    top = _worst(points)
    if top is None:
        return f"{sized.note}: {shield} at {sized.last.name} is {sized.last.ratio:.3g} times the limit (in the sizing)"
    shares = sorted(top.shares.items(), key=lambda kv: -kv[1])[:2]
    origin = ", ".join(f"{name} ({share:.0%})" for name, share in shares if share >= 0.05)
    comes = f"{COMES} {origin}" if origin else ""
    why = "more layers do not help" if sized.saturated else sized.note
    return f"{why}: {shield} at {top.name} is {_over(top):g} times the limit{comes}"


def _worst(points: Sequence[PointDose]) -> PointDose | None:
    """The place that exceeds its rate limit most; None where none does."""
    broken = [p for p in points if p.ok is False and p.limit_Sv_s]
    return max(broken, key=lambda p: p.upper_Sv_s / (p.limit_Sv_s or 1.0), default=None)


def _over(p: PointDose) -> float:
    """How many times its limit a dose is, rounded up to a tenth."""
    return math.ceil(p.upper_Sv_s / (p.limit_Sv_s or 1.0) * 10 - 1e-9) / 10


def _relaxations(sized: Sized, points: Sequence[PointDose]) -> tuple[str, ...]:
    """What would make the weld go, by how much, and who agrees; by inverse square, as if nothing stood between.

    How much more shield is not computed: the search ends with the stock, or where more of it no longer tells.
    """
    top = _worst(points)
    weaker, farther = "a weaker source", "people farther away"
    if top is not None:
        over = _over(top)
        weaker = f"a source {over:g} times weaker (who holds its licence; the time grows as much)"
        farther = (
            f"nobody nearer than {math.ceil(math.sqrt(over) * 10) / 10:g} times the distance of {top.name} (inverse "
            f"square; the adviser and who owns the place){_not_lifted(points, top)}"
        )
    f = sized.fitting
    tried = f"{f.plates} plate{'s' * (f.plates != 1)} and {f.layers} layer{'s' * (f.layers != 1)}"
    more = (
        f"a shield of another kind or shape than {tried}, of which more did not lower the dose: how much is not "
        "computed (who owns the kit)"
        if sized.saturated
        else f"more or heavier plates or blankets than {tried}: how many is not computed, the search ends with the "
        "stock; halflayer compare looks beyond it (who owns the kit)"
    )
    return (
        weaker,
        farther,
        more,
        "another way to shoot: whoever planned can compare them all, by how much each misses and who agrees; its dose "
        "is not computed here",
    )


def _not_lifted(points: Sequence[PointDose], top: PointDose) -> str:
    """Named places over their limits that stay where they are, however far people keep; empty where none is."""
    fixed = [
        p
        for p in points
        if p.ok is False and p.limit_Sv_s and p is not top and not p.name.startswith("barrier ")
    ]
    if not fixed:
        return ""
    told = ", ".join(
        f"{p.name} ({show(p.upper_Sv_s, 'equivalent_rate', digits=2)} of "
        f"{show(p.limit_Sv_s or 0.0, 'equivalent_rate', round_up=False)})"
        for p in fixed
    )
    return f"; DOES NOT LIFT: {told}"


def _some(names: Sequence[str]) -> str:
    """The first few of a list of places."""
    return ", ".join(names[:4]) + (f" and {len(names) - 4} other places" if len(names) > 4 else "")
