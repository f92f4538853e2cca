"""What a rule yields about one subject, and the checks that are made of it."""

from __future__ import annotations

from itertools import islice
from typing import TYPE_CHECKING, Any

from attrs import evolve

from signrules.model.wording import shown_value
from signrules.rules.checks import Check, Draft
from signrules.rules.own_data import classes_of_plugin
from signrules.rules.sound_drafts import demand_limit, demand_missing, demand_sound, first_yielded

if TYPE_CHECKING:
    from signrules.rules.engine import Facts, PlacedRule


def drafts_of_subject(placed: PlacedRule, item: Any, facts: Facts, most: int) -> list[Draft]:
    """What a rule yields about one subject: at most one more than so many."""
    rule = placed.rule
    given = facts.given_to(rule, item)
    if rule.settings is not None:
        # A new instance for each call, so that what a rule does to it reaches no other subject.
        given["settings"] = rule.settings() if placed.settings is None else evolve(placed.settings)
    # One more than may be tells that there are too many, even of a rule that never ends.
    steps, most = rule(**given), most + 1
    # That built-in rules yield and do not return is for their tests: to look at each takes time.
    drafts = first_yielded(steps, most) if placed.foreign else list(islice(steps, most))
    data_classes = classes_of_plugin(rule, facts.own_data)
    for draft in drafts:
        if placed.foreign:
            demand_sound(draft, facts.job, data_classes)
        elif not isinstance(draft, Draft):
            raise TypeError(
                f"expected check(...), one_of(...) or missing(...), got {shown_value(draft)}"
            )
        # Of a built-in rule only where the shop makes more of it than a note.
        if placed.foreign or placed.level is not None:
            demand_limit(draft, placed.level or draft.level or rule.level)
        if draft.missing is not None:
            demand_missing(draft, facts.job, data_classes)
    return drafts


def judged_check(placed: PlacedRule, subject: str, draft: Draft) -> Check:
    """The check that is made of what a rule yields about a subject."""
    rule = placed.rule
    return Check(
        rule.name,
        (subject, *draft.others),
        draft.outcome,
        # The shop has the last word, then the draft, then the rule.
        placed.level or draft.level or rule.level,
        draft.measured,
        (draft.least, draft.most),
        draft.unit,
        draft.margin,
        draft,
        draft.source or rule.source,
        draft.missing,
        draft.found,
        draft.allowed,
        told="" if draft.missing is None else draft.told,
        decides=rule.decides,
        plugin=placed.plugin,
    )
