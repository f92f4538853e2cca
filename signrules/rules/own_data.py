"""What a rule gets for its parameter `data`: the data of the plugin that brings it, and no other's.

Which plugin that is says a mapping by the names of rules.
"""

from __future__ import annotations

from collections.abc import Mapping

from signrules.documents.plugin_tables import NO_CLASSES, DataClasses, OwnData
from signrules.errors import RuleError
from signrules.rules.declaration import Rule

OF_THE_RULE = ("settings", "data", "outcomes")
"""The parameters that belong to a rule and not to the job."""


def own_data_of(rule: Rule, by_rule: Mapping[str, OwnData]) -> OwnData:
    """The data that a rule may ask for.

    Raises RuleError where no plugin that is loaded brings the rule and declares any.
    """
    if rule.name not in by_rule:
        raise RuleError(
            f"rule {rule.name}: it asks for data, and no plugin that is loaded brings this rule and"
            " declares data (signrules_data)"
        )
    return by_rule[rule.name]


def classes_of_plugin(rule: Rule, by_rule: Mapping[str, OwnData]) -> DataClasses:
    """The classes of the data of the plugin that brings a rule, by the name of the plugin."""
    own_data = by_rule.get(rule.name)
    return NO_CLASSES if own_data is None else {own_data.name: own_data.classes}
