"""The order of jobs with the least set-up, held to all orders evaluated in full."""

from __future__ import annotations

import json
import types
from itertools import permutations

import pytest
from drawn_days import (
    TODAY,
    cost_in_a_row,
    days,
    flat_job,
    in_a_row,
    least_of_all_orders,
)
from effort import effort, first_quick
from hypothesis import given, settings
from scenario import PRINTER, sign_job

from signrules import (
    JobError,
    NotEvaluated,
    RuleSet,
    check,
    evaluate,
    evaluate_many,
    hookimpl,
    job_from_dict,
    load_plugins,
    order_of_jobs,
    rule,
    shop_practice,
)
from signrules.many_jobs import job_plans, least_setup, order_search
from signrules.reports.job_row_report import job_sequence_text

UNCOUNTED = {key: each for key, each in PRINTER.items() if key != "minutes"}


def ordered(*documents, **options):
    options.setdefault("today", TODAY)
    return order_of_jobs(documents, **options)


def read(*documents):
    return [job_from_dict(each) for each in documents]


@pytest.mark.thorough
def test_jobs_stand_where_the_gap_is_kept():
    # At 0 and 1 mm, then 0 alone, then 1 alone: the first leaves the head where the last begins,
    # and begins where the second leaves it. By hand: 3 loads, 2 settings, 2 alignments.
    sequence = ordered(flat_job(0, 1), flat_job(0), flat_job(1))
    assert sequence.order == (1, 0, 2)
    assert sequence.setup.minutes == 3 * 4 + 2 * 2 + 2 * 12
    assert sequence.alone.minutes == 3 * 4 + 4 * 2 + 4 * 12
    assert (sequence.bound, sequence.optimal) == ((3, 40), True)


TELLING = [(0, 1, 2, 3), (3, 2, 1, 0), (2, 0, 3, 1), (1, 3, 0, 2)]


@pytest.mark.parametrize(
    "order", first_quick(4, dict.fromkeys([*TELLING, *permutations(range(4))]))
)
def test_of_orders_that_cost_the_same_the_given_one_stays(order):
    documents = [flat_job(extra) for extra in (1, 0, 0.5, 1.5)]
    sequence = ordered(*(documents[at] for at in order))
    assert sequence.optimal
    assert sequence.order == (0, 1, 2, 3)


def test_whichever_comes_first_makes_what_all_need():
    sequence = ordered(flat_job(0, 1), sign_job(), flat_job(1))
    made = [each.setup.alignments for each in sequence.jobs]
    assert made[0] >= 1
    assert sum(made) < sequence.alone.alignments
    assert sum(made) == sequence.setup.alignments


def test_an_order_that_lets_one_alignment_serve_two_jobs_is_found():
    # At 0.06 mm, 800 mm/s and 6 m/s an alignment serves 0.225 mm to either side. The job with two
    # passes 0.3 mm apart puts its alignment between them, where it serves both others; each of
    # these alone puts it at its own throw, where it does not serve the other one.
    printer = {**PRINTER, "gap": {"control": "dial", "max": "2 mm", "step": "0.1 mm"}}
    low, both, high = (flat_job(*some, printer=printer) for some in ((0,), (0, 0.3), (0.3,)))
    for order in permutations((low, both, high)):
        sequence = ordered(*order)
        assert sequence.optimal
        assert sequence.setup.alignments == 1
        assert sequence.jobs[0].result.job.passes == job_from_dict(both).passes


def test_jobs_of_several_printers_come_printer_by_printer():
    other = {**PRINTER, "name": "the other one"}
    documents = [
        flat_job(0),
        flat_job(1, printer=other),
        flat_job(1, 0),
        flat_job(0, 1, printer=other),
    ]
    sequence = ordered(*documents)
    assert [[each.number for each in some] for some in sequence.by_printer] == [[2, 0], [3, 1]]
    parts = [ordered(documents[0], documents[2]), ordered(documents[1], documents[3])]
    assert sequence.setup.minutes == sum(part.setup.minutes for part in parts)
    assert sequence.least == (4, sum(part.least[1] for part in parts))
    text = job_sequence_text(sequence)
    assert "\nPrinter 1: " in text
    assert "\nthe other one: " in text


def test_jobs_without_a_place_are_left_out_and_told(tmp_path):
    scrapes = sign_job(sequence=["dots", "ink-on-dots", "ground"])
    absent = tmp_path / "absent.toml"
    sequence = ordered(flat_job(0), {"signrules": 1}, scrapes, absent, 7, flat_job(0))
    assert sequence.order == (0, 5)
    assert [item.number for item in sequence.left_out] == [1, 2, 3, 4]
    kinds = [JobError, None, JobError, JobError]
    found = [item.error and type(item.error) for item in sequence.left_out]
    assert found == kinds
    assert sequence.left_out[1].result.verdict.startswith("DO NOT PRINT")
    text = job_sequence_text(sequence)
    assert "jobs[1]: " in text
    assert "  jobs[2]: DO NOT PRINT" in text
    assert json.loads(json.dumps(sequence.to_dict()))["left_out"][0]["number"] == 1


def test_a_failure_of_signrules_itself_is_told_and_leaves_the_others_alone(monkeypatch):
    def fails_on_second(job, **options):
        if job["name"] == "second":
            raise ZeroDivisionError("as a test wants it")
        return job_from_dict(job, **options)

    monkeypatch.setattr("signrules.many_jobs.evaluating.read_any_job", fails_on_second)
    sequence = ordered(flat_job(0, name="first"), flat_job(0, name="second"), flat_job(1))
    assert sequence.order == (0, 2)
    assert isinstance(sequence.left_out[0].error, NotEvaluated)
    assert "as a test wants it" in job_sequence_text(sequence)


def test_no_job_at_all():
    for sequence in (ordered(), ordered({"signrules": 1})):
        assert (sequence.jobs, sequence.by_printer, sequence.least) == ((), (), (0, 0.0))
        assert sequence.optimal
        assert sequence.setup.minutes == 0
    assert job_sequence_text(ordered()) == "\n"


def test_where_minutes_are_not_stated_settings_and_alignments_are_counted():
    sequence = ordered(flat_job(0, 1, printer=UNCOUNTED), flat_job(0, printer=UNCOUNTED))
    assert sequence.order == (1, 0)
    assert sequence.setup.cost == (2, 2 + 2)
    assert (sequence.setup.minutes, sequence.bound) == (None, (2, None))
    assert sequence.to_dict()["least"] == {"bed_loads": 2, "setup_minutes": None}
    assert "set-up of 2 bed loads, 2 gap settings and 2 new alignments" in job_sequence_text(
        sequence
    )


def test_a_job_that_is_not_to_be_printed_for_another_reason_keeps_its_place_and_says_so():
    wrong = sign_job()
    wrong["signs"][0]["braille"]["dot_spacing"] = "9 mm"
    assert evaluate(job_from_dict(wrong)).order_is_safe
    sequence = ordered(wrong, flat_job(0))
    assert len(sequence.jobs) == 2
    assert [each["ok"] for each in sequence.to_dict()["jobs"]].count(False) == 1
    assert "DO NOT PRINT" in job_sequence_text(sequence)


def test_each_place_is_that_of_evaluate_many():
    documents = [flat_job(0, 1), sign_job(), flat_job(1, 0), flat_job(0.5)]
    sequence = ordered(*documents)
    row = list(evaluate_many([documents[at] for at in sequence.order], carry=True, today=TODAY))
    for placed, item in zip(sequence.jobs, row, strict=True):
        assert placed.carried == item.carried
        assert placed.result.to_dict(remedies=False) == item.result.to_dict(remedies=False)


def test_plain_data():
    sequence = ordered(flat_job(0, name="only"))
    (job,) = sequence.to_dict()["jobs"]
    setup = {"bed_loads": 1, "gap_settings": 1, "new_alignments": 1, "setup_minutes": 18}
    assert (job["number"], job["origin"], job["job"]) == (0, "jobs[0]", "only")
    assert job["alone"] == job["carried"]["setup"] == sequence.to_dict()["setup"] == setup
    assert sequence.to_dict()["least"] == {"bed_loads": 1, "setup_minutes": 18}


def test_a_single_job_is_refused_and_so_are_no_trials():
    with pytest.raises(TypeError, match="another iterable of jobs"):
        order_of_jobs(sign_job())
    with pytest.raises(ValueError, match="trials is 0"):
        order_of_jobs([sign_job()], trials=0)


# --- many jobs, and few trials --------------------------------------------------------------------

MANY = [flat_job(*some) for some in ((0, 1), (1, 0.5), (0.5, 0), (1, 1.5), (1.5, 0), (0, 0.5))] * 2


@pytest.mark.thorough
@pytest.mark.parametrize("given_order", first_quick(1, [MANY, MANY[::-1]]))
def test_many_jobs_cost_no_more_than_as_given(given_order):
    sequence = ordered(*given_order)
    cost = sequence.setup.cost
    assert cost <= cost_in_a_row(read(*given_order))
    assert sequence.least <= cost
    assert sorted(sequence.order) == list(range(len(MANY)))


@pytest.mark.thorough
def test_by_few_trials_the_bound_still_holds():
    documents = [flat_job(0, 1), sign_job(), flat_job(1, 0), flat_job(1, 0.5)]
    best = least_of_all_orders(read(*documents))
    for trials in (1, 5, 10, 300):
        sequence = ordered(*documents, trials=trials)
        assert sequence.least <= best <= sequence.setup.cost
        assert sequence.optimal <= (sequence.setup.cost == best)
    assert sequence.optimal


def test_an_order_that_is_not_proven_says_what_any_takes_at_the_least(monkeypatch):
    monkeypatch.setattr(order_search, "least_of_row", lambda *some: (0, 0.0))
    sequence = ordered(flat_job(0, 1), flat_job(1, 0), flat_job(0.5, 1), trials=1)
    assert not sequence.optimal
    assert "the best order found (any takes at least 0 minutes)" in job_sequence_text(sequence)


FOUR = [flat_job(0, 1), flat_job(0.5, 1.5), flat_job(1, 0), flat_job(1.5, 0)]


@pytest.mark.parametrize("steps", first_quick(3, [1, 30, 240, 10, 20, 60, 120]))
def test_wherever_the_search_ends_the_bound_holds(steps, monkeypatch):
    monkeypatch.setattr(job_plans, "MOST_STEPS", steps)
    monkeypatch.setattr(order_search, "least_of_row", lambda *some: (0, 0.0))
    sequence = ordered(*FOUR)
    best = least_of_all_orders(read(*FOUR))
    assert sequence.least <= best <= sequence.setup.cost
    assert sequence.optimal <= (sequence.setup.cost == best)
    if steps in (1, 240):
        assert sequence.optimal == (steps == 240)


def test_what_any_takes_at_the_least_in_bed_loads_where_there_are_no_minutes(monkeypatch):
    monkeypatch.setattr(order_search, "least_of_row", lambda *some: (2, 0.0))
    pair = [flat_job(0, 1, printer=UNCOUNTED), flat_job(1, 0.5, printer=UNCOUNTED)]
    text = job_sequence_text(ordered(*pair, trials=1))
    assert "(any takes at least 2 bed loads)" in text


def test_nothing_is_the_least_of_a_job_of_which_no_plan_is_known():
    # 200 layers of 0.01 mm stand 2 mm high, above the head at 1.5 mm over the sheet.
    strikes = flat_job(0)
    strikes["passes"][0]["layers"] = 200
    result = evaluate(job_from_dict(strikes))
    assert result.conflict is not None
    assert least_setup._least_cost(result) == (0, 0.0)


# --- plugins that fail ----------------------------------------------------------------------------


def plugin_that(fails):
    @rule("ourshop.moody", each="job", source=shop_practice("an invented one"))
    def moody(item):
        """A rule that fails.

        Why it matters: rules do.
        A job that breaks it: none.
        One that meets it: none.
        """
        if fails(item):
            raise RuntimeError("as a test wants it")
        yield check("whatever", measured=1, most=2, unit="layers")

    @hookimpl
    def signrules_rule_sets():
        return [RuleSet("ourshop", (moody,))]

    module = types.SimpleNamespace(__name__="ourshop", signrules_rule_sets=signrules_rule_sets)
    return load_plugins(objects=[module])


def test_a_plugin_that_fails_on_what_is_carried_makes_no_job_dearer():
    plugins = plugin_that(lambda job: job.alignments)
    sequence = ordered(flat_job(0, 1), flat_job(1), plugins=plugins)
    assert [each.carried.alignments for each in sequence.jobs] == [(), ()]
    assert sequence.setup.alignments == sequence.alone.alignments == 3


def test_a_plugin_that_fails_at_last_leaves_each_job_as_it_is_alone():
    judged = []

    def fails(job):
        judged.append(job)
        return len(judged) > 2

    sequence = ordered(flat_job(0, 1), flat_job(1), plugins=plugin_that(fails))
    assert [each.result.complete for each in sequence.jobs] == [False, False]
    assert [each.carried.setup for each in sequence.jobs] == [None, None]
    assert sequence.setup == sequence.alone
    assert sequence.setup.minutes == 2 * 4 + 3 * 2 + 3 * 12


# --- laws -----------------------------------------------------------------------------------------


@pytest.mark.thorough
@given(day=days(3))
@settings(max_examples=effort(60))
def test_it_is_the_cheapest_of_all_orders(day):
    sequence = ordered(*day)
    assert sequence.optimal
    assert sequence.setup.cost == pytest.approx(least_of_all_orders(day))


@pytest.mark.thorough
@given(day=days(3))
@settings(max_examples=effort(60))
def test_the_bound_holds_for_all_orders(day):
    sequence = ordered(*day, trials=1)
    least = least_of_all_orders(day)
    assert sequence.least <= (least[0], least[1] + 1e-9)


@pytest.mark.thorough
@given(day=days())
@settings(max_examples=effort(40))
def test_what_is_given_in_another_order_takes_the_same(day):
    one, other = ordered(*day), ordered(*day[::-1])
    assert one.setup.cost == other.setup.cost
    assert one.least == other.least
    assert one.alone == other.alone


@pytest.mark.thorough
@given(day=days())
@settings(max_examples=effort(40))
def test_a_total_is_the_sum_of_its_parts(day):
    sequence = ordered(*day)
    in_order = [day[at] for at in sequence.order]
    took = in_a_row(in_order) if in_order else []
    assert sequence.setup.loads == sum(one.loads for one in took)
    assert sequence.setup.gap_settings == sum(one.settings for one in took)
    assert sequence.setup.alignments == sum(one.alignments for one in took)
    assert sequence.setup.weight == pytest.approx(sum(each.setup.weight for each in sequence.jobs))
    assert sequence.setup.cost <= sequence.alone.cost
