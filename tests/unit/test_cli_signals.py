"""Ctrl-C and kill while a plan is made or written: a short line, the right code, nothing half written."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

TESTS = Path(__file__).parents[1]
ORDER = TESTS.parent / "examples" / "one-weld-imperial.yaml"

# A process with the real door and the real records, whose flow and sheets only say where they are and wait.
PROGRAM = """
import sys, time, types
sys.path.insert(0, sys.argv[1])
import small_plan

stops_at = sys.argv[2]

def wait(where):
    if where == stops_at:
        print("here", flush=True)
        time.sleep(60)

flow = types.ModuleType("halflayer.flow")
def plan_order(order, **how):
    wait("flow")
    return small_plan.small_plan()
flow.plan_order = plan_order
sys.modules["halflayer.flow"] = flow

pdf = types.ModuleType("halflayer.sheet.pdf")
def write(plan, folder, **how):
    (folder / "order.pdf").write_text("half")
    wait("sheets")
    (folder / "order.pdf").write_text("whole")
pdf.write = write
sys.modules["halflayer.sheet.pdf"] = pdf
import halflayer.sheet
halflayer.sheet.pdf = pdf

sys.argv = ["halflayer", *sys.argv[3:]]
from halflayer.cli import main
main()
"""


def _signalled(tmp_path: Path, where: str, number: int) -> tuple[int, str]:
    words = ["plan", str(ORDER), "--out", str(tmp_path / "out"), "--no-progress"]
    env = {**os.environ, "HALFLAYER_HOME": str(tmp_path / "home")}
    with subprocess.Popen(
        [sys.executable, "-c", PROGRAM, str(TESTS), where, *words],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env=env,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # a shell's background ignores it
    ) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "here\n"
        process.send_signal(number)
        _, errors = process.communicate(timeout=60)
    return process.returncode, errors


def _count(home: Path) -> int:
    from halflayer.records.store import Store

    with Store(f"sqlite:///{home}/halflayer.sqlite") as store:
        return store.count()


@pytest.mark.parametrize(
    ("where", "number", "code"),
    [
        ("sheets", signal.SIGINT, 130),
        pytest.param("flow", signal.SIGINT, 130, marks=pytest.mark.slow),
        pytest.param("flow", signal.SIGTERM, 143, marks=pytest.mark.slow),
        pytest.param("sheets", signal.SIGTERM, 143, marks=pytest.mark.slow),
    ],
)
def test_a_polite_end_leaves_nothing(tmp_path: Path, where: str, number: int, code: int) -> None:
    returned, errors = _signalled(tmp_path, where, number)
    assert returned == code
    assert "Traceback" not in errors
    assert errors.strip() == ("stopped; nothing was written" if code == 130 else "")
    assert [p.name for p in tmp_path.iterdir()] == ["home"]
    assert _count(tmp_path / "home") == 0


def test_a_kill_leaves_no_folder_of_that_name(tmp_path: Path) -> None:
    returned, _ = _signalled(tmp_path, "sheets", signal.SIGKILL)
    assert returned == -signal.SIGKILL
    assert not (tmp_path / "out").exists()
    assert _count(tmp_path / "home") == 0
