"""HTML by which values show themselves in notebooks: a heading, lines and tables, in the style of
the run sheet.

Colours are those of the notebook, light or dark: rules and words take the colour of its text.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

STYLE = """\
.signrules { font: 13px/1.35 "Helvetica Neue", Helvetica, Arial, sans-serif; color: inherit;
  font-variant-numeric: tabular-nums; overflow-wrap: break-word; max-width: 60em; }
.signrules p { margin: 0.3em 0; }
.signrules .verdict { display: inline-block; padding: 0.1em 0.6em; font-weight: 700;
  border: 1.5px solid currentColor; letter-spacing: 0.04em; }
.signrules .wide { overflow-x: auto; }
.signrules table { border-collapse: collapse; margin: 0.5em 0; color: inherit; }
.signrules th, .signrules td { text-align: left; vertical-align: top; font-weight: 400;
  padding: 0.2em 1em 0.2em 0; border: 0; border-bottom: 1px solid currentColor;
  border-bottom-color: color-mix(in srgb, currentColor 30%, transparent);
  background: none; color: inherit; }
.signrules thead th { font-weight: 700; white-space: nowrap; border-bottom-color: currentColor; }
.signrules td:last-child { overflow-wrap: anywhere; min-width: 7em; }
.signrules td.words { min-width: 16em; }"""

MOST_ROWS = 60
"""The most rows of a table that are shown; of more, the first, and how many there are."""

MOST_OF_A_TEXT = 500
"""Characters of one text that are shown."""

LONG_TEXT = 60
"""Characters above which a text of a table is taken for a sentence."""

Table = tuple[Sequence[str], Sequence[Sequence[object]]]
"""The headings of columns, and rows."""


def notebook_html(
    title: str, verdict: str, lines: Iterable[str] = (), tables: Iterable[Table] = ()
) -> str:
    """A page of its own for a cell of a notebook; nothing in it is loaded from elsewhere."""
    parts = [f"<p><b>{shown_text(title)}</b></p>"]
    if verdict:
        parts.append(f'<p class="verdict">{shown_text(verdict)}</p>')
    parts += [f"<p>{shown_text(line)}</p>" for line in lines]
    parts += [_table(*table) for table in tables if table[1]]
    return f'<div class="signrules"><style>{STYLE}</style>{"".join(parts)}</div>'


def shown_text(value: object) -> str:
    """A value as escaped text: long text is cut, and U+FFFD stands for what cannot be seen."""
    from html import escape

    text = "" if value is None else str(value)
    if len(text) > MOST_OF_A_TEXT:
        text = f"{text[:MOST_OF_A_TEXT]}... ({len(text)} characters)"
    plain = "".join(char if char.isprintable() or char == "\n" else "\ufffd" for char in text)
    return escape(plain).replace("\n", "<br>")


def _table(headings: Sequence[str], rows: Sequence[Sequence[object]]) -> str:
    head = "".join(f"<th>{shown_text(each)}</th>" for each in headings)
    body = "".join(_row(row) for row in rows[:MOST_ROWS])
    more = len(rows) - MOST_ROWS
    rest = f"<p>and {more} more</p>" if more > 0 else ""
    table = f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
    # What is wider than its cell scrolls there, also by keys.
    return f'<div class="wide" tabindex="0">{table}</div>{rest}'


def _row(row: Sequence[object]) -> str:
    return f"<tr>{''.join(_cell(each) for each in row)}</tr>"


def _cell(value: object) -> str:
    """A cell; one with a sentence keeps room for some words in a line."""
    text = shown_text(value)
    return f'<td class="words">{text}</td>' if len(text) > LONG_TEXT else f"<td>{text}</td>"
