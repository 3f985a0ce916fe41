"""The command line: one thin module per command, a door to the same flow as every other door."""

from __future__ import annotations


def main() -> None:
    """Entry point of the program `halflayer`."""
    import sys

    from halflayer.cli.door import run

    sys.exit(run(sys.argv[1:]))
