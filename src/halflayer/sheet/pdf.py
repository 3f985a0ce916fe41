"""Typesets sheets to PDF (or PNG) with the shipped fonts only; equal sheets give equal bytes."""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import UTC, datetime
from functools import partial
from importlib import resources
from pathlib import Path
from threading import local
from typing import Any

from halflayer.base.at_once import at_once
from halflayer.plan import Plan
from halflayer.scene.compiled import thread_count
from halflayer.sheet.compose import compose
from halflayer.sheet.content import Paper, Sheet
from halflayer.sheet.typeface import font_folder

_own = local()


def _compiler() -> Any:
    """The compiler of this thread: fonts and templates are read once, and two threads never share one."""
    if not hasattr(_own, "compiler"):
        _own.compiler = _new_compiler()
    return _own.compiler


def _new_compiler() -> Any:
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
    narrow = compose(plan, paper="phone") if phone else ()
    every = (*(compose(plan, paper=paper) if sheets is None else sheets), *narrow)
    pages = at_once([partial(render, sheet) for sheet in every], thread_count())
    paths = [Path(folder) / sheet.file for sheet in every]
    for path, content in zip(paths, pages, strict=True):
        path.write_bytes(content)
    return paths
