"""The first line of every report: what was decided, and what was not looked at."""

from __future__ import annotations

import json
import re
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from types import SimpleNamespace
from xml.etree import ElementTree

import pytest
from attrs import evolve
from effort import effort, first_quick
from hypothesis import given, settings
from scenario import pass_of, sign_job
from strategies import jobs

import signrules
from signrules.cli import main
from signrules.evaluation.verdict import WORST_FIRST, worst_reason
from signrules.reports.text_report import evaluation_text
from signrules.rules.checks import Level, Outcome

ROOT = Path(__file__).parents[2]
CLINIC = ROOT / "docs" / "examples" / "clinic.toml"
SCRAPES = ["dots", "ink-on-dots", "ground"]


def judged(document, **options):
    return signrules.evaluate(signrules.job_from_dict(document), **options)


def rule_of_a_shop(*, level=Level.STOP, decides=False, broken=True):
    """Plugins with one rule that breaks, or fails where `broken` is None."""

    @signrules.rule(
        "ourshop.layers",
        each="pass",
        level=level,
        decides=decides,
        source=signrules.shop_practice("an invented limit"),
    )
    def layers(item):
        """Layers are few.

        Why it matters: a test.
        A job that breaks it: every one.
        One that meets it: none.
        """
        if broken is None:
            raise RuntimeError("out of paper")
        most = 0 if broken else 999
        yield signrules.check("the layers", measured=item.layers, most=most, unit="layers")

    def signrules_rule_sets():
        return [signrules.RuleSet("ourshop", [layers])]

    hook = signrules.hookimpl(signrules_rule_sets)
    shop = SimpleNamespace(__name__="ourshop", signrules_rule_sets=hook)
    return signrules.load_plugins(objects=[shop])


def cyclic():
    document = sign_job()
    pass_of(document, "ground")["after"] = ["dots"]
    return document


def narrow(least):
    """The clearance of the dots is 1.76 mm: 4.5 + 1 - (3 + 24 x 0.03 + 0.02) mm, worked by hand."""
    document = sign_job()
    document["printer"]["min_clearance"] = least
    document["sequence"] = ["ground", "dots", "ink-on-dots"]
    return document


def scraping(**changes):
    """Dots of 0.72 mm stand before the ground is printed with its head at 0.5 mm over the sheet."""
    document = sign_job(sequence=SCRAPES, **changes)
    document["printer"] |= {"base_gap": "0.5 mm", "min_clearance": "0.3 mm"}
    return document


# --- what is said ---------------------------------------------------------------------------------


def test_the_sample_job_is_whole():
    result = judged(signrules.sample_job())
    open_ends = {check.rule for check in result.unassessed}
    assert result.verdict == f"CHECKS PASS, {len(open_ends)} not checked"
    # A translator is a plugin, and no table limits everything that the sign states.
    assert open_ends <= {"braille.text", "tables.silent"}
    assert result.settled


def test_what_was_not_checked_and_what_is_to_review_are_counted():
    document = sign_job()
    document["printer"]["max_throw"] = "2 mm"
    result = judged(document)
    broken = [check for check in result.checks if check.outcome is Outcome.BROKEN]
    review = [check for check in broken if check.level is Level.REVIEW]
    unmade = [check for check in result.checks if check.outcome is Outcome.UNASSESSED]
    assert review
    assert unmade
    assert result.verdict == f"CHECKS PASS, {len(review)} to review, {len(unmade)} not checked"


def test_the_counts_are_those_of_the_lists_below():
    document = sign_job()
    document["printer"]["max_throw"] = "2 mm"
    lines = evaluation_text(judged(document)).splitlines()

    def listed(title):
        start = lines.index(title) + 1
        return [line for line in lines[start : lines.index("", start)] if line.startswith("  [")]

    counts = {what: int(n) for n, what in re.findall(r"(\d+) (to review|not checked)", lines[0])}
    assert counts["to review"] == len(listed("To review:"))
    assert counts["not checked"] == len(listed("Not checked:"))


def test_what_is_waived_is_not_to_review():
    document = sign_job()
    document["printer"]["max_throw"] = "2 mm"
    document["waivers"] = [
        {"rule": "throw.reach", "subject": f"passes.{name}", "reason": "tried", "by": "nobody"}
        for name in ("dots", "ink-on-dots")
    ]
    document["passes"][1]["directions"] = 1
    assert "to review" in judged(document | {"waivers": []}).verdict
    assert "to review" not in judged(document).verdict


def test_a_failure_that_the_shop_accepts_was_not_looked_at_either():
    shop = signrules.shop_from_dict(
        {"signrules": 1, "rules": {"ourshop": {"layers": {"accept_absence": "mended on Monday"}}}}
    )
    result = judged(sign_job(), plugins=rule_of_a_shop(broken=None), shop=shop)
    assert result.ok
    assert result.verdict.endswith(f", {len(result.accepted)} accepted as absent")
    assert len(result.accepted) == 3  # One for each pass.


@pytest.mark.parametrize(
    ("document", "plugins", "reason"),
    [
        (sign_job(), rule_of_a_shop(broken=None), "a rule failed"),
        (cyclic(), rule_of_a_shop(broken=None), "a rule failed"),
        (cyclic(), None, "no order of the passes works"),
        (scraping(), None, "the head would hit"),
        (narrow("1.8 mm"), None, "the head would come too close"),
        (
            sign_job(sequence=["ground", "ink-on-dots", "dots"]),
            None,
            "something would be done too early",
        ),
        (sign_job(), rule_of_a_shop(decides=True), "the rule ourshop.layers forbids this order"),
        (sign_job(), rule_of_a_shop(), "the rule ourshop.layers would be broken"),
        (sign_job(), rule_of_a_shop(level=Level.REVIEW), ""),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_the_worst_reason_in_words(document, plugins, reason):
    result = judged(document, plugins=plugins)
    assert worst_reason(result) == reason
    assert result.verdict.startswith(f"DO NOT PRINT: {reason}" if reason else "CHECKS PASS")
    assert result.verdict.endswith(reason)


def test_a_sign_that_would_fail_its_standard():
    document = sign_job()
    document["signs"][0]["braille"]["dot_diameter"] = "3 mm"
    assert judged(document).verdict == "DO NOT PRINT: the sign would fail its standard"
    # A scrape is worse than that.
    assert judged(scraping(signs=document["signs"])).verdict == "DO NOT PRINT: the head would hit"


def test_what_holds_for_a_part_of_the_tolerance_might_happen():
    # The thickness of the sheet cancels, the base gap does not: 1.4 to 1.6 mm, of which 1.5 mm
    # must stay free.
    document = sign_job()
    document["printer"] |= {"base_gap": "1.5 mm +- 0.1 mm", "min_clearance": "1.5 mm"}
    document["passes"] = [pass_of(document, "ground") | {"gap": {"extra": "0.05 mm"}}]
    document |= {"signs": [], "standards": [], "sequence": ["ground"]}
    result = judged(document)
    (margin,) = [check for check in result.checks if check.rule == "clearance.margin"]
    assert margin.outcome is Outcome.DOUBTFUL
    assert result.verdict == "DO NOT PRINT: the head might come too close"


def stopped_by(rule, result):
    """An evaluation in which a check of a rule is broken, at level STOP."""
    found = next(check for check in result.checks if check.rule == rule)
    broken = evolve(found, level=Level.STOP, outcome=Outcome.BROKEN)
    return evolve(result, checks=(*result.checks, broken))


def test_a_gap_that_nobody_can_set():
    result = judged(sign_job())
    assert (
        stopped_by("gap.settable", result).verdict
        == "DO NOT PRINT: the printer cannot set this gap"
    )


def test_reasons_are_ranked_as_they_are_listed():
    result = judged(signrules.sample_job())
    ranked = [
        ("clearance.strike", "the head would hit"),
        ("clearance.margin", "the head would come too close"),
        ("order.sequence", "something would be done too early"),
        ("gap.settable", "the printer cannot set this gap"),
        ("registration.frame", "passes would not register"),
        ("braille.numbers", "the braille would not say what the sign says"),
        ("braille.dot-height", "the sign would fail its standard"),
        ("hold.slip", "the rule hold.slip would be broken"),
    ]
    known = {check.rule for check in result.checks}
    ranked = [(rule, words) for rule, words in ranked if rule in known]
    assert len(ranked) >= 6
    for rule, words in reversed(ranked):
        result = stopped_by(rule, result)
        assert result.verdict == f"DO NOT PRINT: {words}"


def test_no_order_found_is_said_where_not_all_were_tried():
    result = judged(cyclic())
    unproven = evolve(result, conflict=evolve(result.conflict, proven=False))
    assert unproven.verdict == "DO NOT PRINT: no order found, but not all were tried"


def test_a_failed_audit_and_a_plugin_that_does_not_load(tmp_path):
    result = judged(sign_job())
    fault = signrules.Fault("(audit)", "signrules", "", "plan", "a step too many")
    wrong = evolve(result, faults=(fault,))
    assert wrong.verdict == "DO NOT PRINT: the plan did not pass its audit"
    broken = tmp_path / "broken.py"
    broken.write_text("1 / 0\n")
    plugins = signrules.load_plugins(files=[broken])
    assert judged(sign_job(), plugins=plugins).verdict == "DO NOT PRINT: a plugin failed"


@settings(max_examples=effort(40), deadline=None)
@given(jobs(sequence=True) | jobs())
def test_a_verdict_passes_where_the_evaluation_is_ok_alone(job):
    result = signrules.evaluate(job)
    assert result.verdict.startswith("CHECKS PASS") == result.ok
    assert result.verdict.startswith("DO NOT PRINT: ") == (not result.ok)
    assert (worst_reason(result) == "") == result.ok
    stop = [check for check in result.checks if check.level is Level.STOP]
    unmade = [check for check in stop if check.outcome is Outcome.UNASSESSED]
    assert result.settled == (result.ok and not unmade)


def test_no_reason_calls_anything_safe_or_in_order():
    for _, words in WORST_FIRST:
        assert not re.search(r"\bsafe|\bin order\b|\bOK\b", words, flags=re.IGNORECASE)


# --- settled --------------------------------------------------------------------------------------


def test_a_check_of_level_stop_that_could_not_be_made_leaves_it_unsettled():
    document = sign_job()
    del document["signs"][0]["braille"]["dot_diameter"]
    result = judged(document)
    assert result.ok
    assert not result.settled
    assert "Not settled: " in evaluation_text(result)
    whole = signrules.sample_job()
    assert judged(whole).settled
    assert "Not settled: " not in evaluation_text(judged(whole))


def test_a_job_that_is_not_ok_is_not_settled():
    document = signrules.sample_job()
    document["signs"][0]["braille"]["dot_diameter"] = "3 mm"
    result = judged(document)
    assert not any(check.level is Level.STOP for check in result.unassessed)
    assert not result.settled


@pytest.fixture
def files(tmp_path, monkeypatch):
    """Two jobs that pass, of which one is settled, and one that scrapes."""
    documents = {"open": sign_job(), "settled": signrules.sample_job(), "wrong": scraping()}
    for name, document in documents.items():
        signrules.write_job(signrules.job_from_dict(document), tmp_path / f"{name}.json")
    monkeypatch.chdir(tmp_path)
    return documents


FORMS = ("text", "json", "jsonl", "sarif", "junit")


@pytest.mark.parametrize("form", first_quick(2, FORMS, pytest.mark.thorough))
def test_strict_ends_with_1_where_something_is_not_settled(files, form, capsys):
    def status(*arguments):
        ended = main(["check", *arguments, "--format", form])
        capsys.readouterr()
        return ended

    assert status("open.json") == 0
    assert status("open.json", "--strict") == 1
    assert status("settled.json", "--strict") == 0
    assert status("settled.json", "open.json", "--strict") == 1
    assert status("wrong.json", "--strict") == 1
    assert status("nowhere.json", "open.json", "--strict") == 2


@pytest.mark.thorough
@pytest.mark.parametrize("second", first_quick(1, ["open", "settled"]))
def test_strict_counts_in_workers_too(files, second, capsys):
    command = ["check", "settled.json", f"{second}.json", "--strict", "--jobs", "2"]
    assert main(command) == {"open": 1, "settled": 0}[second]
    capsys.readouterr()


def test_the_help_says_what_strict_does(capsys):
    with pytest.raises(SystemExit):
        main(["check", "--help"])
    told = " ".join(capsys.readouterr().out.split())
    assert "--strict end with 1 where a check of level STOP could not be made" in told
    assert "Exit status: 0 nothing of level STOP is broken or doubtful; 1 something is" in told


# --- the same everywhere --------------------------------------------------------------------------


def test_each_of_several_files_has_its_own_verdict(files, capsys):
    verdicts = {name: judged(document).verdict for name, document in files.items()}
    names = [f"{name}.json" for name in files]
    main(["check", *names])
    told = capsys.readouterr().out
    for name, verdict in verdicts.items():
        assert re.search(rf"^{name}\.json\n.*: {re.escape(verdict)}$", told, flags=re.MULTILINE)
    main(["check", *names, "--format", "json"])
    reports = json.loads(capsys.readouterr().out)
    assert [report["verdict"] for report in reports] == list(verdicts.values())
    assert [report["settled"] for report in reports] == [False, True, False]
    main(["check", *names, "--format", "sarif"])
    (run,) = json.loads(capsys.readouterr().out)["runs"]
    decided = run["properties"]["verdicts"]
    assert [each["uri"] for each in decided] == names
    assert [each["verdict"] for each in decided] == list(verdicts.values())
    assert [each["settled"] for each in decided] == [False, True, False]
    main(["check", *names, "--format", "junit"])
    suites = ElementTree.fromstring(capsys.readouterr().out.encode())
    for suite, verdict in zip(suites, verdicts.values(), strict=True):
        properties = {each.get("name"): each.get("value") for each in suite.find("properties")}
        assert properties["verdict"] == verdict
        assert properties["settled"] == ("yes" if verdict == verdicts["settled"] else "no")


def test_live_many_and_workers_say_the_same(files):
    once = [judged(document) for document in files.values()]
    wanted = [(result.verdict, result.settled) for result in once]
    live = signrules.Live()
    again = [live.evaluate(signrules.job_from_dict(document)) for document in files.values()]
    assert [(result.verdict, result.settled) for result in again] == wanted
    names = [f"{name}.json" for name in files]
    with ProcessPoolExecutor(2) as executor:
        found = [item.result for item in signrules.evaluate_many(names, executor=executor)]
    assert [(result.verdict, result.settled) for result in found] == wanted


def test_commands_that_print_something_else_say_the_verdict_too(capsys, tmp_path):
    verdict = signrules.evaluate(signrules.read_job(CLINIC)).verdict
    assert main(["order", str(CLINIC)]) == 0
    told = capsys.readouterr()
    assert told.out.split() == ["ground", "dots", "ink-on-dots"]
    assert told.err.splitlines()[0] == verdict
    assert main(["order", str(CLINIC), "--format", "json"]) == 0
    told = capsys.readouterr()
    assert json.loads(told.out)["verdict"] == verdict
    assert json.loads(told.out)["settled"] is False
    assert told.err == ""
    assert main(["estimate", str(CLINIC)]) == 0
    assert capsys.readouterr().out.splitlines()[1] == verdict
    assert main(["estimate", str(CLINIC), "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["verdict"] == verdict
    assert main(["graph", str(CLINIC), "--plan", "--format", "mermaid"]) == 0
    assert f's0["{verdict}"]' in capsys.readouterr().out


BOXED = re.compile(r"\bIN ORDER\b|\bSAFE TO PRINT\b|\bNO SAFE ORDER\b|\bNOT SAFE\b|\bINCOMPLETE\b")


def test_words_that_read_as_harmless_stand_nowhere():
    docs = ROOT / "docs"
    pages = [ROOT / "README.md", *docs.rglob("*.md"), *docs.glob("examples/*.toml")]
    sheet = (ROOT / "signrules" / "sheet").glob("*.j2")
    package = ROOT / "signrules"
    code = [*package.glob("reports/*.py"), *package.glob("evaluation/*.py")]
    files = [page for page in [*pages, *sheet, *code] if page.name != "changelog.md"]
    assert len(files) > 30
    for file in files:
        assert BOXED.findall(file.read_text("utf-8")) == [], file.name
