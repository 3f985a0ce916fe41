"""The only reader of the tables: `table(name)` gives a table that was checked against its description.

A table is two files: `name.csv` or `name.npz` with the numbers and `name.toml` that says what they are
(title, publisher, edition, table, source, how verified, licence, sha256, unit and type of every column).
"""

from __future__ import annotations

import csv
import hashlib
import io
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

FOLDER = Path(__file__).parent

META_KEYS = ("title", "publisher", "edition", "table", "source", "verified", "licence", "sha256")


class TableError(Exception):
    """A table that is missing, damaged or described wrongly: a fault of the installation."""


@dataclass(frozen=True)
class Table:
    """A table with its description.

    `columns` maps a column name to a float64 array (empty cells are NaN) or a list of text, all of one
    length, in the order of the file. For an npz table it maps an array's name to the array, read when asked.
    `meta` is the description; `meta["columns"][name]` says unit and type.
    """

    name: str
    meta: dict[str, Any]
    columns: Any

    def __getitem__(self, column: str) -> Any:
        return self.columns[column]

    def __contains__(self, column: str) -> bool:
        return column in self.columns

    def __len__(self) -> int:
        return len(next(iter(self.columns.values())))

    def rows(self) -> Iterator[dict[str, Any]]:
        """Yield one dict per row: float for number columns, text for text columns."""
        for i in range(len(self)):
            yield {k: (v[i] if isinstance(v, list) else float(v[i])) for k, v in self.columns.items()}

    @property
    def source(self) -> str:
        """One line that names the table for a trail or a sheet."""
        parts = [self.meta["publisher"], self.meta["edition"], self.meta["table"]]
        return ", ".join(p for p in parts if p)


@cache
def table(name: str, folder: Path = FOLDER) -> Table:
    """Read the table `name` of `folder` and check it.

    Raises: TableError when a file is missing, the sha256 differs from the one in the description, a column
    is not described, a cell is no number or a column said to increase does not.
    """
    try:
        meta = tomllib.loads((folder / f"{name}.toml").read_text(encoding="utf-8"))
    except FileNotFoundError as error:
        raise TableError(f"no table {name!r} in {folder}") from error
    missing = [k for k in META_KEYS if k not in meta]
    if missing:
        raise TableError(f"{name}.toml does not say {', '.join(missing)}")
    path = folder / f"{name}.npz"
    if not path.exists():
        path = folder / f"{name}.csv"
    try:
        raw = path.read_bytes()
    except FileNotFoundError as error:
        raise TableError(f"no numbers beside {name}.toml in {folder}") from error
    found = hashlib.sha256(raw).hexdigest()
    if found != meta["sha256"]:
        raise TableError(f"{path.name} is not the file that {name}.toml describes (sha256 {found})")
    if path.suffix == ".npz":
        import numpy as np

        return Table(name, meta, np.load(io.BytesIO(raw), allow_pickle=False))
    return Table(name, meta, _columns(name, raw.decode("utf-8"), meta))


def _columns(name: str, text: str, meta: dict[str, Any]) -> dict[str, Any]:
    import numpy as np

    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    reader = csv.DictReader(lines)
    described = meta.get("columns", {})
    if list(reader.fieldnames or ()) != list(described):
        raise TableError(f"{name}: columns {reader.fieldnames} are described as {list(described)}")
    rows = list(reader)
    columns: dict[str, Any] = {}
    for column, about in described.items():
        cells = [row[column] for row in rows]
        if about.get("type") == "text":
            columns[column] = cells
            continue
        try:
            values = np.array([float(c) if c != "" else np.nan for c in cells], dtype=np.float64)
        except ValueError as error:
            raise TableError(f"{name}.{column}: {error}") from error
        if about.get("increasing") and not bool(np.all(np.diff(values) > 0.0)):
            raise TableError(f"{name}.{column} does not increase")
        values.flags.writeable = False
        columns[column] = values
    return columns


def tables_digest() -> str:
    """sha256 over the descriptions of all tables, which hold the sha256 of their data."""
    digest = hashlib.sha256()
    for path in sorted(Path(__file__).parent.glob("*.toml")):
        digest.update(path.name.encode())
        digest.update(path.read_bytes())
    return digest.hexdigest()
