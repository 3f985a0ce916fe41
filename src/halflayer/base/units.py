"""Units at the edge: text with a unit becomes an SI number, an SI number becomes readable text.

Inside the program there are floats in m, s, Bq, Gy, Sv, kg (photon energies in keV); only here is pint used,
with our own closed list of units. Gray, sievert and becquerel are dimensions of their own, so that a dose is
never taken for an equivalent dose. Prefixes exist only where they are listed: no "mega-inch" for "Min".
"""

from __future__ import annotations

import math
import re
import unicodedata
from fractions import Fraction
from functools import cache, lru_cache
from typing import Any, Literal

System = Literal["metric", "imperial"]

MAX_LENGTH = 80  # our choice: no quantity needs more characters

KINDS: dict[str, tuple[str, str]] = {
    "length": ("m", "346 mm, 1.2 m, 4.5 in or 5 ft 6 in"),
    "angle": ("radian", "15 deg or 0.26 rad"),
    "time": ("s", "90 s, 12 min 30 s or 2 h"),
    "activity": ("Bq", "2.1 TBq, 850 GBq or 40 Ci"),
    "dose": ("Gy", "8 mGy or 0.8 rad"),
    "dose_rate": ("Gy/s", "50 mGy/h or 5 rad/h"),
    "equivalent": ("Sv", "20 uSv or 2 mrem"),
    "equivalent_rate": ("Sv/s", "7.5 uSv/h or 0.75 mrem/h"),
    "mass": ("kg", "12 kg or 26 lb"),
    "density": ("kg/m3", "7.85 g/cm3, 7850 kg/m3 or 490 lb/ft3"),
    "areal_density": ("kg/m2", "25 kg/m2 or 5 lb/ft2"),
    "energy": ("keV", "400 keV or 1.25 MeV"),
    "speed": ("m/s", "1 m/s, 4 km/h or 3 ft/s"),
    "fraction": ("one", "0.1 or 10 %"),
    "temperature": ("K", "20 degC, 68 degF or 293 K"),
}
"""Kind: its SI unit and examples of what is accepted."""

ROUNDED_UP = ("dose", "dose_rate", "equivalent", "equivalent_rate")

# Exact by definition: inch (1959), pound (1959), curie and rad (SI brochure), rem = 0.01 Sv; the year is the
# Julian one, 365.25 d (our choice: only for times that a person states).
_PLAIN = """
m=[length] s=[time] kg=[mass] Bq=[activity] Gy=[dose] Sv=[equivalent] keV=[energy] radian=[angle] one=[one]
km=1e3*m cm=1e-2*m mm=1e-3*m um=1e-6*m in=0.0254*m ft=0.3048*m yd=0.9144*m mi=1609.344*m
min=60*s h=3600*s d=86400*s wk=604800*s a=31557600*s ms=1e-3*s
g=1e-3*kg mg=1e-6*kg t=1e3*kg lb=0.45359237*kg oz=0.028349523125*kg
kBq=1e3*Bq MBq=1e6*Bq GBq=1e9*Bq TBq=1e12*Bq PBq=1e15*Bq
Ci=3.7e10*Bq kCi=3.7e13*Bq mCi=3.7e7*Bq uCi=3.7e4*Bq
mGy=1e-3*Gy uGy=1e-6*Gy nGy=1e-9*Gy cGy=1e-2*Gy kGy=1e3*Gy rd=1e-2*Gy mrd=1e-5*Gy urd=1e-8*Gy krd=10*Gy
mSv=1e-3*Sv uSv=1e-6*Sv nSv=1e-9*Sv rem=1e-2*Sv mrem=1e-5*Sv urem=1e-8*Sv
eV=1e-3*keV MeV=1e3*keV mradian=1e-3*radian deg=0.017453292519943295*radian percent=0.01*one
"""
_OTHER_NAMES = """
meter=m metre=m meters=m metres=m micron=um inch=in inches=in foot=ft feet=ft yard=yd yards=yd
mile=mi miles=mi
sec=s second=s seconds=s minute=min minutes=min mins=min hr=h hrs=h hour=h hours=h day=d days=d
week=wk weeks=wk y=a yr=a year=a years=a tonne=t tonnes=t lbs=lb pound=lb pounds=lb
degree=deg degrees=deg °=deg %=percent
"""
_UNITS: dict[str, str] = dict(item.split("=", 1) for item in _PLAIN.split())
_NAMES: dict[str, str] = {n: n for n in _UNITS} | dict(item.split("=") for item in _OTHER_NAMES.split())
_RAD = {"rad": "rd", "mrad": "mrd", "urad": "urd", "krad": "krd"}  # the dose, except for angles
_SHORT = {  # whole expressions written in one word
    "mph": "mi/h",
    "psf": "lb/ft2",
    "pcf": "lb/ft3",
    "g/cc": "g/cm3",
}

_PLAIN_NUMBER = r"(?:[0-9]+\.?[0-9]*|\.[0-9]+)"
# at most three digits of exponent: exact arithmetic with a longer one would not end
_ONE = re.compile(rf"([+-]?{_PLAIN_NUMBER}(?:[eE][+-]?[0-9]{{1,3}})?)(?![0-9])\s*(.*)", re.DOTALL)
_FRACTION = re.compile(r"(?:([0-9]+)[ -])?([0-9]+)/([0-9]+)\s*(.*)", re.DOTALL)
_PART = re.compile(rf"({_PLAIN_NUMBER})\s*([A-Za-z'\"]+)\s*")
_FACTOR = re.compile(r"([A-Za-z%°]+)([23]?)")
_COMMA = re.compile(r"\d\s*,\s*\d")


class UnitError(ValueError):
    """A quantity that cannot be read; says what is wrong, what was given and what would be accepted."""

    def __init__(self, problem: str, *, given: object, accepted: str) -> None:
        self.problem = problem
        self.given = given if isinstance(given, str) else repr(given)
        if len(self.given) > MAX_LENGTH:
            self.given = self.given[:MAX_LENGTH] + "..."
        self.accepted = accepted
        super().__init__(f"{problem}; given: {self.given}; accepted: {accepted}")


@cache
def _registry() -> Any:
    import pint

    registry: Any = pint.UnitRegistry(None, non_int_type=Fraction)  # exact: 6.5 g/cm3 is 6500 kg/m3
    for name, meaning in _UNITS.items():
        registry.define(f"{name} = {meaning}")
    return registry


def _factors(text: str, angle: bool) -> list[tuple[str, int]]:
    """Names and powers of a unit such as `kg/m2`; raises KeyError with the part that is unknown."""
    factors = []
    for k, part in enumerate(_SHORT.get(text, text).split("/")):
        match = _FACTOR.fullmatch(part.strip())
        if match is None:
            raise KeyError(part.strip() or text)
        name, power = match[1], int(match[2] or 1)
        if name in _RAD:
            name = name.replace("rad", "radian") if angle else _RAD[name]
        if name not in _NAMES:
            raise KeyError(name)
        factors.append((_NAMES[name], power if k == 0 else -power))
    return factors


@cache
def _scale(text: str, si: str) -> Fraction | None:
    """Exact SI value of one `text`, None for another dimension; raises KeyError for unknown units."""
    registry = _registry()
    angle = si == "radian"

    def quantity(unit: str) -> Any:
        product = registry.Quantity(Fraction(1))
        for name, power in _factors(unit, angle):
            product = product * registry.Quantity(Fraction(1), name) ** power
        return product

    given, wanted = quantity(text), quantity(si)
    if given.dimensionality != wanted.dimensionality:
        return None
    return Fraction(given.to_base_units().magnitude) / Fraction(wanted.to_base_units().magnitude)


def _si_unit(kind: str) -> tuple[str, str]:
    try:
        return KINDS[kind]
    except KeyError:
        raise ValueError(f"unknown kind of quantity {kind!r}; known are {', '.join(KINDS)}") from None


def parse(value: str | int | float, kind: str) -> float:
    """The SI value of a quantity written with its unit (energy in keV, angle in rad, fraction as a number).

    A bare number is accepted for a fraction and for zero only. A time may have parts (`1 h 30 min`), so may
    a length in feet and inches; inches may be a common fraction (`1 1/2 in`). No decimal comma.
    Raises: UnitError for anything else, never another error; ValueError when `kind` is not in KINDS.
    """
    si, accepted = _si_unit(kind)
    if isinstance(value, bool) or not isinstance(value, (str, int, float)):
        raise UnitError(f"not a {kind.replace('_', ' ')}", given=value, accepted=accepted)
    if not isinstance(value, str):
        return _bare(value, kind, accepted, given=value)
    if len(value) > MAX_LENGTH:
        raise UnitError("text too long for a quantity", given=value, accepted=accepted)
    text = unicodedata.normalize("NFKC", value).replace("\u03bc", "u").replace("µ", "u").strip()
    text = text.replace("\u2212", "-").replace("''", '"')
    if _COMMA.search(text):
        raise UnitError("a decimal comma; write a point", given=value, accepted=accepted)
    result = _read(text, kind, si, accepted, given=value)
    if not math.isfinite(result):
        raise UnitError("not a finite number", given=value, accepted=accepted)
    return result


def _bare(value: float | int, kind: str, accepted: str, given: object) -> float:
    try:
        number = float(value)
    except OverflowError:
        number = math.inf
    if not math.isfinite(number):
        raise UnitError("not a finite number", given=given, accepted=accepted)
    if number != 0.0 and kind != "fraction" or kind == "temperature":
        raise UnitError("the unit is missing", given=given, accepted=accepted)
    return number


def _read(text: str, kind: str, si: str, accepted: str, given: str) -> float:
    fraction = _FRACTION.fullmatch(text) if kind == "length" else None
    if fraction is not None and int(fraction[3]) != 0:
        figure = int(fraction[1] or 0) + Fraction(int(fraction[2]), int(fraction[3]))
        return _float(figure * _unit(fraction[4], kind, si, accepted, given))
    match = _ONE.fullmatch(text)
    if match is not None and re.match(r"[eE][+-]?[0-9]", match[2]):
        raise UnitError("an exponent of more than three digits", given=given, accepted=accepted)
    if match is None:
        raise UnitError("no number with a unit", given=given, accepted=accepted)
    figure, unit = Fraction(match[1]), match[2].strip()
    if unit == "":
        return _bare(_float(figure), kind, accepted, given)
    if kind == "temperature":
        return _kelvin(_float(figure), unit, accepted, given)
    if kind in ("length", "time") and re.search("[0-9]", unit):  # 5 ft 6 in
        parts = _PART.findall(text)
        if _PART.sub("", text) == "":
            return _float(_compound(parts, kind, si, accepted, given))
    return _float(figure * _unit(unit, kind, si, accepted, given))


def _float(exact: Fraction) -> float:
    try:
        return float(exact)
    except OverflowError:
        return math.inf


def _compound(parts: list[tuple[str, str]], kind: str, si: str, accepted: str, given: str) -> Fraction:
    """Sum of parts in falling units, each but the first smaller than one of the unit before it."""
    total, before = Fraction(0), None
    for figure, unit in parts:
        scale = _unit(unit, kind, si, accepted, given)
        if before is not None and (scale >= before or Fraction(figure) * scale >= before):
            raise UnitError("parts must fall in size, as in 1 h 30 min", given=given, accepted=accepted)
        total += Fraction(figure) * scale
        before = scale
    return total


def _unit(text: str, kind: str, si: str, accepted: str, given: str) -> Fraction:
    if kind == "length":
        text = {'"': "in", "'": "ft"}.get(text, text)
    text = re.sub(r"\s+per\s+", "/", text).replace("^", "").replace("**", "")
    text = re.sub(r"\s*/\s*", "/", text)
    if re.fullmatch(r"[num]?R(/.*)?", text):
        raise UnitError("roentgen is exposure, another quantity", given=given, accepted=accepted)
    try:
        scale = _scale(text, si)
    except KeyError as error:
        raise UnitError(f"unknown unit {error.args[0]!r}", given=given, accepted=accepted) from None
    if scale is None:
        what = kind.replace("_", " ")
        raise UnitError(f"the unit {text!r} does not measure {what}", given=given, accepted=accepted)
    return scale


def _kelvin(number: float, unit: str, accepted: str, given: str) -> float:
    unit = unit.replace("°", "deg")
    if unit in ("degC", "deg C", "C"):
        kelvin = number + 273.15
    elif unit in ("degF", "deg F", "F"):
        kelvin = (number + 459.67) / 1.8
    elif unit == "K":
        kelvin = number
    else:
        raise UnitError(f"unknown unit {unit!r}", given=given, accepted=accepted)
    if kelvin < 0.0:
        raise UnitError("below absolute zero", given=given, accepted=accepted)
    return kelvin


def number(value: float, unit: str) -> float:
    """An SI value (energy: keV, angle: radian) in a named unit: `number(0.346, "mm")` is 346.0.

    "rad" is the dose; write "radian" for the angle. Raises: ValueError for an unknown unit.
    """
    if unit == "degC":
        return value - 273.15
    if unit == "degF":
        return value * 1.8 - 459.67
    unit = unit.replace("µ", "u").replace("\u03bc", "u")
    if unit == "K":
        return value
    if not math.isfinite(value):
        return value
    return _float(Fraction(value) / _named(unit))


@lru_cache(maxsize=256)
def _named(unit: str) -> Fraction:
    """The size of a named unit in SI units. Raises: ValueError for an unknown one."""
    for si, _ in KINDS.values():
        if si == "K" or (si == "radian" and re.fullmatch("[kmu]?rad", unit)):
            continue
        try:
            scale = _scale(unit, si)
        except KeyError as error:
            raise ValueError(f"unknown unit {error.args[0]!r}") from None
        if scale is not None:
            return scale
    raise ValueError(f"the unit {unit!r} measures nothing that is used here")


def show(
    value: float,
    kind: str,
    *,
    system: System = "metric",
    digits: int = 3,
    round_up: bool | None = None,
) -> str:
    """Readable text of an SI value: `7.5 µSv/h`, `346 mm`, `12 min 30 s`.

    `round_up`: towards plus infinity; left out, doses and dose rates are rounded up and the rest to the
    nearest. Raises: ValueError for an unknown kind or digits below 1.
    """
    from halflayer.base import unit_text

    _si_unit(kind)
    if round_up is None:
        round_up = kind in ROUNDED_UP
    return unit_text.text(value, kind, system=system, digits=digits, round_up=round_up)


def kept(distance_m: float) -> str:
    """A distance that people keep, one figure wherever it stands: rounded up, from 10 m on to whole metres.

    >>> kept(100.3), kept(7.34)
    ('101 m', '7.4 m')
    """
    # What a sum of parts is over by its last digits does not count.
    whole = math.ceil(distance_m - 1e-9) if 10.0 < distance_m < math.inf else distance_m
    return show(whole, "length", digits=3 if whole > 10.0 else 2, round_up=True)
