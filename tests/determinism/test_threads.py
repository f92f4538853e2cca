"""Threads that share plugins, shop and jobs get what one thread gets."""

from __future__ import annotations

import datetime
import json
import random
import sys
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from attrs import evolve
from documents.samples import SMALL
from effort import effort, first_quick
from scenario import sign_job

import signrules
from signrules import Job, Live, load_plugins

ROOT = Path(__file__).parents[2]
TODAY = datetime.date(2026, 6, 1)
PLUGIN = ROOT / "docs" / "plugin-template" / "signrules_ourshop" / "plugin.py"


@pytest.fixture(autouse=True)
def _many_switches() -> Iterator[None]:
    """Python changes threads a thousand times as often as usual."""
    before = sys.getswitchinterval()
    sys.setswitchinterval(5e-6)
    yield
    sys.setswitchinterval(before)


@pytest.fixture(scope="module")
def jobs() -> list[Job]:
    small = signrules.job_from_dict(SMALL)
    scraping = signrules.job_from_dict(sign_job(sequence=["dots", "ink-on-dots", "ground"]))
    signed = signrules.job_from_dict(signrules.sample_job())
    return [
        small,
        scraping,
        signed,
        evolve(small, name="another", temperature=30.0),
        evolve(signed, standards=()),
    ]


@pytest.fixture(scope="module")
def plugins() -> signrules.Plugins:
    return load_plugins(files=[PLUGIN])


def said(result: signrules.Evaluation) -> str:
    return json.dumps(result.to_dict(remedies=False))


@pytest.mark.more
@pytest.mark.parametrize("threads", first_quick(1, [8, 2]))
@pytest.mark.parametrize("seconds", [None, 60.0])
def test_threads_that_share_plugins(jobs, plugins, threads, seconds):
    def judged(at: int) -> str:
        return said(signrules.evaluate(jobs[at], plugins=plugins, today=TODAY, seconds=seconds))

    alone = [judged(at) for at in range(len(jobs))]
    assert len(set(alone)) == len(jobs)
    chosen = random.Random(7).choices(range(len(jobs)), k=effort(200))
    with ThreadPoolExecutor(threads) as pool:
        wrong = [
            at
            for at, text in zip(chosen, pool.map(judged, chosen), strict=True)
            if text != alone[at]
        ]
    assert wrong == []


@pytest.mark.more
def test_a_live_for_each_thread(jobs, plugins):
    alone = [said(signrules.evaluate(job, plugins=plugins, today=TODAY)) for job in jobs]

    def edited(seed: int) -> list[int]:
        live, chosen = (
            Live(plugins=plugins),
            random.Random(seed).choices(range(len(jobs)), k=effort(12)),
        )
        return [at for at in chosen if said(live.evaluate(jobs[at], today=TODAY)) != alone[at]]

    with ThreadPoolExecutor(4) as pool:
        assert list(pool.map(edited, range(4))) == [[]] * 4


def test_remedies_of_one_evaluation_asked_for_by_several_threads(jobs):
    results = [signrules.evaluate(jobs[1], today=TODAY) for _ in range(2)]
    alone = json.dumps(results[0].to_dict())
    with ThreadPoolExecutor(3) as pool:
        assert {
            json.dumps(data) for data in pool.map(lambda _: results[1].to_dict(), range(3))
        } == {alone}
