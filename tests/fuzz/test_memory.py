"""What reading takes of memory is bounded by the size of what is read."""

from __future__ import annotations

import gc
import json
import tracemalloc
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from building import shop
from documents.samples import SMALL
from fuzz.texts import RATES, SCHEDULE

import signrules
from signrules import JobError, RatesError, ScheduleError, jobs_from_schedule
from signrules.documents import job_from_dict, read_job, reading, write_job
from signrules.documents.reading import MOST_BYTES
from signrules.estimating import read_rates
from signrules.shop import ShopError
from signrules.shop_file import read_shop

STEEPER = 1.25
"""Eight times the document may take so many times eight times the memory: tables and lists grow in
steps.
"""

pytestmark = pytest.mark.slow

TIMES = 8


def peak(work: Callable[[], object]) -> int:
    """The most bytes that Python held at one time for a piece of work, beyond what it
    held before.
    """
    gc.collect()
    tracemalloc.start()
    try:
        work()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def refused(work: Callable[[], object], error: type[Exception]) -> Callable[[], None]:
    def run() -> None:
        with pytest.raises(error):
            work()

    return run


def rows_of_passes(count: int) -> dict[str, Any]:
    one = {
        "ink": SMALL["inks"][0]["id"],
        "areas": [[0, 0, 50, 50]],
        "gap": {"extra": "1 mm"},
        "registers_to": [],
    }
    return {
        **{
            key: value
            for key, value in SMALL.items()
            if key not in ("signs", "handling", "waivers", "sequence")
        },
        "passes": [{"id": f"pass-{number}", **one} for number in range(count)],
    }


def unknown_keys(count: int) -> dict[str, Any]:
    return SMALL | {f"key-{number}": number for number in range(count)}


def wrong_rows(count: int) -> dict[str, Any]:
    return SMALL | {"passes": [{"id": number, "ink": None} for number in range(count)]}


def one_long_list(count: int) -> dict[str, Any]:
    return SMALL | {"standards": ["x"] * count}


@pytest.mark.parametrize("suffix", [".toml", ".json"])
def test_a_sound_job(tmp_path, suffix):
    def of(count: int) -> int:
        path = tmp_path / f"{count}{suffix}"
        write_job(job_from_dict(rows_of_passes(count)), path)
        return peak(lambda: read_job(path))

    of(1)  # What is loaded once does not count.
    assert of(40 * TIMES) < STEEPER * TIMES * of(40)


@pytest.mark.parametrize("make", [unknown_keys, wrong_rows, one_long_list])
def test_a_faulty_job(tmp_path, make):
    def of(count: int) -> int:
        path = tmp_path / f"{count}.json"
        path.write_text(json.dumps(make(count)), "utf-8")
        work = lambda: read_job(path)  # noqa: E731
        return peak(work if make is one_long_list else refused(work, JobError))

    of(1)
    assert of(100 * TIMES) < STEEPER * TIMES * of(100)


def test_a_schedule():
    def of(count: int) -> int:
        head, row, *_ = SCHEDULE.splitlines()
        text = "\n".join(
            [head, *(row.replace("214", str(1000 + number)) for number in range(count))]
        )
        return peak(lambda: jobs_from_schedule(text, shop()))

    of(1)
    assert of(8 * TIMES) < STEEPER * TIMES * of(8)


def test_a_rate_table(tmp_path):
    def of(count: int) -> int:
        path = tmp_path / f"{count}.toml"
        path.write_text(
            RATES + "".join(f'[[fixed]]\nname = "line {n}"\nprice = {n}.5\n' for n in range(count)),
            "utf-8",
        )
        return peak(lambda: read_rates(path))

    of(1)
    assert of(100 * TIMES) < STEEPER * TIMES * of(100)


@pytest.mark.parametrize(
    ("reader", "error", "suffix"),
    [
        (read_job, JobError, ".toml"),
        (read_job, JobError, ".json"),
        (read_shop, ShopError, ".toml"),
        (read_rates, RatesError, ".toml"),
        (lambda path: jobs_from_schedule(path, shop()), ScheduleError, ".csv"),
    ],
)
def test_a_file_beyond_the_limit_is_not_even_read(tmp_path: Path, reader, error, suffix):
    path = tmp_path / f"large{suffix}"
    with path.open("wb") as file:
        file.truncate(MOST_BYTES + 1)  # A file with a hole: it takes no room on the disk.
    assert peak(refused(lambda: reader(path), error)) < MOST_BYTES / 50


def test_the_limit_itself(tmp_path, monkeypatch):
    path = tmp_path / "job.toml"
    write_job(job_from_dict(signrules.sample_job()), path)
    size = path.stat().st_size
    monkeypatch.setattr(reading, "MOST_BYTES", size)
    read_job(path)
    monkeypatch.setattr(reading, "MOST_BYTES", size - 1)
    with pytest.raises(JobError, match=f"a file of {size} bytes"):
        read_job(path)
