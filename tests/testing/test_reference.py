"""The brute force of the kit on jobs that are small enough to count by hand."""

from __future__ import annotations

from scenario import sign_job

from signrules import evaluate, job_from_dict
from signrules.testing import BruteForce


def one_pass(**changes):
    """One sheet and one pass whose gap is open, without signs."""
    document = sign_job(standards=[], signs=[], **changes)
    document["passes"] = [{"id": "ground", "ink": "black", "gap": "auto"}]
    return document


def least(document):
    job = job_from_dict(document)
    found = BruteForce(job).run()
    plan = evaluate(job).plan
    assert found == (None if plan is None else plan.cost)
    return found


def test_a_dial_is_turned_as_far_as_it_takes():
    # 1.5 mm over the sheet less 0.01 mm of ink: 1.49 mm are free. One load of 4 minutes, one gap of
    # 2, one alignment of 12. Where 1.59 mm must be free the dial of steps of 0.1 mm stands at 0.1
    # mm, and 2 mm are beyond its 0.3 mm.
    document = one_pass()
    document["printer"]["gap"] = {"control": "dial", "max": 0.3, "step": 0.1}
    assert least(document) == (1, 18.0)
    document["printer"]["min_clearance"] = "1.59 mm"
    assert least(document) == (1, 18.0)
    document["printer"]["min_clearance"] = "2 mm"
    assert least(document) is None


def test_an_alignment_that_is_older_than_the_last_work_on_the_heads_is_made_anew():
    # The throw is 1.5 mm, as it was over the bare sheet when it was aligned: one load of 4 minutes
    # and one gap of 2.
    document = one_pass()
    document["alignments"] = [{"extra": 0, "date": "2026-02-01"}]
    assert least(document) == (1, 6.0)
    document["printer"]["head_work"] = "2026-02-01"
    assert least(document) == (1, 6.0)
    document["printer"]["head_work"] = "2026-02-02"
    assert least(document) == (1, 18.0)


def test_a_sheet_that_is_put_back_worse_than_allowed_fits_no_order():
    # Stops are good to 0.5 mm, pins to 0.1 mm, and 0.15 mm are allowed.
    document = one_pass()
    first, second = (
        document["passes"][0],
        document["passes"][0] | {"id": "again", "after": ["between"]},
    )
    document["passes"] = [first, second]
    document["handling"] = [
        {"id": "between", "does": "reload", "locates_by": "stops", "after": ["ground"]}
    ]
    assert least(document) is None
    document["handling"][0]["locates_by"] = "pins"
    # Two loads of 4 minutes, one gap kept, one alignment.
    assert least(document) == (2, 22.0)
