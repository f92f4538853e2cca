"""From plain data to a job: what is read, and how every fault is named."""

from __future__ import annotations

import copy
import datetime
import tomllib
from types import SimpleNamespace
from typing import Any

import pytest
from documents.samples import FULL_TOML, MISSING, SMALL, changed, nested
from scenario import sign_job

import signrules
from signrules.documents import job_from_dict, table_reader
from signrules.errors import JobError
from signrules.model import Area, Dial, Gap, Ink, Interval, Spacers
from signrules.model.declared import declared_fields


def faults_of(document: Any, **options: Any) -> dict[str, str]:
    """What is expected at each path of a document with faults."""
    with pytest.raises(JobError) as caught:
        job_from_dict(document, **options)
    for fault in caught.value.faults:
        assert 0 < len(fault.found) <= 250
        assert fault.expected
    return {fault.path: fault.expected for fault in caught.value.faults}


def test_every_key_is_read() -> None:
    job = job_from_dict(tomllib.loads(FULL_TOML))
    assert job.name == "Lighthouse museum, stairs"
    assert job.sequence == ("base", "bumps", "tint", "turn", "wait")
    assert job.standards == ("us-ada-2010",)
    assert (job.registration_tolerance, job.temperature) == (0.2, 20.0)
    printer = job.printer
    assert printer.bed == (500.0, 508.0)
    assert printer.base_gap == Interval(1.4, 1.5, 1.6)
    assert printer.gap == Dial(4.0, 0.1)
    assert (printer.carriage_speed, printer.drop_speed, printer.resolution) == (
        800.0,
        6500.0,
        720.0,
    )
    assert printer.locating == (("pins", 0.08), ("stops", 0.4))
    assert (printer.minutes.load, printer.minutes.gap, printer.minutes.alignment) == (
        3.0,
        1.5,
        10.0,
    )
    (plate,) = job.media
    assert plate.thickness == Interval(3.75, 4.0, 4.25)
    assert plate.up == "back"
    assert (plate.at, plate.load, plate.hold, plate.bow) == (
        (20.0, 30.0),
        "A",
        "tape",
        Interval.exact(0.1),
    )
    base, bumps, tint = job.passes
    assert base.gap == Gap(Interval.exact(0.1), "media")
    assert (bumps.gap, bumps.layers, bumps.coverage, bumps.builds) == (
        None,
        22,
        0.25,
        ("stairs.braille",),
    )
    assert bumps.areas == (Area(20.0, 30.0, 60.0, 8.0), Area(20.0, 60.0, 60.0, 8.0))
    assert tint.gap == Gap(Interval.exact(0.5), "build-up")
    assert (tint.directions, tint.crisp_on, tint.sheet_temperature) == (1, "highest", 33.0)
    assert (tint.over, tint.after, tint.registers_to) == (("bumps",), ("base",), ("base",))
    assert [(item.does, item.locates_by) for item in job.handling] == [
        ("flip", "pins"),
        ("pause", None),
    ]
    (sign,) = job.signs
    assert sign.text == ("STAIRS", "up")
    assert sign.braille is not None
    assert sign.braille.cells == "\u280e\u281e \u2801"
    assert sign.pictogram is not None
    assert sign.pictogram.field_height == Interval.exact(152.4)
    assert sign.measured is not None
    assert sign.measured.dot_height == (0.66, 0.7)
    assert job.waivers[0].until == datetime.date(2027, 2, 28)
    assert job.alignments[0].extra == -0.2


def test_what_is_left_out_takes_its_default() -> None:
    job = job_from_dict(SMALL)
    first = job.passes[0]
    assert (first.layers, first.coverage, first.directions, first.side) == (1, 1.0, 2, "front")
    assert (first.gap, first.crisp_on, first.media, first.registers_to) == (
        None,
        "lowest",
        None,
        None,
    )
    assert (job.media[0].at, job.media[0].bow) == ((0.0, 0.0), Interval.exact(0.0))
    assert (job.temperature, job.standards, job.sequence) == (22.0, (), None)
    assert job.passes[1].gap == Gap(Interval.exact(1.0), "media")
    assert job.printer.gap == Spacers((0.5, 1.0))


LONG = "x" * 201
BAD: list[tuple[tuple[str | int, ...], object, str]] = [
    # the document itself
    (("signrules",), MISSING, "signrules"),
    (("signrules",), 2, "signrules"),
    (("signrules",), True, "signrules"),
    (("signrules",), "1", "signrules"),
    (("sines",), [], "sines"),
    (("name",), 3, "name"),
    (("temperature",), "22", "temperature"),
    (("temperature",), -51, "temperature"),
    (("temperature",), float("nan"), "temperature"),
    (("registration_tolerance",), 0, "registration_tolerance"),
    (("registration_tolerance",), "1 mm +- 0.1 mm", "registration_tolerance"),
    (("standards",), "us-ada-2010", "standards"),
    (("standards",), [1], "standards[0]"),
    # what is required
    (("printer",), MISSING, "printer"),
    (("media",), MISSING, "media"),
    (("inks",), MISSING, "inks"),
    (("passes",), MISSING, "passes"),
    (("media",), [], "media"),
    (("inks",), [], "inks"),
    (("passes",), [], "passes"),
    (("passes",), {}, "passes"),
    (("printer", "bed"), MISSING, "printer.bed"),
    (("printer", "drop_speed"), MISSING, "printer.drop_speed"),
    (("printer", "gap"), MISSING, "printer.gap"),
    (("media", 0, "id"), MISSING, "media[0].id"),
    (("media", 0, "thickness"), MISSING, "media[0].thickness"),
    (("inks", 0, "layer"), MISSING, "inks[0].layer"),
    (("passes", 0, "ink"), MISSING, "passes[0].ink"),
    (("handling", 0, "does"), MISSING, "handling[0].does"),
    (("waivers", 0, "by"), MISSING, "waivers[0].by"),
    (("alignments", 0, "extra"), MISSING, "alignments[0].extra"),
    (("passes", 1, "gap", "extra"), MISSING, "passes[1].gap.extra"),
    # the printer
    (("printer",), [], "printer"),
    (("printer", "bed"), [400], "printer.bed"),
    (("printer", "bed"), ["400 mm +- 1 mm", 300], "printer.bed[0]"),
    (("printer", "bed"), [400, 0], "printer.bed[1]"),
    (("printer", "base_gap"), "-1 .. 1 mm", "printer.base_gap"),
    (("printer", "min_clearance"), -1, "printer.min_clearance"),
    (("printer", "head_length"), 0, "printer.head_length"),
    (("printer", "carriage_speed"), 800, "printer.carriage_speed"),
    (("printer", "max_throw"), 0, "printer.max_throw"),
    (("printer", "resolution"), 0, "printer.resolution"),
    (("printer", "resolution"), "600", "printer.resolution"),
    (("printer", "landing_tolerance"), 0, "printer.landing_tolerance"),
    (("printer", "gap"), "spacers", "printer.gap"),
    (("printer", "gap"), {}, "printer.gap.control"),
    (("printer", "gap", "control"), "lever", "printer.gap.control"),
    (("printer", "gap", "control"), ["dial"], "printer.gap.control"),
    (("printer", "gap", "spacers", 1), "1", "printer.gap.spacers[1]"),
    (("printer", "gap", "spacers", 1), -1, "printer.gap.spacers[1]"),
    (("printer", "gap", "spacer"), [], "printer.gap.spacer"),
    (("printer", "gap"), {"control": "dial", "max": 5}, "printer.gap.step"),
    (("printer", "gap"), {"control": "dial", "max": 5, "step": 0}, "printer.gap.step"),
    (("printer", "gap"), {"control": "dial", "max": 10, "step": "0.9 um"}, "printer.gap.step"),
    (("printer", "locating"), ["pins"], "printer.locating"),
    (("printer", "locating"), {"pins": "0.1"}, "printer.locating.pins"),
    (("printer", "locating"), {"pins": -1}, "printer.locating.pins"),
    (("printer", "minutes"), {"load": -1}, "printer.minutes.load"),
    (("printer", "minutes"), {"lode": 1}, "printer.minutes.lode"),
    (("printer", "use"), "bench", "printer.use"),
    # media and inks
    (("media", 0, "id"), "", "media[0].id"),
    (("media", 0, "id"), 7, "media[0].id"),
    (("media", 0, "id"), LONG, "media[0].id"),
    (("media", 0, "id"), "a.b", "media[0].id"),
    (("media", 0, "id"), "a[0]", "media[0].id"),
    (("media", 0, "id"), "a\nb", "media[0].id"),
    (("media", 0, "id"), "\ud800", "media[0].id"),
    (("media", 0, "thickness"), 0, "media[0].thickness"),
    (("media", 0, "thickness"), "1 mm +- 1 mm", "media[0].thickness"),
    (("media", 0, "size"), [100, -1], "media[0].size[1]"),
    (("media", 0, "size"), [400.1, 100], "media[0].at"),
    (("media", 0, "at"), [-1, 0], "media[0].at"),
    (("media", 0, "at"), [0, 0, 0], "media[0].at"),
    (("media", 0, "bow"), -0.1, "media[0].bow"),
    (("media", 0, "hold"), "glue", "media[0].hold"),
    (("media", 0, "load"), 1, "media[0].load"),
    (("media", 0, "up"), "bottom", "media[0].up"),
    (("media", 1), {"id": "b", "thickness": 1, "size": [50, 50], "at": [99, 99]}, "media[1].at"),
    (
        ("media", 1),
        {"id": "plate", "thickness": 1, "size": [50, 50], "at": [200, 0]},
        "media[1].id",
    ),
    (
        ("media", 1),
        {"id": "b", "thickness": 1, "size": [50, 50], "at": [200, 0]},
        "passes[0].media",
    ),
    (("media", 1), {"id": "b", "thickness": 1, "size": [50, 50], "at": [200, 0]}, "signs[0].media"),
    (
        ("media", 1),
        {"id": "b", "thickness": 1, "size": [50, 50], "at": [200, 0]},
        "handling[0].media",
    ),
    (("inks", 0, "layer"), "0 mm", "inks[0].layer"),
    (("inks", 0, "layer"), 5e-324, "inks[0].layer"),
    (("inks", 0, "layer"), "0.00009 .. 0.03 mm", "inks[0].layer"),
    (("media", 0, "thickness"), 5e-324, "media[0].thickness"),
    (("printer", "head_length"), 5e-324, "printer.head_length"),
    (("printer", "landing_tolerance"), 5e-324, "printer.landing_tolerance"),
    (("printer", "max_throw"), 5e-324, "printer.max_throw"),
    (("inks", 0, "role"), "varnish", "inks[0].role"),
    (("inks", 1), "blue", "inks[1].use"),
    # passes
    (("passes", 2, "areas"), [], "passes[2].areas"),
    (("passes", 2, "areas"), [[0, 0, 1]], "passes[2].areas[0]"),
    (("passes", 2, "areas"), [[0, 0, "x", 1]], "passes[2].areas[0][2]"),
    (("passes", 2, "areas"), [[0, 0, 0, 1]], "passes[2].areas[0]"),
    (("passes", 2, "areas"), [[60, 0, 41, 1]], "passes[2].areas[0]"),
    (("passes", 2, "areas"), [[0, -1, 1, 1]], "passes[2].areas[0]"),
    (("passes", 0, "layers"), 0, "passes[0].layers"),
    (("passes", 0, "layers"), 3.9, "passes[0].layers"),
    (("passes", 0, "layers"), 3.0, "passes[0].layers"),
    (("passes", 0, "layers"), True, "passes[0].layers"),
    (("passes", 0, "layers"), "15", "passes[0].layers"),
    (("passes", 0, "layers"), 100_001, "passes[0].layers"),
    (("passes", 0, "layers"), 10**5000, "passes[0].layers"),
    (("passes", 0, "coverage"), 0, "passes[0].coverage"),
    (("passes", 0, "coverage"), 1.01, "passes[0].coverage"),
    (("passes", 0, "coverage"), float("inf"), "passes[0].coverage"),
    (("passes", 0, "directions"), 3, "passes[0].directions"),
    (("passes", 0, "directions"), 2.0, "passes[0].directions"),
    (("passes", 0, "side"), "top", "passes[0].side"),
    (("passes", 0, "crisp_on"), "middle", "passes[0].crisp_on"),
    (("passes", 0, "sheet_temperature"), 301, "passes[0].sheet_temperature"),
    (("passes", 0, "gap"), "automatic", "passes[0].gap"),
    (("passes", 0, "gap"), 1, "passes[0].gap"),
    (("passes", 1, "gap", "above"), "floor", "passes[1].gap.above"),
    (("passes", 1, "gap", "extra"), "-0.1 mm", "passes[1].gap.extra"),
    (("passes", 1, "gap", "reference"), "media", "passes[1].gap.reference"),
    (("passes", 1, "gap"), {"extra": 1, "head_above_bed": 2}, "passes[1].gap.head_above_bed"),
    (("passes", 0, "ink"), "claer", "passes[0].ink"),
    (("passes", 0, "media"), "plait", "passes[0].media"),
    (("passes", 2, "over"), ["two", "too"], "passes[2].over[1]"),
    (("passes", 2, "over"), "two", "passes[2].over"),
    (("passes", 2, "after"), ["nowhere"], "passes[2].after[0]"),
    (("passes", 2, "registers_to"), ["turn"], "passes[2].registers_to[0]"),
    (("passes", 2, "builds"), "door", "passes[2].builds"),
    (("passes", 2, "builds"), "door.handle", "passes[2].builds"),
    (("passes", 2, "builds"), "gate.braille", "passes[2].builds"),
    (("passes", 2, "side"), "back", "passes[2].over[0]"),
    (("passes", 1, "id"), "one", "passes[1].id"),
    (("passes", 0, "after"), ["three"], "passes[0]"),
    (("passes", 0, "after"), ["turn"], "passes[0]"),
    (("passes", 0, "after"), ["one"], "passes[0]"),
    # handling, signs, the rest
    (("handling", 0, "id"), "one", "handling[0].id"),
    (("handling", 0, "does"), "shake", "handling[0].does"),
    (("handling", 0, "after"), ["fore"], "handling[0].after[0]"),
    (("handling", 0, "media"), "plates", "handling[0].media"),
    (("signs", 0, "media"), "plates", "signs[0].media"),
    (("signs", 0, "text"), "DOOR", "signs[0].text"),
    (("signs", 0, "braille", "dot_diameter"), "1.5", "signs[0].braille.dot_diameter"),
    (("signs", 0, "braille", "dots"), 1, "signs[0].braille.dots"),
    (("signs", 0, "braille", "cells"), "abc", "signs[0].braille.cells"),
    (("signs", 0, "braille"), [], "signs[0].braille"),
    (("signs", 0, "raised"), {"case": "small"}, "signs[0].raised.case"),
    (("signs", 0, "raised"), {"style": "fancy"}, "signs[0].raised.style"),
    (("signs", 0, "surface"), {"finish": "wet"}, "signs[0].surface.finish"),
    (("signs", 0, "surface"), {"character_lrv": 101}, "signs[0].surface.character_lrv"),
    (
        ("signs", 0, "measured"),
        {"dot_height": ["0.6 .. 0.7 mm"]},
        "signs[0].measured.dot_height[0]",
    ),
    (("signs", 0, "measured"), {"depth": 0.8}, "signs[0].measured.depth"),
    (("waivers", 0, "rule"), "", "waivers[0].rule"),
    (("waivers", 0, "subject"), " ", "waivers[0].subject"),
    (("waivers", 0, "reason"), "", "waivers[0].reason"),
    (("waivers", 0, "reason"), " \n", "waivers[0].reason"),
    (("waivers", 0, "by"), "", "waivers[0].by"),
    (("waivers", 0, "by"), "\t", "waivers[0].by"),
    (("waivers", 0, "until"), "31.1.2027", "waivers[0].until"),
    (("waivers", 0, "until"), "2027-02-30", "waivers[0].until"),
    (("waivers", 0, "until"), datetime.datetime(2027, 1, 31), "waivers[0].until"),
    (("alignments", 0, "extra"), "1 mm +- 0.1 mm", "alignments[0].extra"),
    (("sequence",), ["one", "two", "three"], "sequence"),
    (("sequence",), ["one", "two", "three", "turn", "two"], "sequence[4]"),
    (("sequence",), ["one", "two", "three", "turn", "four"], "sequence[4]"),
    (("sequence",), ["one", 2], "sequence[1]"),
]


@pytest.mark.parametrize(
    ("path", "value", "fault"), BAD, ids=[f"{fault}-{n}" for n, (*_, fault) in enumerate(BAD)]
)
def test_a_fault_is_named_by_its_path(
    path: tuple[str | int, ...], value: object, fault: str
) -> None:
    assert fault in faults_of(changed(path, value))


@pytest.mark.parametrize("junk", [None, 1, "text", [], [SMALL], float("nan")])
def test_a_document_must_be_a_table(junk: object) -> None:
    assert list(faults_of(junk)) == [""]


@pytest.mark.parametrize(
    ("path", "value", "fault", "hint"),
    [
        (("passes", 0, "layrs"), 1, "passes[0].layrs", "layers"),
        (("passes", 0, "gap"), True, "passes[0].gap", "'auto'"),
        (("printer", "bedd"), 1, "printer.bedd", "bed"),
        (("pases",), [], "pases", "passes"),
        (("passes", 1, "gap", "from"), "media", "passes[1].gap.from", "the key above"),
        (("signs", 0, "raised"), {"relief": 1}, "signs[0].raised.relief", "the key depth"),
        (("passes", 0, "ink"), "claer", "passes[0].ink", "'clear'"),
        (("passes", 2, "over"), ["tow"], "passes[2].over[0]", "'two'"),
        (("passes", 2, "builds"), "dour.braille", "passes[2].builds", "'door'"),
        (("signrules",), 9, "signrules", "signrules = 1"),
        (("media", 0, "size"), ["1 .. 2 mm", 3], "media[0].size[0]", "without a tolerance"),
    ],
)
def test_the_nearest_known_name_is_suggested(
    path: tuple[str | int, ...], value: object, fault: str, hint: str
) -> None:
    assert hint in faults_of(changed(path, value))[fault]


def test_a_cycle_is_shown_by_its_ids() -> None:
    with pytest.raises(JobError) as caught:
        job_from_dict(changed(("passes", 1, "after"), ["three"]))
    assert [fault.found for fault in caught.value.faults] == ["two -> three -> two"]


def test_every_fault_is_listed_at_once() -> None:
    document = copy.deepcopy(SMALL)
    document["foo"] = 1
    document["printer"]["min_clearance"] = "1"
    document["media"][0]["thickness"] = True
    document["passes"][0] |= {"layers": 0, "layrs": 2, "ink": "claer", "areas": [[0, 0, 0, 1], [0]]}
    document["passes"][1]["gap"] = {"extra": -1, "above": "floor"}
    document["passes"][2]["over"] = ["two", "tow"]
    document["signs"][0]["braille"]["dot_diameter"] = "x"
    document["sequence"] = ["one", "one"]
    assert set(faults_of(document)) == {
        "foo",
        "printer.min_clearance",
        "media[0].thickness",
        "passes[0].layers",
        "passes[0].layrs",
        "passes[0].ink",
        "passes[0].areas[0]",
        "passes[0].areas[1]",
        "passes[1].gap.extra",
        "passes[1].gap.above",
        "passes[2].over[1]",
        "signs[0].braille.dot_diameter",
        "sequence[1]",
        "sequence",
    }


def test_an_unknown_key_hides_nothing_else() -> None:
    document = changed(("passes", 0, "layrs"), 2)
    document["passes"][0]["areas"] = [[0, 0, 500, 1]]
    document["printer"]["bedd"] = 1
    document["media"][0]["at"] = [350, 0]
    assert set(faults_of(document)) == {
        "passes[0].layrs",
        "passes[0].areas[0]",
        "printer.bedd",
        "media[0].at",
    }


def test_an_id_that_failed_itself_is_no_dangling_one() -> None:
    assert set(faults_of(changed(("inks", 0, "layer"), "x"))) == {"inks[0].layer"}
    assert set(faults_of(changed(("inks",), 5))) == {"inks"}
    assert set(faults_of(changed(("passes", 0, "layers"), 0))) == {"passes[0].layers"}


CATALOGUE = SimpleNamespace(printers={"bench": SMALL["printer"], "broken": {"bed": 1}, "junk": 7})


def test_a_printer_may_come_from_the_catalogue() -> None:
    stated = {"use": "bench", "min_clearance": "2 mm"}
    job = job_from_dict(changed(("printer",), stated), plugins=CATALOGUE)
    assert job.printer.min_clearance == 2.0
    assert job.printer.bed == (400.0, 300.0)
    assert stated == {"use": "bench", "min_clearance": "2 mm"}


def test_an_unknown_printer_names_the_known_ones() -> None:
    document = changed(("printer",), {"use": "bnech", "head_length": 0})
    faults = faults_of(document, plugins=CATALOGUE)
    assert set(faults) == {"printer.use", "printer.head_length"}
    assert "'bench', 'broken'" in faults["printer.use"]
    assert "invented-spacers" in faults_of(document)["printer.use"]


def test_the_built_in_catalogue_is_there_without_plugins() -> None:
    document = changed(("printer",), {"use": "invented-dial"})
    assert isinstance(job_from_dict(document).printer.gap, Dial)
    assert (
        "none are loaded"
        in faults_of(document, plugins=SimpleNamespace(printers={}))["printer.use"]
    )


def test_a_broken_catalogue_entry_is_a_fault_too() -> None:
    assert "printer.bed" in faults_of(changed(("printer",), {"use": "broken"}), plugins=CATALOGUE)
    assert "printer.use" in faults_of(changed(("printer",), {"use": "junk"}), plugins=CATALOGUE)
    assert "printer.use" in faults_of(changed(("printer",), {"use": ["bench"]}), plugins=CATALOGUE)


@pytest.mark.parametrize("levels", [100, 10_000])
@pytest.mark.parametrize("in_lists", [True, False])
def test_deep_nesting_is_a_plain_fault(levels: int, in_lists: bool) -> None:
    deep = nested(levels, 1, in_lists)
    assert "passes[0].ink" in faults_of(changed(("passes", 0, "ink"), deep, copy.copy(SMALL)))
    assert "name" in faults_of({**SMALL, "name": deep})


def test_a_range_of_other_units_has_its_lower_end_first_too() -> None:
    document = sign_job()
    document["media"][0]["expansion"] = "70 .. 60 ppm/K"
    with pytest.raises(JobError) as caught:
        job_from_dict(document)
    ((path, expected),) = [(fault.path, fault.expected) for fault in caught.value.faults]
    assert path == "media[0].expansion"
    assert expected.endswith("; a range has its lower end first")


def test_a_length_out_of_range_is_shown_as_it_was_written() -> None:
    document = sign_job()
    document["printer"]["bed"] = ["600 mm", "-1 in"]
    document["printer"]["gap"]["spacers"] = ["1 mm", "-2 mm"]
    document["printer"]["locating"]["pins"] = "-3 mm"
    with pytest.raises(JobError) as caught:
        job_from_dict(document)
    found = {fault.path: fault.found for fault in caught.value.faults}
    assert found == {
        "printer.bed[1]": "'-1 in'",
        "printer.gap.spacers[1]": "'-2 mm'",
        "printer.locating.pins": "'-3 mm'",
    }


def test_a_mistake_in_a_reader_is_not_taken_for_one_in_the_document(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    def read(value: object) -> object:
        raise ZeroDivisionError(f"on {value!r}")

    declared = declared_fields(Ink)["layer"]
    real = table_reader.kind_of
    monkeypatch.setattr(
        table_reader,
        "kind_of",
        lambda each: table_reader.Kind(read, str) if each is declared else real(each),
    )
    with pytest.raises(ZeroDivisionError, match="on '10 um'"):
        job_from_dict(sign_job())


def test_the_first_keys_of_a_table_are_named_where_something_else_stands() -> None:
    with pytest.raises(JobError) as caught:
        job_from_dict({**sign_job(), "media": [3]})
    expected = {fault.path: fault.expected for fault in caught.value.faults}
    assert expected["media[0]"] == "a table with id, thickness, size, at..."


def test_a_text_in_a_list_is_shown_as_it_was_written() -> None:
    document = sign_job()
    document["signs"][0]["braille"]["proper"] = ["Lindgren", "x\x07"]
    with pytest.raises(JobError) as caught:
        job_from_dict(document)
    ((path, found),) = [(fault.path, fault.found) for fault in caught.value.faults]
    assert (path, found) == ("signs[0].braille.proper[1]", r"'x\x07'")


def test_a_schema_of_jobs_is_no_job():
    with pytest.raises(JobError) as told:
        job_from_dict(signrules.schema("job"))
    (fault,) = told.value.faults
    assert str(fault).endswith(
        "found a JSON Schema, expected a job: a document with the key signrules"
    )
