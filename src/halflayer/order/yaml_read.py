"""The only reader of YAML: bounded, without tags, giving plain data and the line of every field.

The parser's events are turned into data here instead of by the library, so that size, nodes, depth and
aliases are bounded while reading, every key is text, and dates, times of day (`22:00`) and numbers with
leading zeros stay as written. Plain scalars follow the YAML 1.2 core schema; `<<` merges mappings.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from halflayer.base.errors import InputError, Problem

# Our choice: an order of 500 welds is about 400 kB and 30,000 nodes, and the pure parser reads 13,000 nodes
# in a second.
MAX_BYTES = 2_000_000
MAX_NODES = 50_000  # aliases count as often as they are used
MAX_LINES = 50_000
MAX_LINE = 20_000  # characters; the pure parser takes quadratic time over some runs of marks
MAX_DEPTH = 32
MAX_PROBLEMS = 50
DEPTH_SHOWN = 6  # steps of a field's name: no field of an order lies deeper

Loc = Sequence[str | int]

_INTEGER = re.compile(r"[-+]?(0|[1-9][0-9]{0,17})")
_FLOAT = re.compile(r"[-+]?(\.[0-9]+|(0|[1-9][0-9]*)(\.[0-9]*)?)([eE][-+]?[0-9]+)?")
_WORDS: dict[str, Any] = {"": None, "~": None}
for _word, _value in {"null": None, "true": True, "false": False}.items():
    _WORDS |= {_word: _value, _word.capitalize(): _value, _word.upper(): _value}
# what YAML 1.2 allows (section 5.1), without surrogates: an escape such as "\\ud800" makes one, UTF-8 cannot
_NOT_PRINTABLE = re.compile("[^\t\n\r\x20-\x7e\x85\xa0-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


@dataclass
class _Lines:
    """Line of a value and of what stands under it, shared by all uses of an alias."""

    line: int
    under: dict[str | int, _Lines] = field(default_factory=dict)


@dataclass
class _Node:
    """A finished value with its lines and the number of nodes it is made of."""

    value: Any
    lines: _Lines
    size: int


@dataclass(frozen=True)
class Document:
    """A document as read: plain data, its lines and the problems that did not end the reading."""

    file: str
    data: Any
    lines: _Lines
    problems: tuple[Problem, ...]

    def where(self, loc: Loc) -> int:
        """Line of the field at `loc` (keys and list indices); of the nearest parent where it has none."""
        lines = self.lines
        for step in loc:
            if step not in lines.under:
                break
            lines = lines.under[step]
        return lines.line


def load(path: str | Path) -> tuple[Any, Callable[[Loc], int]]:
    """Read a YAML file: (data, where) with data of dict, list, str, int, float, bool and None.

    `where(loc)` gives the line (from 1) of a field by its keys and list indices, or of its nearest parent.
    Raises: InputError with every problem found.
    """
    document = read(path)
    if document.problems:
        raise InputError(document.problems)
    return document.data, document.where


def read(path: str | Path) -> Document:
    """Like `load`, but duplicate keys are left in `problems` so that a caller can add its own.

    Raises: InputError where reading cannot go on: no file, too large, not UTF-8, wrong syntax, no mapping.
    """
    return parse(_text(Path(path)), file=str(path))


def parse(text: str, *, file: str) -> Document:
    """Like `read` for a text in memory; `file` is only named in problems."""
    odd = _NOT_PRINTABLE.search(text)
    if odd:
        at = text.count("\n", 0, odd.start()) + 1
        raise _refusal(file, at, "a character that is no text", f"U+{ord(odd.group()):04X}", "a text file")
    lines = text.splitlines()
    if len(lines) > MAX_LINES:
        raise _refusal(file, None, "the file has too many lines", f"{len(lines):,}", f"at most {MAX_LINES:,}")
    for number, line in enumerate(lines, start=1):
        if len(line) > MAX_LINE:
            given, accepted = f"{len(line):,} characters", f"at most {MAX_LINE:,}"
            raise _refusal(file, number, "the line is too long", given, accepted)
    return _Builder(file, text, lines).document()


def field_name(loc: Loc) -> str:
    """A field as problems name it, such as `welds[3].pipe.wall` (indices from 0).

    >>> field_name(("welds", 3, "pipe", "wall"))
    'welds[3].pipe.wall'
    """
    text = ""
    for step in loc:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else step
    return text


def _refusal(
    file: str, line: int | None, problem: str, given: str | None, accepted: str | None
) -> InputError:
    return InputError([Problem(file, line, "", problem, given, accepted)])


def _text(path: Path) -> str:
    file = str(path)
    try:
        if not path.is_file():
            problem = "this is not a file" if path.exists() else "there is no such file"
            raise _refusal(file, None, problem, None, "a YAML file")
        with path.open("rb") as stream:
            raw = stream.read(MAX_BYTES + 1)
        size = path.stat().st_size
    except (OSError, ValueError) as error:  # ValueError: a NUL in the path
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise _refusal(file, None, f"the file cannot be read: {reason}", None, "a YAML file") from None
    if len(raw) > MAX_BYTES:
        given, accepted = f"{max(size, len(raw)):,} bytes", f"at most {MAX_BYTES:,} bytes"
        raise _refusal(file, None, "the file is too large", given, accepted)
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        given = f"byte 0x{raw[error.start]:02X} at position {error.start:,}"
        raise _refusal(file, line, "the file is not UTF-8 text", given, "a YAML file in UTF-8") from None


def scalar(text: str) -> Any:
    """The value of a plain scalar: None, bool, int, float or, for all else, the text itself.

    >>> scalar("8.56"), scalar("22:00"), scalar("007"), scalar("no"), scalar("5 mm")
    (8.56, '22:00', '007', 'no', '5 mm')
    """
    if text in _WORDS:
        return _WORDS[text]
    if _INTEGER.fullmatch(text):
        return int(text)
    if len(text) <= 40 and _FLOAT.fullmatch(text):
        return float(text)
    if text.lower() in (".inf", "+.inf", "-.inf", ".nan"):
        return float(text.lower().replace(".", ""))
    return text


class _Builder:
    """Turns the parser's events into data within the bounds."""

    def __init__(self, file: str, text: str, lines: list[str]) -> None:
        self.file = file
        self.text = text
        self.text_lines = lines
        self.nodes = 0
        self.anchors: dict[str, _Node] = {}
        self.problems: list[Problem] = []
        self.events = self._parser_events()

    def document(self) -> Document:
        """Build the one document of the text."""
        from ruamel.yaml.events import DocumentStartEvent

        if not isinstance(self._next(), DocumentStartEvent):
            raise _refusal(self.file, None, "the file is empty", "nothing", "a mapping of fields")
        node = self._node(self._next(), ())
        self._next()  # end of the document
        after = self._next()
        if isinstance(after, DocumentStartEvent):
            raise self._stop(after, "a second document begins here", None, "one document in a file")
        if node.value is None:
            raise _refusal(self.file, None, "the file is empty", "nothing", "a mapping of fields")
        if not isinstance(node.value, dict):
            kind = "a list" if isinstance(node.value, list) else _short(str(node.value))
            raise _refusal(
                self.file, node.lines.line, "the file is no mapping", kind, "fields as `name: value`"
            )
        return Document(self.file, node.value, node.lines, tuple(self.problems))

    def _parser_events(self) -> Iterator[Any]:
        from ruamel.yaml import YAML
        from ruamel.yaml.error import MarkedYAMLError, YAMLError
        from ruamel.yaml.events import StreamStartEvent

        try:
            for event in YAML(typ="safe", pure=True).parse(self.text):
                if not isinstance(event, StreamStartEvent):
                    yield event
        except MarkedYAMLError as error:
            mark = error.problem_mark or error.context_mark
            line = mark.line + 1 if mark else None
            what = ", ".join(t.strip() for t in (error.context, error.problem) if t)
            raise _refusal(self.file, line, f"wrong YAML: {what}", self._line(line), "YAML 1.2") from None
        except (YAMLError, ValueError, LookupError, AttributeError, TypeError, AssertionError) as error:
            # the parser's own stumbles over hostile text are wrong input as well
            raise _refusal(self.file, None, f"wrong YAML: {_short(str(error))}", None, "YAML 1.2") from None

    def _next(self) -> Any:
        return next(self.events)

    def _line(self, line: int | None) -> str | None:
        known = line is not None and line <= len(self.text_lines)
        return _short(self.text_lines[line - 1].strip()) if line is not None and known else None

    def _stop(self, event: Any, problem: str, given: str | None, accepted: str, loc: Loc = ()) -> InputError:
        field = field_name(loc[:DEPTH_SHOWN]) + ("…" if len(loc) > DEPTH_SHOWN else "")
        field = _short(field)
        problems = [*self.problems, Problem(self.file, _at(event), field, problem, given, accepted)]
        return InputError(problems)

    def _printable(self, event: Any) -> str:
        """The text of a scalar. Escapes in quotes can hold what a text file cannot, and what no sheet can print."""
        odd = _NOT_PRINTABLE.search(event.value)
        if odd:
            given = f"U+{ord(odd.group()):04X}"
            raise self._stop(event, "a character that is no text", given, "characters that can be printed")
        return str(event.value)

    def _count(self, event: Any, nodes: int, loc: Loc) -> None:
        self.nodes += nodes
        if self.nodes > MAX_NODES:
            given = f"{self.nodes:,} values or more"
            accepted = f"at most {MAX_NODES:,}, aliases included"
            raise self._stop(event, "the file has too many values", given, accepted, loc)

    def _node(self, event: Any, loc: tuple[str | int, ...]) -> _Node:
        from ruamel.yaml import events as kinds

        if isinstance(event, kinds.AliasEvent):
            return self._alias(event, loc)
        self._count(event, 1, loc)
        if len(loc) > MAX_DEPTH:
            given = f"{len(loc)} levels or more"
            accepted = f"at most {MAX_DEPTH} levels"
            raise self._stop(event, "the file is nested too deeply", given, accepted, loc)
        tag = str(event.tag) if event.tag else None
        if tag not in (None, "!", "tag:yaml.org,2002:str"):
            raise self._stop(event, "tags are not read", _short(tag or ""), "a plain value without a `!tag`")
        if event.anchor:
            self.anchors.pop(event.anchor, None)  # so that an alias inside its own anchor finds nothing
        if isinstance(event, kinds.ScalarEvent):
            plain, text = event.style is None and tag is None, self._printable(event)
            node = _Node(scalar(text) if plain else text, _Lines(_at(event)), 1)
        elif isinstance(event, kinds.SequenceStartEvent):
            node = self._list(event, loc)
        else:
            node = self._mapping(event, loc)
        if event.anchor:
            self.anchors[event.anchor] = node
        return node

    def _alias(self, event: Any, loc: Loc) -> _Node:
        node = self.anchors.get(event.anchor)
        if node is None:
            raise self._stop(
                event, "an alias without its anchor above it", _short(f"*{event.anchor}"), "an anchor's name"
            )
        self._count(event, node.size, loc)
        return _Node(_copy(node.value), _Lines(_at(event), node.lines.under), node.size)

    def _list(self, start: Any, loc: tuple[str | int, ...]) -> _Node:
        from ruamel.yaml.events import SequenceEndEvent

        values: list[Any] = []
        lines = _Lines(_at(start))
        size = 1
        while not isinstance(event := self._next(), SequenceEndEvent):
            node = self._node(event, (*loc, len(values)))
            lines.under[len(values)] = node.lines
            values.append(node.value)
            size += node.size
        return _Node(values, lines, size)

    def _mapping(self, start: Any, loc: tuple[str | int, ...]) -> _Node:
        from ruamel.yaml.events import MappingEndEvent, ScalarEvent

        own: dict[str, Any] = {}
        lines = _Lines(_at(start))
        merged: list[_Node] = []
        size = 1
        while not isinstance(key := self._next(), MappingEndEvent):
            if not isinstance(key, ScalarEvent) or key.anchor or key.tag:
                raise self._stop(key, "a field's name must be plain text", None, "`name: value`")
            name = self._printable(key)
            node = self._node(self._next(), (*loc, name))
            size += node.size
            if name == "<<" and key.style is None:
                merged += self._mappings(key, node)
            elif name in own:
                first = lines.under[name].line
                text = f"the field stands twice, first in line {first}"
                self._note(
                    Problem(
                        self.file, _at(key), _short(field_name((*loc, name))), text, None, "each field once"
                    )
                )
            else:
                own[name] = node.value
                lines.under[name] = _Lines(_at(key), node.lines.under)
        for node in merged:  # what is written beside `<<` wins, then the first of the merged
            for name, value in node.value.items():
                if name not in own:
                    own[name] = value
                    lines.under[name] = node.lines.under[name]
        return _Node(own, lines, size)

    def _mappings(self, key: Any, node: _Node) -> list[_Node]:
        several = isinstance(node.value, list)
        values = node.value if several else [node.value]
        if not all(isinstance(v, dict) for v in values):
            raise self._stop(key, "`<<` merges mappings only", None, "`<<: *name` of a mapping")
        return [_Node(v, node.lines.under[i] if several else node.lines, 0) for i, v in enumerate(values)]

    def _note(self, problem: Problem) -> None:
        self.problems.append(problem)
        if len(self.problems) >= MAX_PROBLEMS:
            raise InputError(self.problems)


def _at(event: Any) -> int:
    return int(event.start_mark.line) + 1


def _copy(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _copy(v) for k, v in value.items()}
    if isinstance(value, list):
        return [_copy(v) for v in value]
    return value


def _short(text: str, most: int = 80) -> str:
    text = " ".join(text.split())
    return text if len(text) <= most else text[: most - 1] + "…"
