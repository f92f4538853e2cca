"""Evaluations as XML in the style of JUnit, which services for continuous integration read.

There is no standard of it. Elements and attributes are those that are common to the readers:
`testsuites`, `testsuite` with its counts, `testcase` with `classname` and `name`, and in it
`failure`, `error`, `skipped` or `system-out`.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from itertools import chain
from pathlib import Path
from xml.etree import ElementTree

from signrules.errors import JobError
from signrules.evaluation import Evaluation
from signrules.remedies.finder import Reported
from signrules.reports.source_regions import Judged, Source
from signrules.reports.text_report import (
    MOST_OF_A_NAME,
    finding_line,
    first_remedy,
    in_full,
    not_tried,
    one_line,
)
from signrules.rules.checks import Check, Outcome

_FORBIDDEN = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""What no XML 1.0 document may hold: all but the production Char of *Extensible Markup Language
1.0*, 2.2.
"""


def junit(
    judged: Judged,
    *,
    base: Path | None = None,
    remedies: bool = True,
    changed: Mapping[str, Sequence[str]] | None = None,
) -> str:
    """XML text: a suite for each file, a case for each rule and subject.

    A broken or doubtful check is a failure, one that could not be made or is waived is skipped, a
    fault is an error; the verdict, whether it is settled, and what the shop has set are properties
    of the suite; broken notes and what else there is to say of a case stand in `system-out`. `base`
    is the folder that file names are relative to, left out the working directory. With `remedies`,
    which take trial evaluations, a failure names the first change that would meet the check.
    `changed` says by file which artwork is not as it was when its job was read: a failure too.
    """
    base = (base or Path.cwd()).absolute()
    root = ElementTree.Element("testsuites", name="signrules")
    for path, outcome in judged.items():
        source = Source(path, base)
        if isinstance(outcome, Evaluation):
            suite = _add_suite(
                root, one_line(outcome.job.name, MOST_OF_A_NAME) or source.uri, source
            )
            _evaluation_suite(suite, source, outcome, remedies)
            for text in (changed or {}).get(path, ()):
                case = _add_case(suite, "artwork.changed", "job", source, "")
                _say_in_case(case, "failure", text)
        elif isinstance(outcome, JobError):
            suite = _add_suite(root, source.uri, source)
            for fault in outcome.faults:
                case = _add_case(
                    suite, "document.fault", fault.path or "the document", source, fault.path
                )
                region = source.region_of_fault(fault)
                if region is not None:
                    case.set("line", str(region.line))
                _say_in_case(case, "error", str(fault))
        else:
            suite = _add_suite(root, source.uri, source)
            _say_in_case(
                _add_case(suite, "evaluation", "the document", source, ""), "error", str(outcome)
            )
        _count_cases(suite, suite.findall("testcase"))
    _count_cases(root, root.findall("testsuite/testcase"))
    ElementTree.indent(root)
    text = ElementTree.tostring(root, encoding="unicode", short_empty_elements=True)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


def _evaluation_suite(
    suite: ElementTree.Element, source: Source, result: Evaluation, remedies: bool
) -> None:
    offered = result.reported_remedies if remedies else Reported()
    _add_properties(suite, result, offered)
    cases: dict[tuple[str, str], list[Check]] = {}
    for check in result.checks:
        # Readers tell cases by class and name: two of the same would count as one run twice.
        cases.setdefault((check.rule, check.subjects[0]), []).append(check)
    for (rule, subject), checks in cases.items():
        _say_of_checks(_add_case(suite, rule, subject, source, subject), checks, offered)
    if result.conflict is not None:
        case = _add_case(suite, "order.none-safe", "job", source, "")
        _say_in_case(
            case,
            "failure",
            *result.conflict.message.split("\n"),
            *first_remedy(offered.of_conflict),
        )
    for fault in result.faults:
        _say_in_case(
            _add_case(suite, fault.rule, fault.subject, source, fault.subject), "error", str(fault)
        )
    for fault, reason in result.accepted:
        _say_in_case(
            _add_case(suite, fault.rule, fault.subject, source, fault.subject),
            "skipped",
            in_full(fault, reason),
        )


def _add_properties(suite: ElementTree.Element, result: Evaluation, offered: Reported) -> None:
    """The verdict, and what else is said of the job as a whole."""
    lines = [("verdict", result.verdict), ("settled", "yes" if result.settled else "no")]
    lines += [("shop", line) for line in result.shop.in_words()]
    if offered.not_tried:
        lines.append(("remedies", not_tried(offered)))
    properties = ElementTree.SubElement(suite, "properties")
    for name, line in lines:
        ElementTree.SubElement(properties, "property", name=name, value=_xml_text(one_line(line)))


def _say_of_checks(case: ElementTree.Element, checks: list[Check], offered: Reported) -> None:
    """What came of the checks of one rule on one subject; the worst decides how the case ends."""
    broken, waived, unmade, notes = [], [], [], []
    for check in checks:
        if check.is_violation:
            broken.append(_finding_text(check))
        elif check.waiver is not None:
            waived.append(_finding_text(check))
        elif check.outcome is Outcome.UNASSESSED:
            unmade.append(_finding_text(check))
        elif check.outcome is not Outcome.MET:
            notes.append(_finding_text(check))
    # A case has one ending; what else was found of it is told beside it.
    if broken:
        first_remedies = (first_remedy(offered.of_checks.get(check, ())) for check in checks)
        _say_in_case(case, "failure", *broken, *dict.fromkeys(chain.from_iterable(first_remedies)))
        notes = [*waived, *unmade, *notes]
    elif waived or unmade:
        _say_in_case(case, "skipped", *waived, *unmade)
    if notes:
        shown = "\n".join(map(one_line, notes))
        ElementTree.SubElement(case, "system-out").text = _xml_text(shown)


def _finding_text(check: Check) -> str:
    return finding_line(f"[{check.level.value} {check.outcome.value}]", check)


def _add_suite(root: ElementTree.Element, name: str, source: Source) -> ElementTree.Element:
    return ElementTree.SubElement(
        root, "testsuite", name=_xml_text(name), file=_xml_text(source.uri)
    )


def _add_case(
    suite: ElementTree.Element, rule: str, subject: str, source: Source, path: str
) -> ElementTree.Element:
    case = ElementTree.SubElement(
        suite,
        "testcase",
        classname=_xml_text(rule),
        name=_xml_text(one_line(subject)),
        file=_xml_text(source.uri),
    )
    # Only some readers show a line; the others pass over attributes that they do not know.
    region = source.region(path)
    if region is not None:
        case.set("line", str(region.line))
    return case


def _say_in_case(case: ElementTree.Element, tag: str, *findings: str) -> None:
    lines = [one_line(finding) for finding in findings]
    ElementTree.SubElement(case, tag, message=_xml_text(lines[0])).text = _xml_text(
        "\n".join(lines)
    )


def _count_cases(element: ElementTree.Element, cases: list[ElementTree.Element]) -> None:
    element.set("tests", str(len(cases)))
    for tag, name in (("failure", "failures"), ("error", "errors"), ("skipped", "skipped")):
        element.set(name, str(sum(case.find(tag) is not None for case in cases)))


def _xml_text(text: str) -> str:
    # One such character would make the whole file unreadable.
    return _FORBIDDEN.sub("\N{REPLACEMENT CHARACTER}", text)
