"""The VTK file of a dose field, parsed back by the rules of the format."""

from __future__ import annotations

import base64
import math
import struct
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest

from field_factory import voxels
from halflayer.transport import vtk

KINDS = {"Float64": "<f8", "UInt8": "u1"}


def read_back(path: Path) -> tuple[dict[str, str], dict[str, np.ndarray]]:
    """Attributes of the image and its cell arrays, flat."""
    root = ET.parse(path).getroot()
    assert root.attrib["type"] == "ImageData"
    assert root.attrib["byte_order"] == "LittleEndian"
    assert root.attrib["header_type"] == "UInt64"
    image = root.find("ImageData")
    assert image is not None
    arrays = {}
    for item in image.iterfind("Piece/CellData/DataArray"):
        raw = base64.b64decode(item.text or "", validate=True)
        (size,) = struct.unpack("<Q", raw[:8])
        assert size == len(raw) - 8
        arrays[item.attrib["Name"]] = np.frombuffer(raw[8:], dtype=KINDS[item.attrib["type"]])
    return image.attrib, arrays


def test_what_was_written_is_read_back(tmp_path: Path) -> None:
    field = voxels()
    vtk.write(field, tmp_path / "f.vti", title="weld W-1 -- exposure 1 --")
    image, arrays = read_back(tmp_path / "f.vti")
    assert image["WholeExtent"] == "0 2 0 3 0 4"
    assert [float(v) for v in image["Origin"].split()] == [1.0, -2.0, 0.5]
    assert [float(v) for v in image["Spacing"].split()] == [0.5, 0.25, 0.125]
    assert arrays["H10_rate_Sv_per_h"] == pytest.approx(field.rate_Sv_s.ravel() * 3600.0, rel=0)
    error = arrays["relative_error"]
    assert math.isnan(error[-1]) and error[:-1] == pytest.approx(0.05)
    upper = arrays["upper_Sv_per_h"]
    assert math.isnan(upper[-1])
    assert upper[0] == pytest.approx(3600e-9 * (1 + 1.645 * 0.05))
    assert arrays["reliable"].tolist() == [1] * 23 + [0]
    assert arrays["straight_Sv_per_h"][3] == pytest.approx(0.25 * arrays["H10_rate_Sv_per_h"][3])
    assert all(len(a) == 24 for a in arrays.values())


def test_the_first_axis_runs_fastest(tmp_path: Path) -> None:
    """VTK counts cells with x fastest: the second value lies beside the first along x."""
    vtk.write(voxels(), tmp_path / "f.vti", corner=(0.0, 0.0, 0.0))
    image, arrays = read_back(tmp_path / "f.vti")
    assert image["Origin"] == "0.0 0.0 0.0"
    assert arrays["H10_rate_Sv_per_h"][:3] * 1e9 / 3600.0 == pytest.approx([1.0, 2.0, 3.0])


def test_it_says_what_the_numbers_are() -> None:
    words = vtk.text(voxels())
    for word in ("H*(10)", "one standard deviation", "reliable", "the meter decides", "Seed 7"):
        assert word in words
