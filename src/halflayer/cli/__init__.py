"""The command line: one thin module per command, a door to the same flow as every other door."""

from __future__ import annotations


def main() -> None:
    """Entry point of the program `halflayer`."""
    import sys

    from halflayer.cli.door import run

    code = run(sys.argv[1:])
    used = sys.modules.get("halflayer.transport.run_cuda")
    if used is not None and used.several_in_use():
        import os

        # The end of a process that used several cards frees memory twice in the CUDA packages, after all is written.
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
    sys.exit(code)
