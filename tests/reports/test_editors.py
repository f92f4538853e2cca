"""The schemas in an editor: the checker of the npm package @taplo/cli, which editors run too."""

from __future__ import annotations

import json
import re
import subprocess
import tomllib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from node_packages import node_command

from signrules import read_job
from signrules.cli import main
from signrules.errors import JobError, ShopError
from signrules.schemas import SCHEMAS, schema
from signrules.shop_file import read_shop

ROOT = Path(__file__).parents[2]
CLINIC = (ROOT / "docs" / "examples" / "clinic.toml").read_text("utf-8")
SHOPS = sorted((ROOT / "docs" / "examples").glob("*/signrules.toml"))


@pytest.fixture
def lines_at_fault(tmp_path):
    """The lines of a TOML text that the checker points at, by its `#:schema` line."""
    command = node_command("@taplo/cli", "taplo")

    def lines_at_fault(text: str, name: str) -> list[str]:
        (tmp_path / "its.schema.json").write_text(json.dumps(schema(name)), "utf-8")
        path = tmp_path / "document.toml"
        path.write_text(f"#:schema ./its.schema.json\n{text}", "utf-8")
        done = subprocess.run(
            [*command, "lint", "--colors", "never", path.name],
            cwd=tmp_path,
            capture_output=True,
            text=True,
        )
        assert "its.schema.json" not in done.stderr, done.stderr
        numbers = {int(number) for number in re.findall(r"document\.toml:(\d+):", done.stderr)}
        assert (done.returncode != 0) == bool(numbers), done.stderr
        lines = path.read_text("utf-8").split("\n")
        return [lines[number - 1] for number in sorted(numbers)]

    return lines_at_fault


def test_every_example_is_sound(lines_at_fault):
    assert lines_at_fault(CLINIC, "job") == []
    for path in SHOPS:
        assert lines_at_fault(path.read_text("utf-8"), "shop") == [], path


@pytest.mark.parametrize(
    ("right", "wrong"),
    [
        ("standards = [", "standrds = ["),
        ("head_length =", "head_lenght ="),
        ("minutes = { load", "minutes = { laod"),
        ('spacers = ["', 'spacrs = ["'),
        ("bow =", "bwo ="),
        ("layers = 24", "layrs = 24"),
        ('above = "build-up"', 'abvoe = "build-up"'),
        ("dome_radius =", "dome_raduis ="),
        ("position =", "positoin ="),
        ('bow = "0.2 mm"', 'bow = { is = "0.2 mm", asumed = "not measured" }'),
    ],
)
def test_a_misspelt_key_is_shown_at_its_own_line(lines_at_fault, right, wrong):
    text = CLINIC.replace("[signs.braille]", "[signs.braille]\ndome_radius = 1")
    assert right in text
    document = text.replace(right, wrong, 1)
    (written,) = [line for line in document.split("\n") if line not in text.split("\n")]
    found = lines_at_fault(document, "job")
    assert written in found
    # Where the right key is required the table is shown too, since that lacks it.
    if not right.startswith(("head_length", "spacers")):
        assert found == [written]
    Path("misspelt.toml").write_text(document, "utf-8")
    with pytest.raises(JobError):
        read_job("misspelt.toml")


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)


def test_a_new_shop_file_is_checked_by_the_schema_beside_it(tmp_path):
    command = node_command("@taplo/cli", "taplo")
    assert main(["shop", "--new", "signrules.toml"]) == 0

    def told(text: str) -> str:
        (tmp_path / "signrules.toml").write_text(text, "utf-8")
        return subprocess.run(
            [*command, "lint", "--colors", "never", "signrules.toml"],
            cwd=tmp_path,
            capture_output=True,
            text=True,
        ).stderr

    new = (tmp_path / "signrules.toml").read_text("utf-8")
    assert new.startswith("#:schema ./.signrules.schema.json\n")
    assert "error" not in told(new)
    assert "error" not in told(f"{new}\n[printers.flatbed]\nbed = [600, 450]\nresolution = 600\n")
    wrong = f"{new}\n[printers.flatbed]\nbed = [600, 450]\nresoluton = 600\n"
    line = wrong.count("\n")
    assert set(re.findall(r"signrules\.toml:(\d+):", told(wrong))) == {str(line)}


def test_the_schema_of_a_new_shop_file_is_no_job(capsys):
    assert main(["shop", "--new", "signrules.toml"]) == 0
    Path("clinic.toml").write_text(CLINIC, "utf-8")
    assert json.loads(Path(".signrules.schema.json").read_text("utf-8")) == schema("shop")
    capsys.readouterr()
    assert main(["check", "."]) == 0
    assert "1 job: 1 passes" in capsys.readouterr().out.replace("1 pass.", "1 passes")


SHOP = jsonschema.Draft202012Validator(schema("shop"))


@pytest.mark.parametrize("path", SHOPS, ids=lambda path: path.parent.name)
def test_shop_files_of_the_documents_keep_to_their_schema(path):
    assert read_shop(path) is not None
    SHOP.validate(json.loads(json.dumps(tomllib.loads(path.read_text("utf-8")), default=str)))


@pytest.mark.parametrize(
    "line",
    [
        "rulse = {}",
        "printers.flatbed.bde = [600, 450]",
        "printers.flatbed.id = 'flatbed'",
        "sheets.acrylic.at = [0, 0]",
        "inks.clear.layer = 'thick'",
        "materials.acrylic.modulus = 3",
        "alignments = [{ extra = '0 mm', printr = 'flatbed' }]",
        "layers = [{ stpe = 'Braille' }]",
        "sign_types.room.txt = ['a']",
        "schedule.clumns = {}",
        "composition.guter = 3",
        "rules.clearance.margin.levle = 'NOTE'",
        "rules.clearance.margin.level = 'LOUD'",
        "plugins.own.setings = {}",
        "signrules = 2",
    ],
)
def test_what_the_reader_of_shop_files_refuses_the_schema_refuses(line):
    head = "" if line.startswith("signrules") else "signrules = 1\n"
    Path("signrules.toml").write_text(f"{head}{line}\n", "utf-8")
    with pytest.raises(ShopError):
        read_shop("signrules.toml")
    assert not SHOP.is_valid(tomllib.loads(f"{head}{line}\n"))


@pytest.mark.parametrize("name", SCHEMAS)
def test_each_has_a_name_of_its_own_and_no_address(name):
    assert schema(name)["$id"] == f"urn:signrules:{name}"


CONDITIONS = ("if", "then", "else")


def keys_within(part: Any, path: tuple[str, ...] = ()) -> Iterator[tuple[str, Any]]:
    """Each key that a schema declares, with the schema of its value; none of its conditions."""
    if isinstance(part, list):
        for inner in part:
            yield from keys_within(inner, path)
    if not isinstance(part, dict):
        return
    for key, value in part.get("properties", {}).items():
        if not set(path) & set(CONDITIONS):
            yield ".".join((*path, key)), value
        yield from keys_within(value, (*path, key))
    for name, inner in part.items():
        if name != "properties":
            yield from keys_within(inner, (*path, name))


@pytest.mark.parametrize("name", SCHEMAS)
def test_every_key_is_described(name):
    declared = dict(keys_within(schema(name)))
    silent = [path for path, value in declared.items() if not value.get("description", "").strip()]
    assert silent == []
    assert len(declared) >= len(schema(name).get("properties", {}))
    assert declared
