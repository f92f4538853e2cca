"""A document may be damaged in any way: what comes out is a job or a JobError, and every job can be
evaluated.
"""

from __future__ import annotations

import datetime
import json
import tomllib
from collections import Counter
from collections.abc import Iterator

import pytest
from fuzz.damage import JUNK, LONG, SOUND, attempt, damaged, quick
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import arbitrary_jobs

import signrules
from signrules import Job, JobError, SignrulesError
from signrules.documents import job_from_dict, job_to_dict
from signrules.documents.toml import to_toml
from signrules.reports.text_report import evaluation_text

TODAY = datetime.date(2026, 6, 1)
COUNT: Counter[str] = Counter()


@pytest.fixture(autouse=True, scope="module")
def _told() -> Iterator[None]:
    """The long run says how much it has done."""
    yield
    if LONG:
        print(f"\ndocuments: {dict(COUNT)}")


def read(document: object) -> Job | None:
    """The job of a document; None where it is refused, in faults that a person can read."""
    COUNT["read"] += 1
    found = attempt(lambda: job_from_dict(document), JobError)
    if isinstance(found, JobError):
        assert found.faults
        assert all(len(fault.found) <= 250 and fault.expected for fault in found.faults)
        assert str(found)
        return None
    COUNT["accepted"] += 1
    assert isinstance(found, Job)
    return found


def lives(job: Job, *, with_remedies: bool = True) -> None:
    """A job that was accepted travels through every format, is evaluated by every rule, and can be
    reported; as a text too, where remedies are looked for.
    """
    plain = job_to_dict(job)
    assert job_from_dict(plain) == job
    assert job_from_dict(json.loads(json.dumps(plain, allow_nan=False, default=str))) == job
    assert job_from_dict(tomllib.loads(to_toml(plain).encode("utf-8").decode("utf-8"))) == job
    result = attempt(lambda: signrules.evaluate(job, budget=20, today=TODAY), JobError)
    if isinstance(result, JobError):
        # A standard that nothing brings is found out when it is needed.
        assert {fault.path.partition("[")[0] for fault in result.faults} == {"standards"}
        return
    COUNT["evaluated"] += 1
    assert not result.faults, str(result.faults[0])
    report = result.to_dict(remedies=False)
    assert (
        json.loads(json.dumps(report, allow_nan=False, ensure_ascii=False).encode("utf-8"))
        == report
    )
    if with_remedies:
        assert evaluation_text(result, everything=True).encode("utf-8")


@pytest.mark.thorough
@given(damaged())
@quick(150)
def test_a_damaged_document_gives_a_job_that_lives_or_a_job_error(document: object) -> None:
    job = read(document)
    if job is not None:
        lives(job)


@given(damaged(most=1))
@quick(150)
def test_so_does_one_with_a_single_damage(document: object) -> None:
    job = read(document)
    if job is not None:
        lives(job)


@pytest.mark.thorough
@given(arbitrary_jobs(), st.data())
@quick(30)
def test_a_generated_job_lives_and_so_does_what_is_left_of_it(
    job: Job, data: st.DataObject
) -> None:
    lives(job)
    left = read(data.draw(damaged([job_to_dict(job)], most=2)))
    if left is not None:
        lives(left)


@given(JUNK)
@settings(deadline=None)
def test_junk_gives_a_job_error(junk: object) -> None:
    with pytest.raises(JobError):
        job_from_dict(junk)


@pytest.mark.thorough
def test_what_is_damaged_was_sound() -> None:
    for document in SOUND:
        lives(job_from_dict(document))


def test_every_error_of_a_job_is_an_error_of_signrules() -> None:
    assert issubclass(JobError, SignrulesError)
