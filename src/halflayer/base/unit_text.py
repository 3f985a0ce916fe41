"""Chooses the unit and the digits in which an SI value is shown to a person."""

from __future__ import annotations

import math
from collections.abc import Sequence
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, Decimal
from functools import lru_cache

from halflayer.base.units import System, number

# Kind -> (unit as named in base.units, smallest figure shown in it); the last one takes the rest.
Ladder = tuple[tuple[str, float], ...]
_METRIC: dict[str, Ladder] = {
    "length": (("km", 10.0), ("m", 1.0), ("mm", 0.0)),
    "angle": (("deg", 0.0),),
    "activity": (("PBq", 1.0), ("TBq", 1.0), ("GBq", 1.0), ("MBq", 1.0), ("kBq", 1.0), ("Bq", 0.0)),
    "dose": (("Gy", 1.0), ("mGy", 1.0), ("uGy", 1.0), ("nGy", 0.0)),
    "dose_rate": (("Gy/h", 1.0), ("mGy/h", 1.0), ("uGy/h", 1.0), ("nGy/h", 0.0)),
    # Nothing under the unit that meters show: a nanosievert beside a microsievert is read a thousand times too high.
    "equivalent": (("Sv", 1.0), ("mSv", 1.0), ("uSv", 0.0)),
    "equivalent_rate": (("Sv/h", 1.0), ("mSv/h", 1.0), ("uSv/h", 0.0)),
    "mass": (("t", 10.0), ("kg", 1.0), ("g", 0.0)),
    "density": (("kg/m3", 0.0),),
    "areal_density": (("kg/m2", 0.0),),
    "energy": (("MeV", 1.0), ("keV", 0.0)),
    "speed": (("m/s", 0.0),),
    "fraction": (("percent", 0.0),),
    "temperature": (("degC", 0.0),),
}
_IMPERIAL: dict[str, Ladder] = _METRIC | {
    "length": (("ft", 3.0), ("in", 0.0)),
    "activity": (("kCi", 10.0), ("Ci", 1.0), ("mCi", 1.0), ("uCi", 0.0)),
    "dose": (("rd", 1.0), ("mrd", 1.0), ("urd", 0.0)),
    "dose_rate": (("rd/h", 1.0), ("mrd/h", 0.1), ("urd/h", 0.0)),
    "equivalent": (("rem", 1.0), ("mrem", 0.0)),
    "equivalent_rate": (("rem/h", 1.0), ("mrem/h", 0.0)),
    "mass": (("lb", 1.0), ("oz", 0.0)),
    "density": (("lb/ft3", 0.0),),
    "areal_density": (("lb/ft2", 0.0),),
    "speed": (("ft/s", 0.0),),
    "temperature": (("degF", 0.0),),
}
_SEEN = {"percent": "%", "degC": "°C", "degF": "°F", "kg/m3": "kg/m³", "kg/m2": "kg/m²"}
_SEEN |= {"lb/ft3": "lb/ft³", "lb/ft2": "lb/ft²", "deg": "°"}
_NOISE = 1e-9  # relative: float noise that rounding up must not turn into one more digit
_ABOVE = 1.0 - 1e-9

MINUTE_FROM_S = 100.0  # our choice: "71 s" is easier to set than "1 min 11 s"
HOUR_FROM_S = 7200.0
DAY_FROM_S = 172_800.0
YEAR_FROM_S = 2.0 * 31_557_600.0


def rounded(value: float, *, digits: int, round_up: bool) -> str:
    """`value` with that many significant digits, plain notation, no trailing zeros.

    `round_up` rounds towards plus infinity (a dose is never rounded down), float noise of 1e-9 apart.
    """
    if value == 0.0:
        return "0"
    place = Decimal(1).scaleb(math.floor(math.log10(abs(value))) - digits + 1)
    exact = Decimal(repr(value - abs(value) * _NOISE if round_up else value))
    out = exact.quantize(place, rounding=ROUND_CEILING if round_up else ROUND_HALF_EVEN)
    plain = f"{out:f}"
    if "." in plain:
        plain = plain.rstrip("0").rstrip(".")
    return "0" if plain in ("-0", "") else plain


@lru_cache(maxsize=16384)
def text(value: float, kind: str, *, system: System, digits: int, round_up: bool) -> str:
    """Number and unit of an SI value; "not a number", "infinite" where it is that."""
    if math.isnan(value):
        return "not a number"
    if math.isinf(value):
        return "infinite" if value > 0 else "minus infinite"
    if digits < 1:
        raise ValueError(f"digits={digits}: at least one digit is shown")
    if kind == "time":
        return _time(value, digits=digits, round_up=round_up)
    unit, figure = _unit(value, kind, system=system, digits=digits, round_up=round_up)
    return _joined(figure, unit)


def column(
    values: Sequence[float], kind: str, *, system: System, digits: int, round_up: bool
) -> tuple[str, ...]:
    """Finite values that are read one below the other, all in one unit: that of the middle one."""
    if not values:
        return ()
    middle = sorted(abs(v) for v in values)[len(values) // 2]
    unit, _ = _unit(middle, kind, system=system, digits=digits, round_up=round_up)
    return tuple(_joined(rounded(number(v, unit), digits=digits, round_up=round_up), unit) for v in values)


def smallest(
    values: Sequence[float], kind: str, *, system: System, digits: int, round_up: bool
) -> tuple[str, ...]:
    """Finite values in the smallest unit that meters show, whatever their size: one unit over several tables."""
    unit = (_IMPERIAL if system == "imperial" else _METRIC)[kind][-1][0]
    return tuple(_joined(rounded(number(v, unit), digits=digits, round_up=round_up), unit) for v in values)


def _unit(value: float, kind: str, *, system: System, digits: int, round_up: bool) -> tuple[str, str]:
    """The unit that a value is shown in, and the figure."""
    ladder = (_IMPERIAL if system == "imperial" else _METRIC)[kind]
    for unit, least in ladder:
        shown = number(value, unit)
        figure = rounded(shown, digits=digits, round_up=round_up)
        # chosen by the figure as it will be read, so that 999.96 mm becomes 1 m and not 1000 mm
        if abs(float(figure)) >= least * _ABOVE or unit == ladder[-1][0]:
            break
    return unit, figure


def _joined(figure: str, unit: str) -> str:
    seen = _SEEN.get(unit, unit.replace("rd", "rad"))
    if seen.startswith("u"):
        seen = "µ" + seen[1:]
    return f"{figure}{'' if seen == '°' else ' '}{seen}"


def _time(value: float, *, digits: int, round_up: bool) -> str:
    sign = "-" if value < 0.0 else ""
    span = abs(value)
    up = round_up and not sign
    if span < MINUTE_FROM_S:
        return f"{sign}{rounded(span, digits=digits, round_up=up)} s"
    if span >= YEAR_FROM_S:
        return f"{sign}{rounded(number(span, 'a'), digits=digits, round_up=up)} a"
    if span >= DAY_FROM_S:
        return f"{sign}{rounded(number(span, 'd'), digits=digits, round_up=up)} d"
    # whole seconds or minutes: what a person sets on a clock, so `digits` does not apply
    step = 1.0 if span < HOUR_FROM_S else 60.0
    count = span / step
    whole = math.ceil(count - count * _NOISE) if up else round(count)
    if step == 1.0 and whole < HOUR_FROM_S:
        minutes, seconds = divmod(whole, 60)
        return f"{sign}{minutes} min {seconds} s" if seconds else f"{sign}{minutes} min"
    hours, minutes = divmod(whole if step == 60.0 else whole // 60, 60)
    return f"{sign}{hours} h {minutes} min" if minutes else f"{sign}{hours} h"
