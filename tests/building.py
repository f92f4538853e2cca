"""An invented shop with two sign types, for tests that change one thing at a time."""

from __future__ import annotations

import copy
import types
from typing import Any

from scenario import PRINTER

from signrules import ScheduleError, hookimpl, jobs_from_schedule, load_plugins, shop_from_dict
from signrules.braille.cells import BLANK, CAPITAL, LETTERS

SURFACE = {"finish": "matte", "character_lrv": 82, "background_lrv": 8}

ROOM: dict[str, Any] = {
    "sheet": "panel",
    "size": [300, 120],
    "kind": "permanent-room",
    "standards": ["us-ada-2010"],
    "text": ["{name}"],
    "dots": {"at": [150, 40], "align": "centre"},
    "braille": {"clear_space": "15 mm", "shape": "domed"},
    "raised": {
        "area": [15, 60, 270, 20],
        "height": "20 mm",
        "width": "17 mm",
        "stroke": "2.5 mm",
        "spacing": "4 mm",
        "case": "upper",
        "style": "sans-serif",
    },
    "surface": SURFACE,
    "passes": [
        {"id": "ground", "ink": "black"},
        {"id": "letters", "ink": "clear", "layers": 28, "builds": "raised", "directions": 1},
        {"id": "dots", "ink": "clear", "layers": 24, "builds": "braille", "directions": 1},
        {"id": "ink-on-dots", "ink": "black", "over": ["dots"]},
    ],
}

NOTICE: dict[str, Any] = {
    "sheet": "panel",
    "size": [200, 80],
    "kind": "directional",
    "text": ["{name}", "{second?}"],
    "visual": {"height": "20 mm", "above_floor": "{height?} mm", "area": [10, 10, 180, 60]},
    "passes": [{"id": "characters", "ink": "black", "builds": "visual"}],
}

COLUMNS = {"room": "Room No.", "name": "Room name", "type": "Sign"}


def shop_table(**changes: Any) -> dict[str, Any]:
    """The shop file as plain data; changes replace whole tables of it."""
    table = {
        "signrules": 1,
        "printers": {"flatbed": {**PRINTER, "gap": {"control": "dial", "max": 4, "step": 0.1}}},
        "inks": {
            "black": {"role": "colour", "layer": "10 um"},
            "clear": {"role": "clear", "layer": "30 um"},
        },
        "sheets": {"panel": {"thickness": "3 mm", "size": [600, 450], "hold": "vacuum"}},
        "sign_types": {"room": ROOM, "notice": NOTICE},
        "schedule": {"columns": COLUMNS},
    }
    return copy.deepcopy({**table, **changes})


def shop(**changes: Any) -> Any:
    return shop_from_dict(shop_table(**changes))


def type_with(base: dict[str, Any], **changes: Any) -> dict[str, Any]:
    """A sign type with other keys; None takes one away."""
    changed = {**copy.deepcopy(base), **changes}
    return {key: each for key, each in changed.items() if each is not None}


@hookimpl
def signrules_translate_braille(text, grade, language):
    """Letter by letter: no braille that anyone reads, but cells that depend on the text alone."""
    known = {**LETTERS, " ": BLANK, **{each.upper(): CAPITAL + LETTERS[each] for each in LETTERS}}
    if language != "en" or not all(each in known for each in text):
        return None
    return "".join(known[each] for each in text)


LETTER_BY_LETTER = types.SimpleNamespace(
    __name__="letters", signrules_translate_braille=signrules_translate_braille
)


def plugins() -> Any:
    return load_plugins(objects=[LETTER_BY_LETTER])


HEADER = "Room No.,Room name,Sign\n"
ROWS = HEADER + "A.1,Boiler room,room\nA.2,Store,room\nA.3,Stairs to level 2,notice\n"


def made(schedule: Any = ROWS, own: Any = None, **options: Any) -> Any:
    """The jobs of a schedule, with a translator."""
    options.setdefault("plugins", plugins())
    return jobs_from_schedule(schedule, shop() if own is None else own, **options)


def faults(schedule: Any, own: Any = None, **options: Any) -> list[tuple[str, str, str]]:
    """Path, found and expected of each fault of a schedule that is refused."""
    try:
        made(schedule, own, **options)
    except ScheduleError as error:
        return [(fault.path, fault.found, fault.expected) for fault in error.faults]
    raise AssertionError("the schedule is read without a fault")
