"""The built-in rules keep the contract that plugins are held to."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from effort import effort
from house_table import HOUSE_TABLE

from signrules import hookimpl, load_plugins
from signrules.rules.drawing_areas import DRAWING
from signrules.testing import assert_rule_contract, jobs

pytestmark = pytest.mark.more

SILENT_WITHOUT = (
    "signs.*.braille.below_text",  # The gap is held to the clear space where one is stated.
    "signs.*.surface.finish",  # A word and a measured gloss are compared where both are stated.
    "signs.*.surface.gloss",
    "printer.absorbed_dose",  # No lamp is said to warm a sheet: it is as warm as the room.
    "printer.head_work",  # No work on the heads is known of: nothing to judge.
    "signs.*.*.line_spacing",  # One line, of text or of cells, has no other to be spaced from.
    "signs.*.measured.**",  # What was not measured is predicted, or not judged.
    "passes.*.sheet_temperature",  # It has a default.
    "passes.*.layers",  # One where it is left out: then no other layer lands elsewhere.
    # Left out, nothing locates the sheet: registration.frame says so, and no error is added.
    "handling.*.locates_by",
)
ASSUMES = (
    # Text and cells tell where neither of the two is stated.
    "signs.*.raised.case",
    "signs.*.braille.grade",
    # A sign without a kind is held to every row, the strictest included.
    "signs.*.kind",
    # Without these drops fly as if there were no air, which is the least error there can be.
    "printer.drop_volume",
    "printer.drop_density",
    "printer.absorbed_dose",  # No lamp is said to warm a sheet: it is as warm as the room.
    # Where neither of the two is stated, the areas of braille and text tell.
    "signs.*.braille.position",
    "signs.*.braille.below_text",
    "signs.*.braille.clear_space",  # The gap below the text is held to that of the standard, too.
    # Where no gaps between letters are known, none runs above a dot: the strictest again.
    "signs.*.raised.spacing",
    "signs.*.raised.word_spacing",
)
FIGURES = ("figures.unusual", "figures.together")
"""What is not stated is no unlikely figure: these rules compare what there is, and miss nothing."""
ELSEWHERE = ("tables.silent", "braille.text")
"""Where what is missing is missing in a table, or among the plugins."""
NAMES = ("material.known", "scope.kind")
"""Where a name that is not given cannot be a wrong one."""
REPEATED = "scope.repeated"
"""That a sign lacks its kind, or braille that its kind needs, `scope.tactile` says alone."""
NOMINAL = ("braille.fit", "gap.settable", "registration.growth", "registration.total")
"""What the operator sets is the nominal extra; how warm a sheet gets is an estimate for one of
nominal thickness.
"""


def signrules_translate_braille(text, grade, language):
    """An invented translator that knows two lines."""
    return {"room 214": "⠗⠕⠕⠍⠀⠼⠃⠁⠙", "room 215": "⠗⠕⠕⠍⠀⠼⠃⠁⠑"}.get(text)


TRANSLATOR = SimpleNamespace(
    __name__="two-lines", signrules_translate_braille=hookimpl(signrules_translate_braille)
)
PLUGINS = load_plugins(objects=[TRANSLATOR, HOUSE_TABLE])
RULES = [placed.rule for placed in load_plugins().rules if placed.rule not in DRAWING.rules]


@pytest.mark.slow
def test_the_built_in_rules_keep_the_contract():
    apart = (*NOMINAL, *NAMES, *FIGURES, *ELSEWHERE, REPEATED)
    strict = [rule for rule in RULES if rule.name not in apart]
    assert_rule_contract(
        strict,
        plugins=PLUGINS,
        silent_without=SILENT_WITHOUT,
        assumes=ASSUMES,
        max_examples=effort(12),
    )


@pytest.mark.slow
def test_the_rules_that_miss_what_no_job_states_keep_all_other_laws():
    but = {"says what it means": "what they miss is missing in a table, or among the plugins"}
    rules = [rule for rule in RULES if rule.name in ELSEWHERE]
    assert_rule_contract(
        rules,
        plugins=PLUGINS,
        but=but,
        silent_without=SILENT_WITHOUT,
        assumes=ASSUMES,
        max_examples=effort(12),
    )


@pytest.mark.slow
def test_the_rules_on_names_have_nothing_to_say_where_none_is_given():
    rules = [rule for rule in RULES if rule.name in NAMES]
    silent_without = (*SILENT_WITHOUT, "media.*.material", "signs.*.kind")
    assert_rule_contract(rules, silent_without=silent_without, max_examples=effort(12))


@pytest.mark.slow
def test_the_rules_on_figures_keep_all_laws_but_of_what_is_not_stated():
    rules = [rule for rule in RULES if rule.name in FIGURES]
    reason = "a figure that is not stated is none, and the rules that need it ask for it"
    but = {"is never silent": reason, "assumes nothing": reason}
    assert_rule_contract(rules, but=but, max_examples=effort(12))


@pytest.mark.slow
def test_the_rule_on_repeated_words_leaves_what_is_lacking_to_another():
    (repeated,) = (rule for rule in RULES if rule.name == REPEATED)
    silent_without = (*SILENT_WITHOUT, "signs.*.kind", "signs.*.braille.cells")
    assert_rule_contract(repeated, silent_without=silent_without, max_examples=effort(12))


@pytest.mark.slow
def test_the_rules_on_nominal_values_keep_all_other_laws():
    rules = [rule for rule in RULES if rule.name in NOMINAL]
    but = {"minds tolerances": "the operator sets the nominal extra, and warmth is an estimate"}
    # The gap of a pass that states none is left to the planner, which takes one that can be set.
    silent_without = (*SILENT_WITHOUT, "passes.*.gap.extra")
    assert_rule_contract(
        rules, but=but, silent_without=silent_without, assumes=ASSUMES, max_examples=effort(25)
    )


@pytest.mark.slow
def test_what_the_rules_of_clearance_claim():
    fixed = jobs(
        stated_gaps_only=True,
        references=("media", "bed"),
        max_passes=2,
        handling=False,
        signs=False,
    )
    clearance = [rule for rule in RULES if rule.name.startswith("clearance.")]
    assert_rule_contract(
        clearance,
        jobs=fixed,
        monotone={
            "passes.*.layers": "up breaks",
            "media.*.bow": "up never mends",
            "printer.base_gap": "up never breaks",
        },
        max_examples=effort(25),
    )
