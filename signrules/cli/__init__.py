"""The command `signrules`: one module for each of its commands.

Exit status: 0 nothing of level STOP is broken or doubtful; 1 something is; 2 the input is at fault; 3 the evaluation
is incomplete.
"""

from __future__ import annotations

import argparse
import io
import os
import sys
import traceback
from collections.abc import Sequence

from signrules import __version__
from signrules.cli import check, estimate, graph, order, plugins, rules, schema, sheet, standards
from signrules.cli.common import BAD_INPUT, INCOMPLETE
from signrules.errors import SignrulesError

INTERRUPTED, READER_GONE = 130, 141
"""As shells count them: 128 and the number of the signal."""

COMMANDS = (check, order, rules, standards, plugins, sheet, estimate, schema, graph)
"""Each has a function `add(commands)` that adds its sub-commands, in the order in which the help lists them."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command; returns the exit status."""
    options = _parser().parse_args(arguments)
    for stream in (sys.stdout, sys.stderr):
        # A job may hold any character; where the terminal cannot show one, its code stands for it.
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    try:
        status = int(options.run(options))
        sys.stdout.flush()
        return status
    except SignrulesError as error:
        from signrules.reports.text import plain

        print(plain(str(error)), file=sys.stderr)
        return BAD_INPUT
    except BrokenPipeError:
        # Whoever reads has seen enough. What is still held back must not complain at the end.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return READER_GONE
    except KeyboardInterrupt:
        print("Stopped.", file=sys.stderr)
        return INTERRUPTED
    except Exception:
        # A fault of signrules itself must not look like a verdict.
        traceback.print_exc()
        return INCOMPLETE


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="signrules", description="Judge and order the passes of a printed sign.")
    parser.add_argument("--version", action="version", version=f"signrules {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for command in COMMANDS:
        command.add(commands)
    return parser
