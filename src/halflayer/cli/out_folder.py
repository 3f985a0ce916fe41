"""Writes results beside their place and renames them there: whole or not at all, never over strange files."""

from __future__ import annotations

import json
import os
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from pathlib import Path
from typing import Any, NoReturn

from halflayer.base.errors import InputError, Problem
from halflayer.cli.leftovers import OLD, PART, at_work, clear

MARK = "plan.json"
RADIOGRAPH = "radiograph.json"
OPEN_LEVELS = 5  # of a JSON file, line by line: what is deeper is one figure with its trail


def check_folder(out: Path) -> None:
    """Refuse a folder that cannot be made or replaced, before the work is done.

    A folder that exists is replaced only when Halflayer wrote it: `plan.json` is in it and every other file
    is one that it names. An empty folder is taken too. Raises: InputError.
    """
    if out.is_symlink() or (out.exists() and not out.is_dir()):
        _refuse(out, "this is not a folder", "a new folder, or one that halflayer plan wrote")
    if out.is_dir():
        names = {p.name for p in out.iterdir()}
        if names:
            strange = sorted(names - _own_files(out))
            if strange:
                shown = ", ".join(strange[:5]) + (" ..." if len(strange) > 5 else "")
                if RADIOGRAPH in names:
                    _refuse(
                        out,
                        "this folder holds a radiograph, which a plan would replace",
                        f"another folder for the plan, such as {out}-plan",
                    )
                _refuse(
                    out,
                    f"the folder holds files that halflayer plan did not write: {shown}",
                    "a new folder, or one that halflayer plan wrote",
                )
    _check_parent(out)


def check_file(out: Path) -> None:
    """Refuse a file that cannot be written, before the work is done. Raises: InputError."""
    if out.is_dir():
        _refuse(out, "this is a folder", "a file")
    _check_parent(out)


def _check_parent(out: Path) -> None:
    parent = _existing(out.absolute().parent)
    if not os.access(parent, os.W_OK | os.X_OK) or not parent.is_dir():
        _refuse(out, f"nothing can be written in {parent}", "a folder that you may write in")


@contextmanager
def new_folder(out: Path) -> Iterator[Path]:
    """A temporary folder beside `out` that takes its name at the end; gone when the work inside fails.

    Raises: InputError when the file system refuses.
    """
    check_folder(out)
    target = out.absolute()
    clear(target)
    lock = ExitStack()
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        temporary = _folder(target, lock, PART)
        temporary.chmod(0o777 & ~_umask())  # mkdtemp makes it private; the sheets are for all who may look
    except OSError as error:
        _refuse(out, f"the folder cannot be made: {error.strerror}", "a folder that you may write in")
    try:
        yield temporary
        _take_place(temporary, target)
        clear(target, ends=OLD)  # what stood here before a plan that was killed as it took its place
    except OSError as error:
        if error.filename is not None and Path(str(error.filename)).is_relative_to(target.parent):
            _refuse(out, f"the folder cannot be written: {error.strerror}", "a folder with room to write in")
        raise
    finally:
        shutil.rmtree(temporary, ignore_errors=True)
        lock.close()


def _folder(target: Path, lock: ExitStack, suffix: str) -> Path:
    """A temporary folder beside `target`, its lock held until `lock` is closed."""
    while True:
        temporary = Path(tempfile.mkdtemp(prefix=f".{target.name}.", suffix=suffix, dir=target.parent))
        if lock.enter_context(at_work(temporary)):
            return temporary


def write_json(path: Path, data: Any) -> None:
    """Write a JSON file whole or not at all. Raises: InputError when the file system refuses."""
    write_text(path, json_text(data))


def write_text(path: Path, text: str) -> None:
    """Write a text file whole or not at all. Raises: InputError when the file system refuses."""
    check_file(path)
    target = path.absolute()
    clear(target)
    temporary: str | None = None
    lock = ExitStack()
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", suffix=PART, dir=target.parent)
        while not lock.enter_context(at_work(Path(temporary))):
            os.close(handle)
            handle, temporary = tempfile.mkstemp(prefix=f".{target.name}.", suffix=PART, dir=target.parent)
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(temporary).chmod(0o666 & ~_umask())
        Path(temporary).replace(target)
    except OSError as error:
        _refuse(path, f"the file cannot be written: {error.strerror}", "a place that you may write in")
    finally:
        if temporary is not None:
            Path(temporary).unlink(missing_ok=True)
        lock.close()


def json_text(data: Any) -> str:
    """JSON for a file that people open too: the outer levels line by line, what is inside them on one line."""
    return _lines(data, OPEN_LEVELS) + "\n"


def _lines(data: Any, levels: int, indent: str = "") -> str:
    inner = indent + " "
    if levels and isinstance(data, dict) and data:
        named = (
            f"{inner}{json.dumps(str(k), ensure_ascii=False)}: {_lines(v, levels - 1, inner)}"
            for k, v in data.items()
        )
        return "{\n" + ",\n".join(named) + f"\n{indent}}}"
    if levels and isinstance(data, list | tuple) and data:
        return "[\n" + ",\n".join(inner + _lines(v, levels - 1, inner) for v in data) + f"\n{indent}]"
    return json.dumps(data, ensure_ascii=False, allow_nan=False)


def _take_place(temporary: Path, target: Path) -> None:
    """Rename the finished folder to its place; what stood there goes only when that is done."""
    if not target.exists():
        temporary.rename(target)
        return
    with ExitStack() as lock:
        before = _folder(target, lock, OLD)
        try:
            check_folder(target)  # the work took a while: someone may have put a file in
            target.rename(before / "was")
            try:
                temporary.rename(target)
            except BaseException:
                (before / "was").rename(target)
                raise
        finally:
            if target.exists():  # else what stood there is still in `before`: keep it
                shutil.rmtree(before, ignore_errors=True)


def _own_files(folder: Path) -> set[str]:
    """Files of the folder that its plan.json says were written with it; none when that cannot be read."""
    try:
        data = json.loads((folder / MARK).read_text(encoding="utf-8"))
        return {MARK, *map(str, data["files"])} if {"order", "version", "welds"} <= set(data) else set()
    except (OSError, ValueError, TypeError, KeyError, RecursionError):
        return set()


def _existing(path: Path) -> Path:
    while not path.exists() and path != path.parent:
        path = path.parent
    return path


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _refuse(out: Path, problem: str, accepted: str) -> NoReturn:
    raise InputError([Problem("command line", None, "--out", problem, str(out), accepted)])
