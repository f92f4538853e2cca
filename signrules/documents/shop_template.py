"""A shop file to fill in: every key that it may have, with its meaning, unit and range."""

from __future__ import annotations

from collections.abc import Iterator

from signrules.documents.stock import OWNED, PLACED
from signrules.documents.table_reader import document_fields
from signrules.model.declared import Declared, document_key

SCHEMA_FILE = ".signrules.schema.json"
"""Where the schema of a new shop file goes, beside it. A name that begins so is no job's."""

_HEAD = f"""\
#:schema ./{SCHEMA_FILE}
# What this shop states once. Take the # away from a line and write your own figure; what stays
# commented out is not stated. A figure may say how it was found:
#     drop_speed = {{ is = "5.8 m/s +- 0.3 m/s", measured = 2027-02-03, readings = 6 }}
#     drop_speed = {{ is = "6 m/s", data_sheet = "of the print head" }}
#     drop_speed = {{ is = "6 m/s", assumed = "until it is measured" }}
# `signrules measure` says how each one is measured.
signrules = 1
"""

_TABLES = {
    "printers": 'A printer. A job names it: printer = "{id}".',
    "inks": "An ink. A job names it in `ink` of a pass, or with `use` in its own table.",
    "sheets": 'A stock sheet. In [[media]] of a job: use = "{id}", which says where it lies.',
}
_IDS = {"printers": "flatbed", "inks": "clear", "sheets": "acrylic-3"}

_FORMS = {
    "gap": '{ control = "dial", max = "4 mm", step = "0.1 mm" }',
    "hold": '"vacuum"',
    "role": '"clear"',
    "minutes": "{ load = 4, gap = 2, alignment = 12 }",
    "moving_bed": '{ acceleration = "1000 mm/s2" }',
}
"""Examples, with invented figures, of keys whose meaning does not show how they are written."""

_SEE_BELOW = "; see below"
"""What a meaning says in the tables of the documentation alone."""

_TAIL = """
# A material that the catalogue does not have, or of which you have figures of your own.
# [materials.acrylic]
# expansion = "60 .. 70 .. 80 ppm/K"    # an example of the form
# density = 1190    # an example of the form

# Bidirectional alignments on record, each with the day on which it was made. One that names a
# printer belongs to that printer alone.
# [[alignments]]
# printer = "flatbed"
# extra = "0 mm"
# date = 2027-02-03

# What becomes of the layers of artwork. See docs/artwork.md.
# [[layers]]
# step = "Braille"    # or name = "raised*", colorant = "gold*"
# ink = "clear"    # or marks = "edge", leave_out = "the reason"
# layers = 24    # an example of the form
# builds = "braille"

# Signs that are made again and again, and how lists of doors fill them. See docs/schedules.md.
# [sign_types.room]
# sheet = "acrylic-3"
# text = ["{name}"]
# passes = [{ id = "ground", ink = "clear" }]
# [schedule]
# columns = { room = "Room No.", name = "Room name" }

# A rate table: prices as texts, such as "0.85". See docs/estimate.md.
# [rates]

# Settings and levels of rules. See docs/shop-file.md.
# [rules.SET.RULE]
# settings = { }
"""


def shop_template() -> str:
    """The text of a shop file in which everything but its version is commented out."""
    return _HEAD + "".join(_table_lines()) + _TAIL


def _table_lines() -> Iterator[str]:
    for table, cls in OWNED.items():
        row_id = _IDS[table]
        yield f"\n# {_TABLES[table].format(id=row_id)}\n# [{table}.{row_id}]\n"
        for name, declared in document_fields(cls).items():
            if name not in PLACED:
                yield _key_line(document_key(cls, name), declared)


def _key_line(key: str, declared: Declared) -> str:
    form = f"; form: {_FORMS[key]}" if key in _FORMS else ""
    return f"# {key} =    # {_meaning_of(declared)}{form}\n"


def _meaning_of(declared: Declared) -> str:
    """What a key means, its unit and what is usual, on one line."""
    parts = [declared.meaning.removesuffix(_SEE_BELOW)]
    unit = f" {declared.unit}" if declared.unit else ""
    if declared.usual is not None:
        low, high = declared.usual
        parts.append(f"usually {low:g} to {high:g}{unit}")
    if declared.otherwise:
        parts.append(f"left out: {declared.otherwise}")
    return "; ".join(part for part in parts if part)
