"""Results appear whole or not at all, and nothing is written over files that are not ours."""

from __future__ import annotations

import json
import os
from collections.abc import Callable
from pathlib import Path

import pytest

from halflayer.base.errors import InputError
from halflayer.cli.out_folder import MARK, check_folder, new_folder, write_json

OURS = {"order": "T", "version": "0", "welds": [], "files": ["order.pdf", "W1.pdf"]}


def _fill(folder: Path, text: str, then: Callable[[], object] = lambda: None) -> None:
    with new_folder(folder) as inside:
        (inside / MARK).write_text(json.dumps(OURS))
        (inside / "order.pdf").write_text(text)
        then()


def _raise(error: type[BaseException]) -> None:
    raise error


def test_the_folder_appears_at_the_end_with_its_parents(tmp_path: Path) -> None:
    out = tmp_path / "a" / "b"
    with new_folder(out) as inside:
        (inside / "x").write_text("1")
        assert not out.exists()
        assert inside.parent == out.parent  # same file system: the last step is a rename
    assert (out / "x").read_text() == "1"
    assert [p.name for p in out.parent.iterdir()] == ["b"]
    assert out.stat().st_mode & 0o777 == 0o777 & ~_umask()


def test_the_folder_of_another_command_is_refused_with_what_to_do(tmp_path: Path) -> None:
    from halflayer.cli.radiograph import _check_folder

    film = tmp_path / "film"
    film.mkdir()
    (film / "radiograph.json").write_text("{}")
    with pytest.raises(InputError) as plan_there:
        check_folder(film)
    (problem,) = plan_there.value.problems
    assert problem.problem == "this folder holds a radiograph, which a plan would replace"
    assert problem.accepted == f"another folder for the plan, such as {film}-plan"
    plan = tmp_path / "plan"
    _fill(plan, "x")
    with pytest.raises(InputError) as film_there:
        _check_folder(plan)
    (problem,) = film_there.value.problems
    assert problem.accepted == f"another folder for the radiograph, such as {plan}-film"


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


@pytest.mark.parametrize("error", [RuntimeError, KeyboardInterrupt, SystemExit])
def test_work_that_fails_leaves_nothing(tmp_path: Path, error: type[BaseException]) -> None:
    with pytest.raises(error):
        _fill(tmp_path / "out", "first", then=lambda: _raise(error))
    assert list(tmp_path.iterdir()) == []


def test_a_folder_of_ours_is_replaced_whole(tmp_path: Path) -> None:
    out = tmp_path / "out"
    _fill(out, "first")
    (out / "W1.pdf").write_text("old sheet")
    _fill(out, "second")
    assert {p.name for p in out.iterdir()} == {MARK, "order.pdf"}
    assert (out / "order.pdf").read_text() == "second"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_folder_of_ours_stays_when_the_work_fails(tmp_path: Path) -> None:
    out = tmp_path / "out"
    _fill(out, "first")
    with pytest.raises(RuntimeError), new_folder(out):
        raise RuntimeError
    assert (out / "order.pdf").read_text() == "first"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_an_empty_folder_is_taken(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    _fill(tmp_path / "out", "first")
    assert (tmp_path / "out" / "order.pdf").exists()


@pytest.mark.parametrize(
    "files",
    [
        {"notes.txt": "mine"},
        {MARK: json.dumps(OURS), "notes.txt": "mine"},
        {MARK: "not json", "order.pdf": ""},
        {MARK: json.dumps({"files": ["order.pdf"]}), "order.pdf": ""},
        {MARK: json.dumps([1]), "order.pdf": ""},
    ],
)
def test_a_folder_with_strange_files_is_refused_and_left_alone(tmp_path: Path, files: dict[str, str]) -> None:
    out = tmp_path / "out"
    out.mkdir()
    for name, text in files.items():
        (out / name).write_text(text)
    with pytest.raises(InputError, match="did not write"):
        check_folder(out)
    with pytest.raises(InputError, match="did not write"), new_folder(out):
        raise AssertionError("the work must not begin")
    assert {p.name: p.read_text() for p in out.iterdir()} == files


def test_a_file_put_in_while_the_work_runs_is_not_lost(tmp_path: Path) -> None:
    out = tmp_path / "out"
    _fill(out, "first")
    with pytest.raises(InputError, match=r"notes\.txt"):
        _fill(out, "second", then=lambda: (out / "notes.txt").write_text("mine"))
    assert (out / "notes.txt").read_text() == "mine"
    assert (out / "order.pdf").read_text() == "first"
    assert [p.name for p in tmp_path.iterdir()] == ["out"]


def test_a_file_or_a_link_is_no_folder(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("1")
    (tmp_path / "link").symlink_to(tmp_path)
    for out in (tmp_path / "file", tmp_path / "link", tmp_path / "file" / "below"):
        with pytest.raises(InputError):
            check_folder(out)


def test_json_is_written_whole_or_not_at_all(tmp_path: Path) -> None:
    path = tmp_path / "deep" / "r.json"
    write_json(path, {"a": 1.5})
    assert json.loads(path.read_text()) == {"a": 1.5}
    with pytest.raises(ValueError, match="not JSON compliant"):
        write_json(path, {"a": float("nan")})
    assert json.loads(path.read_text()) == {"a": 1.5}
    with pytest.raises(InputError, match="folder"):
        write_json(tmp_path, {})
    with pytest.raises(InputError):
        write_json(path / "below.json", {})
    assert sorted(p.name for p in tmp_path.rglob("*")) == ["deep", "r.json"]
