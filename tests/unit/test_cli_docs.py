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


def _commands_in(page: Path) -> list[list[str]]:
    """The calls of the program in the shell blocks of a page."""
    blocks = re.findall(r"```sh\n(.*?)```", page.read_text(encoding="utf-8"), re.DOTALL)
    lines = [line for block in blocks for line in block.splitlines() if "halflayer " in line]
    return [shlex.split(line, comments=True)[1:] for line in lines]


def test_the_calls_in_the_readme_are_understood(capsys: pytest.CaptureFixture[str]) -> None:
    calls = _commands_in(ROOT / "README.md")
    assert len(calls) >= 6
    for words in calls:
        assert run([*words, "--help"]) == 0
        assert all((ROOT / w).is_file() for w in words if w.startswith("examples/"))


def test_the_scene_in_the_docs_is_read() -> None:
    from halflayer.transport.free_scene import parse_scene

    page = (ROOT / "docs" / "formats" / "files.md").read_text(encoding="utf-8")
    (block,) = re.findall(r"```yaml\n(.*?)```", page, re.DOTALL)
    problem = parse_scene(block, file="docs")
    assert [s.name for s in problem.scores] == ["p1", "r45", "film"]


def test_the_query_in_the_docs_runs(tmp_path: Path) -> None:
    import sqlite3

    from halflayer.records.store import save
    from small_plan import small_plan

    page = (ROOT / "docs" / "formats" / "files.md").read_text(encoding="utf-8")
    (query,) = re.findall(r"```sql\n(.*?)```", page, re.DOTALL)
    save(small_plan(), url=f"sqlite:///{tmp_path}/r.sqlite")
    with sqlite3.connect(tmp_path / "r.sqlite") as database:
        assert database.execute(query).fetchall() == [(1, "W1", 71.2)]


@pytest.mark.parametrize(
    "page", [p.relative_to(ROOT) for p in (*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md"))]
)
def test_links_lead_somewhere(page: Path) -> None:
    text = (ROOT / page).read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)#]+)", text):
        if "://" not in target:
            assert (ROOT / page.parent / target).exists(), target


@pytest.mark.parametrize("standard", sorted(p.stem for p in (ROOT / "docs" / "standards").glob("*.md")))
def test_the_page_of_the_standard_names_what_is_there(standard: str) -> None:
    text = (ROOT / "docs" / "standards" / f"{standard}.md").read_text(encoding="utf-8")
    module = (ROOT / "src" / "halflayer" / "technique" / f"{standard}.py").read_text(encoding="utf-8")
    tests = {p.name: p.read_text(encoding="utf-8") for p in (ROOT / "tests").rglob("test_*.py")}
    rows = [
        line.split("|") for line in text.splitlines() if line.startswith("| ") and "what it asks" not in line
    ]
    assert len(rows) >= 6
    for _, _, _, functions, checks, _ in rows:
        for name in re.findall(r"`(\w+)`", functions):
            assert f"def {name}(" in module, name
        for name in re.findall(r"`([\w.]+)`", checks):
            assert name in tests or any(f"def {name}(" in t for t in tests.values()), name
    public = set(re.findall(r"^    def ([a-z]\w+)\(", module, re.MULTILINE))
    missing = {n for n in public if f"`{n}`" not in text}
    asides = {"source_relaxations", "distance_relaxations", "unsharpness_limit", "least_exposures"}
    asides |= {"with_set_up", "density_variation", "growth", "opening", "evaluated_half_width"}
    assert missing <= asides | {"signal_to_noise", "resolution"}


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
