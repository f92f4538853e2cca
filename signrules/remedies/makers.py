"""Which candidate changes are computed for which rule."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import chain
from types import MappingProxyType

from attrs import evolve

from signrules.remedies import cells, fields, gaps, locating, orders, spacers
from signrules.remedies.changes import Change, Judged, Maker, passes_named
from signrules.rules.checks import Check

CLEARING: tuple[Maker, ...] = (
    orders.best_order,
    gaps.larger_gap,
    spacers.bought_spacer,
    gaps.planned_gap,
    gaps.fewer_layers,
    gaps.load_apart,
    orders.planned_order,
)
ORDERING: tuple[Maker, ...] = (
    orders.best_order,
    orders.kept_order,
    orders.planned_order,
    orders.loaded_other_way,
    orders.turned_over,
)
FRAMING: tuple[Maker, ...] = (
    orders.best_order,
    locating.better_method,
    locating.held,
    locating.one_load,
    locating.all_at_once,
    locating.moved_aside,
    locating.left_out,
    orders.planned_order,
    locating.fewer_partners,
)
GROWING: tuple[Maker, ...] = (locating.cooler, *FRAMING)
DIMENSION: tuple[Maker, ...] = (fields.moved,)
HANGING: tuple[Maker, ...] = (fields.hung, fields.moved)
WORD: tuple[Maker, ...] = (fields.other_word,)
TRANSLATED: tuple[Maker, ...] = (cells.translated,)
LISTED: tuple[Maker, ...] = (cells.listed, cells.translated)
RELIEF: tuple[Maker, ...] = (fields.layers, fields.moved)

MAKERS: Mapping[str, tuple[Maker, ...]] = MappingProxyType(
    {
        "alignment.served": (locating.slower,),
        "alignment.through": (gaps.one_way, locating.slower),
        "braille.below-text": DIMENSION,
        "braille.capitals": LISTED,
        "braille.cell-spacing": DIMENSION,
        "braille.clear-space": DIMENSION,
        "braille.dome": (fields.plain_dome,),
        "braille.dome-radius": DIMENSION,
        "braille.dot-diameter": DIMENSION,
        "braille.dot-height": RELIEF,
        "braille.dot-spacing": DIMENSION,
        "braille.grade": (fields.other_grade,),
        "braille.line-spacing": DIMENSION,
        "braille.position": WORD,
        "braille.numbers": TRANSLATED,
        "braille.shape": WORD,
        "braille.text": LISTED,
        "braille.text-clearance": DIMENSION,
        "clearance.margin": CLEARING,
        "clearance.strike": CLEARING,
        "contrast.reflectance": (fields.more_contrast,),
        "drawing.side": (orders.same_side,),
        "finish.glare": WORD,
        "finish.gloss": DIMENSION,
        "gap.settable": (gaps.nearest_settable, gaps.planned_gap),
        "hold.slip": (fields.more_vacuum,),
        "mounting.centre": HANGING,
        "mounting.highest": HANGING,
        "mounting.highest-braille": HANGING,
        "mounting.highest-part": HANGING,
        "mounting.lowest": HANGING,
        "mounting.lowest-part": HANGING,
        "order.sequence": ORDERING,
        "order.side": (orders.side_of_its_text, *ORDERING),
        "pictogram.field-height": DIMENSION,
        "pictogram.field-width": DIMENSION,
        "raised.case": WORD,
        "raised.clear-space": DIMENSION,
        "raised.depth": RELIEF,
        "raised.height": DIMENSION,
        "raised.line-spacing": DIMENSION,
        "raised.spacing": DIMENSION,
        "raised.stroke": DIMENSION,
        "raised.style": WORD,
        "raised.width": DIMENSION,
        "raised.word-spacing": DIMENSION,
        "registration.budget": FRAMING,
        "registration.frame": FRAMING,
        "registration.growth": GROWING,
        "registration.total": (*GROWING, locating.slower),
        "throw.reach": (
            gaps.smaller_gap,
            orders.best_order,
            gaps.planned_gap,
            gaps.load_apart,
            orders.planned_order,
        ),
        "visual.above-floor": HANGING,
        "visual.height": DIMENSION,
        "visual.line-spacing": DIMENSION,
        "visual.spacing": DIMENSION,
        "visual.stroke": DIMENSION,
        "visual.style": WORD,
        "visual.width": DIMENSION,
    }
)
"""For each rule what computes its candidates, in the order in which they are tried."""


OF_SIGNS: frozenset[Maker] = frozenset(
    {
        fields.moved,
        fields.hung,
        fields.other_word,
        fields.other_grade,
        cells.listed,
        cells.translated,
        fields.more_contrast,
    }
)
"""Makers that change what a sign is to be and nothing that is printed, so that their trials keep
the plan.
"""


def needs_no_plan(check: Check) -> bool:
    """Whether all that is tried for a finding leaves alone what is printed, and so is cheap."""
    return not check.decides and OF_SIGNS.issuperset(MAKERS.get(check.rule, ()))


def changes_for(check: Check, judged: Judged) -> Iterator[Change]:
    """Candidate changes for a check that is not met."""
    for maker in MAKERS.get(check.rule, ()):
        yield from maker(check, judged)
    if check.rule == "order.cycle" or (check.decides and judged.conflict is not None):
        # It was judged on the declared order, for want of a safe one: what gives a safe one may
        # meet it too.
        yield from changes_for_conflict(judged)


WAYS_OF_ITS_OWN = 3
"""After a change of so many members of a conflict comes one that leaves all gaps of the job to the
planner.
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
        if check.holds_back and check.decides and check.rule in MAKERS
    ]
    inside = [check for check in broken if set(check.subjects) & set(subjects)]
    clearing = [_as_if_short(judged, at) for at in passes_named(subjects, judged)]
    makers = [
        *(_all(MAKERS[check.rule], check, judged) for check in inside),
        *(_all(CLEARING, check, judged) for check in clearing),
        orders.less_precedence(judged, (path.partition(".")[2] for path in subjects)),
    ]
    makers.insert(WAYS_OF_ITS_OWN, gaps.every_planned_gap(judged))
    yield from _in_turn(makers)
    yield from _in_turn(
        [_all(MAKERS[check.rule], check, judged) for check in broken if check not in inside]
    )


def _all(makers: tuple[Maker, ...], check: Check, judged: Judged) -> Iterator[Change]:
    return chain.from_iterable(maker(check, judged) for maker in makers)


def _as_if_short(judged: Judged, at: int) -> Check:
    """A check of the clearance of a pass, for the makers: in a conflict any member may have to give
    way.
    """
    item = judged.job.passes[at]
    printing = judged.timeline.printings[at]
    margin = next(
        c
        for c in judged.checks
        if c.rule == "clearance.margin" and c.subjects[0] == f"passes.{item.id}"
    )
    return evolve(margin, measured=printing.clearance)


def _in_turn(makers: list[Iterator[Change]]) -> Iterator[Change]:
    """The first of each, then the second of each, and so on."""
    waiting = makers
    while waiting:
        going = []
        for maker in waiting:
            found = next(maker, None)
            if found is not None:
                going.append(maker)
                yield found
        waiting = going
