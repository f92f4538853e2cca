"""A rule in words and as plain data, from its declaration and from nothing else."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from signrules.documents.toml import inline_value
from signrules.rules.declaration import Changes, Rule
from signrules.rules.settings import Setting, settings_of


def explained_rule(rule: Rule) -> Iterator[str]:
    """What the rule checks and why, its settings, one example that breaks and one that meets it."""
    yield f"{rule.name} ({rule.level.value}, for each {rule.each})\n"
    yield f"{rule.summary}\n"
    yield from (f"{heading}: {text}" for heading, text in rule.sections)
    settings = _settings_lines(rule)
    if settings:
        yield "Settings:"
        yield from (f"  {setting_text(setting)}" for setting in settings)
    yield from _example_line("Broken in the sample job", rule.breaks)
    yield from _example_line("Met in the sample job", rule.meets)
    yield f"Source: {rule.source}"
    yield f"Reads: {', '.join(rule.reads)}"


def rule_to_dict(rule: Rule) -> dict[str, Any]:
    """A rule as plain data, with its settings as a JSON Schema."""
    return {
        "rule": rule.name,
        "each": rule.each,
        "level": rule.level.value,
        "decides": rule.decides,
        "reads": list(rule.reads),
        "what_it_checks": rule.summary,
        "source": str(rule.source),
        **{heading.lower().replace(" ", "_"): text for heading, text in rule.sections},
        "settings": settings_schema(_settings_lines(rule)),
        "examples": {"breaks": _plain_changes(rule.breaks), "meets": _plain_changes(rule.meets)},
    }


def _settings_lines(rule: Rule) -> tuple[Setting, ...]:
    return () if rule.settings is None else settings_of(rule.settings)


def setting_text(setting: Setting) -> str:
    """One setting in a line: its default with the unit, and what it means."""
    unit = f" {setting.unit}" if setting.unit else ""
    return f"{setting.name} = {inline_value(setting.default)}{unit}: {setting.doc}"


def _example_line(title: str, changes: Changes | None) -> Iterator[str]:
    if changes is None:
        return
    if not changes:
        yield f"{title} as it stands"
        return
    yield f"{title} with:"
    for path, value in changes.items():
        if value is None:
            yield f"  {path} left out"
        else:
            yield f"  {path} = {inline_value(value)}"


def _plain_changes(changes: Changes | None) -> Any:
    # Through JSON, so that dates and tuples come out as a reader of the output gets them.
    return None if changes is None else json.loads(json.dumps(dict(changes), default=str))


_SCHEMAS: dict[str, dict[str, Any]] = {
    "true or false": {"type": "boolean"},
    "a whole number": {"type": "integer"},
    "a number": {"type": "number"},
    "a text": {"type": "string"},
    "a list of texts": {"type": "array", "items": {"type": "string"}},
}


def settings_schema(settings: tuple[Setting, ...]) -> dict[str, Any]:
    """Settings as a JSON Schema."""
    properties = {setting.name: _setting_schema(setting) for setting in settings}
    return {"type": "object", "additionalProperties": False, "properties": properties}


def _setting_schema(setting: Setting) -> dict[str, Any]:
    schema = dict(_SCHEMAS[setting.kind])
    if setting.unit == "mm" and setting.kind == "a number":
        schema["type"] = ["number", "string"]  # A length may be a text with its unit.
    schema["description"] = setting.doc
    schema["default"] = setting.default
    if isinstance(setting.default, tuple):
        schema["default"] = list(setting.default)
    if setting.unit:
        schema["x-unit"] = setting.unit
    return schema
