"""`halflayer doctor`: what this installation has and what is wrong with it; compiles the kernels when asked."""

from __future__ import annotations

import json
import os
import platform
import shutil
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Literal, NamedTuple

import click

from halflayer.cli.options import json_option

State = Literal["ok", "note", "broken"]
LEAST_FREE_GB = 1.0  # our choice: kernels, sheets and records together stay well below


class Check(NamedTuple):
    """One line of the report."""

    what: str
    state: State
    text: str


@click.command(
    "doctor",
    short_help="Check this installation; --compile makes the first plan quick.",
    epilog="Example: halflayer doctor --compile",
)
@click.option("--compile", "compile_all", is_flag=True, help="Compile all kernels into the cache first.")
@json_option
def command(compile_all: bool, as_json: bool) -> int:
    """Say what this installation has: Python, cores, kernels, GPU, records, fonts, tables, disk.

    Exit code 0: everything that is needed is there; 1: something is broken.
    """
    seconds: float | None = None
    if compile_all:
        begun = time.monotonic()
        if not as_json:
            click.echo(
                "compiling the kernels (once after an installation or a change of the engine) ...", err=True
            )
        _compile()
        seconds = time.monotonic() - begun
    checks = [check for part in PARTS for check in _safely(part)]
    if seconds is not None:
        checks.insert(0, Check("compiled", "ok", f"all kernels, in {seconds:.1f} s"))
    broken = any(c.state == "broken" for c in checks)
    if as_json:
        data = {"ok": not broken, "checks": [c._asdict() for c in checks]}
        click.echo(json.dumps(data, ensure_ascii=False, indent=1))
    else:
        from halflayer.cli.table import wrapped

        indent = max(len(c.what) for c in checks) + 10
        for c in checks:
            label = f"{c.what.ljust(indent - 9)} {c.state}"
            click.echo("\n".join(wrapped(label, c.text, indent=indent)))
    return 1 if broken else 0


def _compile() -> None:
    """Compile everything, images in a process beside this one: a compilation holds the interpreter's lock."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    from halflayer.radiograph.warm import compile_kernels as compile_image_kernels
    from halflayer.transport.warm import compile_kernels

    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as beside:
        images = beside.submit(compile_image_kernels)
        compile_kernels()
        images.result()


def _safely(part: Callable[[], Iterator[Check]]) -> list[Check]:
    """The checks of a part; a part that fails in a way not foreseen is itself a finding."""
    found: list[Check] = []
    try:
        found.extend(part())
    except Exception as error:  # the report must not end because one part of it does
        found.append(Check(part.__name__.strip("_"), "broken", f"{type(error).__name__}: {error}"))
    return found


def _program() -> Iterator[Check]:
    from halflayer import __version__

    yield Check("halflayer", "ok", f"{__version__} in {Path(__file__).parents[1]}")
    version = platform.python_version()
    state: State = "ok" if sys.version_info >= (3, 11) else "broken"
    yield Check("python", state, f"{version} ({platform.platform()})")
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    yield Check("cores", "ok", str(cores))


def _kernels() -> Iterator[Check]:
    from importlib.metadata import version

    from halflayer.scene.compiled import cache_folder, thread_count

    text = f"{thread_count()} engine threads of our own; numba {version('numba')}, its parallel layers unused"
    yield Check("threads", "ok", text)
    folder = cache_folder()
    kept = sorted(folder.glob("**/*.nbi")) if folder.is_dir() else []
    if kept:
        size = sum(p.stat().st_size for p in folder.glob("**/*") if p.is_file()) / 1e6
        yield Check("kernels", "ok", f"{len(kept)} compiled ({size:.0f} MB) in {folder}")
    else:
        yield Check(
            "kernels", "note", f"not compiled yet: the first plan does it (or doctor --compile), in {folder}"
        )


def _gpu() -> Iterator[Check]:
    from halflayer.transport.gpu import devices, missing

    there = devices()
    if not there:
        yield Check("gpu", "ok", "none, and none is needed")
        return
    names = ", ".join(
        f"{d.name} ({d.memory_bytes / 2**30:.0f} GiB, compute capability {d.capability[0]}.{d.capability[1]})"
        for d in there
    )
    why = missing()
    yield Check("gpu", "ok" if why is None else "note", names if why is None else f"{names}; not used: {why}")


def _records() -> Iterator[Check]:
    from sqlalchemy.engine import make_url

    from halflayer.base.errors import HalflayerError
    from halflayer.records import place

    url = place.database_url()
    shown = place.shown(url)
    try:
        parsed = make_url(url)
        # only looked at: a database that is not there is not made by asking after it
        if parsed.get_backend_name() == "sqlite" and parsed.database and not Path(parsed.database).exists():
            yield Check("records", "ok", f"{shown}: not made yet (the first plan does)")
            return
        from halflayer.records import migrate
        from halflayer.records.store import Store

        with Store(url) as store:
            count = store.count()
        yield Check("records", "ok", f"{shown}: {count} plan(s), revision {migrate.HEAD}")
    except (HalflayerError, ValueError) as error:
        yield Check("records", "broken", str(error))
    except Exception as error:  # what SQLAlchemy says of a URL that is none
        yield Check("records", "broken", f"HALFLAYER_DB={shown}: {error}")


def _fonts() -> Iterator[Check]:
    from halflayer import sheet

    folder = Path(next(iter(sheet.__path__))) / "fonts"
    fonts = sorted(p.name for p in folder.glob("*.[to]tf"))
    licences = sorted(p.name for p in folder.glob("*") if p.suffix in (".txt", ".md") or "OFL" in p.name)
    state: State = "ok" if fonts else "broken"
    yield Check(
        "fonts", state, f"{len(fonts)} shipped in {folder}; licences: {', '.join(licences) or 'none'}"
    )


def _tables() -> Iterator[Check]:
    from halflayer.data import load

    wrong = []
    names = sorted(p.stem for p in load.FOLDER.glob("*.toml"))
    for name in names:
        try:
            load.table(name)
        except load.TableError as error:
            wrong.append(str(error))
    if wrong or not names:
        yield Check("tables", "broken", "; ".join(wrong) or f"none in {load.FOLDER}")
    else:
        yield Check("tables", "ok", f"{len(names)} tables, each with the sha256 of its description")


def _disk() -> Iterator[Check]:
    from halflayer.records import place

    folder = place.home()
    while not folder.exists() and folder != folder.parent:
        folder = folder.parent
    free = shutil.disk_usage(folder).free / 1e9
    writable = os.access(folder, os.W_OK)
    state: State = "ok" if free >= LEAST_FREE_GB and writable else "broken"
    text = f"{free:.0f} GB free at {folder}" if free >= 10 else f"{free:.1f} GB free at {folder}"
    yield Check("disk", state, text + ("" if writable else ", which cannot be written"))


PARTS: tuple[Callable[[], Iterator[Check]], ...] = (
    _program,
    _kernels,
    _gpu,
    _records,
    _fonts,
    _tables,
    _disk,
)
