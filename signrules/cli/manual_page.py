r"""The manual page: `python -m signrules.cli.manual_page > signrules.1`.

It is made of the declarations that `--help` shows. What it is written in are the macros `man` of
roff; `\:` lets a line end without a hyphen, and `\ ` keeps an option beside its value.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator

from signrules import __version__
from signrules.cautions import CAUTIONS
from signrules.cli.misspelt_words import sub_parsers
from signrules.cli.shared_options import EXIT_STATUSES

_ROFF = {
    "\\": r"\(rs",
    "-": r"\-",
    "'": r"\(aq",
    "`": r"\(ga",
    "^": r"\(ha",
    "~": r"\(ti",
}
"""The characters that roff takes for something else, and what stands for them."""


def manual_page(parser: argparse.ArgumentParser) -> str:
    """The page of a command with all its sub-commands, as text for `man`."""
    return "\n".join(_page_lines(parser)) + "\n"


def _page_lines(parser: argparse.ArgumentParser) -> Iterator[str]:
    title = _roff_text(parser.prog)
    yield f'.TH {title.upper()} 1 "" "{title} {_roff_text(__version__)}" "{title}"'
    # Words stay whole, and no line is stretched.
    yield from (".nh", ".ad l")
    yield from (".SH NAME", rf"{title} \- {_roff_text(_about(parser))}")
    yield from (".SH SYNOPSIS", f"{_bold(parser.prog)} {_italic('COMMAND')} [...]", ".br")
    yield f"{_bold(parser.prog)} {_bold('--version')}"
    yield ".br"
    yield f"{_bold(parser.prog)} [{_italic('COMMAND')}] {_bold('--help')}"
    yield ".SH COMMANDS"
    told = _helps_of(parser)
    for name, command in sub_parsers(parser).items():
        yield from _command_lines(command, told[name])
    yield ".SH EXIT STATUS"
    for status, words in EXIT_STATUSES.items():
        yield from (".TP", str(status), _roff_text(words))
    yield ".SH CAUTIONS"
    for caution in CAUTIONS:
        yield from (".PP", _roff_text(str(caution)))


def _about(parser: argparse.ArgumentParser) -> str:
    text = (parser.description or "").rstrip(".")
    return text[:1].lower() + text[1:]


def _helps_of(parser: argparse.ArgumentParser) -> dict[str, str]:
    """By command, what the list of commands says of it."""
    return {
        listed.dest: listed.help or ""
        for action in parser._actions
        if isinstance(action, argparse._SubParsersAction)
        for listed in action._choices_actions
    }


def _command_lines(command: argparse.ArgumentParser, told: str) -> Iterator[str]:
    # Each command has the same help.
    actions = [action for action in command._actions if "--help" not in action.option_strings]
    positional = [action for action in actions if not action.option_strings]
    options = [action for action in actions if action.option_strings]
    yield f".SS {_roff_text(command.prog)}"
    yield f"{_roff_text(told[:1].upper() + told[1:])}."
    # The usage hangs: what goes on in the next line is indented.
    yield ".HP"
    yield _bold(command.prog).replace(" ", r"\ ")
    yield from (_usage_of(command, action) for action in [*options, *positional])
    for action in [*positional, *options]:
        yield from (".TP", _head_of(command, action), _help_of(command, action))
    if command.epilog:
        yield from (".PP", _roff_text(command.epilog))


def _usage_of(command: argparse.ArgumentParser, action: argparse.Action) -> str:
    """An argument in the usage of its command, which no line may break."""
    value = _value_of(command, action)
    if not action.option_strings:
        return value
    name = _bold(action.option_strings[-1])
    words = rf"{name}\ {value}" if value else name
    return words if action.required else f"[{words}]"


def _head_of(command: argparse.ArgumentParser, action: argparse.Action) -> str:
    value = _value_of(command, action)
    names = ", ".join(_bold(name) for name in action.option_strings)
    return " ".join(part for part in (names, value) if part)


def _value_of(command: argparse.ArgumentParser, action: argparse.Action) -> str:
    """What stands for the values of an argument, as the help has it."""
    if action.nargs == 0:
        return ""
    default = action.dest.upper() if action.option_strings else action.dest
    words = command._get_formatter()._format_args(action, default)
    return _italic(words).replace(" ", r"\ ").replace(",", r",\:")


def _help_of(command: argparse.ArgumentParser, action: argparse.Action) -> str:
    if not action.help:
        return r"\&"
    return _roff_text(command._get_formatter()._expand_help(action))


def _bold(text: str) -> str:
    return rf"\fB{_roff_text(text)}\fR"


def _italic(text: str) -> str:
    return rf"\fI{_roff_text(text)}\fR"


def _roff_text(text: str) -> str:
    """Text in which no character is a command of roff."""
    shown = "".join(_ROFF.get(char, char) for char in " ".join(text.split()))
    return rf"\&{shown}" if shown.startswith(".") else shown


if __name__ == "__main__":
    import sys

    from signrules.cli import command_parser

    sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr]
    sys.stdout.write(manual_page(command_parser()))
