"""`halflayer dose` asks the engine for what was said and writes the shape that scripts rely on."""

from __future__ import annotations

import json
import math
import sys
import types
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from halflayer.cli import dose
from halflayer.cli.door import run
from halflayer.transport.field import Field, Reading

Out = pytest.CaptureFixture[str]
SCENE = Path(__file__).parents[2] / "examples" / "lead-sphere.yaml"

POINT = {
    "name",
    "air_kerma_rate_Gy_per_h",
    "H10_rate_Sv_per_h",
    "sigma_rel",
    "H10_sigma_rel",
    "reliable",
    "uncollided_air_kerma_rate_Gy_per_h",
}


def _reading(name: str, kerma: float = 1e-6, sigma: float = 0.01, reliable: Any = True) -> Reading:
    # numbers as the engine gives them: some of numpy's kinds among them
    return Reading(
        name=name,
        air_kerma_rate_Gy_s=np.float64(kerma),
        sigma_rel=sigma,
        h10_rate_Sv_s=1.25 * kerma,
        h10_sigma_rel=np.float64(sigma),
        h10_bound_sigma_rel=sigma,
        uncollided_kerma_Gy_s=0.5 * kerma,
        uncollided_h10_Sv_s=0.6 * kerma,
        reliable=np.bool_(reliable),  # type: ignore[arg-type]
        method="next event",
        sources={"source": 1.0},
        solids={"shell": 1.0},
    )


def _field(*readings: Reading, partial: bool = False) -> Field:
    return Field(
        readings=readings or (_reading("one metre"),),
        histories=1000,
        seconds=0.5,
        seed=7,
        backend="cpu",
        lost=0,
        collisions=10,
        partial=partial,
        digest="d",
    )


@pytest.fixture
def engine(monkeypatch: pytest.MonkeyPatch) -> dict[str, Any]:
    """Stands in for the engine: `gives` is its answer, `asked` what it was asked."""
    state: dict[str, Any] = {"gives": _field(), "asked": None}

    def transport(problem: Any, **how: Any) -> Field:
        state["asked"] = how
        how["progress"](state["gives"])
        return state["gives"]  # type: ignore[no-any-return]

    module, warm = types.ModuleType("run"), types.ModuleType("warm")
    module.transport = transport  # type: ignore[attr-defined]
    warm.compile_kernels = lambda: None  # type: ignore[attr-defined]
    monkeypatch.setitem(sys.modules, "halflayer.transport.run", module)
    monkeypatch.setitem(sys.modules, "halflayer.transport.warm", warm)
    return state


def _dose(*words: object) -> int:
    return run(["dose", str(SCENE), *map(str, words)])


def test_the_result_has_the_shape_of_the_contract(
    engine: dict[str, Any], tmp_path: Path, capsys: Out
) -> None:
    out = tmp_path / "deep" / "result.json"
    assert _dose("--out", out) == 0
    data = json.loads(out.read_text())
    assert set(data) == {"points", "histories", "seconds", "backend", "seed"}
    (point,) = data["points"]
    assert set(point) == POINT
    assert point["air_kerma_rate_Gy_per_h"] == pytest.approx(3.6e-3)
    assert point["H10_rate_Sv_per_h"] == pytest.approx(4.5e-3)
    assert point["uncollided_air_kerma_rate_Gy_per_h"] == pytest.approx(1.8e-3)
    assert point["reliable"] is True
    told = capsys.readouterr().out
    assert "3.6 mGy/h" in told
    assert "4.5 mSv/h" in told
    assert "Not a clearance to work" in told


def test_json_on_standard_output_is_the_file(engine: dict[str, Any], tmp_path: Path, capsys: Out) -> None:
    out = tmp_path / "result.json"
    assert _dose("--out", out, "--json") == 0
    assert json.loads(capsys.readouterr().out) == json.loads(out.read_text())


@pytest.mark.parametrize(
    ("words", "error", "seconds"),
    [
        ([], dose.DEFAULT_ERROR, dose.DEFAULT_SECONDS),
        (["--error", "1%"], 0.01, dose.LONGEST_SECONDS),
        (["--seconds", "3"], None, 3.0),
        (["--error", "0.05", "--seconds", "2.5 s"], 0.05, 2.5),
    ],
)
def test_budgets_reach_the_engine(
    words: list[str], error: float | None, seconds: float, engine: dict[str, Any], capsys: Out
) -> None:
    assert _dose(*words, "--seed", 7) == 0
    assert (engine["asked"]["error"], engine["asked"]["seconds"]) == (error, seconds)
    assert engine["asked"]["seed"] == 7


def test_what_is_not_known_is_null_and_said(engine: dict[str, Any], tmp_path: Path, capsys: Out) -> None:
    engine["gives"] = _field(_reading("dark", kerma=0.0, sigma=math.inf, reliable=False))
    out = tmp_path / "result.json"
    assert _dose("--out", out) == 0
    (point,) = json.loads(out.read_text())["points"]
    assert (point["air_kerma_rate_Gy_per_h"], point["sigma_rel"], point["reliable"]) == (0.0, None, False)
    told = capsys.readouterr().out
    assert "not known" in told
    assert "reliable: no. Too few photons" in told
    assert "--error does not hold for it" in told


def test_a_run_that_was_stopped_keeps_what_it_has_and_says_so(
    engine: dict[str, Any], tmp_path: Path, capsys: Out
) -> None:
    engine["gives"] = _field(partial=True)
    out = tmp_path / "result.json"
    assert _dose("--out", out) == 130
    data = json.loads(out.read_text())
    assert data["partial"] is True
    assert len(data["points"]) == 1
    assert capsys.readouterr().out.startswith("STOPPED before its budget: partial result\n")


def test_a_run_that_was_stopped_before_it_knew_anything_writes_nothing(
    engine: dict[str, Any], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: Out
) -> None:
    def transport(*_: Any, **__: Any) -> Field:
        raise KeyboardInterrupt

    monkeypatch.setattr(sys.modules["halflayer.transport.run"], "transport", transport)
    assert _dose("--out", tmp_path / "result.json") == 130
    assert list(tmp_path.iterdir()) == []
    assert "nothing was written" in capsys.readouterr().err


@pytest.mark.parametrize("why", ["no CUDA device is there", "not the package numba-cuda"])
def test_cuda_is_refused_with_the_reason(
    why: str, engine: dict[str, Any], monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: Out
) -> None:
    monkeypatch.setattr("halflayer.transport.gpu.missing", lambda: why)
    assert _dose("--backend", "cuda", "--out", tmp_path / "r.json") == 2
    told = capsys.readouterr().err
    assert why in told
    assert "auto or cpu" in told
    assert engine["asked"] is None
    assert list(tmp_path.iterdir()) == []


def test_auto_says_why_it_took_the_cpu(
    engine: dict[str, Any], monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    monkeypatch.setattr("halflayer.transport.gpu.missing", lambda: "no CUDA device is there")
    assert _dose("--backend", "auto") == 0
    assert engine["asked"]["backend"] == "auto"
    assert "cpu (no CUDA device is there)" in capsys.readouterr().out


@pytest.mark.parametrize("backend", ["auto", "cpu"])
def test_auto_and_cpu_compute(backend: str, engine: dict[str, Any], capsys: Out) -> None:
    assert _dose("--backend", backend) == 0
    assert engine["asked"] is not None


def test_progress_says_the_worst_error(engine: dict[str, Any], capsys: Out) -> None:
    engine["gives"] = _field(_reading("a", sigma=0.02), _reading("b", sigma=0.04))
    lines: list[tuple[str, float]] = []
    dose._tell(lambda text, done: lines.append((text, done)), engine["gives"], 0.02, None)  # type: ignore[arg-type]
    assert lines == [("1,000 histories, worst error 4 %", 0.25)]


def test_an_out_that_is_a_folder_is_refused(engine: dict[str, Any], tmp_path: Path, capsys: Out) -> None:
    assert _dose("--out", tmp_path) == 2
    assert "this is a folder" in capsys.readouterr().err
    assert engine["asked"] is None  # told before the work, not after it
