"""Result dataclasses to plain JSON data and back without loss."""

from __future__ import annotations

from functools import cache
from typing import Any, TypeVar

from pydantic import TypeAdapter

T = TypeVar("T")


@cache
def _adapter(kind: type) -> TypeAdapter[Any]:
    return TypeAdapter(kind)


def to_json(value: Any) -> Any:
    """A result dataclass as plain JSON data (dicts, lists, numbers, texts, None)."""
    return _adapter(type(value)).dump_python(value, mode="json")


def from_json(kind: type[T], data: Any) -> T:
    """The inverse of `to_json` for the dataclass `kind`."""
    result: T = _adapter(kind).validate_python(data)
    return result
