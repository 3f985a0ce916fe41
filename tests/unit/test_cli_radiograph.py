"""`halflayer radiograph`: files in the agreed shape, exit codes, bad input refused before and after the work."""

from __future__ import annotations

import json
import math
from pathlib import Path

import numpy as np
import pytest

from halflayer.cli.door import run

ROOT = Path(__file__).parents[2]
ORDER = str(ROOT / "examples" / "one-weld-imperial.yaml")


@pytest.mark.slow
def test_files_are_written_as_agreed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    import pydicom
    from PIL import Image

    out = tmp_path / "r"
    code = run(["radiograph", ORDER, "--weld", "S-101", "--out", str(out), "--pixel", "200 um", "--json"])
    told = json.loads(capsys.readouterr().out)
    data = json.loads((out / "radiograph.json").read_text())
    assert code == (0 if data["ok"] else 1)
    films = ["second-film.dcm", "second-film.png", "second-film.tif"] if data["films"] else []
    assert sorted(p.name for p in out.iterdir()) == [
        *("image.dcm", "image.png", "image.tif", "radiograph.json"),
        *films,
        "weld.png",
    ]
    assert {c["exposure"] for c in data["coverage"]["covered"]} <= set(range(1, data["exposures"] + 1))
    assert told == data | {"out": str(out)}
    asked = {
        "density",
        "wires",
        "smallest_visible",
        "required",
        "ok",
        "ellipse_opening_mm",
        "scatter_to_primary",
    }
    assert asked | {"seconds"} <= set(data)
    assert set(data["density"]) == {"weld", "min", "max"}
    assert {"designation", "diameter_mm", "contrast_to_noise", "visible"} <= set(data["wires"][0])
    with Image.open(out / "image.tif") as picture:
        assert picture.mode == "I;16"
        dots = picture.info["dpi"]
        tiff = np.asarray(picture)
    assert dots == pytest.approx((127.0, 127.0), rel=1e-3)  # 25.4 mm over 0.2 mm
    dicom = pydicom.dcmread(out / "image.dcm")
    assert np.array_equal(dicom.pixel_array, tiff)
    assert float(dicom.PixelSpacing[0]) == 0.2
    density = tiff.max() / 1e4
    # Rescaled values are thousandths of optical density (type OD).
    assert float(dicom.RescaleSlope) * tiff.max() == pytest.approx(1000.0 * density)
    # again into its own folder: replaced; into a folder with a strange file: refused
    (out / "mine.txt").write_text("keep")
    assert run(["radiograph", ORDER, "--weld", "S-101", "--out", str(out), "--pixel", "200 um"]) == 2
    assert (out / "mine.txt").read_text() == "keep"


def test_each_picture_is_listed_with_the_size_it_has_itself(tmp_path: Path) -> None:
    """The picture to look at is made smaller by whole steps: the size of the TIFF must not stand beside its name."""
    from types import SimpleNamespace
    from typing import Any

    from PIL import Image

    from halflayer.cli.radiograph_text import file_lines

    Image.new("I;16", (4800, 2000)).save(tmp_path / "image.tif")
    Image.new("L", (2400, 1000)).save(tmp_path / "image.png")
    made: Any = SimpleNamespace(
        second=None, weld_map=None, seconds=1.0, frame=SimpleNamespace(pixel_m=50e-6, columns=4800, rows=2000)
    )
    lines = {line.split()[0]: line for line in file_lines(made, tmp_path)[1:]}
    assert "4800 x 2000 pixels of 50 um" in lines["image.tif"]
    assert "4800 x 2000 pixels of 50 um" in lines["image.dcm"]
    assert "2400 x 1000 pixels of 100 um" in lines["image.png"]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--weld", "S-101", "--pixel", "0 um"], "--pixel"),
        (["--weld", "S-101", "--pixel", "50"], "--pixel"),
        (["--weld", "S-101", "--pixel", "-3 um"], "--pixel"),
        (["--weld", "nope"], "--weld"),
        ([], "--weld"),
        (["--weld", "S-101", "--exposure", "0"], "--exposure"),
    ],
)
def test_bad_input_is_refused_at_once(
    words: list[str], said: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["radiograph", ORDER, "--out", str(tmp_path / "r"), *words]) == 2
    assert said in capsys.readouterr().err
    assert not (tmp_path / "r").exists()


def test_an_order_that_is_not_there(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    missing = str(tmp_path / "none.yaml")
    assert run(["radiograph", missing, "--weld", "W1", "--out", str(tmp_path / "r")]) == 2
    assert "none.yaml" in capsys.readouterr().err


def test_a_file_in_place_of_the_folder(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "r").write_text("a file")
    assert run(["radiograph", ORDER, "--weld", "S-101", "--out", str(tmp_path / "r")]) == 2
    assert "not a folder" in capsys.readouterr().err


@pytest.mark.slow
def test_what_the_image_cannot_be_is_said_before_anything_is_written(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("halflayer.exposure.scatter.BATCHES", 2)
    out = tmp_path / "r"
    assert run(["radiograph", ORDER, "--weld", "S-101", "--out", str(out), "--pixel", "6 um"]) == 2
    assert "million" in capsys.readouterr().err
    assert run(["radiograph", ORDER, "--weld", "S-101", "--out", str(out), "--exposure", "9"]) == 2
    assert "fewer exposures" in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.slow
def test_wall_loss_under_insulation_is_read_back(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    # NPS 2 schedule 40 under an inch of mineral wool: a ring of 2 mm lost from the bore 25 mm beside the weld.
    monkeypatch.setattr("halflayer.exposure.scatter.BATCHES", 2)
    pipe = "    height: 4 ft 3 in\n"
    ring = math.pi * (60.33 - 2 * 3.91)
    lost = "      - {imperfection: wall loss inside, clock: 0 deg, along: 25 mm, width: 20 mm, "
    lost += f"length: {ring:.2f} mm, "
    more = "    insulation: {material: mineral wool, thickness: 1 in, density: 100 kg/m3}\n    flaws:\n"
    text = Path(ORDER).read_text(encoding="utf-8").replace(pipe, pipe + more + lost + "height: 2 mm}\n")
    file = tmp_path / "insulated.yaml"
    file.write_text(text, encoding="utf-8")
    out = tmp_path / "r"
    run(["radiograph", str(file), "--weld", "S-101", "--out", str(out), "--pixel", "400 um", "--walls"])
    told = capsys.readouterr().out
    assert "wall as read" in told and "+-" in told
    data = json.loads((out / "radiograph.json").read_text())
    assert data["walls"], data["findings"]
    for wall in data["walls"]:
        assert 0.0 < wall["sigma_mm"] < 0.2
        # the ring is read where the rays to the edge cross it: near 25 mm on the film's side of the offset
        here = 2.0 if wall["along_film_mm"] > 20.0 else 0.0
        assert wall["loss_mm"] == pytest.approx(here, abs=4.0 * wall["sigma_mm"])
