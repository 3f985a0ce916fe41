"""A writer that is killed at any moment leaves every plan that it said was saved, and no half plan."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

WRITER = Path(__file__).parents[1] / "records_writer.py"


def _run(*words: object) -> str:
    done = subprocess.run(
        [sys.executable, str(WRITER), *map(str, words)], capture_output=True, text=True, timeout=300
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_killed_while_making_the_tables_or_writing(tmp_path: Path) -> None:
    assert "8 kills" in _run("kill", tmp_path / "plans.sqlite", 8, 1, 0.15)


@pytest.mark.slow
def test_killed_many_times(tmp_path: Path) -> None:
    assert "120 kills" in _run("kill", tmp_path / "plans.sqlite", 120, 2, 0.3)


def test_several_first_uses_at_once(tmp_path: Path) -> None:
    _run("first", tmp_path, 5, 4)
