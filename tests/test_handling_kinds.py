"""Kinds of handling that plugins bring, and the built-in ones, which are declared alike."""

from __future__ import annotations

import copy
import json
import pickle
import re
from decimal import Decimal
from types import SimpleNamespace

import pytest
from attrs import evolve
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from reference import BruteForce
from scenario import sign_job
from strategies import jobs

import signrules
from signrules import HandlingKind, Outcome, SignrulesError, hookimpl, load_plugins
from signrules.cli import main
from signrules.model import Spacers
from signrules.model.handling_kinds import BUILTIN_KINDS
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.audit import audit
from signrules.planning.planner import plan_job
from signrules.reports.text_report import evaluation_text
from signrules.testing import assert_hook_contract

WIPE = HandlingKind("wipe", "a sheet is wiped where it lies", "Wipe down", moves=False, minutes=2.5)
OVEN = HandlingKind(
    "oven",
    "a sheet rests in an oven",
    "Rest in the oven",
    "rest {} in the oven",
    counts_as_load=True,
    minutes=30,
)
WARM = HandlingKind(
    "warm-up",
    "the lamp warms up",
    "Warm the lamp up",
    on_sheet=False,
    moves=False,
    reaches=False,
    tools=False,
    minutes=0,
)
TURN = HandlingKind(
    "turn-on-jig", "a sheet turns on a jig", "Turn on the jig", turns=True, minutes=0
)


def bringing(*kinds, name="quay"):
    hook = hookimpl(lambda: list(kinds))
    return SimpleNamespace(__name__=name, signrules_handling_kinds=hook)


def loaded(*kinds):
    return load_plugins(objects=[bringing(*kinds)])


def with_handling(*rows):
    return sign_job() | {"handling": [{"id": f"do-{row['does']}", **row} for row in rows]}


def evaluated(*kinds, **more):
    plugins = loaded(*kinds)
    rows = [{"does": kind.name, **more} for kind in kinds]
    job = signrules.job_from_dict(with_handling(*rows), plugins=plugins)
    return signrules.evaluate(job, plugins=plugins)


# --- what a plugin may bring ------------------------------------------------------------------


def test_the_built_in_kinds_come_through_the_same_hook():
    plugins = load_plugins()
    assert dict(plugins.handling_kinds) == dict(BUILTIN_KINDS)
    assert "handling kind flip" in plugins.loaded[0].adds


def test_a_plugin_adds_kinds_to_those_that_there_are():
    plugins = loaded(WIPE, OVEN)
    assert set(plugins.handling_kinds) == {*BUILTIN_KINDS, "wipe", "oven"}
    assert plugins.loaded[1].adds == ("handling kind wipe", "handling kind oven")


@pytest.mark.parametrize("name", sorted(BUILTIN_KINDS))
def test_no_plugin_brings_a_kind_of_a_built_in_name(name):
    (failed,) = loaded(evolve(WIPE, name=name)).failed
    assert f"gave back {name!r}, expected a name that is none of" in failed.error


def test_two_plugins_cannot_bring_one_kind():
    both = [bringing(WIPE), bringing(WIPE, name="pier")]
    with pytest.raises(SignrulesError, match="kind wipe is brought twice, by pier and quay"):
        load_plugins(objects=both)


@pytest.mark.parametrize("answer", [5, "wipe", [5], [{"name": "wipe"}], None])
def test_what_is_no_kind_is_refused(answer):
    plugin = SimpleNamespace(__name__="quay", signrules_handling_kinds=hookimpl(lambda: answer))
    (failed,) = load_plugins(objects=[plugin]).failed
    assert "signrules_handling_kinds gave back" in failed.error
    assert "HandlingKind" in failed.error


def test_a_hook_that_raises_fails_alone():
    def broken():
        raise RuntimeError("no list of kinds")

    plugin = SimpleNamespace(__name__="quay", signrules_handling_kinds=hookimpl(broken))
    plugins = load_plugins(objects=[plugin, bringing(OVEN, name="pier")])
    assert [one.name for one in plugins.failed] == ["quay"]
    assert "no list of kinds" in plugins.failed[0].error
    assert "oven" in plugins.handling_kinds


@pytest.mark.parametrize(
    ("changes", "told"),
    [
        ({"name": "Wipe"}, "name: found 'Wipe', expected a word in lower case"),
        ({"name": "two words"}, "expected a word in lower case"),
        ({"name": 5}, "name: found 5"),
        ({"meaning": " "}, "meaning: found ' ', expected a line of text"),
        ({"words": "a\nb"}, "words: found"),
        ({"words": 5}, "words: found 5"),
        ({"told": "a\x1b"}, "told: found"),
        ({"told": "wipe {sheet} down"}, "told: found 'wipe {sheet} down', expected a line of text"),
        ({"told": "wipe it down"}, "with {} once, for the sheet, or nothing"),
        ({"told": "wipe {} and {}"}, "with {} once, for the sheet"),
        (
            {"told": "warm {} up", "on_sheet": False},
            "with no braces, as it is done to no sheet, or nothing",
        ),
        ({"moves": 1}, "moves: found 1, expected True or False"),
        ({"minutes": -1}, "minutes: found -1, expected minutes from 0 to 100,000, or None"),
        ({"minutes": float("nan")}, "minutes: found nan"),
        ({"minutes": "2 min"}, "minutes: found '2 min'"),
        ({"minutes": True}, "minutes: found True"),
        ({"turns": True}, "turns: found True, expected False, or moves as well"),
        ({"moves": True, "on_sheet": False}, "moves: found True, expected False, or on_sheet"),
        ({"reaches": False}, "expected False, or reaches as well"),
        (
            {"on_sheet": False, "counts_as_load": True},
            "counts_as_load: found True, expected False, or on_sheet as well",
        ),
    ],
)
def test_a_kind_that_does_not_fit_together_is_refused(changes, told):
    with pytest.raises(ValueError, match=re.escape(told)):
        evolve(WIPE, **changes)


# --- documents --------------------------------------------------------------------------------


def test_a_document_names_a_kind_of_a_plugin():
    plugins = loaded(WIPE, OVEN)
    job = signrules.job_from_dict(with_handling({"does": "wipe"}), plugins=plugins)
    assert job.handling_kinds == (WIPE,)
    assert job.kind_of(job.handling[0]) is WIPE
    again = signrules.job_from_dict(signrules.job_to_dict(job), plugins=plugins)
    assert again == job
    assert pickle.loads(pickle.dumps(job)) == copy.deepcopy(job) == job


def test_a_kind_that_no_plugin_brings_is_told_with_the_nearest_name():
    document = with_handling({"does": "wipes"})
    with pytest.raises(SignrulesError) as told:
        signrules.job_from_dict(document, plugins=loaded(WIPE))
    (fault,) = told.value.faults
    assert (fault.path, fault.found) == ("handling[0].does", "'wipes'")
    assert fault.expected == (
        "one of reload, flip, release, pause, wipe, or one of a plugin that is loaded; the nearest"
        " is 'wipe'"
    )


def test_a_plugin_that_failed_is_named_where_its_kind_is_missing():
    plugin = SimpleNamespace(__name__="quay", signrules_handling_kinds=hookimpl(lambda: 1 / 0))
    plugins = load_plugins(objects=[plugin])
    with pytest.raises(SignrulesError, match=r"wipe.*quay"):
        signrules.job_from_dict(with_handling({"does": "wipe"}), plugins=plugins)


def test_a_job_made_in_python_needs_the_kinds_that_it_names():
    job = signrules.job_from_dict(sign_job())
    wiped = (signrules.Handling("wiped", "wipe"),)
    with pytest.raises(SignrulesError, match=r"handling\[0\].does: found 'wipe'"):
        evolve(job, handling=wiped)
    assert evolve(job, handling=wiped, handling_kinds=(WIPE,)).kind_of(wiped[0]) is WIPE
    for kinds in ([WIPE], ("wipe",), (WIPE, WIPE), (BUILTIN_KINDS["flip"],)):
        with pytest.raises(SignrulesError, match="handling_kinds"):
            evolve(job, handling_kinds=kinds)


def test_a_kind_that_is_done_to_no_sheet_needs_none():
    document = json.loads(json.dumps(sign_job()))
    other = document["media"][0] | {"id": "other", "at": ["300 mm", "0 mm"], "load": "later"}
    document["media"] += [other]
    for rows in ("passes", "signs"):
        for row in document.get(rows, ()):
            row["media"] = document["media"][0]["id"]
    rows = [{"id": "a", "does": "warm-up"}, {"id": "b", "does": "wipe"}]
    with pytest.raises(SignrulesError) as told:
        signrules.job_from_dict(document | {"handling": rows}, plugins=loaded(WIPE, WARM))
    assert [fault.path for fault in told.value.faults] == ["handling[1].media"]


@pytest.mark.parametrize(
    ("kind", "stated", "why"),
    [
        (WARM, {"media": "panel"}, "nothing: warm-up is done to no sheet"),
        (BUILTIN_KINDS["pause"], {"media": "panel"}, "nothing: pause is done to no sheet"),
        (WIPE, {"locates_by": "pins"}, "nothing: wipe moves no sheet"),
    ],
)
def test_what_a_kind_has_no_place_for_is_refused(kind, stated, why):
    plugins = loaded(*({WARM, WIPE} & {kind}))
    with pytest.raises(signrules.JobError) as caught:
        signrules.job_from_dict(with_handling({"does": kind.name, **stated}), plugins=plugins)
    (key,) = stated
    (fault,) = caught.value.faults
    assert (fault.path, fault.expected) == (f"handling[0].{key}", why)


def test_a_patch_keeps_the_kinds_of_its_job():
    result = evaluated(OVEN)
    patch = [{"op": "replace", "path": "/handling/0/id", "value": "baked"}]
    assert result.with_change(patch).job.handling[0].id == "baked"


# --- what comes of it -------------------------------------------------------------------------


def test_what_moves_a_sheet_ends_its_frame_and_what_does_not_does_not():
    def framed(kind):
        between = {"after": [sign_job()["passes"][0]["id"]]}
        document = with_handling({"does": kind.name, **between})
        document["sequence"] = [document["passes"][0]["id"], f"do-{kind.name}"]
        document["sequence"] += [row["id"] for row in document["passes"][1:]]
        plugins = loaded(kind)
        result = signrules.evaluate(
            signrules.job_from_dict(document, plugins=plugins), plugins=plugins
        )
        return [
            check
            for check in result.checks
            if check.rule == "registration.frame" and check.outcome is Outcome.BROKEN
        ]

    assert framed(OVEN)
    assert not framed(WIPE)
    assert not framed(WARM)


def test_what_counts_as_a_load_costs_one():
    assert evaluated(OVEN).plan.loads == 2
    assert evaluated(evolve(OVEN, counts_as_load=False)).plan.loads == 1


def test_what_turns_a_sheet_brings_its_back_up():
    job = evaluated(TURN).job
    machine = Machine(Heights(job))
    assert machine.turning == {job.media[0].id}


def test_minutes_stand_in_the_estimate_and_are_priced():
    result = evaluated(WIPE, OVEN)
    lines = {line.item: line for line in signrules.estimate(result).lines}
    assert lines["handling"].amount == Decimal("32.5")
    assert lines["handling"].note == "wipe 1 x 2.5 min, oven 1 x 30 min"
    rates = signrules.rates_from_dict(
        {"signrules_rates": 1, "currency": "EUR", "minute": {"handling": "2"}}
    )
    priced = {line.item: line for line in signrules.estimate(result, rates).lines}
    assert priced["handling"].price == Decimal("65.00")
    # As a pause, it takes what the rate table says.
    unstated = HandlingKind("dust", "a sheet is dusted", "Dust", moves=False)
    lines = signrules.estimate(evaluated(unstated)).lines
    assert [line.item for line in lines if line.kind == "minutes"][-1] == "waiting"
    assert next(line for line in lines if line.item == "waiting").amount is None


def test_handling_and_pauses_are_no_set_up_of_a_folder():
    """Set-up is what the plan says; a pause whose minutes nobody knows takes nothing from it."""
    kinds = (WIPE, evolve(WARM, minutes=None))
    result = evaluated(*kinds)
    takes = signrules.estimate_jobs("a folder", {"one": result}).takes
    assert float(takes.setup_minutes) == result.plan.setup_minutes == 34
    assert (takes.handling_minutes, takes.pause_minutes) == (Decimal("2.5"), None)
    rates = signrules.rates_from_dict(
        {"signrules_rates": 1, "currency": "EUR", "pause_minutes": "20"}
    )
    estimated = signrules.estimate_jobs("a folder", {"one": result}, rates)
    assert float(estimated.takes.setup_minutes) == result.plan.setup_minutes
    assert estimated.takes.pause_minutes == 20
    text = signrules.order_estimate_text(estimated)
    assert "set-up 34 min  handling 2.5 min  pauses 20 min  printing" in text


def test_reports_say_what_is_done():
    assert "do-oven: rest panel in the oven, located by pins" in evaluation_text(
        evaluated(OVEN, locates_by="pins")
    )
    report = evaluation_text(evaluated(WIPE, WARM))
    assert "do-wipe: Wipe down (panel)" in report
    assert "do-warm-up: Warm the lamp up" in report


def test_records_and_notebooks_say_what_is_done_and_to_which_sheet():
    plan = evaluated(OVEN, locates_by="pins").plan
    (record,) = (each for each in plan.records() if each["kind"] == "handle")
    told = "rest panel in the oven, located by pins"
    assert (record["subject"], record["does"], record["media"]) == ("do-oven", told, "panel")
    assert f"do-oven: {told}" in plan._repr_html_()
    (warm,) = (each for each in evaluated(WARM).plan.records() if each["kind"] == "handle")
    assert (warm["does"], warm["media"]) == ("Warm the lamp up", None)


def test_the_run_sheet_asks_what_the_kind_needs():
    page = signrules.run_sheet(evaluated(WIPE))
    assert "Wipe down" in page
    assert "takes 2.5" in page
    assert "Nothing but the sheets left on the bed" in page
    bare = signrules.run_sheet(evaluated(WARM))
    assert "Warm the lamp up" in bare
    assert "Nothing but the sheets left on the bed" not in bare


def test_a_remedy_leaves_out_only_what_its_kind_says_may_be():
    def remedies(kind):
        document = with_handling({"does": kind.name})
        # Three are shown: no better way of putting back stands before what is looked for.
        document["printer"] = {**document["printer"], "locating": {}}
        first, *others = [row["id"] for row in document["passes"]]
        document["sequence"] = [first, f"do-{kind.name}", *others]
        plugins = loaded(kind)
        job = signrules.job_from_dict(document, plugins=plugins)
        checks = signrules.evaluate(job, plugins=plugins).checks
        return [
            remedy.summary
            for check in checks
            if check.rule == "registration.frame"
            for remedy in check.remedies
        ]

    assert not any("Leave do-oven out" in each for each in remedies(OVEN))
    assert any("do-oven" in each for each in remedies(OVEN))
    assert any("Leave do-oven out" in each for each in remedies(evolve(OVEN, optional=True)))


FREE = {"meaning": "anything", "words": "Do it", "tools": False}
KINDS = [
    HandlingKind("stays", moves=False, **FREE),
    HandlingKind("moves", **FREE),
    HandlingKind("stays-as-load", moves=False, counts_as_load=True, **FREE),
    HandlingKind("turns", turns=True, **FREE),
    HandlingKind("nothing", on_sheet=False, moves=False, reaches=False, **FREE),
]


def with_two_spacers(job):
    # A dial has so many gaps that the brute force would take minutes.
    return evolve(job, printer=evolve(job.printer, gap=Spacers((0.4, 1.2))))


@pytest.mark.thorough
@settings(max_examples=effort(150))
@given(
    jobs(stated_gaps_only=True, max_passes=5, signs=False, sides=("front", "back"), kinds=KINDS)
    | jobs(max_passes=3, signs=False, kinds=KINDS).map(with_two_spacers)
)
def test_plans_are_those_of_the_brute_force(job):
    outcome = plan_job(Machine(Heights(job)))
    expected = BruteForce(job).run()
    if expected is None:
        assert outcome.plan is None
        assert outcome.conflict.proven
        return
    assert outcome.plan.optimal
    assert outcome.plan.loads == expected[0]
    assert audit(job, outcome.plan) == []


@settings(max_examples=effort(60))
@given(st.data())
def test_a_plugins_kind_like_a_built_in_one_gives_the_same_plan(data):
    twins = [evolve(kind, name=f"{name}-too") for name, kind in BUILTIN_KINDS.items()]
    job = data.draw(jobs(max_passes=4, signs=False, kinds=twins))
    plain = [evolve(item, does=item.does.removesuffix("-too")) for item in job.handling]
    other = evolve(job, handling=tuple(plain), handling_kinds=())
    one, two = (plan_job(Machine(Heights(each))) for each in (job, other))
    assert (one.plan is None) == (two.plan is None)
    if one.plan is not None:
        assert one.plan.cost == two.plan.cost


# --- the command, the schema, the contract ----------------------------------------------------

PLUGIN = """
from signrules import HandlingKind, hookimpl

@hookimpl
def signrules_handling_kinds():
    return [HandlingKind("wipe", "a sheet is wiped", "Wipe down", moves=False, minutes=2)]
"""


@pytest.fixture
def paths(tmp_path):
    (tmp_path / "job.json").write_text(json.dumps(with_handling({"does": "wipe"})), "utf-8")
    (tmp_path / "quay.py").write_text(PLUGIN, "utf-8")
    return tmp_path


def test_the_command_knows_the_kinds_of_its_plugins(paths, capsys):
    job, plugin = str(paths / "job.json"), str(paths / "quay.py")
    assert main(["check", job]) == 2
    assert "handling[0].does: found 'wipe'" in capsys.readouterr().err
    assert main(["check", job, "--plugin", plugin]) == 0
    assert "do-wipe: Wipe down (panel)" in capsys.readouterr().out
    assert main(["plugins", "--plugin", plugin]) == 0
    assert "  adds: 1 handling kind" in capsys.readouterr().out


def test_handling_stands_beside_the_set_up_of_a_load(paths, capsys):
    pausing = with_handling({"does": "wipe"}, {"does": "pause"})
    (paths / "job.json").write_text(json.dumps(pausing), "utf-8")
    asked = ["check", str(paths), "--by-cause", "--plugin", str(paths / "quay.py")]
    assert main(asked) == 0
    assert ", set-up 34 min, handling 2 min, pauses unknown: " in capsys.readouterr().out
    assert main([*asked, "--format", "json"]) == 0
    (load,) = json.loads(capsys.readouterr().out)["sequence"]
    assert load["setup_minutes"] == "34.0000"
    assert (load["handling_minutes"], load["pause_minutes"]) == ("2.0000", None)
    page = ["sheet", str(paths), "-o", str(paths / "pages"), *asked[3:]]
    assert main(page) == 0
    index = (paths / "pages" / "index.html").read_text("utf-8")
    assert '<th scope="col">Handling</th><th scope="col">Pauses</th>' in index
    assert ">2\N{NO-BREAK SPACE}min</td>" in index


def test_the_schema_of_jobs_has_the_kinds_of_its_plugins():
    jsonschema = pytest.importorskip("jsonschema")
    document = with_handling({"does": "wipe"})
    with_plugin = jsonschema.Draft202012Validator(signrules.schema("job", plugins=loaded(WIPE)))
    without = jsonschema.Draft202012Validator(signrules.schema("job"))
    assert with_plugin.is_valid(document)
    (error,) = without.iter_errors(document)
    assert list(error.absolute_path) == ["handling", 0, "does"]


def test_a_plugin_arrives_in_another_process_with_its_kinds(paths):
    plugins = load_plugins(files=[paths / "quay.py"])
    arrived = pickle.loads(pickle.dumps(plugins))
    assert arrived.handling_kinds == plugins.handling_kinds


@pytest.mark.thorough
def test_the_contract_of_hooks_draws_jobs_with_the_kinds_of_the_plugin():
    seen = set()

    @hookimpl
    def signrules_quantities(job):
        seen.update(item.does for item in job.handling)
        return {"wiped_sheets": float(sum(item.does == "wipe" for item in job.handling))}

    plugin = bringing(WIPE)
    plugin.signrules_quantities = signrules_quantities
    assert_hook_contract(plugin, max_examples=25)
    assert "wipe" in seen
    assert_hook_contract(bringing(OVEN), max_examples=5)
