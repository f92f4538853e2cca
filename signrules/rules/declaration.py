"""How a rule is declared: a generator function, its name, what it looks at, its level and its
source.

The declaration is the one source of the rule's documentation, its row in the catalogue and its
`explain` text.
"""

from __future__ import annotations

import inspect
import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

from attrs import field, frozen

from signrules.documents.refusal import Refused
from signrules.errors import RuleError
from signrules.model.wording import nearest_name, shown_value
from signrules.rules.checks import Draft, Level, Source
from signrules.rules.settings import settings_from, settings_of

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
    "quantities",
    "outcomes",
    "settings",
    "data",
)
"""What a rule may ask for by parameter name; docs/rules.md says what each is."""

SUBJECTS = ("job", "pass", "step", "media", "sign", "pair")
"""What `each` may be: `step` is every pass and handling, `pair` every two passes that register."""

HEADINGS = ("Why it matters", "A job that breaks it", "One that meets it")
_NAME = re.compile(r"[a-z][a-z0-9-]*\.[a-z][a-z0-9-]*\Z")

OF_SETTINGS = "settings."
"""How paths into the settings of a rule begin, in its examples."""

RuleFunction = Callable[..., Iterable[Draft]]
Changes = Mapping[str, Any]


@frozen
class Rule:
    """A declared rule. Calling it calls the function.

    `settings` is the class of its settings. `decides` says that a broken or doubtful check of level
    STOP makes an order unsafe. `breaks` and `meets` are changes to the sample job and to the
    settings, each a path and a value (None takes it away). `outcomes_of` are the names of the rules
    whose checks it is given.
    """

    name: str
    each: str
    level: Level
    source: Source
    reads: tuple[str, ...]
    summary: str
    sections: tuple[tuple[str, str], ...]
    function: RuleFunction
    settings: type[Any] | None = None
    decides: bool = False
    breaks: Changes | None = field(default=None, hash=False)
    meets: Changes | None = field(default=None, hash=False)
    outcomes_of: tuple[str, ...] = ()

    def __call__(self, *args: Any, **kwargs: Any) -> Iterable[Draft]:
        """Run the rule's function."""
        return self.function(*args, **kwargs)


def _tuple(rules: Iterable[Rule]) -> tuple[Rule, ...]:
    return tuple(rules)


@frozen
class RuleSet:
    """Rules that belong together under one name, which is the first word of each of theirs.

    Raises RuleError where that is not so, or where two of them have the same name.
    """

    name: str
    rules: tuple[Rule, ...] = field(converter=_tuple)
    summary: str = ""

    def __attrs_post_init__(self) -> None:
        names = set()
        for member in self.rules:
            if not isinstance(member, Rule):
                raise RuleError(
                    f"rule set {self.name}: expected rules made with @rule,"
                    f" got {shown_value(member)}"
                )
            if member.name.partition(".")[0] != self.name:
                raise RuleError(
                    f"rule set {self.name}: its rules must be called {self.name}.something, got"
                    f" {member.name}"
                )
            if member.name in names:
                raise RuleError(f"rule set {self.name}: two rules are called {member.name}")
            names.add(member.name)


def rule(
    name: str,
    *,
    each: str,
    source: Source,
    level: Level = Level.REVIEW,
    settings: type[Any] | None = None,
    decides: bool = False,
    breaks: Changes | None = None,
    meets: Changes | None = None,
    outcomes_of: Sequence[str] = (),
) -> Callable[[RuleFunction], Rule]:
    """Declare a generator function as a rule.

    `name` is two words, `set.rule`; `each` one of `SUBJECTS`. The function names as parameters what
    it reads (one or more of `READS`) and yields drafts made by `check`, `one_of` or `missing`.
    Its docstring says in its first paragraph what it checks, then under the headings of
    `HEADINGS`, each followed by a colon, the rest.

    `settings` is a frozen attrs class made of `setting(...)` fields; the function then asks for
    `settings`. `decides` says that a check of level STOP which is not met makes an order unsafe.
    `breaks` and `meets` are examples: changes to the sample job, such as `{"passes.dots.layers":
    40}`, after which the rule is broken and met.

    An example may change settings too: `{"settings.most": 20}`.

    `outcomes_of` names rules that run before this one, whose checks it is given by the parameter
    `outcomes`, a mapping by name.

    Raises RuleError where any of this is not so.
    """
    _demand_sound(name, each, source, level, decides)

    def declare(function: RuleFunction) -> Rule:
        reads = _reads(name, each, function)
        summary, sections = _documentation(name, function)
        _check_settings(name, settings, reads)
        _check_outcomes(name, outcomes_of, reads)
        broken, met = (_example(name, settings, changes) for changes in (breaks, meets))
        return Rule(
            name,
            each,
            Level(level),
            source,
            reads,
            summary,
            sections,
            function,
            settings,
            decides,
            broken,
            met,
            tuple(outcomes_of),
        )

    return declare


def _demand_sound(name: str, each: str, source: Source, level: Level, decides: bool) -> None:
    """Raises RuleError for what a rule cannot be declared as."""
    if not (isinstance(name, str) and _NAME.match(name)):
        raise RuleError(
            f"rule {name!r}: expected a name of two words in lower case, such as"
            " 'ourshop.two-clears'"
        )
    if each not in SUBJECTS:
        raise RuleError(f"rule {name}: each={each!r}, expected one of {', '.join(SUBJECTS)}")
    if not isinstance(source, Source):
        raise RuleError(
            f"rule {name}: source={source!r}, expected a source such as shop_practice('...')"
        )
    if not source.text.strip():
        raise RuleError(
            f"rule {name}: source={source!r} says nothing, expected where its limit comes from"
        )
    if level not in tuple(Level):
        raise RuleError(f"rule {name}: level={level!r}, expected one of {', '.join(Level)}")
    if decides and level != Level.STOP:
        raise RuleError(
            f"rule {name}: decides=True and level={level!r}, expected level=Level.STOP: no other"
            " forbids"
        )


def _check_settings(name: str, settings: type[Any] | None, reads: tuple[str, ...]) -> None:
    if settings is None and "settings" in reads:
        raise RuleError(
            f"rule {name}: it asks for its settings, and declares no class of them (settings=...)"
        )
    if settings is not None and "settings" not in reads:
        raise RuleError(
            f"rule {name}: it declares settings and does not ask for them by the parameter"
            " 'settings'"
        )
    if settings is not None:
        try:
            settings_of(settings)
        except RuleError as error:
            raise RuleError(f"rule {name}: {error}") from None


def _check_outcomes(name: str, outcomes_of: Sequence[str], reads: tuple[str, ...]) -> None:
    if isinstance(outcomes_of, str) or not all(
        isinstance(other, str) and _NAME.match(other) for other in outcomes_of
    ):
        raise RuleError(
            f"rule {name}: outcomes_of={outcomes_of!r}, expected names of rules such as"
            " ['clearance.margin']"
        )
    if bool(outcomes_of) != ("outcomes" in reads):
        raise RuleError(
            f"rule {name}: expected both the names of rules in outcomes_of and the parameter"
            " 'outcomes', or neither"
        )
    if name in outcomes_of:
        raise RuleError(f"rule {name}: it asks for its own outcomes in outcomes_of")


def _example(name: str, settings: type[Any] | None, changes: Changes | None) -> Changes | None:
    if changes is None:
        return None
    # A copy that nobody can change: rules are shared by all evaluations.
    example = MappingProxyType(dict(changes))
    if of_settings := settings_in(example):
        if settings is None:
            raise RuleError(
                f"rule {name}: an example changes settings, and it declares none (settings=...)"
            )
        try:
            settings_from(settings, of_settings)
        except Refused as refused:
            raise RuleError(
                f"rule {name}: an example changes settings: {refused.faults[0]}"
            ) from None
    return example


def settings_in(changes: Changes) -> dict[str, Any]:
    """What an example changes of the rule's settings, by name."""
    return {
        path.removeprefix(OF_SETTINGS): value
        for path, value in changes.items()
        if path.startswith(OF_SETTINGS)
    }


def job_changes_in(changes: Changes) -> dict[str, Any]:
    """What an example changes of the sample job."""
    return {path: value for path, value in changes.items() if not path.startswith(OF_SETTINGS)}


def _reads(name: str, each: str, function: RuleFunction) -> tuple[str, ...]:
    """The parameters of a rule's function. Raises RuleError where it is none that can be one."""
    if not callable(function):
        found_kind = type(function).__name__
        raise RuleError(f"rule {name}: expected a function that yields checks, got {found_kind}")
    # With a `yield` it is another kind than without.
    if inspect.iscoroutinefunction(function) or inspect.isasyncgenfunction(function):
        raise RuleError(f"rule {name}: expected a function that yields checks, got async def")
    reads = []
    for parameter in inspect.signature(function).parameters.values():
        if parameter.name not in READS:
            near_name = nearest_name(parameter.name, READS)
            hint = f"; did you mean {near_name!r}?" if near_name else ""
            raise RuleError(
                f"rule {name}: it asks for {parameter.name!r}, which is none of"
                f" {', '.join(READS)}{hint}"
            )
        if parameter.kind in (parameter.VAR_POSITIONAL, parameter.VAR_KEYWORD):
            raise RuleError(f"rule {name}: expected plain parameters, got {parameter}")
        reads.append(parameter.name)
    # Nothing else is printed once.
    if "printing" in reads and each != "pass":
        raise RuleError(f"rule {name}: 'printing' is there for each='pass' alone")
    return tuple(reads)


def _documentation(name: str, function: RuleFunction) -> tuple[str, tuple[tuple[str, str], ...]]:
    text = inspect.getdoc(function) or ""
    # The group in the pattern keeps the headings, so that they alternate with their texts.
    parts = re.split(rf"^({'|'.join(HEADINGS)}):", text, flags=re.MULTILINE)
    summary = " ".join(parts[0].split())
    sections = tuple(
        (heading, " ".join(body.split()))
        for heading, body in zip(parts[1::2], parts[2::2], strict=True)
    )
    absent = [heading for heading in HEADINGS if not dict(sections).get(heading)]
    if not summary or absent:
        wanted = ", ".join(absent) or "what it checks"
        raise RuleError(
            f"rule {name}: its docstring must say {wanted} (headings: {', '.join(HEADINGS)})"
        )
    return summary, sections
