"""Which candidate changes are computed for which rule."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain
from types import MappingProxyType

from attrs import evolve

from signrules.model.declared import declared_fields
from signrules.remedies import (
    cell_changes,
    figure_changes,
    gap_changes,
    order_changes,
    register_changes,
    sign_changes,
    spacers,
)
from signrules.remedies.candidates import Change, Judged, Maker, passes_named
from signrules.rules.checks import Check
from signrules.standards.dimension_tables import SECTIONS

CLEARING: tuple[Maker, ...] = (
    order_changes.best_order,
    gap_changes.larger_gap,
    spacers.bought_spacer,
    gap_changes.planned_gap,
    gap_changes.fewer_layers,
    gap_changes.load_apart,
    order_changes.planned_order,
)
ORDERING: tuple[Maker, ...] = (
    order_changes.best_order,
    order_changes.kept_order,
    order_changes.planned_order,
    order_changes.loaded_other_way,
    order_changes.turned_over,
)
FRAMING: tuple[Maker, ...] = (
    order_changes.best_order,
    register_changes.better_method,
    register_changes.held_sheets,
    register_changes.one_load,
    register_changes.all_at_once,
    register_changes.moved_aside,
    register_changes.left_out,
    order_changes.planned_order,
    register_changes.fewer_partners,
)
GROWING: tuple[Maker, ...] = (register_changes.cooler_pass, *FRAMING)
DIMENSION: tuple[Maker, ...] = (sign_changes.moved_dimension,)
HANGING: tuple[Maker, ...] = (sign_changes.hung_elsewhere, sign_changes.moved_dimension)
WORD: tuple[Maker, ...] = (sign_changes.other_word,)
TRANSLATED: tuple[Maker, ...] = (cell_changes.translated_cells,)
LISTED: tuple[Maker, ...] = (cell_changes.changed_capitals,)
RELIEF: tuple[Maker, ...] = (sign_changes.other_layers, sign_changes.moved_dimension)

MAKERS: Mapping[str, tuple[Maker, ...]] = MappingProxyType(
    {
        "alignment.served": (register_changes.slower_carriage,),
        "alignment.through": (gap_changes.one_way, register_changes.slower_carriage),
        "braille.capitals": LISTED,
        "braille.dome": (sign_changes.plain_dome,),
        "braille.dot-height": RELIEF,
        "braille.grade": (sign_changes.other_grade, cell_changes.translated_cells),
        "braille.numbers": TRANSLATED,
        "braille.text": LISTED,
        "braille.text-clearance": DIMENSION,
        "clearance.margin": CLEARING,
        "clearance.strike": CLEARING,
        "contrast.reflectance": (sign_changes.more_contrast,),
        "drawing.side": (order_changes.same_side,),
        "figures.unusual": (figure_changes.likely_figure,),
        "finish.glare": WORD,
        "finish.gloss": DIMENSION,
        "gap.settable": (gap_changes.nearest_settable, gap_changes.planned_gap),
        "hold.slip": (sign_changes.more_vacuum,),
        "mounting.centre": HANGING,
        "mounting.highest": HANGING,
        "mounting.highest-braille": HANGING,
        "mounting.highest-part": HANGING,
        "mounting.lowest": HANGING,
        "mounting.lowest-part": HANGING,
        "order.sequence": ORDERING,
        "order.side": (order_changes.side_of_its_text, *ORDERING),
        "raised.depth": RELIEF,
        "registration.budget": FRAMING,
        "registration.frame": FRAMING,
        "registration.growth": GROWING,
        "registration.total": (*GROWING, register_changes.slower_carriage),
        "throw.reach": (
            gap_changes.smaller_gap,
            order_changes.best_order,
            gap_changes.planned_gap,
            gap_changes.load_apart,
            order_changes.planned_order,
        ),
        "visual.above-floor": HANGING,
    }
)
"""For each rule what computes its candidates, in the order in which they are tried; those of a rule
that is not named here come from the field after which it is called.
"""

_OF_KINDS: Mapping[str, tuple[Maker, ...]] = MappingProxyType(
    {"toleranced length": DIMENSION, "word": WORD}
)


def makers_for(rule: str) -> tuple[Maker, ...]:
    """What computes the candidates of a rule: what `MAKERS` names, or what moves a field of its
    kind, where the rule is called after a field of a sign, as `section.field`.
    """
    if rule in MAKERS:
        return MAKERS[rule]
    section, _, name = rule.partition(".")
    if section not in SECTIONS:
        return ()
    declared = declared_fields(SECTIONS[section]).get(name.replace("-", "_"))
    return () if declared is None else _OF_KINDS.get(declared.kind, ())


OF_SIGNS: frozenset[Maker] = frozenset(
    {
        sign_changes.moved_dimension,
        sign_changes.hung_elsewhere,
        sign_changes.other_word,
        sign_changes.other_grade,
        cell_changes.changed_capitals,
        cell_changes.translated_cells,
        sign_changes.more_contrast,
    }
)
"""Makers that change what a sign is to be and nothing that is printed, so that their trials keep
the plan.
"""


def needs_no_plan(check: Check) -> bool:
    """Whether all that is tried for a finding leaves alone what is printed, and so is cheap."""
    return not check.decides and OF_SIGNS.issuperset(makers_for(check.rule))


def changes_for(check: Check, judged: Judged) -> Iterator[Change]:
    """Candidate changes for a check that is not met."""
    for maker in makers_for(check.rule):
        yield from maker(check, judged)
    if check.rule == "order.cycle" or (check.decides and judged.conflict is not None):
        # It was judged on the declared order, because no safe one is known: what gives one may
        # meet it too.
        yield from changes_for_conflict(judged)


TURNS_BEFORE_ALL_GAPS = 3
"""As many members of a conflict have had their first change tried before the change that leaves all
gaps of the job to the planner has its turn.
"""


def changes_for_conflict(judged: Judged) -> Iterator[Change]:
    """Candidate changes where there is no safe order: one for each member of the conflict in turn,
    then the next.

    Those for what is broken elsewhere come last: on the declared order, that may be no more than
    what follows from it.
    """
    subjects = () if judged.conflict is None else judged.conflict.subjects
    broken = [
        check
        for check in judged.checks
        if check.holds_back and check.decides and makers_for(check.rule)
    ]
    inside = [check for check in broken if set(check.subjects) & set(subjects)]
    clearing = [_as_if_short(judged, pass_index) for pass_index in passes_named(subjects, judged)]
    changes = [
        *(_all_changes(makers_for(check.rule), check, judged) for check in inside),
        *(_all_changes(CLEARING, check, judged) for check in clearing),
        order_changes.less_precedence(judged, (path.partition(".")[2] for path in subjects)),
    ]
    # Not first, since it takes all choices out of the author's hands; not last, since it often is
    # the only way.
    changes.insert(TURNS_BEFORE_ALL_GAPS, gap_changes.every_planned_gap(judged))
    yield from _in_turn(changes)
    yield from _in_turn(
        [
            _all_changes(makers_for(check.rule), check, judged)
            for check in broken
            if check not in inside
        ]
    )


def _all_changes(makers: tuple[Maker, ...], check: Check, judged: Judged) -> Iterator[Change]:
    return chain.from_iterable(maker(check, judged) for maker in makers)


def _as_if_short(judged: Judged, pass_index: int) -> Check:
    """A check of the clearance of a pass, for the makers.

    In a conflict any member may have to give way, also one whose own check is met.
    """
    item = judged.job.passes[pass_index]
    printing = judged.timeline.printings[pass_index]
    looked_for = ("clearance.margin", f"passes.{item.id}")
    margin = next(check for check in judged.checks if (check.rule, check.subjects[0]) == looked_for)
    return evolve(margin, measured=printing.clearance)


def _in_turn(series: list[Iterator[Change]]) -> Iterator[Change]:
    """The first change of each series, then the second of each, and so on."""
    while series:
        unfinished = []
        for changes in series:
            change = next(changes, None)
            if change is not None:
                unfinished.append(changes)
                yield change
        series = unfinished
