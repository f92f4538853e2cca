"""The tables of fields in docs/job-document.md and other pages, made from the declarations.

    python -m signrules.reports.field_tables docs/job-document.md

writes them into the page, between the lines `<!-- fields: Pass -->` and `<!-- end of fields -->`.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import attrs

from signrules.model import Interval, Job, Printer
from signrules.model.declared import (
    Declared,
    classes_within,
    control_words,
    declared_fields,
    document_key,
)
from signrules.model.declaring import grouped_digits, least_length
from signrules.model.layer_uses import LayerUse
from signrules.model.limits import LARGEST_MM
from signrules.model.sign_types import CompositionUse, ScheduleUse, SignType
from signrules.model.work_order import WorkOrder

_BLOCK = re.compile(r"<!-- fields: (\w+) -->\n.*?<!-- end of fields -->", re.DOTALL)
_CONTROL_MEANING = "the control that the table is of"


_OF_SHOP_FILES = (
    LayerUse,
    SignType,
    *classes_within(SignType),
    ScheduleUse,
    *classes_within(ScheduleUse),
    CompositionUse,
    WorkOrder,
    *classes_within(WorkOrder),
)
"""The classes of what a shop file alone holds."""


def page_with_fields(page: str) -> str:
    """The page with every block of fields made again.

    Raises KeyError for a block that names no class of a job document or of rows of a shop file.
    """
    classes = {cls.__name__: cls for cls in (Job, *classes_within(Job), *_OF_SHOP_FILES)}

    def made_anew(block: re.Match[str]) -> str:
        name = block[1]
        table = "\n".join(_field_table(classes[name]))
        return f"<!-- fields: {name} -->\n\n{table}\n\n<!-- end of fields -->"

    return _BLOCK.sub(made_anew, page)


def _field_table(cls: type) -> Iterator[str]:
    yield "| key | type | default | usual | meaning |"
    yield "| --- | --- | --- | --- | --- |"
    control = control_words(Job).get(cls)
    if control:
        yield f'| `control` | `"{control}"` | required | | {_CONTROL_MEANING} |'
    if cls in _KEYS_OF_THE_READER:
        yield _KEYS_OF_THE_READER[cls]
    for name, declared in declared_fields(cls).items():
        default = attrs.fields_dict(cls)[name].default
        key, usual = document_key(cls, name), _usual_range(declared)
        cells = (
            f"`{key}`",
            type_in_words(declared),
            _default_text(declared, default),
            usual,
            declared.meaning,
        )
        yield f"| {' | '.join(cells)} |".replace("|  |", "| |")


_KEYS_OF_THE_READER = {
    Job: "| `signrules` | 1 | required | | version of the document |",
    Printer: (
        "| `use` | id | none | | a printer of the catalogue, whose keys those beside it replace |"
    ),
}
"""Keys that the reader takes and the model does not hold."""


def _usual_range(declared: Declared) -> str:
    """The usual range with its unit, speeds in m/s."""
    element = declared.element or declared
    usual, unit = element.usual, element.unit
    if usual is None:
        return ""
    low, high = usual
    # Drops and carriages are told in m/s by everybody who works with them.
    if unit == "mm/s" and low >= 500:
        low, high, unit = low / 1000, high / 1000, "m/s"
    return f"{grouped_digits(low)} to {grouped_digits(high)} {unit}".strip()


_KINDS_IN_WORDS = {
    "id": "text",
    "id of": "id",
    "name": "text",
    "said text": "text",
    "braille cells": "Unicode braille patterns",
    "share": "number above 0, at most 1",
    "table by control": "table",
    "table by key": 'table or `"auto"`',
    "part": "table",
    "rows": "list of tables",
    "lengths by name": "table of lengths",
    "texts by name": "table of texts",
    "plugin tables": "tables",
}
_LISTS_IN_WORDS = {"id of": "ids", "area": "areas", "name": "texts"}


def type_in_words(declared: Declared) -> str:
    """What a document writes there, in a few words."""
    if declared.words:
        words = ", ".join(f"`{word}`" for word in declared.words)
        return f"{words}, or a plugin's" if declared.kind == "open word" else words
    if declared.kind == "list":
        assert declared.element is not None
        return f"{_list_in_words(declared)}{_range_in_words(declared.element)}"
    if declared.kind == "one or more":
        assert declared.element is not None
        if declared.element.words:
            return f"{type_in_words(declared.element)}, or a list of them"
        return f"{declared.element.kind}, or {_list_in_words(declared)}"
    kind = _KINDS_IN_WORDS.get(declared.kind, declared.kind)
    return f"{kind}{_range_in_words(declared)}"


def _list_in_words(declared: Declared) -> str:
    assert declared.element is not None
    if declared.count == 2:
        return "two lengths"
    element = declared.element.kind
    return f"list of {_LISTS_IN_WORDS.get(element, element + 's')}"


_LEAST_OF_KINDS = {"length": -LARGEST_MM, "toleranced length": 0.0}
"""From where lengths go that declare no least value of their own; the page says it of all."""


def _range_in_words(declared: Declared) -> str:
    """What is possible, as it follows the kind of value; empty where the kind says it all."""
    least, most = declared.least, declared.most
    if least is None or most is None or declared.kind == "share":
        return ""
    if declared.kind in _LEAST_OF_KINDS:
        # Nearly every length would say "at least -1 000 000 mm".
        states_least = least != _LEAST_OF_KINDS[declared.kind]
        return f", at least {least_length(least)}" if states_least else ""
    bare = declared.kind in ("number", "whole number")
    unit = "" if bare else f" {declared.unit}"
    return f" from {grouped_digits(least)} to {grouped_digits(most)}{unit}"


def _default_text(declared: Declared, default: object) -> str:
    if declared.otherwise:
        return declared.otherwise
    if default is attrs.NOTHING:
        return "required"
    if declared.kind == "table by key":
        return '`"auto"`'
    if isinstance(default, Interval):
        return f"{default.nominal:g}"
    if isinstance(default, str) and default:
        return f"`{default}`"
    if isinstance(default, int | float):
        return f"{default:g}"
    if isinstance(default, tuple) and default:
        return f"`[{', '.join(f'{number:g}' for number in default)}]`"
    return "none"


if __name__ == "__main__":
    import sys
    from pathlib import Path

    target = Path(sys.argv[1])
    target.write_text(page_with_fields(target.read_text("utf-8")), encoding="utf-8")
