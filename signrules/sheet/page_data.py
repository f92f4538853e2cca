"""What the script of a run sheet needs: its words, and tables that the library has worked out."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from math import ceil, floor
from typing import Any

from signrules.continuing.more_layers import ranges_for_layers
from signrules.documents.job_fingerprints import job_fingerprint
from signrules.evaluation import Evaluation
from signrules.model.quantities import GUARD_MM
from signrules.sheet.dots_form import signs_to_measure
from signrules.sheet.language import Language
from signrules.sheet.sheet_words import clean_text
from signrules.sheet.step_table import steps_by_sum

_NO_FILE_NAME = re.compile(r"[^a-z0-9]+")
LONGEST_FILE_NAME = 60


def page_data(result: Evaluation, language: Language) -> str:
    """JSON that can stand in an HTML page and in an XML one: no mark of either is in it."""
    text = json.dumps(_page_contents(result, language), ensure_ascii=True, sort_keys=True)
    for mark in "<>&":
        text = text.replace(mark, f"\\u{ord(mark):04x}")
    return text


def _page_contents(result: Evaluation, language: Language) -> dict[str, Any]:
    job = result.job
    file_name = _NO_FILE_NAME.sub("-", job.name.lower())[:LONGEST_FILE_NAME].strip("-")
    return {
        "job": clean_text(job.name),
        "fingerprint": job_fingerprint(job),
        "file": file_name or "job",
        "passes": _passes_by_step(result),
        "steps": steps_by_sum(language),
        "layers": dict(_layers_by_sign(result, language)),
        "words": _words(language),
    }


def _layers_by_sign(
    result: Evaluation, language: Language
) -> Iterator[tuple[str, list[tuple[int, int, int]]]]:
    """For each sign rows of hundredths of a mm: the lowest dot, the highest, and layers more."""
    for sign in signs_to_measure(result, language):
        builders = [item for item in result.job.passes if f"{sign.id}.braille" in item.builds]
        if len(builders) == 1 and sign.least is not None and sign.most is not None:
            ranges = ranges_for_layers(sign.least, sign.most, builders[0].layers)
            yield (
                sign.sign,
                [
                    (ceil(low * 100 - GUARD_MM), floor(high * 100 + GUARD_MM), count)
                    for low, high, count in ranges
                    if low <= high
                ],
            )


def _passes_by_step(result: Evaluation) -> list[tuple[int, str]]:
    assert result.plan is not None
    return [
        (number, result.job.passes[step.printing.pass_index].id)
        for number, step in enumerate(result.plan.steps, start=1)
        if step.kind == "print" and step.printing is not None
    ]


def _words(language: Language) -> dict[str, str]:
    """What the page says once it is alive, by the names that the script has for it."""
    return {
        "enter": language.say("Enter"),
        "no_entry": language.say("Enter half of lowest + highest, and read again."),
        "fine": language.say("within the range"),
        "layers": language.say("{count} more layers: ask for the way on before anything moves"),
        "ask": language.say("outside the range: leave the sheet where it lies, ask for the way on"),
        "stepping": language.say("Step by step"),
        "whole": language.say("Whole sheet"),
        "back": language.say("Back"),
        "forth": language.say("Next"),
        "open": language.say("Not ticked: {count}"),
        "save": language.say("Save the record"),
        "clear": language.say("Start afresh"),
        "sure": language.say("Forget everything that was ticked and written on this page?"),
    }
