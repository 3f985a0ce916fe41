"""Model of people to be called: role, name and telephone, printed on page 1 and on every contingency card."""

from __future__ import annotations

import re
from typing import Annotated, Any

from pydantic import BeforeValidator
from pydantic_core import PydanticCustomError

from halflayer.order.fields import Model, Text

_NUMBER = re.compile(r"(?:ext(?:ension|\.)? ?)?\+?[0-9](?:[0-9 ()/-]*[0-9])?", re.IGNORECASE)


def _phone(value: Any) -> str:
    """A telephone or extension number as it is dialled; a bare whole number is an extension."""
    text = f"extension {value}" if type(value) is int and value >= 0 else value
    if not isinstance(text, str) or not _NUMBER.fullmatch(text.strip()) or len(text) > 40:
        raise PydanticCustomError(
            "phone",
            "not a number that can be dialled",
            {"accepted": "digits with spaces, + ( ) / or - between them, or `extension 214`"},
        )
    return text.strip()


Phone = Annotated[str, BeforeValidator(_phone)]


class Contact(Model):
    """Somebody who is called: when something goes wrong, or before the work, of who answers for a place or inspects.

    A role with `inspector` or `third party` in it names whoever inspects for a third party.
    """

    role: Text
    name: Text | None = None
    phone: Phone


def contact_words(c: Contact) -> str:
    """Role, name and number in a row."""
    return f"{c.role}{f' {c.name}' if c.name else ''} {c.phone}"
