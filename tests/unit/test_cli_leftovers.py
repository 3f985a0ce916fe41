"""What a killed process left beside its place is cleared by the next one; what others are making is left alone."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from halflayer.cli.leftovers import OLD, at_work, clear
from halflayer.cli.out_folder import new_folder, write_text

# Makes what it is told to make beside its place and then waits, so that the test can kill it at that moment.
WRITER = """
import sys, time
from pathlib import Path
from halflayer.cli import out_folder
out = Path(sys.argv[2])
def wait(*_):
    print("ready", flush=True)
    time.sleep(600)
if sys.argv[1] == "file":
    out_folder.os.fsync = wait
    out_folder.write_text(out, "half")
if sys.argv[1] == "place":
    Path.rename = lambda self, to, real=Path.rename: wait() if to == out else real(self, to)
with out_folder.new_folder(out) as folder:
    (folder / "plan.json").write_text('{"order": 1, "version": 1, "welds": [], "files": []}')
    if sys.argv[1] == "folder":
        wait()
"""


def _writer(kind: str, out: Path) -> subprocess.Popen[str]:
    process = subprocess.Popen(
        [sys.executable, "-c", WRITER, kind, str(out)], stdout=subprocess.PIPE, text=True
    )
    assert process.stdout is not None
    assert process.stdout.readline() == "ready\n"
    return process


def _kill(process: subprocess.Popen[str]) -> None:
    process.send_signal(signal.SIGKILL)
    process.wait()
    assert process.stdout is not None
    process.stdout.close()


def _hidden(place: Path) -> list[str]:
    return sorted(p.name for p in place.iterdir() if p.name.startswith("."))


def _plan(out: Path) -> None:
    with new_folder(out) as folder:
        (folder / "plan.json").write_text('{"order": 1, "version": 2, "welds": [], "files": []}')


@pytest.mark.parametrize("kind", ["folder", "file"])
def test_what_a_killed_process_left_is_cleared_by_the_next(tmp_path: Path, kind: str) -> None:
    out = tmp_path / "sheets"
    dead, alive = _writer(kind, out), _writer(kind, out)
    try:
        assert len(_hidden(tmp_path)) == 2
        _kill(dead)
        (left,) = {p.name for p in tmp_path.iterdir()} - {""} - _held(tmp_path)
        if kind == "folder":
            _plan(out)
        else:
            write_text(out, "whole")
        assert left not in _hidden(tmp_path)
        assert len(_hidden(tmp_path)) == 1  # of the process that is still at work
    finally:
        _kill(alive)
    if kind == "folder":
        _plan(out)
        assert [p.name for p in out.iterdir()] == ["plan.json"]
    else:
        write_text(out, "whole")
        assert out.read_text() == "whole"
    assert _hidden(tmp_path) == []


def _held(place: Path) -> set[str]:
    """Names that a living process holds the lock of."""
    import fcntl

    found = set()
    for path in place.iterdir():
        handle = os.open(path, os.O_RDONLY)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            found.add(path.name)
        finally:
            os.close(handle)
    return found


def test_what_stood_there_is_kept_until_something_stands_there_again(tmp_path: Path) -> None:
    """Killed between the two renames: the earlier plan lies in `.old` and goes only once the next plan is in place."""
    out = tmp_path / "sheets"
    _plan(out)
    _kill(_writer("place", out))
    assert not out.exists()
    (kept,) = tmp_path.glob(".sheets.*.old")
    assert (kept / "was" / "plan.json").exists()
    with pytest.raises(RuntimeError), new_folder(out):
        raise RuntimeError
    assert (kept / "was" / "plan.json").exists()
    _plan(out)
    assert (out / "plan.json").exists()
    assert _hidden(tmp_path) == []


def test_only_what_is_named_so_is_cleared(tmp_path: Path) -> None:
    for name in (".sheets.abcdefgh.part", ".sheets.abcdefgh.old", ".other.abcdefgh.part", ".sheets.x.part"):
        (tmp_path / name).mkdir()
    real = tmp_path / "real"
    real.mkdir()
    (tmp_path / ".sheets.linklink.part").symlink_to(real)
    clear(tmp_path / "sheets")
    left = [".other.abcdefgh.part", ".sheets.abcdefgh.old", ".sheets.linklink.part", ".sheets.x.part"]
    assert _hidden(tmp_path) == left
    with at_work(tmp_path / ".sheets.abcdefgh.old") as there:
        assert there
        clear(tmp_path / "sheets", ends=OLD)
        assert _hidden(tmp_path) == left
    clear(tmp_path / "sheets", ends=OLD)
    assert ".sheets.abcdefgh.old" not in _hidden(tmp_path)
    assert real.is_dir()


def test_a_folder_that_was_cleared_before_it_was_locked_is_told(tmp_path: Path) -> None:
    with at_work(tmp_path / "gone") as there:
        assert not there
