"""A procedure in words, for the terminal."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from textwrap import wrap

from signrules.cautions import CAUTIONS
from signrules.measuring.entries import Entry
from signrules.measuring.figure_list import procedures
from signrules.measuring.procedure import Procedure

WIDTH = 100


def figures_text() -> str:
    """The figures that can be measured, a line for each."""
    rows = [
        (procedure.figure, procedure.unit or "-", procedure.title) for procedure in procedures()
    ]
    width = max(len(figure) for figure, _, _ in rows)
    lines = ["Figures that can be measured (name, unit, what and how):"]
    lines += [f"  {figure:<{width}}  {unit:<6}  {title}" for figure, unit, title in rows]
    lines.append("`signrules measure FIGURE` says how, step by step.")
    return "\n".join(lines) + "\n"


def procedure_text(procedure: Procedure) -> str:
    """How a figure is measured: cautions, tools, steps, what to write down, an example."""
    return "\n".join(_procedure_lines(procedure)) + "\n"


def _procedure_lines(procedure: Procedure) -> Iterator[str]:
    yield f"{procedure.figure}: {procedure.title}"
    yield from _folded(procedure.why, "")
    yield f"Goes to: {procedure.place}. To state: {procedure.states.value}."
    yield ""
    yield "Cautions:"
    for caution in CAUTIONS:
        yield from _folded(str(caution), "  ")
    yield ""
    yield "Tools: " + ", ".join(procedure.tools) + "."
    yield ""
    yield "Steps:"
    for number, step in enumerate(procedure.steps, start=1):
        yield from _folded(step, f"{number:>3}. ")
    yield ""
    yield from _entry_lines("Write down once:", procedure.settings)
    yield from _entry_lines(
        f"Write down for each reading ({procedure.fewest} or more):", procedure.columns
    )
    yield ""
    yield f"A readings file, {procedure.figure}.toml (invented):"
    yield from (f"  {line}" for line in procedure.example.splitlines())
    yield ""
    yield f"Then: signrules measure {procedure.figure} --readings {procedure.figure}.toml"


def _entry_lines(title: str, entries: Iterable[Entry]) -> Iterator[str]:
    listed = list(entries)
    if not listed:
        return
    yield title
    width = max(len(entry.name) for entry in listed)
    for entry in listed:
        optional = "" if entry.required else " (may be left out)"
        kind = f"{entry.kind}, {entry.unit}" if entry.unit else entry.kind
        yield f"  {entry.name:<{width}}  {entry.meaning}{optional} [{kind}]"


def _folded(text: str, head: str) -> list[str]:
    return wrap(text, WIDTH, initial_indent=head, subsequent_indent=" " * len(head))
