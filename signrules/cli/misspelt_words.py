"""What a command or an option was perhaps meant to be, said before anything is read or judged."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from typing import Any, NoReturn

from signrules.model.wording import expected_name, nearest_name, shown_value


class CommandParser(argparse.ArgumentParser):
    """A parser that says of a word which is none of the choices what was perhaps meant."""

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        if action.choices is None or value in action.choices:
            return
        known = tuple(str(choice) for choice in action.choices)
        expected = expected_name(str(value), known, f"one of {', '.join(known)}")
        raise argparse.ArgumentError(action, f"found {shown_value(value)}, expected {expected}")

    def error(self, message: str) -> NoReturn:
        """End with what is wrong alone: the usage of a command with many options would hide it."""
        further = "" if "--help" in message else f"; see {self.prog} --help"
        self.exit(2, f"{self.prog}: error: {message}{further}\n")


def demand_known_words(parser: argparse.ArgumentParser, arguments: Sequence[str]) -> None:
    """End as argparse does for bad usage, where the command or a long option is unknown.

    No value of an option begins with two dashes, so each word that does is an option. A lone `--`
    ends the options.
    """
    commands = sub_parsers(parser)
    chosen = parser
    for word in arguments:
        if word == "--":
            return
        if word.startswith("--"):
            option, equals, _ = word.partition("=")
            _demand_option(chosen, option)
            if equals and _takes_no_value(chosen, option):
                chosen.error(f"{option} takes no value: write it by itself")
        elif _is_unknown_letter(chosen, word):
            chosen.error(
                f"found {word[:40]!r}, which is no option of {chosen.prog}; --help lists those that"
                " there are"
            )
        elif chosen is parser and not word.startswith("-"):
            _demand_command(parser, word, commands)
            chosen = commands[word]


def sub_parsers(parser: argparse.ArgumentParser) -> dict[str, argparse.ArgumentParser]:
    """The parsers of the commands of a parser, by name."""
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            return dict(action.choices)
    return {}


def _demand_command(
    parser: argparse.ArgumentParser, word: str, commands: dict[str, argparse.ArgumentParser]
) -> None:
    if word not in commands:
        hint = _MEANT_ELSEWHERE.get(word) or _nearest_hint(word, tuple(commands))
        expected = hint or f"expected one of {', '.join(commands)}"
        parser.error(f"found {word[:40]!r}, which is no command; {expected}")


_MEANT_ELSEWHERE = {"help": "signrules --help tells what there is", "version": "see --version"}
"""Words that are no command, and what they are mostly meant to be."""


def _demand_option(parser: argparse.ArgumentParser, word: str) -> None:
    options = tuple(_long_options(parser))
    # An option may be cut short, as argparse has it.
    if any(option.startswith(word) for option in options):
        return
    hint = (
        _format_hint(parser, word)
        or _nearest_hint(word, options)
        or _nearest_elsewhere(word)
        or "--help lists those that there are"
    )
    parser.error(f"found {word[:40]!r}, which is no option of {parser.prog}; {hint}")


def _format_hint(parser: argparse.ArgumentParser, word: str) -> str:
    """`--format json` for `--json`, where a parser knows that format."""
    from signrules.report_formats import OWN_FORMATS

    name = word.removeprefix("--")
    for action in parser._actions:
        # Where plugins bring more, the parser states no choices.
        known = OWN_FORMATS if action.choices is None else action.choices
        if "--format" in action.option_strings and name in known:
            return f"did you mean --format {name}?"
    return ""


def _nearest_elsewhere(word: str) -> str:
    """The option of another command that is like a word."""
    # Only where something is wrong already: to load all commands takes a while.
    from signrules.cli import command_parser

    owners = {
        option: name
        for name, command in reversed(sub_parsers(command_parser()).items())
        for option in _long_options(command)
    }
    near = nearest_name(word, tuple(owners))
    return f"{near} is one of signrules {owners[near]}" if near else ""


def _takes_no_value(parser: argparse.ArgumentParser, option: str) -> bool:
    """Whether an option, perhaps cut short, is one that stands by itself."""
    meant = [
        action
        for action in parser._actions
        if any(name.startswith(option) for name in action.option_strings)
    ]
    return bool(meant) and all(action.nargs == 0 for action in meant)


def _is_unknown_letter(parser: argparse.ArgumentParser, word: str) -> bool:
    """Whether a word is a dash and a letter that no option is called by."""
    if len(word) < 2 or word[0] != "-" or not word[1].isalpha():
        return False
    known = {option[:2] for action in parser._actions for option in action.option_strings}
    return word[:2] not in known


def _long_options(parser: argparse.ArgumentParser) -> Iterator[str]:
    for action in parser._actions:
        for option in action.option_strings:
            if option.startswith("--"):
                yield option


def _nearest_hint(word: str, known: tuple[str, ...]) -> str:
    near = nearest_name(word, known)
    return f"did you mean {near}?" if near else ""
