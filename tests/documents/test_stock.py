"""What a shop states once, and figures that say how they came about: invented shops."""

from __future__ import annotations

import datetime
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scenario import sign_job

import signrules
from signrules import JobError, ShopError, job_from_dict, job_to_dict, sample_job, shop_from_dict
from signrules.documents.figures import figure_table, split_figures
from signrules.documents.shop_template import shop_template
from signrules.model.job import Job
from signrules.model.origins import ASSUMED, DATA_SHEET, MEASURED, Origin
from signrules.testing import arbitrary_jobs

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
SAMPLE = sample_job()


def shop_with(**tables):
    return shop_from_dict({"signrules": 1, **tables})


def job_naming(shop, **changes):
    """The sample job with its printer left to the shop."""
    document = {**sample_job(), "printer": "wide", **changes}
    return job_from_dict(document, shop=shop)


WIDE = {"wide": SAMPLE["printer"]}


def test_a_job_with_a_shop_file_is_the_job_that_states_everything():
    shop = signrules.read_shop(EXAMPLES / "shop" / "signrules.toml")
    alone = signrules.read_job(EXAMPLES / "clinic.toml")
    beside = signrules.read_job(EXAMPLES / "shop" / "room-214.toml", shop=shop)
    # Dates of alignments, and inks in the order in which passes name them, are all that differs.
    expected = job_to_dict(alone) | {"alignments": [{"extra": 0.0, "date": "2027-02-03"}]}
    assert job_from_dict(expected) == beside
    found, other = signrules.evaluate(alone), signrules.evaluate(beside, shop=shop)
    outcomes = [[(c.rule, c.subjects, c.outcome) for c in each.checks] for each in (found, other)]
    assert outcomes[0] == outcomes[1]
    assert found.verdict == other.verdict
    assert found.order == other.order


def test_the_example_job_is_short():
    lines = (EXAMPLES / "shop" / "room-214.toml").read_text("utf-8").splitlines()
    assert len([line for line in lines if line and not line.startswith("#")]) <= 25


def test_what_the_job_states_wins_key_by_key():
    shop = shop_with(printers=WIDE)
    job = job_naming(shop, printer={"use": "wide", "drop_speed": "7 m/s"})
    assert job.printer.drop_speed == 7000
    assert job.printer.base_gap == job_from_dict(sample_job()).printer.base_gap
    assert "printer.drop_speed" not in job.origins
    assert job.origins["printer.base_gap"].stated_in == "shop file"


def test_inks_and_sheets_are_named_by_use_and_an_ink_by_its_pass_alone():
    document = sample_job()
    inks = {row.pop("id"): row for row in document.pop("inks")}
    (sheet,) = document["media"]
    stock = {key: sheet[key] for key in sheet if key not in ("id", "at", "load", "up")}
    shop = shop_with(inks=inks, sheets={"board": stock})
    document["media"] = [{"id": sheet["id"], "at": sheet["at"], "use": "board"}]
    job = job_from_dict(document, shop=shop)
    whole = job_from_dict(sample_job())
    assert job.media == whole.media
    assert {ink.id: ink for ink in job.inks} == {ink.id: ink for ink in whole.inks}
    assert job.origins[f"media.{sheet['id']}.thickness"].stated_in == "shop file"


def test_alignments_of_another_printer_are_not_on_record():
    rows = [{"extra": 0, "printer": "wide"}, {"extra": 1, "printer": "tall"}, {"extra": 2}]
    shop = shop_with(printers=WIDE | {"tall": SAMPLE["printer"]}, alignments=rows)
    document = {key: value for key, value in sample_job().items() if key != "alignments"}
    job = job_from_dict(document | {"printer": "wide"}, shop=shop)
    assert [each.extra for each in job.alignments] == [0, 2]
    stated = job_from_dict(document | {"printer": "wide", "alignments": [{"extra": 3}]}, shop=shop)
    assert [each.extra for each in stated.alignments] == [3]


def test_materials_of_the_shop_are_known_to_the_rules():
    document = sample_job()
    document["media"][0]["material"] = "bamboo"
    lacking = signrules.evaluate(job_from_dict(document))
    shop = shop_with(materials={"bamboo": {"expansion": "30 ppm/K", "density": "700 kg/m3"}})
    known = signrules.evaluate(job_from_dict(document), shop=shop)

    def names_material(result):
        return [c.outcome.value for c in result.checks if c.rule == "material.known"]

    assert names_material(lacking) != names_material(known)
    assert shop.stock.materials["bamboo"].source_of("expansion") == "shop file"


@pytest.mark.parametrize(
    ("document", "path", "words"),
    [
        ({"printer": "wode"}, "printer.use", "the nearest is 'wide'"),
        ({"inks": [{"id": "x", "use": "blu"}]}, "inks[0].use", "the nearest is 'blue'"),
        (
            {"media": [{"id": "p", "use": 3}]},
            "media[0].use",
            "a shop file with a table [sheets.ID]",
        ),
    ],
)
def test_what_the_shop_does_not_have_is_named(document, path, words):
    shop = shop_with(printers=WIDE, inks={"blue": {"layer": "10 um"}})

    class Plugins:
        printers = shop.stock.printers

    with pytest.raises(JobError) as raised:
        job_from_dict({**sample_job(), **document}, shop=shop, plugins=Plugins())
    (fault,) = [each for each in raised.value.faults if each.path == path]
    assert words in fault.expected


@pytest.mark.parametrize(
    ("tables", "path"),
    [
        ({"printers": {"wide": {"drop_sped": "6 m/s"}}}, "printers.wide.drop_sped"),
        ({"printers": {"wide": {"drop_speed": "fast"}}}, "printers.wide.drop_speed"),
        (
            {"printers": {"wide": {"base_gap": {"is": "1 mm", "measured": "soon"}}}},
            "printers.wide.base_gap.measured",
        ),
        ({"printers": []}, "printers"),
        ({"printers": {"wide": 3}}, "printers.wide"),
        ({"inks": {"blue": {"id": "blue"}}}, "inks.blue.id"),
        ({"sheets": {"board": {"at": [0, 0]}}}, "sheets.board.at"),
        ({"alignments": [{"extra": 0, "printer": "none"}]}, "alignments[0].printer"),
        ({"alignments": [{"extra": "far"}]}, "alignments[0].extra"),
        ({"alignments": {}}, "alignments"),
        ({"materials": {"bamboo": {"colour": "green"}}}, "materials.bamboo.colour"),
        ({"materials": {"bamboo": {"density": "heavy"}}}, "materials.bamboo.density"),
        ({"rates": 3}, "rates"),
    ],
)
def test_what_is_wrong_in_a_shop_file_is_named_by_its_path(tables, path):
    with pytest.raises(ShopError) as raised:
        shop_with(**tables)
    assert path in [fault.path for fault in raised.value.faults]


@pytest.mark.parametrize(("readings", "words"), [(1, "1 reading"), (6, "6 readings")])
def test_a_figure_says_how_it_came_about(readings, words):
    figure = {
        "is": "5.8 m/s +- 0.3 m/s",
        "measured": "2027-02-03",
        "readings": readings,
        "from": "marks",
    }
    document = sample_job()
    document["printer"]["drop_speed"] = figure
    job = job_from_dict(document)
    assert job.printer.drop_speed == 5800
    found = job.origins["printer.drop_speed"]
    assert (found.kind, found.date) == (MEASURED, datetime.date(2027, 2, 3))
    assert (found.low, found.high) == (pytest.approx(5500), pytest.approx(6100))
    assert found.text == f"measured 2027-02-03, {words}, marks"


@pytest.mark.parametrize(
    ("figure", "path"),
    [
        ({"is": "6 m/s", "measured": "2027-02-03", "assumed": "x"}, "printer.drop_speed.assumed"),
        ({"is": "6 m/s", "readings": 0}, "printer.drop_speed.readings"),
        ({"is": "6 m/s", "readings": True}, "printer.drop_speed.readings"),
        ({"is": "6 m/s", "mesured": "2027-02-03"}, "printer.drop_speed.mesured"),
        ({"is": "6 m/s", "assumed": " "}, "printer.drop_speed.assumed"),
        ({"is": "6 m/s", "data_sheet": 3}, "printer.drop_speed.data_sheet"),
        ({"is": "6 miles"}, "printer.drop_speed"),
    ],
)
def test_what_is_wrong_in_a_figure_is_named_by_its_path(figure, path):
    document = sample_job()
    document["printer"]["drop_speed"] = figure
    with pytest.raises(JobError) as raised:
        job_from_dict(document)
    assert path in [fault.path for fault in raised.value.faults]


origins = st.builds(
    Origin,
    kind=st.sampled_from([MEASURED, DATA_SHEET, ASSUMED]),
    stated_in=st.sampled_from(["", "shop file signrules.toml"]),
    date=st.dates(),
    readings=st.none() | st.integers(1, 99),
    how=st.sampled_from(["two alignments", "a gauge"]),
)


@given(arbitrary_jobs(), origins, st.data())
def test_a_job_with_origins_reads_back_with_them(job, origin, data):
    document = job_to_dict(job)
    keys = [key for key, value in document["printer"].items() if not isinstance(value, dict)]
    key = data.draw(st.sampled_from(keys))
    plain = dict(document)
    plain["printer"] = document["printer"] | {key: figure_table(document["printer"][key], origin)}
    read = job_from_dict(plain)
    assert read == job
    assert set(read.origins) == {f"printer.{key}"}
    again = job_from_dict(job_to_dict(read))
    assert again == job
    assert again.origins == read.origins


def test_a_document_without_figures_is_left_as_it_is():
    document = sample_job()
    assert split_figures(document, Job).document is document


def test_the_file_to_fill_in_is_a_shop_file_and_names_every_key():
    text = shop_template()
    assert shop_from_dict(tomllib.loads(text)).stock.printers == {}
    for key in ("drop_speed", "base_gap", "layer", "thickness", "landing_tolerance"):
        assert f"\n# {key} = " in text
    (line,) = [line for line in text.split("\n") if line.startswith("# landing_tolerance = ")]
    assert line.endswith(
        "; usually 0.005 to 0.5 mm; left out: one dot pitch, 25.4 mm / `resolution`"
    )
    assert "left out: ;" not in text
    assert "left out: \n" not in text


def test_the_template_shows_forms_that_can_be_read():
    from signrules.documents.shop_template import _FORMS

    text = shop_template()
    assert "see below" not in text
    assert "# [materials.acrylic]" in text
    for key, form in _FORMS.items():
        assert f"form: {form}\n" in text
        table = "inks.clear" if key == "role" else "printers.flatbed"
        table = "sheets.acrylic-3" if key == "hold" else table
        document = tomllib.loads(f"[{table}]\n{key} = {form}\n")
        assert shop_from_dict({"signrules": 1, **document}) is not None


def test_what_is_missing_beside_an_unknown_entry_is_not_told():
    document = sample_job()
    document["media"] = [{"id": "panel", "use": "bord", "at": [0, 0]}]
    shop = shop_with(sheets={"board": {"size": [100, 100], "thickness": 3}})
    with pytest.raises(JobError) as raised:
        job_from_dict(document, shop=shop)
    paths = [fault.path for fault in raised.value.faults]
    assert "media[0].use" in paths
    assert "media[0].size" not in paths


def test_a_wrong_printer_is_told_with_those_of_the_shop():
    with pytest.raises(JobError) as raised:
        job_naming(shop_with(printers=WIDE), printer="wyde")
    (fault,) = [each for each in raised.value.faults if each.path == "printer.use"]
    assert "the nearest is 'wide'" in fault.expected


def test_a_figure_without_its_value_is_named():
    document = sample_job()
    document["printer"]["max_throw"] = {"data_sheet": "of the head"}
    with pytest.raises(JobError) as raised:
        job_from_dict(document)
    assert "printer.max_throw.is" in [fault.path for fault in raised.value.faults]


def test_an_ink_of_the_shop_that_a_pass_misspells():
    document = sign_job()
    document["inks"] = []
    shop = shop_from_dict(
        {"signrules": 1, "inks": {"black": {"layer": "10 um"}, "clear": {"layer": "30 um"}}}
    )
    document["passes"][1]["ink"] = "claer"
    with pytest.raises(JobError) as caught:
        job_from_dict(document, shop=shop)
    (fault,) = caught.value.faults
    assert fault.path == "passes[1].ink"
    assert "of this job or of" in fault.expected
    assert fault.expected.endswith("the nearest is 'clear'")


def test_a_job_with_a_printer_of_the_shop_is_written_and_read():
    shop = signrules.shop_from_dict({"signrules": 1, "printers": {"own": sample_job()["printer"]}})
    document = sample_job() | {"printer": "own"}
    job = signrules.job_from_dict(document, shop=shop)
    assert signrules.job_from_dict(signrules.job_to_dict(job)) == job
