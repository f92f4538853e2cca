"""The head of a run sheet: which job this is, in which state, made from which files."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from signrules.documents.job_fingerprints import job_fingerprint, short_fingerprint
from signrules.evaluation import Evaluation
from signrules.model.job import Job
from signrules.sheet.language import Language
from signrules.sheet.sheet_words import NBSP, clean_text, clipped_words

LONGEST_NAME = 160
MOST_FILES = 6
MOST_INKS = 8


def head_contents(result: Evaluation, language: Language) -> dict[str, Any]:
    """What the head of the page says of the job, the printer and the files."""
    job = result.job
    full_name = ""
    if len(job.name) > LONGEST_NAME:
        full_name = clipped_words(job.name, 4 * LONGEST_NAME)
    used = dict.fromkeys(item.ink for item in job.passes)
    return {
        "name": clipped_words(job.name, LONGEST_NAME) or language.say("job"),
        "full_name": full_name,
        "name_length": len(job.name),
        "printer": clipped_words(job.printer.name or "", LONGEST_NAME),
        "min_clearance": language.mm(job.printer.min_clearance),
        "revision": _revision_words(job, language),
        "fingerprint": short_fingerprint(job_fingerprint(job)),
        "whole_fingerprint": job_fingerprint(job),
        "files": list(_artwork_files(job, language)),
        "summary": list(_summary(result, language)),
        "inks": [clean_text(ink) for ink in used][:MOST_INKS],
    }


def _revision_words(job: Job, language: Language) -> str:
    stated = [clipped_words(job.revision or "", LONGEST_NAME)]
    if job.revised is not None:
        stated.append(job.revised.isoformat())
    return ", ".join(filter(None, stated)) or language.say("not stated")


def _artwork_files(job: Job, language: Language) -> Iterator[tuple[str, str]]:
    """The files of artwork with their fingerprints; of very many the first."""
    files: dict[str, str] = {}
    for item in job.passes:
        for source in item.artwork:
            files.setdefault(source.file, source.fingerprint)
    for name in list(files)[:MOST_FILES]:
        yield clean_text(name), short_fingerprint(files[name])
    if len(files) > MOST_FILES:
        yield language.say("{count} more", count=len(files) - MOST_FILES), ""


def _summary(result: Evaluation, language: Language) -> Iterator[str]:
    """What the plan costs, and how good it is."""
    plan = result.plan
    if plan is None:
        return
    yield language.say_count("{count} bed load", "{count} bed loads", plan.loads)
    settings = result.timeline.gap_settings
    yield language.say_count("{count} gap setting", "{count} gap settings", settings)
    alignments = len(result.timeline.new_alignments)
    yield language.say_count("{count} new alignment", "{count} new alignments", alignments)
    if plan.setup_minutes is not None:
        minutes = language.say_count("{count} minute", "{count} minutes", plan.setup_minutes)
        yield language.say("{minutes} of set-up", minutes=minutes.replace(" ", NBSP))
    if not plan.judged:
        cheapest = language.say("the cheapest order that was found")
        yield language.say("no order costs less") if plan.optimal else cheapest
