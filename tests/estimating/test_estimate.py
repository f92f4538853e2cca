"""Estimates: worked by hand, honest about what is not known, exact in money."""

from __future__ import annotations

import csv
import decimal
import io
import json
import tomllib
from decimal import Decimal
from fractions import Fraction

import jsonschema
import pytest
from effort import effort
from hypothesis import example, given, settings
from hypothesis import strategies as st
from reports.hostile import ALL, FORMULA, PAIRS, harmless, hostile_job
from scenario import PRINTER, sign_job
from strategies import jobs

from signrules import (
    NoSafeOrder,
    RatesError,
    estimate,
    evaluate,
    hookimpl,
    job_from_dict,
    load_plugins,
    rates_from_dict,
    read_rates,
    write_job,
)
from signrules.cli import main
from signrules.documents.table_reader import write_table
from signrules.documents.toml import to_toml
from signrules.reports.estimate_report import csv_cell, estimate_csv, estimate_text
from signrules.schemas import schema

SCHEMA = jsonschema.Draft202012Validator(schema("estimate"))
RATES_SCHEMA = jsonschema.Draft202012Validator(schema("rates"))

TIMED = PRINTER | {
    "swath": "50 mm",
    "swath_passes": 4,
    "carriage_acceleration": "8 m/s2",
    "overrun": "50 mm",
}
RATES = {
    "signrules_rates": 1,
    "currency": "EUR",
    "markup": "15 %",
    "minimum": "20",
    "dot": "0.002",
    "minute": {"all": "0.90", "printing": "1.10"},
    "ink_role": {"colour": "0.30"},
    "ink": {"clear": "0.45"},
    "sheet_m2": {"acrylic": "42.00"},
    "waste": {"ink": "10 %", "sheets": "0.05"},
    "fixed": [{"name": "proofreading", "price": "12.50"}],
}


def timed_job(**changes):
    """The invented sign on a printer that states all times, on acrylic, with 4 + 3 dots
    of braille.
    """
    job = sign_job(printer=TIMED)
    job["media"][0]["material"] = "acrylic"
    job["signs"][0]["braille"]["cells"] = "\u2817 \u280a\u2801"  # 1235; blank; 24; 1
    return job | changes


def result_of(job, **options):
    return evaluate(job_from_dict(job), **options)


SIMPLE = result_of(timed_job())


def line(found, kind, item):
    return next(each for each in found.lines if (each.kind, each.item) == (kind, item))


def priced(job=None, **changes):
    return estimate(result_of(job or timed_job()), rates_from_dict(RATES | changes))


def test_a_whole_estimate_by_hand():
    """Source of every number: the job and the formulas, on paper.

    Plan: 1 load of 4 min; gaps 2 min each; a new alignment takes 12 min. Printing: the advance is
    50 / 4 = 12.5 mm. ground is 200 mm high: ceil(200 / 12.5) + 3 = 19 strokes of (200 + 100) / 800
    + 800 / 8000 = 0.475 s, so 9.025 s. The others are 8 mm high: ceil(0.64) + 3 = 4 strokes of (60
    + 100) / 800 + 0.1 = 0.3 s, so 1.2 s a layer, of which there are 24 and 1: 30 s. Together 39.025
    s = 0.650416... min.
    Ink: black 200 x 200 x 0.01 + 60 x 8 x 0.01 = 404.8 mm3 = 0.4048 mL; clear 60 x 8 x 0.3 x 24 x
    0.03 = 103.68 mm3.
    Sheet: 0.2 x 0.2 = 0.04 m2 x 42 = 1.68. Dots: 1235 has four, 24 two, 1 one.
    """
    result = result_of(timed_job())
    loads, gaps, alignments = (
        result.plan.loads,
        result.timeline.gap_settings,
        len(result.timeline.new_alignments),
    )
    assert loads == 1
    found = estimate(result, rates_from_dict(RATES))
    expected = {
        ("minutes", "alignments"): (12 * alignments, Fraction(9, 10)),
        ("minutes", "loads"): (4, Fraction(9, 10)),
        ("minutes", "gaps"): (2 * gaps, Fraction(9, 10)),
        ("minutes", "printing"): (Fraction("0.6504"), Fraction(11, 10)),
        ("minutes", "waiting"): (0, Fraction(9, 10)),
        ("ink", "black"): (Fraction("0.4048"), Fraction(11, 10) * Fraction(3, 10)),
        ("ink", "clear"): (Fraction("0.1037"), Fraction(11, 10) * Fraction(45, 100)),
        ("sheets", "panel"): (1, Fraction(105, 100) * Fraction(168, 100)),
        ("dots", "room"): (7, Fraction(2, 1000)),
        ("fixed", "proofreading"): (1, Fraction(25, 2)),
    }
    assert {(each.kind, each.item) for each in found.lines} == set(expected)
    so_far = Fraction(0)
    for (kind, item), (amount, each) in expected.items():
        one = line(found, kind, item)
        assert Fraction(one.amount) == amount, (kind, item)
        price = Fraction(round(amount * each * 100), 100)  # Python rounds fractions half to even.
        assert Fraction(one.price) == price, (kind, item)
        so_far += price
    assert Fraction(found.so_far) == so_far
    assert Fraction(found.markup) == Fraction(round(so_far * 15), 100)
    assert found.total == max(found.so_far + found.markup, Decimal(20))
    assert found.sheets == (("acrylic", 3.0, 1, Decimal("0.04")),)
    assert found.missing == ()
    SCHEMA.validate(found.to_dict())


def test_it_agrees_with_the_plan():
    result = result_of(timed_job())
    found = estimate(result)
    set_up = sum(line(found, "minutes", item).amount for item in ("alignments", "loads", "gaps"))
    assert float(set_up) == result.plan.setup_minutes


def test_without_rates_there_are_amounts_and_no_money():
    found = estimate(result_of(timed_job()))
    assert (found.total, found.so_far, found.currency) == (None, None, None)
    assert all(each.price is None and each.unpriced is None for each in found.lines)
    assert line(found, "dots", "room").amount == 7
    SCHEMA.validate(found.to_dict())
    assert "UNPRICED" not in estimate_text(found)


@pytest.mark.parametrize(
    ("change", "kind", "item", "missing"),
    [
        (lambda job: job["printer"].pop("swath"), "minutes", "printing", "printer.swath"),
        (lambda job: job["printer"].pop("overrun"), "minutes", "printing", "printer.overrun"),
        (
            lambda job: job["printer"]["minutes"].pop("load"),
            "minutes",
            "loads",
            "printer.minutes.load",
        ),
        (lambda job: job["printer"].pop("minutes"), "minutes", "gaps", "printer.minutes.gap"),
        (
            lambda job: job["signs"][0]["braille"].pop("cells"),
            "dots",
            "room",
            "signs.room.braille.cells",
        ),
        (
            lambda job: job.update(handling=[{"id": "cool", "does": "pause"}]),
            "minutes",
            "waiting",
            "pause_minutes of the rate table",
        ),
    ],
)
def test_what_is_not_stated_is_listed_and_never_counts_as_nought(change, kind, item, missing):
    job = json.loads(json.dumps(timed_job()))
    change(job)
    found = priced(job)
    one = line(found, kind, item)
    assert (one.amount, one.price) == (None, None)
    assert one.unpriced == f"not stated: {missing}"
    assert missing in found.missing
    assert found.total is None
    assert found.so_far > 0
    text = estimate_text(found)
    assert "NO TOTAL: " in text
    assert missing in text
    assert list(csv.reader(io.StringIO(estimate_csv(found))))[-1][6] == "NO TOTAL"
    SCHEMA.validate(found.to_dict())


@pytest.mark.parametrize(
    ("change", "kind", "item", "wanted"),
    [
        ({"minute": {"loads": 1}}, "minutes", "printing", "minute.printing or minute.all"),
        ({"ink_role": {}}, "ink", "black", "ink.black or ink_role.colour"),
        ({"sheet_m2": {}}, "sheets", "panel", "sheet.panel or sheet_m2.acrylic"),
    ],
)
def test_what_has_no_price_is_unpriced(change, kind, item, wanted):
    found = priced(**change)
    assert line(found, kind, item).unpriced == f"the rate table has no {wanted}"
    assert found.total is None
    assert not found.complete


def test_all_that_is_missing_is_listed():
    document = sign_job()
    del document["signs"][0]["braille"]["cells"]
    found = estimate(result_of(document))
    fields = ("swath", "swath_passes", "carriage_acceleration", "overrun")
    assert found.missing == (*(f"printer.{name}" for name in fields), "signs.room.braille.cells")


def test_without_a_price_of_dots_they_are_unpriced_until_it_is_nought():
    rates = {key: value for key, value in RATES.items() if key != "dot"}
    result = result_of(timed_job())
    assert estimate(result, rates_from_dict(rates)).total is None
    assert estimate(result, rates_from_dict(rates | {"dot": 0})).total is not None


def test_the_nearer_price_counts():
    found = priced(
        minute={"all": 1, "loads": 2}, ink={"black": 5, "clear": 6}, sheet={"panel": "3.30"}
    )
    assert line(found, "minutes", "loads").unit_price == 2
    assert line(found, "minutes", "printing").unit_price == 1
    assert line(found, "ink", "black").unit_price == 5
    assert line(found, "sheets", "panel").unit_price == Decimal("3.30")


def test_pauses_and_the_minimum():
    job = timed_job(
        handling=[
            {"id": "cool", "does": "pause", "after": ["ground"]},
            {"id": "dry", "does": "pause"},
        ]
    )
    found = priced(job, pause_minutes="7.5", minimum="500")
    assert line(found, "minutes", "waiting").amount == 15
    assert found.total == 500
    assert found.raised == 500 - found.so_far - found.markup
    assert estimate_text(found).endswith("Total: 500.00 EUR\n")


class Counting:
    """A plugin that counts, as the hook signrules_quantities allows."""

    __name__ = "counting"

    def __init__(self, **quantities):
        self.found = quantities

    @hookimpl
    def signrules_quantities(self):
        return self.found


def test_quantities_of_plugins_are_lines_and_are_priced_by_name():
    result = result_of(timed_job(), plugins=load_plugins(objects=[Counting(film_m2=1.25)]))
    bare = estimate(result, rates_from_dict(RATES))
    assert line(bare, "quantities", "film_m2").unpriced == "the rate table has no quantity.film_m2"
    assert bare.total is None
    found = estimate(
        result, rates_from_dict(RATES | {"quantity": {"film_m2": "4.10", "bed_loads": 2}})
    )
    assert line(found, "quantities", "film_m2").price == Decimal("5.12")  # 5.125, half to even
    assert line(found, "quantities", "bed_loads").price == 2
    gone = estimate(result, rates_from_dict(RATES | {"quantity": {"film_m2": 1, "glue_ml": 1}}))
    assert line(gone, "quantities", "glue_ml").unpriced == "the job has no quantity glue_ml"
    assert gone.total is None


@pytest.mark.thorough
def test_a_huge_quantity_is_written_down():
    result = result_of(timed_job(), plugins=load_plugins(objects=[Counting(odd_m=1e300)]))
    found = estimate(result, rates_from_dict(RATES | {"quantity": {"odd_m": "0.01"}}))
    assert line(found, "quantities", "odd_m").price == Decimal(10) ** 298
    SCHEMA.validate(found.to_dict())


def test_no_plan_no_price():
    job = timed_job()
    for item in job["passes"]:
        item["gap"] = {"extra": 0, "above": "media"}
    job["passes"][0]["after"] = ["dots"]
    with pytest.raises(NoSafeOrder):
        estimate(result_of(job))


def test_an_estimate_begins_with_what_was_decided():
    assert estimate_text(priced()).splitlines()[1].startswith(priced().verdict)
    found = priced(timed_job(sequence=["dots", "ink-on-dots", "ground"]))
    assert not found.ok
    assert (
        estimate_text(found)
        .splitlines()[1]
        .startswith("DO NOT PRINT: the head would come too close. ")
    )


def test_money_does_not_depend_on_the_callers_context():
    with decimal.localcontext(decimal.Context(prec=3, rounding=decimal.ROUND_UP)):
        small = priced()
    assert small.to_dict() == priced().to_dict()


money = st.decimals(0, 10**6, places=4).map(str)


@given(
    jobs(max_passes=4),
    st.fixed_dictionaries(
        {"signrules_rates": st.just(1), "currency": st.just("EUR")},
        optional={
            "decimals": st.integers(0, 6),
            "markup": st.decimals(0, 1, places=3).map(str),
            "minimum": money,
            "dot": money,
            "pause_minutes": st.integers(0, 60),
            "minute": st.fixed_dictionaries({}, optional={"all": money, "printing": money}),
            "ink": st.fixed_dictionaries({}, optional={"ink-0": money, "ink-1": money}),
            "ink_role": st.fixed_dictionaries(
                {}, optional={"clear": money, "colour": money, "white": money}
            ),
            "sheet_m2": st.fixed_dictionaries({}, optional={"acrylic": money}),
            "sheet": st.fixed_dictionaries({}, optional={"sheet-0": money}),
            "waste": st.fixed_dictionaries({}, optional={"ink": st.just("12.5 %")}),
        },
    ),
)
@settings(max_examples=effort(40))
def test_laws(job, table):
    result = evaluate(job)
    RATES_SCHEMA.validate(table)
    rates = rates_from_dict(table)
    if result.plan is None:
        return
    found = estimate(result, rates)
    SCHEMA.validate(json.loads(json.dumps(found.to_dict())))
    exact = Decimal(1).scaleb(-rates.decimals)
    assert found.so_far == sum(
        (each.price for each in found.lines if each.price is not None), Decimal(0)
    )
    for each in found.lines:
        assert (each.price is None) == (each.unpriced is not None)
        if each.price is not None and each.amount:
            whole = Fraction(each.amount) * (1 + Fraction(each.waste)) * Fraction(each.unit_price)
            assert abs(Fraction(each.price) - whole) <= Fraction(exact) / 2
    if all(each.price is not None for each in found.lines):
        assert found.total == max(found.so_far + found.markup, rates.minimum.quantize(exact))
    else:
        assert found.total is None


# --- rate tables ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "path", "expected"),
    [
        ({"currancy": "EUR"}, "currancy", "the key currency"),
        ({"minute": {"printng": 1}}, "minute.printng", "the key printing"),
        ({"currency": ""}, "currency", "a word for the money"),
        ({"dot": 0.1}, "dot", "write it as text"),
        ({"dot": "-1"}, "dot", "at least 0"),
        ({"dot": "1,50"}, "dot", "a price"),
        ({"dot": "NaN"}, "dot", "a price"),
        ({"dot": True}, "dot", "a price"),
        ({"dot": "1e400"}, "dot", "a price"),
        ({"ink": {"clear": [1]}}, "ink.clear", "a price"),
        ({"ink": 3}, "ink", "a table"),
        ({"ink": {"clear": "-1"}}, "ink.clear", "at least 0"),
        ({"markup": "15 percent"}, "markup", "a share"),
        ({"markup": "2000 %"}, "markup", "from 0 to 1000 %"),
        ({"markup": 5}, "markup", "'5 %' perhaps"),
        ({"markup": "25"}, "markup", "'25 %' perhaps"),
        ({"waste": {"ink": Decimal("1.5")}}, "waste.ink", "more than 100 % only as text"),
        ({"waste": {"inks": 1}}, "waste.inks", "the key ink"),
        ({"fixed": [{"name": "x"}]}, "fixed[0].price", "the key price"),
        ({"fixed": [{"nme": "x", "price": 1}]}, "fixed[0].nme", "the key name"),
        ({"fixed": {"name": "x"}}, "fixed", "a list of tables"),
        ({"decimals": 9}, "decimals", "from 0 to 6"),
        ({"signrules_rates": 2}, "signrules_rates", "signrules_rates = 1"),
        (
            {"quantity": {"printing_minutes": 1}},
            "quantity.printing_minutes",
            "a price under minute or ink",
        ),
    ],
)
def test_faults_of_a_rate_table(change, path, expected):
    with pytest.raises(RatesError) as caught:
        rates_from_dict(RATES | change)
    faults = {fault.path: fault.expected for fault in caught.value.faults}
    assert expected in faults[path]
    assert "rate table: " in str(caught.value)
    if (
        path not in ("quantity.printing_minutes",)
        and "float" not in expected
        and change != {"dot": 0.1}
    ):
        unsaid = {"dot": "1e400"}, {"markup": "2000 %"}, {"markup": "25"}
        assert RATES_SCHEMA.is_valid(RATES | change) is (change in unsaid)


@pytest.mark.parametrize("version", [True, 1.0, "1", None])
def test_the_version_of_a_rate_table_is_a_whole_number(version):
    with pytest.raises(RatesError) as caught:
        rates_from_dict(RATES | {"signrules_rates": version})
    (fault,) = caught.value.faults
    assert (fault.path, fault.found) == ("signrules_rates", repr(version))
    assert fault.expected.startswith("signrules_rates = 1,")


def test_all_faults_at_once():
    with pytest.raises(RatesError) as caught:
        rates_from_dict({"currency": 3, "dot": "x", "fixd": 1})
    assert {fault.path for fault in caught.value.faults} == {
        "signrules_rates",
        "currency",
        "dot",
        "fixd",
    }


def test_numbers_of_a_file_are_decimals(tmp_path):
    path = tmp_path / "rates.toml"
    path.write_text(
        'signrules_rates = 1\ncurrency = "EUR"\ndot = 0.1\nmarkup = 0.15\n', encoding="utf-8"
    )
    rates = read_rates(path)
    assert str(rates.dot) == "0.1"
    assert rates.markup == Decimal("0.15")
    path.write_text("signrules_rates = ", encoding="utf-8")
    with pytest.raises(RatesError, match=r"rates\.toml: 1 fault"):
        read_rates(path)
    with pytest.raises(RatesError):
        read_rates(tmp_path / "nowhere.toml")


# --- csv and the command --------------------------------------------------------------------------


@pytest.mark.parametrize(("delimiter", "comma"), [(",", False), (";", True), ("\t", False)])
def test_csv_reads_back(delimiter, comma):
    found = priced()
    rows = list(
        csv.DictReader(
            io.StringIO(estimate_csv(found, delimiter=delimiter, decimal_comma=comma)),
            delimiter=delimiter,
        )
    )
    assert rows[-5]["note"].startswith(found.verdict)
    assert len(rows) == len(found.lines) + 1 + 4
    for row, each in zip(rows, found.lines, strict=False):
        assert (row["kind"], row["item"]) == (each.kind, each.item)
        assert Decimal(row["price"].replace(",", ".") if comma else row["price"]) == each.price
    assert rows[-1]["item"] == "total"
    assert ("," in rows[-1]["price"]) is comma


@pytest.mark.parametrize("start", ["=", "+", "-", "@", "\t=", "\r=", " =", "\n=", "＝"])
def test_no_cell_is_a_formula(start):
    """Source: OWASP, CSV Injection: a cell that begins with one of these is run by spreadsheets."""
    shown = csv_cell(f"{start}1+1")
    assert shown.lstrip()[0] not in "=+-@\t\r\n＝"
    assert csv_cell("plain") == "plain"
    assert csv_cell("a=b") == "a=b"


def split_by(text, delimiter):
    """The cells that a spreadsheet sees which separates them by another sign than the file: with
    and without quotes.
    """
    for row in csv.reader(io.StringIO(text, newline=""), delimiter=delimiter):
        yield from row
    for line in text.splitlines():
        yield from line.split(delimiter)


@given(st.text(st.sampled_from("a1 ,;|\"'=+-@＝"), max_size=12), st.sampled_from([",", ";"]))
@example("a;=1+1", ",")
@example('a; "=1+1', ",")
@example("a,@b", ";")
def test_no_cell_is_a_formula_where_a_spreadsheet_splits_it_elsewhere(text, delimiter):
    """Source: OWASP, CSV Injection: separators and quotes within a cell may begin another one."""
    rates = rates_from_dict(
        RATES | {"fixed": [{"name": f"x{text}x", "price": "12.5"}], "currency": f"E{text}"}
    )
    written = estimate_csv(estimate(SIMPLE, rates), delimiter=delimiter)
    assert next(csv.reader(io.StringIO(written), delimiter=delimiter))[0] == "kind"
    for other in ",;|":
        for value in split_by(written, other):
            assert not value.strip().strip('"').strip().startswith(tuple("=+-@＝")), (other, value)


def test_what_begins_no_formula_is_left_as_it_is():
    for text in (
        "plain",
        "a=b",
        "1 x 12 min",
        "acrylic, 3 mm, 200 x 200 mm",
        "a - b",
        "x;y|z",
        "a,'=1",
    ):
        assert csv_cell(text) == text
    assert csv_cell("a;=1+1") == "a;'=1+1"
    assert csv_cell("=1") == "'=1"


@pytest.mark.parametrize(("name", "id"), PAIRS, ids=lambda text: ascii(text[:12]))
def test_hostile_names(name, id):
    job = hostile_job(name, id)
    rates = rates_from_dict(RATES | {"fixed": [{"name": FORMULA, "price": -1}]})
    found = estimate(result_of(job), rates)
    rows = list(csv.reader(io.StringIO(estimate_csv(found), newline="")))
    assert len({len(row) for row in rows}) == 1
    for row in rows:
        for value in row:
            assert harmless(value)
            try:
                Decimal(value or "0")
            except decimal.InvalidOperation:
                assert value.lstrip()[0] not in "=+-@"
    assert harmless(estimate_text(found))
    SCHEMA.validate(found.to_dict())


@pytest.mark.parametrize("text", ALL, ids=lambda text: ascii(text[:12]))
def test_cells_are_one_harmless_line(text):
    assert harmless(csv_cell(text))
    assert "\n" not in csv_cell(text)


def test_the_command(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write_job(job_from_dict(timed_job()), "job.toml")
    (tmp_path / "rates.toml").write_text(to_toml(RATES), encoding="utf-8")
    assert main(["estimate", "job.toml"]) == 0
    assert "what it takes" in capsys.readouterr().out
    assert main(["estimate", "job.toml", "--rates", "rates.toml", "--format", "json"]) == 0
    data = json.loads(capsys.readouterr().out)
    SCHEMA.validate(data)
    assert data["total"] == str(priced().total)
    assert (
        main(
            [
                "estimate",
                "job.toml",
                "--rates",
                "rates.toml",
                "--format",
                "csv",
                "--spreadsheet",
                "german",
            ]
        )
        == 0
    )
    out = capsys.readouterr().out
    assert out.startswith("\ufeffkind;item;")
    few = {"signrules_rates": 1, "currency": "EUR"}
    (tmp_path / "few.toml").write_text(to_toml(few), encoding="utf-8")
    assert main(["estimate", "job.toml", "--rates", "few.toml"]) == 1
    assert "NO TOTAL: " in capsys.readouterr().out
    assert main(["estimate", "job.toml", "--rates", "nowhere.toml"]) == 2


def test_what_is_free_costs_nothing_however_much_it_takes():
    job = timed_job()
    del job["signs"][0]["braille"]["cells"]
    charged = priced(job)
    assert charged.total is None
    (line,) = charged.unpriced
    assert (line.kind, line.amount) == ("dots", None)
    free = priced(job, dot=0)
    (line,) = (line for line in free.lines if line.kind == "dots")
    assert (line.amount, line.price, line.unpriced) == (None, Decimal("0.00"), None)
    assert free.missing == charged.missing == ("signs.room.braille.cells",)
    assert free.total == priced(dot=0).total
    SCHEMA.validate(free.to_dict())
    assert "unknown" in estimate_text(free)


@pytest.mark.parametrize("form", ["text", "json"])
def test_what_is_asked_for_a_spreadsheet_is_not_passed_over_in_another_format(
    tmp_path, capsys, monkeypatch, form
):
    monkeypatch.chdir(tmp_path)
    write_job(job_from_dict(timed_job()), "job.toml")
    assert main(["estimate", "job.toml", "--format", form, "--spreadsheet", "german"]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err == f"--spreadsheet german: found --format {form}, expected csv\n"


def test_sizes_of_sheets_are_told_to_a_tenth_of_a_micrometre():
    job = sign_job(standards=[], signs=[])
    job["printer"]["bed"] = [1_000_000, 5_000]
    del job["passes"][1]["builds"]
    job["media"] = [{"id": "panel", "thickness": "3.1234 mm", "size": [1_000_000, "1219.255 mm"]}]
    (note,) = (
        line.note for line in estimate(evaluate(job_from_dict(job))).lines if line.kind == "sheets"
    )
    assert note == "material not stated, 3.1234 mm, 1000000 x 1219.255 mm"


def test_the_command_without_a_plan(tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    job = timed_job()
    for item in job["passes"]:
        item["gap"] = {"extra": 0, "above": "media"}
    job["passes"][0]["after"] = ["dots"]
    write_job(job_from_dict(job), "job.toml")
    assert main(["estimate", "job.toml"]) == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert err


def test_a_rate_table_that_is_written_and_read_again_is_the_same():
    rates = rates_from_dict(RATES | {"markup": "12.5 %", "sheet": {"panel": "1e-7"}})
    written = write_table(rates)
    assert written["sheet"] == {"panel": "0.0000001"}
    assert rates_from_dict({"signrules_rates": 1, **written}) == rates


def test_the_invented_rates_are_sound_toml():
    assert rates_from_dict(tomllib.loads(to_toml(RATES), parse_float=Decimal)) == rates_from_dict(
        RATES
    )


@pytest.mark.parametrize(
    ("table", "path", "found"),
    [
        ([1], "", "[1]"),
        (
            {"signrules_rates": 1, "currency": "EUR", "minute": {1: "2"}},
            "minute.1",
            "an unknown key",
        ),
        ({"signrules_rates": 1, "currency": "EUR", "fixed": [3]}, "fixed[0]", "3"),
        ({"signrules_rates": 1, "currency": "EUR", "ink": {1: "2"}}, "ink", "the key 1"),
    ],
)
def test_what_is_no_rate_table(table, path, found):
    with pytest.raises(RatesError) as caught:
        rates_from_dict(table)
    assert (path, found) in [(fault.path, fault.found) for fault in caught.value.faults]


def test_a_total_without_a_markup_is_the_sum():
    rates = {key: value for key, value in RATES.items() if key not in ("markup", "minimum")}
    found = estimate(SIMPLE, rates_from_dict(rates))
    assert found.total == found.so_far > 0
    told = estimate_text(found).splitlines()
    assert told[-2:] == [f"Sum: {found.so_far} EUR", f"Total: {found.total} EUR"]


def test_without_a_markup_none_is_told_and_without_rates_no_sum():
    result = evaluate(job_from_dict(sign_job()))
    bare = {
        "signrules_rates": 1,
        "currency": "EUR",
        "fixed": [{"name": "proofreading", "price": "12.50"}],
    }
    priced = estimate(result, rates_from_dict(bare))
    assert "Markup" not in estimate_text(priced)
    counted = [
        row for row in csv.reader(io.StringIO(estimate_csv(estimate(result)))) if row[0] == "sum"
    ]
    assert counted == []
