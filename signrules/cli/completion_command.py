"""`signrules completion`: what a shell needs to complete commands, options and files."""

from __future__ import annotations

import argparse
import sys

from signrules.cli.misspelt_words import sub_parsers
from signrules.cli.shared_options import FINE, Commands
from signrules.errors import SignrulesError
from signrules.report_formats import OWN_FORMATS

SHELLS = ("bash", "zsh", "fish", "tcsh")

FILES = ("FILE", "JOB", "SCHEDULE", "ART", "SIGN=HEIGHTS|FILE")
"""What stands for a file in the help of the commands."""

FOLDERS = ("FOLDER",)


def add_command(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser(
        "completion", help="print a script with which a shell completes this command"
    )
    command.add_argument("shell", choices=SHELLS, metavar="SHELL", help=", ".join(SHELLS))
    command.set_defaults(run=_print_script)


def _known_words() -> dict[tuple[str, str], tuple[str, ...]]:
    """By command and argument the words that signrules brings, where others may be said as well."""
    from signrules.plugins import load_plugins
    from signrules.schemas import SCHEMAS

    plugins = load_plugins()
    tables = tuple(sorted(plugins.standards))
    return {
        ("check", "format"): OWN_FORMATS,
        ("schema", "name"): tuple(SCHEMAS),
        ("explain", "rule"): tuple(sorted(placed.rule.name for placed in plugins.rules)),
        ("standards", "table"): tables,
        ("standards", "together"): tables,
    }


def _print_script(options: argparse.Namespace) -> int:
    from signrules.cli import command_parser

    try:
        import shtab
    except ModuleNotFoundError:
        raise SignrulesError(
            "completion needs the package shtab, which is not installed: pip install"
            " 'signrules[completion]'"
        ) from None
    parser = command_parser()
    words = _known_words()
    for name, command in sub_parsers(parser).items():
        for action in command._actions:
            if (name, action.dest) in words:
                # Of this parser alone, which reads nothing: plugins may bring further words.
                action.choices = words[name, action.dest]
            elif action.metavar in FILES:
                action.complete = shtab.FILE  # type: ignore[attr-defined]
            elif action.metavar in FOLDERS:
                action.complete = shtab.DIRECTORY  # type: ignore[attr-defined]
    sys.stdout.write(shtab.complete(parser, options.shell))
    return FINE
