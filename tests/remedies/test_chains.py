"""Changes of one field one after the other are one change, said from what the job has.

The jobs are invented.
"""

from __future__ import annotations

import pytest
from scenario import pass_of, sign_job

import signrules
from signrules import Interval, Outcome
from signrules.remedies import finder
from signrules.remedies.alike_cases import Alike
from signrules.remedies.candidates import lasting_changes, of_job, of_section, worded_change
from signrules.remedies.gap_changes import left_to_the_planner, set_gap, set_layers, with_extra
from signrules.remedies.sign_changes import restated_sign
from signrules.whatif import mending


def low_head():
    """A ground 1.2 mm under the head, which is judged after dots of 24 layers: 13 of them are too
    many for it.

    The dots themselves leave 0.77 mm of 0.83 mm, so 22 layers of them are enough, ground first; and
    22 layers, 0.66 mm, is the least that the standard allows (us-ada-2010: 0.635 mm).
    """
    document = sign_job()
    document["printer"] |= {
        "min_clearance": "0.83 mm",
        "gap": {"control": "spacers", "spacers": []},
    }
    pass_of(document, "dots")["gap"] = {"extra": 0}
    pass_of(document, "ground")["gap"] = {"head_above_bed": "4.2 mm"}
    document["passes"] = [pass_of(document, name) for name in ("dots", "ink-on-dots", "ground")]
    return document


def test_a_remedy_in_two_steps_is_said_as_one(monkeypatch):
    # There are other gaps for the ground, so more remedies are asked for than a report would show.
    monkeypatch.setattr(finder, "MOST_REMEDIES", 9)
    result = signrules.evaluate(signrules.job_from_dict(low_head()))
    check = next(
        c for c in result.checks if (c.rule, c.subjects[0]) == ("clearance.margin", "passes.ground")
    )
    assert check.outcome is Outcome.BROKEN
    found = {remedy.summary: remedy for remedy in check.remedies}
    assert "Print dots in 22 layers instead of 24." in found
    remedy = found["Print dots in 22 layers instead of 24."]
    assert [one for one in remedy.patch if one["op"] != "test"] == [
        {"op": "add", "path": "/passes/0/layers", "value": 22}
    ]
    for summary in found:
        assert summary.count("Print dots in") <= 1
        assert summary.count("Set the gap of dots") <= 1


def test_mending_says_it_as_one(monkeypatch):
    document = sign_job()
    pass_of(document, "dots")["layers"] = 40

    def changes(check, judged, alike):
        # 7 layers are thought of first, and more only then.
        item = judged.job.passes[1]
        yield set_layers(judged.job, item, 7 if item.layers == 40 else 24)

    monkeypatch.setattr(mending, "candidate_changes", changes)
    mended = signrules.mend(signrules.job_from_dict(document))
    assert mended.changes == ("Print dots in 24 layers instead of 40.",)
    assert [one for one in mended.patch if one["op"] != "test"] == [
        {"op": "add", "path": "/passes/1/layers", "value": 24}
    ]
    assert "1 change" in mended.message


JOB = signrules.job_from_dict(sign_job())
DOTS = JOB.passes[1]


def words(*steps, job=JOB):
    return [step.words(job) for step in lasting_changes(job, steps)]


def then(step, make):
    """A change and then one that is computed on what comes of it."""
    changed = step.made(JOB)
    return step, make(changed)


def test_layers_gaps_and_figures_of_signs():
    assert words(
        *then(set_layers(JOB, DOTS, 7), lambda job: set_layers(job, job.passes[1], 20))
    ) == ["Print dots in 20 layers instead of 24."]
    smaller, larger = with_extra(DOTS, "media", 0.5), with_extra(DOTS, "media", 1.5)
    assert words(
        *then(set_gap(JOB, DOTS, smaller), lambda job: set_gap(job, job.passes[1], larger))
    ) == ["Set the gap of dots to 1.5 mm over panel instead of 1 mm over panel."]
    assert words(
        *then(set_gap(JOB, DOTS, smaller), lambda job: left_to_the_planner(job, job.passes[1]))
    ) == ["Let the planner choose the gap of dots instead of 1 mm over panel."]
    field, sign = ("braille", "dot_diameter"), JOB.signs[0]
    first = restated_sign(JOB, sign, field, Interval.exact(1.7))
    assert words(
        *then(first, lambda job: restated_sign(job, job.signs[0], field, Interval.exact(1.5)))
    ) == ["Make the braille dot diameter of room 1.5 mm instead of 1.55 mm."]


def test_what_comes_back_to_where_it_was_is_no_change():
    assert (
        words(*then(set_layers(JOB, DOTS, 7), lambda job: set_layers(job, job.passes[1], 24))) == []
    )


def test_what_matters_stays_in_its_order():
    steps = then(
        worded_change("Rename it.", of_job(name="another")),
        lambda job: set_layers(job, job.passes[1], 20),
    )
    assert words(*steps) == ["Rename it.", "Print dots in 20 layers instead of 24."]
    other = worded_change(
        "Wider dots.", of_section("room", "braille", dot_diameter=Interval.exact(1.6))
    )
    assert words(steps[1], other) == ["Print dots in 20 layers instead of 24.", "Wider dots."]


def test_alike_passes_are_one_chain_too():
    document = sign_job(standards=[], signs=[])
    dots = pass_of(document, "dots") | {"builds": None, "registers_to": []}
    del dots["builds"]
    places = ([40, 30, 60, 8], [40, 130, 60, 8])
    document["passes"] = [
        dots | {"id": f"dots-{at}", "areas": [area]} for at, area in enumerate(places, 1)
    ]
    job = signrules.job_from_dict(document)
    first = Alike(job).widened(set_layers(job, job.passes[0], 7))
    changed = first.made(job)
    second = Alike(changed).widened(set_layers(changed, changed.passes[0], 20))
    assert [item.layers for item in second.made(changed).passes] == [20, 20]
    assert words(first, second, job=job) == [
        "Print dots-1 in 20 layers instead of 24. The same at dots-2."
    ]


@pytest.mark.parametrize("layers", [7, 20])
def test_words_for_a_row_that_a_job_does_not_have(layers):
    other = signrules.job_from_dict(sign_job(passes=[pass_of(sign_job(), "ground")], signs=[]))
    assert (
        set_layers(JOB, DOTS, layers).words(other)
        == f"Print dots in {layers} layers instead of 24."
    )
