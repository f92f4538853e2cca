"""What is judged and shown of ten times as many waivers, pauses, inks or passes takes about ten
times the work.

The plan itself is another matter, and so are the plans that remedies are tried with: they are not
counted here.
"""

from __future__ import annotations

import datetime
from collections.abc import Callable
from typing import Any

import pytest
from effort import first_quick
from hypothesis import given
from hypothesis import strategies as st
from scenario import PRINTER, sign_job
from work import calls_of

from signrules import Evaluation, estimate, evaluate, junit, load_plugins, run_sheet, sarif
from signrules.documents import job_from_dict
from signrules.model.printer import Spacers, nearest_extra
from signrules.reports.text_report import evaluation_text
from signrules.rules.engine import Facts, run_rules

MOST = 13
TODAY = datetime.date(2026, 1, 1)


def evaluated(**changes: Any) -> Evaluation:
    return evaluate(job_from_dict(sign_job(**changes)), today=TODAY)


def pauses(count: int) -> Evaluation:
    return evaluated(handling=[{"id": f"h{at}", "does": "pause"} for at in range(count)])


def waived(count: int) -> Evaluation:
    """As many pauses as waivers, and each of these matches nothing."""
    row = {"rule": "a.b", "reason": "r", "by": "b"}
    return evaluated(waivers=[{**row, "subject": f"signs.s{at}"} for at in range(count)])


def inks(count: int) -> Evaluation:
    more = [{"id": f"i{at}", "role": "white", "layer": "10 um"} for at in range(count)]
    return evaluated(inks=[*sign_job()["inks"], *more])


def dialled(count: int) -> Evaluation:
    """Passes that are printed both ways by one of so many alignments, with a dial of so
    many steps.
    """
    printer = PRINTER | {"gap": {"control": "dial", "max": 4, "step": 4 / count}}
    rows = [
        {
            "id": f"p{at}",
            "ink": "black",
            "gap": {"extra": 1},
            "areas": [[at % 20 * 9, 0, 8, 8]],
            "registers_to": [],
        }
        for at in range(count)
    ]
    on_record = [{"extra": 1, "date": "2026-01-01"}] * count
    return evaluated(printer=printer, passes=rows, signs=[], alignments=on_record)


SHOWN: dict[str, Callable[[Evaluation], object]] = {
    "text": lambda result: evaluation_text(result, everything=True),
    "data": lambda result: result.to_dict(),
    "sarif": lambda result: sarif({"job.toml": result}),
    "junit": lambda result: junit({"job.toml": result}),
    "estimate": estimate,
    "run sheet": lambda result: run_sheet(result),
}


MADE = (pauses, waived, inks, dialled)
# The run sheet has a picture for each pass, of all that stands on the bed by then: there the passes
# are a product.
BOTH = [
    (made, shown) for made in MADE for shown in SHOWN if (made, shown) != (dialled, "run sheet")
]


@pytest.mark.parametrize(
    "both", first_quick(3, BOTH), ids=lambda both: f"{both[0].__name__}-{both[1]}"
)
def test_what_is_shown_of_an_evaluation(both: tuple[Callable[[int], Evaluation], str]) -> None:
    made, shown = both

    def prepared(count: int) -> Callable[[], object]:
        result = made(count)
        result.look_for_remedies()
        return lambda: SHOWN[shown](result)

    calls_of(prepared(5))
    few, many = (calls_of(prepared(count)) for count in (25, 250))
    assert many <= MOST * few


@pytest.mark.thorough
@pytest.mark.parametrize("rule", ["gap.settable", "alignment.served"])
def test_a_rule_compares_a_pass_with_few_steps_and_alignments(rule: str) -> None:
    placed = [one for one in load_plugins().rules if one.rule.name == rule]

    def prepared(count: int) -> Callable[[], object]:
        result = dialled(count)
        facts = Facts(result.job, result.timeline, (), ordered=True)
        return lambda: run_rules(placed, facts)

    few, many = (calls_of(prepared(count)) for count in (50, 500))
    assert 500 < many <= MOST * few


@given(st.lists(st.integers(0, 30), max_size=8), st.floats(-1, 31))
def test_the_nearest_of_all_extras(spacers: list[int], extra: float) -> None:
    gap = Spacers(tuple(spacer / 1.0 for spacer in spacers))
    least = min(abs(each - extra) for each in (0.0, *spacers))
    found = nearest_extra(gap, extra)
    assert abs(found - extra) == least
    assert found == min(each for each in (0.0, *spacers) if abs(each - extra) == least)
