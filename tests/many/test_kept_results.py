"""Results kept in a folder: the same bytes as without one, whatever interrupted the work before.

Expected values come from the same jobs evaluated without a folder.
"""

from __future__ import annotations

import json
import multiprocessing
import os
from concurrent.futures import ProcessPoolExecutor
from datetime import date
from functools import partial
from itertools import islice

import pytest
from scenario import pass_of, sign_job

from signrules import Evaluation, NotEvaluated, SignrulesError, evaluate_many, load_plugins
from signrules.cli import main
from signrules.many_jobs.kept_results import SUFFIX, fingerprint
from signrules.shop import RuleChange, Shop

DAY = date(2027, 3, 1)
DIES = "SIGNRULES_TEST_DIES"
"""While a file of the name that this variable holds is there, a worker dies on a job."""

PLUGIN = """
from signrules import hookimpl

@hookimpl
def signrules_quantities(job, order, quantities):
    return {"cartons": NUMBER}
"""


def short_report(evaluation: Evaluation) -> dict:
    return evaluation.to_dict(remedies=False)


def name_and_word(evaluation: Evaluation, *, word: str) -> list[str]:
    return [evaluation.job.name, word]


def must_not_run(evaluation: Evaluation) -> dict:
    raise AssertionError("evaluated again")


def dies_on_five(evaluation: Evaluation) -> dict:
    if evaluation.job.name == "sign 5" and os.path.exists(os.environ.get(DIES, "")):
        os._exit(9)
    return evaluation.to_dict(remedies=False)


def jobs_of(count: int) -> list[dict]:
    jobs = [sign_job(name=f"sign {number}") for number in range(count)]
    for number, job in enumerate(jobs):
        pass_of(job, "dots")["layers"] = 20 + number
    return jobs


def in_bytes(jobs, reduce=short_report, **options) -> list[bytes]:
    items = evaluate_many(jobs, reduce=reduce, today=DAY, **options)
    return [f"{item.number} {json.dumps(item.result)} {item.error}".encode() for item in items]


def were_kept(jobs, reduce=short_report, today=DAY, **options) -> list[bool]:
    return [item.was_kept for item in evaluate_many(jobs, reduce=reduce, today=today, **options)]


@pytest.mark.thorough
def test_the_same_bytes_with_and_without_a_folder(tmp_path):
    jobs = [*jobs_of(6), {"signrules": 1}]
    alone = in_bytes(jobs)
    assert in_bytes(jobs, kept_in=tmp_path / "deep" / "kept") == alone
    assert in_bytes(jobs, kept_in=tmp_path / "deep" / "kept") == alone
    assert b"faults" in alone[6]  # What is no job is told again.
    assert were_kept(jobs, kept_in=tmp_path / "deep" / "kept") == [True] * 6 + [False]


def test_the_report_is_kept_where_nothing_else_is_asked(tmp_path):
    (made,) = evaluate_many([sign_job()], kept_in=tmp_path, today=DAY)
    (whole,) = evaluate_many([sign_job()], today=DAY)
    assert made.result == whole.result.to_dict()


def test_work_that_was_left_goes_on(tmp_path):
    jobs = jobs_of(8)
    with_three = evaluate_many(jobs, reduce=short_report, today=DAY, kept_in=tmp_path)
    assert len(list(islice(with_three, 3))) == 3
    with_three.close()
    assert len(list(tmp_path.iterdir())) == 3
    assert were_kept(jobs, kept_in=tmp_path) == [True] * 3 + [False] * 5


@pytest.mark.parametrize(
    "damage",
    [
        lambda data: data[: len(data) // 2],
        lambda data: b"",
        lambda data: b"[]",
        lambda data: b"[" * 100_000,
        lambda data: data.replace(b'"job":"sign 1"', b'"job":"sign 9"'),
    ],
    ids=["half", "empty", "another shape", "too deep", "changed"],
)
def test_a_damaged_file_is_made_anew(tmp_path, damage):
    jobs = jobs_of(2)
    alone = in_bytes(jobs, kept_in=tmp_path)
    sound = {path: path.read_bytes() for path in tmp_path.iterdir()}
    (second,) = [path for path, data in sound.items() if b'"job":"sign 1"' in data]
    second.write_bytes(damage(sound[second]))
    assert second.read_bytes() != sound[second]
    assert were_kept(jobs, kept_in=tmp_path) == [True, False]
    assert second.read_bytes() == sound[second]
    assert in_bytes(jobs, kept_in=tmp_path) == alone


def test_nothing_is_taken_that_was_made_in_another_way(tmp_path):
    jobs = jobs_of(1)
    assert were_kept(jobs, kept_in=tmp_path) == [False]
    assert were_kept(jobs, kept_in=tmp_path) == [True]
    strict = Shop(accepted_plugins={})
    assert were_kept(jobs, kept_in=tmp_path, shop=strict) == [True]
    rule = load_plugins().rules[-1].rule.name
    lenient = Shop({rule: RuleChange(accept_absence="tried by hand")})
    assert were_kept(jobs, kept_in=tmp_path, shop=lenient) == [False]
    assert were_kept(jobs, kept_in=tmp_path, today=date(2027, 3, 2)) == [False]
    assert were_kept(jobs, kept_in=tmp_path, budget=5) == [False]
    assert were_kept([sign_job(name="sign 0!")], kept_in=tmp_path) == [False]
    for word in ("one", "two"):
        assert were_kept(jobs, partial(name_and_word, word=word), kept_in=tmp_path) == [False]


def test_a_changed_plugin_file_is_another_plugin(tmp_path):
    file, found = tmp_path / "cartons.py", []
    for number in ("1.0", "2.0", "1.0"):
        file.write_text(PLUGIN.replace("NUMBER", number), encoding="utf-8")
        plugins = load_plugins(files=[file])
        found += were_kept(jobs_of(1), kept_in=tmp_path / "kept", plugins=plugins)
    assert found == [False, False, True]


def test_a_plugin_that_was_loaded_before_its_file_changed_keeps_nothing_for_the_new_one(tmp_path):
    def cartons(plugins):
        (item,) = evaluate_many(jobs_of(1), today=DAY, plugins=plugins, kept_in=tmp_path / "kept")
        return item.result["quantities"]["cartons"], item.was_kept

    file = tmp_path / "cartons.py"
    file.write_text(PLUGIN.replace("NUMBER", "1.0"), encoding="utf-8")
    old = load_plugins(files=[file])
    file.write_text(PLUGIN.replace("NUMBER", "2.0"), encoding="utf-8")
    assert cartons(old) == (1.0, False)
    assert cartons(load_plugins(files=[file])) == (2.0, False)
    assert cartons(old) == (1.0, True)


def test_what_cannot_be_kept_is_said(tmp_path):
    with pytest.raises(SignrulesError, match="top of a module"):
        evaluate_many([], reduce=lambda result: result.ok, kept_in=tmp_path)
    with pytest.raises(ValueError, match="carry and kept_in"):
        evaluate_many([], carry=True, kept_in=tmp_path)
    (tmp_path / "file").write_text("taken", encoding="utf-8")
    with pytest.raises(SignrulesError, match="a folder to keep results in"):
        evaluate_many([], kept_in=tmp_path / "file")


def test_a_failure_is_not_kept(tmp_path):
    (item,) = evaluate_many(jobs_of(1), reduce=must_not_run, kept_in=tmp_path)
    assert isinstance(item.error, NotEvaluated)
    assert list(tmp_path.iterdir()) == []


def test_a_set_has_one_fingerprint():
    """The order of a set of texts differs from process to process."""
    words = [f"word {number}" for number in range(50)]
    assert fingerprint(frozenset(words)) == fingerprint(frozenset(reversed(words)))
    assert fingerprint({"a"}) != fingerprint({"b"})
    assert fingerprint(1) != fingerprint(1.0) != fingerprint("1.0")


@pytest.mark.thorough
def test_a_worker_that_dies_loses_nothing(tmp_path, monkeypatch):
    trap = tmp_path / "trap"
    trap.write_text("", encoding="utf-8")
    monkeypatch.setenv(DIES, str(trap))
    jobs, kept = jobs_of(8), tmp_path / "kept"
    never_interrupted = in_bytes(jobs)

    spawned = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=spawned) as executor:
        interrupted = in_bytes(jobs, dies_on_five, executor=executor, kept_in=kept)
    assert b"ended abruptly" in interrupted[5]
    done = len(list(kept.glob(f"*{SUFFIX}")))
    assert 0 < done < 8
    trap.unlink()
    assert sum(were_kept(jobs, dies_on_five, kept_in=kept)) == done
    assert in_bytes(jobs, dies_on_five, kept_in=kept) == never_interrupted


@pytest.mark.thorough
def test_at_the_command_line(tmp_path, capsys):
    folder = tmp_path / "jobs"
    folder.mkdir()
    for number, job in enumerate(jobs_of(2)):
        (folder / f"{number}.json").write_text(json.dumps(job), encoding="utf-8")

    def printed(*options: str) -> str:
        main(["check", str(folder), *options])
        captured = capsys.readouterr()
        assert captured.err == ""
        return captured.out

    for form in ("text", "jsonl", "json"):
        plain = printed("--format", form)
        kept = ("--format", form, "--kept-in", str(folder))
        assert [printed(*kept), printed(*kept)] == [plain] * 2
    # Text, and the plain data of both other formats.
    assert len(list(folder.glob(f"*{SUFFIX}"))) == 2 * 2
    assert printed(*kept, "--jobs", "2") == plain


@pytest.mark.parametrize(
    "beside", [["--in-a-row"], ["--by-cause"], ["--format", "sarif"], ["--mend", "new.toml"]]
)
def test_options_that_need_more_are_refused(tmp_path, capsys, beside):
    job = tmp_path / "job.json"
    job.write_text(json.dumps(sign_job()), encoding="utf-8")
    assert main(["check", str(job), "--kept-in", str(tmp_path / "kept"), *beside]) == 2
    assert "--kept-in: found" in capsys.readouterr().err
    assert not (tmp_path / "kept").exists()
