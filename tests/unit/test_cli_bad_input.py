"""Bad input to `plan` and `dose` ends with exit code 2, clear lines, no traceback and nothing written."""

from __future__ import annotations

import copy
import json
import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from halflayer.cli.door import run
from halflayer.order.yaml_read import load

Out = pytest.CaptureFixture[str]
EXAMPLES = Path(__file__).parents[2] / "examples"
ORDER, _ = load(EXAMPLES / "tarn-mill.yaml")
SCENE: dict[str, Any] = {
    "source": {"nuclide": "Se-75", "activity": "1 TBq", "at": ["0 mm", "0 mm", "0 mm"]},
    "surround": "air",
    "solids": [
        {
            "name": "shell",
            "shape": "sphere",
            "centre": ["0 mm", "0 mm", "0 mm"],
            "outer_radius": "70 mm",
            "wall": "20 mm",
            "material": "lead",
        }
    ],
    "points": [{"name": "p1", "at": ["1 m", "0 mm", "0 mm"]}],
}


def _command(tmp_path: Path, kind: str, file: Path, *more: str) -> list[str]:
    out = tmp_path / "out" / ("sheets" if kind == "plan" else "result.json")
    return [kind, str(file), "--out", str(out), *more]


def _refused(tmp_path: Path, kind: str, file: Path, capsys: Out) -> list[dict[str, Any]]:
    """The problems told; asserts the manner of the refusal."""
    assert run(_command(tmp_path, kind, file)) == 2
    told = capsys.readouterr()
    assert told.out == ""
    assert "Traceback" not in told.err
    assert told.err.strip()
    assert all(len(line) < 1500 for line in told.err.splitlines())
    assert run(_command(tmp_path, kind, file, "--json")) == 2
    problems = json.loads(capsys.readouterr().out)["error"]["problems"]
    assert problems
    assert all(p["file"] for p in problems)
    assert all(set(p) == {"file", "line", "field", "problem", "given", "accepted"} for p in problems)
    assert not (tmp_path / "out").exists()
    return list(problems)


def _at(data: Any, *loc: str | int) -> Any:
    for step in loc:
        data = data[step]
    return data


def _set(*loc: str | int, to: Any) -> Callable[[Any], None]:
    def change(data: Any) -> None:
        _at(data, *loc[:-1])[loc[-1]] = to

    return change


def _drop(*loc: str | int) -> Callable[[Any], None]:
    def change(data: Any) -> None:
        del _at(data, *loc[:-1])[loc[-1]]

    return change


def _place_in_wall(data: Any) -> None:
    data["places"][0]["at"] = data["obstacles"][0]["centre"]


ORDERS: dict[str, tuple[Callable[[Any], None], str, str]] = {
    # name: what is done to the example, field and word that must be told
    "unknown field": (_set("welds", 0, "colour", to="red"), "colour", "unknown field"),
    "wrong unit": (_set("sources", 0, "activity", to="5 mm"), "activity", "does not measure activity"),
    "decimal comma": (_set("sources", 0, "activity", to="1,5 TBq"), "activity", "decimal comma"),
    "negative wall": (_set("welds", 0, "pipe", "wall", to="-3 mm"), "wall", "too small"),
    "wall over half the diameter": (
        _set("welds", 0, "pipe", to={"outer_diameter": "60.3 mm", "wall": "31 mm", "material": "steel"}),
        "pipe",
        "half the outside diameter",
    ),
    "activity without a date": (_drop("sources", 0, "on"), "on", "no date"),
    "duplicate ids": (
        lambda data: data["welds"].append(copy.deepcopy(data["welds"][0])),
        "id",
        "the id is taken",
    ),
    "unknown nuclide": (_set("sources", 0, "nuclide", to="Xe-999"), "nuclide", "unknown nuclide"),
    "a place inside a solid": (_place_in_wall, "at", ""),
    "a number without a unit": (_set("welds", 0, "height", to=1.5), "height", "unit"),
    "not a number": (_set("welds", 0, "height", to=".nan m"), "height", ""),
    "a list for a text": (_set("title", to=["a"]), "title", ""),
}

SCENES: dict[str, tuple[Callable[[Any], None], str, str]] = {
    "unknown field": (_set("source", "colour", to="red"), "colour", "unknown field"),
    "wrong unit": (_set("source", "activity", to="5 mm"), "activity", "does not measure activity"),
    "decimal comma": (_set("solids", 0, "wall", to="2,5 mm"), "wall", "decimal comma"),
    "negative wall": (_set("solids", 0, "wall", to="-3 mm"), "wall", "too small"),
    "wall over the radius": (_set("solids", 0, "wall", to="71 mm"), "wall", "not less than the outer radius"),
    "unknown nuclide": (_set("source", "nuclide", to="Xe-999"), "nuclide", "unknown nuclide"),
    "nuclide and lines": (_set("source", "lines", to=[["400 keV", 1.0]]), "source", "not both"),
    "lines without photons": (
        lambda d: d.update(source={"lines": [["400 keV", 0]], "activity": "1 TBq", "at": [0, 0, 0]}),
        "source",
        "no photons",
    ),
    "negative photons": (
        lambda d: d.update(source={"lines": [["400 keV", -1]], "activity": "1 TBq", "at": [0, 0, 0]}),
        "lines",
        "too small",
    ),
    "too high an energy": (
        lambda d: d.update(source={"lines": [["40 MeV", 1]], "activity": "1 TBq", "at": [0, 0, 0]}),
        "lines",
        "too large",
    ),
    "a cone without an aim": (_set("source", "half_angle", to="15 deg"), "aim", "direction"),
    "a source inside lead": (_set("source", "at", to=["60 mm", "0 mm", "0 mm"]), "at", "inside 'shell'"),
    "a point inside a solid": (_set("points", 0, "at", to=["60 mm", "0 mm", "0 mm"]), "at", "inside 'shell'"),
    "unknown material": (_set("solids", 0, "material", to="unobtainium"), "material", "unknown material"),
    "unknown surround": (_set("surround", to="unobtainium"), "surround", "unknown material"),
    "unknown shape": (_set("solids", 0, "shape", to="pyramid"), "shape", "unknown shape"),
    "no shape": (_drop("solids", 0, "shape"), "shape", "missing"),
    "duplicate names": (
        lambda data: data["points"].append(copy.deepcopy(data["points"][0])),
        "name",
        "twice",
    ),
    "no points": (_drop("points"), "", "no point"),
    "fractions that add up to more": (
        _set("materials", to={"b": {"density": "3 g/cm3", "mass_fractions": {"W": 0.9, "C": 0.2}}}),
        "mass_fractions",
        "add up to 1.1",
    ),
    "an element that is none": (
        _set("materials", to={"b": {"density": "3 g/cm3", "mass_fractions": {"Qq": 1.0}}}),
        "mass_fractions",
        "unknown element",
    ),
    "a ring through a solid": (
        _set(
            "rings",
            to=[{"name": "r", "centre": [0, 0, 0], "axis": [0, 0, 1], "radius": "60 mm", "polar": "90 deg"}],
        ),
        "radius",
        "cuts 'shell'",
    ),
    "an area without a direction": (
        _set(
            "areas",
            to=[{"name": "a", "centre": [0, 0, "1 m"], "normal": [0, 0, 0], "size": ["1 mm", "1 mm"]}],
        ),
        "normal",
        "direction",
    ),
    "true for a number": (
        _set(
            "rings",
            to=[{"name": "r", "centre": [0, 0, 0], "axis": [0, 0, True], "radius": "1 m", "polar": "9 deg"}],
        ),
        "axis",
        "number",
    ),
}


@pytest.mark.parametrize("name", ORDERS)
def test_orders(name: str, tmp_path: Path, capsys: Out) -> None:
    change, field, word = ORDERS[name]
    _changed(ORDER, change, "plan", field, word, tmp_path, capsys)


@pytest.mark.parametrize("name", SCENES)
def test_scenes(name: str, tmp_path: Path, capsys: Out) -> None:
    change, field, word = SCENES[name]
    _changed(SCENE, change, "dose", field, word, tmp_path, capsys)


def _changed(
    data: Any, change: Callable[[Any], None], kind: str, field: str, word: str, tmp_path: Path, capsys: Out
) -> None:
    data = copy.deepcopy(data)
    change(data)
    file = tmp_path / "bad.yaml"
    file.write_text(json.dumps(data, indent=1))  # JSON is YAML as well
    problems = _refused(tmp_path, kind, file, capsys)
    found = [p for p in problems if field in p["field"] and word in p["problem"]]
    assert found, problems
    assert found[0]["line"] is not None
    assert len(problems) <= 3, problems


def test_the_unchanged_scene_is_accepted(tmp_path: Path) -> None:
    from halflayer.transport.free_scene import parse_scene

    problem = parse_scene(json.dumps(SCENE), file="scene.yaml")
    assert [s.name for s in problem.scores] == ["p1"]


@pytest.mark.parametrize("kind", ["plan", "dose"])
def test_all_problems_are_told_at_once(kind: str, tmp_path: Path, capsys: Out) -> None:
    changes = ORDERS if kind == "plan" else SCENES
    data = copy.deepcopy(ORDER if kind == "plan" else SCENE)
    for name in ("unknown field", "wrong unit", "negative wall"):
        changes[name][0](data)
    file = tmp_path / "bad.yaml"
    file.write_text(json.dumps(data, indent=1))
    told = " ".join(f"{p['field']}: {p['problem']}" for p in _refused(tmp_path, kind, file, capsys))
    for name in ("unknown field", "wrong unit", "negative wall"):
        assert changes[name][2] in told


def _noise(file: Path) -> None:
    file.write_bytes(random.Random(1).randbytes(10_000_000))


def _letters(file: Path) -> None:
    file.write_text("a: [" + "x, " * 3_400_000)


def _laughs(file: Path) -> None:
    lines = ["a0: &a0 [lol, lol, lol, lol, lol, lol, lol, lol, lol]"]
    lines += [f"a{n}: &a{n} [{', '.join([f'*a{n - 1}'] * 9)}]" for n in range(1, 12)]
    file.write_text("\n".join(lines))


def _itself(file: Path) -> None:
    file.write_text("a: &a\n  b: *a\n")


def _deep(file: Path) -> None:
    file.write_text("a: " + "[" * 200_000)


def _deep_mappings(file: Path) -> None:
    file.write_text("".join(" " * n + "a:\n" for n in range(1500)))


def _many(file: Path) -> None:
    file.write_text("a: [" + ", ".join(["1"] * 400_000) + "]")


def _merges(file: Path) -> None:
    lines = ["x0: &x0 {a0: 1, b0: 2}"]
    lines += [f"x{n}: &x{n} {{<<: [{', '.join([f'*x{n - 1}'] * 9)}], a{n}: 1}}" for n in range(1, 12)]
    file.write_text("\n".join(lines))


def _tag(file: Path) -> None:
    file.write_text("a: !!python/object/apply:os.system ['touch /tmp/halflayer-was-here']\n")


def _long_number(file: Path) -> None:
    file.write_text("a: " + "9" * 1_000_000)


FILES: dict[str, Callable[[Path], Any]] = {
    "empty": lambda file: file.write_text(""),
    "only a comment": lambda file: file.write_text("# nothing\n"),
    "a scalar": lambda file: file.write_text("5\n"),
    "a list": lambda file: file.write_text("- 5\n"),
    "null": lambda file: file.write_text("null\n"),
    "zero bytes": lambda file: file.write_bytes(bytes(1000)),
    "latin-1": lambda file: file.write_bytes("title: Größe\n".encode("latin-1")),
    "utf-16": lambda file: file.write_bytes("title: x\n".encode("utf-16")),
    "two documents": lambda file: file.write_text("a: 1\n---\nb: 2\n"),
    "duplicate keys": lambda file: file.write_text("order: A\norder: B\n"),
    "wrong syntax": lambda file: file.write_text("a: [1, 2\nb: }\n"),
    "ten megabytes of noise": _noise,
    "ten megabytes of letters": _letters,
    "a billion laughs": _laughs,
    "an alias of itself": _itself,
    "nested brackets": _deep,
    "nested mappings": _deep_mappings,
    "many values": _many,
    "merges of merges": _merges,
    "a tag": _tag,
    "a long number": _long_number,
}


@pytest.mark.parametrize("kind", ["plan", "dose"])
@pytest.mark.parametrize("name", FILES)
def test_files(kind: str, name: str, tmp_path: Path, capsys: Out) -> None:
    file = tmp_path / "bad.yaml"
    FILES[name](file)
    _refused(tmp_path, kind, file, capsys)
    assert not Path("/tmp/halflayer-was-here").exists()


@pytest.mark.parametrize("kind", ["plan", "dose", "explain"])
def test_a_file_that_is_not_there_or_no_file(kind: str, tmp_path: Path, capsys: Out) -> None:
    for file in (tmp_path / "nowhere.yaml", tmp_path / "nowhere" / "x.yaml", tmp_path):
        words = ["explain", str(file)] if kind == "explain" else _command(tmp_path, kind, file)
        assert run(words) == 2
        assert "Traceback" not in capsys.readouterr().err


# --- generated input ------------------------------------------------------------------------------------

VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=20)
    | st.sampled_from(["1 mm", "5 %"]),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=6,
)


def _places(data: Any, here: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    """Every place of a document."""
    found = [here] if here else []
    for step, value in (
        data.items() if isinstance(data, dict) else enumerate(data if isinstance(data, list) else [])
    ):
        found += _places(value, (*here, step))
    return found


def _never_a_traceback(
    tmp_path: Path, kind: str, base: Any, place: tuple[Any, ...], value: Any, capsys: Out
) -> None:
    data = copy.deepcopy(base)
    _set(*place, to=value)(data)
    file = tmp_path / "generated.yaml"
    file.write_text(json.dumps(data))
    from halflayer.base.errors import InputError

    if kind == "plan":
        from halflayer.order.read import read_order as read
    else:
        from halflayer.transport.free_scene import read_scene as read  # type: ignore[assignment]
    problems = None
    try:
        read(file)
    except InputError as error:
        problems = error.problems
    assert problems is None or (problems and all(p.file == str(file) for p in problems))


BRIEF = settings(
    max_examples=40,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    derandomize=True,
)


@BRIEF
@given(st.sampled_from(_places(SCENE)), VALUES)
def test_generated_scenes(tmp_path: Path, capsys: Out, place: tuple[Any, ...], value: Any) -> None:
    _never_a_traceback(tmp_path, "dose", SCENE, place, value, capsys)


@settings(BRIEF, max_examples=15)
@given(st.sampled_from(_places(ORDER)), VALUES)
def test_generated_orders(tmp_path: Path, capsys: Out, place: tuple[Any, ...], value: Any) -> None:
    _never_a_traceback(tmp_path, "plan", ORDER, place, value, capsys)


@pytest.mark.slow
@settings(BRIEF, max_examples=600)
@given(st.sampled_from(_places(SCENE)), VALUES)
def test_many_generated_scenes(tmp_path: Path, capsys: Out, place: tuple[Any, ...], value: Any) -> None:
    _never_a_traceback(tmp_path, "dose", SCENE, place, value, capsys)


@pytest.mark.slow
@settings(BRIEF, max_examples=200)
@given(st.sampled_from(_places(ORDER)), VALUES)
def test_many_generated_orders(tmp_path: Path, capsys: Out, place: tuple[Any, ...], value: Any) -> None:
    _never_a_traceback(tmp_path, "plan", ORDER, place, value, capsys)


@settings(BRIEF, max_examples=60)
@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_generated_bytes(tmp_path: Path, capsys: Out, raw: bytes) -> None:
    file = tmp_path / "raw.yaml"
    file.write_bytes(raw)
    assert run(["dose", str(file), "--out", str(tmp_path / "out.json")]) == 2
    told = capsys.readouterr()
    assert "Traceback" not in told.err
    assert not (tmp_path / "out.json").exists()
