"""Codes of practice that an order or one of its welds may name, their classes, and the kinds of indicator."""

from __future__ import annotations

from typing import Literal

Code = Literal["ISO 17636-1:2013", "ISO 17636-2:2013", "ASME V Article 2:2007"]
TestClass = Literal["A", "B"]
IqiKind = Literal["wire", "step-hole"]  # image quality indicator: wires, or plates with steps and holes
CLASSED = ("ISO 17636-1:2013", "ISO 17636-2:2013")  # codes that have test classes
DIGITAL = ("ISO 17636-2:2013",)  # codes for imaging plates and panels; the others are for film
