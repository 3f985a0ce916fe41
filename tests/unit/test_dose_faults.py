"""Scenes at the edge of what the dose engine can be asked: nothing to hit, paper-thin and doubled solids, Ctrl-C."""

from __future__ import annotations

import json
import math
import os
import signal
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from halflayer.base.errors import InputError
from halflayer.physics import dosimetry
from halflayer.physics.materials import material
from halflayer.scene.compiled import cache_folder
from halflayer.scene.solids import LEAST_LENGTH_M, Box, Scene, Solid, Sphere
from halflayer.transport.free_scene import parse_scene
from halflayer.transport.problem import PointScore, PointSource, Problem
from halflayer.transport.run import Run, transport

SOURCE = PointSource((0, 0, 0), (400.0,), (1.0,), 1e12)
AT_1M = PointScore("1 m", (1.0, 0.0, 0.0))
BARE = 1e12 * float(dosimetry.air_kerma_per_fluence(np.array([400.0]))[0]) / (4.0 * math.pi)


def problem(*solids: Solid, source: PointSource = SOURCE, surround: str = "vacuum") -> Problem:
    return Problem(Scene(solids, material(surround)), (source,), (AT_1M,))


def test_where_there_is_nothing_to_hit_the_inverse_square_is_exact() -> None:
    """No matter: every cross section, and so the largest one of the scene, is zero."""
    field = transport(problem(), seed=1, batches=2)
    assert field.readings[0].air_kerma_rate_Gy_s == pytest.approx(BARE, rel=1e-9)
    assert (field.readings[0].sigma_rel, field.readings[0].reliable) == (0.0, True)
    assert (field.collisions, field.lost) == (0, 0)


def test_solids_of_vacuum_are_nothing_to_hit_either() -> None:
    hollow = Sphere("hollow", (0, 0, 0), 0.07, 0.02, material("vacuum"))
    field = transport(problem(hollow), seed=1, batches=2)
    assert field.readings[0].air_kerma_rate_Gy_s == pytest.approx(BARE, rel=1e-9)
    assert (field.collisions, field.lost) == (0, 0)


def test_what_nothing_reaches_is_not_called_known() -> None:
    """A beam that points away from all matter: no dose was found, and no error can be told of it."""
    beam = PointSource((0, 0, 0), (400.0,), (1.0,), 1e12, aim=(0, 0, 1), half_angle_rad=0.2)
    away = Box("away", (0, 0, -0.5), (0.1, 0.1, 0.1), material("lead"))
    reading = transport(problem(away, source=beam), seed=1, batches=2).readings[0]
    assert reading.air_kerma_rate_Gy_s == 0.0
    assert not math.isfinite(reading.sigma_rel)
    assert not reading.reliable


def test_one_solid_painted_twice_counts_once() -> None:
    """Faces that coincide everywhere: the uncollided part is that of one shell, to the last digits."""
    shell = Sphere("shell", (0, 0, 0), 0.07, 0.02, material("lead"))
    again = Sphere("again", (0, 0, 0), 0.07, 0.02, material("lead"))
    one = transport(problem(shell), seed=1, batches=4)
    two = transport(problem(shell, again), seed=1, batches=4)
    assert two.readings[0].uncollided_kerma_Gy_s == pytest.approx(
        one.readings[0].uncollided_kerma_Gy_s, rel=1e-12
    )
    a, b = one.readings[0], two.readings[0]
    noise = math.hypot(a.sigma_rel, b.sigma_rel)
    assert a.air_kerma_rate_Gy_s == pytest.approx(b.air_kerma_rate_Gy_s, rel=4.0 * noise)
    assert two.lost == 0


@pytest.mark.parametrize("thickness_m", [1e-6, LEAST_LENGTH_M])
def test_sheets_of_next_to_no_thickness_in_one_place_change_nothing(thickness_m: float) -> None:
    """Three in one place, of two materials: what 1 um of lead takes at 400 keV is 0.3 per mille."""
    sheets = [
        Box(f"sheet {i}", (0.5, 0, 0), (thickness_m, 1.0, 1.0), material(m))
        for i, m in enumerate(("lead", "steel", "lead"))
    ]
    field = transport(problem(*sheets), seed=1, batches=2)
    assert field.readings[0].air_kerma_rate_Gy_s == pytest.approx(BARE, rel=4e-4)
    assert field.lost == 0


SCENE = """
source: {lines: [[400 keV, 1.0]], activity: 1 TBq, at: [0 mm, 0 mm, 0 mm]}
surround: vacuum
solids:
  - {name: shell, shape: sphere, centre: [0 mm, 0 mm, 0 mm], outer_radius: 70 mm, wall: 20 mm, material: lead}
  - {name: sheet, shape: box, centre: [500 mm, 0 mm, 0 mm], size: [%s, 1 m, 1 m], material: lead}
points:
  - {name: one metre, at: [1 m, 0 mm, 0 mm]}
"""


def test_solids_of_no_thickness_are_refused() -> None:
    with pytest.raises(InputError) as told:
        parse_scene(SCENE % "0 mm", file="scene.yaml")
    assert "solids[1].size[0]: the value is too small; given: 0 mm; accepted: above 0" in str(told.value)


def test_a_run_that_is_stopped_gives_what_it_has(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C between batches: the sums so far come back marked partial, as the beginning of the whole run."""
    advance, calls = Run.advance, []

    def interrupted(self: Run, batches: int, **more: float) -> object:
        calls.append(batches)
        if len(calls) == 3:
            raise KeyboardInterrupt
        return advance(self, batches, **more)

    shell = Sphere("shell", (0, 0, 0), 0.06, 0.01, material("lead"))
    with monkeypatch.context() as patch:
        patch.setattr(Run, "advance", interrupted)
        stopped = transport(problem(shell), seed=1, batches=32)
    whole = transport(problem(shell), seed=1, batches=32)
    assert stopped.partial
    assert not whole.partial
    assert 0 < stopped.histories < whole.histories
    # the pilot learns for the budget asked, so that the part is the beginning of the whole
    noise = stopped.readings[0].sigma_rel
    assert stopped.readings[0].air_kerma_rate_Gy_s == pytest.approx(
        whole.readings[0].air_kerma_rate_Gy_s, rel=5.0 * noise
    )


def test_ctrl_c_that_python_drops_ends_a_run_as_well(monkeypatch: pytest.MonkeyPatch) -> None:
    """In a finalizer an interrupt is written to stderr and forgotten, as when memory of a GPU is freed."""
    advance = Run.advance

    class Freed:
        def __del__(self) -> None:
            os.kill(os.getpid(), signal.SIGINT)

    def advancing(self: Run, batches: int, **more: float) -> object:
        if self.batches > 0:
            Freed()
        return advance(self, batches, **more)

    shell = Sphere("shell", (0, 0, 0), 0.06, 0.01, material("lead"))
    monkeypatch.setattr(Run, "advance", advancing)
    monkeypatch.setattr(sys, "unraisablehook", lambda told: None)
    before = signal.signal(signal.SIGINT, signal.default_int_handler)  # a shell's background ignores it
    try:
        stopped = transport(problem(shell), seed=1, batches=64)
        assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    finally:
        signal.signal(signal.SIGINT, before)
    assert stopped.partial


@pytest.mark.slow
def test_ctrl_c_keeps_the_partial_result(tmp_path: Path) -> None:
    """The real program, interrupted in the middle of 60 s."""
    scene, out = tmp_path / "scene.yaml", tmp_path / "result.json"
    scene.write_text(SCENE % "1 mm")
    words = ["dose", str(scene), "--seconds", "60", "--out", str(out), "--progress"]
    with subprocess.Popen(
        [sys.executable, "-m", "halflayer", *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        env={**os.environ, "NUMBA_CACHE_DIR": str(cache_folder().parent)},  # the kernels compiled here
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a shell's background ignores it
    ) as process:
        assert process.stderr is not None
        said = b""
        while b"histories" not in said:
            piece = process.stderr.read1(4096)
            assert piece, said.decode()
            said += piece
        process.send_signal(signal.SIGINT)
        told, errors = process.communicate(timeout=60)
    assert process.returncode == 130, errors.decode()
    assert told.decode().startswith("STOPPED before its budget: partial result")
    data = json.loads(out.read_text())
    assert data["partial"] is True
    assert data["seconds"] < 60.0
    assert data["histories"] > 0


def test_a_wrong_shape_and_an_unknown_material_are_told_at_once() -> None:
    text = """\
source: {nuclide: Se-75, activity: 1 TBq, at: [0 m, 0 m, 0 m]}
solids:
  - {shape: sphere, name: a, centre: [0 m, 1 m, 0 m], outer_radius: 5 cm, wall: 6 cm, material: ledd}
points:
  - {name: p, at: [2 m, 0 m, 0 m]}
"""
    with pytest.raises(InputError) as told:
        parse_scene(text, file="scene.yaml")
    text = str(told.value)
    assert "scene.yaml:3: solids[0].material: unknown material, did you mean lead" in text
    assert (
        "?; given: ledd; accepted: air, vacuum, water, iron, steel" in text
    )  # all of them, not the guesses alone
    assert "solids[0].wall" in str(told.value)
    assert "accepted: a wall above 0 and below the outer radius" in str(told.value)


def test_a_point_in_matter_is_told_with_what_would_do() -> None:
    text = """\
source: {nuclide: Se-75, activity: 1 TBq, at: [0 m, 0 m, 0 m]}
solids:
  - {shape: sphere, name: b, centre: [2 m, 0 m, 0 m], outer_radius: 5 cm, material: lead}
points:
  - {name: p, at: [2 m, 0 m, 0 m]}
"""
    with pytest.raises(
        InputError, match=r"scene.yaml:5: points\[0\].at: the point lies inside 'b'.*air or void"
    ):
        parse_scene(text, file="scene.yaml")
