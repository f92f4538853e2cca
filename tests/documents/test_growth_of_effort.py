"""Ten times the document takes about ten times the work, whatever there is more of and whatever is
wrong with it.

Work is counted in calls. What compares each with each takes a hundred times as many, sorting a
little over ten.
"""

from __future__ import annotations

import datetime
import gc
import json
import tracemalloc
from collections.abc import Callable
from typing import Any

import pytest
from documents.hostile import FAULTY, SOUND, Document
from effort import first_quick
from work import Name, calls_of

from signrules.documents import job_from_dict, job_to_dict
from signrules.documents.source_places import Places
from signrules.documents.toml import to_toml
from signrules.errors import DocumentFault, JobError, condensed_faults
from signrules.model import Waiver
from signrules.model.consistency import inconsistencies
from signrules.model.declared import field_faults
from signrules.model.quantities import Interval
from signrules.rules.checks import Check, Level, Outcome, Source
from signrules.rules.waivers import apply_waivers

FEW, MANY = 250, 2500
MOST = 13


def refusal(document: Document) -> JobError:
    with pytest.raises(JobError) as caught:
        job_from_dict(document)
    return caught.value


@pytest.fixture(autouse=True, scope="module")
def _what_is_made_once() -> None:
    """Readers and writers of each class are made when they are first asked for."""
    for make in SOUND.values():
        job_to_dict(job_from_dict(make(3)))


def grows_as_the_input(prepared: Callable[[int], Callable[[], object]]) -> None:
    few, many = (calls_of(prepared(count)) for count in (FEW, MANY))
    assert FEW < many <= MOST * few


def test_the_count_notices_what_compares_each_with_each() -> None:
    def product(count: int) -> Callable[[], object]:
        names = [Name(f"p{at}") for at in range(count)]
        return lambda: [name for name in names if name in names]

    few, many = calls_of(product(40)), calls_of(product(400))
    assert many > 50 * few


@pytest.mark.parametrize("name", first_quick(2, SOUND))
def test_reading(name: str) -> None:
    def prepared(count: int) -> Callable[[], object]:
        document = SOUND[name](count)
        return lambda: job_from_dict(document)

    if name == "dial":  # However many its steps are, they are two numbers.
        assert calls_of(prepared(MANY)) == calls_of(prepared(FEW))
    else:
        grows_as_the_input(prepared)


@pytest.mark.parametrize("name", first_quick(2, FAULTY))
def test_refusing(name: str) -> None:
    def prepared(count: int) -> Callable[[], object]:
        document = FAULTY[name](count)
        return lambda: str(refusal(document))

    grows_as_the_input(prepared)


@pytest.mark.parametrize("name", first_quick(2, sorted(SOUND.keys() - {"dial"})))
@pytest.mark.parametrize("act", [job_to_dict, inconsistencies], ids=lambda act: act.__name__)
def test_writing_and_what_a_job_is_held_to(name: str, act: Callable[[Any], object]) -> None:
    def prepared(count: int) -> Callable[[], object]:
        job = job_from_dict(SOUND[name](count))
        return lambda: act(job)

    if act is job_to_dict and name in ("spacers", "locating", "texts"):
        # A list or a dict of plain values is written by one call in C for each value, or by none.
        few, many = (calls_of(prepared(count)) for count in (FEW, MANY))
        assert many <= MOST * few
    else:
        grows_as_the_input(prepared)


@pytest.mark.thorough
@pytest.mark.parametrize("name", first_quick(2, sorted(SOUND.keys() - {"dial"})))
def test_the_text_of_a_document_and_its_places(name: str) -> None:
    def prepared(count: int) -> Callable[[], object]:
        document = job_to_dict(job_from_dict(SOUND[name](count)))

        def act() -> None:
            toml = to_toml(document)
            Places(toml, "toml")
            Places(json.dumps(document), "json").find("passes.nowhere")

        return act

    grows_as_the_input(prepared)


def test_as_many_spacers_or_steps_as_a_printer_has_room_for() -> None:
    spacers = job_from_dict(SOUND["spacers"](5000))
    assert len(spacers.printer.gap.extras()) == 5000
    assert job_from_dict(job_to_dict(spacers)) == spacers
    dial = job_from_dict(SOUND["dial"](5000))
    assert len(dial.printer.gap.extras()) == 5001
    assert list(field_faults("printer", dial.printer)) == []
    assert job_from_dict(job_to_dict(dial)) == dial
    for job in (spacers, dial):
        # A call or two for each of them, not for each pair.
        assert calls_of(job.printer.gap.extras) < 3 * 5001


@pytest.mark.parametrize("kinds", [1, 7, 150, 10**6])
def test_condensing_faults(kinds: int) -> None:
    letters = "abcdefghij"

    def kind(at: int) -> str:
        return "".join(letters[int(digit)] for digit in str(at % kinds))

    def prepared(count: int) -> Callable[[], object]:
        faults = [
            DocumentFault(f"passes[{at}].{kind(at)}", "x", f"a {kind(at)}") for at in range(count)
        ]
        return lambda: condensed_faults(faults)

    few, many = (calls_of(prepared(count)) for count in (FEW, MANY))
    assert MANY < many <= MOST * few


def finding(subject: str, level: Level) -> Check:
    one, source = Interval.exact(1), Source("shop", "invented")
    return Check(
        "a.b", (subject,), Outcome.BROKEN, level, one, (2, None), "mm", -1.0, "text", source
    )


@pytest.mark.parametrize("same", [True, False], ids=["all for one", "each for its own"])
@pytest.mark.parametrize("level", [Level.REVIEW, Level.STOP])
def test_waivers(same: bool, level: Level) -> None:
    def prepared(count: int) -> Callable[[], object]:
        subjects = [Name("job" if same else f"passes.p{at}") for at in range(count)]
        checks = [finding(subject, level) for subject in subjects]
        waivers = [Waiver("a.b", subject, "r", "b") for subject in subjects]
        return lambda: apply_waivers(checks, waivers, datetime.date(2026, 1, 1))

    grows_as_the_input(prepared)


def peak_of(action: Callable[[], object]) -> int:
    """The most memory that something takes, in bytes, were nothing collected until its end."""
    gc.collect()
    gc.disable()
    tracemalloc.start()
    try:
        action()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
        gc.enable()


@pytest.mark.slow
@pytest.mark.parametrize(
    "name", ["passes with one id", "faults in turn", "bad areas", "which sheet"]
)
def test_memory(name: str) -> None:
    few, many = FAULTY[name](FEW), FAULTY[name](MANY)
    refusal(few)  # What is made once and kept is not counted.
    assert peak_of(lambda: refusal(many)) <= MOST * peak_of(lambda: refusal(few))
