"""Writes tables and stamps their sha256 into the description beside them.

`python -m halflayer.data.derive.stamp NAME...` renews the stamp after a reviewed change of a table.
"""

from __future__ import annotations

import csv
import hashlib
import io
import re
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

from halflayer.data.load import FOLDER


def stamp(name: str, folder: Path = FOLDER) -> str:
    """Write the sha256 of the numbers into `name.toml`, which must exist, and return it."""
    path = next(p for p in (folder / f"{name}.npz", folder / f"{name}.csv") if p.exists())
    digest = hashlib.sha256(path.read_bytes()).hexdigest()
    about = folder / f"{name}.toml"
    text, count = re.subn(r'(?m)^sha256 = ".*"$', f'sha256 = "{digest}"', about.read_text(encoding="utf-8"))
    if count != 1:
        raise SystemExit(f"{about} has no sha256 line of its own")
    about.write_text(text, encoding="utf-8")
    return digest


def write_csv(name: str, header: Sequence[str], rows: Iterable[Sequence[Any]], folder: Path = FOLDER) -> None:
    """Write `name.csv` with unix line ends and stamp it."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(header)
    writer.writerows(rows)
    (folder / f"{name}.csv").write_text(out.getvalue(), encoding="utf-8")
    stamp(name, folder)


def write_npz(name: str, arrays: dict[str, Any], folder: Path = FOLDER) -> None:
    """Write `name.npz` (compressed, always the same bytes for the same arrays) and stamp it."""
    import zipfile

    import numpy as np

    with zipfile.ZipFile(folder / f"{name}.npz", "w", zipfile.ZIP_DEFLATED) as archive:
        for key, array in arrays.items():
            out = io.BytesIO()
            np.lib.format.write_array(out, np.ascontiguousarray(array))
            archive.writestr(zipfile.ZipInfo(f"{key}.npy"), out.getvalue(), zipfile.ZIP_DEFLATED)
    stamp(name, folder)


if __name__ == "__main__":
    for given in sys.argv[1:]:
        print(given, stamp(given))
