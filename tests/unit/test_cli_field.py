"""`halflayer field` reads its box, asks the engine once, writes the file and says what was reached."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import field_factory
from halflayer.cli import field
from halflayer.cli.door import run
from halflayer.transport import volume, warm

Out = pytest.CaptureFixture[str]
SCENE = Path(__file__).parents[2] / "examples" / "lead-sphere.yaml"
BOX = ("--low", "-2 m, -2 m, -50 cm", "--high", "2 m, 2 m, 1 m")


@pytest.fixture
def engine(monkeypatch: pytest.MonkeyPatch) -> list[dict[str, Any]]:
    """An engine that computes nothing and remembers what it was asked."""
    calls: list[dict[str, Any]] = []

    def dose_field(problem: Any, grid: Any, **how: Any) -> volume.DoseField:
        calls.append({"grid": grid, **how})
        found = field_factory.voxels()
        how["progress"](found)
        return replace(found, partial=how["seed"] == 99)

    monkeypatch.setattr(volume, "dose_field", dose_field)
    monkeypatch.setattr(warm, "compile_kernels", lambda: None)
    return calls


def ask(*words: object) -> int:
    return run(["field", str(SCENE), *map(str, words)])


def test_the_box_is_cut_into_voxels(engine: list[dict[str, Any]], tmp_path: Path, capsys: Out) -> None:
    out = tmp_path / "f.vti"
    assert ask(*BOX, "--voxels", "8x4x3", "--above", "0.75 uSv/h", "--seed", 3, "--out", out) == 0
    (call,) = engine
    assert call["grid"].corner == (-2.0, -2.0, -0.5)
    assert call["grid"].size_m == (0.5, 1.0, 0.5)
    assert call["grid"].shape == (8, 4, 3)
    assert call["above_Sv_s"] == pytest.approx(0.75e-6 / 3600)
    assert (call["error"], call["seconds"], call["seed"]) == (0.1, 60.0, 3)
    assert "Scene lead-sphere.yaml." in out.read_text()
    told = capsys.readouterr().out
    assert "2 x 3 x 4 voxels" in told and str(out) in told
    assert "Not a clearance to work" in told


def test_json_says_what_was_reached(engine: list[dict[str, Any]], tmp_path: Path, capsys: Out) -> None:
    assert ask(*BOX, "--out", tmp_path / "f.vti", "--json") == 0
    data = json.loads(capsys.readouterr().out)
    assert data["voxels"] == [2, 3, 4]
    assert data["open_voxels_above"] == 24
    assert data["share_known"] == pytest.approx(23 / 24)
    assert data["highest_H10_rate_Sv_per_h"] == pytest.approx(24e-9 * 3600)
    assert "partial" not in data


def test_a_stopped_run_is_labelled(engine: list[dict[str, Any]], tmp_path: Path, capsys: Out) -> None:
    out = tmp_path / "f.vti"
    assert ask(*BOX, "--seed", 99, "--out", out) == 130
    assert "Partial" in out.read_text()
    assert capsys.readouterr().out.startswith("partial")


def test_all_that_is_wrong_is_told_at_once(engine: list[dict[str, Any]], tmp_path: Path, capsys: Out) -> None:
    out = tmp_path / "f.vti"
    assert (
        ask("--low", "1,2 m", "--high", "1 m, x, 3 m", "--voxels", "9x9", "--above", "5 m", "--out", out) == 2
    )
    told = capsys.readouterr().err
    for option in ("--low", "--high", "--voxels", "--above"):
        assert option in told
    assert engine == [] and not out.exists()


@pytest.mark.parametrize(
    ("words", "named"),
    [
        (("--low", "0 m, 0 m, 0 m", "--high", "1 m, 1 m, 0 m"), "no volume"),
        ((*BOX, "--voxels", "2000x2000x2000"), "too many voxels"),
        ((*BOX, "--voxels", "0x3x3"), "above 0"),
    ],
)
def test_a_box_that_cannot_be(words: tuple[str, ...], named: str, tmp_path: Path, capsys: Out) -> None:
    assert ask(*words, "--out", tmp_path / "f.vti") == 2
    assert named in capsys.readouterr().err


def test_the_default_box_is_what_the_options_say() -> None:
    grid, least = field.asked("-5 m, -5 m, -1 m", "5 m, 5 m, 4 m", "60x60x30", None)
    assert grid.count == 108_000
    assert grid.size_m == pytest.approx((1 / 6, 1 / 6, 1 / 6))
    assert least == 0.0
