"""The page that describes every field of a work order, made from the models and their own comments."""

from __future__ import annotations

import inspect
import io
import tokenize
from typing import Any, get_args, get_origin

from pydantic import BaseModel
from pydantic.fields import FieldInfo
from pydantic_core import PydanticUndefined

from halflayer.base.units import KINDS
from halflayer.order import profiles
from halflayer.order.fields import Model, yaml_name
from halflayer.order.models import Order
from halflayer.order.report import inner_model, options_of, quantity_of

HEAD = """# The work order

A work order is one YAML file. Every quantity carries its unit, metric or imperial (`8.56 mm`, `0.337 in`,
`2.1 TBq`, `57 Ci`); a bare number is accepted for shares and counts only. Dates are written as `2026-03-14`,
`2026-03-14T22:00Z` or with another time zone, which sheets keep; without one they are UTC. Unknown fields
are refused, and all problems are told at once. This page is made from the program's own models.

What is accepted for each kind of quantity:

{kinds}

A limit may name a profile of published limits, which fills in the values and the basis that are not stated:
{profiles}.
"""


def order_schema_markdown() -> str:
    """The whole page as Markdown: one table per model, in the order in which they appear in an order."""
    kinds = "\n".join(f"- {kind.replace('_', ' ')}: {words}" for kind, (_, words) in KINDS.items())
    lines = [HEAD.format(kinds=kinds, profiles=profiles.described())]
    for model, path in _models():
        title = path or "the order itself"
        lines += [f"## {title}", "", inspect.cleandoc(model.__doc__ or ""), ""]
        lines += ["| field | what it takes | default | meaning |", "|---|---|---|---|"]
        comments = _comments(model)
        for name, field in model.model_fields.items():
            cells = (
                f"`{field.alias or yaml_name(name)}`",
                _takes(field),
                _default(field),
                comments.get(name, ""),
            )
            lines.append("| " + " | ".join(c.replace("|", "\\|") for c in cells) + " |")
        lines.append("")
    return "\n".join(lines)


def _models() -> list[tuple[type[Model], str]]:
    """Every model once, with the path at which it first stands."""
    found: dict[type[Model], str] = {}

    def visit(model: type[Model], path: str) -> None:
        if model in found:
            return
        found[model] = path
        for name, field in model.model_fields.items():
            inner = inner_model(field.annotation)
            if inner is not None:
                step = f"{field.alias or name}[]" if _is_list(field.annotation) else f"{field.alias or name}"
                visit(inner, f"{path}.{step}" if path else step)

    visit(Order, "")
    return list(found.items())


def _is_list(annotation: Any) -> bool:
    return get_origin(annotation) is tuple or any(_is_list(a) for a in get_args(annotation))


def _takes(field: FieldInfo) -> str:
    quantity, inner = quantity_of(field), inner_model(field.annotation)
    listed = _is_list(field.annotation)
    if inner is not None:
        return "list of fields" if listed else "fields"
    if quantity is not None:
        text = quantity.kind.replace("_", " ")
        return f"list of {text}" if listed else text
    words = ", ".join(map(str, options_of(field)))
    if words:
        return f"list from: {words}" if listed else words
    names = {str: "text", int: "whole number", float: "number", bool: "true or false"}
    text = next((w for t, w in names.items() if t in _flat(field.annotation)), "date")
    text = "mapping of element to mass fraction" if dict in _flat(field.annotation) else text
    return f"list of {text}" if listed else text


def _flat(annotation: Any) -> list[Any]:
    parts = [annotation, get_origin(annotation)]
    for part in get_args(annotation):
        parts += _flat(part)
    return parts


def _default(field: FieldInfo) -> str:
    if field.is_required():
        return "required"
    value = field.get_default(call_default_factory=True)
    if value is None or value is PydanticUndefined:
        return "none"
    if isinstance(value, BaseModel):
        return "as below"
    if value == ():
        return "empty"
    quantity = quantity_of(field)
    if quantity is not None and isinstance(value, float):
        from halflayer.base.units import show

        return show(value, quantity.kind, round_up=False)
    if isinstance(value, bool):
        return "true" if value else "false"
    return "[" + ", ".join(map(str, value)) + "]" if isinstance(value, tuple) else str(value)


def _comments(model: type[Model]) -> dict[str, str]:
    """The comment at the end of each field's line in the model's source, or the lines of comment above it."""
    found: dict[str, str] = {}
    above: list[str] = []
    tokens = list(tokenize.generate_tokens(io.StringIO(inspect.getsource(model)).readline))
    name = ""
    for token in tokens:
        line = token.line.strip()
        if (
            token.type == tokenize.NAME
            and line.startswith(f"{token.string}:")
            and token.string in model.model_fields
        ):
            name = token.string
            if above:
                found[name] = " ".join(above)
                above = []
        elif token.type == tokenize.COMMENT:
            text = token.string.lstrip("# ").strip()
            if line.startswith("#"):
                above.append(text)
            elif name:
                found[name] = f"{found[name]} {text}" if name in found else text
    return found


if __name__ == "__main__":
    import sys

    sys.stdout.write(order_schema_markdown())
