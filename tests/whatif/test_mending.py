"""Mending: by hand on small jobs, as a law on generated ones, and through the command."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

import jsonpatch
import pytest
from effort import effort
from house import always, ground_first, options
from hypothesis import HealthCheck, given, settings
from remedies.moved import moved_jobs
from scenario import sign_job

import signrules
from signrules import Interval, JobError
from signrules.cli import main
from signrules.remedies.candidates import of_job, of_section, worded_change
from signrules.remedies.makers import changes_for
from signrules.remedies.trial_budget import KEPT_PRICE, MENDING
from signrules.whatif import mending
from signrules.whatif.mended_files import write_mended

ROOT = Path(__file__).parents[2]
SCRAPES = ROOT / "docs/examples/clinic-scrapes.toml"


def job_of(**changes):
    return signrules.job_from_dict(sign_job(**changes))


def test_nothing_to_mend():
    mended = signrules.mend(job_of())
    assert mended.job == job_of()
    assert mended.changes == mended.patch == ()
    assert "nothing to mend" in mended.message


@pytest.mark.thorough
def test_two_things_take_two_changes():
    document = sign_job(sequence=["dots", "ink-on-dots", "ground"])
    document["signs"][0]["braille"]["dot_diameter"] = "1.7 mm"
    job = signrules.job_from_dict(document)
    mended = signrules.mend(job)
    assert mended.result.ok
    assert len(mended.changes) == 2
    assert mended.least
    # By hand: no single candidate is enough.
    result = signrules.evaluate(job)
    for check in result.checks:
        for each in changes_for(check, result) if check.holds_back else ():
            changed = each.made(job)
            assert changed is None or not signrules.evaluate(changed).ok


@pytest.mark.slow
def test_many_findings_of_one_sign_are_mended_and_nothing_is_claimed_that_was_not_tried():
    document = sign_job()
    document["signs"][0] |= {
        "braille": {
            "cells": "⠗⠕⠕⠍⠀⠼⠊",
            "position": "below",
            "dot_diameter": "1.7 mm",
            "dot_spacing": "2 mm",
            "cell_spacing": "6 mm",
            "line_spacing": "9 mm",
            "clear_space": "9 mm",
        },
        "raised": {
            "height": "10 mm",
            "depth": "0.5 mm",
            "spacing": "1 mm",
            "case": "mixed",
            "style": "serif",
        },
        "surface": {"finish": "gloss"},
        "mounting": {"lowest_tactile": "900 mm"},
    }
    job = signrules.job_from_dict(document)
    wrong = {check.rule for check in signrules.evaluate(job).checks if check.holds_back}
    assert len(wrong) == 11
    mended = signrules.mend(job)
    assert mended.result.ok
    # Each is a choice of its own; that no ten would do is more than the trials can show.
    assert len(mended.changes) == 11
    assert 0 < mended.states <= MENDING.states_for(3, signrules.evaluate(job).states)
    assert mended.needed
    assert not mended.least
    assert "(none of them can be left out)" in mended.message


def test_a_tolerance_that_never_fits_cannot_be_mended():
    document = sign_job()
    document["signs"][0]["braille"]["dot_diameter"] = "1.55 mm +- 0.06 mm"
    mended = signrules.mend(signrules.job_from_dict(document))
    assert mended.job is None
    assert mended.exhaustive
    assert "all combinations" in mended.message
    assert mended.to_dict()["mended"] is False


def test_a_search_that_ends_early_says_so():
    document = sign_job(sequence=["dots", "ink-on-dots", "ground"])
    document["signs"][0]["braille"] |= {"dot_diameter": "1.7 mm", "clear_space": "9 mm"}
    mended = signrules.mend(signrules.job_from_dict(document), budget=KEPT_PRICE)
    assert mended.job is None
    assert not mended.exhaustive
    assert "had not tried everything" in mended.message


@pytest.mark.parametrize(("trials", "words"), [(1, "1 evaluation"), (2, "2 evaluations")])
def test_trials_are_counted_in_the_right_number(trials, words):
    result = signrules.evaluate(signrules.job_from_dict(sign_job()))
    mended = mending.Mended(None, result, trials=trials)
    assert f"the search ended after {words} and had not tried everything" in mended.message


def test_a_rule_that_fails_is_not_mended():
    mended = signrules.mend(job_of(), **options(False, fails=("job", always)))
    assert mended.job is None
    assert (
        mended.message
        == "Nothing was mended: a rule or plugin failed, so it is not known what is wrong."
    )


def test_a_change_on_which_a_rule_fails_is_not_taken():
    scrapes = signrules.read_job(SCRAPES)
    (first,) = signrules.mend(scrapes).changes
    assert first == "Print in the order ground, dots, ink-on-dots."
    refused = []

    def fails(item, job):
        refused.append(ground_first(item, job))
        return refused[-1]

    mended = signrules.mend(scrapes, **options(False, fails=("job", fails)))
    assert any(refused)
    assert mended.result.ok
    assert len(mended.changes) == 1
    assert first not in mended.changes


def test_what_only_a_needless_change_brought_to_light_is_kept(monkeypatch):
    document = sign_job()
    document["signs"][0]["braille"] |= {"dot_diameter": "1.7 mm", "cell_spacing": "6 mm"}
    job = signrules.job_from_dict(document)

    def changes(check, judged, alike):
        # The diameter is thought of once the job is renamed, and the spacing after the diameter.
        braille = judged.job.signs[0].braille
        if judged.job.name != "renamed":
            yield worded_change("Rename it.", of_job(name="renamed"))
        elif braille.dot_diameter.high > 1.6:
            yield worded_change(
                "Smaller dots.", of_section("room", "braille", dot_diameter=Interval.exact(1.55))
            )
        else:
            yield worded_change(
                "Wider cells.", of_section("room", "braille", cell_spacing=Interval.exact(6.2))
            )

    monkeypatch.setattr(mending, "candidate_changes", changes)
    mended = signrules.mend(job)
    assert mended.changes == ("Smaller dots.", "Wider cells.")
    assert mended.job.name == job.name
    assert mended.result.ok
    # Every way of two changes was tried: renamed, and then smaller dots, which is not enough.
    assert mended.least


@settings(max_examples=effort(25), deadline=None, suppress_health_check=list(HealthCheck))
@given(moved_jobs())
def test_what_is_mended_is_in_order_and_needs_every_change(job):
    mended = signrules.mend(job, budget=5000)
    if mended.job is None:
        assert not signrules.evaluate(job).ok
        return
    patched = jsonpatch.apply_patch(signrules.job_to_dict(job), list(mended.patch))
    assert signrules.job_from_dict(patched) == mended.job
    assert signrules.evaluate(mended.job).ok
    assert mended.states <= 5000


def test_the_document_stays_as_its_author_wrote_it(tmp_path):
    target = tmp_path / "mended.toml"
    before = SCRAPES.read_bytes()
    job = signrules.read_job(SCRAPES)
    mended = signrules.mend(job)
    write_mended(mended, SCRAPES, target)
    assert SCRAPES.read_bytes() == before
    assert signrules.read_job(target) == mended.job
    old, new = (tomllib.loads(path.read_text("utf-8")) for path in (SCRAPES, target))
    assert list(new) == list(old)
    assert new["printer"] == old["printer"]
    assert new["signs"] == old["signs"]
    assert list(tmp_path.iterdir()) == [target]


def test_the_line_that_names_the_schema_stays(tmp_path):
    named = b"#:schema ./job.schema.json\n" + SCRAPES.read_bytes()
    source, beside = tmp_path / "job.toml", tmp_path / "mended.toml"
    source.write_bytes(named)
    mended = signrules.mend(signrules.read_job(source))
    write_mended(mended, source, beside)
    assert beside.read_text("utf-8").startswith("#:schema ./job.schema.json\n\nsignrules = 1")
    assert signrules.read_job(beside) == mended.job
    # From another folder the path would lead elsewhere.
    (tmp_path / "other").mkdir()
    elsewhere = tmp_path / "other" / "mended.toml"
    write_mended(mended, source, elsewhere)
    assert elsewhere.read_text("utf-8").startswith("signrules = 1")


@pytest.mark.thorough
def test_a_printer_of_the_catalogue_stays_one(tmp_path):
    document = sign_job(
        sequence=["dots", "ink-on-dots", "ground"], printer={"use": "invented-spacers"}
    )
    source, target = tmp_path / "job.json", tmp_path / "mended.json"
    source.write_text(json.dumps(document), "utf-8")
    mended = signrules.mend(signrules.read_job(source))
    if not mended.changes:
        document["passes"][1]["layers"] = 10
        source.write_text(json.dumps(document), "utf-8")
        mended = signrules.mend(signrules.read_job(source))
    assert mended.changes
    write_mended(mended, source, target)
    assert json.loads(target.read_text("utf-8"))["printer"] == {"use": "invented-spacers"}
    assert signrules.read_job(target) == mended.job


def test_nothing_is_written_over_a_file(tmp_path):
    target = tmp_path / "taken.toml"
    target.write_text("mine", "utf-8")
    mended = signrules.mend(signrules.read_job(SCRAPES))
    with pytest.raises(JobError, match="nothing is written over"):
        write_mended(mended, SCRAPES, target)
    assert target.read_text("utf-8") == "mine"
    for name in ("mended.txt", "no/such/folder.toml"):
        with pytest.raises(JobError):
            write_mended(mended, SCRAPES, tmp_path / name)
    assert list(tmp_path.iterdir()) == [target]


def test_a_link_to_nowhere_is_a_file_too(tmp_path):
    target = tmp_path / "link.toml"
    target.symlink_to(tmp_path / "elsewhere.toml")
    with pytest.raises(JobError, match="nothing is written over"):
        write_mended(signrules.mend(signrules.read_job(SCRAPES)), SCRAPES, target)
    assert not (tmp_path / "elsewhere.toml").exists()


@pytest.mark.thorough
def test_the_command(tmp_path, capsys):
    target = tmp_path / "mended.toml"
    assert main(["check", str(SCRAPES), "--mend", str(target)]) == 1
    out = capsys.readouterr().out
    assert "1 change (fewer would not do):" in out
    assert main(["check", str(target)]) == 0
    capsys.readouterr()
    for jobs in ([str(SCRAPES)], [str(SCRAPES), str(SCRAPES)]):
        assert main(["check", *jobs, "--mend", str(target)]) == 2
        streams = capsys.readouterr()
        assert streams.out == ""
        assert "expected" in streams.err
    assert main(["check", str(SCRAPES), "--mend", str(SCRAPES)]) == 2


@pytest.mark.thorough
def test_the_command_in_json(tmp_path, capsys):
    target = tmp_path / "mended.json"
    assert main(["check", str(SCRAPES), "--format", "json", "--mend", str(target)]) == 1
    streams = capsys.readouterr()
    assert json.loads(streams.out)["ok"] is False
    assert "Written to" in streams.err
    assert signrules.evaluate(signrules.read_job(target)).ok


def test_the_command_writes_nothing_where_nothing_is_to_mend(tmp_path, capsys):
    target = tmp_path / "mended.toml"
    assert main(["check", str(ROOT / "docs/examples/clinic.toml"), "--mend", str(target)]) == 0
    assert "nothing to mend" in capsys.readouterr().out
    assert not target.exists()


def test_the_command_says_why_it_mends_nothing_where_a_plugin_fails(tmp_path, capsys):
    plugin, target = tmp_path / "broken.py", tmp_path / "mended.toml"
    plugin.write_text("1/0", "utf-8")
    assert main(["check", str(SCRAPES), "--plugin", str(plugin), "--mend", str(target)]) == 3
    assert "Nothing was mended: a rule or plugin failed" in capsys.readouterr().out
    assert not target.exists()


def test_what_was_not_mended_is_not_written(tmp_path):
    document = sign_job()
    document["signs"][0]["braille"]["dot_diameter"] = "1.55 mm +- 0.06 mm"
    mended = signrules.mend(signrules.job_from_dict(document), budget=3 * KEPT_PRICE)
    with pytest.raises(ValueError, match="expected a job that was mended"):
        write_mended(mended, SCRAPES, tmp_path / "mended.toml")
    assert list(tmp_path.iterdir()) == []


def test_a_document_that_the_patch_does_not_fit_is_made_anew(tmp_path):
    mended = signrules.mend(job_of(sequence=["dots", "ink-on-dots", "ground"]))
    source, target = tmp_path / "other.json", tmp_path / "mended.json"
    for other in ({"signrules": 1}, sign_job(name="another"), []):
        source.write_text(json.dumps(other), "utf-8")
        target.unlink(missing_ok=True)
        write_mended(mended, source, target)
        assert signrules.read_job(target) == mended.job
