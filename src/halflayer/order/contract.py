"""What a contract settles beside the code: agreements and who signed them, acceptance, parties."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from halflayer.order.fields import Model, Moment, Text

Agreement = Literal[
    "se75-from-5mm",  # Se-75 below the table's range, down to 5 mm
    "ir192-from-10mm",  # Ir-192 below the table's range, down to 10 mm
    "class-b-at-class-a-distance",  # with the compensation the code asks for
    "class-b-with-class-a-source-range",
    "iqi-relief-gamma",  # one or two wires or holes less with gamma sources
    "density-1.5-class-a",
    "density-2.0-class-b",
    "ellipse-beyond-limits",  # ellipse outside the diameter, wall or weld width limits
]

IN_WORDS: dict[str, str] = {
    "se75-from-5mm": "Se-75 below the table's range of penetrated thickness w, down to 5 mm",
    "ir192-from-10mm": "Ir-192 below the table's range of penetrated thickness w, down to 10 mm",
    "class-b-at-class-a-distance": "class B at the class A distance, with the compensation that the code asks for",
    "class-b-with-class-a-source-range": "class B with the class A range of the source",
    "iqi-relief-gamma": "IQI wires or holes less with gamma sources: one with Se-75, up to two with Ir-192",
    "density-1.5-class-a": "density down to 1.5 in class A",
    "density-2.0-class-b": "density down to 2.0 in class B",
    "ellipse-beyond-limits": "ellipse outside its limits of diameter, wall or weld width",
}
"""What each agreement means, in words for sheets and conditions."""


class SignedAgreement(Model):
    """One of the order's agreements that the contracting parties have signed; without it a weld waits for them."""

    agreement: Agreement
    by: Annotated[tuple[Text, ...], Field(min_length=1)]  # the parties, by role or name
    on: Moment
    document: Text | None = None  # where it is written


# Test class that goes with an acceptance level of ISO 10675-1 or a quality level of ISO 5817: ISO 17635 Table A.2 and
# ISO 10675-1 (both from memory, unverified). Level 2 (C) asks class B, its exposures may be as many as class A asks.
CLASS_FOR: dict[str, dict[str, str]] = {
    "ISO 10675-1": {"1": "B", "2": "B", "3": "A"},
    "ISO 5817": {"B": "B", "C": "B", "D": "A"},
}
CLASS_FOR_SOURCE = "ISO 17635 Table A.2, ISO 10675-1 (from memory, unverified)"


class Acceptance(Model):
    """Standard and level by which the films are judged."""

    standard: Text
    level: Text | None = None
    quality_level: Text | None = None  # that the level stands for, such as ISO 5817:2014, D

    @property
    def words(self) -> str:
        """Standard and level as they are printed, with the quality level that they stand for."""
        own = f" ({self.quality_level})" if self.quality_level else ""
        return self.standard + (f", level {self.level}" if self.level else "") + own

    @property
    def test_class(self) -> str | None:
        """Test class of ISO 17636 that goes with standard and level, at least; None where that is not known.

        >>> Acceptance(standard="ISO 10675-1:2021", level="2").test_class
        'B'
        """
        level = (self.level or "").strip().upper().removeprefix("LEVEL ")
        return next((c.get(level) for name, c in CLASS_FOR.items() if self.standard.startswith(name)), None)

    def fits(self, test_class: str | None) -> bool | None:
        """True where films of a test class may be judged by it (class B does for all); None where that is not known."""
        asked = self.test_class
        return None if asked is None or test_class is None else test_class == "B" or asked == "A"
