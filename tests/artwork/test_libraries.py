"""The libraries of the extra `artwork` are loaded late, and their absence is told."""

from __future__ import annotations

import subprocess
import sys

import pytest

from signrules.artwork.areas import covering_areas
from signrules.artwork.drawing import Shape
from signrules.artwork.fonts import measure_font
from signrules.artwork.libraries import pikepdf_library
from signrules.errors import SignrulesError


def test_nothing_of_them_is_loaded_before_it_is_needed():
    code = (
        "import sys, signrules, signrules.artwork.job_making, signrules.artwork.dot_pdf,"
        " signrules.artwork.fonts; print([m for m in ('shapely', 'fontTools', 'pikepdf', 'numpy')"
        " if m in sys.modules])"
    )
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout.strip() == "[]"


@pytest.mark.parametrize(
    ("module", "call", "package", "source"),
    [
        (
            "shapely",
            lambda: covering_areas([Shape(((0, 0), (1, 0), (0, 1)))], tolerance=0.5),
            "shapely",
            "signrules[artwork]",
        ),
        ("fontTools.ttLib", lambda: measure_font(b"OTTO", "a"), "fonttools", "signrules[artwork]"),
        ("pikepdf", pikepdf_library, "pikepdf", "signrules-artwork"),
    ],
)
def test_what_is_not_installed_is_told(monkeypatch, module, call, package, source):
    monkeypatch.setitem(sys.modules, module, None)
    with pytest.raises(SignrulesError, match=f"needs the package {package}") as told:
        call()
    assert source in str(told.value)
