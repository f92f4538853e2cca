"""Other values of a setting, of the kind that it is."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from signrules.catalogue.materials import sample_job
from signrules.documents.reading import job_from_dict
from signrules.testing.altered_documents import larger_value


def other_values(value: Any) -> Iterator[Any]:
    """Values that could stand in the place of one."""
    if isinstance(value, bool):
        yield not value
    elif isinstance(value, int | float):
        larger_values = (larger_value(value, factor) for factor in (0.01, 0.5, 1.25, 4.0, 100.0))
        yield from (type(value)(number) for number in larger_values if number is not None)
    elif isinstance(value, str):
        yield from ("", "another")
    else:
        yield from ((), (*value, "another"))
        # One alone of a list: a rule may need the rest without saying so.
        yield from ((element,) for element in value)
        yield from _sample_words()


def _sample_words() -> Iterator[tuple[str, ...]]:
    """Lists of words that mean something in the sample job: its ids and what they are made of."""
    job = job_from_dict(sample_job())
    ids = (row.id for row in (*job.items, *job.media, *job.inks, *job.signs))
    yield from ((word,) for word in (*ids, "acrylic", "clear", "colour"))
