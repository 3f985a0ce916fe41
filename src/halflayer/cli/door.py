"""Runs a command line: loads the command it names, turns what goes wrong into clear lines and an exit code.

Exit codes: 0 done, 1 done with a finding that stops work, 2 bad input, 3 a fault of the program itself,
130 stopped by Ctrl-C. Nothing but click is imported until a command runs, so that `--help` is quick.
"""

from __future__ import annotations

import importlib
import json
import os
import signal
import sys
from collections.abc import Sequence
from types import FrameType

import click

from halflayer.base.errors import MAX_PROBLEMS_SHOWN, HalflayerError, InputError, OutOfRange, Problem

DONE, STOPPED, BAD_INPUT, FAULT, INTERRUPTED, TERMINATED = 0, 1, 2, 3, 130, 143

COMMANDS = (
    "plan",
    "compare",
    "radiograph",
    "dose",
    "field",
    "explain",
    "decay",
    "plans",
    "doctor",
)  # in the order of `--help`


class Commands(click.Group):
    """The commands, each imported when it is asked for: module `halflayer.cli.NAME`, object `command`."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Names in the order of `--help`."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """The command of that name."""
        if cmd_name not in COMMANDS:
            return None
        command: click.Command = importlib.import_module(f"halflayer.cli.{cmd_name}").command
        return command


@click.group(
    cls=Commands,
    epilog="Exit codes: 0 done, 1 done with a finding that stops work, 2 bad input. --json everywhere.",
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(package_name="halflayer", message="%(prog)s %(version)s")
def group() -> None:
    """Plan gamma radiography of pipe welds in shielding close to the source.

    From a work order: technique, placement, exposure time, shielding, dose, barrier and a build sheet for
    each weld. Begin with: halflayer plan examples/tarn-mill.yaml --out out/tarn-mill
    """


def run(argv: Sequence[str]) -> int:
    """Run one command line and return its exit code; everything that goes wrong is told here."""
    words = list(argv) or ["--help"]
    as_json = "--json" in words
    _end_cleanly_when_terminated()
    try:
        code = group.main(args=words, prog_name="halflayer", standalone_mode=False)
        sys.stdout.flush()
    except (KeyboardInterrupt, click.Abort):
        _say("stopped; nothing was written")
        return INTERRUPTED
    except click.ClickException as error:
        return _refuse(_usage(error), as_json)
    except InputError as error:
        return _refuse(error, as_json)
    except OutOfRange as error:
        return _refuse(InputError([Problem("input", None, "", str(error))]), as_json)
    except HalflayerError as error:
        return _refuse(InputError([Problem("halflayer", None, "", str(error))]), as_json)
    except BrokenPipeError:
        # Whoever read our output has left (`| head`): there is no one to tell, and Python must not try.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return DONE
    except Exception as error:  # our own bug: show all of it, say whose it is
        return _own_fault(error, as_json)
    return code if isinstance(code, int) else DONE


def _usage(error: click.ClickException) -> InputError:
    field = ""
    parameter = getattr(error, "param", None)
    if parameter is not None and parameter.opts:
        field = parameter.opts[-1] if parameter.param_type_name == "option" else parameter.human_readable_name
    context = getattr(error, "ctx", None)
    accepted = f"see {context.command_path} --help" if context else "see halflayer --help"
    # click's own sentence repeats the option's name, which stands before it here
    plain = isinstance(error, click.BadParameter) and not isinstance(error, click.MissingParameter)
    text = (error.message if plain else error.format_message()).strip().rstrip(".")
    return InputError([Problem("command line", None, field, text[:1].lower() + text[1:], None, accepted)])


def _refuse(error: InputError, as_json: bool) -> int:
    if as_json:
        problems = [p.as_json() for p in error.problems[:MAX_PROBLEMS_SHOWN]]
        more = len(error.problems) - len(problems)
        data = {"error": {"problems": problems, "more": more}}
        click.echo(json.dumps(data, ensure_ascii=False, indent=2))
    _say(str(error))
    return BAD_INPUT


def _own_fault(error: Exception, as_json: bool) -> int:
    import traceback

    if as_json:
        click.echo(json.dumps({"error": {"fault": f"{type(error).__name__}: {error}"}}, ensure_ascii=False))
    traceback.print_exception(error)
    _say("this is a fault of halflayer, not of your input; please report it with the lines above")
    return FAULT


def _say(text: str) -> None:
    try:
        click.echo(text, err=True)
    except OSError:
        return  # no one listens


def _end_cleanly_when_terminated() -> None:
    """Let a polite kill run the clean-up of temporary folders and transactions, as Ctrl-C does."""

    def end(_number: int, _frame: FrameType | None) -> None:
        raise SystemExit(TERMINATED)

    # only the main thread may, and only there does it matter; a caller's own handler is left alone
    try:
        if signal.getsignal(signal.SIGTERM) is signal.SIG_DFL:
            signal.signal(signal.SIGTERM, end)
    except ValueError:
        return
