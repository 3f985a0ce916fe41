"""Derivations in short: a figure, its formula, what entered it and where that comes from."""

from __future__ import annotations

from typing import Any

from halflayer.base.result import Derived
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show


def entry(figure: Derived, show: Show, *, inputs: int = 4) -> dict[str, Any]:
    """One figure with its first level of inputs, as printed texts."""
    used = [
        f"{_label(i)} {show.of(i)}" + (f" [{i.source}]" if i.source else "") for i in figure.inputs[:inputs]
    ]
    if len(figure.inputs) > inputs:
        used.append(f"and {len(figure.inputs) - inputs} more")
    return {
        "name": plain(figure.name),
        "value": show.of(figure),
        "formula": figure.formula,
        "inputs": used,
        "source": figure.source or figure.basis,
    }


def plain(name: str) -> str:
    """A figure's name as words."""
    return name.replace("_", " ")


def _label(figure: Derived) -> str:
    return figure.symbol or plain(figure.name)


def main_figures(w: WeldPlan, show: Show, *, most: int = 5) -> list[dict[str, Any]]:
    """The figures a checker asks for first: time, activity, barrier, plates and layers, then geometry."""
    figures: list[Derived] = []
    if w.exposure:
        figures += [s.seconds for s in w.exposure.shots[:1]]
        figures.append(w.exposure.activity)
    if w.shielding:
        figures += [w.shielding.barrier_m, w.shielding.barrier_hour_m]
        figures += w.shielding.derived
    if w.chosen:
        figures += w.chosen.derived
    seen: set[str] = set()
    out = []
    for f in figures:
        if f.name not in seen and f.value is not None:
            seen.add(f.name)
            out.append(entry(f, show))
    return out[:most]
