"""What is kept together on the order's sheets: nothing runs off the paper, and the card of one source stays whole."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pytest
from pypdf import PdfReader

import halflayer.sheet
from halflayer.sheet.typeface import font_folder

TEMPLATES = Path(halflayer.sheet.__file__).parent / "templates"


def _pages(body: str, tmp_path: Path) -> list[str]:
    """Text of each page of a document that lays `body` out with the sheets' own rules."""
    import typst

    for part in TEMPLATES.glob("*.typ"):
        (tmp_path / part.name).write_text(part.read_text())
    (tmp_path / "laid.typ").write_text(
        '#import "style.typ": *\n#import "sheets.typ": on-sheets, whole\n'
        "#set page(width: paper-wide, height: paper-high, margin: (x: 11mm, top: top-margin, bottom: bottom-margin))\n"
        f"#set text(font: sans, size: 9pt)\n{body}\n"
    )
    made = typst.compile(
        str(tmp_path / "laid.typ"),
        font_paths=[str(font_folder())],
        ignore_system_fonts=True,
        sys_inputs={"sheet": json.dumps({"paper": "a4"})},
    )
    return [p.extract_text() for p in PdfReader(io.BytesIO(made)).pages]  # type: ignore[arg-type]


@pytest.mark.parametrize("rows", [20, 50, 90])
def test_a_piece_kept_together_goes_over_the_end_of_a_sheet_only_where_it_is_longer(
    rows: int, tmp_path: Path
) -> None:
    """One row is 5 mm high, a sheet's text 277 mm: 20 rows fit under 30 others, 50 a sheet, 90 more."""
    lines = "range({n}).map(i => block(height: 4mm, above: 0mm, below: 1mm)[{what} #(i).]).join()"
    pages = _pages(
        f"#on-sheets(({lines.format(n=30, what='first')},), (((levels: (1.0,), make: _ => "
        f"(whole({lines.format(n=rows, what='kept')}),)),),))",
        tmp_path,
    )
    text = " ".join(pages)
    assert all(f"kept {n}." in text for n in range(rows))
    on = [n for n, page in enumerate(pages) if "kept" in page]
    assert on == {20: [0], 50: [1]}.get(rows, on) and (len(on) > 1) == (rows == 90)
