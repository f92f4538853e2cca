"""The rules, and the hook that hands them over."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from attrs import frozen

from signrules import (
    Draft,
    Ink,
    Level,
    Pass,
    RuleSet,
    check,
    hookimpl,
    missing,
    rule,
    setting,
    shop_practice,
)

signrules_api = "1.0"


@frozen
class ClearLayers:
    """What a shop may set for the rule."""

    most: int = setting(30, unit="layers", doc="the most layers of clear in one pass")


@rule(
    "ourshop.clear-layers",
    each="pass",
    level=Level.REVIEW,
    source=shop_practice("what our lamps cure in one pass"),
    settings=ClearLayers,
    breaks={"passes.dots.layers": 31},
    meets={},
)
def clear_layers(item: Pass, inks: Mapping[str, Ink], settings: ClearLayers) -> Iterator[Draft]:
    """A pass lays no more than so many layers of clear.

    Why it matters: our lamps do not cure a thicker stack through.
    A job that breaks it: dots of 31 layers in one pass.
    One that meets it: the same dots in two passes.
    """
    ink = inks[item.ink]
    if ink.role is None:
        yield missing(f"inks.{ink.id}.role", "the number of layers of clear")
    elif ink.role == "clear":
        yield check(
            "the number of layers",
            measured=item.layers,
            most=settings.most,
            unit="layers",
            advice="Split the pass.",
        )


@hookimpl
def signrules_rule_sets() -> list[RuleSet]:
    """The rules of our shop."""
    return [RuleSet("ourshop", [clear_layers], "What our shop has learned.")]
