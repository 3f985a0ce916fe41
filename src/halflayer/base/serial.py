"""Result dataclasses to plain JSON data and back without loss."""

from __future__ import annotations

from typing import Any, TypeVar

from pydantic import TypeAdapter

T = TypeVar("T")


# Building one takes half a second for a whole plan. Not `functools.cache`: a type is no Hashable to mypy.
_ADAPTERS: dict[type, TypeAdapter[Any]] = {}


def _adapter(kind: type) -> TypeAdapter[Any]:
    if kind not in _ADAPTERS:
        _ADAPTERS[kind] = TypeAdapter(kind)
    return _ADAPTERS[kind]


def to_json(value: Any) -> Any:
    """A result dataclass as plain JSON data (dicts, lists, numbers, texts, None)."""
    return _adapter(type(value)).dump_python(value, mode="json")


def from_json(kind: type[T], data: Any) -> T:
    """The inverse of `to_json` for the dataclass `kind`."""
    result: T = _adapter(kind).validate_python(data)
    return result
