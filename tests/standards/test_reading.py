"""Tables that are malformed are refused with file and row."""

from __future__ import annotations

from fractions import Fraction

import pytest

from signrules import load_plugins
from signrules.errors import SignrulesError
from signrules.standards.dimension_tables import TableError, load_standard, read_standard
from signrules.standards.written_numbers import read_number

HEAD = 'id = "x"\ntitle = "X"\npublisher = "P"\nunit = "in"\n'
KEYS = 'clause = "1"\nsource = "s"\nstanding = "read"\n'
GOOD = f'[[rows]]\nquantity = "raised.depth"\nleast = "1/32 in"\n{KEYS}'


def row(text: str) -> str:
    return f"[[rows]]\n{text}\n{KEYS}"


def test_a_file_is_read(tmp_path):
    path = tmp_path / "x.toml"
    path.write_text(HEAD + GOOD, encoding="utf-8")
    standard = load_standard(path)
    assert (standard.id, standard.title, standard.publisher, standard.unit) == ("x", "X", "P", "in")
    assert standard.rows[0].least.value == Fraction(254, 320)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ('quantity = "raised.dept"\nleast = "1 in"', "'raised.depth' perhaps"),
        ('quantity = "raised.depth"\nlest = "1 in"', "'least' perhaps"),
        ('quantity = "raised.depth"', "no limit"),
        ('quantity = "raised.depth"\nleast = 3', "expected text"),
        ('quantity = "raised.depth"\nleast = "wide"', "expected a number"),
        ('quantity = "raised.depth"\nleast = "1/0 in"', "zero parts"),
        ('quantity = "raised.depth"\nleast = "3 mm"', "length in in or ft"),
        ('quantity = "raised.depth"\nleast = "3 %"', "length in in or ft"),
        ('quantity = "raised.depth"\nleast = "2 in"\nmost = "1 in"', "above most"),
        ('quantity = "raised.depth"\nleast_printed = "2 mm"', "without least"),
        (
            'quantity = "raised.depth"\nleast = "2 in"\nleast_printed = "2 in"',
            "expected mm beside a length",
        ),
        ('quantity = "raised.depth"\nwords = ["upper"]', "expected a limit in numbers"),
        ('quantity = "raised.case"\nleast = "1 in"', "expected words"),
        ('quantity = "raised.case"\nwords = [1]', "list of words"),
        ('quantity = "raised.stroke"\nmost = "15 %"\nof = "raised.stroke"', "another quantity"),
        (
            'quantity = "raised.stroke"\nmost = "15 in"\nof = "raised.height"',
            "a share or a multiple",
        ),
        (
            'quantity = "raised.stroke"\nleast = "1 strokes"\nmost = "15 %"\nof = "raised.height"',
            "same unit",
        ),
        (
            'quantity = "raised.stroke"\nmost = "15 %"\nof = "raised.case"',
            "of: found 'raised.case'",
        ),
        ('quantity = "surface.contrast"\nleast = "1 in"', "unit of a contrast"),
        ('quantity = "raised.depth"\nleast = "1 in"\nlevel = "HALT"', "level: found 'HALT'"),
        (
            'quantity = "visual.height"\nbands = [{ base = "1 in", distance = "72 in" }]',
            "bands and per_foot",
        ),
        (
            'quantity = "visual.height"\nper_foot = "1 in"\nbands = [{ base = "1 in" }]',
            "distance: found nothing",
        ),
        ('quantity = "visual.height"\nper_foot = "1 in"\nbands = 3', "list of tables"),
        (
            (
                'quantity = "visual.height"\nper_foot = "1 in"\n'
                'bands = [{ up_to = "9 in", base = "1 in", distance = "1 in" }]'
            ),
            "none in the last band",
        ),
        (
            (
                'quantity = "raised.height"\nper_foot = "1 in"\nbands = [{ base = "1 in", distance'
                ' = "1 in" }]'
            ),
            "quantity of a row with bands",
        ),
    ],
)
def test_a_malformed_row_is_refused_with_file_and_row(text, problem):
    with pytest.raises(TableError) as caught:
        read_standard(HEAD + GOOD + row(text), "x.toml")
    error = caught.value
    assert isinstance(error, SignrulesError)
    assert (error.file, error.row) == ("x.toml", 2)
    assert str(error).startswith("x.toml, row 2: ")
    assert problem in str(error)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        ("id = ", "not TOML"),
        (HEAD, "no rows"),
        (HEAD + "rows = []", "no rows"),
        (HEAD.replace('"in"', '"ell"') + GOOD, "unit: found 'ell'"),
        (HEAD.replace("publisher", "publishr") + GOOD, "'publisher' perhaps"),
        (HEAD.replace('title = "X"\n', "") + GOOD, "title: found nothing"),
    ],
)
def test_a_malformed_table_is_refused_with_its_file(text, problem):
    with pytest.raises(TableError) as caught:
        read_standard(text, "x.toml")
    assert (caught.value.file, caught.value.row) == ("x.toml", None)
    assert problem in str(caught.value)


def test_a_row_that_is_no_table_is_refused():
    with pytest.raises(TableError, match="row 1: found 3"):
        read_standard(HEAD + "rows = [3]", "x.toml")


@pytest.mark.parametrize("key", ["quantity", "clause", "source", "standing"])
def test_a_row_must_say_what_where_and_how_it_is_known(key):
    lines = [line for line in GOOD.splitlines() if not line.startswith(key)]
    with pytest.raises(TableError, match=f"row 1: {key}: found nothing"):
        read_standard(HEAD + "\n".join(lines), "x.toml")


def test_a_file_that_is_not_there_or_no_text_is_refused(tmp_path):
    with pytest.raises(TableError, match="cannot be read"):
        load_standard(tmp_path / "none.toml")
    path = tmp_path / "bytes.toml"
    path.write_bytes(b"\xff\xfe")
    with pytest.raises(TableError, match="cannot be read"):
        load_standard(path)


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("0.241 in", Fraction(61214, 10000), "mm"),
        ("5/8 in", Fraction(15875, 1000), "mm"),
        ("1 1/4 in", Fraction(3175, 100), "mm"),
        ("21 ft", Fraction(64008, 10), "mm"),
        ("6.1 mm", Fraction(61, 10), "mm"),
        ("15 %", Fraction(15), "%"),
        ("4 strokes", Fraction(4), "strokes"),
    ],
)
def test_numbers_are_read_exactly(text, value, unit):
    written = read_number(text)
    assert (written.text, written.value, written.unit) == (text, value, unit)


@pytest.mark.parametrize(
    "text", ["", "3", "3mm", "-1 in", "1e3 in", "nan in", "١ in", "1 / 2 in", "1/0 in", " 1 in"]
)
def test_other_texts_are_no_numbers(text):
    with pytest.raises(ValueError, match="found"):
        read_number(text)


def test_the_kind_of_a_row_is_what_it_limits_by():
    kinds = {row.kind for standard in load_plugins().standards.values() for row in standard.rows}
    assert kinds == {"words", "bands", "ratio", "range"}
