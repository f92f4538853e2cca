"""The rules that compare statements with drawings keep the contract that plugins are held to."""

from __future__ import annotations

import pytest

from signrules import load_plugins
from signrules.rules.drawing_areas import DRAWING
from signrules.testing import assert_rule_contract

NOT_STATED = (
    "signs.*.braille.position",
    "signs.*.braille.below_text",
    "signs.*.raised.height",
    "signs.*.visual.height",
    "signs.*.area",
    "signs.*.mounting.lowest_tactile",
    "signs.*.mounting.highest_tactile",
    "signs.*.raised.stroke",
    "signs.*.raised.spacing",
    "signs.*.braille.cells",
    "signs.*.braille.dot_diameter",
    "signs.*.braille.dot_spacing",
    "signs.*.braille.cell_spacing",
    "signs.*.braille.line_spacing",
    "signs.*.text",
    "passes.*.areas",
    "passes.*.builds",
    "passes.*.layers",
)
"""What is not stated cannot disagree with the drawing; the rules on dimensions ask for it."""

SIZES = ("signs.*.kind", "signs.*.braille.*", "signs.*.raised.*", "signs.*.pictogram.*")
"""Without them it is not known what cells and characters take, and the areas are compared as they
are drawn.
"""


AT_THE_BEST = ("drawing.clear-space", "drawing.raised-width", "drawing.sheet")
"""Rules that tell what cannot be, however it is made: of a tolerance they take the end at which the
sign would be in order.
"""


@pytest.mark.slow
def test_the_rules_on_drawings_keep_the_contract():
    _assert_contract([rule for rule in DRAWING.rules if rule.name not in AT_THE_BEST], but={})


@pytest.mark.slow
def test_the_rules_on_what_cannot_be_keep_all_of_it_but_one_law():
    rules = [rule for rule in DRAWING.rules if rule.name in AT_THE_BEST]
    assert len(rules) == len(AT_THE_BEST)
    but = {"minds tolerances": "within a tolerance, what would be in order may be what is made"}
    _assert_contract(rules, but=but)


def _assert_contract(rules, but):
    assert_rule_contract(
        rules,
        plugins=load_plugins(),
        silent_without=NOT_STATED,
        assumes=SIZES,
        but=but,
        max_examples=40,
    )
