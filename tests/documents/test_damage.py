"""A document may be damaged in any way: what comes out is a job or a JobError, never another exception."""

from __future__ import annotations

import copy
import tomllib
from typing import Any

import pytest
from documents.samples import FULL_TOML, SMALL, nested
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from signrules.documents import job_from_dict
from signrules.errors import JobError
from signrules.model import Job

JUNK = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.just(10**400),
    st.floats(),
    st.text(max_size=10),
    st.sampled_from(["one", "two", "3 mm", "0.1 .. 0.2 mm", "auto", "6 m/s", "\ud800", "plate"]),
    st.binary(max_size=3),
    st.dates(),
    st.datetimes(),
    st.lists(st.integers(0, 50) | st.text(max_size=3), max_size=4),
    st.dictionaries(st.text(max_size=4) | st.integers(), st.integers(), max_size=3),
    st.builds(nested, st.sampled_from([1, 2, 100]), st.just("x"), st.booleans()),
    st.just(object()),
)


@st.composite
def damaged(draw: st.DrawFn) -> object:
    """A sound document with a few places deleted, replaced by junk, doubled, renamed or nested."""
    document: Any = copy.deepcopy(draw(st.sampled_from([SMALL, tomllib.loads(FULL_TOML)])))
    for _ in range(draw(st.integers(1, 4))):
        holder: Any = document
        while True:
            keys = list(holder) if isinstance(holder, dict) else list(range(len(holder)))
            if not keys:
                break
            key = draw(st.sampled_from(keys))
            inside = holder[key]
            if isinstance(inside, dict | list) and inside and draw(st.integers(0, 5)):
                holder = inside
                continue
            match draw(st.sampled_from(["delete", "replace", "double", "rename", "nest"])):
                case "delete":
                    del holder[key]
                case "replace":
                    holder[key] = draw(JUNK)
                case "double" if isinstance(holder, list):
                    holder.append(copy.deepcopy(inside))
                case "rename" if isinstance(holder, dict):
                    holder[draw(st.text(max_size=5))] = holder.pop(key)
                case _:
                    holder[key] = nested(draw(st.sampled_from([1, 100])), inside, draw(st.booleans()))
            break
    return document


@given(damaged())
@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
def test_a_damaged_document_gives_a_job_or_a_job_error(document: object) -> None:
    outcome: object
    try:
        outcome = job_from_dict(document)
    except JobError as error:
        outcome = error
    if isinstance(outcome, JobError):
        assert outcome.faults
        assert all(len(fault.found) <= 250 and fault.expected for fault in outcome.faults)
        assert str(outcome)
    else:
        assert isinstance(outcome, Job)


@given(JUNK)
@settings(deadline=None)
def test_junk_gives_a_job_error(junk: object) -> None:
    with pytest.raises(JobError):
        job_from_dict(junk)
