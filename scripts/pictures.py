"""Makes the picture of a build sheet that the README shows, from a real plan of an example order.

    .venv/bin/python scripts/pictures.py examples/tarn-mill.yaml --weld W6 --out docs/pictures/build-sheet.png

Without `--weld` the first weld that is ready is taken. The picture is page 1 as typeset, nothing retouched.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

PPI = 144.0  # our choice: readable in a browser; at some others the rasteriser clips letters of the drawing


def main() -> int:
    """Plan the order (or one weld of it) and write page 1 of the sheet as PNG."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("order", type=Path)
    words.add_argument("--weld")
    words.add_argument("--out", type=Path, default=Path("docs/pictures/build-sheet.png"))
    given = words.parse_args()

    from halflayer.flow import plan_order
    from halflayer.order.read import read_order
    from halflayer.sheet.compose import compose
    from halflayer.sheet.pdf import render_png

    plan = plan_order(read_order(given.order), weld=given.weld)
    sheet = next((s for s in compose(plan) if s.kind == "weld"), None)
    if sheet is None:
        print("no weld of the order has a plan", file=sys.stderr)
        return 1
    given.out.parent.mkdir(parents=True, exist_ok=True)
    given.out.write_bytes(render_png(sheet, ppi=PPI)[0])
    print(f"{given.out}: {sheet.title}")
    return 0


if __name__ == "__main__":
    sys.exit(main())
