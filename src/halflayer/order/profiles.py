"""Published dose limits by name: they fill a limit only where the order names one.

A profile's name is body and subject, such as `uk barrier` or `us public`. It fills the values and the basis
that the order leaves out; what the order states beside the name stands.
"""

from __future__ import annotations

from functools import cache
from typing import Any

from halflayer.data import load

# how a limit is averaged -> YAML field of `limits.Limit` and the unit of the table's figure
FIELDS: dict[tuple[str, str], tuple[str, str]] = {
    ("rate", "instantaneous"): ("rate", "Sv/h"),
    ("dose", "any one hour"): ("in_any_hour", "Sv"),
    ("dose", "week"): ("per_week", "Sv"),
    ("dose", "year"): ("per_year", "Sv"),
    ("dose", "calendar year"): ("per_year", "Sv"),
}

READ = "read in a stored copy"


@cache
def _profiles() -> dict[str, dict[str, str]]:
    found: dict[str, dict[str, str]] = {}
    for row in load.table("limit_profiles").rows():
        field, unit = FIELDS[row["kind"], row["averaging"]]
        basis = row["source"]
        # What was read is not always the text that is named: an older one, or an adoption, with the same figure.
        if row["verification"] != READ:
            read = row["verification"].replace(f"{READ} (", "the text itself not read, but: ", 1)
            basis += f" ({read.removesuffix(')')})"
        found[f"{row['profile']} {row['subject']}"] = {field: f"{row['limit_Sv']!r} {unit}", "basis": basis}
    return found


def names() -> tuple[str, ...]:
    """Names of all profiles, in the order of the table."""
    return tuple(_profiles())


def described() -> str:
    """All profiles with their figures on one line, for a message to someone who stated no limit."""
    from halflayer.base.units import parse, show

    parts = []
    for name, fields in _profiles().items():
        for field, text in fields.items():
            if field != "basis":
                kind = "equivalent_rate" if text.endswith("Sv/h") else "equivalent"
                parts.append(f"{name} ({show(parse(text, kind), kind)} {field.replace('_', ' ')})")
    return ", ".join(parts)


def filled(limit: dict[str, Any]) -> dict[str, Any] | None:
    """A limit as written in YAML with its profile's figures filled in; None for an unknown profile.

    The basis of the profile is kept unless the order states its own; values stated beside the profile are
    named in it.
    """
    name = limit.get("profile")
    profile = _profiles().get(" ".join(name.split())) if isinstance(name, str) else None
    if profile is None:
        return None
    stated = [k for k in limit if k not in ("profile", "basis")]
    full = {**profile, **limit}
    if stated and "basis" not in limit:
        full["basis"] = (
            f"{profile['basis']}; {', '.join(k.replace('_', ' ') for k in stated)} as stated in the order"
        )
    return full
