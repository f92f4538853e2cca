"""Clearance and order, judged by clingo (answer set programming) from rules written for it alone.

The rules are those of `tests/benchmarks/engines.py`; they share nothing with the library but the
model of a job.
"""

from __future__ import annotations

import pytest

pytest.importorskip("clingo")

from attrs import evolve
from benchmarks.cases import rows_of_signs
from benchmarks.engines import judged_by_clingo, judged_by_signrules, order_by_clingo, shuffled

import signrules


def test_the_same_passes_break_the_same_rules():
    broken = set()
    for seed in range(12):
        job = shuffled(rows_of_signs(8 + 3 * seed, 6, seed), seed)
        found = judged_by_clingo(job)
        assert found == judged_by_signrules(job)
        broken |= {(seed, *one) for one in found}
    assert len(broken) > 50
    assert {rule for _, rule, _ in broken} == {"clearance", "order"}


@pytest.mark.parametrize("seed", range(4))
def test_each_finds_the_other_s_order_safe(seed):
    job = rows_of_signs(7, 6, seed)
    order = order_by_clingo(job, 60)
    assert order is not None
    assert judged_by_signrules(evolve(job, sequence=order)) == set()
    assert judged_by_clingo(evolve(job, sequence=signrules.safe_order(job))) == set()
