"""Typesets sheets to PDF (or PNG) with the shipped fonts only; equal sheets give equal bytes."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import partial
from importlib import resources
from itertools import chain, islice
from pathlib import Path
from threading import local
from typing import Any

from halflayer.base.at_once import at_once
from halflayer.plan import Plan
from halflayer.scene.compiled import thread_count
from halflayer.sheet import typeset
from halflayer.sheet.compose import one_by_one
from halflayer.sheet.content import Paper, Sheet
from halflayer.sheet.typeface import font_folder

HERE_UP_TO = 3  # sheets typeset in this process: more go to processes of their own, our choice
OF_ONE_PROCESS = 2  # sheets that one of those sets before its memory goes back: our choice

_own = local()


def _entry() -> str:
    return str(Path(str(resources.files("halflayer.sheet") / "templates")) / "sheet.typ")


def _compiler() -> Any:
    """The compiler of this thread: fonts and templates are read once, and two threads never share one."""
    if not hasattr(_own, "compiler"):
        _own.compiler = typeset.new_compiler(_entry(), str(font_folder()))
    return _own.compiler


def render(sheet: Sheet) -> bytes:
    """The PDF of one sheet. Content goes in as JSON data, never as code."""
    return typeset.to_pdf(_compiler(), _content(sheet), sheet.dated)


def render_png(sheet: Sheet, *, ppi: float = 144.0) -> list[bytes]:
    """The pages of one sheet as PNG pictures."""
    out = _compiler().compile(
        format="png", ppi=ppi, sys_inputs={"sheet": _content(sheet)}, timestamp=typeset.stamp(sheet.dated)
    )
    return [out] if isinstance(out, bytes) else list(out or [])


def _content(sheet: Sheet) -> str:
    content = {"kind": sheet.kind, "paper": sheet.paper, "title": sheet.title, "data": sheet.data}
    return json.dumps(content, ensure_ascii=False, sort_keys=True)


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
    narrow = one_by_one(plan, paper="phone") if phone else ()
    every = chain(one_by_one(plan, paper=paper) if sheets is None else sheets, narrow)
    paths: list[Path] = []

    def group(most: int = OF_ONE_PROCESS) -> list[Sheet]:
        found = list(islice(every, most))
        paths.extend(Path(folder) / sheet.file for sheet in found)
        return found

    count = (1 + len(plan.welds)) * (2 if phone else 1)
    if count <= HERE_UP_TO or not sys.executable:
        while few := group():
            for path, sheet in zip(paths[-len(few) :], few, strict=True):
                path.write_bytes(render(sheet))
        return paths

    def work() -> Iterator[Callable[[], None]]:
        """Each group goes to its process as soon as it is composed; the first sheet, the longest, alone.

        So are the last ones: no processor waits for a group of another.
        """
        few = group(1)
        while few:
            yield partial(_elsewhere, few, paths[-len(few) :])
            few = group(1 if count - len(paths) <= thread_count() else OF_ONE_PROCESS)

    at_once(work(), thread_count())
    return paths


def _elsewhere(sheets: Sequence[Sheet], paths: Sequence[Path]) -> None:
    """Typeset sheets in a process of their own: the typesetter gives its memory back only by ending."""
    work = {
        "entry": _entry(),
        "fonts": str(font_folder()),
        "sheets": [
            {"content": _content(s), "dated": s.dated, "to": str(p.resolve())}
            for s, p in zip(sheets, paths, strict=True)
        ],
    }
    # What this process can import the other one can: it may have been started with paths of its own.
    own = os.environ | {"PYTHONPATH": os.pathsep.join(p for p in sys.path if p), "PYTHONIOENCODING": "utf-8"}
    done = subprocess.run(
        [sys.executable, str(Path(typeset.__file__))],
        input=json.dumps(work, ensure_ascii=False).encode("utf-8"),
        env=own,
        capture_output=True,
        check=False,
    )
    if done.returncode != 0:
        said = (done.stderr.decode("utf-8", "replace").strip().splitlines() or ["no reason given"])[-1]
        raise RuntimeError(
            f"typesetting {', '.join(s.file for s in sheets)} ended with {done.returncode}: {said}"
        )
