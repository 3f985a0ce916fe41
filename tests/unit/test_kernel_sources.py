"""Every source that kernels are made from is part of the hash that names their cache, and an edit in any renames it."""

from __future__ import annotations

import ast
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from halflayer.scene import compiled
from halflayer.scene.compiled import KERNEL_SOURCES

PACKAGE = Path(__file__).parents[2] / "src" / "halflayer"
DECORATORS = {"kernel", "compiled", "inlined", "merged"}


def _uses(tree: ast.AST, name: str) -> bool:
    return any(isinstance(n, ast.Attribute) and ast.unparse(n) == name for n in ast.walk(tree))


def _kernels(tree: ast.Module) -> list[ast.FunctionDef]:
    """The compiled functions of a file: those with a decorator of ours; in one that compiles for GPUs all."""
    functions = [n for n in ast.walk(tree) if isinstance(n, ast.FunctionDef)]
    if _uses(tree, "cuda.jit"):
        return functions
    return [
        f for f in functions if any(isinstance(d, ast.Name) and d.id in DECORATORS for d in f.decorator_list)
    ]


def _brings(tree: ast.Module) -> Iterator[tuple[str, str]]:
    """The names that a file takes from elsewhere in the package, and the file that each of them comes from."""
    for node in tree.body:
        if not (isinstance(node, ast.ImportFrom) and (node.module or "").startswith("halflayer")):
            continue
        place = "/".join((node.module or "").split(".")[1:])
        for name in node.names:
            inner = f"{place}/{name.name}.py"
            yield name.asname or name.name, inner if (PACKAGE / inner).is_file() else f"{place}.py"


def test_every_file_with_kernels_is_listed() -> None:
    trees = {str(p.relative_to(PACKAGE)): ast.parse(p.read_text("utf-8")) for p in PACKAGE.rglob("*.py")}
    found = {name for name, tree in trees.items() if _kernels(tree)}
    assert found, "no kernels found: the test looks for the wrong names"
    assert found - set(KERNEL_SOURCES) == set()


def test_what_kernels_take_from_other_files_is_listed_too() -> None:
    """Functions and constants are frozen into what is compiled: by name inside a kernel, or in a file of constants."""
    missing = set()
    for file in KERNEL_SOURCES:
        tree = ast.parse((PACKAGE / file).read_text("utf-8"))
        functions = _kernels(tree)
        if _uses(tree, "cuda.jit"):  # host functions beside them take much that no kernel sees
            functions = [f for f in functions if not _of_the_host(f)]
        inside = {n.id for f in functions for n in ast.walk(f) if isinstance(n, ast.Name)}
        # What module constants are made of: `_PER_SR = 1.0 / c.FOUR_PI`.
        inside |= {
            n.id
            for a in tree.body
            if isinstance(a, ast.Assign)
            for n in ast.walk(a)
            if isinstance(n, ast.Name)
        }
        missing |= {
            (file, home) for name, home in _brings(tree) if name in inside and home not in KERNEL_SOURCES
        }
    assert missing == set()


def _of_the_host(f: ast.FunctionDef) -> bool:
    """Functions with annotations run in Python: kernels have none here."""
    return f.returns is not None


def test_every_listed_file_is_there() -> None:
    assert [name for name in KERNEL_SOURCES if not (PACKAGE / name).is_file()] == []


@pytest.mark.parametrize("edited", KERNEL_SOURCES)
def test_an_edit_of_any_of_them_makes_the_cache_another(
    edited: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in KERNEL_SOURCES:
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(PACKAGE / name, tmp_path / name)
    monkeypatch.setattr(compiled, "PACKAGE", tmp_path)
    before = compiled.cache_folder.__wrapped__()
    assert compiled.cache_folder.__wrapped__() == before
    with (tmp_path / edited).open("a", encoding="utf-8") as f:
        f.write("# one byte more\n")
    assert compiled.cache_folder.__wrapped__() != before


def test_another_version_of_the_compiler_makes_the_cache_another(monkeypatch: pytest.MonkeyPatch) -> None:
    before = compiled.cache_folder.__wrapped__()
    for package in ("numba", "numba-cuda"):
        real = compiled.version
        with monkeypatch.context() as m:
            m.setattr(compiled, "version", lambda p, at=package, real=real: "0.0" if p == at else real(p))
            assert compiled.cache_folder.__wrapped__() != before, package
