"""Very many damaged job documents, by hand, not in CI:

    python tests/fuzz/long_run.py --documents 1000000 --workers 2

Damage is drawn by the random numbers of the standard library, which is faster than by hypothesis
and does not look for small examples. What must hold is what test_documents.py asks, but remedies
are looked for in one of twenty jobs alone: they take most of the time. It prints how many
documents were read, accepted and evaluated. One that gives anything else than a job or a JobError
is told by its run and its number there.
"""

from __future__ import annotations

import argparse
import json
import random
import sys
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor, as_completed
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).parents[1]))

from documents.samples import nested
from fuzz import test_documents
from fuzz.damage import HOSTILE, NUMBERS, RANGES, SOUND, WHOLE, WITH_UNIT

DOCUMENTS_A_RUN = 2000
MOST_DAMAGES = 4
SHARE_WITH_REMEDIES = 0.05
_SOUND_TEXTS = tuple(json.dumps(document, default=str) for document in SOUND)
_WORDS = ("one", "two", "3 mm", "0.1 .. 0.2 mm", "auto", "6 m/s", "plate")


def junk(chance: random.Random) -> Any:
    """A value of any type, most of which stand nowhere in a sound document."""
    make: Callable[[], Any] = chance.choice(
        (
            lambda: chance.choice((None, True, False, b"x", object(), [], {}, [[]], [{}])),
            lambda: chance.choice(NUMBERS),
            lambda: chance.uniform(-10, 1000),
            lambda: chance.choice(HOSTILE),
            lambda: chance.choice(_WORDS),
            lambda: [chance.randint(0, 50) for _ in range(chance.randint(0, 4))],
            lambda: {chance.choice(HOSTILE): chance.randint(0, 9)},
            lambda: nested(chance.choice((1, 2, 100)), "x", chance.random() < 0.5),
        )
    )
    return make()


def like(chance: random.Random, value: Any) -> Any:
    """A value of the same kind, often at the ends of what is allowed and beyond."""
    if isinstance(value, bool):
        return not value
    if isinstance(value, int):
        return chance.choice(WHOLE)
    if isinstance(value, float):
        return value * chance.choice((0.5, 0.9, 1.1, 2, 10)) if chance.random() < 0.5 else 0.0
    if isinstance(value, str) and (match := WITH_UNIT.match(value)):
        first, second = chance.choices((0, 0.001, 0.05, 0.4, 1, 1.5, 3, 20, 500, 1e6), k=2)
        form = chance.choice(("{0} {2}", *RANGES))
        return form.format(first, second, match["unit"])
    if isinstance(value, list):
        return chance.choice((value * 2, value[:1] * 300, value[::-1], []))
    return junk(chance)


def damage(chance: random.Random, document: Any) -> None:
    """Change one place of a document, anywhere in it."""
    holder, depth = document, 0
    while True:
        keys = list(holder) if isinstance(holder, dict) else list(range(min(len(holder), 50)))
        if not keys:
            return
        key = chance.choice(keys)
        inside = holder[key]
        goes_in = isinstance(inside, dict | list) and depth < 20 and chance.random() < 0.85
        if not goes_in:
            break
        holder, depth = inside, depth + 1
    kind = chance.choice(("like", "like", "like", "like", "replace", "delete", "rename", "swap"))
    if kind == "like":
        holder[key] = like(chance, inside)
    elif kind == "replace":
        holder[key] = junk(chance)
    elif kind == "delete":
        del holder[key]
    elif kind == "rename" and isinstance(holder, dict):
        holder[chance.choice(HOSTILE)] = holder.pop(key)
    else:
        other = chance.choice(keys)
        holder[key], holder[other] = holder[other], holder[key]


def run_of(number: int) -> Counter[str]:
    """What came of the documents of one run."""
    chance = random.Random(number)
    test_documents.COUNT.clear()
    for index in range(DOCUMENTS_A_RUN):
        document = json.loads(chance.choice(_SOUND_TEXTS))
        for _ in range(chance.randint(1, MOST_DAMAGES)):
            damage(chance, document)
        share = chance.random()
        try:
            job = test_documents.read(document)
            if job is not None:
                test_documents.lives(job, with_remedies=share < SHARE_WITH_REMEDIES)
        except Exception as error:
            test_documents.COUNT["wrong"] += 1
            print(f"run {number}, document {index}: {type(error).__name__}: {error}", flush=True)
    return Counter(test_documents.COUNT)


def main() -> None:
    """Check so many documents and print what came of them."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--documents", type=int, default=100_000)
    parser.add_argument("--workers", type=int, default=2)
    parser.add_argument("--first-run", type=int, default=1, help="number of the first run")
    options = parser.parse_args()
    count: Counter[str] = Counter()
    with ProcessPoolExecutor(options.workers) as executor:
        first = options.first_run
        numbers = range(first, first + options.documents // DOCUMENTS_A_RUN)
        runs = [executor.submit(run_of, number) for number in numbers]
        for done, run in enumerate(as_completed(runs), start=1):
            count += run.result()
            print(f"{done} of {len(runs)} runs: {dict(count)}", flush=True)
    sys.exit(1 if count["wrong"] else 0)


if __name__ == "__main__":
    main()
