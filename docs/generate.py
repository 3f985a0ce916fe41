"""Writes `docs/cli.md` from the commands' own help (`docs/formats/order.md` comes from `halflayer.order.describe`).

Run by `make docs`; a test fails when the page is not what this would write.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click

from halflayer.cli.door import group

DOCS = Path(__file__).parent
WIDTH = 92

CLI_HEAD = """\
# Command line

Written from `halflayer ... --help` by `make docs`; do not edit.

Exit codes: 0 done, 1 done with a finding that stops work, 2 bad input (every problem on a line of its own on
standard error; with `--json` as `{"error": {"problems": [...]}}` on standard output), 3 a fault of the program
itself, 130 stopped by Ctrl-C. Environment: `HALFLAYER_HOME` (data folder), `HALFLAYER_DB` (SQLAlchemy URL of the
records; default a SQLite file in the data folder), `HALFLAYER_THREADS` (engine threads; default all cores),
`NUMBA_CACHE_DIR` (where the folder of compiled kernels lies).
"""


def cli_page() -> str:
    """The page of the command line."""
    parts = [CLI_HEAD]
    for name, command, context in _commands(group, None, "halflayer"):
        parts.append(f"## {name}\n\n```text\n{command.get_help(context).rstrip()}\n```\n")
    return "\n".join(parts)


def _commands(
    command: click.Command, parent: click.Context | None, name: str
) -> Iterator[tuple[str, click.Command, click.Context]]:
    context = click.Context(
        command,
        parent=parent,
        info_name=name.split()[-1],
        terminal_width=WIDTH,
        help_option_names=group.context_settings["help_option_names"],
    )
    if not isinstance(command, click.Group) or parent is None or command.invoke_without_command:
        yield name, command, context
    if isinstance(command, click.Group):
        for sub in command.list_commands(context):
            found = command.get_command(context, sub)
            assert found is not None
            yield from _commands(found, context, f"{name} {sub}")


def main() -> None:
    """Write the page."""
    (DOCS / "cli.md").write_text(cli_page(), encoding="utf-8")


if __name__ == "__main__":
    main()
