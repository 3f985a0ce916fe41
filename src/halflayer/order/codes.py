"""Codes of practice that an order or one of its welds may name, and which of them have classes or are digital."""

from __future__ import annotations

from typing import Literal

Code = Literal["ISO 17636-1:2013", "ISO 17636-2:2013", "ASME V Article 2:2007"]
TestClass = Literal["A", "B"]
CLASSED = ("ISO 17636-1:2013", "ISO 17636-2:2013")  # codes that have test classes
DIGITAL = ("ISO 17636-2:2013",)  # codes for imaging plates and panels; the others are for film
