"""Every source that kernels are made from is part of the hash that names their cache."""

from __future__ import annotations

import ast
from pathlib import Path

from halflayer.scene.compiled import KERNEL_SOURCES

PACKAGE = Path(__file__).parents[2] / "src" / "halflayer"
DECORATORS = {"kernel", "compiled", "inlined", "merged"}


def _makes_kernels(path: Path) -> bool:
    """True where a function of the file carries one of the decorators."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    return any(
        isinstance(d, ast.Name) and d.id in DECORATORS
        for node in ast.walk(tree)
        if isinstance(node, ast.FunctionDef)
        for d in node.decorator_list
    )


def test_every_file_with_kernels_is_listed() -> None:
    found = {str(p.relative_to(PACKAGE)) for p in PACKAGE.rglob("*.py") if _makes_kernels(p)}
    assert found, "no kernels found: the test looks for the wrong names"
    assert found - set(KERNEL_SOURCES) == set()


def test_every_listed_file_is_there() -> None:
    assert [name for name in KERNEL_SOURCES if not (PACKAGE / name).is_file()] == []
