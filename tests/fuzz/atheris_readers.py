"""Coverage-guided fuzzing of the readers of bytes, by atheris from the package registry. By hand,
not in CI:

    python -m venv ../fuzzing && ../fuzzing/bin/pip install atheris .
    ../fuzzing/bin/python tests/fuzz/atheris_readers.py job-toml -max_total_time=120

The first argument names the reader, the others go to libFuzzer. It stops at the first exception
that is not the reader's own error, and at anything that takes more than 10 s or 1 GiB; the bytes
that did it lie in `crash-*` beside where it was started.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["signrules", "tomllib", "json", "csv"]):
    import json
    import tomllib

    from signrules.documents import job_from_dict, read_job
    from signrules.documents.source_places import Places
    from signrules.errors import JobError, RatesError, ScheduleError, ShopError
    from signrules.estimating import read_rates
    from signrules.schedules.jobs import jobs_from_schedule
    from signrules.shop_file import read_shop
    from signrules.standards.dimension_tables import TableError, load_standard

ROOT = Path(__file__).parents[2]
OWN_SHOP = read_shop(ROOT / "docs" / "examples" / "doors" / "signrules.toml")


def _places(path: Path) -> None:
    """Places are looked for in texts that were refused, too."""
    places = Places(path.read_bytes().decode("utf-8", "replace"), path.suffix[1:])
    try:
        read_job(path)
    except JobError as error:
        for fault in error.faults:
            places.find(fault.path)
    else:
        places.find("passes[0].gap")


def _round(path: Path) -> None:
    """Every job that is read is read again from what is written of it."""
    from signrules.documents import job_to_dict
    from signrules.documents.toml import to_toml

    job = read_job(path)
    if job_from_dict(tomllib.loads(to_toml(job_to_dict(job)))) != job:
        raise AssertionError("the document that was written is of another job")


READERS: dict[str, tuple[Callable[[Path], object], type[Exception], str]] = {
    "job-toml": (_round, JobError, ".toml"),
    "job-json": (_round, JobError, ".json"),
    "places-toml": (_places, JobError, ".toml"),
    "places-json": (_places, JobError, ".json"),
    "shop": (read_shop, ShopError, ".toml"),
    "rates": (read_rates, RatesError, ".toml"),
    "standard": (load_standard, TableError, ".toml"),
    "schedule": (lambda path: jobs_from_schedule(path, OWN_SHOP), ScheduleError, ".csv"),
}


def main() -> None:
    """Fuzz one reader, starting from the sound documents of the repository."""
    name = sys.argv.pop(1)
    read, error, suffix = READERS[name]
    folder = Path(tempfile.mkdtemp(prefix="signrules-fuzz-"))
    path = folder / f"input{suffix}"
    corpus = folder / "corpus"
    corpus.mkdir()
    for number, seed in enumerate(_seeds(name)):
        (corpus / str(number)).write_text(seed, "utf-8")

    def one(data: bytes) -> None:
        path.write_bytes(data)
        with suppress(error):
            read(path)

    options = ["-max_len=8192", "-timeout=10", "-rss_limit_mb=1024"]
    atheris.Setup([sys.argv[0], *options, *sys.argv[1:], str(corpus)], one)
    atheris.Fuzz()


def _seeds(name: str) -> list[str]:
    sys.path.insert(0, str(ROOT / "tests"))
    if name in ("shop", "rates", "schedule"):
        from fuzz.texts import RATES, SCHEDULE, SHOP

        return [{"shop": SHOP, "rates": RATES, "schedule": SCHEDULE}[name]]
    if name == "standard":
        return [
            path.read_text("utf-8")
            for path in sorted((ROOT / "signrules" / "standards").glob("*.toml"))
        ]
    from documents.samples import FULL_TOML

    texts = [
        FULL_TOML,
        *(path.read_text("utf-8") for path in sorted((ROOT / "docs" / "examples").glob("*.toml"))),
    ]
    if name.endswith("json"):
        return [json.dumps(tomllib.loads(text), default=str, ensure_ascii=False) for text in texts]
    return texts


if __name__ == "__main__":
    main()
