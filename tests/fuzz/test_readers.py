"""The bytes of a file may be damaged in any way: each reader gives what it reads, or
its own error.
"""

from __future__ import annotations

import datetime
import json
import tomllib
from collections import Counter
from collections.abc import Callable, Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from building import shop
from documents.samples import FULL_TOML
from fuzz.damage import EXAMPLES, LONG, ROOT, attempt, damaged, quick
from fuzz.texts import RATES, SCHEDULE, SHOP
from hypothesis import given
from hypothesis import strategies as st
from junitparser import JUnitXml

import signrules
from signrules import JobError, RatesError, ScheduleError, ShopError
from signrules.documents import read_job
from signrules.documents.toml import to_toml
from signrules.estimating import read_rates
from signrules.shop_file import read_shop
from signrules.standards.dimension_tables import TableError, load_standard

COUNT: Counter[str] = Counter()

STANDARD = (ROOT / "signrules" / "standards" / "us_ada_2010.toml").read_text("utf-8")
MARKS = "\"'[]{}=#,.\n\r\t\\ -+_:;e0123456789²\x00\x7f\u2028\ufeff\ud7ff𝔊"


@pytest.fixture(autouse=True, scope="module")
def _told() -> Iterator[None]:
    """The long run says how much it has done."""
    yield
    if LONG:
        print(f"\nreaders: {dict(COUNT)}")


@st.composite
def torn(draw: st.DrawFn, *texts: str) -> bytes:
    """The bytes of a text with a few pieces cut out, doubled, exchanged for others or filled with
    marks.
    """
    data = draw(st.sampled_from(texts)).encode("utf-8")
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(data)))
        end = min(len(data), start + draw(st.integers(0, 40)))
        from_ = draw(st.integers(0, len(data)))
        piece = draw(
            st.sampled_from(
                [
                    b"",
                    data[start:end] * 2,
                    data[from_ : from_ + 40],
                    b"[" * 3000,
                    b"9" * 5000,
                    b"1e99999999",
                ]
            )
            | st.text(alphabet=MARKS, max_size=8).map(lambda text: text.encode("utf-8"))
            | st.binary(max_size=3)
        )
        data = data[:start] + piece + data[end:]
    return data


def plain(text: str) -> Any:
    return tomllib.loads(text)


@st.composite
def written(draw: st.DrawFn, *documents: Any, form: str) -> bytes:
    """A damaged document, written down as well as the format can."""
    document = draw(damaged(documents))
    if form == ".json":
        try:
            return json.dumps(document, default=str, ensure_ascii=draw(st.booleans())).encode(
                "utf-8", "surrogatepass"
            )
        except (
            TypeError,
            RecursionError,
        ):  # Keys that JSON has not, lists that its writer does not follow.
            return b"{}"
    try:
        return to_toml(document).encode("utf-8", "surrogatepass")
    except (TypeError, ValueError, AttributeError, RecursionError):
        return b"x = 1"


def outcome(reader: Callable[[Path], Any], error: type[Exception], path: Path, data: bytes) -> Any:
    """What a reader makes of these bytes: what it reads, or its own error, which names the file."""
    path.write_bytes(data)
    COUNT[f"{reader.__name__} {path.suffix}"] += 1
    found = attempt(lambda: reader(path), error)
    if isinstance(found, error):
        assert str(path) in str(found)
        COUNT["refused"] += 1
    return found


JOB_TEXTS = [FULL_TOML, *(path.read_text("utf-8") for path in EXAMPLES)]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("torn")


@pytest.mark.thorough
@given(torn(*JOB_TEXTS) | written(*map(plain, JOB_TEXTS), form=".toml"))
@quick(60)
def test_job_in_toml(folder: Path, data: bytes) -> None:
    job_or_refusal(folder / "job.toml", data)


@given(
    torn(*(json.dumps(plain(text), default=str, indent=1) for text in JOB_TEXTS))
    | written(*map(plain, JOB_TEXTS), form=".json")
)
@quick(60)
def test_job_in_json(folder: Path, data: bytes) -> None:
    job_or_refusal(folder / "job.json", data)


def job_or_refusal(path: Path, data: bytes) -> None:
    """Whichever it is, the formats for other tools take it, places in the text included."""
    found = outcome(read_job, JobError, path, data)
    if not isinstance(found, JobError):
        job = found
        found = attempt(
            lambda: signrules.evaluate(job, budget=5, today=datetime.date(2026, 6, 1)), JobError
        )
    log = json.dumps(
        signrules.sarif({str(path): found}), allow_nan=False, ensure_ascii=False
    ).encode("utf-8")
    assert json.loads(log)["version"] == "2.1.0"
    assert len(JUnitXml.fromstring(signrules.junit({str(path): found}).encode("utf-8"))) == 1


@given(torn(SHOP) | written(plain(SHOP), form=".toml"))
@quick(60)
def test_shop_file(folder: Path, data: bytes) -> None:
    shop_or_refusal(folder / "shop.toml", data)


@given(written(plain(SHOP), form=".json"))
@quick(60)
def test_shop_file_in_json(folder: Path, data: bytes) -> None:
    shop_or_refusal(folder / "shop.json", data)


def shop_or_refusal(path: Path, data: bytes) -> None:
    shop = outcome(read_shop, ShopError, path, data)
    if not isinstance(shop, ShopError):
        assert json.dumps(shop.to_dict(), ensure_ascii=False).encode("utf-8")
        assert "\n".join(shop.in_words()).encode("utf-8") is not None


@given(torn(RATES) | written(plain(RATES), form=".toml"))
@quick(60)
def test_rate_table(folder: Path, data: bytes) -> None:
    rates = outcome(read_rates, RatesError, folder / "rates.toml", data)
    if not isinstance(rates, RatesError):
        assert isinstance(rates.markup, Decimal)
        found = signrules.estimate(CLINIC, rates)
        assert json.dumps(found.to_dict(), allow_nan=False, ensure_ascii=False).encode("utf-8")
        assert signrules.estimate_text(found).encode("utf-8")
        assert signrules.estimate_csv(found).encode("utf-8")


CLINIC = signrules.evaluate(read_job(ROOT / "docs" / "examples" / "clinic.toml"))


@given(torn(STANDARD) | written(plain(STANDARD), form=".toml"))
@quick(60)
def test_standard(folder: Path, data: bytes) -> None:
    table = outcome(load_standard, TableError, folder / "standard.toml", data)
    if not isinstance(table, TableError):
        assert table.rows


OWN_SHOP = shop()


def from_schedule(path: Path) -> Any:
    return signrules.jobs_from_schedule(path, OWN_SHOP)


@given(torn(SCHEDULE))
@quick(60)
def test_schedule(folder: Path, data: bytes) -> None:
    found = outcome(from_schedule, ScheduleError, folder / "doors.csv", data)
    if not isinstance(found, ScheduleError):
        assert found.jobs or any("quantity is 0" in note for note in found.notes)
        assert len({each.job.name for each in found.jobs}) == len(found.jobs)


BAD = {
    "nothing": b"",
    "nul": b"\x00",
    "utf-16": b"\xff\xfe",
    "brackets": b"[" * 50_000,
    "lists": b"a = " + b"[" * 5_000,
    "digits": b"a = " + b"9" * 6_000,
    "exponent": b"a = 1e9999999999999999999",
    "quotes": b'"' * 10_001,
    "tables": b'{"a":' * 5_000,
}
READERS = {
    "job.toml": (read_job, JobError),
    "job.json": (read_job, JobError),
    "shop.toml": (read_shop, ShopError),
    "shop.json": (read_shop, ShopError),
    "rates.toml": (read_rates, RatesError),
    "standard.toml": (load_standard, TableError),
    "schedule.csv": (from_schedule, ScheduleError),
}


@pytest.mark.parametrize("name", READERS)
@pytest.mark.parametrize("bad", BAD)
def test_what_parsers_stumble_over(tmp_path: Path, name: str, bad: str) -> None:
    reader, error = READERS[name]
    assert isinstance(outcome(reader, error, tmp_path / name, BAD[bad]), error)


@pytest.mark.parametrize("name", READERS)
def test_a_name_that_no_file_can_have(name: str) -> None:
    reader, error = READERS[name]
    with pytest.raises(error):
        reader(Path(f"a\0b{name}"))


def test_half_of_a_surrogate_pair_in_a_shop_file(tmp_path: Path) -> None:
    path = tmp_path / "shop.json"
    path.write_text(
        '{"signrules": 1, "rules": {"visual": {"height": {"off": "\\ud800"}}}}', encoding="utf-8"
    )
    with pytest.raises(ShopError, match="surrogate"):
        read_shop(path)
