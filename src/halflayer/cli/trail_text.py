"""A figure and its trail as an indented tree: value, unit, uncertainty, formula, source."""

from __future__ import annotations

from typing import Any

from halflayer.base.result import Derived
from halflayer.base.unit_text import rounded
from halflayer.cli.table import aligned


def trail_lines(figure: Derived) -> list[str]:
    """The figure and everything under it, each with what it rests on."""
    lines: list[str] = []
    _add(lines, figure, first="", rest="")
    return lines


def value_text(figure: Derived) -> str:
    """Value, uncertainty and unit of a figure: `71.2 ± 6 s`; one sigma."""
    if figure.value is None:
        return "not computed"
    unit = "" if figure.unit == "1" else figure.unit
    if isinstance(figure.value, str):
        return f"{figure.value} {unit}".rstrip()
    # Rounded up, as on the sheets: an uncertainty is never made smaller by printing it.
    sigma = f" ± {float(rounded(figure.sigma, digits=2, round_up=True)):.2g}" if figure.sigma else ""
    return f"{_number(figure.value)}{sigma} {unit}".rstrip()


def list_lines(figures: dict[str, Derived]) -> list[str]:
    """The figures that can be asked for."""
    return aligned(("figure", "value"), [(name, value_text(f)) for name, f in figures.items()])


def _add(lines: list[str], figure: Derived, *, first: str, rest: str) -> None:
    symbol = f" {figure.symbol}" if figure.symbol else ""
    lines.append(f"{first}{figure.name}{symbol} = {value_text(figure)}")
    bar = "│  " if figure.inputs else "   "
    for label in ("formula", "source", "basis"):
        text = getattr(figure, label)
        if text:
            lines.append(f"{rest}{bar}{label}: {text}")
    for n, item in enumerate(figure.inputs):
        last = n == len(figure.inputs) - 1
        _add(lines, item, first=rest + ("└─ " if last else "├─ "), rest=rest + ("   " if last else "│  "))


def _number(value: Any) -> str:
    """Six significant digits: a trail is for checking, a sheet is for working."""
    return str(value) if isinstance(value, int) else f"{value:.6g}"
