"""The strategies give what they say: sound jobs are in order, near ones lie near a limit, all of
them shrink.
"""

from __future__ import annotations

from collections import Counter

import attrs
import pytest
from attrs import evolve
from effort import effort
from hypothesis import HealthCheck, find, given, settings
from hypothesis import strategies as st

import signrules
from signrules import Interval, Job, Outcome, load_plugins
from signrules.model.sign import Braille, Raised
from signrules.testing import (
    arbitrary_jobs,
    arbitrary_signs,
    documents,
    inks,
    jobs,
    media,
    near_limit_jobs,
    printers,
    sound_jobs,
)
from signrules.testing.near_limits import KINDS
from signrules.testing.run_rules import facts_of, placed_rules, run_placed

PLUGINS = load_plugins()
CHECKED = {
    "clearance": "clearance.",
    "throw": "throw.reach",
    "dot height": "braille.dot-height",
    "registration": "registration.budget",
    "landing": "alignment.served",
    "alignment": "alignment.served",
    "settable gap": "gap.settable",
    "hold": "hold.slip",
    "dimension": "",
}


def judged(job):
    return run_placed(placed_rules(PLUGINS.rule_sets), facts_of(job, PLUGINS))[0]


@settings(max_examples=effort(15))
@given(sound_jobs())
def test_sound_jobs_are_in_order(job):
    result = signrules.evaluate(job, plugins=PLUGINS)
    assert result.ok
    assert result.order_is_safe


@pytest.mark.more
@pytest.mark.parametrize("kind", KINDS)
def test_near_limit_jobs_lie_near_the_limit_and_on_both_sides_of_it(kind):
    outcomes = Counter()

    @settings(max_examples=effort(60), database=None)
    @given(near_limit_jobs(kind))
    def run_all(job):
        assert len(job.passes) <= 2
        near = [
            c
            for c in judged(job)
            if c.rule.startswith(CHECKED[kind])
            and c.margin is not None
            and abs(c.margin) <= 0.1 + 1e-5
        ]
        assert near
        outcomes.update(c.outcome for c in near)

    run_all()
    assert outcomes[Outcome.MET]
    # An alignment that does not serve is made again by the plan, so that kind of job is never
    # broken.
    assert outcomes[Outcome.BROKEN] + outcomes[Outcome.DOUBTFUL] or kind == "alignment"


def test_an_unknown_kind_of_limit_is_refused():
    with pytest.raises(ValueError, match="dot height"):
        near_limit_jobs("budget")


def stated_fields(part):
    return {f.name for f in attrs.fields(type(part)) if getattr(part, f.name) != f.default}


@pytest.mark.slow
def test_arbitrary_jobs_come_with_every_optional_field_and_without_it():
    seen: dict[type, list[set[str]]] = {}

    @settings(
        max_examples=200, database=None, derandomize=False, suppress_health_check=list(HealthCheck)
    )
    @given(arbitrary_jobs())
    def collect(job):
        signs = [
            part for sign in job.signs for part in (sign.braille, sign.raised) if part is not None
        ]
        for part in (job.printer, *job.media, *job.passes, *signs):
            seen.setdefault(type(part), []).append(stated_fields(part))

    optional = {
        (cls, field.name)
        for cls in (signrules.Printer, signrules.Media, signrules.Pass, Braille, Raised)
        for field in attrs.fields(cls)
        if field.default is not attrs.NOTHING and not isinstance(field.default, attrs.Factory)
        if field.name != "data"  # What it says to plugins: nobody but the plugin can draw that.
    }
    for _ in range(10):
        collect()
        always = {one for one in optional if all(one[1] in stated for stated in seen[one[0]])}
        never = {one for one in optional if not any(one[1] in stated for stated in seen[one[0]])}
        if not always | never:
            break
    assert (always, never) == (set(), set())


@settings(max_examples=10)
@given(documents())
def test_documents_are_documents_of_jobs(document):
    assert isinstance(signrules.job_from_dict(document), Job)


def test_arguments_narrow_what_is_drawn():
    printer = attrs.evolve(
        signrules.job_from_dict(signrules.sample_job()).printer,
        bed=(400.0, 200.0),
        name="the one on trial",
    )
    sheets = st.tuples(media(0), media(1))

    @settings(max_examples=10, database=None)
    @given(
        jobs(
            printer=printer, media=sheets, inks=inks("the-ink").map(lambda ink: [ink]), max_passes=2
        )
    )
    def narrowed(job):
        assert job.printer == printer
        assert [sheet.id for sheet in job.media] == ["sheet-0", "sheet-1"]
        assert [ink.id for ink in job.inks] == ["the-ink"]
        assert len(job.passes) <= 2

    narrowed()


@settings(max_examples=effort(15))
@given(st.data())
def test_parts_can_be_drawn_by_themselves(data):
    sheet = data.draw(media())
    assert data.draw(printers()).bed == (400.0, 200.0)
    assert data.draw(arbitrary_signs(sheet)).media == sheet.id


FAST = settings(
    max_examples=500,
    database=None,
    deadline=None,
    suppress_health_check=list(HealthCheck),
    derandomize=True,
)


FLAT = jobs(
    stated_gaps_only=True,
    references=("media",),
    handling=False,
    signs=False,
    max_passes=3,
    max_media=1,
    max_inks=1,
)


@pytest.mark.slow
def test_a_strike_shrinks_to_one_pass_with_small_numbers():
    clearance = [
        one for one in placed_rules(PLUGINS.rule_sets) if one.rule.name == "clearance.margin"
    ]

    def strikes(job):
        return any(
            c.outcome is Outcome.BROKEN for c in run_placed(clearance, facts_of(job, PLUGINS))[0]
        )

    smallest = find(FLAT, strikes, settings=FAST)
    (item,) = smallest.passes
    (sheet,) = smallest.media
    assert item.gap.extra == Interval.exact(0.0)
    assert sheet.bow == Interval.exact(0.0)
    assert smallest.printer.base_gap == Interval.exact(1.0)
    assert smallest.standards == ()
    assert smallest.alignments == ()


@pytest.mark.slow
def test_a_strike_over_an_earlier_pass_shrinks_to_what_it_takes():
    clearance = [
        one for one in placed_rules(PLUGINS.rule_sets) if one.rule.name == "clearance.strike"
    ]

    def strikes(job):
        broken = [
            c
            for c in run_placed(clearance, facts_of(job, PLUGINS))[0]
            if c.outcome is Outcome.BROKEN
        ]
        return any(c.subjects[0] != f"passes.{job.passes[0].id}" for c in broken)

    smallest = find(FLAT, strikes, settings=FAST)
    assert smallest.printer.min_clearance == 0.0
    # Three passes of few layers are as small as two of more: what counts is that none is too many.
    for number, item in enumerate(smallest.passes):
        before, after = smallest.passes[:number], smallest.passes[number + 1 :]
        assert not strikes(evolve(smallest, passes=(*before, *after)))
        if item.layers > 1:
            fewer = evolve(item, layers=item.layers - 1)
            assert not strikes(evolve(smallest, passes=(*before, fewer, *after)))
