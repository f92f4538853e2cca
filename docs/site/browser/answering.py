"""What the page in the browser shows of a job: text of the document in, plain data out.

This module runs in the reader's browser, and once while the site is built, for the answer that the
page starts with.
"""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import signrules
from signrules.cautions import CAUTIONS
from signrules.documents.source_places import Places
from signrules.reports.text_report import first_remedy, plan_title, step_text
from signrules.sheet.cross_section import cross_section
from signrules.sheet.scene import scale_of, scene_of_each

MOST_PICTURES = 12
"""Of more passes the first ones are drawn."""

_LINE = re.compile(r"\bline (\d+)")
_live = signrules.Live()


def answer_text(text: str) -> str:
    """The answer to the text of a job document, as JSON."""
    return json.dumps(answer(text))


def answer(text: str) -> dict[str, Any]:
    """The answer to the text of a job document in TOML.

    What is wrong with the document stands in `faults`, each with the line where it stands; there is
    nothing else then.
    """
    places = Places(text, "toml")
    try:
        result = _live.evaluate(_read(text))
    except signrules.JobError as error:
        return {"faults": [_fault(fault, places) for fault in error.faults]}
    return {"faults": []} | _judged(result, places)


def _read(text: str) -> signrules.Job:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "job.toml"
        path.write_text(text, encoding="utf-8")
        return signrules.read_job(path)


def _fault(fault: signrules.DocumentFault, places: Places) -> dict[str, Any]:
    line = _line_of(fault.path, places)
    stated = _LINE.search(fault.found)
    if line is None and stated:
        # What is no TOML has no path yet: the parser names the line.
        line = int(stated[1])
    where = fault.path or "the document"
    return {"line": line, "head": where, "text": str(fault).removeprefix(f"{where}: ")}


def _judged(result: signrules.Evaluation, places: Places) -> dict[str, Any]:
    return {
        "verdict": result.verdict,
        "ok": result.ok,
        "conflict": result.conflict.message if result.conflict else "",
        "findings": _findings(result, result.violations, places),
        "unassessed": _findings(result, result.unassessed, places),
        "plan": plan_title(result) if result.plan else "",
        "steps": [step_text(step, result) for step in result.plan.steps] if result.plan else [],
        "pictures": _pictures(result),
        "graph": signrules.graph_svg(result).partition("?>")[2],
        "sheet": signrules.run_sheet(result),
        "cautions": [str(caution) for caution in CAUTIONS],
    }


def _findings(
    result: signrules.Evaluation, checks: Iterable[signrules.Check], places: Places
) -> list[dict[str, Any]]:
    remedies = result.reported_remedies.of_checks
    return [
        {
            "line": _line_of(check.subjects[0], places) if check.subjects else None,
            "head": f"{check.level.value} {check.rule}",
            "text": check.message,
            "remedy": " ".join(first_remedy(remedies.get(check, ())[:1])),
        }
        for check in checks
    ]


def _line_of(path: str, places: Places) -> int | None:
    region = places.find(path) if path else None
    return region.line if region else None


def _pictures(result: signrules.Evaluation) -> list[dict[str, str]]:
    """The cross-section of each print, in the order of the plan."""
    if result.plan is None:
        return []
    scenes = scene_of_each(result.timeline)
    if not scenes:
        return []
    scale = scale_of(result.job, tuple(scenes.values()))
    shown = list(scenes.items())[:MOST_PICTURES]
    return [
        {
            "title": f"Printing {result.job.passes[number].id}",
            "svg": cross_section(scene, scale, f"section-{number}"),
        }
        for number, scene in shown
    ]
