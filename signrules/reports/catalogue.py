"""The rule catalogue as Markdown, written from the declarations of the rules alone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from signrules.documents.toml import inline_value
from signrules.plugins import Plugins
from signrules.rules.declaration import HEADINGS, Changes, Rule, RuleSet
from signrules.rules.settings import settings_of

_HEAD = """\
# Rules

Every rule has a level. `STOP` forbids, `REVIEW` asks a person to look, `NOTE` informs. A check may
carry another level than its rule, where a row of a standard says so. "For each" is what the rule
looks at one by one; "reads" is what its function asks for by [the names of its
parameters](#what-a-rule-may-ask-for). "In the sample job" are examples: what to change in
`signrules.sample_job()` so that the rule is broken, and met. `signrules explain RULE` prints the
same.
"""

_FOOT = """## What a rule may ask for

A rule of your own asks by the names of its parameters, as [a first rule](first-rule.md) shows.

| parameter | what the function gets |
| --- | --- |
"""

_MADE_OF = """\
This page is made of the rules themselves. Do not edit it: change the docstring of the rule and
generate it again, as [For contributors](../DEVELOPERS.md) says.
"""

PARAMETERS = {
    "item": (
        "what the rule looks at: the job, a pass, a step, a sheet, a sign, or a tuple of two passes"
    ),
    "job": "the whole job",
    "printer": "its printer",
    "media": "its sheets by id",
    "inks": "its inks by id",
    "passes": "its passes by id",
    "signs": "its signs by id",
    "handling": "its handling by id",
    "alignments": "its alignments on record",
    "standards": "the tables of the standards that it names",
    "materials": "the materials that are known, by id",
    "heights": "surfaces, head planes, clearance and throw, for any set of printed passes",
    "graph": "the job graph, frozen",
    "timeline": (
        "the replay on which all rules judge: the plan's, or the declared order's where there is no"
        " plan"
    ),
    "printing": (
        'this pass in that replay: its head plane, clearance and throw; for `each="pass"` alone'
    ),
    "cycle": "the precedence that runs in a circle, empty where there is an order",
    "translate": (
        "`translate(text, grade, language)`: braille cells, or None where no plugin translates"
    ),
    "quantities": (
        "what the plan takes, numbers by name as in the report; empty where there is no plan"
    ),
    "outcomes": "the checks of the rules that it names in `outcomes_of`, by the name of the rule",
    "settings": "the rule's own settings, with what a shop has set in the place of the defaults",
    "data": (
        "the data of the rule's own plugin: `data.of(part)` of the job, a sheet, a pass or a sign,"
        " or None"
    ),
}
"""What each parameter that a rule may ask for gives it."""


def rule_catalogue(plugins: Plugins) -> str:
    """Every rule of the plugins as a Markdown page: a table for each set, then each rule."""
    return "\n".join(_catalogue_lines(plugins)) + "\n"


def _catalogue_lines(plugins: Plugins) -> Iterator[str]:
    yield _HEAD
    sets = sorted(
        (rule_set for rule_set in plugins.rule_sets if rule_set.rules),
        key=lambda rule_set: rule_set.name,
    )
    yield from (
        f"- [{rule_set.name}](#{_heading_anchor(rule_set.name)}): {rule_set.summary}"
        for rule_set in sets
    )
    for rule_set in sets:
        yield from _set_lines(rule_set)
    yield from ("", _FOOT.rstrip())
    yield from (f"| `{name}` | {text} |" for name, text in PARAMETERS.items())
    yield from ("", _MADE_OF.rstrip())


def _set_lines(rule_set: RuleSet) -> Iterator[str]:
    rules = sorted(rule_set.rules, key=lambda rule: rule.name)
    yield from (
        "",
        f"## {rule_set.name}",
        "",
        rule_set.summary,
        "",
        "| rule | level | for each | what |",
        "| --- | --- | --- | --- |",
    )
    for rule in rules:
        yield (
            f"| [`{rule.name}`](#{_heading_anchor(rule.name)}) | {rule.level} | {rule.each} |"
            f" {_table_cell(_first_sentence(rule.summary))} |"
        )
    for rule in rules:
        yield from _rule_lines(rule)


def _rule_lines(rule: Rule) -> Iterator[str]:
    sections = dict(rule.sections)
    yield from ("", f"### {rule.name}", "", rule.summary, "")
    yield from (f"- **{heading}:** {sections[heading]}" for heading in HEADINGS)
    yield from _example_lines(rule)
    if rule.settings is not None:
        for setting in settings_of(rule.settings):
            unit = f" {setting.unit}" if setting.unit else ""
            yield (
                f"- **Setting `{setting.name}`:** {setting.doc} Without it:"
                f" `{inline_value(setting.default)}`{unit}"
            )
    yield f"- **Level:** {rule.level}, for each {rule.each}"
    yield f"- **Source:** {rule.source}"
    yield f"- **Reads:** {', '.join(f'`{name}`' for name in rule.reads)}"


def _example_lines(rule: Rule) -> Iterator[str]:
    examples = [
        f"{word} {_with_changes(changes)}"
        for word, changes in (("broken", rule.breaks), ("met", rule.meets))
        if changes is not None
    ]
    if examples:
        yield f"- **In the sample job:** {'; '.join(examples)}"


def _with_changes(changes: Changes) -> str:
    if not changes:
        return "as it stands"
    return f"with {', '.join(_change_text(path, value) for path, value in changes.items())}"


def _change_text(path: str, value: Any) -> str:
    if value is None:
        return f"`{path}` left out"
    return f"`{path} = {inline_value(value)}`"


def _first_sentence(text: str) -> str:
    """The first sentence of a summary."""
    head, stop, _ = text.partition(". ")
    return head + stop.strip()


def _table_cell(text: str) -> str:
    return text.replace("|", "\\|")


def _heading_anchor(heading: str) -> str:
    """The anchor that Markdown readers give a heading: lower case, without dots and the like."""
    return "".join(
        char for char in heading.lower().replace(" ", "-") if char.isalnum() or char in "-_"
    )


if __name__ == "__main__":
    import sys

    from signrules.plugins import load_plugins

    # The page is the same on systems whose terminal has another encoding.
    sys.stdout.reconfigure(encoding="utf-8")  # type: ignore[union-attr]
    sys.stdout.write(rule_catalogue(load_plugins()))
