"""The built-in plugin: the rule sets and standards that come with signrules, through the same hooks as any other."""

from __future__ import annotations

from signrules.hookspecs import hookimpl
from signrules.rules.declaration import RuleSet
from signrules.standards.tables import Standard


@hookimpl
def signrules_rule_sets() -> tuple[RuleSet, ...]:
    """Head clearance, throw, alignment, order, registration, and the dimensions of the finished sign."""
    from signrules.rules.accessibility import ACCESSIBILITY
    from signrules.rules.clearance import CLEARANCE
    from signrules.rules.ordering import ORDER
    from signrules.rules.registration import REGISTRATION
    from signrules.rules.throwing import ALIGNMENT, GAP, THROW

    return (CLEARANCE, THROW, GAP, ALIGNMENT, ORDER, REGISTRATION, *ACCESSIBILITY)


@hookimpl
def signrules_standards() -> tuple[Standard, ...]:
    """The tables under signrules/standards/."""
    from signrules.standards.tables import builtin_standards

    return builtin_standards()
