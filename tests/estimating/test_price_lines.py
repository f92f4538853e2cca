"""Lines that plugins add to estimates: shown by themselves, and nothing passed over."""

from __future__ import annotations

import re
from decimal import Decimal
from pathlib import Path

import pytest
from drawn_orders import TIMED, judged_order, written_order
from estimating.test_work_order import RATES, TABLE

from signrules import (
    estimate,
    estimate_csv,
    estimate_jobs,
    estimate_text,
    estimate_work_order,
    evaluate,
    hookimpl,
    load_plugins,
    order_estimate_text,
    rates_from_dict,
    shop_from_dict,
)
from signrules.cli import main


class Adding:
    """A plugin that adds what it is told to add."""

    __name__ = "adding"

    def __init__(self, answer):
        self.answer = answer

    @hookimpl
    def signrules_price_lines(self, estimate):
        return self.answer(estimate) if callable(self.answer) else self.answer


def adding(answer):
    return load_plugins(objects=[Adding(answer)])


ORDER, OUTCOMES = judged_order()
BARE = estimate_work_order(ORDER, OUTCOMES, RATES)


def test_a_rush_and_a_discount_come_before_the_total():
    """A share is one of the sum with its markup: 25 % of it, rounded half to even."""
    plugins = adding([{"name": "rush", "share": "25 %"}, {"name": "regular", "price": "-2.05"}])
    found = estimate_work_order(ORDER, OUTCOMES, RATES, plugins=plugins)
    before = BARE.so_far + BARE.markup
    rush = round(before / 4, 2)
    assert [(line.plugin, line.name, line.price) for line in found.added] == [
        ("adding", "rush", rush),
        ("adding", "regular", Decimal("-2.05")),
    ]
    assert found.total == before + rush - Decimal("2.05")
    assert sum(sign.takes.price for sign in found.signs) == found.total
    text = order_estimate_text(found)
    assert f"rush (plugin adding, 25 %): {rush} EUR" in text
    assert text.index("rush (") < text.index("Total: ")


def test_the_minimum_comes_after_the_lines_of_plugins():
    rates = rates_from_dict(TABLE | {"minimum": "100"})
    plugins = adding([{"name": "discount", "share": "-50 %"}])
    found = estimate_work_order(ORDER, OUTCOMES, rates, plugins=plugins)
    assert found.total == 100
    assert found.raised == 100 - BARE.so_far - BARE.markup - found.added[0].price


def test_it_sees_the_estimate_as_plain_data():
    seen = []

    def by_quantity(told):
        seen.append(told)
        count = len(told["signs"])
        return [{"name": f"{count} signs", "share": "-5 %"}] if count > 5 else []

    found = estimate_work_order(ORDER, OUTCOMES, RATES, plugins=adding(by_quantity))
    assert [line.name for line in found.added] == ["9 signs"]
    assert seen[0] == BARE.to_dict()


def test_a_plugin_calculates_with_the_usual_digits():
    """A third has no end; with our many digits it would be refused as a price."""
    found = estimate_work_order(
        ORDER, OUTCOMES, RATES, plugins=adding(lambda _: [{"name": "x", "price": Decimal(1) / 3}])
    )
    assert found.added[0].price == Decimal("0.33")


def test_an_estimate_of_one_job_has_them_too():
    result = OUTCOMES["load-01"]
    bare = estimate(result, RATES)
    found = estimate(result, RATES, plugins=adding([{"name": "rush", "price": 10}]))
    assert found.total == bare.total + 10
    assert found.to_dict()["price_lines"] == [
        {"plugin": "adding", "name": "rush", "share": None, "price": "10.00"}
    ]
    assert "rush (plugin adding): 10.00 EUR" in estimate_text(found)
    assert "plugin,rush,,,,,10.00,EUR,plugin adding" in estimate_csv(found)


def test_jobs_without_a_work_order_have_them_each():
    found = estimate_jobs("two", OUTCOMES, RATES, plugins=adding([{"name": "rush", "price": 10}]))
    assert [line.name for line in found.added] == ["rush", "rush"]
    assert found.total == estimate_jobs("two", OUTCOMES, RATES).total + 20


@pytest.mark.parametrize(
    ("answer", "why"),
    [
        (None, "gave back None"),
        ("rush", "gave back 'rush'"),
        ([{"name": "rush"}], "needs either a price or a share"),
        ([{"name": "rush", "price": 1, "share": "5 %"}], "needs either a price or a share"),
        ([{"name": "rush", "price": 1.5}], "a binary float"),
        ([{"name": "  ", "price": 1}], "name"),
        ([{"name": "two\nlines", "price": 1}], "one line of text"),
        ([{"price": 1}], "name"),
        ([{"name": "rush", "prise": 1}], "prise"),
        ([{"name": "rush", "share": "-101 %"}], "-100"),
        ([{"name": "rush", "share": 25}], "line 1 ('rush').share: found 25, expected a share"),
        ([{"name": "rush", "share": -5}], "'-5 %' perhaps"),
        ([{"name": "one", "price": 1}, {"name": "two"}], "line 2 ('two'): it needs either"),
        ([{"name": "one", "price": 1}, {"nam": "two"}], "line 2.name"),
        ([7], "7"),
        (lambda _: 1 / 0, "ZeroDivisionError"),
        (lambda _: [{"name": str(at), "price": 1} for at in range(1001)], "more than 1000 lines"),
    ],
)
def test_a_failing_plugin_leaves_no_total(answer, why):
    found = estimate_work_order(ORDER, OUTCOMES, RATES, plugins=adding(answer))
    (fault,) = found.faults
    assert (fault.rule, fault.plugin) == ("signrules_price_lines", "adding")
    assert why in fault.error
    assert found.total is None
    assert all(sign.takes.price is None for sign in found.signs)
    text = order_estimate_text(found)
    assert "Failed while pricing: signrules_price_lines (plugin adding)" in text
    assert "NO TOTAL: a plugin that adds lines failed." in text


def test_a_failing_plugin_that_the_shop_accepts_is_told():
    shop = shop_from_dict(
        {"signrules": 1, "plugins": {"adding": {"accept_absence": "mended soon"}}}
    )
    plugins = adding(lambda _: 1 / 0)
    result = evaluate(OUTCOMES["load-01"].job, plugins=plugins, shop=shop)
    found = estimate(result, RATES, plugins=plugins)
    assert found.total == estimate(result, RATES).total
    assert [reason for _, reason in found.accepted] == ["mended soon"]


def test_a_failing_plugin_stands_in_the_table_for_spreadsheets():
    found = estimate(OUTCOMES["load-01"], RATES, plugins=adding(lambda _: 1 / 0))
    assert "plugin,adding,,,,,NO TOTAL,EUR," in estimate_csv(found)
    assert "NO TOTAL: a plugin that adds lines failed." in estimate_text(found)


LONG_BED = TIMED | {"bed": ["1200 mm", "450 mm"]}
PLUGINS_PAGE = Path(__file__).parents[2] / "docs" / "plugins.md"


@pytest.fixture
def documented(tmp_path):
    """The plugin that the page about plugins shows."""
    page = PLUGINS_PAGE.read_text("utf-8")
    shown = re.search(r"<!-- file: price_hook.py -->\n```python\n(.*?)```", page, re.DOTALL)
    (tmp_path / "price_hook.py").write_text(shown[1], "utf-8")
    return load_plugins(files=[tmp_path / "price_hook.py"])


@pytest.mark.parametrize(("signs", "names"), [(20, ["by quantity"]), (19, [])])
def test_the_documented_discount_by_quantity_comes_for_a_job_and_for_an_order(
    documented, signs, names
):
    """From 20 signs on, 5 % of the sum with its markup are taken off."""
    shop = shop_from_dict({"signrules": 1, "plugins": {"price_hook": {"settings": {"many": 20}}}})
    load = (("plate",) * 6, ("plate",) * 6, ("plate",) * 6, ("plate",) * (signs - 18))
    order, outcomes = judged_order((load,), printer=LONG_BED)
    result = evaluate(outcomes["load-01"].job, plugins=documented, shop=shop)
    folder = {"load-01.toml": result}
    made = [
        estimate(result, RATES, plugins=documented),
        estimate_work_order(order, {"load-01": result}, RATES, plugins=documented),
        estimate_jobs("a folder", folder, RATES, plugins=documented),
    ]
    for found in made:
        assert (found.sign_count, found.to_dict()["sign_count"]) == (signs, signs)
        assert [line.name for line in found.added] == ["ready the next day", *names]
        before = found.so_far + found.markup
        for line in found.added[1:]:
            assert line.price == round(before * Decimal("-0.05"), 2)


def test_nothing_is_asked_where_something_has_no_price():
    asked = []

    def tell(told):
        asked.append(told)
        return []

    rates = rates_from_dict({"signrules_rates": 1, "currency": "EUR"})
    assert estimate_work_order(ORDER, OUTCOMES, rates, plugins=adding(tell)).total is None
    assert estimate_work_order(ORDER, OUTCOMES, None, plugins=adding(tell)).total is None
    assert asked == []


def test_the_command_ends_with_3_where_a_plugin_fails(tmp_path, capsys):
    written_order(tmp_path / "day")
    plugin = tmp_path / "rush.py"
    plugin.write_text(
        "from signrules import hookimpl\n\n@hookimpl\ndef signrules_price_lines(estimate):\n"
        "    return [{'name': 'rush', 'share': '50 %'}]\n"
    )
    rates = tmp_path / "rates.toml"
    rates.write_text(
        'signrules_rates = 1\ncurrency = "EUR"\ndot = 0\n[minute]\nall = 1\n'
        "[sheet_m2]\nacrylic = 1\n[ink_role]\ncolour = 0\nclear = 0\n"
    )
    common = ["estimate", str(tmp_path / "day"), "--rates", str(rates), "--plugin", str(plugin)]
    assert main(common) == 0
    assert "rush (plugin rush, 50 %)" in capsys.readouterr().out
    # Of another length: within a second Python takes a file of the same size for the same.
    plugin.write_text(plugin.read_text().replace("'share': '50 %'", "'share': 'one half'"))
    assert main(common) == 3
    assert "NO TOTAL" in capsys.readouterr().out
    one = ["estimate", str(tmp_path / "day" / "load-01.toml"), *common[2:]]
    assert main(one) == 3
    assert "NO TOTAL" in capsys.readouterr().out
