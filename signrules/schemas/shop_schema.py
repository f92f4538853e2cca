"""The JSON Schema of a shop file: what jobs share is held to the shape that it has in a job.

Sign types, layers, schedules and compositions are held to their keys alone: any text in them may
wait for the words of a row.
"""

from __future__ import annotations

from typing import Any

from signrules.documents.plugin_tables import NO_CLASSES
from signrules.documents.stock import MATERIAL_FIGURES, OWNED, PLACED
from signrules.model.declared import classes_within, declared_fields, document_key
from signrules.model.job import Alignment
from signrules.model.layer_uses import LayerUse
from signrules.model.media import Media
from signrules.model.sign_types import CompositionUse, ScheduleUse, SignType
from signrules.rules.checks import Level
from signrules.schemas.job_schema import (
    DIALECT,
    figure_schema,
    key_schemas,
    object_schema,
    table_schema,
)
from signrules.schemas.value_shapes import Schema, value_schemas
from signrules.shop import REASON
from signrules.shop_file import VERSION

_TEXT: Schema = {"type": "string", "pattern": r"\S"}

_MEANINGS = {
    "printers": "a printer of the shop, by the id that jobs name it by",
    "inks": "an ink of the shop, by the id that jobs name it by",
    "sheets": "a stock sheet of the shop, by the id that jobs name it by",
}


def shop_schema(rates: Schema) -> Schema:
    """The schema of a shop file, with that of its rate table."""
    return {
        "$schema": DIALECT,
        "title": "signrules shop file",
        "description": "A shop file as docs/shop-file.md describes it.",
        **object_schema(_shop_keys(rates), ["signrules"]),
        "$defs": {"figure": figure_schema()} | value_schemas() | _tables_within(),
    }


def _shop_keys(rates: Schema) -> Schema:
    owned = {name: _by_id(_owned_table(cls), _MEANINGS[name]) for name, cls in OWNED.items()}
    return {
        "signrules": {"const": VERSION, "description": "the version of the format"},
        "rules": _by_id(_by_id(_rule_table(), "a rule of the set"), "a set of rules"),
        "plugins": _by_id(_plugin_table(), "a plugin, by its name"),
        **owned,
        "materials": _by_id(_material_table(), "a material, by the id that sheets name it by"),
        "alignments": _rows(_alignment_table(), "bidirectional alignments on record"),
        "layers": _rows(_keys_alone(LayerUse), "what becomes of the layers of artwork"),
        "sign_types": _by_id(_keys_alone(SignType), "a sign that is made again and again"),
        "schedule": _keys_alone(ScheduleUse) | {"description": "how schedules are read"},
        "composition": _keys_alone(CompositionUse) | {"description": "how signs are placed"},
        "rates": rates,
    }


def _by_id(table: Schema, meaning: str) -> Schema:
    return {"type": "object", "description": meaning, "additionalProperties": table}


def _rows(table: Schema, meaning: str) -> Schema:
    return {"type": "array", "description": meaning, "items": table}


def _owned_table(cls: type) -> Schema:
    """What a shop states of a printer, an ink or a sheet: the job may state the rest."""
    keys = key_schemas(cls, NO_CLASSES)
    return object_schema({key: shape for key, shape in keys.items() if key not in PLACED})


def _material_table() -> Schema:
    keys = key_schemas(Media, NO_CLASSES)
    name: Schema = {"type": "string", "description": "what the material is called"}
    return object_schema({"name": name} | {key: keys[key] for key in MATERIAL_FIGURES})


def _alignment_table() -> Schema:
    table = table_schema(Alignment, NO_CLASSES)
    printer = {"type": "string", "description": "the printer that it was made on, left out any"}
    return table | {"properties": {"printer": printer} | table["properties"]}


def _rule_table() -> Schema:
    return object_schema(
        {
            "settings": {"type": "object", "description": "the settings of the rule, by name"},
            "level": {"enum": list(Level), "description": "the level in place of the rule's own"},
            "reason": _TEXT | {"description": f"why the level is another: {REASON}"},
            "off": _TEXT | {"description": f"why the rule is turned off: {REASON}"},
            "accept_absence": _TEXT | {"description": f"why it may be missing: {REASON}"},
        }
    )


def _plugin_table() -> Schema:
    return object_schema(
        {
            "accept_absence": _TEXT | {"description": f"why it may be missing: {REASON}"},
            "settings": {"type": "object", "description": "the settings of the plugin, by name"},
        }
    )


def _keys_alone(cls: type) -> Schema:
    keys: dict[str, Any] = {
        document_key(cls, name): {"description": declared.meaning}
        for name, declared in declared_fields(cls).items()
    }
    return object_schema(keys)


def _tables_within() -> Schema:
    """The tables that those of the shop hold."""
    within = {inner for cls in (*OWNED.values(), Alignment) for inner in classes_within(cls)}
    return {
        cls.__name__.lower(): table_schema(cls, NO_CLASSES)
        for cls in sorted(within, key=lambda cls: cls.__name__)
    }
