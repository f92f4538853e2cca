"""The plugin as signrules sees it, with the library and without."""

from __future__ import annotations

import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor

import pytest
import signrules_liblouis.plugin as plugin
from hypothesis import given, settings
from signrules_liblouis import binding
from signrules_liblouis.__main__ import main
from signrules_liblouis.binding import LIBRARY, LONGEST, LiblouisError, liblouis

from signrules import API_VERSION, evaluate, job_from_dict, load_plugins
from signrules.braille.escapes import is_translation
from signrules.testing import assert_hook_contract, sound_jobs


def present():
    try:
        liblouis()
    except LiblouisError:
        return False
    return True


needs_liblouis = pytest.mark.skipif(not present(), reason="liblouis is not installed")


@pytest.fixture
def absent(monkeypatch):
    """As on a machine without liblouis."""
    monkeypatch.setenv(LIBRARY, "no-such-library.so")
    liblouis.cache_clear()
    yield
    liblouis.cache_clear()


def sign_job(cells):
    return job_from_dict(
        {
            "signrules": 1,
            "standards": ["us-ada-2010"],
            "printer": {
                "bed": [600, 450],
                "base_gap": 1.5,
                "min_clearance": 1,
                "gap": {"control": "spacers", "spacers": [1]},
                "head_length": 40,
                "carriage_speed": "800 mm/s",
                "drop_speed": "6 m/s",
            },
            "media": [{"id": "panel", "thickness": 3, "size": [200, 200]}],
            "inks": [{"id": "clear", "layer": "30 um"}],
            "passes": [{"id": "dots", "ink": "clear", "builds": "stair.braille"}],
            "signs": [{"id": "stair", "text": ["STAIR"], "braille": {"cells": cells}}],
        }
    )


def braille_text(cells):
    result = evaluate(sign_job(cells), plugins=load_plugins(objects=[plugin]))
    assert result.faults == ()
    (check,) = [check for check in result.checks if check.rule == "braille.text"]
    return check


@needs_liblouis
@pytest.mark.parametrize(("cells", "outcome"), [("⠌⠁⠊⠗", "MET"), ("⠎⠞⠁⠊⠗", "BROKEN")])
def test_the_rule_on_text_hears_it(cells, outcome):
    assert braille_text(cells).outcome.value == outcome


def test_it_is_found_by_its_entry_point():
    found = [
        each for each in load_plugins(entry_points=True).loaded if each.name == "signrules-liblouis"
    ]
    if not found:
        pytest.skip("signrules-liblouis is not installed in this environment")
    assert found[0].hooks == ("signrules_translate_braille",)


@pytest.mark.usefixtures("absent")
def test_without_the_library_nothing_is_assessed_and_nothing_fails(capsys):
    check = braille_text("⠌⠁⠊⠗")
    assert check.outcome.value == "UNASSESSED"
    assert main() == 1
    said = capsys.readouterr().err
    assert "liblouis is not installed" in said
    assert "apt-get install liblouis20 liblouis-data" in said


@needs_liblouis
def test_the_command_says_the_version(capsys):
    assert main() == 0
    assert capsys.readouterr().out.startswith(f"liblouis {liblouis().version}: en contracted")


@settings(max_examples=15, deadline=None)
@given(sound_jobs())
def test_it_fails_on_no_sound_job(job):
    assert evaluate(job, plugins=load_plugins(objects=[plugin])).faults == ()


def test_it_says_for_which_version_of_the_api_it_was_written():
    (own,) = [each for each in load_plugins(objects=[plugin]).loaded if each.origin == "object"]
    assert own.api == plugin.signrules_api
    assert own.api.split(".")[0] == API_VERSION.split(".")[0]


@pytest.mark.parametrize(
    ("grade", "language"), [("contracted", "sv"), ("half", "en"), ("contracted", "")]
)
def test_what_it_has_no_table_for(grade, language):
    assert plugin.signrules_translate_braille("stop", grade, language) is None


@needs_liblouis
@pytest.mark.parametrize("grade", ["contracted", "uncontracted"])
def test_what_the_table_does_not_have_is_told_from_a_translation(grade):
    # Unified English Braille has cells for the second row, not for the first (sections 3, 4 and 7,
    # from memory).
    for unknown in ("★ main", "♿", "№ 5", "ｍａｉｎ", "Ж", "日"):
        cells = plugin.signrules_translate_braille(unknown, grade, "en")
        assert not is_translation(cells, unknown)
    for known in ("main", "café", "3–4", "½", "→", "“x”", "20 °", "ﬁ", "€", "ß"):
        cells = plugin.signrules_translate_braille(known, grade, "en")
        assert is_translation(cells, known)


@needs_liblouis
def test_a_table_that_is_not_there_is_an_error():
    with pytest.raises(LiblouisError, match="are its tables installed"):
        liblouis().translate("stop", "no-such-table.ctb")


@needs_liblouis
def test_a_line_that_is_too_long():
    with pytest.raises(LiblouisError, match="at most"):
        liblouis().translate("a" * (LONGEST + 1), "unicode.dis,en-ueb-g2.ctb")


@needs_liblouis
@pytest.mark.parametrize(
    "text", ["", " ", "é", "𝒜", "\ud800", "a" * LONGEST, "A" * 500, "\x00x", "⠌"]
)
def test_odd_texts_come_to_cells_or_to_an_error(text):
    try:
        cells = liblouis().translate(text, "unicode.dis,en-ueb-g2.ctb")
    except LiblouisError:
        return
    assert all(each == " " or "\u2800" <= each <= "\u28ff" for each in cells)


@needs_liblouis
def test_many_threads_get_the_same_answers():
    texts = ["stair", "exit", "room 101", "women"] * 50
    with ThreadPoolExecutor(8) as pool:
        found = list(
            pool.map(
                lambda text: plugin.signrules_translate_braille(text, "contracted", "en"), texts
            )
        )
    assert found == ["⠌⠁⠊⠗", "⠑⠭⠊⠞", "⠗⠕⠕⠍⠀⠼⠁⠚⠁", "⠺⠕⠍⠢"] * 50


def test_nothing_is_loaded_at_import():
    code = "import signrules_liblouis.plugin as p; print(p.liblouis.cache_info().currsize)"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "0"


def test_a_library_that_is_not_liblouis(monkeypatch):
    class Other:
        pass

    monkeypatch.setattr(binding, "_load", Other)
    with pytest.raises(LiblouisError, match="no liblouis"):
        binding.Liblouis()


def test_the_hook_keeps_its_laws():
    assert_hook_contract(plugin)
