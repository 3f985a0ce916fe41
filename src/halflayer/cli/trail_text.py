"""A figure and its trail as an indented tree: value as a person reads it and in SI, uncertainty, formula, source."""

from __future__ import annotations

import math
import re
from typing import Any

from halflayer.base.result import Derived
from halflayer.base.unit_text import rounded
from halflayer.base.units import System
from halflayer.cli.table import aligned
from halflayer.sheet.figures import Show

# SI unit of a figure -> kind of quantity, which has the units that people work in.
KINDS = {
    "s": "time",
    "Bq": "activity",
    "m": "length",
    "rad": "angle",
    "kg": "mass",
    "kg/m2": "areal_density",
    "Sv": "equivalent",
    "Sv/s": "equivalent_rate",
    "Gy": "dose",
    "Gy/s": "dose_rate",
}
_UNIT = re.compile(r"[A-Za-zµ°%][A-Za-zµ°%/0-9]*")


def trail_lines(figure: Derived, system: System = "metric") -> list[str]:
    """The figure and everything under it, each with what it rests on, in the units of the order's sheets and in SI."""
    lines: list[str] = []
    _add(lines, figure, system, first="", rest="")
    return lines


def value_text(figure: Derived, system: System = "metric") -> str:
    """Value, uncertainty and unit of a figure, one sigma: `12 min 34 s ± 62 s (754.31 ± 62 s)`, `71.2 ± 6 s`.

    First in the units that the sheets use, then the SI number that formulas are checked with, where the two differ.
    """
    if figure.value is None:
        return "not computed"
    unit = "" if figure.unit == "1" else figure.unit
    if isinstance(figure.value, str):
        return f"{figure.value} {unit}".rstrip()
    # Rounded up, as on the sheets: an uncertainty is never made smaller by printing it.
    sigma = f" ± {float(rounded(figure.sigma, digits=2, round_up=True)):.2g}" if figure.sigma else ""
    plain = f"{_number(figure.value)}{sigma} {unit}".rstrip()
    read = _read(figure, system)
    same = all(word == unit for word in _UNIT.findall(read.replace("²", "2")))
    return plain if same else f"{read} ({plain})"


def _read(figure: Derived, system: System) -> str:
    """The figure in the units of the sheets; empty where its unit is none of theirs, or nothing is gained."""
    kind = KINDS.get(figure.unit)
    if kind is None or not isinstance(figure.value, int | float) or not math.isfinite(figure.value):
        return ""
    return Show(system).pm(float(figure.value), figure.sigma, kind)


def list_lines(figures: dict[str, Derived], system: System = "metric") -> list[str]:
    """The figures that can be asked for."""
    return aligned(("figure", "value"), [(name, value_text(f, system)) for name, f in figures.items()])


def _add(lines: list[str], figure: Derived, system: System, *, first: str, rest: str) -> None:
    symbol = f" {figure.symbol}" if figure.symbol else ""
    lines.append(f"{first}{figure.name}{symbol} = {value_text(figure, system)}")
    bar = "│  " if figure.inputs else "   "
    for label in ("formula", "source", "basis"):
        text = getattr(figure, label)
        if text:
            lines.append(f"{rest}{bar}{label}: {text}")
    for n, item in enumerate(figure.inputs):
        last = n == len(figure.inputs) - 1
        _add(
            lines,
            item,
            system,
            first=rest + ("└─ " if last else "├─ "),
            rest=rest + ("   " if last else "│  "),
        )


def _number(value: Any) -> str:
    """Six significant digits: a trail is for checking, a sheet is for working."""
    return str(value) if isinstance(value, int) else f"{value:.6g}"
