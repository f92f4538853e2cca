"""Tables that amend others, tables of plugins, and publications that have no table."""

from __future__ import annotations

import pytest
from documents.samples import SMALL, changed
from standards.signs import ada

import signrules
from signrules import hookimpl, load_plugins
from signrules.standards.dimension_tables import amended_tables, not_available, read_standard

HEAD = 'id = "{id}"\ntitle = "{title}"\npublisher = "P"\nunit = "in"\namends = "{amends}"\n'
ROW = (
    '[[rows]]\nquantity = "{quantity}"\nleast = "{least}"\nclause = "{clause}"\nsource = "county'
    ' code, read"\nstanding = "read"\n'
)


def county(amends: str = "us-ada-2010", id: str = "county", title: str = "County code"):
    rows = ROW.format(quantity="raised.depth", least="1/16 in", clause="C 1")
    rows += ROW.format(quantity="mounting.lowest_tactile", least="50 in", clause="C 2")
    return read_standard(HEAD.format(id=id, title=title, amends=amends) + rows, "county.toml")


class Brings:
    def __init__(self, *standards):
        self.standards = standards

    @hookimpl
    def signrules_standards(self):
        return self.standards


def test_rows_on_the_same_quantity_are_replaced_and_the_others_keep_their_source():
    full = amended_tables([ada(), county()])["county"]
    assert {row.quantity for row in full.rows} == {row.quantity for row in ada().rows}
    assert len(full.rows) == len(ada().rows)
    (depth,) = full.rows_for("raised.depth")
    assert (depth.clause, depth.least.text, depth.title) == ("C 1", "1/16 in", None)
    height, _ = full.rows_for("raised.height")
    original, _ = ada().rows_for("raised.height")
    assert (height.clause, height.source, height.title) == ("703.2.5", original.source, ada().title)
    (contrast,) = full.rows_for("surface.contrast")
    assert contrast.title == "ADA Accessibility Guidelines of 1991"


def test_a_table_may_amend_one_that_amends_another():
    top = county("county", "town", "Town code")
    both = amended_tables([top, county(), ada()])
    assert len(both["town"].rows) == len(ada().rows)
    assert both["town"].rows_for("raised.height")[0].title == ada().title


@pytest.mark.parametrize(
    ("standards", "problem"),
    [
        ([county("nowhere")], "amends nowhere, which is not loaded"),
        ([county("county")], "in a circle"),
        ([county("town"), county("county", "town")], "in a circle"),
    ],
)
def test_what_cannot_be_amended_is_refused(standards, problem):
    with pytest.raises(ValueError, match=problem):
        amended_tables(standards)
    plugins = load_plugins(objects=[Brings(*standards)])
    (failed,) = plugins.failed
    assert problem in failed.error
    assert set(plugins.standards) == set(load_plugins().standards)


def bringing(name: str, *standards):
    plugin = Brings(*standards)
    plugin.__name__ = name
    return plugin


def test_a_circle_over_several_plugins_is_named_and_what_is_sound_can_be_used():
    plugins = load_plugins(
        objects=[
            bringing("one", county("b", "a")),
            bringing("two", county("c", "b")),
            bringing("three", county("a", "c")),
            bringing("beyond", county("a", "d")),
            bringing("sound", county("us-ada-2010", "e")),
        ]
    )
    errors = {failed.name: failed.error for failed in plugins.failed}
    assert errors.pop("beyond") == "a table of it amends a, which is not loaded"
    assert set(errors) == {"one", "two", "three"}
    for error in errors.values():
        assert "in a circle: " in error
        assert {"a amends b", "b amends c", "c amends a"} <= set(
            error.partition("circle: ")[2].split(", ")
        )
    assert set(plugins.standards) - set(load_plugins().standards) == {"e"}


def test_a_table_of_a_built_in_name_that_amends_itself_fails_alone():
    (failed,) = (
        plugins := load_plugins(objects=[Brings(county("us-ada-2010", "us-ada-2010"))])
    ).failed
    assert "us-ada-2010 amends us-ada-2010" in failed.error
    assert plugins.standards["us-ada-2010"] == ada()


def test_a_plugin_amends_a_table_and_a_job_is_judged_by_it():
    plugins = load_plugins(objects=[Brings(county())])
    sign = {"id": "door", "raised": {"depth": "1 mm", "height": "20 mm"}}
    document = changed(("standards",), ["us-ada-2010", "county"]) | {"signs": [sign]}
    document["passes"] = document["passes"][:2]
    document["handling"] = []
    document["waivers"] = []
    result = signrules.evaluate(signrules.job_from_dict(document), plugins=plugins)
    depths = {
        str(check.source): check.outcome for check in result.checks if check.rule == "raised.depth"
    }
    assert depths == {
        "standard: 2010 ADA Standards for Accessible Design, 703.2.1": "MET",
        "standard: County code, C 1": "BROKEN",
    }
    heights = [str(check.source) for check in result.checks if check.rule == "raised.height"]
    assert len(heights) == 2
    assert all("2010 ADA Standards for Accessible Design, 703.2.5" in source for source in heights)


@pytest.mark.parametrize("one", not_available(), ids=lambda one: one.id)
def test_a_publication_without_a_table_is_refused_with_the_reason(one):
    assert one.title
    job = signrules.job_from_dict(changed(("standards",), ["us-ada-2010", one.id], SMALL))
    with pytest.raises(signrules.JobError) as caught:
        signrules.evaluate(job)
    (fault,) = caught.value.faults
    assert fault.path == "standards[1]"
    assert "known but not available" in str(fault)
    assert one.reason in str(fault)


def test_a_plugin_may_bring_the_table_that_is_not_available():
    text = HEAD.replace('amends = "{amends}"\n', "").format(
        id="iso-17049", title="House copy"
    ) + ROW.format(quantity="braille.dot_height", least="1/50 in", clause="3")
    plugins = load_plugins(objects=[Brings(read_standard(text, "x.toml"))])
    job = signrules.job_from_dict(changed(("standards",), ["iso-17049"], SMALL))
    assert signrules.evaluate(job, plugins=plugins).complete
