"""A dose field as a VTK file: XML image data, one cell for each voxel, for viewers of volumes.

Form: VTK XML file formats, ImageData, uncompressed, each array inline in base64 behind its length in bytes as UInt64
(Kitware, "VTK File Formats", from memory, unverified; a test reads the file back).
"""

from __future__ import annotations

import base64
import struct
from collections.abc import Sequence
from pathlib import Path
from xml.sax.saxutils import quoteattr

import numpy as np
from numpy.typing import NDArray

from halflayer.transport.volume import DoseField

PER_HOUR = 3600.0
_TYPES = {"float64": "Float64", "uint8": "UInt8"}
NOTE = (
    "H10_rate_Sv_per_h: ambient dose equivalent rate H*(10), voxel mean, estimate. relative_error: one standard "
    "deviation over the estimate, NaN where nothing arrived. upper_Sv_per_h: estimate + 1.645 standard deviations, "
    "without the printed budget, NaN where no error is known. straight_Sv_per_h: the part without any scatter. "
    "reliable: 1 where a bound may rest on the error. open_share: share of the voxel that is air. Lengths in metres. "
    "For planning: the meter decides."
)


def text(field: DoseField, *, corner: Sequence[float] | None = None, title: str = "") -> str:
    """The file's text. corner: low corner in the axes of the file, where these are not those of the scene."""
    grid = field.grid
    origin = grid.corner if corner is None else corner
    extent = " ".join(f"0 {n}" for n in grid.shape)
    part = "Partial: the run was stopped early. " if field.partial else ""
    known = np.isfinite(field.sigma_rel)
    with np.errstate(invalid="ignore"):
        upper = np.where(known, field.upper_Sv_s(), np.nan)
    arrays: dict[str, NDArray[np.generic]] = {
        "H10_rate_Sv_per_h": field.rate_Sv_s * PER_HOUR,
        "relative_error": np.where(known, field.sigma_rel, np.nan),
        "upper_Sv_per_h": upper * PER_HOUR,
        "straight_Sv_per_h": field.straight_Sv_s * PER_HOUR,
        "reliable": field.reliable.astype(np.uint8),
        "open_share": field.open,
    }
    lines = [
        '<?xml version="1.0"?>',
        f"<!-- {_comment(title)}{_comment(NOTE)}{part}Seed {field.seed}, {field.histories} histories. -->",
        '<VTKFile type="ImageData" version="1.0" byte_order="LittleEndian" header_type="UInt64">',
        f'<ImageData WholeExtent="{extent}" Origin="{_numbers(origin)}" Spacing="{_numbers(grid.size_m)}">',
        f'<Piece Extent="{extent}">',
        '<CellData Scalars="H10_rate_Sv_per_h">',
        *(_array(name, values) for name, values in arrays.items()),
        "</CellData>",
        "</Piece>",
        "</ImageData>",
        "</VTKFile>",
    ]
    return "\n".join(lines) + "\n"


def write(field: DoseField, path: Path, *, corner: Sequence[float] | None = None, title: str = "") -> None:
    """Write the file. Raises: OSError."""
    path.write_text(text(field, corner=corner, title=title), encoding="utf-8")


def _array(name: str, values: NDArray[np.generic]) -> str:
    data = np.ascontiguousarray(values, dtype=values.dtype.newbyteorder("<")).tobytes()
    coded = base64.b64encode(struct.pack("<Q", len(data)) + data).decode("ascii")
    kind = _TYPES[values.dtype.name]
    return f'<DataArray type="{kind}" Name={quoteattr(name)} format="binary">{coded}</DataArray>'


def _numbers(values: Sequence[float]) -> str:
    return " ".join(repr(float(v)) for v in values)


def _comment(words: str) -> str:
    """Words that may stand in an XML comment, which holds no two hyphens in a row."""
    return f"{words.replace('--', '- -').rstrip('-')} " if words else ""
