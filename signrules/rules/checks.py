"""What a rule yields: the author states what was measured and the limit, the engine computes the
rest.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum
from typing import Protocol

from attrs import field, frozen

from signrules.model.job import Waiver
from signrules.model.quantities import GUARD_MM, Interval
from signrules.rules.remedy import Remedy


class Outcome(StrEnum):
    """What came of a comparison. `DOUBTFUL`: it holds for a part of the tolerance only."""

    MET = "MET"
    BROKEN = "BROKEN"
    DOUBTFUL = "DOUBTFUL"
    UNASSESSED = "UNASSESSED"


class Level(StrEnum):
    """How much a broken check weighs: `STOP` forbids, `REVIEW` asks a person to look, `NOTE`
    informs.
    """

    STOP = "STOP"
    REVIEW = "REVIEW"
    NOTE = "NOTE"


@frozen
class Source:
    """Where a limit comes from: its kind, and the words that name it."""

    kind: str
    text: str

    def __str__(self) -> str:
        return f"{self.kind}: {self.text}" if self.text else self.kind


def standard_source(title: str, clause: str) -> Source:
    """A published standard and the clause in it."""
    return Source("standard", f"{title}, {clause}")


def published(text: str) -> Source:
    """A handbook, patent or paper."""
    return Source("published", text)


def geometry(text: str) -> Source:
    """Something that follows from geometry or logic alone."""
    return Source("geometry", text)


def stated_by_the_job(text: str) -> Source:
    """A limit that the job itself states."""
    return Source("stated by the job", text)


def shop_practice(text: str) -> Source:
    """A shop's own rule."""
    return Source("shop practice", text)


def common_practice(text: str) -> Source:
    """A fact of the trade."""
    return Source("common practice, no published source", text)


def from_memory(text: str) -> Source:
    """General knowledge that nobody has looked up yet."""
    return Source("from memory", text)


@frozen
class Draft:
    """A check as its rule states it, before the engine has judged and stamped it.

    `told` says in words what is wrong, or why it cannot be told, where a number beside its limit or
    the path of what is missing would not.
    """

    what: str
    measured: Interval | None = None
    least: float | None = None
    most: float | None = None
    strictly: bool = False
    unit: str = ""
    advice: str = ""
    others: tuple[str, ...] = ()
    source: Source | None = None
    level: Level | None = None
    found: str | None = None
    allowed: tuple[str, ...] = ()
    missing: str | None = None
    limit_text: str | None = None
    told: str = ""

    @property
    def outcome(self) -> Outcome:
        """Judged at the bad end of the measured interval; lengths within a nanometre of the limit
        count as on it.
        """
        if self.measured is None:
            return Outcome.UNASSESSED
        # A part of the tolerance that lies beyond is not yet a fault, and not yet in order either.
        low, high = self.measured.low, self.measured.high
        least, most = self._guarded_limits()
        if self.strictly:
            within = low > least and high < most
            beyond = high <= least or low >= most
        else:
            within = low >= least and high <= most
            beyond = high < least or low > most
        if within:
            return Outcome.MET
        return Outcome.BROKEN if beyond else Outcome.DOUBTFUL

    def _guarded_limits(self) -> tuple[float, float]:
        """The limits, a nanometre wider where they include what lies on them, and else narrower."""
        # Where the limit itself is allowed the guard lets it pass; where it is not, the guard keeps
        # it out.
        guard = -GUARD_MM if self.strictly else GUARD_MM
        least = float("-inf") if self.least is None else self.least - guard
        most = float("inf") if self.most is None else self.most + guard
        return least, most

    @property
    def margin(self) -> float | None:
        """From the bad end of what was measured to the nearer limit; negative by how much the limit
        is missed.
        """
        if self.measured is None or (self.least is None and self.most is None):
            return None
        margins = []
        if self.least is not None:
            margins.append(self.measured.low - self.least)
        if self.most is not None:
            margins.append(self.most - self.measured.high)
        return min(margins)


def check(
    what: str,
    *,
    measured: Interval | float | int,
    least: float | None = None,
    most: float | None = None,
    above: float | None = None,
    unit: str | None = None,
    advice: str = "",
    others: Sequence[str] = (),
    source: Source | None = None,
    level: Level | None = None,
    limit_text: str | None = None,
) -> Draft:
    """A comparison of a number with a range.

    `least` and `most` include the limit, `above` excludes it. An Interval is in mm where no `unit`
    is given; a plain number needs its unit, "" for a count. `advice` says what to do when it is
    not met; `others` are further subjects, as paths into the job; `source` and `level` replace
    those of the rule; `limit_text` replaces the limit in the message, where it was written in
    another unit. Raises ValueError for a limit given twice, for numbers that are not finite, and
    for a plain number without a unit.
    """
    _demand_range(what, least, most, above)
    value = _measured_interval(what, measured, unit)
    if above is not None:
        # One field holds both kinds of lower limit; `strictly` says which it is.
        least = above
    return Draft(
        what,
        value,
        least,
        most,
        above is not None,
        "mm" if unit is None else unit,
        advice,
        tuple(others),
        source,
        level,
        limit_text=limit_text,
    )


def _demand_range(what: str, least: float | None, most: float | None, above: float | None) -> None:
    """Raises ValueError for limits that make no range."""
    if above is not None and (least is not None or most is not None):
        raise ValueError("expected either above, or least and most")
    for limit in (least, most, above):
        if limit is not None and not math.isfinite(limit):
            raise ValueError(f"expected a finite limit, got {limit!r}")
    if least is not None and most is not None and least > most:
        raise ValueError(f"{what}: least={least!r} is above most={most!r}")


def _measured_interval(what: str, measured: Interval | float | int, unit: str | None) -> Interval:
    """What was measured. Raises ValueError for what is no number, or has no unit."""
    # A number is a count as often as a length, and a wrong unit would be printed without a sound.
    if unit is None and not isinstance(measured, Interval):
        raise ValueError(
            f"{what}: a plain number needs its unit, such as unit='mm', or unit='' for a count"
        )
    if isinstance(measured, bool) or not isinstance(measured, Interval | int | float):
        raise ValueError(f"{what}: measured={measured!r}, expected a number or an Interval")
    return measured if isinstance(measured, Interval) else Interval.exact(measured)


def one_of(
    what: str,
    *,
    found: str,
    allowed: Sequence[str],
    advice: str = "",
    others: Sequence[str] = (),
    source: Source | None = None,
    level: Level | None = None,
) -> Draft:
    """A comparison of a word with the words that are allowed; measured is the number of deviations,
    0 or 1.

    Raises ValueError where no word is found or none is allowed.
    """
    if not isinstance(found, str):
        raise ValueError(
            f"{what}: found={found!r}, expected a text: where the job states none, yield"
            " missing(...)"
        )
    if not allowed:
        raise ValueError(f"{what}: allowed={allowed!r}, expected one word at least")
    deviations = 0 if found in allowed else 1
    return Draft(
        what,
        Interval.exact(deviations),
        None,
        0,
        unit="deviations",
        advice=advice,
        others=tuple(others),
        source=source,
        level=level,
        found=found,
        allowed=tuple(allowed),
    )


def missing(
    path: str,
    what: str = "",
    *,
    advice: str = "",
    source: Source | None = None,
    level: Level | None = None,
) -> Draft:
    """A check that cannot be made because the job does not state the field at `path`.

    Where the job states it and that is not enough, `advice` says why: without it, a field that is
    stated cannot be missing.
    """
    about = what or f"what depends on {path}"
    return Draft(about, advice=advice, missing=path, source=source, level=level)


class Finds(Protocol):
    """What finds the remedies of a check."""

    def remedies(self, check: Check) -> tuple[Remedy, ...]:
        """Changes to the job with which the check is met."""


def _worded(words: str | Draft) -> str:
    return words if isinstance(words, str) else _message("", words)


def _message(subject: str, draft: Draft) -> str:
    from signrules.rules.check_messages import check_message

    return check_message(subject, draft)


@frozen
class Check:
    """One comparison that a rule made, judged.

    `subjects` are paths into the job, the first being what the rule looked at. `measured` is an
    interval in `unit`, None when UNASSESSED; `limit` is (least, most), None where open. `margin`
    is the distance from the bad end to the nearer limit, negative where it is missed. `waiver` is
    set where someone answers for the finding. `plugin` brought the rule; that of the built-in
    rules is called signrules. `told` says why it cannot be told, where `missing` names something
    that is stated.
    """

    rule: str
    subjects: tuple[str, ...]
    outcome: Outcome
    level: Level
    measured: Interval | None
    limit: tuple[float | None, float | None]
    unit: str
    margin: float | None
    _words: str | Draft = field(eq=_worded, repr=_worded)
    source: Source
    missing: str | None = None
    found: str | None = None
    allowed: tuple[str, ...] = ()
    waiver: Waiver | None = None
    told: str = ""
    _finder: Finds | None = field(default=None, eq=False, repr=False)
    decides: bool = False
    plugin: str = field(default="signrules", eq=False)

    @property
    def message(self) -> str:
        """The sentence for the person at the machine."""
        # Worded when it is read: most checks are met, and nobody reads what they say.
        if isinstance(self._words, str):
            return self._words
        return _message(self.subjects[0], self._words)

    @property
    def what(self) -> str:
        """What the rule compares, in its words; "" for a finding that has no rule."""
        return "" if isinstance(self._words, str) else self._words.what

    @property
    def remedies(self) -> tuple[Remedy, ...]:
        """Changes to the job with which the check is met, each tried; worked out when first asked
        for.

        Empty unless it is broken or doubtful and more than a note, or where none was found.
        """
        return () if self._finder is None else self._finder.remedies(self)

    @property
    def is_bad(self) -> bool:
        """Whether it is broken or doubtful, and more than a note."""
        if self.outcome is Outcome.MET:  # Mostly it is.
            return False
        return self.level is not Level.NOTE and self.outcome in (Outcome.BROKEN, Outcome.DOUBTFUL)

    @property
    def holds_back(self) -> bool:
        """Whether it is of level STOP and broken or doubtful."""
        return self.level is Level.STOP and self.outcome in (Outcome.BROKEN, Outcome.DOUBTFUL)

    @property
    def is_violation(self) -> bool:
        """Whether it is broken or doubtful, more than a note, and not waived."""
        return (
            self.level is not Level.NOTE
            and self.outcome in (Outcome.BROKEN, Outcome.DOUBTFUL)
            and self.waiver is None
        )
