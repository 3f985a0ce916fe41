"""The plan views of dose fields as files of their own: SVG to scale, and PNG with its words."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path

from halflayer.sheet import pdf
from halflayer.sheet.content import Sheet

PPI = 200.0


def write(sheets: Iterable[Sheet], folder: Path) -> dict[str, list[str]]:
    """Write `<weld id>.isodose.svg` and `.png` for each sheet with a plan view; gives their names by weld."""
    written: dict[str, list[str]] = {}
    for sheet in sheets:
        view = sheet.data.get("isodose")
        if sheet.kind != "weld" or view is None:
            continue
        stem = sheet.file.removesuffix(".pdf")
        (folder / f"{stem}.isodose.svg").write_text(view["svg"], encoding="utf-8")
        page = pdf.render_png(replace(sheet, data=sheet.data | {"only": "isodose"}), ppi=PPI)[0]
        (folder / f"{stem}.isodose.png").write_bytes(page)
        written[sheet.data["weld"]] = [f"{stem}.isodose.svg", f"{stem}.isodose.png"]
    return written
