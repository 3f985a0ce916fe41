"""Options that several commands share, and their values read without importing a unit library."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

F = TypeVar("F", bound=Callable[..., Any])

# numpy's and our own generators take any seed that fits in 63 bits
SEED = click.IntRange(0, 2**63 - 2)
FILE = click.Path(path_type=Path)  # whether it is there is checked where it is read, with all else


class Share(click.ParamType):
    """A relative error such as `5%` or `0.05`, above 0 and below 1."""

    name = "share"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The share as a number."""
        match = re.fullmatch(r"\s*(\d{1,6}(?:\.\d{0,12})?|\.\d{1,12})\s*(%?)\s*", str(value))
        share = float(match[1]) / (100.0 if match[2] else 1.0) if match else 0.0
        if not 0.0 < share < 1.0:
            self.fail(f"{value!r} is not a share between 0 and 1, such as 5% or 0.05", param, ctx)
        return share


class Seconds(click.ParamType):
    """A time in seconds, above 0: `20` or `20 s`."""

    name = "seconds"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The time in seconds."""
        match = re.fullmatch(r"\s*(\d{1,9}(?:\.\d{0,9})?|\.\d{1,9})\s*s?\s*", str(value))
        seconds = float(match[1]) if match else 0.0
        if seconds <= 0.0:
            self.fail(f"{value!r} is not a time in seconds, such as 20", param, ctx)
        return seconds


def seed_option(words: str) -> Callable[[F], F]:
    """`--seed`, with what it is for."""
    return click.option("--seed", type=SEED, default=1, show_default=True, help=words)


def error_option(default: str, words: str) -> Callable[[F], F]:
    """`--error`: a relative error with its default, and what it ends."""
    return click.option(
        "--error", type=Share(), default=default, show_default=True, metavar="SHARE", help=words
    )


def backend_option(default: str, words: str) -> Callable[[F], F]:
    """`--backend`: where to compute."""
    return click.option(
        "--backend",
        type=click.Choice(["auto", "cpu", "cuda"]),
        default=default,
        show_default=True,
        help=words,
    )


def check_backend(backend: str) -> None:
    """Refuse what this machine cannot do. Raises: InputError."""
    if backend != "cuda":
        return
    from halflayer.base.errors import InputError, Problem
    from halflayer.transport.gpu import missing

    why = missing()
    if why is not None:
        raise InputError([Problem("command line", None, "--backend", why, "cuda", "auto or cpu")])


def json_option(function: F) -> F:
    """`--json`: the result as JSON on standard output, errors too."""
    return click.option("--json", "as_json", is_flag=True, help="Print the result (or the error) as JSON.")(
        function
    )


def paper_option(function: F) -> F:
    """`--paper`: the size of the sheets; `--phone`: narrow ones beside them."""
    function = click.option(
        "--phone", is_flag=True, help="Write each sheet for a phone too: NAME.phone.pdf, 100 mm wide."
    )(function)
    return click.option(
        "--paper",
        type=click.Choice(["a4", "letter"]),
        default="a4",
        show_default=True,
        help="Paper of the sheets.",
    )(function)


def progress_option(function: F) -> F:
    """`--progress`: a line on standard error while the work runs."""
    return click.option(
        "--progress/--no-progress",
        "progress",
        default=None,
        help="Show progress on standard error (default: on a terminal).",
    )(function)
