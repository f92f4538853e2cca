"""The pages of a work order: every sign is named, drawn to scale, causes are grouped."""

from __future__ import annotations

import json
import re
from pathlib import Path

import jsonschema
import pytest
from drawn_orders import THREE_TYPES, drawn_order, judged_order, orders, written_order
from effort import effort
from estimating.test_work_order import RATES
from hypothesis import given, settings
from sheet.pages import of_class, seen, tree

from signrules import (
    NotEvaluated,
    evaluate,
    job_from_dict,
    judge_work_order,
    work_order_page,
    work_order_report,
    work_order_text,
    write_job,
)
from signrules.cli import main
from signrules.cli.work_order_folder import status_of_folder
from signrules.evaluation.order_verdict import signs_of_check
from signrules.model.work_order import OrderedPiece, OrderedSign
from signrules.reports.causes import causes_of, general_path
from signrules.reports.id_runs import runs_of_ids
from signrules.reports.stock_places import piece_box, sign_box
from signrules.schemas import schema
from signrules.sheet.language import language_of
from signrules.sheet.stock_drawing import stock_picture
from signrules.work_order_files import JudgedOrder


def judged(loads=THREE_TYPES, changed=None, **order):
    """A work order with its jobs judged; `changed` may change their documents."""
    made, jobs = drawn_order(loads, **order)
    if changed is not None:
        changed(jobs)
    outcomes = {id: evaluate(job_from_dict(job)) for id, job in jobs.items()}
    return JudgedOrder(made.name, made, {id: f"{id}.toml" for id in jobs}, outcomes)


def thin_dots(jobs):
    """Dots of six layers on all rooms, which their standard finds too low."""
    for job in jobs.values():
        job["standards"] = ["us-ada-2010"]
        for sign in job["signs"]:
            if "braille" in sign:
                item = next(p for p in job["passes"] if p["id"] == f"{sign['media']}-braille")
                item["layers"] = 6
                item.setdefault("builds", []).append(f"{sign['id']}.braille")


SOUND = judged()
PAGE = work_order_page(SOUND, SOUND.estimate(RATES), links={"load-01": "load-01.html"})


def test_the_page_in_german():
    root = tree(work_order_page(SOUND, SOUND.estimate(RATES), language=language_of("de")))
    assert root.get("lang") == "de"
    words = seen(root)
    count = len(SOUND.order.signs)
    assert f"{count} Schilder" in words
    assert "Belegungen, in dieser Reihenfolge" in words
    assert "Platten aus dem Lager" in words
    heads = [head.text for head in root.iter("th") if head.get("scope") == "col"]
    assert {"Belegung", "Rüsten", "Verschnitt", "Preis"} <= set(heads)
    # What rules say and what prices come to stays in English and is marked so.
    for kind in ("verdict", "causes"):
        for each in of_class(root, kind):
            assert each.get("lang") == "en", kind
    totals = [each for each in root.iter("li") if (each.text or "").startswith("Total: ")]
    assert len(totals) == 1
    for each in root.iter("td"):
        if each.get("lang") != "en":
            assert not re.search(r"\d\.\d", each.text or ""), each.text


@settings(max_examples=effort(20), deadline=None)
@given(loads=orders)
def test_every_sign_stands_on_the_page_and_in_a_picture(loads):
    made = judged(loads)
    page = tree(work_order_page(made))
    text = seen(page)
    drawn = [each.text for picture in of_class(page, "stock") for each in picture.iter("text")]
    for number, sign in enumerate(made.order.signs, start=1):
        assert re.search(rf"\b{number} {sign.id}\b", text)
        assert f"{number} {sign.id}" in drawn or str(number) in drawn
    for piece in made.order.pieces:
        assert f"{piece.id} in {piece.load}" in text


REPORT = jsonschema.Draft202012Validator(schema("order_report"))


def undeclared(data, shape, root, path=""):
    """The keys of plain data that a schema does not name."""
    if "$id" in shape:
        root = shape
    while "$ref" in shape:
        shape = root["$defs"][shape["$ref"].rpartition("/")[2]]
    parts = [undeclared(data, each, root, path) for each in shape.get("anyOf", ())]
    if parts:
        return min(parts, key=len)
    if isinstance(data, list):
        rows = [undeclared(each, shape.get("items", {}), root, f"{path}[]") for each in data]
        return set().union(*rows)
    if not isinstance(data, dict) or "properties" not in shape:
        return set()
    known = dict(shape["properties"])
    for each in shape.get("allOf", ()):
        known |= root["$defs"][each["$ref"].rpartition("/")[2]]["properties"]
    found = {f"{path}.{key}" for key in data if key not in known}
    for key in data.keys() & known.keys():
        found |= undeclared(data[key], known[key], root, f"{path}.{key}")
    return found


def test_the_report_keeps_to_its_schema(tmp_path, capsys):
    order, outcomes = judged_order()
    lost = outcomes | {"load-02": NotEvaluated("a worker died")}
    lost_load = JudgedOrder("lost", order, dict.fromkeys(lost, "a.toml"), lost)
    no_order = JudgedOrder("a folder", None, dict.fromkeys(outcomes, "a.toml"), outcomes)
    for made in (SOUND, judged(changed=thin_dots), lost_load, no_order):
        for estimate in (None, made.estimate(RATES)):
            report = work_order_report(made, estimate)
            REPORT.validate(report)
            assert undeclared(report, REPORT.schema, REPORT.schema) == set()
    written_order(tmp_path)
    assert main(["check", str(tmp_path), "--by-cause", "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    REPORT.validate(told)
    broken = [("counts", {}), ("causes", {"stop": []}), ("cautions", []), ("estimate", {})]
    for key, value in [*broken, ("sequence", [told["sequence"][0] | {"signs": 3}])]:
        assert not REPORT.is_valid(told | {key: value}), key


def test_no_two_parts_of_a_page_have_one_id():
    page = tree(work_order_page(judged(changed=thin_dots)))
    ids = [each.get("id") for each in page.iter() if each.get("id")]
    assert {"h-stop", "h-causes-stop"} <= set(ids)
    assert len(ids) == len(set(ids))
    named = [each.get("aria-labelledby") for each in page.iter() if each.get("aria-labelledby")]
    assert {id for each in named for id in each.split()} <= set(ids)


def test_no_script_and_nothing_from_outside():
    page = tree(PAGE)
    assert "script" not in {each.tag for each in page.iter()}
    links = [each.get("href") for each in page.iter() if each.get("href")]
    assert links == ["load-01.html"]


def test_a_link_is_an_address_whatever_the_name():
    page = tree(work_order_page(SOUND, links={"load-01": "load #1.html"}))
    links = [each.get("href") for each in page.iter() if each.get("href")]
    assert links == ["load%20%231.html"]


def test_signs_are_drawn_to_scale():
    """K-02 lies at 0, 50 on its piece and is 90 x 40 mm; y goes upwards."""
    picture = of_class(tree(PAGE), "stock")[0]
    scale = float(picture.get("data-scale"))
    sheet = of_class(picture, "stock-sheet")[0]
    assert float(sheet.get("width")) / scale == pytest.approx(400, abs=0.01)
    box = of_class(picture, "placed-sign")[1]
    assert float(box.get("width")) / scale == pytest.approx(90, abs=0.01)
    assert float(box.get("height")) / scale == pytest.approx(40, abs=0.01)
    above = float(box.get("y")) - float(sheet.get("y"))
    assert above / scale == pytest.approx(150 - 50 - 40, abs=0.01)
    assert float(picture.get("width")) <= 703  # A4 within 12 mm margins: 186 mm of 96 px to 25.4 mm


def test_a_sheet_with_small_signs_is_drawn_in_parts():
    """A sign of 45 x 25 mm on a sheet of 3000 x 2000 mm would be 10 px wide on one page."""
    document = {
        "id": "stock-1",
        "stock": "acrylic-3",
        "size": [3000.0, 2000.0],
        "pieces": [{"id": "piece-1", "load": "load-01", "area": [0.0, 0.0, 3000.0, 2000.0]}],
        "signs": [
            {"id": f"K-{at}", "number": at, "area": [60.0 * at, 30.0 * at, 45.0, 25.0]}
            for at in range(1, 45)
        ],
    }
    found = stock_picture(document, "s")
    assert len(found.pictures) > 1
    told = " ".join(found.pictures)
    for at in range(1, 45):
        assert re.search(rf">{at}( K-{at})?<", told)
    for picture in found.pictures:
        width, height = re.findall(r' (?:width|height)="(\d+)"', picture)[:2]
        assert int(width) <= 690
        assert int(height) <= 560


def test_a_turned_piece_and_a_turned_sign():
    """A piece of 200 x 150 mm that is cut turned takes 150 x 200 mm. A sign of 90 x 40 mm that lies
    turned takes 40 x 90 mm; at 10, 20 on the piece it ends at y = 110, so that a quarter to the
    left brings it to x = 150 - 110 = 40 and y = 10, 90 wide and 40 high."""
    piece = OrderedPiece("p", "l", "s", (200.0, 150.0), (0.0, 0.0), (300.0, 5.0), cut="turned")
    sign = OrderedSign("K", "room", 1, "p", (10.0, 20.0), (90.0, 40.0), lies="turned")
    taken = piece_box(piece)
    assert (taken.x, taken.y, taken.width, taken.height) == (300, 5, 150, 200)
    box = sign_box(sign, piece)
    assert (box.x, box.y, box.width, box.height) == (340, 15, 90, 40)


def test_causes_are_grouped_and_not_told_by_sign():
    made = judged(changed=thin_dots)
    report = work_order_report(made)
    low = [cause for cause in report["causes"]["stop"] if cause["rule"] == "braille.dot-height"]
    assert len(low) == 1
    rooms = [sign.id for sign in made.order.signs if sign.type == "room"]
    assert low[0]["signs"] == rooms
    assert "703.3.1" in low[0]["source"]
    assert report["counts"]["signs_failing"] >= len(rooms)
    text = work_order_text(report)
    rows = sorted({sign.row for sign in made.order.signs if sign.type == "room"})
    assert low[0]["rows"] == rows
    assert len(rows) == 1
    assert f"on 4 signs: K-01, K-02, K-04, K-06 (row {rows[0]})" in text
    assert text.count("braille.dot-height") == 1
    assert "DO NOT PRINT" in text.splitlines()[0]
    page = seen(tree(work_order_page(made)))
    assert "Leave out 2 loads: load-01, load-02." in page


def test_every_finding_is_in_a_cause():
    """What is broken, doubtful or unassessed and no note, counted in the evaluations themselves."""
    made = judged(changed=thin_dots)
    causes = causes_of(made.evaluations)
    counted = sum(cause.checks for cause in causes)
    results = made.evaluations.values()
    assert counted == sum(len(each.violations) + len(each.unassessed) for each in results)


@pytest.mark.parametrize(
    ("ids", "words"),
    [
        (["b", "a"], "a, b"),
        (["a", "b", "c", "e"], "a to c, e"),
        (["e", "d", "c", "z"], "c to e, z"),
        (["z", "y", "x"], "z, y, x"),
        ([], ""),
    ],
)
def test_runs_of_ids(ids, words):
    assert runs_of_ids(ids, ["a", "b", "c", "d", "e"]) == words


@pytest.mark.parametrize(
    ("ids", "words"),
    [
        (["E-01", "E-02", "E-03", "E-04", "E-06"], "E-01 to E-04, E-06"),
        (["K-8", "K-9", "K-10", "K-11"], "K-8 to K-11"),
        (["E-01", "lobby", "E-03"], "E-01 to E-03"),
        (["1", "2", "3", "5"], "1 to 3, 5"),
    ],
)
def test_a_run_ends_where_a_number_is_skipped(ids, words):
    assert runs_of_ids(ids, ids) == words


def test_ids_leave_a_path():
    assert general_path("signs.K-01.braille.cells") == "signs.*.braille.cells"
    assert general_path("printer.swath") == "printer.swath"


def test_what_was_not_judged_is_told():
    order, outcomes = judged_order()
    outcomes = outcomes | {"load-02": NotEvaluated("load-02.toml: a worker died")}
    made = JudgedOrder(order.name, order, {}, outcomes)
    text = work_order_text(work_order_report(made))
    assert "load-02: load-02.toml: a worker died" in text
    page = seen(tree(work_order_page(made)))
    assert "1 load not judged" in page
    assert "Leave out 1 load: load-02." in page


def test_the_cautions_are_there():
    page = seen(tree(PAGE))
    for words in ("Moving carriage", "UV light", "Uncured ink", "qualified reader", "Local codes"):
        assert words in page


def test_prices_stand_on_the_page_where_there_are_rates():
    page = seen(tree(PAGE))
    total = SOUND.estimate(RATES).total
    assert f"Total: {total} EUR" in page
    assert "What it costs" not in seen(tree(work_order_page(SOUND)))


def test_hostile_names_stay_text():
    name = "<script>alert(1)</script>\u202e"
    page = tree(work_order_page(judged(name=name, notes=[name])))
    assert "script" not in {each.tag for each in page.iter()}
    assert "\u202e" not in seen(page)


def test_the_command_writes_all_pages(tmp_path, capsys):
    written_order(tmp_path / "day")
    out = tmp_path / "pages"
    assert main(["sheet", str(tmp_path / "day"), "-o", str(out)]) == 0
    assert sorted(each.name for each in out.iterdir()) == [
        "index.html",
        "load-01.html",
        "load-02.html",
    ]
    page = tree((out / "index.html").read_text("utf-8"))
    links = [each.get("href") for each in page.iter() if each.get("href")]
    assert links == ["load-01.html", "load-02.html"]
    assert all((out / link).is_file() for link in links)
    assert capsys.readouterr().out.startswith(f"{out / 'index.html'}: CHECKS PASS: 2 loads")


def test_the_command_says_what_it_cannot_do(tmp_path, capsys):
    written_order(tmp_path / "day")
    (tmp_path / "file").write_text("")
    assert main(["sheet", str(tmp_path / "day"), "-o", str(tmp_path / "file")]) == 2
    assert "expected a folder to write to" in capsys.readouterr().err
    job = str(tmp_path / "day" / "load-01.toml")
    page = str(tmp_path / "page.html")
    assert main(["sheet", job, "-o", page, "--rates", "rates.toml"]) == 2
    assert "expected a folder of a work order" in capsys.readouterr().err
    (tmp_path / "none").mkdir()
    assert main(["sheet", str(tmp_path / "none"), "-o", str(tmp_path / "pages")]) == 2
    assert "a folder without jobs" in capsys.readouterr().err


def test_a_load_called_index_is_refused(tmp_path, capsys):
    written_order(tmp_path / "day")
    day: Path = tmp_path / "day"
    (day / "work-order.toml").unlink()
    (day / "load-01.toml").rename(day / "index.toml")
    assert main(["sheet", str(day), "-o", str(tmp_path / "pages")]) == 2
    assert "that page is there already" in capsys.readouterr().err


def test_check_by_cause(tmp_path, capsys):
    written_order(tmp_path / "day")
    assert main(["check", str(tmp_path / "day"), "--by-cause"]) == 0
    text = capsys.readouterr().out
    assert text.startswith("Harbour clinic, invented: CHECKS PASS: 2 loads")
    assert main(["check", str(tmp_path / "day"), "--by-cause", "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["counts"]["signs"] == 9
    assert main(["check", str(tmp_path / "day"), "--by-cause", "--strict"]) == 1
    capsys.readouterr()
    two = [str(tmp_path / "day" / f"load-0{number}.toml") for number in (1, 2)]
    assert main(["check", *two, "--by-cause"]) == 2
    assert "found 2 files and folders, expected one job, or one folder" in capsys.readouterr().err
    assert main(["check", str(tmp_path / "day"), "--by-cause", "--format", "sarif"]) == 2
    assert "expected text or json" in capsys.readouterr().err


def test_plain_check_of_the_folder_takes_the_work_order_for_no_job(tmp_path, capsys):
    written_order(tmp_path / "day")
    assert main(["check", str(tmp_path / "day")]) == 0
    out = capsys.readouterr().out
    assert "load-01.toml" in out
    assert "work-order" not in out


def test_a_waived_cause_is_told_as_such():
    def waive(jobs):
        for job in jobs.values():
            job["waivers"] = [
                {
                    "rule": "figures.together",
                    "subject": "job",
                    "reason": "measured twice",
                    "by": "the workshop",
                }
            ]

    report = work_order_report(judged(changed=waive))
    (cause,) = report["causes"]["waived"]
    assert (cause["rule"], cause["signs"], cause["loads"]) == (
        "figures.together",
        [],
        ["load-01", "load-02"],
    )
    assert "Waived:\n  figures.together" in work_order_text(report)


def test_a_check_of_a_pass_concerns_the_signs_that_it_builds():
    """K-01 to K-03 lie on one piece; its dots build two of them, so the third is not concerned."""
    made = judged(changed=thin_dots)
    causes = {cause.rule: cause for cause in causes_of(made.evaluations) if cause.kind == "review"}
    (checks,) = [
        [check for check in result.checks if check.subjects == ("passes.piece-1-braille",)]
        for load, result in made.evaluations.items()
        if load == "load-01"
    ]
    assert checks
    job = made.outcomes["load-01"].job
    assert signs_of_check(checks[0], job) == ("K-01", "K-02")
    assert all(cause.signs or cause.loads for cause in causes.values())


def test_loads_with_alignments_on_record_need_none():
    def on_record(jobs):
        for job in jobs.values():
            job["alignments"] = [{"extra": "0.275 mm"}]

    report = work_order_report(judged(changed=on_record))
    assert [load["alignments"] for load in report["sequence"]] == [[], []]
    assert [load["on_record"] for load in report["sequence"]] == [[0.275], [0.275]]
    assert "no alignment to make" in work_order_text(report)


def test_what_a_load_before_has_made_is_told(tmp_path):
    written_order(tmp_path / "day")
    made = judge_work_order(tmp_path / "day")
    report = work_order_report(made)
    first, second = report["sequence"]
    assert (first["alignments"], first["aligned_before"], first["gap_settings"]) == ([0.275], [], 1)
    assert (second["alignments"], second["aligned_before"]) == ([], [0.275])
    assert (second["gap_is_kept"], second["gap_settings"], second["on_record"]) == (True, 0, [])
    assert "no alignment to make (aligned before at 0.275 mm), 0 gap settings" in work_order_text(
        report
    )
    assert "0, the first one stands" in seen(tree(work_order_page(made)))


def test_very_small_signs_stay_in_the_key():
    """Signs of 1 x 1 mm on 3000 x 2000 mm would need hundreds of pages at 8 pt."""
    document = {
        "id": "stock-1",
        "stock": "acrylic-3",
        "size": [3000.0, 2000.0],
        "pieces": [{"id": "piece-1", "load": "load-01", "area": [0.0, 0.0, 2.0, 2.0]}],
        "signs": [{"id": "K-1", "number": 1, "area": [0.0, 0.0, 1.0, 1.0]}],
    }
    found = stock_picture(document, "s")
    assert len(found.pictures) <= 24
    assert found.key == ("1 K-1",)
    assert found.pieces == ("piece-1 in load-01",)


def test_a_load_without_a_plan_says_why(tmp_path, capsys):
    def blocked(jobs):
        first, second = jobs["load-02"]["passes"][:2]
        first["gap"] = {"extra": 0, "above": "media"}
        first["after"] = [second["id"]]

    made = judged(changed=blocked)
    page = seen(tree(work_order_page(made)))
    assert "Leave out 1 load: load-02." in page
    assert "not known" in page
    jobs = drawn_order()[1]
    blocked(jobs)
    written_order(tmp_path / "day")
    write_job(job_from_dict(jobs["load-02"]), tmp_path / "day" / "load-02.toml")
    assert main(["sheet", str(tmp_path / "day"), "-o", str(tmp_path / "pages")]) == 1
    assert "load-02: " in capsys.readouterr().err
    assert (tmp_path / "pages" / "load-02.html").is_file()
    assert main(["estimate", str(tmp_path / "day")]) == 1
    assert "no plan: " in capsys.readouterr().out


def test_a_worker_that_died_ends_with_3():
    order, outcomes = judged_order()
    outcomes = outcomes | {"load-02": NotEvaluated("a worker died")}
    files = {"load-01": "load-01.toml", "load-02": "load-02.toml"}
    assert status_of_folder(JudgedOrder(order.name, order, files, outcomes), fine=True) == 3


def test_a_sheet_of_unknown_waste_stands_on_the_page():
    _, jobs = drawn_order()
    for job in jobs.values():
        for sign in job["signs"]:
            del sign["area"]
        for sheet in job["media"]:
            del sheet["material"]
    outcomes = {id: evaluate(job_from_dict(job)) for id, job in jobs.items()}
    page = seen(tree(work_order_page(JudgedOrder("a folder", None, {}, outcomes))))
    assert "material not stated, 3\u00a0mm" in page
    none = dict.fromkeys(["load-01", "load-02"], NotEvaluated("no"))
    order, _ = drawn_order()
    page = seen(tree(work_order_page(JudgedOrder(order.name, order, {}, none))))
    assert "2 loads not judged" in page
