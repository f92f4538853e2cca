"""The command: what it prints and the status that it ends with."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest
from scenario import pass_of, sign_job

import signrules
from signrules.cli import main


@pytest.fixture
def write(tmp_path):
    def write(document, name="job.json"):
        path = tmp_path / name
        path.write_text(json.dumps(document), encoding="utf-8")
        return str(path)

    return write


def test_a_sound_job(write, capsys):
    assert main(["check", write(sign_job())]) == 0
    out = capsys.readouterr().out
    assert out.startswith("an invented sign: CHECKS PASS, ")
    assert "Pass order, none cheaper" in out
    assert "WARNING: UV light" in out
    assert "authority having jurisdiction" in out


def test_json_is_to_dict(write, capsys):
    path = write(sign_job())
    assert main(["check", path, "--format", "json"]) == 0
    assert (
        json.loads(capsys.readouterr().out)
        == signrules.evaluate(signrules.read_job(path)).to_dict()
    )


def test_several_jobs_and_the_worst_status(write, capsys):
    good = write(sign_job())
    bad = write(sign_job(sequence=["dots", "ink-on-dots", "ground"]), "bad.json")
    assert main(["check", good, bad, "--format", "json"]) == 1
    assert [data["ok"] for data in json.loads(capsys.readouterr().out)] == [True, False]
    assert main(["check", bad, "nowhere.toml", good]) == 2
    captured = capsys.readouterr()
    assert "nowhere.toml" in captured.err
    assert "DO NOT PRINT: the head would come too close" in captured.out
    assert "The sequence as given, DO NOT PRINT" in captured.out


def test_bad_input_names_the_file_and_the_path(write, capsys):
    document = sign_job(standards=["us-ada-2011"])
    assert main(["check", write(document)]) == 2
    assert "standards[0]" in capsys.readouterr().err
    pass_of(document, "dots")["layer"] = 3
    assert main(["check", write(document)]) == 2
    error = capsys.readouterr().err
    assert "job.json" in error
    assert "passes[1]" in error
    assert "layers" in error


def test_order(write, capsys):
    assert main(["order", write(sign_job())]) == 0
    assert capsys.readouterr().out.split() == ["ground", "dots", "ink-on-dots"]
    document = sign_job()
    pass_of(document, "ground")["after"] = ["dots"]
    assert main(["order", write(document)]) == 1
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "No safe order" in captured.err
    assert main(["order", write(document), "--format", "json"]) == 1
    assert json.loads(capsys.readouterr().out)["order"] == []


def test_a_sign_that_misses_its_standard_has_an_order_all_the_same(write, capsys):
    document = sign_job()
    pass_of(document, "dots")["layers"] = 10
    path = write(document)
    assert main(["check", path]) == 1
    assert "DO NOT PRINT: the sign would fail its standard" in capsys.readouterr().out
    assert main(["order", path]) == 0
    assert capsys.readouterr().err.startswith("DO NOT PRINT: the sign would fail its standard\n")


def test_a_failing_plugin_ends_with_3(write, tmp_path, capsys):
    plugin = tmp_path / "broken.py"
    plugin.write_text("1/0", encoding="utf-8")
    path = write(sign_job())
    assert main(["check", path, "--plugin", str(plugin)]) == 3
    out = capsys.readouterr().out
    assert out.startswith("an invented sign: DO NOT PRINT: a plugin failed\n")
    assert "ZeroDivisionError" in out
    assert main(["order", path, "--plugin", str(plugin)]) == 3
    assert main(["check", path, "--plugin", str(plugin), "--block", "broken"]) == 0


def test_rules_and_explain(capsys):
    assert main(["rules"]) == 0
    listed = capsys.readouterr().out
    assert main(["rules", "--format", "json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    assert len(rows) == len(listed.splitlines())
    for row in rows:
        assert main(["explain", row["rule"]]) == 0
        assert "Why it matters" in capsys.readouterr().out
    assert main(["explain", "clearance.strike", "--format", "json"]) == 0
    assert json.loads(capsys.readouterr().out)["level"] == "STOP"
    assert main(["explain", "clearance.strik"]) == 2
    assert "did you mean clearance.strike?" in capsys.readouterr().err


def test_a_hostile_name_cannot_steer_the_terminal(write, capsys):
    assert main(["check", write(sign_job(name="\x1b[2J\u202egnp" + "x" * 10_000))]) == 0
    out = capsys.readouterr().out
    assert "\x1b" not in out
    assert "\u202e" not in out


def test_as_a_module(write):
    shown = subprocess.run(
        [sys.executable, "-m", "signrules", "order", write(sign_job())],
        capture_output=True,
        text=True,
        check=True,
    )
    assert shown.stdout.split() == ["ground", "dots", "ink-on-dots"]


def test_a_terminal_that_cannot_show_a_character_still_gets_the_report(write):
    job = sign_job(name="Büro ⠗")
    path = write(job)
    for form in ("text", "json"):
        shown = subprocess.run(
            [sys.executable, "-m", "signrules", "check", path, "--format", form],
            capture_output=True,
            env=os.environ | {"PYTHONIOENCODING": "ascii"},
        )
        assert shown.returncode == 0, shown.stderr
        assert b"\\u2817" in shown.stdout


def test_a_fault_of_signrules_itself_is_no_verdict(write, monkeypatch, capsys):
    def broken(*_, **__):
        raise RuntimeError("a fault of ours")

    monkeypatch.setattr("signrules.evaluation.evaluate", broken)
    assert main(["check", write(sign_job())]) == 3
    assert "a fault of ours" in capsys.readouterr().err


def test_why(write, capsys):
    assert main(["order", write(sign_job()), "--why"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[2] == "ink-on-dots: ink-on-dots lands on the ink of dots"
    assert main(["order", write(sign_job()), "--why", "--format", "json"]) == 0
    assert [place["kind"] for place in json.loads(capsys.readouterr().out)["why"]] == [
        "first",
        "unsafe",
        "edge",
    ]


def test_a_sequence_is_told_what_the_best_order_would_save(write, capsys):
    document = sign_job(standards=[], signs=[])
    gaps = {"a": 0, "b": 1, "c": 0}
    document["passes"] = [
        {"id": n, "ink": "black", "areas": [[20 * i, 0, 10, 10]], "gap": {"extra": gap}}
        for i, (n, gap) in enumerate(gaps.items())
    ]
    document["sequence"] = ["a", "b", "c"]
    path = write(document)
    assert main(["check", path]) == 0
    assert "2 minutes less in the order a, c, b" in capsys.readouterr().out
    plan = signrules.evaluate(signrules.read_job(path)).to_dict()["plan"]
    assert plan["judged"]
    assert plan["best"]["order"] == ["a", "c", "b"]
    assert plan["setup_minutes"] - plan["best"]["setup_minutes"] == 2


@pytest.mark.parametrize(
    ("minutes", "saved"),
    [
        ({"load": 4, "gap": 2, "alignment": 12}, "2 minutes less in the order a, c, b"),
        ({"load": 1, "gap": 1, "alignment": 0}, "1 minute less in the order a, c, b"),
        ({}, "1 setting less in the order a, c, b"),
    ],
)
def test_one_is_no_plural(minutes, saved):
    # Gaps 0, 1, 0: three settings in the order given, two where a and c stand together.
    document = sign_job(standards=[], signs=[])
    document["printer"]["minutes"] = minutes
    document["passes"] = [
        {
            "id": n,
            "ink": "black",
            "areas": [[20 * i, 0, 10, 10]],
            "gap": {"extra": gap},
            "directions": 1,
        }
        for i, (n, gap) in enumerate({"a": 0, "b": 1, "c": 0}.items())
    ]
    document["sequence"] = ["a", "b", "c"]
    result = signrules.evaluate(signrules.job_from_dict(document))
    assert f"; {saved}:" in signrules.evaluation_text(result)


def test_one_bed_load_and_one_minute_are_no_plural_either():
    document = sign_job(standards=[], signs=[])
    document["printer"]["minutes"] = {"load": 1, "gap": 0, "alignment": 0}
    document["media"].append({"id": "other", "thickness": "3 mm", "size": [100, 100], "load": "2"})
    document["passes"] = [
        {
            "id": n,
            "ink": "black",
            "media": media,
            "gap": {"extra": 0},
            "directions": 1,
            "registers_to": [],
        }
        for n, media in {"a": "panel", "b": "other", "c": "panel"}.items()
    ]
    document["sequence"] = ["a", "b", "c"]
    given = signrules.evaluate(signrules.job_from_dict(document))
    assert (
        "(3 bed loads, 3 minutes of set-up); 1 bed load less in the order a, c, b:"
        in signrules.evaluation_text(given)
    )
    document["passes"] = document["passes"][:1]
    del document["sequence"]
    single = signrules.evaluate(signrules.job_from_dict(document))
    assert "(1 bed load, 1 minute of set-up):" in signrules.evaluation_text(single)
    assert "1\u00a0minute of set-up" in signrules.run_sheet(single)


def test_an_interrupt_and_a_reader_that_has_gone(write, monkeypatch, capsys):
    def stops(*_, **__):
        raise KeyboardInterrupt

    path = write(sign_job())
    monkeypatch.setattr("signrules.evaluation.evaluate", stops)
    assert main(["check", path]) == 130
    assert capsys.readouterr().err == "Stopped.\n"


def test_a_plan_that_is_not_there_cannot_be_drawn(write, capsys):
    document = sign_job()
    pass_of(document, "ground")["after"] = ["dots"]
    assert main(["graph", write(document), "--plan"]) == 1
    captured = capsys.readouterr()
    assert captured.out == ""
    verdict, why = captured.err.splitlines()[:2]
    assert verdict == "DO NOT PRINT: no order of the passes works"
    assert why.startswith("No safe order: ")


def test_a_plugin_that_could_not_be_loaded_is_listed(tmp_path, capsys):
    file = tmp_path / "broken.py"
    file.write_text("1 / 0\n", encoding="utf-8")
    assert main(["plugins", "--plugin", str(file)]) == 3
    assert "FAILED: ZeroDivisionError" in capsys.readouterr().out


def test_the_estimate_of_an_incomplete_evaluation_ends_with_its_status(write, tmp_path, capsys):
    file = tmp_path / "failing.py"
    file.write_text(
        "from signrules import hookimpl\n\n@hookimpl\ndef signrules_quantities(job, order,"
        " quantities, settings):\n    raise ValueError('boom')\n",
        encoding="utf-8",
    )
    assert main(["estimate", write(sign_job()), "--plugin", str(file)]) == 3
    captured = capsys.readouterr()
    assert "boom" in captured.out + captured.err


def test_a_stated_sequence_is_estimated_though_a_plugin_fails_and_the_status_says_so(
    write, tmp_path, capsys
):
    # The job's own order is replayed whatever came of it; but nobody knows what the plugin would
    # have added.
    plugin = tmp_path / "broken.py"
    plugin.write_text("1/0", encoding="utf-8")
    path = write(sign_job(sequence=["ground", "dots", "ink-on-dots"]))
    assert main(["estimate", path]) == 0
    head, verdict, *whole = capsys.readouterr().out.splitlines()
    assert verdict.startswith("CHECKS PASS")
    assert main(["estimate", path, "--plugin", str(plugin)]) == 3
    captured = capsys.readouterr()
    assert {head, *whole} <= set(captured.out.splitlines())
    assert "DO NOT PRINT: a plugin failed. This is what it would take as it stands." in captured.out
    assert "ZeroDivisionError" in captured.err


@pytest.mark.parametrize("arguments", [["order"], ["estimate"], ["graph"], ["graph", "--plan"]])
def test_a_status_of_3_is_never_without_a_word(write, tmp_path, capsys, arguments):
    plugin = tmp_path / "broken.py"
    plugin.write_text("1/0", encoding="utf-8")
    command, *options = arguments
    sound, hopeless = sign_job(), sign_job()
    pass_of(hopeless, "ground")["after"] = ["dots"]
    for document in (sound, hopeless):
        assert main([command, write(document), *options, "--plugin", str(plugin)]) == 3
        error = capsys.readouterr().err
        assert "ZeroDivisionError" in error
        assert ("No safe order" in error) == (document is hopeless)


def test_only_documents_that_are_none_give_no_json(tmp_path, capsys):
    assert main(["check", str(tmp_path / "nowhere.json"), "--format", "json"]) == 2
    captured = capsys.readouterr()
    assert captured.out == ""
    assert "nowhere.json" in captured.err


def test_the_names_that_a_session_offers():
    assert dir(signrules) == sorted(["__version__", *signrules.__all__])


def test_a_fault_before_anything_is_judged_is_no_verdict_either(write, monkeypatch, capsys):
    def broken(*_, **__):
        raise RuntimeError("a slip of ours")

    monkeypatch.setattr("signrules.documents.read_job", broken)
    assert main(["graph", write(sign_job())]) == 3
    assert "a slip of ours" in capsys.readouterr().err


@pytest.mark.parametrize("name", ["stdout", "stderr"])
def test_a_stream_that_was_closed_before_the_start_changes_no_status(write, monkeypatch, name):
    monkeypatch.setattr(sys, name, None)
    assert main(["check", write(sign_job())]) == 0
    assert main(["check", "no-such-file.toml"]) == 2
    getattr(sys, name).close()


def test_the_time_of_a_rule_in_seconds(write, capsys):
    path = write(sign_job())
    assert main(["check", path, "--seconds", "60"]) == 0
    assert "CHECKS PASS" in capsys.readouterr().out
    for seconds in ("0", "inf", "soon"):
        with pytest.raises(SystemExit) as ended:
            main(["check", path, "--seconds", seconds])
        assert ended.value.code == 2
        assert f"found '{seconds}', expected seconds above 0" in capsys.readouterr().err


def too_hard_for_one_state():
    """Over 1.17 mm of dots and on the sheet beside them, within a throw of 2.2 mm: only a search
    can rule it out.
    """
    document = sign_job(standards=[], signs=[])
    document["printer"]["max_throw"] = 2.2
    document["passes"] = [
        {"id": "dots", "ink": "clear", "layers": 39, "areas": [[0, 0, 50, 50]], "gap": "auto"},
        {
            "id": "wide",
            "ink": "black",
            "areas": [[0, 0, 150, 50]],
            "gap": "auto",
            "after": ["dots"],
        },
    ]
    return document


@pytest.mark.parametrize("command", [("check",), ("order",), ("sheet", "-o", "{sheet}")])
def test_the_states_of_the_planner(write, capsys, tmp_path, command):
    path = write(too_hard_for_one_state())
    words = [word.format(sheet=tmp_path / "sheet.html") for word in command]

    def said(*more):
        assert main([*words, path, *more]) == 1
        shown = capsys.readouterr()
        return (
            shown.out
            + shown.err
            + ((tmp_path / "sheet.html").read_text() if "sheet" in command else "")
        )

    given_up = said("--states", "1")
    assert "Allow it more states: --states, in Python budget=." in given_up
    assert "Allow it more states" not in said("--states", "10000")
    assert "Allow it more states" not in said()
    for states in ("0", "-1", "many", "9" * 12):
        with pytest.raises(SystemExit) as ended:
            main([*words, path, "--states", states])
        assert ended.value.code == 2
        assert "expected a whole number from 1 to 1000000000" in capsys.readouterr().err
