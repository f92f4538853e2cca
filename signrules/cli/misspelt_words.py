"""What a command or an option was perhaps meant to be, said before anything is read or judged."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence

from signrules.model.wording import nearest_name


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
            _demand_option(chosen, word.partition("=")[0])
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
        hint = _nearest_hint(word, tuple(commands))
        expected = hint or f"expected one of {', '.join(commands)}"
        parser.error(f"found {word[:40]!r}, which is no command; {expected}")


def _demand_option(parser: argparse.ArgumentParser, word: str) -> None:
    options = tuple(_long_options(parser))
    # An option may be cut short, as argparse has it.
    if any(option.startswith(word) for option in options):
        return
    hint = _nearest_hint(word, options) or "--help lists those that there are"
    parser.error(f"found {word[:40]!r}, which is no option of {parser.prog}; {hint}")


def _long_options(parser: argparse.ArgumentParser) -> Iterator[str]:
    for action in parser._actions:
        for option in action.option_strings:
            if option.startswith("--"):
                yield option


def _nearest_hint(word: str, known: tuple[str, ...]) -> str:
    near = nearest_name(word, known)
    return f"did you mean {near}?" if near else ""
