"""Evaluations as XML in the style of JUnit, which services for continuous integration read.

There is no standard of it. Elements, attributes and their order are those that validating readers
ask for. They go by the *JUnit test result schema for the Apache Ant JUnit and JUnitReport tasks*
(Windy Road Technology, 2011) or by that of the xunit plugin of Jenkins. What one of them demands is
there, what one of them does not know is left out. `skipped` alone is unknown to the edition of
2011: without it, what was not checked would count as passed.
"""

from __future__ import annotations

import datetime
import re
from collections.abc import Mapping, Sequence
from itertools import chain
from pathlib import Path
from xml.etree import ElementTree

from attrs import define

from signrules.documents.source_places import Region
from signrules.errors import JobError
from signrules.evaluation import Evaluation
from signrules.evaluation.terms import in_full
from signrules.given_values import day_or_today
from signrules.remedies.found_remedies import Reported
from signrules.reports.source_regions import Judged, Source, demand_judged
from signrules.reports.text_report import (
    MOST_OF_A_NAME,
    finding_line,
    first_remedy,
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
    files: Mapping[str, Path] | None = None,
    remedies: bool = True,
    changed: Mapping[str, Sequence[str]] | None = None,
    today: datetime.date | None = None,
) -> str:
    """XML text: a suite for each file, a case for each rule and subject.

    A broken or doubtful check is a failure, one that could not be made or is waived is skipped, a
    fault is an error; the verdict, whether it is settled, and what the shop has set are properties
    of the suite; broken notes and what else there is to say of a case stand in its `system-out`.
    What is wrong ends with its file and line. `today` is the timestamp, left out the day that it
    is: a verdict hangs on the day, for the age of alignments, and on no hour. No time is measured,
    and no host named. `base` is the folder that file names are relative to, left out the working
    directory; `files` says where those are that are called otherwise. With `remedies`, which take
    trial evaluations, a failure names the first change that would meet the check. `changed` says by
    file which artwork is not as it was when its job was read: a failure too.
    """
    demand_judged("junit", judged)
    base = (base or Path.cwd()).absolute()
    root = ElementTree.Element("testsuites")
    day = day_or_today(today)
    for path, outcome in judged.items():
        source = Source(path, base, (files or {}).get(path))
        if isinstance(outcome, Evaluation):
            name = one_line(outcome.job.name, MOST_OF_A_NAME).strip() or source.name
            suite = _Suite(root, name, source, day)
            _evaluation_suite(suite, outcome, remedies)
            for text in (changed or {}).get(path, ()):
                suite.add_case("artwork.changed", "job", "").say("failure", text)
        elif isinstance(outcome, JobError):
            suite = _Suite(root, source.name, source, day)
            for fault in outcome.faults:
                case = suite.add_case("document.fault", fault.path or "the document", fault.path)
                case.region = source.region_of_fault(fault)
                case.say("error", str(fault))
        else:
            suite = _Suite(root, source.name, source, day)
            suite.add_case("evaluation", "the document", "").say("error", str(outcome))
        suite.end()
    ElementTree.indent(root)
    text = ElementTree.tostring(root, encoding="unicode", short_empty_elements=True)
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'


def _evaluation_suite(suite: _Suite, result: Evaluation, remedies: bool) -> None:
    offered = result.reported_remedies if remedies else Reported()
    _add_properties(suite, result, offered)
    cases: dict[tuple[str, str], list[Check]] = {}
    for check in result.checks:
        # Readers tell cases by class and name: two of the same would count as one run twice.
        cases.setdefault((check.rule, check.subjects[0]), []).append(check)
    for (rule, subject), checks in cases.items():
        _say_of_checks(suite.add_case(rule, subject), checks, offered)
    if result.conflict is not None:
        lines = result.conflict.message.split("\n")
        case = suite.add_case("order.none-safe", "job", "")
        case.say("failure", *lines, *first_remedy(offered.of_conflict))
    _say_of_faults(suite, result)


def _say_of_faults(suite: _Suite, result: Evaluation) -> None:
    """What failed, a case for each rule or hook and subject; one that is not accepted decides."""
    failed: dict[tuple[str, str], list[str]] = {}
    accepted: dict[tuple[str, str], list[str]] = {}
    for fault in result.faults:
        failed.setdefault((fault.rule, fault.subject), []).append(str(fault))
    for fault, reason in result.accepted:
        accepted.setdefault((fault.rule, fault.subject), []).append(in_full(fault, reason))
    for rule, subject in failed | accepted:
        case = suite.add_case(rule, subject)
        notes = accepted.get((rule, subject), [])
        if (rule, subject) not in failed:
            case.say("skipped", *notes)
            continue
        case.say("error", *failed[rule, subject])
        for note in notes:
            case.note(note)


def _add_properties(suite: _Suite, result: Evaluation, offered: Reported) -> None:
    """The verdict, and what else is said of the job as a whole."""
    lines = [("verdict", result.verdict), ("settled", "yes" if result.settled else "no")]
    lines += [("shop", line) for line in result.shop.in_words()]
    if offered.not_tried:
        lines.append(("remedies", not_tried(offered)))
    for name, line in lines:
        suite.add_property(name, one_line(line))


def _say_of_checks(case: _Case, checks: list[Check], offered: Reported) -> None:
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
        case.say("failure", *broken, *dict.fromkeys(chain.from_iterable(first_remedies)))
        notes = [*waived, *unmade, *notes]
    elif waived or unmade:
        case.say("skipped", *waived, *unmade)
    for note in notes:
        case.note(note)


class _Suite:
    """The suite of one file, with its counts."""

    def __init__(
        self, root: ElementTree.Element, name: str, source: Source, day: datetime.date
    ) -> None:
        self._source = source
        self._element = ElementTree.SubElement(
            root,
            "testsuite",
            id=str(len(root)),
            name=_xml_text(name),
            package=_xml_text(source.name),
            timestamp=f"{day.isoformat()}T00:00:00",
            hostname="localhost",
        )
        self._properties = ElementTree.SubElement(self._element, "properties")
        self._notes: list[str] = []
        # One of the schemas has no suite without a property.
        self.add_property("file", source.name)

    def add_property(self, name: str, value: str) -> None:
        """What is said of the job as a whole."""
        ElementTree.SubElement(self._properties, "property", name=name, value=_xml_text(value))

    def add_case(self, rule: str, subject: str, path: str | None = None) -> _Case:
        """A case of a rule and a subject, which stands at a path in the document; left out, its
        own.
        """
        element = ElementTree.SubElement(
            self._element,
            "testcase",
            classname=_xml_text(rule),
            name=_xml_text(one_line(subject)),
            time="0",
        )
        region = self._source.region(subject if path is None else path)
        return _Case(element, self._source.name, region, self._notes)

    def end(self) -> None:
        """Add the counts, and what belongs at the end."""
        cases = self._element.findall("testcase")
        self._element.set("tests", str(len(cases)))
        for tag, name in (("failure", "failures"), ("error", "errors"), ("skipped", "skipped")):
            self._element.set(name, str(sum(case.find(tag) is not None for case in cases)))
        self._element.set("time", "0")
        ElementTree.SubElement(self._element, "system-out").text = "\n".join(self._notes)
        ElementTree.SubElement(self._element, "system-err")


@define(eq=False)
class _Case:
    """A case of a suite, where it stands, and the notes of the suite."""

    element: ElementTree.Element
    file: str
    region: Region | None
    notes: list[str]

    def say(self, tag: str, *findings: str) -> None:
        """How the case ends: the first line is the message, the last one says where it stands."""
        lines = [_xml_text(one_line(finding)) for finding in findings]
        ending = ElementTree.SubElement(self.element, tag)
        if tag != "skipped":
            ending.set("message", lines[0])
            ending.set("type", self.element.get("classname", ""))
        ending.text = "\n".join([*lines, *self._place()])

    def note(self, finding: str) -> None:
        """What else there is to say."""
        subject = f"{self.element.get('classname')} on {self.element.get('name')}"
        self.notes.append(_xml_text(f"{subject}: {one_line(finding)}"))

    def _place(self) -> list[str]:
        if self.region is None:
            return []
        return [f"{_xml_text(self.file)}, line {self.region.line}"]


def _finding_text(check: Check) -> str:
    return finding_line(f"[{check.level.value} {check.outcome.value}]", check)


def _xml_text(text: str) -> str:
    # One such character would make the whole file unreadable.
    return _FORBIDDEN.sub("\N{REPLACEMENT CHARACTER}", text)
