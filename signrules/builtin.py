"""The built-in plugin: rule sets, standards, materials, printers and kinds of handling, through the
same hooks as any other.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from signrules.catalogue.materials import Material
from signrules.hookspecs import API_VERSION, hookimpl
from signrules.model.handling_kinds import BUILTIN_KINDS, HandlingKind
from signrules.rules.declaration import RuleSet
from signrules.standards.dimension_tables import Standard

signrules_api = API_VERSION


@hookimpl
def signrules_rule_sets() -> tuple[RuleSet, ...]:
    """Head clearance, throw, alignment, order, registration, sheets, the dimensions of the finished
    sign, and how likely figures are.
    """
    # Inside the hooks, as in any plugin: nothing is imported that nobody asks for.
    from signrules.rules.accessibility import ACCESSIBILITY
    from signrules.rules.aligning import ALIGNMENT
    from signrules.rules.clearance import CLEARANCE
    from signrules.rules.figures_together import FIGURES
    from signrules.rules.gap_setting import GAP
    from signrules.rules.ordering import ORDER
    from signrules.rules.registration import REGISTRATION
    from signrules.rules.sheets import HOLD, MATERIAL, THICKNESS
    from signrules.rules.table_coverage import TABLE_RULES
    from signrules.rules.throwing import THROW

    of_sheets = (MATERIAL, THICKNESS, HOLD)
    of_passes = (CLEARANCE, THROW, GAP, ALIGNMENT, ORDER, REGISTRATION)
    return (*of_passes, *of_sheets, *ACCESSIBILITY, TABLE_RULES, FIGURES)


@hookimpl
def signrules_standards() -> tuple[Standard, ...]:
    """The tables under signrules/standards/."""
    from signrules.standards.dimension_tables import builtin_standards

    return builtin_standards()


@hookimpl
def signrules_materials() -> tuple[Material, ...]:
    """The materials of the catalogue."""
    from signrules.catalogue.materials import builtin_materials

    return builtin_materials()


@hookimpl
def signrules_printers() -> Mapping[str, Mapping[str, Any]]:
    """The invented printers of the catalogue."""
    from signrules.catalogue.materials import builtin_printers

    return builtin_printers()


@hookimpl
def signrules_handling_kinds() -> tuple[HandlingKind, ...]:
    """The kinds of handling that need no plugin."""
    return tuple(BUILTIN_KINDS.values())
