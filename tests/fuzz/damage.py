"""How sound documents are damaged: junk of any type, values at the ends of what is allowed, hostile
texts, nesting.
"""

from __future__ import annotations

import copy
import re
import tomllib
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from documents.samples import FULL_TOML, SMALL, nested
from effort import LONG, effort
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

import signrules

ROOT = Path(__file__).parents[2]
TIMES = 20
"""So many times as many examples are taken where SIGNRULES_LONG is set."""

EXAMPLES = sorted((ROOT / "docs" / "examples").glob("*.toml"))
SOUND: tuple[dict[str, Any], ...] = (
    SMALL,
    tomllib.loads(FULL_TOML),
    signrules.sample_job(),
    *(tomllib.loads(path.read_text("utf-8")) for path in EXAMPLES),
)

HOSTILE = (
    "",
    " ",
    "\x00",
    "\x1b[31m",
    "\u2028",
    "\u202e",
    "\ufeff",
    "\ufffe",
    "\ud800",
    "a\ud800\udc00b",
    "𝔊\u0301",
    "²",
    "-",
    "~1",
    "]]>",
    '</script><b onclick="x">&amp;',
    "a.b",
    "a[0]",
    "passes.",
    "=1+1",
    "x" * 20_000,
    "9" * 5_000,
    "%s{0}${x}",
)
"""Texts that something further on may trip over."""

NUMBERS = (
    *(
        0,
        -0.0,
        1,
        -1,
        2,
        0.5,
        5e-324,
        1e-12,
        1e-9,
        1e-6,
        1e-3,
        0.01,
        0.1,
        10,
        100,
        999,
        1000,
        2000,
        100_000,
    ),
    *(1e6, 1e6 + 1, -1e6, 1e8, 1e300, 2**63, 10**400, float("nan"), float("inf"), float("-inf")),
)
WHOLE = (0, 1, 2, 3, 999, 1000, 100_000, 100_001, -1, 2**31, 10**400)
RANGES = ("{0} .. {1} {2}", "{0} .. {0} .. {1} {2}", "{1} .. {0} {2}", "{1} +- {0} {2}")

JUNK = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.sampled_from(NUMBERS),
    st.floats(),
    st.text(max_size=10),
    st.sampled_from(HOSTILE),
    st.sampled_from(["one", "two", "3 mm", "0.1 .. 0.2 mm", "auto", "6 m/s", "plate"]),
    st.binary(max_size=3),
    st.dates(),
    st.datetimes(),
    st.lists(st.integers(0, 50) | st.text(max_size=3), max_size=4),
    # Copied, since the next damage may go inside.
    st.sampled_from([[], {}, [[]], [{}], [0] * 3000, ["x"] * 3000, [[0, 0, 1, 1]] * 300]).map(
        copy.deepcopy
    ),
    st.dictionaries(st.text(max_size=4) | st.integers(), st.integers(), max_size=3),
    st.builds(nested, st.sampled_from([1, 2, 100, 3000]), st.just("x"), st.booleans()),
    st.just(object()),
)
"""A value of any type, most of which stand nowhere in a sound document."""

WITH_UNIT = re.compile(r"[-+.0-9eE/ ]*[0-9] *(?P<unit>[^\W0-9][^ ]*)\Z")


def quick(few: int) -> settings:
    """Settings for so many examples, the same in every run; in the long one `TIMES` as many, and
    always others.
    """
    slow = [HealthCheck.too_slow, HealthCheck.data_too_large, HealthCheck.filter_too_much]
    count = few * TIMES if LONG else effort(few)
    return settings(
        max_examples=count, derandomize=not LONG, deadline=None, suppress_health_check=slow
    )


def attempt(work: Callable[[], Any], *errors: type[Exception]) -> Any:
    """What comes of it: a value, or one of these errors.

    Any other exception goes on its way and fails the test.
    """
    try:
        return work()
    except errors as error:
        return error


def _like(value: object) -> st.SearchStrategy[Any]:
    """Values of the same kind at the ends of what is allowed and beyond, so that many documents
    stay sound.
    """
    if isinstance(value, bool):
        return st.booleans()
    if isinstance(value, int):
        return st.sampled_from(WHOLE + NUMBERS)
    if isinstance(value, float):
        return st.sampled_from(NUMBERS)
    if isinstance(value, str) and (match := WITH_UNIT.match(value)):
        finite = [each for each in NUMBERS if 0 <= each < 1e9]
        number = st.sampled_from(finite).map(lambda each: f"{each:.12f}".rstrip("0"))
        pairs = st.tuples(st.sampled_from(RANGES), number, number)
        unit = match["unit"]
        return number.map(lambda each: f"{each} {unit}") | pairs.map(
            lambda found: found[0].format(*found[1:], unit)
        )
    if isinstance(value, list):
        return st.sampled_from([value * 2, value[:1] * 300, value[::-1], []])
    return JUNK


@st.composite
def damaged(draw: st.DrawFn, sound: Sequence[Any] = SOUND, *, most: int = 4) -> Any:
    """A sound document with a few places deleted, replaced, doubled, renamed, exchanged
    or nested.
    """
    document = copy.deepcopy(draw(st.sampled_from(sound)))
    for _ in range(draw(st.integers(1, most))):
        _damage(draw, document)
    return document


def _damage(draw: st.DrawFn, holder: Any) -> None:
    while True:
        keys = list(holder) if isinstance(holder, dict) else list(range(min(len(holder), 50)))
        if not keys:
            return
        key = draw(st.sampled_from(keys))
        inside = holder[key]
        if isinstance(inside, dict | list) and inside and draw(st.integers(0, 5)):
            holder = inside
            continue
        match draw(
            st.sampled_from(
                ["like", "like", "like", "replace", "delete", "double", "rename", "swap", "nest"]
            )
        ):
            case "like":
                holder[key] = draw(_like(inside))
            case "replace":
                holder[key] = draw(JUNK)
            case "delete":
                del holder[key]
            case "double" if isinstance(holder, list):
                holder.append(copy.deepcopy(inside))
            case "rename" if isinstance(holder, dict):
                holder[draw(st.text(max_size=5) | st.sampled_from(HOSTILE))] = holder.pop(key)
            case "swap":
                other = draw(st.sampled_from(keys))
                holder[key], holder[other] = holder[other], holder[key]
            case _:
                holder[key] = nested(draw(st.sampled_from([1, 100])), inside, draw(st.booleans()))
        return
