"""YAML reading: plain data with lines, and every kind of hostile file refused fast with one clear message."""

from __future__ import annotations

import random
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from halflayer.base.errors import InputError
from halflayer.order import yaml_read

GOOD = """\
# a comment
order: TM-1
shift:
  starts: 2026-03-01
  watch: 22:00
welds:
  - id: 007
    pipe: {wall: 8.56 mm, dn: 100}
    flags: [true, no, null, 1.5e3]
  - {id: "12"}
"""


def refused(text: str) -> tuple[str, ...]:
    with pytest.raises(InputError) as error:
        yaml_read.parse(text, file="order.yaml")
    return tuple(str(p) for p in error.value.problems)


def outcome(read: Callable[[], yaml_read.Document]) -> dict | tuple:
    """The data, or the problems of the one error that is allowed."""
    try:
        return read().data
    except InputError as error:
        return error.problems


def test_plain_data_and_lines(tmp_path: Path) -> None:
    path = tmp_path / "order.yaml"
    path.write_text(GOOD, encoding="utf-8")
    data, where = yaml_read.load(path)
    assert data == {
        "order": "TM-1",
        "shift": {"starts": "2026-03-01", "watch": "22:00"},
        "welds": [
            {
                "id": "007",
                "pipe": {"wall": "8.56 mm", "dn": 100},
                "flags": [True, "no", None, 1500.0],
            },
            {"id": "12"},
        ],
    }
    assert where(()) == 2
    assert where(("shift", "watch")) == 5
    assert where(("welds", 0, "pipe", "wall")) == 8
    assert where(("welds", 1)) == 10
    assert where(("welds", 0, "pipe", "missing", "x")) == 8


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("1", 1),
        ("-3", -3),
        ("1.", 1.0),
        (".5", 0.5),
        ("1e3", 1000.0),
        ("0x10", "0x10"),
        ("1_000", "1_000"),
        ("010", "010"),
        ("yes", "yes"),
        ("TRUE", True),
        ("~", None),
        ("12:30", "12:30"),
        ("2026-03-01T22:00:00Z", "2026-03-01T22:00:00Z"),
        ("9" * 30, 1e30),
        ("9" * 400, "9" * 400),
    ],
)
def test_scalars(text: str, value: object) -> None:
    got = yaml_read.scalar(text)
    assert got == value
    assert type(got) is type(value)


def test_quoted_numbers_stay_text() -> None:
    assert yaml_read.parse("a: '5'\nb: !!str 5\n", file="f").data == {"a": "5", "b": "5"}


def test_alias_and_merge_keep_their_own_lines() -> None:
    text = "base: &b\n  p: 1\n  q: {r: 2}\ncopy: *b\nmore:\n  <<: *b\n  p: 3\n"
    document = yaml_read.parse(text, file="f")
    assert document.data["copy"] == {"p": 1, "q": {"r": 2}}
    assert document.data["more"] == {"p": 3, "q": {"r": 2}}
    assert document.data["copy"]["q"] is not document.data["base"]["q"]
    assert document.where(("copy",)) == 4
    assert document.where(("copy", "q", "r")) == 3
    assert document.where(("more", "p")) == 7
    assert document.where(("more", "q")) == 3


def test_first_of_several_merged_wins() -> None:
    text = "a: &a {p: 1}\nb: &b {p: 2, q: 3}\nc: {<<: [*a, *b]}\n"
    assert yaml_read.parse(text, file="f").data["c"] == {"p": 1, "q": 3}


def test_every_duplicate_is_named_with_its_line() -> None:
    text = "a: 1\nwelds:\n  - {x: 1, x: 2}\na: 3\n"
    document = yaml_read.parse(text, file="order.yaml")
    assert [str(p) for p in document.problems] == [
        "order.yaml:3: welds[0].x: the field stands twice, first in line 3; accepted: each field once",
        "order.yaml:4: a: the field stands twice, first in line 1; accepted: each field once",
    ]


def test_load_refuses_duplicates(tmp_path: Path) -> None:
    path = tmp_path / "order.yaml"
    path.write_text("a: 1\na: 2\n")
    with pytest.raises(InputError, match="order.yaml:2: a: the field stands twice, first in line 1"):
        yaml_read.load(path)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "order.yaml: the file is empty; given: nothing; accepted: a mapping of fields"),
        (
            "# only a comment\n",
            "order.yaml: the file is empty; given: nothing; accepted: a mapping of fields",
        ),
        ("~\n", "order.yaml: the file is empty; given: nothing; accepted: a mapping of fields"),
        (
            "\n- a\n",
            "order.yaml:2: the file is no mapping; given: a list; accepted: fields as `name: value`",
        ),
        (
            "a: 1\n---\nb: 1\n",
            "order.yaml:2: a second document begins here; accepted: one document in a file",
        ),
        (
            "a: &a [*a]\n",
            "order.yaml:1: an alias without its anchor above it; given: *a; accepted: an anchor's name",
        ),
        (
            "a: 1\n? [b]\n: 2\n",
            "order.yaml:2: a field's name must be plain text; accepted: `name: value`",
        ),
        (
            "a: 1\nb: \x01\n",
            "order.yaml:2: a character that is no text; given: U+0001; accepted: a text file",
        ),
    ],
)
def test_refused(text: str, message: str) -> None:
    assert refused(text) == (message,)


def test_wrong_syntax_names_the_line_and_shows_it() -> None:
    (message,) = refused("a: 1\nb: [1, 2\nc: 3\n")
    assert message.startswith("order.yaml:3: wrong YAML: ")
    assert "given: c: 3" in message


def test_tags_are_refused() -> None:
    (message,) = refused("a: 1\nb: !!python/object/apply:os.system [ls]\n")
    assert message.startswith("order.yaml:2: tags are not read; given: tag:yaml.org,2002:python/object/apply")


def test_growth_by_aliases_is_refused_at_once() -> None:
    lines = ["a0: &a0 [x, x, x, x, x, x, x, x, x]"]
    lines += [f"a{i}: &a{i} [{', '.join([f'*a{i - 1}'] * 9)}]" for i in range(1, 20)]
    start = time.perf_counter()
    (message,) = refused("\n".join(lines))
    assert message.startswith(
        "order.yaml:5: a4[5]: the file has too many values; given: 5"
    )  # 9 to the 5th: 59,049
    assert message.endswith("accepted: at most 50,000, aliases included")
    assert time.perf_counter() - start < 5.0


@pytest.mark.parametrize("text", ["[" * 10_000, "- " * 9_000, "{a: " * 4_000])
def test_depth_is_bounded(text: str) -> None:
    start = time.perf_counter()
    (message,) = refused(text)
    field = "a.a.a.a.a.a…" if text.startswith("{") else "[0][0][0][0][0][0]…"
    told = "the file is nested too deeply; given: 33 levels or more; accepted: at most 32 levels"
    assert message == f"order.yaml:1: {field}: {told}"
    assert time.perf_counter() - start < 5.0


def test_long_lines_and_many_lines_are_refused() -> None:
    assert (
        "the line is too long; given: 20,001 characters; accepted: at most 20,000" in refused("a" * 20_001)[0]
    )
    assert "too many lines; given: 50,001; accepted: at most 50,000" in refused("#\n" * 50_001)[0]


def test_ten_megabytes_of_noise(tmp_path: Path) -> None:
    path = tmp_path / "noise.yaml"
    path.write_bytes(random.Random(7).randbytes(10_000_000))
    start = time.perf_counter()
    with pytest.raises(InputError) as error:
        yaml_read.load(path)
    assert time.perf_counter() - start < 2.0
    (problem,) = error.value.problems
    assert problem.problem == "the file is too large"
    assert problem.given == "10,000,000 bytes"
    assert problem.accepted == "at most 2,000,000 bytes"


@pytest.mark.parametrize(
    ("text", "given"),
    [
        ('a: "\\ud800"', "U+D800"),
        ('a: "x\\0y"', "U+0000"),
        ('b: [1, "\\e[31m"]', "U+001B"),
        ('"\\b": 1', "U+0008"),
    ],
)
def test_escapes_cannot_bring_in_what_is_no_text(text: str, given: str) -> None:
    """Half a surrogate pair cannot be written as UTF-8 again: the refusal itself would end in a traceback."""
    (told,) = refused("ok: 1\n" + text + "\n")
    assert told.startswith(f"order.yaml:2: a character that is no text; given: {given}; accepted: ")
    told.encode()


def test_escapes_of_text_are_read() -> None:
    assert yaml_read.parse('a: "T\\u00fcr\\t\\U0001F527"', file="t.yaml").data == {
        "a": "T\u00fcr\t\U0001f527"
    }


def test_not_utf8(tmp_path: Path) -> None:
    path = tmp_path / "latin.yaml"
    path.write_bytes("a: 1\nb: Tür\n".encode("latin-1"))
    with pytest.raises(InputError) as error:
        yaml_read.load(path)
    (problem,) = error.value.problems
    assert (problem.line, problem.problem) == (2, "the file is not UTF-8 text")
    assert problem.given == "byte 0xFC at position 9"


def test_byte_order_mark_is_no_text(tmp_path: Path) -> None:
    path = tmp_path / "bom.yaml"
    path.write_bytes(b"\xef\xbb\xbfa: 1\n")
    assert yaml_read.load(path)[0] == {"a": 1}


@pytest.mark.parametrize(
    ("name", "problem"),
    [(".", "this is not a file"), ("none.yaml", "there is no such file"), ("\0", "cannot be read")],
)
def test_no_file(tmp_path: Path, name: str, problem: str) -> None:
    with pytest.raises(InputError) as error:
        yaml_read.load(f"{tmp_path}/{name}")
    assert problem in str(error.value) or "no such file" in str(error.value)


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200))
def test_random_bytes_end_in_data_or_input_error(
    tmp_path_factory: pytest.TempPathFactory, raw: bytes
) -> None:
    path = tmp_path_factory.getbasetemp() / "random.yaml"
    path.write_bytes(raw)
    found = outcome(lambda: yaml_read.read(path))
    assert isinstance(found, dict) or found


@settings(max_examples=300, deadline=None)
@given(st.text(alphabet="[]{}?-:,&*!|>'\"%@`#~ \n\ta0.\\<", max_size=60))
def test_random_marks_end_in_data_or_input_error(text: str) -> None:
    found = outcome(lambda: yaml_read.parse(text, file="f"))
    assert isinstance(found, dict) or found
