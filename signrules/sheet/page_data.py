"""What the script of a run sheet needs: its words, and tables that the library has worked out."""

from __future__ import annotations

import json
import re
from typing import Any

from signrules.documents.job_fingerprints import job_fingerprint
from signrules.evaluation import Evaluation
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
        "layers": {},
        "words": _words(language),
    }


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
