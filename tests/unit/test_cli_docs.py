"""The page of the command line is what the program says, and the examples that it gives run or are read."""

from __future__ import annotations

import importlib.util
import re
import shlex
from pathlib import Path
from types import ModuleType

import pytest

from halflayer.cli.door import run

ROOT = Path(__file__).parents[2]


def _generator() -> ModuleType:
    spec = importlib.util.spec_from_file_location("docs_generate", ROOT / "docs" / "generate.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_page_is_current() -> None:
    page = _generator().cli_page()
    assert (ROOT / "docs" / "cli.md").read_text(encoding="utf-8") == page, "write it again: make docs"


def _examples() -> list[str]:
    text = re.sub(r"\s+", " ", (ROOT / "docs" / "cli.md").read_text(encoding="utf-8"))
    found = re.findall(r"Example: (.*?) ```", text)
    return [part.strip() for line in found for part in line.split(";")]


def test_every_command_has_an_example() -> None:
    assert len(_examples()) >= 8


@pytest.mark.parametrize("line", _examples())
def test_the_files_of_examples_are_there_and_the_words_are_understood(
    line: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    words = shlex.split(line.split(">")[0])
    assert words[0] == "halflayer"
    for word in words:
        if word.startswith("examples/"):
            assert (ROOT / word).is_file(), word
    # with --help last, click still reads all words before it
    assert run([*words[1:], "--help"]) == 0


def test_the_light_examples_run(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(ROOT)
    ran = 0
    for line in _examples():
        words = shlex.split(line)[1:]
        if words[0] == "decay" or words == ["plans"]:
            assert run(words) == 0
            ran += 1
    assert ran >= 2
