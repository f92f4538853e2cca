"""From a schedule to its price and its pages: what `compose` makes is what the rest reads."""

from __future__ import annotations

import json
import shutil
from decimal import Decimal
from pathlib import Path

import pytest
from sheet.pages import seen, tree

from signrules.cli import main

WING = Path(__file__).parents[2] / "docs" / "examples" / "wing"
COUNTS = {"room": 1 + 3, "arrow": 2 + 1, "plate": 6}
"""Signs by type, added up by hand from the column Qty of the schedule."""


@pytest.fixture(scope="module")
def composed(tmp_path_factory):
    pytest.importorskip("rectpack")
    folder = tmp_path_factory.mktemp("wing") / "order"
    shop = ["--shop", str(WING / "signrules.toml")]
    assert main(["compose", str(WING / "doors.csv"), "-o", str(folder), *shop]) == 0
    return str(folder), shop


@pytest.mark.thorough
def test_every_sign_of_the_schedule_has_its_share_of_the_total(composed, capsys):
    folder, shop = composed
    assert main(["estimate", folder, *shop, "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    found = dict.fromkeys(COUNTS, 0)
    for row in told["rows"]:
        found[row["type"]] += row["quantity"]
    assert found == COUNTS
    assert sum(Decimal(sign["price"]) for sign in told["signs"]) == Decimal(told["total"])
    area = Decimal("0.036") * 4 + Decimal("0.036") * 3 + Decimal("0.0096") * 6
    (stock,) = told["stock"]
    assert Decimal(stock["signs_m2"]) == area
    assert Decimal(stock["area_m2"]) == stock["sheets"] * Decimal("0.27")


@pytest.mark.parametrize(
    ("before", "after", "path"),
    [
        ("at = [5.0, 5.0]", "at = [7.0, 5.0]", "signs["),
        ("size = [300.0, 120.0]", "size = [300.0, 121.0]", "signs["),
        ("at = [0.0, 0.0]\ncut_at", "at = [1.0, 0.0]\ncut_at", "pieces[0].at"),
    ],
)
def test_a_work_order_that_says_other_places_than_its_jobs_is_told(
    composed, tmp_path, capsys, before, after, path
):
    folder, shop = composed
    edited = tmp_path / "edited"
    shutil.copytree(folder, edited)
    text = (edited / "work-order.toml").read_text("utf-8")
    assert before in text
    (edited / "work-order.toml").write_text(text.replace(before, after, 1), "utf-8")
    assert main(["estimate", str(edited), *shop]) == 2
    assert path in capsys.readouterr().err


@pytest.mark.parametrize("command", [["check"], ["queue"], ["estimate"]])
def test_a_load_whose_job_is_gone_is_told(composed, tmp_path, capsys, command):
    folder, shop = composed
    short = tmp_path / "short"
    shutil.copytree(folder, short)
    (short / "load-02.toml").unlink()
    assert main([*command, str(short), *shop]) == 2
    captured = capsys.readouterr()
    assert "load-02.toml" in captured.out + captured.err


def test_every_sign_stands_on_the_page(composed, tmp_path, capsys):
    folder, shop = composed
    pages = tmp_path / "pages"
    assert main(["sheet", folder, *shop, "-o", str(pages)]) == 0
    text = seen(tree((pages / "index.html").read_text("utf-8")))
    ids = [f"N-02-{at}" for at in (1, 2, 3)] + [f"N-05-{at}" for at in range(1, 7)]
    for id in ["N-01", "N-03-1", "N-03-2", "N-04", *ids]:
        assert f" {id} " in text
    assert capsys.readouterr().out.startswith(f"{pages / 'index.html'}: CHECKS PASS")


def test_the_kept_example_is_one_that_can_be_read(capsys):
    assert main(["estimate", str(WING), "--format", "json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert sum(row["quantity"] for row in told["rows"]) == sum(COUNTS.values())
