"""What else is in the kit: running single rules, the reference, the fixtures, altered documents."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest
from attrs import frozen

import signrules
from signrules import (
    Outcome,
    RuleSet,
    job_from_dict,
    load_plugins,
    rule,
    sample_job,
    setting,
    shop_practice,
)
from signrules.documents.writing import job_to_dict
from signrules.testing import (
    ContractBroken,
    altered_documents,
    assert_rule_contract,
    brute_force,
    checks_of,
    reference,
    rule_laws,
)
from signrules.testing.run_rules import placed_rules
from signrules.testing.trial import Trial, World

ROOT = Path(__file__).parents[2]
SAMPLE = job_to_dict(signrules.job_from_dict(sample_job()))


def test_the_reference_shares_the_model_and_no_other_code():
    modules: set[str | None] = set()
    for part in (reference, brute_force):
        for node in ast.walk(ast.parse(Path(part.__file__).read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom):
                modules.add(node.module)
            elif isinstance(node, ast.Import):
                modules |= {alias.name for alias in node.names}
    own = {"signrules.testing.reference"}
    assert modules - own == {"__future__", "itertools", "typing", "signrules.model"}


def test_single_rules_give_the_checks_of_an_evaluation():
    job = signrules.job_from_dict(sample_job())
    plugins = load_plugins()
    expected = list(signrules.evaluate(job).checks)
    assert checks_of(plugins.rule_sets, sample_job()) == expected
    reach = plugins.rule_named("throw.reach")
    assert checks_of(reach, job, plugins=plugins) == [
        check for check in expected if check.rule == "throw.reach"
    ]
    assert checks_of(RuleSet("throw", (reach,)), job) == checks_of([reach], job)


def test_a_rule_that_fails_is_an_error_where_its_checks_are_asked_for():
    from planted import raises_where_a_field_is_left_out

    document = sample_job()
    del document["printer"]["max_throw"]
    with pytest.raises(signrules.RuleError, match="TypeError"):
        checks_of(raises_where_a_field_is_left_out, document)
    with pytest.raises(signrules.RuleError, match="expected a rule"):
        checks_of(3, document)


@pytest.mark.thorough
def test_nothing_of_the_kit_is_loaded_unless_it_is_asked_for():
    code = (
        "import sys, signrules; signrules.evaluate; signrules.sample_job;print([name for name in"
        " sys.modules if 'hypothesis' in name or name.startswith('signrules.testing')])"
    )
    shown = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert shown.stdout.strip() == "[]"


@pytest.mark.slow
def test_the_fixtures(tmp_path):
    (tmp_path / "conftest.py").write_text(
        'pytest_plugins = ["signrules.testing.plugin"]\n', encoding="utf-8"
    )
    (tmp_path / "ourshop.py").write_text(OURSHOP, encoding="utf-8")
    (tmp_path / "test_ourshop.py").write_text(TESTS, encoding="utf-8")
    (tmp_path / "test_alone.py").write_text(ALONE, encoding="utf-8")
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-q",
        "-p",
        "no:cacheprovider",
        "--rootdir",
        ".",
        ".",
    ]
    shown = subprocess.run(command, capture_output=True, text=True, cwd=tmp_path)
    assert "5 passed" in shown.stdout, shown.stdout + shown.stderr


OURSHOP = '''
from signrules import RuleSet, check, hookimpl, rule, shop_practice


@rule(
    "ourshop.few-layers",
    each="pass",
    source=shop_practice("no pass of more than 30 layers"),
    breaks={"passes.letters.layers": 31},
    meets={},
)
def few(item):
    """A pass has 30 layers at the most.

    Why it matters: more of them take too long.
    A job that breaks it: letters of 31 layers.
    One that meets it: letters of 26 layers.
    """
    advice = "Split the pass."
    yield check("the number of layers", measured=item.layers, most=30, unit="layers", advice=advice)


@hookimpl
def signrules_rule_sets():
    return [RuleSet("ourshop", (few,))]
'''
ALONE = """
import signrules


def test_where_no_plugin_is_named_there_are_the_built_in_rules(loaded_plugins, evaluate_with):
    assert loaded_plugins.names == signrules.load_plugins().names
    checks = evaluate_with({"passes.letters.layers": 31}).checks
    assert not [check for check in checks if check.rule.startswith("ourshop")]
"""
TESTS = """
import ourshop
import pytest


@pytest.fixture(scope="session")
def signrules_plugins():
    return [ourshop]


def test_the_contract(check_rule):
    check_rule(ourshop.few, monotone={"passes.*.layers": "up breaks"}, max_examples=5)


def test_it_fires(evaluate_with):
    result = evaluate_with({"passes.letters.layers": 31})
    found = [check.subjects for check in result.violations if check.rule == "ourshop.few-layers"]
    assert found == [("passes.letters",)]


def test_it_is_quiet(evaluate_with, sample_job):
    assert evaluate_with().ok
    sample_job["passes"][0]["layers"] = 40
    assert not evaluate_with(job=sample_job).ok


def test_each_test_has_a_sample_job_of_its_own(sample_job):
    assert sample_job["passes"][0].get("layers", 1) == 1
"""


def test_other_names_are_the_same_job():
    other, back = altered_documents.renamed_document(SAMPLE)
    assert signrules.job_from_dict(other).passes[0].id != "ground"
    assert sorted(back(f"passes.{row['id']}") for row in other["passes"]) == sorted(
        f"passes.{row['id']}" for row in SAMPLE["passes"]
    )
    assert back("printer.max_throw") == "printer.max_throw"
    assert back("job") == "job"
    ids = [row["id"] for row in SAMPLE["passes"]]
    renamed = [row["id"] for row in other["passes"]]
    assert sorted(range(len(ids)), key=ids.__getitem__) != sorted(
        range(len(ids)), key=renamed.__getitem__
    )


def test_another_arrangement_is_the_same_job():
    other = altered_documents.rearranged_document(SAMPLE)
    assert other != SAMPLE or list(other) != list(SAMPLE)
    assert altered_documents.rearranged_document(other) == {
        key: value for key, value in SAMPLE.items() if key != "waivers"
    }


@pytest.mark.parametrize(
    ("path", "pattern", "fits"),
    [
        ("passes.dots.layers", "passes.*.layers", True),
        ("passes.dots.layers", "passes.dots.layers", True),
        ("passes.dots.layers", "passes.*", False),
        ("signs.a.measured.dot_height", "signs.*.measured.**", True),
        ("signs.a.mounting.centre", "signs.*.measured.**", False),
        ("printer.max_throw", "printer.max_throw", True),
        ("alignments[0].extra", "alignments.*.extra", True),
    ],
)
def test_patterns(path, pattern, fits):
    assert altered_documents.matches_pattern(path, pattern) is fits


@pytest.mark.parametrize(
    ("value", "more"),
    [
        (4, 5),
        (40, 50),
        (0.4, 0.5),
        (0.0, 0.25),
        ("3 mm", "3.75 mm"),
        ("2 .. 4 mm", "2.5 .. 5 mm"),
        ("800 mm/s", "1000 mm/s"),
        ("2027-03-01", "2028-02-29"),
        ("acrylic", None),
        (True, None),
        ([1.0, "4 mm"], [1.25, "5 mm"]),
        (["words"], None),
    ],
)
def test_larger_numbers(value, more):
    assert altered_documents.larger_value(value) == more


def test_wider_tolerances_keep_the_nominal_value():
    assert altered_documents.wider_length("2.8 .. 3.2 mm") == "2.500000 .. 3.000000 .. 3.500000 mm"
    assert altered_documents.wider_length(0.0) is None
    assert altered_documents.wider_length("clear") is None


def test_leaves_are_all_that_a_document_states():
    paths = [
        altered_documents.path_at(SAMPLE, where) for where in altered_documents.leaves_of(SAMPLE)
    ]
    assert "passes.dots.gap.extra" in paths
    assert "printer.locating.pins" in paths
    assert "passes.dots.areas" in paths
    assert len(paths) == len(set(paths))
    for where in altered_documents.leaves_of(SAMPLE):
        assert (
            altered_documents.value_at(altered_documents.with_value(SAMPLE, where, "other"), where)
            == "other"
        )
        path = altered_documents.path_at(SAMPLE, where)
        assert path not in [
            altered_documents.path_at(d, w)
            for d in [altered_documents.without_value(SAMPLE, where)]
            for w in altered_documents.leaves_of(d)
        ] or (where[-1] == "id")


def test_what_is_met_and_broken_is_judged_once_more_the_same():
    from signrules.testing.check_meaning import outcome_of

    for check in signrules.evaluate(signrules.job_from_dict(sample_job())).checks:
        if check.rule != "clearance.strike":
            assert outcome_of(check.measured, check.limit, False) is check.outcome
    assert outcome_of(signrules.Interval.between(0, 3), (1, 2), False) is Outcome.DOUBTFUL


@frozen
class Kinds:
    """A setting of each kind; the number must not be larger than the sheet is."""

    most: float = setting(20.0, doc="the most layers")
    strict: bool = setting(True, doc="whether any may be too many")
    role: str = setting("clear", doc="the role of the inks that are meant")
    but: tuple[str, ...] = setting((), doc="roles that are left alone")

    def __attrs_post_init__(self):
        if self.most > 1000:
            raise ValueError("too many")


def with_kinds(**examples):
    @rule(
        "ourshop.kinds",
        each="pass",
        source=shop_practice("an invented house rule"),
        settings=Kinds,
        **examples,
    )
    def kinds(item, inks, settings):
        """Few layers of one ink.

        Why it matters: a test.
        A job that breaks it: 21 layers.
        One that meets it: 20 layers.
        """
        role = inks[item.ink].role
        if role is None:
            yield signrules.missing(f"inks.{item.ink}.role", "the layers")
        elif role == settings.role and role not in settings.but and settings.strict:
            advice = "Print fewer layers."
            yield signrules.check(
                "the layers", measured=item.layers, most=settings.most, unit="", advice=advice
            )

    return kinds


@pytest.mark.slow
def test_settings_of_every_kind_are_tried():
    told = with_kinds(
        breaks={"passes.dots.layers": 40},
        meets={"passes.dots.layers": 3, "passes.letters.layers": 3},
    )
    assert_rule_contract(told, max_examples=5)


def test_an_example_that_does_not_fit_the_sample_job():
    for breaks in ({"passes.nobody.layers": 40}, {"passes.dots.layers": -1}):
        with pytest.raises(ContractBroken, match="does not fit the sample job"):
            assert_rule_contract(with_kinds(breaks=breaks, meets={}), max_examples=5)


def test_a_rule_without_examples_is_asked_for_them():
    with pytest.raises(ContractBroken, match=r"it has no example: give breaks=\{...\}"):
        assert_rule_contract(with_kinds(), max_examples=5)


def test_a_path_that_is_none_fits_only_itself():
    assert altered_documents.matches_pattern("a..b[", "a..b[")
    assert not altered_documents.matches_pattern("a..b[", "**")


def test_a_document_that_is_no_job_has_no_checks():
    one = placed_rules(with_kinds())[0]
    job = job_from_dict(sample_job())
    assert Trial(job, World(load_plugins()), 0).checks(one, {"signrules": 1}) is None


def test_names_count_for_nothing_where_the_order_is_stated_either():
    import planted

    order = list(signrules.evaluate(job_from_dict(sample_job())).order)
    trial = Trial(job_from_dict(sample_job() | {"sequence": order}), World(load_plugins()))
    assert list(rule_laws.goes_by_no_names(trial, placed_rules(planted.sound)[0])) == []
    told = list(rule_laws.goes_by_no_names(trial, placed_rules(planted.depends_on_ids)[0]))
    assert told == ["with other ids it judged otherwise"]


def test_what_else_could_stand_where_a_word_does():
    document = {
        "standards": ["us-ada-2010"],
        "passes": [
            {"id": "dots", "side": "front", "over": ["ground", "dots"], "layers": 3, "ink": "clear"}
        ],
        "signs": [{"id": "room", "braille": {"shape": "domed"}, "flag": True}],
    }
    others = altered_documents.other_words
    assert others(document, ("standards",)) == []
    assert others(document, ("passes", 0, "side")) == ["back"]
    assert others(document, ("passes", 0, "over")) == [["ground", "dots x"]]
    assert others(document, ("passes", 0, "ink")) == ["clear x"]
    assert others(document, ("passes", 0, "layers")) == []
    assert others(document, ("signs", 0, "flag")) == [False]
