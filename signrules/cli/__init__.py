"""The command `signrules`: one module for each of its commands.

`shared_options.EXIT_STATUSES` says what its exit statuses mean.
"""

from __future__ import annotations

import argparse
import errno
import io
import os
import sys
import traceback
from collections.abc import Sequence
from importlib import import_module
from typing import TextIO

from signrules import __version__
from signrules.cli.misspelt_words import CommandParser, demand_known_words
from signrules.cli.own_output import own_output
from signrules.cli.shared_options import (
    BAD_INPUT,
    EXIT_STATUSES,
    INCOMPLETE,
    INTERRUPTED,
    READER_GONE,
)
from signrules.cli.standard_streams import standard_input_kept
from signrules.errors import SignrulesError

UNWRITABLE = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG, errno.EIO)
"""What a stream says that takes no more: a full disk, a quota, a device that fails."""

COMMANDS = {
    "check": "check_command",
    "next": "next_command",
    "order": "order_command",
    "queue": "queue_command",
    "read": "read_command",
    "schedule": "schedule_command",
    "compose": "compose_command",
    "draw": "draw_command",
    "rules": "rules_commands",
    "explain": "rules_commands",
    "standards": "standards_command",
    "font": "font_command",
    "plugins": "plugins_command",
    "sheet": "sheet_command",
    "estimate": "estimate_command",
    "measure": "measure_command",
    "shop": "shop_command",
    "schema": "schema_command",
    "graph": "graph_command",
    "completion": "completion_command",
}
"""The commands, in the order in which the help lists them, and the module that has each.

A module has a function `add_command(commands)` that adds its sub-commands.
"""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; returns the exit status."""
    for name in ("stdout", "stderr"):
        # A stream that was closed before the start: what is written there is lost, the status
        # counts all the same.
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "w", encoding="utf-8"))  # noqa: SIM115
    given = sys.argv[1:] if arguments is None else arguments
    parser = command_parser(given)
    demand_known_words(parser, given)
    options = parser.parse_args(given)
    with own_output():
        return _run_command(options)


def _run_command(options: argparse.Namespace) -> int:
    for stream in (sys.stdout, sys.stderr):
        # A job may hold any character; where the terminal cannot show one, its code stands for it.
        # Tests and callers may have put a stream of their own here.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        with standard_input_kept(options):
            status = int(options.run(options))
        # Here, where a full disk can still change the status: Python flushes at exit and only
        # complains.
        sys.stdout.flush()
        return status
    except SignrulesError as error:
        # Imports stand in functions throughout the command: `--help` and `--version` answer at
        # once.
        from signrules.reports.text_report import plain_text

        _tell_error(plain_text(str(error)))
        return BAD_INPUT
    except BrokenPipeError:
        # Whoever reads has seen enough. What is still held back must not complain at the end.
        _silence_stream(sys.stdout)
        return READER_GONE
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return INTERRUPTED
    except Exception as error:
        if isinstance(error, OSError) and error.errno in UNWRITABLE:
            # Files that are written name themselves: this was one of the streams.
            _silence_stream(sys.stdout)
            _tell_error(f"the output could not be written: {error.strerror}")
            return INCOMPLETE
        # A fault of signrules itself must not look like a verdict.
        traceback.print_exc()
        return INCOMPLETE


def _tell_error(text: str) -> None:
    """Write to standard error, or not where that cannot be done: the status says it too."""
    try:
        print(text, file=sys.stderr, flush=True)
    except OSError:
        _silence_stream(sys.stderr)


def _silence_stream(stream: TextIO) -> None:
    """What a stream still holds back must not complain at the end of the process and change its
    status.
    """
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())


def command_parser(arguments: Sequence[str] = ()) -> argparse.ArgumentParser:
    """The parser of the command that the arguments begin with; of all where they begin otherwise.

    To load the other commands takes longer than to read a job.
    """
    statuses = "; ".join(f"{status} {words}" for status, words in EXIT_STATUSES.items())
    parser = CommandParser(
        prog="signrules",
        description="Judge and order the passes of a printed sign.",
        epilog=f"Exit status: {statuses}.",
    )
    parser.add_argument("--version", action="version", version=f"signrules {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    name = arguments[0] if arguments else ""
    modules = [COMMANDS[name]] if name in COMMANDS else dict.fromkeys(COMMANDS.values())
    for module in modules:
        import_module(f"signrules.cli.{module}").add_command(commands)
    return parser
