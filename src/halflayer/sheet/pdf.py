"""Typesets sheets to PDF (or PNG) with the shipped fonts only; equal sheets give equal bytes."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import UTC, datetime
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

from halflayer.plan import Plan
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Paper, Sheet
from halflayer.sheet.typeface import font_folder


@cache
def _compiler() -> Any:
    """One compiler for the whole process: fonts and templates are read once."""
    import typst

    folder = Path(str(resources.files("halflayer.sheet") / "templates"))
    fonts = typst.Fonts(
        include_system_fonts=False, include_embedded_fonts=True, font_paths=[str(font_folder())]
    )
    return typst.Compiler(
        str(folder / "sheet.typ"), root=str(folder), font_paths=fonts, ignore_system_fonts=True
    )


def _stamp(dated: str) -> datetime:
    when = datetime.fromisoformat(dated)
    return when if when.tzinfo else when.replace(tzinfo=UTC)


def render(sheet: Sheet) -> bytes:
    """The PDF of one sheet. Content goes in as JSON data, never as code."""
    out = _compiler().compile(format="pdf", sys_inputs=_inputs(sheet), timestamp=_stamp(sheet.dated))
    assert isinstance(out, bytes)
    return out


def render_png(sheet: Sheet, *, ppi: float = 144.0) -> list[bytes]:
    """The pages of one sheet as PNG pictures."""
    out = _compiler().compile(format="png", ppi=ppi, sys_inputs=_inputs(sheet), timestamp=_stamp(sheet.dated))
    return [out] if isinstance(out, bytes) else list(out or [])


def _inputs(sheet: Sheet) -> dict[str, str]:
    content = {"kind": sheet.kind, "paper": sheet.paper, "title": sheet.title, "data": sheet.data}
    return {"sheet": json.dumps(content, ensure_ascii=False, sort_keys=True)}


def write(
    plan: Plan,
    folder: Path,
    *,
    sheets: Iterable[Sheet] | None = None,
    paper: Paper = "a4",
    phone: bool = False,
) -> list[Path]:
    """Write `order.pdf` and one `<weld id>.pdf` per weld into an existing folder; gives the paths.

    `sheets` in place of `compose(plan, paper=paper)` where they were composed before. With `phone` each has
    a narrow one beside it, `order.phone.pdf` and `<weld id>.phone.pdf`.
    """
    paths = []
    narrow = compose(plan, paper="phone") if phone else ()
    for sheet in (*(compose(plan, paper=paper) if sheets is None else sheets), *narrow):
        path = Path(folder) / sheet.file
        path.write_bytes(render(sheet))
        paths.append(path)
    return paths
