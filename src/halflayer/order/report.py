"""Collects everything wrong with an order: each problem with its line, its field and what was given."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any, get_args, get_origin

from pydantic import BeforeValidator
from pydantic.fields import FieldInfo

from halflayer.base.errors import Problem
from halflayer.order import profiles
from halflayer.order.fields import MOMENT_EXAMPLE, Model, Quantity
from halflayer.order.yaml_read import Document

Loc = tuple[str | int, ...]

MOST_NAMES = 70  # our choice, all built-in materials: longer lists of what is accepted are cut
ID_RULE = "a letter or digit, then letters, digits and . _ + -; at most 40 characters"
# Inside [] and {} YAML itself parts a value at its decimal comma, and what comes after it looks like a quantity.
COMMA = "a decimal comma, which parts the value inside [] and {}; write a point"
ACCEPTED_POINT = "such as 3.5 m"
_PARTED = re.compile(r"\d+(?:[eE][+-]?\d+)?\s*[^\W\d]")
_MESSAGES: dict[str, tuple[str, str]] = {
    "string_type": ("text is wanted", "text; a number meant as text stands in quotes"),
    "string_too_short": ("the text is empty", "some text"),
    "string_pattern_mismatch": ("this is no id", ID_RULE),
    "int_type": ("a whole number is wanted", "a whole number such as 12"),
    "int_parsing": ("a whole number is wanted", "a whole number such as 12"),
    "int_parsing_size": ("the number is too large", "a whole number such as 12"),
    "int_from_float": ("a whole number is wanted", "a whole number such as 12"),
    "float_type": ("a number is wanted", "a number such as 2.3"),
    "float_parsing": ("a number is wanted", "a number such as 2.3"),
    "finite_number": ("a finite number is wanted", "a number such as 2.3"),
    "bool_type": ("yes or no is asked", "true or false"),
    "bool_parsing": ("yes or no is asked", "true or false"),
    "tuple_type": ("a list is wanted", "[one, another] or lines that begin with -"),
    "dict_type": ("fields are wanted", "`name: value` on lines of their own"),
}
_PLAIN: dict[Any, str] = {
    dict: "`name: number` on lines of their own",
    str: "text",
    bool: "true or false",
    int: "a whole number",
    float: "a number",
    datetime: MOMENT_EXAMPLE,
}
_BOUNDS = {
    "greater_than": ("gt", "the value is too small", "above"),
    "greater_than_equal": ("ge", "the value is too small", "at least"),
    "less_than": ("lt", "the value is too large", "below"),
    "less_than_equal": ("le", "the value is too large", "at most"),
}


class Report:
    """The problems of one document."""

    def __init__(self, document: Document) -> None:
        self.document = document
        self.problems: list[Problem] = list(document.problems)

    def add(self, loc: Loc, problem: str, *, accepted: str | None) -> None:
        """Note a problem at `loc` (YAML names and list indices); what was given there is looked up."""
        self.problems.append(
            Problem(
                self.document.file,
                self.document.where(loc),
                self.name(loc),
                problem,
                _shown(self.raw(loc)),
                accepted,
            )
        )

    def unknown(self, loc: Loc, problem: str, given: str, names: Sequence[str]) -> None:
        """Note a name at `loc` that is none of some: those most like it are asked for, all of them accepted."""
        self.add(loc, problem + guesses(given, names), accepted=listed(names) or "none: the order has none")

    def raw(self, loc: Sequence[str | int]) -> Any:
        """The value as written at `loc`; Ellipsis where there is none."""
        value = self.document.data
        for step in loc:
            try:
                value = value[step]
            except (KeyError, IndexError, TypeError):
                return ...
        return value

    def name(self, loc: Loc) -> str:
        """A field as problems name it: items of lists by their id where they have one, `welds[W4].pipe.wall`."""
        text = ""
        for n, step in enumerate(loc):
            if isinstance(step, str):
                text += f".{step}" if text else step
                continue
            found = self.raw((*loc[: n + 1], "id"))
            named = isinstance(found, str | int) and not isinstance(found, bool) and 0 < len(str(found)) <= 40
            text += f"[{found if named else step}]"
        return text

    def sorted(self) -> tuple[Problem, ...]:
        """The problems in the order of the file."""
        return tuple(sorted(self.problems, key=lambda p: p.line or 0))

    def wrong_fields(self, model: type[Model], errors: Iterable[Any]) -> None:
        """Add what the validation of `model` at the top of the document found."""
        for error in errors:
            self._wrong_field(model, error)

    def _wrong_field(self, model: type[Model], error: Any) -> None:
        kind, ctx = error["type"], error.get("ctx", {})
        loc = tuple(s for s in error["loc"] if not (isinstance(s, str) and s.startswith("function-")))
        if kind == "missing":
            self._missing(model, loc)
        elif kind == "extra_forbidden" and _PARTED.match(str(loc[-1])) and self.raw(loc) is None:
            self.add(loc, COMMA, accepted=ACCEPTED_POINT)
        elif kind == "extra_forbidden":
            owner, _ = _at(model, loc[:-1])
            names = yaml_names(owner) if owner else []
            self.unknown(loc, "unknown field", str(loc[-1]), names)
        elif kind == "literal_error":
            _, field = _at(model, loc)
            options = [str(o) for o in options_of(field)] or [str(ctx.get("expected", ""))]
            self.unknown(loc, "not one of the possible values", str(self.raw(loc)), options)
        elif kind in _BOUNDS:
            key, problem, word = _BOUNDS[kind]
            self.add(loc, problem, accepted=f"{word} {ctx[key]:g}")
        elif kind in ("too_short", "too_long"):
            self._wrong_length(loc, kind, ctx)
        elif kind == "string_too_long":
            self.add(loc, "the text is too long", accepted=f"at most {ctx['max_length']} characters")
        elif kind.startswith("model_"):
            owner, _ = _at(model, loc)
            names = yaml_names(owner) if owner else []
            self.add(loc, "fields are wanted", accepted="`name: value` for " + ", ".join(names))
        elif kind in _MESSAGES:
            problem, accepted = _MESSAGES[kind]
            self.add(loc, problem, accepted=accepted)
        else:
            at = (*loc, ctx["field"]) if "field" in ctx else loc
            self.add(at, error["msg"], accepted=ctx.get("accepted"))

    def _missing(self, model: type[Model], loc: Loc) -> None:
        if loc == ("limits",) or loc[:1] == ("limits",) and loc[-1] in ("barrier", "crew"):
            text = "no limit is stated, and none is assumed"
            self.add(loc, text, accepted=f"values with their basis, or profile: {profiles.described()}")
        elif loc[:1] == ("sources",) and loc[-1] == "on":
            accepted = f"the date of the certificate: {MOMENT_EXAMPLE}"
            self.add(loc, "the activity has no date", accepted=accepted)
        elif isinstance(loc[-1], int):
            n = loc[-1] + 1
            self.add(loc[:-1], f"value {n} of the list is missing", accepted=f"{n} values or more")
        else:
            self.add(loc, "the field is missing", accepted=wanted(_at(model, loc)[1]))

    def _wrong_length(self, loc: Loc, kind: str, ctx: dict[str, Any]) -> None:
        if kind == "too_short":
            value = self.raw(loc)
            if isinstance(value, list) and len(value) >= ctx["min_length"]:
                return  # too short only because its items are wrong, which is told
            self.add(loc, "the list is too short", accepted=f"at least {ctx['min_length']}")
        elif self._parted(loc):
            self.add(loc, COMMA, accepted=ACCEPTED_POINT)
        else:
            self.add(loc, "the list is too long", accepted=f"at most {ctx['max_length']}")

    def _parted(self, loc: Loc) -> bool:
        """True for a list such as [6 m, 3,5 m], which YAML reads as `6 m`, `3` and `5 m`."""
        value = self.raw(loc)
        return isinstance(value, list) and any(
            isinstance(a, int) and isinstance(b, str) and _PARTED.match(b) for a, b in pairwise(value)
        )


def guesses(given: str, names: Sequence[str]) -> str:
    """The names most like the given one as a question behind a problem; empty where none is like it or one is left.

    >>> guesses("hieght", ["height", "density"])
    ', did you mean height?'
    """
    lower = {n.lower(): n for n in names}
    close = difflib.get_close_matches(given.lower()[:80], list(lower), n=3, cutoff=0.55)
    return f", did you mean {' or '.join(lower[c] for c in close)}?" if close and len(names) > 1 else ""


def listed(names: Sequence[str]) -> str:
    """All names, the first 70 of a long list."""
    more = f" and {len(names) - MOST_NAMES} more" if len(names) > MOST_NAMES else ""
    return ", ".join(names[:MOST_NAMES]) + more


def yaml_names(model: type[Model]) -> list[str]:
    """The names of a model's fields as they stand in YAML."""
    return [str(f.alias or name) for name, f in model.model_fields.items()]


def wanted(field: FieldInfo | None) -> str | None:
    """What a field accepts, in words; None for a field that is not known."""
    if field is None:
        return None
    from halflayer.base.units import KINDS

    quantity = quantity_of(field)
    inner = inner_model(field.annotation)
    options = options_of(field)
    if options:
        return ", ".join(map(str, options))
    if quantity is not None:
        return KINDS[quantity.kind][1]
    if inner:
        return "`name: value` for " + ", ".join(yaml_names(inner))
    parts = list(_deep(field.annotation))
    return next((words for kind, words in _PLAIN.items() if kind in parts), None)


def quantity_of(field: FieldInfo) -> Quantity | None:
    """The quantity that a field (or the items of its list) holds."""
    return _quantity((*field.metadata, *_deep(field.annotation)))


def _quantity(parts: Iterable[Any]) -> Quantity | None:
    for part in parts:
        if isinstance(part, BeforeValidator) and isinstance(part.func, Quantity):
            return part.func
    return None


def _deep(annotation: Any) -> Iterable[Any]:
    yield annotation
    if get_origin(annotation) is not None:
        yield get_origin(annotation)
    yield from getattr(annotation, "__metadata__", ())
    for part in get_args(annotation):
        yield from _deep(part)


def inner_model(annotation: Any) -> type[Model] | None:
    """The model inside an annotation such as `tuple[Weld, ...]` or `Limit | None`."""
    for part in _deep(annotation):
        if isinstance(part, type) and issubclass(part, Model):
            return part
    return None


def options_of(field: FieldInfo | None) -> list[Any]:
    """The values that a field takes, where it takes only some."""
    if field is None or inner_model(field.annotation):
        return []
    return [p for p in _deep(field.annotation) if isinstance(p, str)]


def _at(model: type[Model], loc: Sequence[str | int]) -> tuple[type[Model] | None, FieldInfo | None]:
    """The model that holds or is the value at `loc`, and the field that leads there."""
    owner: type[Model] | None = model
    field: FieldInfo | None = None
    for step in loc:
        if isinstance(step, int):
            continue
        fields = {str(f.alias or n): f for n, f in owner.model_fields.items()} if owner else {}
        field = fields.get(step)
        if field is None:
            return None, None
        owner = inner_model(field.annotation)
    return owner, field


def _shown(value: Any, most: int = 80) -> str:
    if value is ... or value is None or value == "":
        return "nothing"
    if isinstance(value, bool):
        text = "true" if value else "false"
    elif isinstance(value, dict):
        text = "{" + ", ".join(f"{k}: ..." for k in list(value)[:8]) + "}"
    else:
        text = str(value)
    text = " ".join(text[: 4 * most].split())
    return text if len(text) <= most else text[: most - 1] + "…"
