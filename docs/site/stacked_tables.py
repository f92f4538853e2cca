"""Tables of keys and of rules as lists on a telephone: each cell with the heading of its column.

A table of five columns is wider than a telephone, and what a key means stands in the last of them.
There, `site.css` lays the cells of a row one below the other, and shows their headings beside them.
"""

from __future__ import annotations

import re
from html import escape

STACKED = ("key", "rule")
"""The first headings of the tables that are treated so; tables of numbers stay tables."""

LEAST_COLUMNS = 4

_TABLE = re.compile(r'<table class="docutils [^"]*">.*?</table>', re.S)
_HEADING = re.compile(r'<th class="head[^>]*>(.*?)</th>', re.S)
_BODY_ROW = re.compile(r"<tr[^>]*>(?:(?!<th).)*?</tr>", re.S)


def with_stacked_tables(page: str) -> str:
    """A page whose tables of keys and rules can be laid out as lists."""
    return _TABLE.sub(lambda found: _stacked(found[0]), page)


def _stacked(table: str) -> str:
    headings = [_plain_words(each) for each in _HEADING.findall(table)]
    if len(headings) < LEAST_COLUMNS or headings[0] not in STACKED:
        return table
    # A browser forgets that something is a table when it is laid out otherwise: roles say it.
    table = table.replace('<table class="docutils', '<table role="table" class="stacked docutils')
    table = re.sub(r"<(thead|tbody)>", r'<\1 role="rowgroup">', table)
    table = re.sub(r"<tr ", '<tr role="row" ', table)
    table = table.replace("<th ", '<th role="columnheader" ')
    return _BODY_ROW.sub(lambda row: _labelled(row[0], headings), table)


def _labelled(row: str, headings: list[str]) -> str:
    """A row whose cells say what column they are of; one that is empty says so too."""
    cells = iter(headings)

    def labelled(cell: re.Match[str]) -> str:
        empty = "" if _plain_words(cell[1]) else ' class="empty"'
        label = escape(next(cells), quote=True)
        return f'<td role="cell" data-label="{label}"{empty}>{cell[1]}</td>'

    return re.sub(r"<td>(.*?)</td>", labelled, row, flags=re.S)


def _plain_words(html: str) -> str:
    return re.sub(r"<[^>]*>", "", html).strip()
