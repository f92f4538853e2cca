"""What a rule of a plugin yields, looked at before it is believed: kinds, finite numbers, texts
that can be written.
"""

from __future__ import annotations

import math
from collections.abc import Generator, Iterable, Iterator
from itertools import islice
from typing import Any, TypeVar, cast

from signrules.documents.fields import states_field, why_no_field
from signrules.documents.plugin_tables import NO_CLASSES, DataClasses
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.model.wording import shown_value
from signrules.rules.checks import Draft, Level, Source

T = TypeVar("T")

LONGEST_TEXT = 2000
"""The most characters that one text of a check may have."""

_BY_ID = ("media", "inks", "passes", "handling", "signs")


def is_sound_text(text: object) -> bool:
    """Whether a text is one line of printable characters, and not too long; it can then be written
    anywhere.
    """
    return type(text) is str and len(text) <= LONGEST_TEXT and text.isprintable()


def is_said_text(text: object) -> bool:
    """Whether a text is sound and more than blanks."""
    return is_sound_text(text) and not str(text).isspace() and text != ""


def demand_missing(draft: Draft, job: Job, own: DataClasses = NO_CLASSES) -> None:
    """Raises ValueError for a draft which says that a field is missing that the job states, and
    not why that is not enough. `own` are the classes of the data of its plugin.
    """
    reason = draft.told or draft.advice
    if draft.missing is not None and not reason and states_field(job, draft.missing, own):
        raise ValueError(
            f"missing({draft.missing!r}), and the job states that field: name the one that it does"
            " not state, or say in advice=... why what it states is not enough"
        )


def nothing_returned(steps: Iterable[T] | None) -> Generator[T, None, None]:
    """What is yielded or listed there.

    Raises ValueError where nothing is, or where a generator gives back something at its end: a
    `yield` was forgotten then, and what should have been said would be lost without a word.
    """
    if steps is None:
        raise ValueError("it gave back None: write `yield` before what it says, or `return` a list")
    if isinstance(steps, Draft):
        raise ValueError("it gave back a check: write `yield` before it, not `return`")
    try:
        returned: object = yield from cast("Generator[T, None, object]", steps)
    finally:
        if hasattr(steps, "close"):
            steps.close()
    if returned is not None:
        raise ValueError(
            f"it returned {shown_value(returned)} where it should `yield` it: what a generator"
            " returns is lost"
        )


def first_yielded(steps: Iterable[T] | None, most: int) -> list[T]:
    """What is yielded or listed there, at most so many.

    Nothing of it runs any more afterwards. Raises ValueError as `nothing_returned` does.
    """
    yielded = nothing_returned(steps)
    try:
        return list(islice(yielded, most))
    finally:
        # Here and not whenever it is collected: closing runs code of a plugin too.
        yielded.close()


def demand_sound(draft: Any, job: Job, own: DataClasses = NO_CLASSES) -> None:
    """Raises TypeError for what is no draft, ValueError for a draft of which something is of the
    wrong kind. `own` are the classes of the data of its plugin.
    """
    # A subclass may do anything when it is read.
    if type(draft) is not Draft:
        raise TypeError(
            f"expected check(...), one_of(...) or missing(...), got {shown_value(draft)}"
        )
    for name, value, expected in _wrong(draft, job, own):
        raise ValueError(f"a check with {name} {shown_value(value)}, expected {expected}")


def demand_limit(draft: Draft, level: Level) -> None:
    """Raises ValueError for a comparison with nothing, unless it is a note: it would be met
    whatever is measured.
    """
    has_limit = draft.least is not None or draft.most is not None
    if draft.measured is None or has_limit or level is Level.NOTE:
        return
    raise ValueError(
        f"check({draft.what!r}, ...) of level {level} has no limit, so it would always be met:"
        " where the job states none, yield missing(...); what only informs is level=Level.NOTE"
    )


def _wrong(draft: Draft, job: Job, data_classes: DataClasses) -> Iterator[tuple[str, object, str]]:
    text = f"one line of printable text of at most {LONGEST_TEXT} characters"
    if is_sound_text(draft.what) and not is_said_text(draft.what):
        yield "what", draft.what, "words for what is compared"
    for name in ("what", "unit", "advice", "told"):
        if not is_sound_text(getattr(draft, name)):
            yield name, getattr(draft, name), text
    for name in ("found", "missing", "limit_text"):
        if getattr(draft, name) is not None and not is_sound_text(getattr(draft, name)):
            yield name, getattr(draft, name), text
    for name in ("others", "allowed"):
        value = getattr(draft, name)
        if type(value) is not tuple or not all(map(is_sound_text, value)):
            yield name, value, "a list of texts"
    if is_sound_text(draft.missing) and (
        instead := why_no_field(job, str(draft.missing), data_classes)
    ):
        yield "missing", draft.missing, f"a field of the job document: {instead}"
    for path in draft.others:
        if not _is_there(path, job):
            yield "others", path, "paths into the job, such as passes.ID"
    if draft.level is not None and type(draft.level) is not Level:
        yield "level", draft.level, "a Level"
    source = draft.source
    if source is not None and not (
        type(source) is Source and is_sound_text(source.kind) and is_said_text(source.text)
    ):
        yield "source", source, "a source such as shop_practice('...')"
    for name in ("least", "most"):
        if getattr(draft, name) is not None and not _is_number(getattr(draft, name)):
            yield name, getattr(draft, name), "a finite number"
    measured = draft.measured
    if measured is None and draft.missing is None:
        yield "measured", None, "a number, or missing(...)"
    if measured is not None and not (
        type(measured) is Interval
        and all(map(_is_number, (measured.low, measured.nominal, measured.high)))
        and measured.low <= measured.high
    ):
        yield "measured", measured, "a finite number or an Interval"
    elif draft.margin is not None and not math.isfinite(draft.margin):
        yield "margin", draft.margin, "a finite number"
    if type(draft.strictly) is not bool:
        yield "strictly", draft.strictly, "True or False"


def _is_number(value: object) -> bool:
    # By type: numbers of other libraries are compared and written in ways of their own.
    return type(value) in (int, float) and math.isfinite(value)  # type: ignore[arg-type]


def _is_there(path: str, job: Job) -> bool:
    table, _, row_path = path.partition(".")
    if not row_path or table not in _BY_ID:
        return bool(table)
    return row_path.partition(".")[0] in {row.id for row in getattr(job, table)}
