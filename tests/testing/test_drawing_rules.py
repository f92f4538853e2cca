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


@pytest.mark.slow
def test_the_rules_on_drawings_keep_the_contract():
    plugins = load_plugins()
    assert_rule_contract(
        DRAWING, plugins=plugins, silent_without=NOT_STATED, assumes=SIZES, max_examples=40
    )
