"""What each publication asks for, entered once more by hand from its text or from the report named
in the row.
"""

from __future__ import annotations

import pytest

from signrules.standards.dimension_tables import builtin_standards

TABLES = {standard.id: standard for standard in builtin_standards()}
READ, HEARD, MEMORY = "read", "second hand", "from memory"

PROPOSED = "contrast of visual characters (a proposal; {} has no such figure)"

# Table, quantity, clause, least, most, of what, standing.
LIMITS = [
    # California Building Code, chapter 11B, 2013 to 2019; a city guide and a fire department for
    # what is second hand.
    ("us-ca-cbc-11b", "raised.width", "11B-703.2.4", "60 %", "110 %", "raised.height", HEARD),
    ("us-ca-cbc-11b", "raised.stroke", "11B-703.2.6", None, "15 %", "raised.height", HEARD),
    # The exception of 11B-703.5 lets characters that meet 703.2 off all but 11B-703.5.7: 10 % at
    # least.
    (
        "us-ca-cbc-11b",
        "raised.stroke",
        "11B-703.5, exception, and 11B-703.5.7",
        "10 %",
        None,
        "raised.height",
        HEARD,
    ),
    ("us-ca-cbc-11b", "raised.spacing", "11B-703.2.7", "1/8 in", None, None, READ),
    ("us-ca-cbc-11b", "raised.spacing", "11B-703.2.7", None, "4 strokes", "raised.stroke", READ),
    ("us-ca-cbc-11b", "raised.clear_space", "11B-703.2.7", "3/8 in", None, None, READ),
    (
        "us-ca-cbc-11b",
        "raised.line_spacing",
        "11B-703.2.8",
        "135 %",
        "170 %",
        "raised.height",
        READ,
    ),
    (
        "us-ca-cbc-11b",
        "braille.dot_diameter",
        "Table 11B-703.3.1",
        "0.059 in",
        "0.063 in",
        None,
        READ,
    ),
    (
        "us-ca-cbc-11b",
        "braille.dot_spacing",
        "Table 11B-703.3.1",
        "0.100 in",
        "0.100 in",
        None,
        READ,
    ),
    (
        "us-ca-cbc-11b",
        "braille.cell_spacing",
        "Table 11B-703.3.1",
        "0.300 in",
        "0.300 in",
        None,
        READ,
    ),
    (
        "us-ca-cbc-11b",
        "braille.dot_height",
        "Table 11B-703.3.1",
        "0.025 in",
        "0.037 in",
        None,
        READ,
    ),
    (
        "us-ca-cbc-11b",
        "braille.line_spacing",
        "Table 11B-703.3.1",
        "0.395 in",
        "0.400 in",
        None,
        READ,
    ),
    ("us-ca-cbc-11b", "braille.below_text", "1117B.5.5 item 4", "3/8 in", "1/2 in", None, READ),
    ("us-ca-cbc-11b", "mounting.lowest_tactile", "11B-703.4.1", "48 in", None, None, HEARD),
    ("us-ca-cbc-11b", "mounting.highest_tactile", "11B-703.4.1", None, "60 in", None, HEARD),
    ("us-ca-cbc-11b", "visual.stroke", "11B-703.5.7", "10 %", "20 %", "visual.height", HEARD),
    ("us-ca-cbc-11b", "pictogram.field_height", "11B-703.6.1", "6 in", None, None, READ),
    # Signage specification of Australia's braille authority.
    ("au-aba", "braille.dot_spacing", "dimensions", "2.3 mm", "2.5 mm", None, READ),
    ("au-aba", "braille.cell_spacing", "dimensions", "6.0 mm", "7.0 mm", None, READ),
    ("au-aba", "braille.line_spacing", "dimensions", "10.0 mm", "11.0 mm", None, READ),
    ("au-aba", "braille.dot_diameter", "dimensions", "1.5 mm", "1.6 mm", None, READ),
    ("au-aba", "braille.dot_height", "dimensions", "0.6 mm", "0.9 mm", None, READ),
    ("au-aba", "braille.dome_radius", "dimensions", "0.76 mm", "0.81 mm", None, READ),
    ("au-aba", "braille.spread", "internal consistency", None, "1 %", None, READ),
    # National Construction Code of Australia, Specification 15: access consultants' list and a
    # quotation of its head.
    ("au-ncc-s15", "raised.depth", "S15C3", "1.0 mm", "1.5 mm", None, HEARD),
    ("au-ncc-s15", "raised.height", "S15C3", "15 mm", "55 mm", None, HEARD),
    ("au-ncc-s15", "raised.spacing", "S15C3", "2 mm", None, None, HEARD),
    ("au-ncc-s15", "raised.word_spacing", "S15C3", "10 mm", None, None, HEARD),
    ("au-ncc-s15", "raised.stroke", "S15C3", "2 mm", "7 mm", None, HEARD),
    ("au-ncc-s15", "braille.below_text", "S15C6", "8 mm", None, None, HEARD),
    ("au-ncc-s15", "mounting.lowest_part", "S15C2(a)", "1200 mm", None, None, HEARD),
    ("au-ncc-s15", "mounting.highest_part", "S15C2(a)", None, "1600 mm", None, HEARD),
    # Norway: 1.5 mm and 10 mm, each 0.1 mm either way.
    ("no-signs", "braille.dot_diameter", "braille", "1.4 mm", "1.6 mm", None, READ),
    ("no-signs", "braille.dot_spacing", "braille", "2.5 mm", "2.5 mm", None, READ),
    ("no-signs", "braille.cell_spacing", "braille", "6.1 mm", "6.1 mm", None, READ),
    ("no-signs", "braille.line_spacing", "braille", "9.9 mm", "10.1 mm", None, READ),
    ("no-signs", "braille.dot_height", "signs", "0.6 mm", None, None, HEARD),
    ("no-signs", "raised.depth", "signs", "1 mm", None, None, HEARD),
    ("no-signs", "raised.height", "signs", "25 mm", None, None, READ),
    ("no-signs", "pictogram.field_height", "signs", "150 mm", None, None, READ),
    ("no-signs", "pictogram.field_width", "signs", "150 mm", None, None, READ),
    ("no-signs", "mounting.centre", "signs", "1500 mm", "1500 mm", None, HEARD),
    # Denmark, guidelines 4.3.1 and 4.3.6.
    ("dk-tibs", "raised.depth", "4.3.1", "0.8 mm", None, None, READ),
    ("dk-tibs", "raised.height", "4.3.1", "16 mm", "50 mm", None, READ),
    ("dk-tibs", "pictogram.field_height", "4.3.1", "152 mm", None, None, READ),
    ("dk-tibs", "pictogram.field_width", "4.3.1", "152 mm", None, None, READ),
    ("dk-tibs", "surface.gloss", "4.3.1", None, "40 GU", None, READ),
    ("dk-tibs", "mounting.highest_braille", "4.3.6", None, "1600 mm", None, READ),
    # DIN 32976, large print, as guideline RS 0725 quotes it.
    ("de-din-32976", "braille.dot_spacing", "3.2.2", "2.7 mm", "2.7 mm", None, HEARD),
    ("de-din-32976", "braille.cell_spacing", "3.2.2", "6.6 mm", "6.6 mm", None, HEARD),
    ("de-din-32976", "braille.line_spacing", "3.2.2", "10.8 mm", None, None, HEARD),
    ("de-din-32976", "braille.dot_height", "3.3", "0.5 mm", "0.7 mm", None, HEARD),
    # Czech Republic: 0.5 mm by 5 %, 2.5 mm by 4 %, 6.0 mm by 10 %, 10.1 mm by 9 % either way.
    ("cz-sons", "braille.dot_diameter", "braille in buildings", "1.6 mm", "1.6 mm", None, READ),
    ("cz-sons", "braille.dot_height", "braille in buildings", "0.475 mm", "0.525 mm", None, READ),
    ("cz-sons", "braille.dot_spacing", "braille in buildings", "2.4 mm", "2.6 mm", None, READ),
    ("cz-sons", "braille.cell_spacing", "braille in buildings", "5.4 mm", "6.6 mm", None, READ),
    (
        "cz-sons",
        "braille.line_spacing",
        "braille in buildings",
        "9.191 mm",
        "11.009 mm",
        None,
        READ,
    ),
    # ADA Accessibility Guidelines of 1991, section 4.30: 3:5 to 1:1, 1:10 to 1:5.
    ("us-adaag-1991", "raised.depth", "4.30.4", "1/32 in", None, None, READ),
    ("us-adaag-1991", "raised.height", "4.30.4", "5/8 in", "2 in", None, READ),
    ("us-adaag-1991", "visual.width", "4.30.2", "60 %", "100 %", "visual.height", READ),
    ("us-adaag-1991", "visual.stroke", "4.30.2", "10 %", "20 %", "visual.height", READ),
    ("us-adaag-1991", "pictogram.field_height", "4.30.4", "6 in", None, None, READ),
    ("us-adaag-1991", "mounting.centre", "4.30.6", "60 in", "60 in", None, MEMORY),
    # Proposals for ICC A117.1, 2015 to 2017, as a trade association reports them.
    (
        "us-adaag-1991",
        "surface.lighter_lrv",
        PROPOSED.format("the guideline"),
        "45 LRV",
        None,
        None,
        HEARD,
    ),
    ("us-adaag-1991", "surface.contrast", "appendix A4.30.5 (advisory)", "70 %", None, None, HEARD),
]
# Table, quantity, clause, words, standing.
CHOICES = [
    ("us-ca-cbc-11b", "braille.grade", "11B-703.3", ("contracted",), READ),
    ("us-ca-cbc-11b", "braille.shape", "11B-703.3.1", ("domed", "rounded"), READ),
    ("us-ca-cbc-11b", "surface.finish", "11B-703.5.1", ("matte", "eggshell"), READ),
    ("us-ca-cbc-11b", "scope.tactile", "11B-216.2", ("permanent-room",), READ),
    ("us-ca-cbc-11b", "scope.tactile", "216.4.1", ("exit-door",), MEMORY),
    ("us-ca-cbc-11b", "scope.tactile", "11B-407.4.7", ("car-control",), READ),
    (
        "us-ca-cbc-11b",
        "braille.capitals",
        "11B-703.3.1",
        ("sentence", "name", "letter", "acronym"),
        READ,
    ),
    ("us-ca-cbc-11b", "surface.polarity", "11B-703.5.1", ("light on dark", "dark on light"), READ),
    ("us-adaag-1991", "surface.polarity", "4.30.5", ("light on dark", "dark on light"), READ),
    ("au-ncc-s15", "braille.shape", "S15C6", ("domed",), HEARD),
    ("au-ncc-s15", "surface.finish", "S15C3", ("matte", "eggshell"), HEARD),
    ("no-signs", "braille.shape", "braille", ("rounded", "domed"), READ),
    ("no-signs", "surface.finish", "signs", ("matte",), HEARD),
    ("dk-tibs", "braille.grade", "4.3.6", ("uncontracted",), READ),
    ("dk-tibs", "surface.finish", "4.3.1", ("matte",), READ),
    ("de-din-32976", "braille.shape", "RS 0725", ("domed", "rounded"), HEARD),
    ("de-din-32976", "braille.grade", "RS 0725", ("uncontracted",), HEARD),
    ("us-ca-cbc-11b", "braille.position", "11B-703.3.2", ("below",), READ),
    ("au-ncc-s15", "braille.position", "S15C6", ("below",), HEARD),
    ("no-signs", "braille.position", "signs", ("below",), HEARD),
    ("us-adaag-1991", "raised.case", "4.30.4", ("upper",), READ),
    ("us-adaag-1991", "raised.style", "4.30.4", ("sans-serif", "serif"), READ),
    ("us-adaag-1991", "braille.grade", "4.30.4", ("contracted",), READ),
    ("us-adaag-1991", "surface.finish", "4.30.5", ("matte", "eggshell"), READ),
]


@pytest.mark.parametrize(("table", "quantity", "clause", "least", "most", "of", "standing"), LIMITS)
def test_each_published_limit_is_a_row(table, quantity, clause, least, most, of, standing):
    (row,) = [
        row for row in TABLES[table].rows_for(quantity) if (row.of, row.clause) == (of, clause)
    ]
    texts = tuple(None if bound is None else bound.text for bound in (row.least, row.most))
    assert (*texts, row.standing) == (least, most, standing)


@pytest.mark.parametrize(("table", "quantity", "clause", "words", "standing"), CHOICES)
def test_each_published_choice_is_a_row(table, quantity, clause, words, standing):
    (row,) = [row for row in TABLES[table].rows_for(quantity) if row.clause == clause]
    assert (row.words, row.standing) == (words, standing)


@pytest.mark.parametrize("table", sorted(TABLES.keys() - {"us-ada-2010"}))
def test_nothing_else_is_in_a_table(table):
    assert len(TABLES[table].rows) == sum(entry[0] == table for entry in (*LIMITS, *CHOICES))


def test_the_legacy_table_says_so():
    legacy = TABLES["us-adaag-1991"]
    assert "legacy" in legacy.title
    assert any("superseded" in note for note in legacy.notes)


def test_what_is_advisory_stops_no_job():
    weak = {
        (table.id, row.quantity)
        for table in TABLES.values()
        for row in table.rows
        if row.level != "STOP"
    }
    contrast = {
        (table, f"surface.{name}") for table in ADVISING for name in ("contrast", "lighter_lrv")
    }
    capitals = {("us-ada-2010", "braille.capitals")}
    rest = {
        ("us-ca-cbc-11b", "braille.below_text"),
        ("us-ca-cbc-11b", "raised.stroke"),
        ("us-adaag-1991", "mounting.centre"),
    }
    assert weak - capitals == contrast | rest


ADVISING = ("us-ada-2010", "us-adaag-1991")


def test_what_is_from_memory_is_known_by_name():
    from_memory = {
        (table.id, row.clause)
        for table in TABLES.values()
        for row in table.rows
        if row.standing == MEMORY
    }
    assert from_memory == {
        ("us-ada-2010", "216.4.1"),
        ("us-ca-cbc-11b", "216.4.1"),
        ("us-adaag-1991", "4.30.6"),
    }
