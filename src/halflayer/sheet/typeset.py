"""Typesets pages with typst; run as a script it does so for others, so that the memory it took goes back when it ends.

The typesetter keeps what it worked out for every document until its process ends, some 50 MB for each. The script
therefore imports nothing of this package: it starts at once and holds typst alone.
"""

from __future__ import annotations

import json
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any


def new_compiler(entry: str, fonts: str) -> Any:
    """A compiler of the template `entry` with the fonts of one folder only."""
    import typst

    found = typst.Fonts(include_system_fonts=False, include_embedded_fonts=True, font_paths=[fonts])
    return typst.Compiler(entry, root=str(Path(entry).parent), font_paths=found, ignore_system_fonts=True)


def stamp(dated: str) -> datetime:
    """The moment that a document carries; UTC where it names no zone."""
    when = datetime.fromisoformat(dated)
    return when if when.tzinfo else when.replace(tzinfo=UTC)


def to_pdf(compiler: Any, content: str, dated: str) -> bytes:
    """The PDF of one sheet's content, which is JSON text."""
    out = compiler.compile(format="pdf", sys_inputs={"sheet": content}, timestamp=stamp(dated))
    assert isinstance(out, bytes)
    return out


def main() -> None:
    """Typeset the sheets that standard input names as JSON: `entry`, `fonts` and `sheets` of content, dated, to."""
    work = json.load(sys.stdin)
    compiler = new_compiler(work["entry"], work["fonts"])
    for sheet in work["sheets"]:
        Path(sheet["to"]).write_bytes(to_pdf(compiler, sheet["content"], sheet["dated"]))


if __name__ == "__main__":
    main()
