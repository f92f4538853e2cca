"""What a job says to plugins: a plugin declares classes, documents hold tables, rules and hooks ask
for `data`.
"""

from __future__ import annotations

import datetime
import json
import pickle
import re
from types import SimpleNamespace

import jsonschema
import pytest
from attrs import define, evolve, field, frozen
from hypothesis import given
from hypothesis import strategies as st

import signrules
from signrules import (
    Interval,
    JobError,
    RuleSet,
    any_text,
    calendar_day,
    changed,
    check,
    evaluate,
    hookimpl,
    job_from_dict,
    job_to_dict,
    list_of,
    load_plugins,
    missing,
    one_word_of,
    plain_number,
    plugin_data,
    rule,
    sample_job,
    shop_from_dict,
    shop_practice,
    short_name,
    table_of,
    toleranced_length,
)
from signrules.cli import main
from signrules.documents.fields import states_field, why_no_field
from signrules.documents.plugin_tables import words_declared
from signrules.model.declaring import id_of, ids_of, rows_of
from signrules.testing.rule_contract import assert_rule_contract

MINUTES = plain_number("minutes", 0, 600, "how long the ink dries", unit="min")


@frozen
class Drying:
    """How a pass dries."""

    minutes: float | None = field(default=None, metadata=MINUTES)
    where: str = field(default="rack", metadata=one_word_of(("rack", "bed"), "where it dries"))


@frozen
class Parcel:
    """What the sheets are packed in."""

    rim: Interval = field(metadata=toleranced_length("how far the box stands out"))
    wraps: tuple[str, ...] = field(
        default=(),
        metadata=list_of(short_name("a wrap"), "a list of names", "what it is wrapped in"),
    )


@frozen
class Order:
    """What was ordered."""

    number: str = field(metadata=short_name("the number of the order"))
    due: datetime.date | None = field(default=None, metadata=calendar_day("when it is due"))
    parcel: Parcel | None = field(default=None, metadata=table_of(Parcel, "a parcel", "its parcel"))


@frozen
class Wall:
    """Where a sign hangs."""

    words: str | None = field(default=None, metadata=any_text("what the wall is made of"))


CLASSES = {"job": Order, "pass": Drying, "sign": Wall}


@rule(
    "quay.drying",
    each="pass",
    source=shop_practice("an invented shop's own"),
    breaks={"passes.dots.data": {"quay": {"minutes": 2}}},
    meets={"passes.dots.data": {"quay": {"minutes": 12}}},
)
def drying(item, data):
    """Ink dries long enough.

    Why it matters: wet ink smears in the rack.
    A job that breaks it: dots that dry for 2 minutes.
    One that meets it: dots that dry for 12 minutes.
    """
    own = data.of(item)
    if own is None:
        return
    if own.minutes is None:
        yield missing(f"passes.{item.id}.data.quay.minutes", "how long the ink dries")
        return
    least = 10 if own.where == "rack" else 5
    yield check(
        "the time that the ink dries", measured=own.minutes, least=least, unit="min", advice="Wait."
    )


def quay(name="quay", rules=(drying,), data=CLASSES):
    """An invented plugin with data."""
    plugin = SimpleNamespace(__name__=name)
    if data is not None:
        plugin.signrules_data = data
    sets = [RuleSet("quay", rules, "An invented quay.")] if rules else []
    plugin.signrules_rule_sets = hookimpl(lambda: sets)
    return plugin


PLUGINS = load_plugins(objects=[quay()])


def stated(changes):
    return changed(sample_job(), changes)


def said(changes, plugins=PLUGINS, shop=None):
    job = job_from_dict(stated(changes), plugins=plugins, shop=shop)
    result = evaluate(job, plugins=plugins, shop=shop)
    assert result.faults == ()
    ours = ("quay.", "harbour.", "data.")
    return [check for check in result.checks if check.rule.startswith(ours)]


def faults(changes, plugins=PLUGINS):
    with pytest.raises(JobError) as refused:
        job_from_dict(stated(changes), plugins=plugins)
    return [str(fault) for fault in refused.value.faults]


# --- reading and writing --------------------------------------------------------------------------

PLAIN = st.recursive(
    st.booleans()
    | st.integers(-(10**9), 10**9)
    | st.text()
    | st.floats(-1e9, 1e9).filter(lambda number: number == 0 or abs(number) > 1e-290),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(), inner, max_size=3),
    max_leaves=8,
)
NAMES = st.text("abcdefgh-_", min_size=1, max_size=8)
TABLES = st.dictionaries(NAMES, st.dictionaries(st.text(), PLAIN, max_size=4), max_size=3)


@given(job=TABLES, sheet=TABLES, printing=TABLES, sign=TABLES)
def test_a_job_that_is_written_and_read_again_holds_the_same_data(
    tmp_path_factory, job, sheet, printing, sign
):
    rows = {"media": sheet, "passes": printing, "signs": sign}
    document = sample_job() | {"data": job}
    for name, tables in rows.items():
        document[name] = [{**document[name][0], "data": tables}, *document[name][1:]]
    made = job_from_dict(document)
    assert job_from_dict(job_to_dict(made)) == made
    written = job_to_dict(made)
    assert written.get("data", {}) == job
    assert [written[name][0].get("data", {}) for name in rows] == [sheet, printing, sign]
    for suffix in ("toml", "json"):
        path = tmp_path_factory.mktemp("written") / f"job.{suffix}"
        signrules.write_job(made, path)
        assert signrules.read_job(path) == made
    assert pickle.loads(pickle.dumps(made)) == made


def test_data_count_in_equality_and_the_order_of_keys_does_not():
    one = job_from_dict(stated({"passes.dots.data": {"quay": {"minutes": 2, "where": "bed"}}}))
    same = job_from_dict(stated({"passes.dots.data": {"quay": {"where": "bed", "minutes": 2}}}))
    other = job_from_dict(stated({"passes.dots.data": {"quay": {"minutes": 3, "where": "bed"}}}))
    assert one == same
    assert hash(one.passes[1]) == hash(same.passes[1])
    assert one != other
    assert one != job_from_dict(sample_job())


def test_a_date_of_a_toml_document_is_plain_data_too():
    job = job_from_dict(
        stated({"data": {"quay": {"number": "7", "due": datetime.date(2027, 3, 31)}}})
    )
    assert job_to_dict(job)["data"] == {"quay": {"number": "7", "due": "2027-03-31"}}


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        (4, "data: found 4, expected a table for each plugin, by its name: [data.NAME] in TOML"),
        ({"a": 4}, "data.a: found 4, expected a table"),
        ({"a": {"b": None}}, "data.a.b: found None, expected text, a number"),
        ({"a": {"b": [1, float("nan")]}}, "data.a.b[1]: found nan, expected text, a number"),
        ({"a": {3: 1}}, "data.a: found the key 3, expected keys of text"),
        ({"": {}}, "data: found the key '', expected a table for each plugin"),
        ({"a": {"b": "\ud800"}}, "data.a.b: found '\\ud800', expected text, a number"),
        ({"a": {"b": datetime.time(1)}}, "data.a.b: found datetime.time(1, 0), expected text"),
    ],
)
def test_what_is_no_plain_data_is_refused_with_its_path(data, expected):
    with pytest.raises(JobError) as refused:
        job_from_dict(sample_job() | {"data": data})
    (fault,) = refused.value.faults
    assert str(fault).startswith(expected)


def test_tables_within_tables_without_end_are_refused():
    table: dict = {}
    for _ in range(5000):
        table = {"t": table}
    with pytest.raises(JobError, match="at most 20 deep"):
        job_from_dict(sample_job() | {"data": {"a": table}})


@pytest.mark.parametrize(
    ("data", "expected"),
    [
        ("text", "as plugin_data"),
        ((("a", 4),), "as plugin_data"),
        ((("a", "[]"),), "as plugin_data"),
        ((("a", "{"),), "as plugin_data"),
        ((("a", "{}", "b"),), "as plugin_data"),
        ((("b", "{}"), ("a", "{}")), "in the order of their names"),
        ((("a", "{}"), ("a", "{}")), "one table for each plugin"),
    ],
)
def test_a_job_made_by_hand_is_held_to_the_same(data, expected):
    job = job_from_dict(sample_job())
    with pytest.raises(JobError, match=expected):
        evolve(job, data=data)
    assert evolve(job, data=plugin_data({"b": {}, "a": {"x": 1}})).data[0] == ("a", '{"x": 1}')


# --- checked as declared --------------------------------------------------------------------------


def test_every_fault_of_the_data_of_a_known_plugin_is_told_beside_those_of_the_job():
    assert faults(
        {
            "data": {"quay": {"due": "soon", "parcel": {"rim": "-1 mm", "wraps": ["", "foil"]}}},
            "passes.dots.data": {"quay": {"minuts": 3, "where": "floor"}},
            "passes.dots.layers": 0,
            "media.panel.data": {"quay": {}},
        }
    ) == [
        "data.quay.number: found nothing, expected the key number, which is required",
        "data.quay.due: found 'soon', expected a date such as 2027-03-31",
        "data.quay.parcel.rim: found '-1 mm', expected a length of at least 0 mm, at its low end"
        " too",
        "data.quay.parcel.wraps[0]: found '', expected text of 1 to 200 characters without control"
        " characters",
        "media[0].data.quay: found {}, expected no table of quay here: it declares data of job,"
        " pass, sign",
        "passes[1].data.quay.where: found 'floor', expected one of rack, bed",
        "passes[1].data.quay.minuts: found an unknown key, expected the key minutes",
        "passes[1].layers: found 0, expected a whole number of layers from 1 to 100000",
    ]


def test_a_plugin_that_declares_no_data_has_none():
    bare = load_plugins(objects=[quay(rules=(), data=None)])
    (fault,) = faults({"data": {"quay": {"x": 1}}}, bare)
    assert (
        fault
        == "data.quay: found {'x': 1}, expected no table of quay here: it declares data of nothing"
    )
    assert faults({"data": {"signrules": {}}})


def test_a_job_that_was_read_without_the_plugin_is_checked_when_it_is_evaluated():
    job = job_from_dict(stated({"passes.dots.data": {"quay": {"minutes": 601}}}))
    with pytest.raises(JobError) as refused:
        evaluate(job, plugins=PLUGINS)
    assert [str(fault) for fault in refused.value.faults] == [
        "passes.dots.data.quay.minutes: found 601, expected minutes from 0 to 600"
    ]


def test_data_of_a_stock_sheet_are_those_of_the_sheet_and_no_figures():
    shop = shop_from_dict(
        {"signrules": 1, "sheets": {"pane": {"thickness": "3 mm", "data": {"quay": {"x": "a"}}}}}
    )
    document = sample_job()
    (sheet,) = document["media"]
    del sheet["thickness"]
    document["media"] = [{**sheet, "use": "pane"}]
    job = job_from_dict(document, shop=shop)
    assert job.media[0].data == plugin_data({"quay": {"x": "a"}})
    assert not [path for path in job.origins if ".data" in path]
    assert job_from_dict(job_to_dict(job)) == job


# --- rules and hooks ------------------------------------------------------------------------------


def test_a_rule_reads_the_data_of_its_subject():
    dots = "passes.dots.data"
    assert [each.outcome for each in said({dots: {"quay": {"minutes": 2}}})] == ["BROKEN"]
    assert [each.outcome for each in said({dots: {"quay": {"minutes": 5, "where": "bed"}}})] == [
        "MET"
    ]
    (without,) = said({dots: {"quay": {"where": "bed"}}})
    assert without.missing == "passes.dots.data.quay.minutes"
    assert said({}) == []


def of_everything(cls, name):
    """A rule that says for each part whether it has data."""

    @rule(f"{name}.sees", each="job", source=shop_practice("invented"))
    def sees(job, data):
        """It sees.

        Why it matters: it is a test.
        A job that breaks it: none.
        One that meets it: any.
        """
        parts = [job, *job.media, *job.passes, *job.signs]
        kinds = [type(data.of(part)).__name__ for part in parts if data.of(part) is not None]
        yield check(
            f"what is seen, {' '.join(kinds) or 'nothing'}", measured=len(kinds), least=0, unit=""
        )

    return sees


def test_a_rule_sees_the_data_of_its_own_plugin_alone():
    names = ("quay", "harbour")
    plugins = load_plugins(
        objects=[
            SimpleNamespace(
                __name__=name,
                signrules_data={"job": Wall, "pass": Wall} if name == "harbour" else CLASSES,
                signrules_rule_sets=hookimpl(
                    lambda name=name: [RuleSet(name, [of_everything(Wall, name)], "Invented.")]
                ),
            )
            for name in names
        ]
    )
    told = said(
        {
            "data": {"quay": {"number": "7"}, "harbour": {"words": "brick"}},
            "passes.dots.data": {"quay": {"minutes": 3}},
            "signs.room-214.data": {"quay": {}},
        },
        plugins,
    )
    seen = {each.rule: each.message.partition(", ")[2].partition(" is ")[0] for each in told}
    assert seen == {"quay.sees": "Order Drying Wall", "harbour.sees": "Wall"}


def test_there_are_no_data_of_anything_else():
    (found,) = PLUGINS.data_by_rule.values()
    job = job_from_dict(sample_job())
    with pytest.raises(TypeError, match="expected a job, a sheet, a pass or a sign"):
        found.of(job.inks[0])


def test_hooks_ask_for_data_too():
    plugin = quay()

    def signrules_precedence(job, data):
        order = data.of(job)
        if order is not None and order.number == "letters first":
            yield "letters", "dots", "as ordered"

    def signrules_quantities(job, data):
        found = [data.of(item) for item in job.passes]
        return {"drying_minutes": sum(each.minutes for each in found if each is not None)}

    plugin.signrules_precedence = hookimpl(signrules_precedence)
    plugin.signrules_quantities = hookimpl(signrules_quantities)
    plugins = load_plugins(objects=[plugin])
    changes = {
        "data": {"quay": {"number": "letters first"}},
        "passes.dots.data": {"quay": {"minutes": 12}},
        "passes.letters.data": {"quay": {"minutes": 30.5}},
    }
    result = evaluate(job_from_dict(stated(changes), plugins=plugins), plugins=plugins)
    assert result.faults == ()
    assert result.quantities["drying_minutes"] == 42.5
    assert result.order.index("letters") < result.order.index("dots")
    plain = evaluate(job_from_dict(sample_job()), plugins=plugins)
    assert plain.order.index("letters") > plain.order.index("dots")


def test_a_result_is_not_kept_where_the_data_of_its_subject_changed():
    live = signrules.Live(plugins=PLUGINS)
    outcomes = []
    for minutes in (2, 12, 12, 3):
        job = job_from_dict(stated({"passes.dots.data": {"quay": {"minutes": minutes}}}))
        result = live.evaluate(job)
        outcomes += [each.outcome for each in result.checks if each.rule == "quay.drying"]
    assert outcomes == ["BROKEN", "MET", "MET", "BROKEN"]


def test_no_remedy_changes_data():
    data = {"quay": {"minutes": 12}}
    job = job_from_dict(
        stated(
            {
                "passes.dots.data": data,
                "signs.room-214.data": {"quay": {"words": "brick"}},
                "passes.dots.layers": 3,
            }
        )
    )
    result = evaluate(job, plugins=PLUGINS)
    remedies = [remedy for each in result.checks if each.is_bad for remedy in each.remedies]
    assert remedies
    for remedy in remedies:
        after = signrules.apply_remedy(job, remedy)
        assert after.passes[1].data == job.passes[1].data
        assert after.signs[0].data == job.signs[0].data


# --- data that nobody reads -----------------------------------------------------------------------


def test_data_of_a_plugin_that_is_not_loaded_are_a_finding_to_review():
    (finding,) = said({"data": {"quai": {"x": 1}}, "passes.dots.data": {"quai": {"y": 2}}})
    assert (finding.rule, finding.level, finding.outcome) == ("data.unread", "REVIEW", "BROKEN")
    assert finding.subjects == ("job", "passes.dots")
    assert finding.message == (
        "job and 1 more: nobody reads the data of quai: no plugin of that name is loaded. Is quay"
        " meant?"
    )
    (finding,) = said({"passes.dots.data": {"elsewhere": {}}})
    assert finding.message.endswith("Load it, or take the data away.")


def test_it_can_be_waived():
    waiver = {
        "rule": "data.unread",
        "subject": "passes.dots",
        "reason": "of the office",
        "by": "Ada",
    }
    (finding,) = said({"passes.dots.data": {"office": {}}, "waivers": [waiver]})
    assert finding.waiver is not None


# --- declaring ------------------------------------------------------------------------------------


@define
class Loose:
    x: float = field(metadata=MINUTES)


@frozen
class Undeclared:
    x: float = 0.0


@frozen
class Silent:
    x: str = field(metadata=any_text(" "))


@frozen
class Odd:
    x: str = field(metadata=id_of("passes", "a pass"))


@frozen
class ListOfIds:
    x: tuple[str, ...] = field(default=(), metadata=ids_of("passes", "some passes"))


class Nothing:
    """No class of attrs."""


@frozen
class Rows:
    x: tuple[Wall, ...] = field(metadata=rows_of(Wall, "walls"))


@frozen
class Beyond:
    x: float = field(default=601.0, metadata=MINUTES)


@frozen
class Within:
    x: Beyond | None = field(default=None, metadata=table_of(Beyond, "a table", "a table"))


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        ([Wall], "expected classes by place"),
        ({"passes": Wall}, "found the place 'passes', expected 'pass' perhaps"),
        ({"ink": Wall}, "found the place 'ink', expected one of job, media, pass, sign"),
        ({"pass": Loose}, "pass: found .*Loose.*, expected a class made with attrs.frozen"),
        ({"pass": 4}, "pass: found 4, expected a class made with attrs.frozen"),
        ({"pass": Undeclared}, "pass.x: found no declaration"),
        ({"sign": Silent}, "sign.x: found no word on what it means"),
        ({"sign": Odd}, "sign.x: found the kind id of, expected one of"),
        ({"sign": Rows}, "sign.x: found the kind rows, expected one of"),
        ({"job": ListOfIds}, "job.x: found the kind id of, expected one of"),
        ({"job": Nothing}, "job: found .*Nothing.*, expected a class made with attrs.frozen"),
        ({"job": Beyond}, "job.x: found the default 601.0, expected minutes from 0 to 600"),
        ({"job": Within}, "job.x.x: found the default 601.0"),
    ],
)
def test_a_declaration_that_does_not_fit_is_told_when_the_plugin_is_loaded(data, reason):
    (failed,) = load_plugins(objects=[quay(rules=(), data=data)]).failed
    assert re.search(f"signrules_data: .*{reason}", failed.error), failed.error


def test_a_rule_that_asks_for_data_needs_a_plugin_that_declares_some():
    (failed,) = load_plugins(objects=[quay(data=None)]).failed
    assert "the rule quay.drying asks for data, and the plugin declares none" in failed.error
    with pytest.raises(signrules.RuleError, match="it asks for data, and no plugin"):
        signrules.testing.checks_of(drying, sample_job())


def test_a_plugin_may_name_its_data_itself_however_it_is_loaded():
    plugin = quay(name="invented.quay")
    (failed,) = load_plugins(objects=[plugin]).failed
    assert "state a name without any of . [ ] in signrules_data_name" in failed.error
    plugin.signrules_data_name = "quay"
    plugins = load_plugins(objects=[plugin])
    assert list(plugins.data) == ["signrules", "quay"]
    assert [
        each.outcome for each in said({"passes.dots.data": {"quay": {"minutes": 2}}}, plugins)
    ] == ["BROKEN"]
    twice = "data quay is brought twice, by invented.quay and quay"
    with pytest.raises(signrules.PluginError, match=re.escape(twice)):
        load_plugins(objects=[plugin, quay(rules=())])


def test_a_slip_in_the_name_of_the_attribute_is_told():
    plugin = quay(rules=(), data=None)
    plugin.signrules_dat = CLASSES
    (failed,) = load_plugins(objects=[plugin]).failed
    assert "signrules_dat is called almost like signrules_data" in failed.error


# --- documentation --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "fits"),
    [
        ({"passes.dots.data": {"quay": {"minutes": 3}}, "data": {"quay": {"number": "7"}}}, True),
        ({"data": {"quay": {"number": "7", "parcel": {"rim": "3 mm"}}}}, True),
        ({"data": {"elsewhere": {"x": [1]}}}, True),
        ({"data": {"quay": {}}}, False),
        ({"data": {"quay": {"number": "7", "parcel": {}}}}, False),
        ({"passes.dots.data": {"quay": {"minuts": 3}}}, False),
        ({"passes.dots.data": {"quay": {"where": "floor"}}}, False),
        ({"passes.dots.data": {"quay": 3}}, False),
    ],
)
def test_the_schema_takes_what_the_reader_takes(changes, fits):
    schema = signrules.schema("job", plugins=PLUGINS)
    jsonschema.Draft202012Validator.check_schema(schema)
    document = json.loads(json.dumps(stated(changes), default=datetime.date.isoformat))
    assert jsonschema.Draft202012Validator(schema).is_valid(document) is fits
    if fits:
        job_from_dict(document, plugins=PLUGINS)
    else:
        assert faults(changes)


PLUGIN_FILE = """
from __future__ import annotations

import datetime

from attrs import field, frozen

from signrules import calendar_day, one_word_of, plain_number


@frozen
class Drying:
    minutes: float = field(metadata=plain_number("minutes", 0, 600, "how long the ink dries"))
    where: str = field(default="rack", metadata=one_word_of(("rack", "bed"), "where it dries"))
    since: datetime.date | None = field(default=None, metadata=calendar_day("since when"))


signrules_data = {"pass": Drying}
"""


def test_the_command_lists_the_data_of_plugins_and_has_it_in_the_schema(tmp_path, capsys):
    file = tmp_path / "pier.py"
    file.write_text(PLUGIN_FILE, encoding="utf-8")
    assert main(["plugins", "--plugin", str(file)]) == 0
    out = capsys.readouterr().out
    assert "  data of a pass, minutes (number from 0 to 600): how long the ink dries\n" in out
    assert "  data of a pass, where (rack, bed): where it dries\n" in out
    assert main(["plugins", "--plugin", str(file), "--format", "json"]) == 0
    (pier,) = [
        each for each in json.loads(capsys.readouterr().out)["loaded"] if each["name"] == "pier"
    ]
    assert pier["data"]["pass"][2] == {"key": "since", "type": "date", "meaning": "since when"}
    assert main(["schema", "job", "--plugin", str(file)]) == 0
    schema = json.loads(capsys.readouterr().out)
    reference = schema["$defs"]["pass"]["properties"]["data"]["properties"]["pier"]["$ref"]
    assert list(schema["$defs"][reference.rpartition("/")[2]]["properties"]) == [
        "minutes",
        "where",
        "since",
    ]


def test_plugins_with_data_travel_to_another_process(tmp_path):
    file = tmp_path / "pier.py"
    file.write_text(PLUGIN_FILE, encoding="utf-8")
    plugins = load_plugins(files=[file])
    there = pickle.loads(pickle.dumps(plugins))
    document = stated({"passes.dots.data": {"pier": {"minutes": 601}}})
    for each in (plugins, there):
        with pytest.raises(JobError, match="found 601, expected minutes from 0 to 600"):
            job_from_dict(document, plugins=each)


# --- the testing kit ------------------------------------------------------------------------------


@pytest.mark.slow
def test_the_contract_holds_for_a_rule_that_says_what_is_missing():
    assert_rule_contract(drying, plugins=PLUGINS, max_examples=3)


LEAST = {"smooth": 5, "rough": 10}


@frozen
class Surfaced:
    """How a pass dries on a surface."""

    minutes: float | None = field(default=None, metadata=MINUTES)
    surface: str | None = field(
        default=None, metadata=one_word_of(tuple(LEAST), "what it is printed on")
    )


def broken_rule(body, **stated):
    given = stated or {"where": "rack"}

    @rule(
        "quay.drying",
        each="pass",
        source=shop_practice("invented"),
        breaks={"passes.dots.data": {"quay": {"minutes": 2, **given}}},
        meets={"passes.dots.data": {"quay": {"minutes": 12, **given}}},
    )
    def made(item, data):
        """Ink dries long enough.

        Why it matters: wet ink smears.
        A job that breaks it: 2 minutes.
        One that meets it: 12 minutes.
        """
        own = data.of(item)
        if own is not None:
            yield from body(item, own)

    return made


def judged(minutes):
    return check("the time", measured=minutes, least=10, unit="min", advice="Wait.")


def silent(item, own):
    if own.minutes is not None:
        yield judged(own.minutes)


def assuming(item, own):
    yield judged(10 if own.minutes is None else own.minutes)


def naming_another(item, own):
    if own.minutes is None:
        yield missing(f"passes.{item.id}.data.quay.minuets", "how long the ink dries")
    else:
        yield judged(own.minutes)


@pytest.mark.parametrize(
    ("body", "told"),
    [
        (silent, "without passes.dots.data.quay.minutes it says nothing at all"),
        (assuming, "without passes.dots.data.quay.minutes it judges all the same"),
        (naming_another, "minutes' perhaps"),
    ],
)
@pytest.mark.slow
def test_the_contract_finds_a_rule_that_does_not_say_what_is_missing(body, told):
    made = broken_rule(body)
    plugins = load_plugins(objects=[quay(rules=(made,))])
    with pytest.raises(AssertionError) as found:
        assert_rule_contract(made, plugins=plugins, max_examples=3)
    assert told in str(found.value)


@pytest.mark.parametrize(
    ("where", "words"),
    [
        (("passes", 1, "data", "quay", "where"), ("rack", "bed")),
        (("passes", 1, "data", "quay", "minutes"), ()),
        (("passes", 1, "data", "quay", "minuts"), ()),
        (("passes", 1, "data", "elsewhere", "where"), ()),
        (("passes", 1, "side"), ()),
        (("data", "quay", "number"), ()),
        (("media", 0, "data", "quay", "where"), ()),
    ],
)
def test_the_kit_puts_the_words_that_a_plugin_declares_in_the_place_of_each_other(where, words):
    assert words_declared(where, PLUGINS.data) == words


@pytest.mark.slow
def test_the_contract_finds_a_rule_that_goes_by_a_word_which_may_be_left_out():
    def by_the_word(item, own):
        if own.minutes is None:
            yield missing(f"passes.{item.id}.data.quay.minutes", "how long the ink dries")
        elif own.surface is not None:
            yield check(
                "the time",
                measured=own.minutes,
                least=LEAST[own.surface],
                unit="min",
                advice="Wait.",
            )

    made = broken_rule(by_the_word, surface="rough")
    plugins = load_plugins(objects=[quay(rules=(made,), data={"pass": Surfaced})])
    told = "without passes.dots.data.quay.surface it says nothing"
    with pytest.raises(AssertionError, match=re.escape(told)):
        assert_rule_contract(made, plugins=plugins, max_examples=3)


def test_paths_into_data():
    job = job_from_dict(stated({"passes.dots.data": {"quay": {"minutes": 12}}}))
    own = PLUGINS.data
    assert why_no_field(job, "passes.dots.data.quay.minutes", own) is None
    assert why_no_field(job, "passes.dots.data", own) is None
    assert why_no_field(job, "passes.dots.data.quay.minuts", own) == "'minutes' perhaps"
    assert why_no_field(job, "passes.dots.data.quey.minutes", own) == "'quay' perhaps"
    assert "signrules_data" in why_no_field(job, "media.panel.data.quay.minutes", own)
    assert states_field(job, "passes.dots.data.quay.minutes", own)
    assert not states_field(job, "passes.dots.data.quay.where", own)
    assert not states_field(job, "passes.letters.data.quay.minutes", own)
