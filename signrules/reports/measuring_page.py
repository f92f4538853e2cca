"""The procedures of docs/measuring.md, made from their declarations.

    python -m signrules.reports.measuring_page docs/measuring.md

writes them into the page, between the lines `<!-- procedures -->` and `<!-- end of procedures -->`.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterable, Iterator
from textwrap import wrap

from signrules.measuring import Entry, Procedure, measure, procedures

_BLOCK = re.compile(r"<!-- procedures -->\n.*?<!-- end of procedures -->", re.DOTALL)
_WIDTH = 120


def page_with_procedures(page: str) -> str:
    """The page with new procedures."""
    text = "\n".join(line for procedure in procedures() for line in _section_lines(procedure))
    # A function, since a backslash in a text would be taken for a reference to a group.
    return _BLOCK.sub(lambda _: f"<!-- procedures -->\n\n{text}\n<!-- end of procedures -->", page)


def _section_lines(procedure: Procedure) -> Iterator[str]:
    figure = procedure.figure
    yield f"### {procedure.title[:1].upper()}{procedure.title[1:]}"
    yield ""
    yield from wrap(procedure.why, _WIDTH)
    yield ""
    place = f"`{procedure.place}`" if procedure.goes_to else procedure.place
    yield from wrap(
        f"Figure `{figure}`; goes to {place}; to state: {procedure.states.value}. Tools:"
        f" {', '.join(procedure.tools)}. Source: {procedure.source}.",
        _WIDTH,
        break_on_hyphens=False,
    )
    yield ""
    for number, step in enumerate(procedure.steps, start=1):
        yield from wrap(step, _WIDTH, initial_indent=f"{number}. ", subsequent_indent="   ")
    yield ""
    if procedure.settings:
        yield "Write down once:"
        yield ""
        yield from _entry_lines(procedure.settings)
    yield f"Write down for each reading, {procedure.fewest} or more:"
    yield ""
    yield from _entry_lines(procedure.columns)
    yield f"Save this as `{figure}.toml`; its readings are invented:"
    yield ""
    yield f"<!-- file: {figure}.toml -->"
    yield "```toml"
    yield from procedure.example.splitlines()
    yield "```"
    yield ""
    yield "```console"
    yield f"$ signrules measure {figure} --readings {figure}.toml"
    # Measured anew each time, so that the page cannot show what the command does not print.
    yield from measure(figure, tomllib.loads(procedure.example)).text().splitlines()
    yield "```"
    yield ""


def _entry_lines(entries: Iterable[Entry]) -> Iterator[str]:
    for entry in entries:
        kind = f"{entry.kind}, {entry.unit}" if entry.unit else entry.kind
        optional = "" if entry.required else "; may be left out"
        yield from wrap(
            f"- `{entry.name}` ({kind}): {entry.meaning}{optional}.",
            _WIDTH,
            subsequent_indent="  ",
        )
    yield ""


if __name__ == "__main__":
    import sys
    from pathlib import Path

    target = Path(sys.argv[1])
    target.write_text(page_with_procedures(target.read_text("utf-8")), encoding="utf-8")
