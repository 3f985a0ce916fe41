"""Derivations in short: a figure, its formula, what entered it and where that comes from."""

from __future__ import annotations

import re
from typing import Any

from halflayer.base.result import Derived
from halflayer.order.equipment import ON_A_STAND
from halflayer.plan import WeldPlan
from halflayer.sheet.figures import Show, percent_up

# On the sheet in parts of their own, or not of the set-up.
ELSEWHERE = ("budget_k", "worst_place", "added_mass", "beam_footprint_along", "beam_footprint_across", "transit_dose",
             "bare_barrier_distance")  # fmt: skip
PIECES = ("stop_plates", "blanket_layers")
EACH = ("thickness each", "mass per area of a layer")  # what one piece of them is like
SHORT = 44  # characters of an input's source; `halflayer explain` has them in full


def entry(figure: Derived, show: Show, *, inputs: int = 4) -> dict[str, Any]:
    """One figure with its first level of inputs, as printed texts."""
    # What a piece is like says nothing where there is none of it.
    told = (
        [i for i in figure.inputs if figure.value != 0 or i.name not in EACH]
        if figure.name in PIECES
        else figure.inputs
    )
    used = [
        f"{_label(i, show)} {_value(i, show)}" + (f" [{_short(i.source, show)}]" if i.source else "")
        for i in told[:inputs]
    ]
    if figure.name == "exposure_time":
        used = [_reckoned(i, words, show) for i, words in zip(told[:inputs], used, strict=True)]
    if len(told) > inputs:
        used.append(f"{len(told) - inputs} others, in the plan's file")
    return {
        # A stop of folded blankets has no plates: page 1 calls it by its layers.
        "name": "stop" if figure.name == "stop_plates" and figure.unit == "layers" else plain(figure.name),
        "value": _value(figure, show),
        "formula": show.converted(figure.formula).removeprefix(f"{figure.symbol} = "),
        "inputs": used,
        "source": show.converted(figure.source or figure.basis),
    }


GAMMA = 1e12 * 3600.0 * 1e3  # Gy m2/(Bq s) as mGy/h for a TBq at 1 m


def _reckoned(figure: Derived, words: str, show: Show) -> str:
    """An input of the exposure time with what recomputes it by a pocket calculator."""
    i = {one.name: one for one in figure.inputs}
    try:
        if figure.name == "kerma rate at the film":
            far = {one.name: one for one in i["primary kerma rate"].inputs}["distance source to film"]
            return (
                f"{words.split(' [')[0]} = A Γ T (1 + S/P) / R², Γ {_number(i['source constant']) * GAMMA:.4g} mGy/h a "
                f"TBq at 1 m without metal, T {_number(i['transmission']):.3g} straight through, S/P "
                f"{_number(i['scatter to primary']):.3g} (scatter: Monte Carlo), R "
                f"{show.value(_number(far), 'length', digits=4)}"
            )
        if figure.name == "kerma for the density":
            film = i["dose for density 2"].basis.split(",")[0]
            behind = i.get("share behind the first film")
            over = f", before the first film: {_number(behind):.2f} comes to it" if behind else ""
            return (
                f"{words.split(' [')[0]} for density {_number(i['density at the weld']):.2f} on {film}{over}"
            )
    except KeyError:  # of a detector that is no film
        pass
    return words


def _number(figure: Derived) -> float:
    return float(figure.value) if isinstance(figure.value, int | float) else float("nan")


def _value(figure: Derived, show: Show) -> str:
    """The figure as every other page has it: a barrier is never told nearer than it is, one plate is no plates."""
    if (
        figure.name.startswith("barrier_distance")
        and isinstance(figure.value, int | float)
        and not figure.sigma
    ):
        return show.up(float(figure.value), "length", digits=3)
    if figure.name == "budget_k" or figure.symbol == "k":
        return percent_up(float(figure.value)) if isinstance(figure.value, int | float) else show.of(figure)
    told = show.of(figure)
    return told.removesuffix("s") if figure.name in PIECES and figure.value == 1 else told


def _short(source: str, show: Show) -> str:
    """A source of an input in short: to its first comma or bracket where it is long."""
    words = show.converted(source)
    return words if len(words) <= SHORT else re.split(r"[,(;:]", words, maxsplit=1)[0].strip()


def plain(name: str) -> str:
    """A figure's name as words."""
    return name.replace("_", " ")


def _label(figure: Derived, show: Show) -> str:
    """Symbol or name; of the place with the largest share of its limit which one that is."""
    at = f" at {show.converted(figure.basis)}" if figure.name == "worst_place" and figure.basis else ""
    return (figure.symbol or plain(figure.name)) + at


def main_figures(w: WeldPlan, show: Show, *, most: int = 5) -> list[dict[str, Any]]:
    """The figures a checker asks for first: time, activity, barrier, plates and layers, then geometry."""
    figures: list[Derived] = []
    stand = w.chosen is not None and w.chosen.arrangement in ON_A_STAND
    if w.exposure:
        # A stopped weld has no time to expose by.
        figures += [s.seconds for s in w.exposure.shots[:1] if w.status == "ready"]
        figures.append(w.exposure.activity)
    if w.shielding:
        figures += [w.shielding.barrier_m, w.shielding.barrier_hour_m]
        figures += w.shielding.derived
    if w.chosen:
        figures += w.chosen.derived
    seen: set[str] = set()
    out = []
    for f in figures:
        # A strapped head has no stop.
        if f.name in ELSEWHERE or (f.name == "stop_plates" and not stand):
            continue
        if f.name not in seen and f.value is not None:
            seen.add(f.name)
            out.append(entry(f, show))
    return out[:most]
