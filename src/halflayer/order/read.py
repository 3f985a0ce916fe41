"""Reads a work order from YAML: every problem at once with file, line and field, or an order in SI units."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from pydantic import ValidationError

from halflayer.base.errors import InputError
from halflayer.order import pipe_sizes, profiles
from halflayer.order.check import problems
from halflayer.order.fields import Model
from halflayer.order.models import Order
from halflayer.order.parts import LISTS, Parts
from halflayer.order.report import Loc, Report, inner_model
from halflayer.order.weld import Pipe, Weld
from halflayer.order.yaml_read import Document, parse, read

__all__ = ["order_schema_markdown", "parse_order", "read_order"]


# Our choice: DN 65 has 76.1 mm by one table and 73.0 mm by another, 4 % off; the next size is 15 % off and more.
OD_OFF = 0.05


def read_order(path: str | Path) -> Order:
    """The work order of a YAML file, checked whole.

    Raises: InputError with every problem, in the order of the file, each with file, line, field, what was
    given and what would be accepted.
    """
    return _order(read(path))


def parse_order(text: str, *, file: str) -> Order:
    """Like `read_order` for a text in memory; `file` is only named in problems."""
    return _order(parse(text, file=file))


def order_schema_markdown() -> str:
    """The page that describes every field of a work order (docs/formats/order.md)."""
    from halflayer.order import describe

    return describe.order_schema_markdown()


def _order(document: Document) -> Order:
    report = Report(document)
    data = dict(document.data)
    unknown = _fill_limits(data, report)
    order, errors = _validated(Order, data)
    # a limit whose profile is unknown lacks values only for that reason
    report.wrong_fields(Order, [e for e in errors if not any(_under(e["loc"], loc) for loc in unknown)])
    parts = _parts(order, data, errors)
    _size_pipes(parts, report)
    problems(parts, report)
    if report.problems or order is None:
        raise InputError(report.sorted())
    return order.model_copy(update={"welds": tuple(weld for _, weld in parts["welds"])})


def _under(loc: Loc, parent: Loc) -> bool:
    return tuple(loc[: len(parent)]) == parent


def _validated(model: type[Model], data: Any) -> tuple[Any, list[Any]]:
    try:
        return model.model_validate(data, by_alias=True, by_name=False), []
    except ValidationError as error:
        return None, error.errors(include_url=False, include_input=False)


def _fill_limits(data: dict[str, Any], report: Report) -> list[Loc]:
    """Fill limits that name a profile, in copies; the places of those whose profile is unknown."""
    unknown: list[Loc] = []

    def filled(loc: Loc, limit: Any) -> Any:
        if not isinstance(limit, dict) or "profile" not in limit:
            return limit
        full = profiles.filled(limit)
        if full is None:
            known = profiles.names()
            report.unknown((*loc, "profile"), "unknown profile of limits", str(limit["profile"]), known)
            unknown.append(loc)
        return full or limit

    limits = data.get("limits")
    if isinstance(limits, dict):
        data["limits"] = {
            k: filled(("limits", k), v) if k in ("barrier", "crew") else v for k, v in limits.items()
        }
    for name in ("places", "floors"):
        items = data.get(name)
        if isinstance(items, list):
            data[name] = [
                {**p, "limit": filled((name, n, "limit"), p["limit"])}
                if isinstance(p, dict) and "limit" in p
                else p
                for n, p in enumerate(items)
            ]
    return unknown


def _parts(order: Order | None, data: dict[str, Any], errors: list[Any]) -> Parts:
    """What is valid by itself, so that one wrong field does not hide the problems of the others."""
    parts = Parts()
    wrong = [tuple(e["loc"]) for e in errors]
    for path in LISTS:
        raw: Any = data
        model: type[Model] = Order
        for step in path:
            raw = raw.get(step) if isinstance(raw, dict) else None
            found = inner_model(model.model_fields[step].annotation)
            assert found is not None
            model = found
        parts.items[path] = []
        for n, item in enumerate(raw if isinstance(raw, list) else []):
            if not any(_under(loc, (*path, n)) for loc in wrong):
                valid, _ = _validated(model, item)
                if valid is not None:
                    parts.items[path].append((n, valid))
    for name in ("shift", "limits", "site", "source_changes_at"):
        model_of = inner_model(Order.model_fields[name].annotation)
        if model_of is not None and name in data:
            parts.single[name], _ = _validated(model_of, data[name])
    return parts


def _size_pipes(parts: Parts, report: Report) -> None:
    """Give every pipe that is named by size its outside diameter and wall; stated ones stand."""
    sized = []
    for n, weld in parts["welds"]:
        pipe: Pipe = weld.pipe
        if pipe.schedule is not None and (pipe.nps is None) != (pipe.dn is None):
            try:
                size = pipe_sizes.find(nps=pipe.nps, dn=pipe.dn, schedule=pipe.schedule)
            except pipe_sizes.UnknownSize as error:
                report.add(("welds", n, "pipe", error.field), error.problem, accepted=error.accepted)
            else:
                weld = _with_size(report, n, weld, size)
        sized.append((n, weld))
    parts.items[("welds",)] = sized


def _with_size(report: Report, n: int, weld: Weld, size: pipe_sizes.PipeSize) -> Weld:
    od = weld.pipe.outer_diameter_m or size.outer_diameter_m
    wall = weld.pipe.wall_m or size.wall_m
    if abs(od - size.outer_diameter_m) > OD_OFF * size.outer_diameter_m:
        text = "the outside diameter is not that of the pipe's name"
        accepted = f"about {size.outer_diameter_m * 1000:.4g} mm, or no name"
        report.add(("welds", n, "pipe", "outer_diameter"), text, accepted=accepted)
        return weld
    if 2 * wall >= od:
        text = "the wall is half the outside diameter or more"
        report.add(("welds", n, "pipe", "wall"), text, accepted=f"a wall below {od * 500:g} mm")
        return weld
    pipe = weld.pipe.model_copy(update={"outer_diameter_m": od, "wall_m": wall})
    return weld.model_copy(update={"pipe": pipe})
