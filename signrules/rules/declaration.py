"""How a rule is declared: a generator function, its name, what it looks at, its level and its source.

The declaration is the one source of the rule's documentation, its row in the catalogue and its `explain` text.
"""

from __future__ import annotations

import difflib
import inspect
import re
from collections.abc import Callable, Iterable
from typing import Any

from attrs import frozen

from signrules.errors import RuleError
from signrules.rules.checks import Draft, Level, Source

READS = (
    "item",
    "job",
    "printer",
    "media",
    "inks",
    "passes",
    "signs",
    "handling",
    "alignments",
    "standards",
    "materials",
    "heights",
    "graph",
    "timeline",
    "printing",
    "cycle",
    "translate",
)
"""What a rule may ask for by parameter name; docs/rules.md says what each is."""

SUBJECTS = ("job", "pass", "step", "media", "sign", "pair")
"""What `each` may be: `step` is every pass and handling, `pair` every two passes that register."""

HEADINGS = ("Why it matters", "A job that breaks it", "One that meets it")
_NAME = re.compile(r"[a-z][a-z0-9-]*\.[a-z][a-z0-9-]*\Z")

RuleFunction = Callable[..., Iterable[Draft]]


@frozen
class Rule:
    """A declared rule. Calling it calls the function."""

    name: str
    each: str
    level: Level
    source: Source
    reads: tuple[str, ...]
    summary: str
    sections: tuple[tuple[str, str], ...]
    function: RuleFunction

    def __call__(self, *args: Any, **kwargs: Any) -> Iterable[Draft]:
        """Run the rule's function."""
        return self.function(*args, **kwargs)


@frozen
class RuleSet:
    """Rules that belong together under one name, which is the first word of each of theirs."""

    name: str
    rules: tuple[Rule, ...]
    summary: str = ""


def rule(name: str, *, each: str, source: Source, level: Level = Level.REVIEW) -> Callable[[RuleFunction], Rule]:
    """Declare a generator function as a rule.

    `name` is two words, `set.rule`; `each` one of `SUBJECTS`. The function names as parameters what it reads (one or
    more of `READS`) and yields drafts made by `check`, `one_of` or `missing`. Its docstring says in its first
    paragraph what it checks, then under the headings of `HEADINGS`, each followed by a colon, the rest.

    Raises RuleError where any of this is not so.
    """
    if not _NAME.match(name):
        raise RuleError(f"rule {name!r}: expected a name of two words in lower case, such as 'ourshop.two-clears'")
    if each not in SUBJECTS:
        raise RuleError(f"rule {name}: each={each!r}, expected one of {', '.join(SUBJECTS)}")

    def declare(function: RuleFunction) -> Rule:
        reads = _reads(name, each, function)
        summary, sections = _documentation(name, function)
        return Rule(name, each, Level(level), source, reads, summary, sections, function)

    return declare


def _reads(name: str, each: str, function: RuleFunction) -> tuple[str, ...]:
    reads = []
    for parameter in inspect.signature(function).parameters.values():
        if parameter.name not in READS:
            near = difflib.get_close_matches(parameter.name, READS, n=1)
            hint = f"; did you mean {near[0]!r}?" if near else ""
            raise RuleError(f"rule {name}: it asks for {parameter.name!r}, which is none of {', '.join(READS)}{hint}")
        if parameter.kind in (parameter.VAR_POSITIONAL, parameter.VAR_KEYWORD):
            raise RuleError(f"rule {name}: expected plain parameters, got {parameter}")
        reads.append(parameter.name)
    if "printing" in reads and each != "pass":
        raise RuleError(f"rule {name}: 'printing' is there for each='pass' alone")
    return tuple(reads)


def _documentation(name: str, function: RuleFunction) -> tuple[str, tuple[tuple[str, str], ...]]:
    text = inspect.getdoc(function) or ""
    parts = re.split(rf"^({'|'.join(HEADINGS)}):", text, flags=re.MULTILINE)
    summary = " ".join(parts[0].split())
    sections = tuple((heading, " ".join(body.split())) for heading, body in zip(parts[1::2], parts[2::2], strict=True))
    absent = [heading for heading in HEADINGS if heading not in dict(sections)]
    if not summary or absent:
        wanted = ", ".join(absent) or "what it checks"
        raise RuleError(f"rule {name}: its docstring must say {wanted} (headings: {', '.join(HEADINGS)})")
    return summary, sections
