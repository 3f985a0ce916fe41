"""What of an order is valid by itself, for the checks that look at several fields."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

LISTS = (
    ("places",),
    ("floors",),
    ("access",),
    ("obstacles",),
    ("sources",),
    ("heads",),
    ("detectors",),
    ("digital",),
    ("crew",),
    ("instruments",),
    ("signed",),
    ("materials",),
    ("welds",),
    *(
        ("kit", kind)
        for kind in (
            "plates",
            "blankets",
            "shrouds",
            "clamps",
            "legs",
            "guides",
            "carriers",
            "changers",
            "gear",
        )
    ),
)


@dataclass
class Parts:
    """What of an order is valid: the items of its lists with their index, and its single parts."""

    items: dict[tuple[str, ...], list[tuple[int, Any]]] = field(default_factory=dict)
    single: dict[str, Any] = field(default_factory=dict)

    def __getitem__(self, name: str) -> list[tuple[int, Any]]:
        return self.items.get((name,), [])
