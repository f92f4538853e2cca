"""Jobs evaluated in a row: what the plans of earlier ones leave for the next."""

from __future__ import annotations

import datetime
from concurrent.futures import ThreadPoolExecutor

import pytest
from drawn_days import TODAY, days, flat_job, in_a_row, paid_settings
from effort import effort
from hypothesis import given, settings
from scenario import PRINTER, sign_job

from signrules import (
    Carried,
    Evaluation,
    NotEvaluated,
    evaluate,
    evaluate_many,
    job_from_dict,
)

SCRAPES = sign_job(sequence=["dots", "ink-on-dots", "ground"])


def carried(*documents, **options) -> list[Carried]:
    options.setdefault("today", TODAY)
    return [item.carried for item in evaluate_many(documents, carry=True, **options)]


def extras(item: Carried) -> list[float]:
    return [one.extra for one in item.alignments]


def test_an_alignment_is_made_once_for_all_jobs_that_it_serves():
    # Both print at the same throw; an alignment takes 12 minutes, a load 4, a setting 2.
    first, second = carried(flat_job(0, 1), flat_job(0, 1))
    assert (first.alignments, first.setup.minutes) == ((), 4 + 2 * 2 + 2 * 12)
    assert (second.setup.alignments, second.setup.minutes) == (0, 4 + 2 * 2)
    assert [one.date for one in second.alignments] == [TODAY, TODAY]


def test_the_gap_is_kept_where_the_next_job_begins_at_the_height_of_the_last_pass():
    # Sheet 3 mm, base gap 1.5 mm, spacers of 0 and 1 mm: 4.5 and 5.5 mm above the bed.
    first, second, third = carried(flat_job(0, 1), flat_job(1), flat_job(0))
    assert first.head_above_bed is None
    assert second.head_above_bed == third.head_above_bed == 5.5
    assert [each.gap_is_kept for each in (first, second, third)] == [False, True, False]
    assert [each.setup.gap_settings for each in (first, second, third)] == [2, 0, 1]


def test_a_thicker_sheet_under_the_same_head_costs_no_setting():
    # 3.5 mm + 1.5 mm + 0.5 mm is as high as 3 mm + 1.5 mm + 1 mm.
    thick = flat_job(0.5)
    thick["media"][0]["thickness"] = "3.5 mm"
    _, second = carried(flat_job(1), thick)
    assert second.gap_is_kept


def test_a_nanometre_counts_as_the_same_height_and_more_does_not():
    for further, kept in ((0.0000005, True), (0.00001, False)):
        other = flat_job(0)
        other["media"][0]["thickness"] = f"{3 + further:.7f} mm"
        assert carried(flat_job(0), other)[1].gap_is_kept is kept


def test_jobs_of_other_printers_share_nothing_and_do_not_disturb():
    faster = {**PRINTER, "carriage_speed": "900 mm/s"}
    one, other, same = carried(flat_job(0), flat_job(0, printer=faster), flat_job(0))
    assert (other.alignments, other.head_above_bed, other.setup) == ((), None, one.setup)
    assert (same.setup.alignments, same.gap_is_kept) == (0, True)


@pytest.mark.parametrize(
    ("head_work", "made"), [("2027-02-28", 0), ("2027-03-01", 0), ("2027-03-02", 1)]
)
def test_work_on_the_heads_after_today_voids_what_is_made_today(head_work, made):
    printer = {**PRINTER, "head_work": head_work}
    _, second = carried(flat_job(0, printer=printer), flat_job(0, printer=printer))
    assert second.setup.alignments == made


def test_what_a_job_states_itself_stands_for_it_alone():
    stated = flat_job(0, alignments=[{"extra": 0.1, "date": "2027-02-01"}])
    first, second, third = carried(stated, flat_job(0), stated)
    assert [each.setup.alignments for each in (first, second, third)] == [0, 1, 0]
    assert [len(extras(each)) for each in (first, second, third)] == [0, 0, 1]


def test_an_alignment_that_a_job_states_itself_is_not_carried_to_it_once_more():
    stated = flat_job(0, alignments=[{"extra": 0, "date": "2027-02-01"}])
    first, second = carried(flat_job(0), stated)
    assert first.setup.alignments == 1
    assert extras(second) == []


def test_a_job_without_a_safe_order_leaves_what_stood_before():
    alone = evaluate(job_from_dict(SCRAPES))
    assert not alone.order_is_safe
    assert alone.plan is not None
    first, scrapes, last = carried(flat_job(0), SCRAPES, flat_job(0))
    assert scrapes.setup is None
    assert (last.head_above_bed, last.setup.alignments, last.gap_is_kept) == (4.5, 0, True)
    assert extras(last) == extras(scrapes)
    assert first.setup.alignments == 1


def test_a_job_at_fault_and_a_reduction_that_fails_leave_the_others_in_their_row():
    def fails_once(result: Evaluation) -> str:
        if result.job.name == "second":
            raise ZeroDivisionError
        return result.job.name

    documents = [flat_job(0, name="first"), {"signrules": 1}, flat_job(0, 1, name="second")]
    items = list(
        evaluate_many([*documents, flat_job(1)], carry=True, reduce=fails_once, today=TODAY)
    )
    assert [type(item.error) for item in items] == [
        type(None),
        type(items[1].error),
        NotEvaluated,
        type(None),
    ]
    assert items[1].carried is None
    # The second was planned all the same: its alignment and its height are there for the last.
    assert items[2].carried.setup.alignments == 1
    assert items[3].carried.setup.alignments == 0
    assert items[3].carried.gap_is_kept


def test_each_result_is_that_of_its_job_with_the_alignments_on_record():
    documents = [flat_job(0, 1), sign_job(), flat_job(0, 0.5)]
    for item in evaluate_many(documents, carry=True, today=TODAY):
        known = [
            {"extra": one.extra, "date": one.date.isoformat()} for one in item.carried.alignments
        ]
        again = evaluate(
            job_from_dict({**documents[item.number], "alignments": known}), today=TODAY
        )
        assert item.result.to_dict(remedies=False) == again.to_dict(remedies=False)


def test_without_carry_nothing_is_carried():
    items = list(evaluate_many([flat_job(0), flat_job(0)]))
    assert [item.carried for item in items] == [None, None]
    assert [len(item.result.plan.timeline.new_alignments) for item in items] == [1, 1]


def test_an_executor_is_refused():
    with ThreadPoolExecutor(1) as executor, pytest.raises(ValueError, match="each job waits"):
        evaluate_many([flat_job(0)], carry=True, executor=executor)


def test_jobs_are_still_taken_one_by_one():
    taken = []

    def without_end():
        while True:
            taken.append(1)
            yield flat_job(0)

    items = evaluate_many(without_end(), carry=True, today=TODAY)
    assert [next(items).carried.setup.alignments for _ in range(3)] == [1, 0, 0]
    items.close()
    assert len(taken) == 3


def test_where_minutes_are_not_stated_settings_and_alignments_are_counted():
    printer = {key: each for key, each in PRINTER.items() if key != "minutes"}
    first, second = carried(flat_job(0, 1, printer=printer), flat_job(1, printer=printer))
    assert (first.setup.minutes, first.setup.weight) == (None, 2 + 2)
    assert (second.setup.minutes, second.setup.weight) == (None, 0)


def test_plain_data():
    _, second = carried(flat_job(0, 1), flat_job(1))
    assert second.to_dict() == {
        "alignments_mm": extras(second),
        "head_above_bed_mm": 5.5,
        "gap_is_kept": True,
        "setup": {"bed_loads": 1, "gap_settings": 0, "new_alignments": 0, "setup_minutes": 4},
    }
    (scrapes,) = carried(SCRAPES)
    assert scrapes.to_dict()["setup"] is None
    assert scrapes.to_dict()["head_above_bed_mm"] is None


def test_a_plan_that_is_not_proven_is_held_to_the_one_without_what_is_carried():
    # With a budget of one state the first order found is kept, and the alignments on record only
    # count for it.
    documents = [flat_job(0, 1), sign_job(), flat_job(1, 0, 1)]
    alone = [evaluate(job_from_dict(each), budget=1, today=TODAY) for each in documents]
    for result, item in zip(alone, carried(*documents, budget=1), strict=True):
        assert item.setup.cost <= result.plan.cost


@given(day=days())
@settings(max_examples=effort(60))
def test_carrying_never_raises_the_set_up_of_a_job(day):
    items = list(evaluate_many(day, carry=True, today=TODAY, audited=True))
    for job, item in zip(day, items, strict=True):
        alone = evaluate(job, today=TODAY, audited=False)
        assert item.error is None
        assert not item.result.faults
        assert item.result.order_is_safe >= alone.order_is_safe
        if alone.order_is_safe:
            assert item.carried.setup.cost <= alone.plan.cost


@pytest.mark.thorough
@given(day=days())
@settings(max_examples=effort(60))
def test_a_row_is_that_of_the_plain_way(day):
    items = [item for item in evaluate_many(day, carry=True, today=TODAY) if item.carried.setup]
    found = [
        (each.carried.setup.loads, each.carried.setup.gap_settings, each.carried.setup.alignments)
        for each in items
    ]
    assert found == [(one.loads, one.settings, one.alignments) for one in in_a_row(day)]
    for item in items:
        kept = item.carried.gap_is_kept
        assert item.carried.setup.gap_settings + kept == paid_settings(item.result)


def test_the_day_of_the_alignments_is_today_where_none_is_given():
    before = datetime.date.today()
    items = list(evaluate_many([flat_job(0), flat_job(0)], carry=True))
    assert before <= items[1].carried.alignments[0].date <= datetime.date.today()
