"""Figures as they are printed: a value with its unit and its uncertainty in one line, doses never rounded down."""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import ROUND_CEILING, ROUND_HALF_EVEN, ROUND_HALF_UP, Decimal

from halflayer.base import unit_text
from halflayer.base.result import Derived
from halflayer.base.ring_words import ring_words
from halflayer.base.units import ROUNDED_UP, System, kept, number, parse, show
from halflayer.base.zone_words import zone_words
from halflayer.data import load

NOT_COMPUTED = "not computed"
NONE_REACHED = "none within reach"

KIND_BY_UNIT: Mapping[str, str] = {
    "m": "length",
    "s": "time",
    "Bq": "activity",
    "Sv": "equivalent",
    "Sv/s": "equivalent_rate",
    "Gy": "dose",
    "Gy/s": "dose_rate",
    "rad": "angle",
    "radian": "angle",
    "kg": "mass",
    "kg/m2": "areal_density",
    "kg/m3": "density",
    "keV": "energy",
}
"""SI unit of a `Derived` figure: the kind of quantity that `base.units` shows."""

_IN_WORDS: Mapping[str, tuple[str, float]] = {
    "mm": ("length", 1e-3),
    "kg/m2": ("areal_density", 1.0),
    "m": ("length", 1.0),
    "cm": ("length", 0.01),
    "kg": ("mass", 1.0),
    "uSv/h": ("equivalent_rate", 1e-6 / 3600.0),
    "µSv/h": ("equivalent_rate", 1e-6 / 3600.0),
    "mSv/h": ("equivalent_rate", 1e-3 / 3600.0),
    "uSv": ("equivalent", 1e-6),
    "µSv": ("equivalent", 1e-6),
    "mSv": ("equivalent", 1e-3),
    "TBq": ("activity", 1e12),
    "GBq": ("activity", 1e9),
}
"""Units in words that an imperial sheet converts: kind of quantity and SI value."""

_NUMBER = r"-?\d+(?:\.\d+)?"
_QUANTITY = re.compile(
    rf"(?<![\w.])({_NUMBER}(?: (?:up to|to|x|×|±) {_NUMBER})*) ({'|'.join(_IN_WORDS)})(?![\w/^*²³])"
)


# Outside diameters of ASME B36.10M in its own inches by the table's millimetres (from memory, unverified).
_PIPE_INCHES = {
    "21.3": "0.840", "26.7": "1.050", "33.4": "1.315", "42.2": "1.660", "48.3": "1.900", "60.3": "2.375",
    "73.0": "2.875", "88.9": "3.500", "114.3": "4.500", "168.3": "6.625", "219.1": "8.625", "273.0": "10.750",
    "273.1": "10.750", "323.8": "12.750", "323.9": "12.750",
}  # fmt: skip
_PIPE_SAID = re.compile(r"(outside diameter )(\d+(?:\.\d+)?) mm")
# Largest unsharpness by T-274.2 in the inches of that table: 0.51 mm is 0.020 in there, not 0.0201.
_UG_INCHES = {"0.51": "0.020", "0.76": "0.030", "1.02": "0.040", "1.78": "0.070"}
_UG_ASKED = re.compile(r"(Ug <?= )(0\.51|0\.76|1\.02|1\.78) mm(?= with|$|[ ;,)])")


def _ug_in_inches(found: re.Match[str]) -> str:
    return f"{found[1]}{_UG_INCHES[found[2]]} in"


_MOMENT = re.compile(r"(\d{4}-\d\d-\d\d)T(\d\d:\d\d):\d\d(?:[+-]\d\d:\d\d|Z)")
_SIGNS: tuple[tuple[re.Pattern[str], str | Callable[[re.Match[str]], str]], ...] = (
    (re.compile(r"\+-(?=\s?\d)"), "±"),
    (re.compile(r"<="), "≤"),
    (re.compile(r">="), "≥"),
    (re.compile(r"(?<=\d) deg\b"), "°"),
    (re.compile(r"(?<=\d) deg(?=[CF]\b)"), " °"),
    (re.compile(r"(?<=\d) x (?=\d)"), " × "),
    (re.compile(r"\bu(?=(?:Sv|Gy|m)\b)"), "µ"),
    (re.compile(r"\bkg/m2\b"), "kg/m²"),
    (_MOMENT, lambda found: f"{found[1]} {found[2]} {zone_words(datetime.fromisoformat(found[0]))}"),
)


def _signs(words: str) -> str:
    """Signs in place of what stands for them in plain text; moments of time to the minute."""
    for pattern, sign in _SIGNS:
        words = pattern.sub(sign, words)
    return words


def _half_up(value: float, places: int) -> str:
    """To so many places, a half upwards: 1/16 in is 0.063 in, so that a wall and a cap add up as printed."""
    return str(Decimal(f"{value:.9f}").quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP))


def _inches(value_in: float) -> str:
    """A length in inches to about three figures: hundredths from an inch on, finer below."""
    size = abs(value_in)
    return f"{value_in:.{2 if size >= 1 else 3 if size >= 0.1 else 4}f}"


_UNIT_BY_SIGN = {"°": "deg", "%": "percent", "°C": "degC", "°F": "degF"}


def _split(text: str) -> tuple[str, str]:
    """Figure and unit sign of a shown quantity of one part."""
    if text.endswith("°"):
        return text[:-1], "°"
    figure, _, sign = text.partition(" ")
    return figure, sign


def _to_place(value: float, place: int, *, up: bool) -> str:
    """A value at a decimal place (0: whole, 1: tenths, -1: tens), plain notation."""
    step = Decimal(1).scaleb(-place)
    noise = abs(value) * 1e-9 if up else 0.0  # float noise is no reason for one more digit
    out = Decimal(repr(value - noise)).quantize(step, rounding=ROUND_CEILING if up else ROUND_HALF_EVEN)
    text = f"{out:f}"
    return text.removeprefix("-") if float(text) == 0 else text


def place_of(sigma: float) -> int:
    """The decimal place that an uncertainty leaves known: one digit of it, two where it starts with 1."""
    exponent = math.floor(math.log10(sigma))
    return -exponent + (1 if sigma / 10**exponent < 2 else 0)


@dataclass(frozen=True)
class Show:
    """Prints quantities in one system of units; None prints as `not computed`."""

    system: System = "metric"

    def value(self, value: float | None, kind: str, *, digits: int = 3) -> str:
        """A quantity with its unit; doses and dose rates are rounded up."""
        if value is None or math.isnan(value):
            return NOT_COMPUTED
        return show(value, kind, system=self.system, digits=digits)

    def up(self, value: float, kind: str, *, digits: int = 2) -> str:
        """A figure that errs on the safe side when it is larger, such as the distance of the barrier."""
        return show(value, kind, system=self.system, digits=digits, round_up=True)

    def kept(self, value: float) -> str:
        """A distance that is kept clear, one figure on every page: rounded up in metres, as the plan's own words have
        it, and then converted as they are.

        >>> Show().kept(100.3), Show("imperial").kept(100.3), Show("imperial").converted("nobody within 101 m")
        ('101 m', '332 ft', 'nobody within 332 ft')
        """
        return self.converted(kept(value))

    def paced(self, value: float | None, *, digits: int = 2) -> str:
        """A distance on the ground, rounded up: in metres or feet whatever its size, as others stand beside it.

        >>> Show().paced(0.92), Show("imperial").paced(0.92)
        ('0.92 m', '3.1 ft')
        """
        if value is None or math.isnan(value):
            return NOT_COMPUTED
        unit = "ft" if self.system == "imperial" else "m"
        return f"{unit_text.rounded(number(value, unit), digits=digits, round_up=True)} {unit}"

    def foil(self, length_m: float) -> str:
        """Lead of a screen: as it is sold, in thousandths of an inch on an imperial sheet.

        >>> Show("imperial").foil(0.000254), Show().foil(0.00015)
        ('0.010 in', '0.15 mm')
        """
        if self.system == "imperial":
            return self.drawn(length_m, exact=True)
        return self.value(length_m, "length", digits=2)

    def raised(self, value: float, kind: str, *, digits: int = 3) -> float:
        """The SI value of `up`: what a reader adds up who has only the printed figure."""
        return parse(self.up(value, kind, digits=digits), kind)

    def told(self, value: float, kind: str) -> float:
        """The SI value of `value`: a sum of what is printed must be that of the printed parts."""
        return parse(self.value(value, kind), kind)

    def column(
        self,
        values: Sequence[float | None],
        kind: str,
        *,
        digits: int = 2,
        floor: bool = False,
        smallest: bool = False,
    ) -> list[str]:
        """Doses or rates that are read one below the other, in one unit: rounded up, or down where `floor` says so.

        A figure in mSv/h above one in uSv/h is misread by whoever is in a hurry. `smallest`: that of meters at a rope,
        the same in every table of a page.
        """
        known = [v for v in values if v is not None]
        signed = [-v for v in known] if floor else known
        made = unit_text.smallest if smallest else unit_text.column
        texts = iter(made(signed, kind, system=self.system, digits=digits, round_up=True))
        return [NOT_COMPUTED if v is None else next(texts).removeprefix("-") for v in values]

    def alike(self, values: Sequence[float], kind: str, *, digits: int = 3) -> list[str]:
        """Quantities that are no doses, read one below the other: in one unit, rounded to the nearest."""
        return list(unit_text.column(values, kind, system=self.system, digits=digits, round_up=False))

    def floor(self, value: float | None, kind: str, *, digits: int = 3) -> str:
        """A limit or a turn-back reading: rounded down, so that what is printed is never above what holds."""
        if value is None or math.isnan(value):
            return NOT_COMPUTED
        return show(-value, kind, system=self.system, digits=digits, round_up=True).removeprefix("-")

    def drawn(self, *lengths_m: float, exact: bool = False) -> str:
        """Lengths on a drawing, joined by a cross: whole millimetres (tenths below 100 mm), or inches to a hundredth.

        `exact` keeps hundredths of a millimetre (thousandths of an inch), for sizes that were given so.
        """
        if self.system == "imperial":
            texts = [_half_up(v / 0.0254, 3 if exact else 2) for v in lengths_m]
            return " × ".join(texts) + " in"
        texts = [
            f"{v * 1000:.2f}".rstrip("0").rstrip(".")
            if exact
            else f"{v * 1000:.1f}".removesuffix(".0")
            if abs(v) < 0.1
            else f"{v * 1000:.0f}"
            for v in lengths_m
        ]
        return " × ".join(texts) + " mm"

    def pipe(self, od_m: float, wall_m: float) -> str:
        """Outside diameter and wall of a pipe; of a size of ASME B36.10M on an imperial sheet its own inches.

        >>> Show("imperial").pipe(0.0603, 0.00554), Show().pipe(0.0603, 0.00554)
        ('2.375 × 0.218 in', '60.3 × 5.54 mm')
        """
        both = self.drawn(od_m, wall_m, exact=True)
        own = self.outside(od_m).partition(" ")[0]
        return f"{own} × {both.split(' × ')[1]}"

    def outside(self, od_m: float) -> str:
        """Outside diameter of a pipe, on an imperial sheet as `pipe` prints it.

        >>> Show("imperial").outside(0.0603), Show("imperial").outside(0.061), Show().outside(0.0603)
        ('2.375 in', '2.402 in', '60.3 mm')
        """
        own = _PIPE_INCHES.get(f"{od_m * 1e3:.1f}") if self.system == "imperial" else None
        return self.drawn(od_m, exact=True) if own is None else f"{own} in"

    def summed(self, *lengths_m: float) -> str:
        """The sum of lengths as `drawn` prints them exactly: parts and sum agree on paper.

        >>> Show("imperial").summed(0.00554, 0.0015875), Show().summed(0.00554, 0.0015875)
        ('0.281 in', '7.13 mm')
        """
        texts = [self.drawn(v, exact=True) for v in lengths_m]
        total = sum(Decimal(t.split(" ")[0]) for t in texts)
        return f"{total} {texts[0].split(' ')[1]}"

    def code_length(self, length_m: float, code: str) -> str:
        """A nominal length of a code's table; of ASME V on an imperial sheet in the inches of that table.

        >>> Show("imperial").code_length(0.00025, "ASME V Article 2:2007")
        '0.010 in'
        """
        metric = f"{length_m * 1e3:g} mm"
        if self.system == "imperial" and code.startswith("ASME"):
            for row in load.table("asme_v_art2_2007_wires").rows():
                if abs(row["diameter_mm"] / 1e3 - length_m) < 1e-9:
                    return f"{row['diameter_in']:.{4 if row['diameter_in'] * 1e3 % 1 > 1e-9 else 3}f} in"
        return self.converted(metric)

    def pm(
        self, value: float | None, sigma: float | None, kind: str, *, digits: int = 3, up: bool | None = None
    ) -> str:
        """`4.1 ± 0.2 µSv/h`: value and one standard deviation in one unit, to the place that is known.

        Doses and dose rates are rounded up, other quantities where `up` says so.
        """
        if value is None or math.isnan(value):
            return NOT_COMPUTED
        if sigma is None or not sigma > 0 or not math.isfinite(sigma) or not math.isfinite(value):
            return self.value(value, kind, digits=digits)
        text = self.value(value, kind)
        up = kind in ROUNDED_UP if up is None else up
        if kind == "time":
            return self._time_pm(value, sigma, text)
        _, sign = _split(text)
        unit = _UNIT_BY_SIGN.get(sign, sign.replace("³", "3").replace("²", "2"))
        v, s = number(value, unit), number(sigma, unit)
        place = place_of(s)
        gap = "" if sign == "°" else " "
        return f"{_to_place(v, place, up=up)} ± {_to_place(s, place, up=True)}{gap}{sign}"

    def _time_pm(self, value: float, sigma: float, text: str) -> str:
        figure, _, unit = text.rpartition(" ")
        if " " in figure or unit not in ("s", "d", "a"):
            return f"{text} ± {show(sigma, 'time', digits=2, round_up=True)}"
        v, s = number(value, unit), number(sigma, unit)
        place = place_of(s)
        return f"{_to_place(v, place, up=False)} ± {_to_place(s, place, up=True)} {unit}"

    def of(self, figure: Derived | None, *, digits: int = 3) -> str:
        """A derived figure in its own unit, with its uncertainty where one is stated."""
        if figure is None or figure.value is None:
            return NOT_COMPUTED
        if isinstance(figure.value, str):
            return figure.value
        kind = KIND_BY_UNIT.get(figure.unit)
        if kind:
            return self.pm(float(figure.value), figure.sigma, kind, digits=digits)
        unit = f" {figure.unit}" if figure.unit not in ("", "1") else ""
        if figure.sigma is not None and figure.sigma > 0:
            place = place_of(figure.sigma)
            value = _to_place(float(figure.value), place, up=False)
            return f"{value} ± {_to_place(figure.sigma, place, up=True)}{unit}"
        value = str(figure.value) if isinstance(figure.value, int) else f"{figure.value:.{digits}g}"
        return f"{value}{unit}"

    def converted(self, words: str) -> str:
        """Words as they are printed: signs in place of their spelling; for an imperial sheet quantities in metric units
        converted, numbers before `to` or `x` too.

        >>> Show("imperial").converted("5 to 40 mm of steel, 250 x 300 mm, clock 45 deg")
        '0.197 to 1.57 in of steel, 9.84 × 11.81 in, clock 45°'
        >>> Show().converted("measured to +-0.1, at most 7.5 uSv/h")
        'measured to ±0.1, at most 7.5 µSv/h'
        """
        if self.system == "metric":
            return _signs(ring_words(words))
        words = _PIPE_SAID.sub(lambda found: found[1] + self.outside(float(found[2]) / 1e3), words)
        return _signs(_QUANTITY.sub(self._imperial, _UG_ASKED.sub(_ug_in_inches, ring_words(words))))

    def _imperial(self, found: re.Match[str]) -> str:
        """A quantity in words, or several before one unit, in imperial units."""
        kind, unit = _IN_WORDS[found[2]]
        parts = re.split(r"( (?:up to|to|x|×|±) )", found[1])
        out: list[str] = []
        for n, part in enumerate(parts):
            if n % 2:
                out.append(part)
            elif found[2] == "mm":
                out.append(_inches(float(part) / 25.4) + (" in" if n == len(parts) - 1 else ""))
            else:
                digits = min(4, max(2, len(part.lstrip("-0.").replace(".", ""))))
                out.append(self.value(float(part) * unit, kind, digits=digits))
        return "".join(out)

    def degrees(self, angle_rad: float) -> str:
        """An angle in whole degrees (tenths where it is not whole)."""
        return f"{math.degrees(angle_rad):.1f}".removesuffix(".0") + "°"

    def share(self, fraction: float) -> str:
        """A share in whole per cent, that does not part from its sign at a line's end."""
        return f"{fraction * 100:.0f}\u00a0%" if fraction >= 0.01 else "<\u00a01\u00a0%"


def percent_up(relative: float) -> str:
    """A relative uncertainty in per cent, rounded up to two digits."""
    if not relative > 0:
        return "0 %"
    if not math.isfinite(relative):
        return "not known"
    exponent = math.floor(math.log10(relative * 100))
    return f"{_to_place(relative * 100, 1 - exponent if exponent < 1 else 0, up=True)} %"
