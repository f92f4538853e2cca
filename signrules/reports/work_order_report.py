"""The report of a work order as plain data, of which its page and its text are made."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from signrules.cautions import CAUTIONS, Caution
from signrules.errors import SignrulesError
from signrules.estimating import WorkOrderEstimate
from signrules.estimating.amounts import INK
from signrules.estimating.charges import AMOUNT_STEP
from signrules.estimating.pricing import amount_text
from signrules.evaluation import Evaluation
from signrules.evaluation.order_verdict import failing_signs
from signrules.many_jobs.carrying import Carried
from signrules.plain import rounded_number
from signrules.reports.causes import KINDS, Cause, causes_of
from signrules.reports.stock_places import stock_places
from signrules.rules.checks import Level
from signrules.work_order_files import JudgedOrder

FORMAT = 1
"""The version of the shape that `work_order_report` gives."""

PROOFREADING = Caution(
    "NOTICE",
    "Proofreading",
    "Have a qualified reader proofread every sign with braille before it leaves the shop: a"
    " dimension check reads no words.",
)
"""Common practice, no published source."""


def work_order_report(
    judged: JudgedOrder, estimate: WorkOrderEstimate | None = None
) -> dict[str, Any]:
    """Everything that is told of a work order, as plain data, ready for JSON.

    `estimate` is that of the same work order; left out, it is made without prices. Lengths are in
    mm; amounts and money are text.
    """
    found = judged.estimate() if estimate is None else estimate
    rows = {(sign.load, sign.id): sign.row for sign in found.signs if sign.row is not None}
    causes = [_with_rows(cause, rows) for cause in causes_of(judged.evaluations)]
    return {
        "signrules_work_order_report": FORMAT,
        "name": judged.name,
        "ok": judged.ok,
        "verdict": judged.verdict,
        "counts": _counts(judged, found),
        "failed": list(_failures(judged)),
        "causes": {kind: [each for each in causes if each["kind"] == kind] for kind in KINDS},
        "sequence": list(_sequence(judged, found)),
        "buy": {"stock": [use.to_dict() for use in found.stock], "ink": list(_inks(found))},
        "stock_sheets": [] if judged.order is None else stock_places(judged.order),
        "signs": list(_numbered_signs(found)),
        "notes": [] if judged.order is None else list(judged.order.notes),
        "estimate": found.to_dict(),
        "cautions": [*map(str, CAUTIONS), str(PROOFREADING)],
    }


def _with_rows(cause: Cause, rows: Mapping[tuple[str, str], int]) -> dict[str, Any]:
    """A cause as plain data, with the rows of the schedule that its signs come from."""
    signs = [(load, sign) for load, ids in cause.by_load.items() for sign in ids]
    named = {rows[sign] for sign in signs if sign in rows}
    return {**cause.to_dict(), "rows": sorted(named)}


def _counts(judged: JudgedOrder, found: WorkOrderEstimate) -> dict[str, int]:
    results = judged.evaluations.values()
    return {
        "loads": len(judged.outcomes),
        "loads_ok": sum(
            result.ok and load not in judged.outdated for load, result in judged.evaluations.items()
        ),
        "loads_not_judged": len(judged.outcomes) - len(judged.evaluations),
        "signs": len(found.signs),
        "signs_failing": sum(len(failing_signs(result)) for result in results),
        "stock_sheets": sum(use.sheets for use in found.stock),
        "to_review": sum(
            check.level is Level.REVIEW for result in results for check in result.violations
        ),
        "not_checked": sum(len(result.unassessed) for result in results),
    }


def _failures(judged: JudgedOrder) -> Iterator[dict[str, Any]]:
    """What keeps loads from being printed and is no check: each reason once, with its loads."""
    found: dict[str, list[str]] = {}
    for load, outcome in judged.outcomes.items():
        reasons = (*_reasons_of(outcome), *judged.outdated.get(load, ()))
        # A plugin that fails does so on every load: once is enough.
        for reason in dict.fromkeys(reasons):
            found.setdefault(reason, []).append(load)
    for reason, loads in found.items():
        yield {"reason": reason, "loads": loads}


def _reasons_of(outcome: Evaluation | SignrulesError) -> Iterator[str]:
    if isinstance(outcome, SignrulesError):
        yield str(outcome)
        return
    yield from map(str, outcome.faults)
    if outcome.conflict is not None:
        yield outcome.conflict.message


def _sequence(judged: JudgedOrder, found: WorkOrderEstimate) -> Iterator[dict[str, Any]]:
    """The loads in the order of printing, each with what is to be set up for it."""
    sheets: dict[str, list[str]] = {load.id: [] for load in found.loads}
    signs: dict[str, list[str]] = {load.id: [] for load in found.loads}
    for sign in found.signs:
        signs[sign.load].append(sign.id)
        sheets[sign.load].append(sign.sheet)
    for load in found.loads:
        yield {
            "load": load.id,
            "file": load.file,
            "ok": load.ok,
            "verdict": load.verdict,
            "signs": signs[load.id],
            "sheets": list(dict.fromkeys(sheets[load.id])),
            **_setup_of(judged.outcomes.get(load.id), judged.carried.get(load.id, Carried())),
            "setup_minutes": amount_text(load.takes.setup_minutes),
            "handling_minutes": amount_text(load.takes.handling_minutes),
            "pause_minutes": amount_text(load.takes.pause_minutes),
            "printing_minutes": amount_text(load.takes.printing_minutes),
        }


def _setup_of(outcome: Evaluation | SignrulesError | None, left: Carried) -> dict[str, Any]:
    """Alignments to make first, those that earlier loads make, those on record, and gap settings;
    None without a plan.
    """
    kinds = ("alignments", "aligned_before", "on_record", "gap_is_kept", "gap_settings")
    if not isinstance(outcome, Evaluation) or outcome.plan is None:
        return dict.fromkeys(kinds)
    timeline = outcome.timeline
    before = [one.extra for one in left.alignments]
    on_record = [one.extra for one in outcome.job.usable_alignments if one.extra not in before]
    gaps = timeline.gap_settings - left.gap_is_kept
    # Rounded as everywhere in plain data, so that two runs that add otherwise agree.
    extras = (_rounded(timeline.new_alignments), _rounded(before), _rounded(on_record))
    return dict(zip(kinds, (*extras, left.gap_is_kept, gaps), strict=True))


def _rounded(extras: Iterable[float]) -> list[float]:
    return [rounded_number(extra) for extra in extras]


def _inks(found: WorkOrderEstimate) -> Iterator[dict[str, Any]]:
    """Ink in mL by ink, and with the waste of the rate table."""
    for line in found.lines:
        if line.kind == INK:
            assert line.amount is not None
            with_waste = (line.amount * (1 + line.waste)).quantize(AMOUNT_STEP)
            yield {
                "ink": line.item,
                "ml": amount_text(line.amount),
                "waste": amount_text(line.waste),
                "with_waste_ml": amount_text(with_waste),
            }


def _numbered_signs(found: WorkOrderEstimate) -> Iterator[dict[str, Any]]:
    for number, sign in enumerate(found.signs, start=1):
        yield {
            "number": number,
            "id": sign.id,
            "type": sign.type or None,
            "row": sign.row,
            "load": sign.load,
            "sheet": sign.sheet,
            "stock_sheet": sign.stock_sheet or None,
        }
