"""The door is quick, tells users' mistakes in one line each and keeps tracebacks for our own faults."""

from __future__ import annotations

import json
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from typing import Any

import click
import pytest

from halflayer.base.errors import InputError, OutOfRange, Problem
from halflayer.cli import door

Out = pytest.CaptureFixture[str]


def _with(monkeypatch: pytest.MonkeyPatch, does: Callable[[], Any]) -> None:
    """Put a command in the place of `decay` that does something."""

    @click.command("decay")
    @click.option("--json", "as_json", is_flag=True)
    def command(as_json: bool) -> Any:
        return does()

    import halflayer.cli.decay as module

    monkeypatch.setattr(module, "command", command)


def _raise(error: BaseException) -> Callable[[], Any]:
    def does() -> Any:
        raise error

    return does


TWO = InputError([Problem("a.yaml", 3, "x.y", "wrong", "5", "6"), Problem("a.yaml", None, "", "also wrong")])


def test_help_imports_nothing_heavy() -> None:
    code = (
        "import sys; from halflayer.cli.door import run; run(['--help']);"
        "heavy = {'numpy', 'numba', 'pydantic', 'pint', 'sqlalchemy', 'typst', 'ruamel', 'alembic'};"
        "assert not heavy & set(sys.modules), heavy & set(sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stderr
    for name in door.COMMANDS:
        assert name in done.stdout


@pytest.mark.slow
def test_help_is_quick() -> None:
    """Median of five within half a second of wall time."""
    seconds = []
    for _ in range(5):
        begun = time.perf_counter()
        subprocess.run([sys.executable, "-m", "halflayer", "--help"], capture_output=True, check=True)
        seconds.append(time.perf_counter() - begun)
    assert statistics.median(seconds) < 0.5


@pytest.mark.parametrize("name", door.COMMANDS)
def test_every_command_has_json_and_help_with_an_example(name: str, capsys: Out) -> None:
    assert door.run([name, "--help"]) == 0
    text = capsys.readouterr().out
    assert "--json" in text
    assert f"Example: halflayer {name}" in text


def test_every_problem_is_told_on_a_line_of_its_own(monkeypatch: pytest.MonkeyPatch, capsys: Out) -> None:
    _with(monkeypatch, _raise(TWO))
    assert door.run(["decay"]) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err == "a.yaml:3: x.y: wrong; given: 5; accepted: 6\na.yaml: also wrong\n"


def test_with_json_the_problems_are_data(monkeypatch: pytest.MonkeyPatch, capsys: Out) -> None:
    _with(monkeypatch, _raise(TWO))
    assert door.run(["decay", "--json"]) == 2
    problems = json.loads(capsys.readouterr().out)["error"]["problems"]
    assert [p["line"] for p in problems] == [3, None]
    assert problems[0] == {
        "file": "a.yaml",
        "line": 3,
        "field": "x.y",
        "problem": "wrong",
        "given": "5",
        "accepted": "6",
    }


def test_out_of_range_is_told_like_wrong_input(monkeypatch: pytest.MonkeyPatch, capsys: Out) -> None:
    _with(monkeypatch, _raise(OutOfRange("too thick", clause="table 2")))
    assert door.run(["decay", "--json"]) == 2
    told = capsys.readouterr()
    assert json.loads(told.out)["error"]["problems"][0]["problem"] == "too thick (table 2)"
    assert "Traceback" not in told.err


@pytest.mark.parametrize(
    "words",
    [
        ["nonsense"],
        ["--nonsense"],
        ["plan"],
        ["plan", "x.yaml"],
        ["plan", "x.yaml", "--out", "d", "--error", "5"],
        ["plan", "x.yaml", "--out", "d", "--error", "0%"],
        ["plan", "x.yaml", "--out", "d", "--error", "-5%"],
        ["plan", "x.yaml", "--out", "d", "--error", "nan"],
        ["plan", "x.yaml", "--out", "d", "--seed", "-1"],
        ["plan", "x.yaml", "--out", "d", "--seed", "1.5"],
        ["decay", "Se-75", "1 TBq", "--on", "yesterday"],
        ["decay", "Se-75", "1 TBq", "--on", "0001-01-01T00:00+14:00"],
        ["plans", "show"],
        ["plans", "nonsense"],
    ],
)
@pytest.mark.parametrize("as_json", [False, True])
def test_a_wrong_command_line_ends_with_2(words: list[str], as_json: bool, capsys: Out) -> None:
    assert door.run([*words, *(["--json"] if as_json else [])]) == 2
    told = capsys.readouterr()
    assert "Traceback" not in told.err
    assert told.err.startswith("command line:")
    if as_json:
        assert json.loads(told.out)["error"]["problems"][0]["file"] == "command line"


def test_ctrl_c_is_a_short_line_and_130(monkeypatch: pytest.MonkeyPatch, capsys: Out) -> None:
    _with(monkeypatch, _raise(KeyboardInterrupt()))
    assert door.run(["decay"]) == 130
    told = capsys.readouterr()
    assert told.err.strip() == "stopped; nothing was written"


def test_our_own_fault_shows_its_traceback_and_says_whose_it_is(
    monkeypatch: pytest.MonkeyPatch, capsys: Out
) -> None:
    _with(monkeypatch, _raise(AssertionError("bug")))
    assert door.run(["decay", "--json"]) == 3
    told = capsys.readouterr()
    assert "Traceback" in told.err
    assert "fault of halflayer" in told.err
    assert json.loads(told.out) == {"error": {"fault": "AssertionError: bug"}}


def test_the_code_of_a_command_is_the_exit_code(monkeypatch: pytest.MonkeyPatch) -> None:
    _with(monkeypatch, lambda: 1)
    assert door.run(["decay"]) == 1
    _with(monkeypatch, lambda: None)
    assert door.run(["decay"]) == 0


def test_a_reader_that_leaves_is_no_error() -> None:
    code = "from halflayer.cli import main; import sys; sys.argv = ['halflayer', *sys.argv[1:]]; main()"
    words = [sys.executable, "-c", code, "decay", "Se-75", "1 TBq", "--on", "2026-01-01", "--days", "4000"]
    with subprocess.Popen(words, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.readline()
        process.stdout.close()
        errors = process.stderr.read()
        process.wait(timeout=60)
    assert errors == b""


def test_without_words_the_help_is_shown(capsys: Out) -> None:
    assert door.run([]) == 0
    assert "Usage" in capsys.readouterr().out
