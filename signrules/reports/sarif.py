"""Evaluations as SARIF 2.1.0: tools for code review show each finding at its line of the job.

*Static Analysis Results Interchange Format (SARIF) Version 2.1.0*, OASIS Standard. Clauses are
  named beside what follows from them.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from signrules.documents.source_places import Region
from signrules.errors import JobError
from signrules.evaluation import Evaluation
from signrules.evaluation.terms import in_full
from signrules.model.job import Waiver
from signrules.plain import check_to_dict
from signrules.plugins import Plugins, load_plugins
from signrules.remedies.found_remedies import Reported
from signrules.reports.source_regions import Judged, Source, demand_judged
from signrules.reports.text_report import not_tried, one_line
from signrules.rules.checks import Check, Level, Outcome
from signrules.rules.declaration import Rule
from signrules.rules.engine import Fault
from signrules.rules.remedy import Remedy

SCHEMA = (
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
)
LEVELS = {Level.STOP: "error", Level.REVIEW: "warning", Level.NOTE: "note"}

NO_ORDER, BAD_DOCUMENT = "order.none-safe", "document.fault"
_OWN_RULES = {
    NO_ORDER: "There is an order of the passes that works.",
    BAD_DOCUMENT: "The job document can be read, and what it says fits together.",
    "data.unread": "The data of a plugin are read by that plugin.",
    "waivers.expired": "A waiver has not expired.",
    "waivers.unmatched": "A waiver matches a finding that can be waived.",
}


def sarif(
    judged: Judged,
    *,
    plugins: Plugins | None = None,
    base: Path | None = None,
    files: Mapping[str, Path] | None = None,
    remedies: bool = True,
    warnings: Mapping[str, Sequence[str]] | None = None,
) -> dict[str, Any]:
    """A SARIF log of one run: what came of each file, by its path.

    `plugins` are those whose rules judged, left out the built-in ones; `base` is the folder that
    URIs are relative to, left out the working directory; `files` says where those are that are
    called otherwise. Met checks are left out. A check that could not be made is of kind `open`, a
    waived one carries a suppression, a fault is a notification and leaves the run unsuccessful, and
    so does an error that says why a file was not evaluated. The property `verdicts` of the run has
    for each file its verdict and whether it is settled. What the shop has set is told as
    notifications on the configuration. With `remedies`, which take trial evaluations, the property
    `remedies` of a result says in words what would meet the check. `warnings` are told of a file
    beside what came of it, and so is what was taken for granted when its job was read from artwork.
    """
    demand_judged("sarif", judged)
    base = (base or Path.cwd()).absolute()
    known_rules = {placed.rule.name: placed.rule for placed in (plugins or load_plugins()).rules}
    log = _Log(known_rules, remedies)
    for path, outcome in judged.items():
        source = Source(path, base, (files or {}).get(path))
        if isinstance(outcome, Evaluation):
            log.evaluation(source, outcome)
        elif isinstance(outcome, JobError):
            log.document(source, outcome)
        else:
            log.unsuccessful(source, str(outcome))
        for text in (warnings or {}).get(path, ()):
            log.notify(source, "warning", text)
    return log.to_dict()


class _Log:
    """Gathers results, the rules that they name, and notifications."""

    def __init__(self, known: dict[str, Rule], remedies: bool) -> None:
        self.known = known
        self.remedies = remedies
        self.rules: list[dict[str, Any]] = []
        self.results: list[dict[str, Any]] = []
        self.notifications: list[dict[str, Any]] = []
        self.set_by_the_shop: dict[str, None] = {}
        self.verdicts: list[dict[str, Any]] = []
        self.successful = True
        self._seen: dict[str, int] = {}
        self._indices: dict[str, int] = {}
        self._waivers: dict[Waiver, int] = {}

    def to_dict(self) -> dict[str, Any]:
        from signrules import __version__

        driver = {"name": "signrules", "version": __version__, "rules": self.rules}
        invocation = {
            "executionSuccessful": self.successful,
            "toolExecutionNotifications": self.notifications,
        }
        if self.set_by_the_shop:
            notes = [
                {"level": "note", "message": _sarif_message(text)} for text in self.set_by_the_shop
            ]
            invocation["toolConfigurationNotifications"] = notes
        run = {
            "tool": {"driver": driver},
            # Regions count characters as Python does, and not UTF-16 units (3.14.17, from memory).
            "columnKind": "unicodeCodePoints",
            "invocations": [invocation],
            "results": self.results,
            "properties": {"verdicts": self.verdicts},
        }
        return {"$schema": SCHEMA, "version": "2.1.0", "runs": [run]}

    def evaluation(self, source: Source, result: Evaluation) -> None:
        self._waivers = {
            # Of two alike the first: the later one adds nothing.
            waiver: position
            for position, waiver in reversed(list(enumerate(result.job.waivers)))
        }
        self.set_by_the_shop |= dict.fromkeys(result.shop.in_words())
        decided = {"verdict": one_line(result.verdict), "settled": result.settled}
        self.verdicts.append({"uri": source.uri} | decided)
        offered = result.reported_remedies if self.remedies else Reported()
        for check in result.checks:
            if check.outcome is not Outcome.MET:
                self._check(source, check, offered.of_checks.get(check, ()))
        conflict = result.conflict
        if conflict is not None:
            result_found = self._result(
                source, NO_ORDER, "error", conflict.message, conflict.subjects or ("job",)
            )
            result_found["message"] = _sarif_message(conflict.message, lines=True)
            result_found["properties"] = _remedy_property(offered.of_conflict)
        for fault in result.faults:
            self._notify(source, fault, "error", str(fault))
        for fault, reason in result.accepted:
            self._notify(source, fault, "warning", in_full(fault, reason), successful=True)
        if offered.not_tried:
            self.notify(source, "note", not_tried(offered))
        for text in result.job.read_notes:
            self.notify(source, "note", text)

    def notify(self, source: Source, level: str, text: str) -> None:
        """Tell something of a file as a whole."""
        place = _sarif_location(source, "", source.region(""))
        self.notifications.append(
            {"level": level, "message": _sarif_message(one_line(text)), "locations": [place]}
        )

    def document(self, source: Source, error: JobError) -> None:
        for fault in error.faults:
            result_found = self._result(source, BAD_DOCUMENT, "error", str(fault), (fault.path,))
            result_found["locations"] = [
                _sarif_location(source, fault.path, source.region_of_fault(fault))
            ]
        self.unsuccessful(source, "The document is at fault and was not evaluated.")

    def unsuccessful(self, source: Source, text: str) -> None:
        """A file that was not evaluated, and why."""
        self.successful = False
        self.notifications.append(
            {
                "level": "error",
                "message": _sarif_message(text),
                "locations": [_sarif_location(source, "", source.region(""))],
            }
        )

    def _check(self, source: Source, check: Check, remedies: Sequence[Remedy]) -> None:
        unassessed = check.outcome is Outcome.UNASSESSED
        # 3.27.9: `open` is for too little information to decide; 3.27.10: the level is then `none`.
        level = "none" if unassessed else LEVELS[check.level]
        result_found = self._result(source, check.rule, level, check.message, check.subjects)
        if unassessed:
            result_found["kind"] = "open"
        data = check_to_dict(check)
        wanted = (
            "outcome",
            "measured",
            "limit",
            "unit",
            "margin",
            "source",
            "missing",
            "found",
            "allowed",
        )
        stated = {key: data[key] for key in wanted if key in data}
        result_found["properties"] = (
            {"level": check.level.value} | stated | _remedy_property(remedies)
        )
        if check.waiver is not None:
            # 3.35.2: it stands in the document itself, so it is of kind `inSource`.
            number = self._waivers[check.waiver]
            waived = f"waived by {check.waiver.by}"
            if check.waiver.until is not None:
                waived += f", until {check.waiver.until.isoformat()}"
            place = _sarif_location(
                source, f"waivers[{number}]", source.region(f"waivers[{number}]")
            )
            result_found["suppressions"] = [
                {
                    "kind": "inSource",
                    "status": "accepted",
                    "justification": one_line(f"{check.waiver.reason} ({waived})"),
                    "location": place,
                }
            ]

    def _result(
        self, source: Source, rule: str, level: str, text: str, subjects: tuple[str, ...]
    ) -> dict[str, Any]:
        first, *others = subjects
        identity = "|".join([source.uri, rule, *subjects])
        # Two findings of one rule on one subject need prints of their own, the same in every run.
        self._seen[identity] = self._seen.get(identity, 0) + 1
        print_of = hashlib.sha256(
            f"{identity}|{self._seen[identity]}".encode("utf-8", "replace")
        ).hexdigest()
        sarif_result: dict[str, Any] = {
            "ruleId": rule,
            "ruleIndex": self._rule(rule),
            "kind": "fail",
            "level": level,
            "message": _sarif_message(text),
            "locations": [_sarif_location(source, first, source.region(first))],
            "partialFingerprints": {"subject/v1": print_of[:32]},
        }
        if others:
            sarif_result["relatedLocations"] = [
                {
                    "id": number,
                    "message": _sarif_message(other),
                    **_sarif_location(source, other, source.region(other)),
                }
                for number, other in enumerate(others, start=1)
            ]
        self.results.append(sarif_result)
        return sarif_result

    def _rule(self, name: str) -> int:
        """The place of a rule among those that the log describes."""
        if name not in self._indices:
            self._indices[name] = len(self.rules)
            if name in self.known:
                self.rules.append(_rule_description(self.known[name]))
            else:
                self.rules.append(_own_rule(name))
        return self._indices[name]

    def _notify(
        self, source: Source, fault: Fault, level: str, text: str, *, successful: bool = False
    ) -> None:
        # One failure decides for the run; later successes do not take it back.
        self.successful = self.successful and successful
        notification: dict[str, Any] = {
            "level": level,
            "message": _sarif_message(text),
            "locations": [_sarif_location(source, fault.subject, source.region(fault.subject))],
            "descriptor": {"id": fault.rule},
        }
        if fault.rule in self.known:
            notification["associatedRule"] = {"id": fault.rule, "index": self._rule(fault.rule)}
        self.notifications.append(notification)


def _remedy_property(remedies: Sequence[Remedy]) -> dict[str, Any]:
    """The property that says what would help; none where nothing does."""
    if not remedies:
        return {}
    return {"remedies": [one_line(remedy.summary) for remedy in remedies]}


def _rule_description(rule: Rule) -> dict[str, Any]:
    sections = dict(rule.sections)
    why, broken, met = (f"{heading}: {text}" for heading, text in sections.items())
    first, stop, _ = rule.summary.partition(". ")
    return {
        "id": rule.name,
        "shortDescription": _sarif_message(first + stop.strip()),
        "fullDescription": _sarif_message(f"{rule.summary} {why}"),
        "help": _sarif_message(
            "\n\n".join([why, broken, met, f"Source: {rule.source}"]), lines=True
        ),
        "defaultConfiguration": {"level": LEVELS[rule.level]},
    }


def _own_rule(name: str) -> dict[str, Any]:
    text = _OWN_RULES.get(name, f"The rule {name}, which is not loaded.")
    return {
        "id": name,
        "shortDescription": _sarif_message(text),
        "fullDescription": _sarif_message(text),
        "help": _sarif_message(text),
    }


def _sarif_location(source: Source, path: str, region: Region | None) -> dict[str, Any]:
    physical: dict[str, Any] = {"artifactLocation": {"uri": source.uri}}
    if region is not None:
        physical["region"] = {
            "startLine": region.line,
            "startColumn": region.column,
            "endLine": region.end_line,
            "endColumn": region.end_column,
        }
    location: dict[str, Any] = {"physicalLocation": physical}
    if path:
        name = one_line(path)
        location["logicalLocations"] = [
            {"fullyQualifiedName": name, "name": name.rpartition(".")[2], "kind": "object"}
        ]
    return location


def _sarif_message(text: str, *, lines: bool = False) -> dict[str, str]:
    """A plain text message (3.11) of harmless characters.

    Braces are doubled, since single ones hold places for arguments (3.11.5); brackets that would
    make a link of what a name says are escaped (3.11.6).
    """
    parts = text.split("\n") if lines else [text]
    shown = "\n".join(one_line(part) for part in parts).replace("{", "{{").replace("}", "}}")
    if "](" in shown:
        for char in "\\[]":
            shown = shown.replace(char, f"\\{char}")
    return {"text": shown or " "}
