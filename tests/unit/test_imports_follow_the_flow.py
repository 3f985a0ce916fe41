"""Every import inside the package follows the data flow; heavy libraries stay out of the door's own modules."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parents[2] / "src" / "halflayer"

# The picture of docs/README.md. A room imports itself and rooms of a lower row only; rooms of one row do not
# know each other. `__init__` holds the version alone and may be imported by all.
ROWS: tuple[tuple[str, ...], ...] = (
    ("__init__",),
    ("base",),
    ("data",),
    ("physics",),
    ("order",),
    ("technique",),
    ("scene",),
    ("transport", "exposure"),
    ("shielding", "radiograph"),
    ("shift",),
    ("cautions", "plan"),
    (
        "conditions_of_dose",
        "conditions_of_floors",
        "conditions_of_kit",
        "conditions_of_lost",
        "conditions_of_travel",
    ),
    ("conditions_of_change",),
    ("conditions",),
    ("attempt",),
    ("flow", "compare", "dose_fields"),
    ("sheet", "records"),
    ("opened",),  # what the sheets print, by name: it asks their own functions
    ("plan_json",),
    ("cli",),
    ("__main__",),
    ("data.derive",),  # scripts that made tables: they may use what is there, and nothing imports them
)
ROW = {room: n for n, row in enumerate(ROWS) for room in row}
# exposure asks transport for the scatter at the film, as shielding asks it for the dose: one arrow inside a row
ALSO = {("exposure", "transport")}

# Libraries that take long to import: not at the top of a module that `halflayer --help` reads.
HEAVY = {
    "numba",
    "numpy",
    "pydantic",
    "typst",
    "sqlalchemy",
    "alembic",
    "pint",
    "ruamel",
    "platformdirs",
    "segno",
    "PIL",
    "pydicom",
}


def _room(module: str) -> str:
    parts = module.split(".")
    if parts[1:3] == ["data", "derive"]:
        return "data.derive"
    return parts[1] if len(parts) > 1 else "__init__"


def _imports(tree: ast.AST, module: str, *, is_package: bool) -> Iterator[tuple[int, str]]:
    """(line, absolute name) of every import at any depth, type-checking ones included."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            for alias in node.names:
                yield node.lineno, alias.name
        elif isinstance(node, ast.ImportFrom):
            base = module.split(".") if is_package else module.split(".")[:-1]
            start = base[: len(base) - (node.level - 1)] if node.level else []
            name = ".".join([*start, *(node.module.split(".") if node.module else [])])
            if name == "halflayer":  # `from halflayer import flow`: each name may be a room
                for alias in node.names:
                    yield node.lineno, f"halflayer.{alias.name}" if alias.name in ROW else "halflayer"
            else:
                yield node.lineno, name


def _module(path: Path) -> str:
    parts = ["halflayer", *path.relative_to(PACKAGE).with_suffix("").parts]
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def wrong_arrows(text: str, module: str, *, is_package: bool = False) -> list[str]:
    """Imports of a module's text that go against the flow, in words."""
    here = _room(module)
    wrong = []
    for line, name in _imports(ast.parse(text), module, is_package=is_package):
        if name.split(".")[0] != "halflayer":
            continue
        there = _room(name)
        if there == here or ROW.get(there, 99) < ROW[here] or (here, there) in ALSO:
            continue
        wrong.append(f"{module}:{line} imports {name}")
    return wrong


def test_every_module_belongs_to_a_room() -> None:
    rooms = {p.stem if p.is_file() else p.name for p in PACKAGE.iterdir() if p.name != "__pycache__"}
    assert {r for r in rooms if r not in ROW and r != "py"} == set()


def test_no_import_goes_against_the_flow() -> None:
    wrong: list[str] = []
    count = 0
    for path in sorted(PACKAGE.rglob("*.py")):
        count += 1
        text = path.read_text(encoding="utf-8")
        wrong += wrong_arrows(text, _module(path), is_package=path.name == "__init__.py")
    assert count > 50
    assert wrong == []


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("halflayer.order.read", "from halflayer.technique.result import Shot"),
        ("halflayer.base.units", "import halflayer.data.load"),
        ("halflayer.transport.run", "def f():\n    from halflayer.exposure.film import Curve"),
        ("halflayer.scene.build", "from halflayer import flow"),
        ("halflayer.sheet.pdf", "from ..records import store"),
        ("halflayer.records.store", "from halflayer.cli.door import run"),
        ("halflayer.physics.decay", "if 0:\n    from ..order.models import Order"),
        ("halflayer.plan", "from halflayer.no_such_room import x"),
        ("halflayer.data.load", "from halflayer.data.derive import stamp"),
    ],
)
def test_an_arrow_the_wrong_way_is_found(module: str, text: str) -> None:
    assert len(wrong_arrows(text, module)) == 1


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("halflayer.flow", "from halflayer import __version__\nfrom halflayer.shielding import shield"),
        ("halflayer.sheet.pdf", "from .subject import Subject\nfrom halflayer.plan import Plan"),
        ("halflayer.cli.plan", "from halflayer.records.store import Store\nimport numpy"),
    ],
)
def test_an_arrow_the_right_way_is_not(module: str, text: str) -> None:
    assert wrong_arrows(text, module) == []


def test_the_door_imports_nothing_heavy_at_its_top() -> None:
    for path in (
        PACKAGE / "__init__.py",
        PACKAGE / "base" / "errors.py",
        *sorted((PACKAGE / "cli").glob("*.py")),
    ):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        for node in tree.body:
            names = [a.name for a in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            assert not {n.split(".")[0] for n in names} & HEAVY, path


def test_every_module_begins_with_its_one_line_and_stays_small() -> None:
    for path in sorted(PACKAGE.rglob("*.py")):
        text = path.read_text(encoding="utf-8")
        doc = ast.get_docstring(ast.parse(text))
        assert doc, f"{path.relative_to(PACKAGE)} does not say what it is for"
        assert text.count("\n") < 400, (
            f"{path.relative_to(PACKAGE)} is longer than 400 lines: split it by subject"
        )


def test_tests_import_each_other_by_the_names_that_pytest_gives_them() -> None:
    """`from tests import ...` is found only where the interpreter was started with `-m`: collection ends without it."""
    for path in sorted(Path(__file__).parents[1].rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        names = [n.module or "" for n in ast.walk(tree) if isinstance(n, ast.ImportFrom)]
        names += [a.name for n in ast.walk(tree) if isinstance(n, ast.Import) for a in n.names]
        assert "tests" not in {name.split(".")[0] for name in names}, path.name
