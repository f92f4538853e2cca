"""Estimates of work orders: shares that add up, sheets from stock, causes once, by the command."""

from __future__ import annotations

import csv
import io
import json
from decimal import Decimal
from fractions import Fraction

import jsonschema
import pytest
from attrs import evolve
from drawn_orders import THREE_TYPES, drawn_order, judged_order, orders, written_order
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st
from scenario import PRINTER

from signrules import (
    NotEvaluated,
    estimate,
    estimate_jobs,
    estimate_work_order,
    evaluate,
    job_from_dict,
    judge_work_order,
    order_estimate_csv,
    order_estimate_text,
    rates_from_dict,
    schema,
    shop_from_dict,
)
from signrules.cli import main
from signrules.estimating.charges import merged_lines
from signrules.estimating.pricing import EstimateLine
from signrules.estimating.shares import split_exactly

TABLE = {
    "signrules_rates": 1,
    "currency": "EUR",
    "markup": "15 %",
    "minimum": "20",
    "dot": "0.002",
    "minute": {"all": "0.90", "printing": "1.10"},
    "ink_role": {"colour": "0.30", "clear": "0.45"},
    "sheet_m2": {"acrylic": "42.00"},
    "waste": {"ink": "10 %", "sheets": "0.05"},
    "fixed": [{"name": "proofreading", "price": "12.50"}],
}
RATES = rates_from_dict(TABLE)
CENT = Decimal("0.01")


def priced(loads=THREE_TYPES, rates=RATES):
    return estimate_work_order(*judged_order(loads), rates)


def line(found, kind, item):
    return next(each for each in found.lines if (each.kind, each.item) == (kind, item))


weights = st.lists(st.fractions(min_value=0, max_value=1000), min_size=1, max_size=12)


@settings(max_examples=effort(300), deadline=None)
@given(whole=st.decimals(-10_000, 10_000, places=2), weights=weights)
def test_shares_add_up_and_none_is_off_by_a_step(whole, weights):
    """The two laws of the method of largest remainder: the sum is kept, and each share is its
    exact one rounded up or down."""
    shares = split_exactly(whole, weights, CENT)
    assert sum(shares) == whole
    if not any(weights):
        weights = [Fraction(1)] * len(weights)
    for share, weight in zip(shares, weights, strict=True):
        exact = Fraction(whole) * weight / sum(weights)
        assert abs(Fraction(share) - exact) < Fraction(CENT)


def test_a_share_by_hand():
    """10.00 by 1 : 1 : 1 is 3.33 each; the cent that is left goes to the first."""
    expected = [Decimal("3.34"), Decimal("3.33"), Decimal("3.33")]
    assert split_exactly(Decimal("10.00"), [1, 1, 1], CENT) == expected
    with pytest.raises(ValueError, match="at least one weight"):
        split_exactly(Decimal(1), [], CENT)


@settings(max_examples=effort(30), deadline=None)
@given(
    loads=orders,
    cents=st.integers(0, 500),
    markup=st.sampled_from(["0", "15 %", "33.3 %"]),
    minimum=st.sampled_from(["0", "20", "997.03"]),
    fixed=st.sampled_from(["12.50", "-3.33", "0.01"]),
)
def test_parts_add_up_to_the_whole(loads, cents, markup, minimum, fixed):
    """Signs, loads and rows are each a partition of the order, so each adds up to its total."""
    table = TABLE | {
        "markup": markup,
        "minimum": minimum,
        "minute": {"all": f"{cents / 100:.2f}"},
        "fixed": [{"name": "set price", "price": fixed}],
    }
    found = priced(loads, rates_from_dict(table))
    prices = [each.price for each in found.lines]
    assert found.so_far == sum(prices)
    assert found.total == found.so_far + found.markup + found.raised
    for part in ("so_far", "price"):
        assert sum(getattr(load.takes, part) for load in found.loads) == getattr(found.takes, part)
    for amount in (
        "setup_minutes",
        "handling_minutes",
        "pause_minutes",
        "printing_minutes",
        "ink_ml",
    ):
        whole = getattr(found.takes, amount)
        assert sum(getattr(load.takes, amount) for load in found.loads) == whole
    for load in found.loads:
        own = [sign for sign in found.signs if sign.load == load.id]
        if own:
            assert sum(sign.takes.price for sign in own) == load.takes.price
    in_rows = sum(row.takes.price for row in found.rows)
    assert in_rows == sum(sign.takes.price for sign in found.signs)
    assert sorted(sign for row in found.rows for sign in row.signs) == [
        sign.id for sign in found.signs
    ]


def test_amounts_are_those_of_the_jobs():
    """The order's line of each kind is the sum of what `estimate` says of each job alone."""
    order, found = judged_order()
    whole = estimate_work_order(order, found, RATES)
    alone = [estimate(result, RATES) for result in found.values()]
    for kind, item in (("minutes", "alignments"), ("minutes", "printing"), ("ink", "clear")):
        assert line(whole, kind, item).amount == sum(line(one, kind, item).amount for one in alone)
        assert line(whole, kind, item).price == sum(line(one, kind, item).price for one in alone)


def test_sheets_come_whole_from_stock():
    """Three pieces of 200 x 150 mm are cut from two sheets of 400 x 150 mm.

    Two sheets are 2 x 0.06 m2, each 0.06 x 42 = 2.52, with 5 % waste 5.292. Signs: four rooms of
    90 x 40, two arrows of 60 x 30 and three plates of 45 x 25 mm are 0.014400 + 0.003600 +
    0.003375 = 0.021375 m2.
    """
    found = priced()
    sheets = line(found, "sheets", "acrylic-3")
    assert (sheets.amount, sheets.unit_price, sheets.price) == (2, Decimal("2.52"), Decimal("5.29"))
    (use,) = found.stock
    assert (use.sheets, use.area_m2, use.signs_m2) == (2, Decimal("0.12"), Decimal("0.021375"))
    assert use.waste_m2 == Decimal("0.098625")
    assert use.waste_share == Decimal("0.8219")
    own = estimate_work_order(
        *judged_order(), rates_from_dict(TABLE | {"sheet": {"acrylic-3": "7.77"}})
    )
    assert line(own, "sheets", "acrylic-3").unit_price == Decimal("7.77")


def test_what_signs_have_in_common_is_shared_by_area():
    """Only set-up is charged. Load 1 has signs of 3 x 3600 + 1800 + 1125 = 13725 mm2, so a room
    bears 3600 / 13725 of its 18 minutes; load 2 has 7650 mm2."""
    minutes = {"all": "10", "printing": "0"}
    table = TABLE | {"minute": minutes, "markup": "0", "minimum": "0", "fixed": [], "dot": 0}
    free = {"ink_role": {"colour": 0, "clear": 0}, "sheet_m2": {"acrylic": 0}}
    found = priced(rates=rates_from_dict(table | free))
    by_id = {sign.id: sign.takes for sign in found.signs}
    first = Fraction(180) * 3600 / 13725
    assert abs(by_id["K-01"].price - Decimal(round(float(first), 2))) <= 2 * CENT
    second = Fraction(180) * 3600 / 7650
    assert abs(by_id["K-06"].price - Decimal(round(float(second), 2))) <= 2 * CENT
    assert sum(by_id[id].price for id in ("K-01", "K-02", "K-03", "K-04", "K-05")) == 180


def test_ink_is_that_of_the_passes_on_a_sign():
    """Clear ink only: a room has 30 x 8 x 0.3 x 24 x 0.03 = 51.84 mm3, an arrow 56.16, a plate
    none. Black covers the piece and is shared by area."""
    found = priced()
    by_id = {sign.id: sign.takes for sign in found.signs}
    black = Fraction(3, 10)
    on_first = black * 1125 / (3600 + 1125)
    assert abs(float(by_id["K-05"].ink_ml) - float(on_first)) < 2e-4
    on_room = black * 3600 / 4725 + Fraction("0.05184")
    assert abs(float(by_id["K-04"].ink_ml) - float(on_room)) < 2e-4


def test_fixed_lines_and_minimum_count_once():
    found = priced(rates=rates_from_dict(TABLE | {"minimum": "500"}))
    assert line(found, "fixed", "proofreading").price == Decimal("12.50")
    assert found.total == 500
    assert sum(sign.takes.price for sign in found.signs) == 500


def test_a_folder_without_a_work_order_is_the_sum_of_its_jobs():
    """Each job has its own sheets, fixed lines, markup and minimum, as `estimate` gives them."""
    rates = rates_from_dict(TABLE | {"minimum": "33"})
    _, outcomes = judged_order()
    found = estimate_jobs("a folder", outcomes, rates)
    alone = {load: estimate(result, rates) for load, result in outcomes.items()}
    assert found.total == sum(each.total for each in alone.values())
    assert found.raised == sum(each.raised for each in alone.values())
    assert {load.id: load.takes.price for load in found.loads} == {
        load: each.total for load, each in alone.items()
    }
    assert sum(use.sheets for use in found.stock) == 3
    assert found.rows == ()


def test_causes_are_named_once_with_all_that_they_concern():
    printer = {key: value for key, value in PRINTER.items() if key != "minutes"}
    table = {key: value for key, value in TABLE.items() if key != "dot"}
    order, outcomes = judged_order(printer=printer)
    found = estimate_work_order(order, outcomes, rates_from_dict(table))
    by_cause = {each.cause: each.on for each in found.unpriced}
    assert by_cause["not stated: printer.minutes.load"] == ("load-01", "load-02")
    assert by_cause["the rate table has no dot"] == ("K-01", "K-02", "K-04", "K-06")
    assert len(by_cause) == len(found.unpriced)
    assert found.total is None
    assert all(sign.takes.price is None for sign in found.signs)
    assert all(sign.takes.setup_minutes is None for sign in found.signs)
    text = order_estimate_text(found)
    assert "not stated: printer.minutes.load (load-01, load-02)" in text
    assert "NO TOTAL" in text


def test_a_load_that_was_not_judged_leaves_no_total():
    order, outcomes = judged_order()
    lost = outcomes | {"load-02": NotEvaluated("a worker died")}
    found = estimate_work_order(order, lost, RATES)
    assert (found.ok, found.total) == (False, None)
    assert found.without_plan == ("load-02",)
    assert [(each.cause, each.on) for each in found.unpriced] == [
        ("the job was not judged", ("load-02",))
    ]
    by_id = {sign.id: sign.takes for sign in found.signs}
    assert by_id["K-06"].setup_minutes is None
    assert by_id["K-01"].setup_minutes is not None
    assert "1 load not judged" in found.verdict
    missing = {load: each for load, each in outcomes.items() if load == "load-01"}
    assert estimate_work_order(order, missing, RATES).unpriced == found.unpriced


def test_a_load_without_a_plan_leaves_no_total():
    order, jobs = drawn_order()
    first, second = jobs["load-02"]["passes"][:2]
    first["gap"] = {"extra": 0, "above": "media"}
    first["after"] = [second["id"]]
    outcomes = {load: evaluate(job_from_dict(job)) for load, job in jobs.items()}
    assert outcomes["load-02"].plan is None
    found = estimate_work_order(order, outcomes, RATES)
    assert found.total is None
    assert found.unpriced[0].cause == f"no plan: {outcomes['load-02'].verdict}"
    assert found.unpriced[0].on == ("load-02",)


def test_an_order_without_loads_has_no_price():
    found = priced([])
    assert found.lines == ()
    assert found.total is None
    assert found.so_far == 0
    assert [cause.cause for cause in found.unpriced] == [
        "the work order has no loads, so nothing is made"
    ]
    text = order_estimate_text(found)
    assert text.splitlines()[1] == "NOTHING TO PRINT: no loads"
    assert "so nothing is made" in text
    jsonschema.Draft202012Validator(schema("order_estimate")).validate(found.to_dict())


def test_nothing_of_a_thing_is_no_line_beside_some_of_it():
    """Of two loads the first makes an alignment that nobody says the minutes of, and the second
    makes none, which takes no time."""
    unknown = EstimateLine(
        "minutes", "alignments", "min", None, Decimal(0), None, None, "not stated", "1 x ? min"
    )
    none = evolve(unknown, amount=Decimal(0), price=Decimal(0), unpriced=None, note="none")
    other = evolve(none, item="gaps")
    assert merged_lines([unknown, none, other]) == (unknown, other)


def test_records_are_flat_and_add_up():
    found = priced()
    records = found.records()
    assert len(records) == 9
    assert sum(each["price"] for each in records) == found.total
    assert {type(value) for each in records for value in each.values()} <= {
        str,
        int,
        float,
        Decimal,
    }
    assert records[0]["width_mm"] == 90.0
    assert len({tuple(each) for each in records}) == 1


@pytest.mark.parametrize(("delimiter", "comma"), [(",", False), (";", True)])
def test_csv_reads_back(delimiter, comma):
    found = priced()
    text = order_estimate_csv(found, delimiter=delimiter, decimal_comma=comma)
    rows = list(csv.DictReader(io.StringIO(text), delimiter=delimiter))

    def prices(kind):
        shown = [row["price"] for row in rows if row["kind"] == kind]
        return [Decimal(price.replace(",", ".") if comma else price) for price in shown]

    for kind in ("row", "load", "sign"):
        assert sum(prices(kind)) == found.total
    assert {row["job"] for row in rows if row["kind"] == "sign"} == {"load-01", "load-02"}
    assert rows[-1]["item"] == "total"
    assert prices("sum")[-1] == found.total


def test_plain_data_keep_to_the_schema():
    validator = jsonschema.Draft202012Validator(schema("order_estimate"))
    order, outcomes = judged_order()
    lost = outcomes | {"load-02": NotEvaluated("a worker died")}
    for found in (
        priced(),
        priced(rates=None),
        estimate_work_order(order, lost, RATES),
        estimate_jobs("a folder", outcomes, RATES),
    ):
        told = found.to_dict()
        validator.validate(told)
        assert json.loads(json.dumps(told)) == told


def test_the_order_comes_first_then_rows_then_loads():
    text = order_estimate_text(priced())
    places = [text.index(part) for part in ("Total: ", "By row of the schedule:", "By load:")]
    assert places == sorted(places)
    assert "row 3  room   4 signs" in text


def test_the_command_prices_a_folder(tmp_path, capsys):
    written_order(tmp_path / "day")
    rates = tmp_path / "rates.toml"
    rates.write_text('signrules_rates = 1\ncurrency = "EUR"\n[minute]\nall = 1\n')
    assert main(["estimate", str(tmp_path / "day"), "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert [load["id"] for load in told["loads"]] == ["load-01", "load-02"]
    assert told["total"] is None
    assert main(["estimate", str(tmp_path / "day"), "--rates", str(rates)]) == 1
    out = capsys.readouterr().out
    assert "the rate table has no sheet.acrylic-3 or sheet_m2.acrylic" in out
    assert main(["estimate", str(tmp_path / "day"), "--format", "csv"]) == 0
    assert capsys.readouterr().out.startswith("job,kind,item,")


def test_the_command_sums_a_folder_without_a_work_order(tmp_path, capsys):
    written_order(tmp_path / "day")
    (tmp_path / "day" / "work-order.toml").unlink()
    assert main(["estimate", str(tmp_path / "day"), "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["name"] == "day"
    assert [use["stock"] for use in told["stock"]] == ["piece-1", "piece-2", "piece-3"]


def test_a_job_at_fault_is_told_and_the_rest_is_estimated(tmp_path, capsys):
    written_order(tmp_path / "day")
    (tmp_path / "day" / "load-02.toml").write_text("signrules = 1\n")
    assert main(["estimate", str(tmp_path / "day")]) == 2
    told = capsys.readouterr()
    assert "load-02.toml: " in told.err
    assert "the job was not judged (load-02)" in told.out
    (tmp_path / "day" / "work-order.toml").write_text("signrules_work_order = 2\n")
    assert main(["estimate", str(tmp_path / "day")]) == 2
    assert "signrules_work_order: found 2" in capsys.readouterr().err


def test_the_loads_of_a_folder_are_printed_in_a_row(tmp_path):
    """The second needs neither the alignment (12 min) nor the gap (2 min) that the first has made:
    14 min x 0.90 are 12.60 less than both cost by themselves."""
    written_order(tmp_path / "day")
    order, outcomes = judged_order()
    judged = judge_work_order(tmp_path / "day")
    assert judged.order == order
    assert judged.ok
    found = judged.estimate(RATES)
    assert found.so_far == estimate_work_order(order, outcomes, RATES).so_far - Decimal("12.60")
    first, second = found.loads
    assert (first.takes.setup_minutes, second.takes.setup_minutes) == (18, 4)
    minutes = [judged.carried[load.id].setup.minutes for load in found.loads]
    assert minutes == [18, 4]


def test_a_job_that_no_longer_fits_the_work_order_is_told(tmp_path, capsys):
    """One of the two is outdated, and nothing tells which."""
    written_order(tmp_path / "day")
    (tmp_path / "day" / "load-01.toml").write_text((tmp_path / "day" / "load-02.toml").read_text())
    judged = judge_work_order(tmp_path / "day")
    faults = judged.outcomes["load-01"].faults
    # A lost piece speaks for its signs.
    told = [(fault.path, fault.found, fault.expected) for fault in faults]
    own = "what the job of that load has too"
    assert told == [
        ("pieces", "'piece-1' in load-01", own),
        ("pieces", "'piece-2' in load-01", own),
        ("pieces", "no 'piece-3' in load-01", "'piece-3', as in the job of load-01"),
    ]
    assert main(["estimate", str(tmp_path / "day")]) == 2
    assert "as in the job of load-01" in capsys.readouterr().err


@pytest.mark.thorough
@pytest.mark.parametrize("command", [["check"], ["check", "--format", "json"], ["queue"]])
def test_every_command_that_takes_the_folder_holds_it_against_its_jobs(command, tmp_path, capsys):
    folder = tmp_path / "day"
    written_order(folder)
    assert main([*command, str(folder)]) == 0
    capsys.readouterr()
    order = (folder / "work-order.toml").read_text("utf-8")
    moved = order.replace("at = [0.0, 50.0]", "at = [7.0, 50.0]", 1)
    assert moved != order
    (folder / "work-order.toml").write_text(moved, "utf-8")
    assert main([*command, str(folder)]) == 2
    told = capsys.readouterr().err
    assert "work-order.toml: 1 fault" in told
    assert "found 7 x 50 mm, expected 0 x 50 mm, as in the job of load-01" in told
    # A load that is named by itself is judged by itself, and one that is lost is told once.
    assert main([*command, str(folder / "load-01.toml")]) == 0
    (folder / "load-01.toml").unlink()
    capsys.readouterr()
    assert main([*command, str(folder)]) == 2
    told = capsys.readouterr().err
    assert "load-01.toml: 1 fault\n  the document: found no such file" in told
    assert "work-order.toml" not in told


def test_a_kept_gap_is_not_set_again():
    """Each load sets one gap of 2 minutes."""
    order, outcomes = judged_order()
    kept = estimate_work_order(order, outcomes, RATES, kept_gaps=["load-02"])
    assert line(kept, "minutes", "gaps").amount == 2
    assert line(priced(), "minutes", "gaps").amount == 4
    by_count = rates_from_dict(TABLE | {"quantity": {"gap_settings": "1.50"}})
    counted = estimate_work_order(order, outcomes, by_count, kept_gaps=["load-02"])
    assert line(counted, "quantities", "gap_settings").price == Decimal("1.50")


def test_ink_on_the_back_is_that_of_the_sign_in_front_of_it():
    """Turned over around an axis along y, a strip at x = 100 on the back of a piece of 200 mm lies
    at 70 to 100 in front: on the room at 0 to 90, and no more on the one beside."""
    order, jobs = drawn_order([[["room"] * 3 + ["plate"]]])
    job = jobs["load-01"]
    job["printer"] = dict(job["printer"])
    back = {"id": "back", "ink": "clear", "media": "piece-1", "side": "back"}
    job["passes"].append(back | {"areas": [[100, 0, 30, 20]], "layers": 30})
    job["handling"] = [{"id": "over", "does": "flip", "media": "piece-1", "locates_by": "pins"}]
    outcomes = {"load-01": evaluate(job_from_dict(job))}
    assert outcomes["load-01"].plan is not None
    found = estimate_work_order(order, outcomes, RATES)
    without = priced([[["room"] * 3 + ["plate"]]])
    more = [
        float(one.takes.ink_ml) - float(other.takes.ink_ml)
        for one, other in zip(found.signs, without.signs, strict=True)
    ]
    # 30 x 20 mm in 30 layers of 0.03 mm are 540 mm3.
    assert more == pytest.approx([0.54, 0, 0, 0], abs=2e-4)


def test_signs_without_a_place_share_their_sheet_alike():
    _, jobs = drawn_order([[["room", "plate"]]])
    for sign in jobs["load-01"]["signs"]:
        del sign["area"]
    found = estimate_jobs("a folder", {"one": evaluate(job_from_dict(jobs["load-01"]))}, RATES)
    first, second = found.signs
    assert first.size == second.size == (200.0, 75.0)
    assert first.takes.setup_minutes == second.takes.setup_minutes
    (use,) = found.stock
    assert (use.waste_m2, use.waste_share) == (None, None)
    assert "waste not known" in order_estimate_text(found)
    assert use.to_dict()["waste_m2"] is None


def test_a_folder_with_lost_jobs_has_no_total():
    _, outcomes = judged_order([[["room"]], [[]]])
    outcomes = {"bad": NotEvaluated("no"), **outcomes}
    found = estimate_jobs("a folder", outcomes, RATES)
    assert found.total is None
    assert found.without_plan == ("bad",)
    assert [load.signs for load in found.loads] == [0, 1, 0]
    assert "NO TOTAL" in order_estimate_csv(found)


def test_a_stock_whose_material_nobody_states():
    """Without any judged job, a sheet has a price by its id alone."""
    order, _ = judged_order()
    none = dict.fromkeys(["load-01", "load-02"], NotEvaluated("no"))
    found = estimate_work_order(order, none, RATES)
    causes = {each.cause for each in found.unpriced}
    assert "the rate table has no sheet.acrylic-3" in causes
    assert "material not stated" in order_estimate_text(found)
    by_id = rates_from_dict(TABLE | {"sheet": {"acrylic-3": "5"}})
    sheets = line(estimate_work_order(order, none, by_id), "sheets", "acrylic-3")
    assert sheets.price == Decimal("10.50")


def test_what_the_shop_has_set_is_told():
    shop = shop_from_dict(
        {"signrules": 1, "rules": {"figures": {"together": {"off": "we measured it"}}}}
    )
    order, jobs = drawn_order()
    outcomes = {id: evaluate(job_from_dict(job), shop=shop) for id, job in jobs.items()}
    found = estimate_work_order(order, outcomes, RATES)
    words = "figures.together is off: we measured it"
    assert f"Set by the shop:\n  {words}" in order_estimate_text(found)
    assert f"Set by the shop: {words}" in order_estimate_csv(found)
