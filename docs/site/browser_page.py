"""The page that runs signrules in the reader's browser: what it shows, and the files that it loads.

Python for the browser is the npm package `pyodide`; `SIGNRULES_PYODIDE` names its folder. Without
it the page is built all the same: it says so, and shows the answer to its first example.
"""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import tempfile
import zipfile
from collections.abc import Iterator
from importlib.metadata import Distribution, distribution
from pathlib import Path

from figures import patterns
from packaging.requirements import Requirement

SITE = Path(__file__).parent
ROOT = SITE.parents[1]
PAGE = SITE / "browser"
EXAMPLES = {
    "clinic": "A clinic's room sign",
    "clinic-scrapes": "The same, in an order that scrapes",
    "two-thicknesses": "Two thicknesses on one bed",
}
PYTHON_FILES = (
    "README.md",
    "package.json",
    "pyodide-lock.json",
    "pyodide.asm.mjs",
    "pyodide.asm.wasm",
    "pyodide.mjs",
    "python_stdlib.zip",
)
EXTRAS = ("", "sheet")
NOT_NEEDED = ("babel",)
"""Only sheets in other languages than English need it, and it is as large as all the rest."""

_IN_THE_BROWSER = {"sys_platform": "emscripten", "python_version": "3.14"}
_NOT_PACKED = ("RECORD", "INSTALLER", "REQUESTED", "direct_url.json")
_BEGINNING = (1980, 1, 1, 0, 0, 0)
"""The time of each file in the archive, so that the same build gives the same archive."""


def python_folder() -> Path | None:
    """The folder of the npm package pyodide, where there is one."""
    named = os.environ.get("SIGNRULES_PYODIDE")
    if not named:
        return None
    missing = [name for name in PYTHON_FILES if not (Path(named) / name).is_file()]
    if missing:
        raise SystemExit(f"SIGNRULES_PYODIDE: {', '.join(missing)} not found in {named}")
    return Path(named)


def editor_html() -> str:
    """The part of the page that is not Markdown, with the answer that it starts with."""
    sys.path.insert(0, str(PAGE))
    from answering import answer

    texts = {
        name: (ROOT / "docs" / "examples" / f"{name}.toml").read_text("utf-8") for name in EXAMPLES
    }
    first = {"examples": texts, "first": answer(texts["clinic"])}
    options = "".join(
        f'<option value="{name}">{title}</option>' for name, title in EXAMPLES.items()
    )
    parts = {
        "@PYTHON@": "yes" if python_folder() else "no",
        "@EXAMPLES@": options,
        # Nothing in it may end the element that it stands in.
        "@FIRST@": json.dumps(first).replace("<", "\\u003c"),
    }
    page = (PAGE / "try.html").read_text("utf-8")
    for mark, text in parts.items():
        page = page.replace(mark, text)
    return page + patterns()


def put_files(target: Path) -> None:
    """Put what the page loads into a folder of the site."""
    target.mkdir(parents=True, exist_ok=True)
    for name in ("try.js", "try_worker.js"):
        shutil.copy(PAGE / name, target / name)
    source = python_folder()
    if source is None:
        return
    (target / "python").mkdir(exist_ok=True)
    for name in PYTHON_FILES:
        shutil.copy(source / name, target / "python" / name)
    _pack(target / "packages.zip")


def _pack(archive: Path) -> None:
    """Pack signrules, what it needs and the module that answers, as they lie in site-packages."""
    with (
        tempfile.TemporaryDirectory() as folder,
        zipfile.ZipFile(archive, "w", zipfile.ZIP_DEFLATED) as packed,
    ):
        command = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", folder]
        subprocess.run(command, cwd=ROOT, check=True, capture_output=True)
        [wheel] = Path(folder).glob("*.whl")
        with zipfile.ZipFile(wheel) as built:
            for name in built.namelist():
                _put(packed, name, built.read(name))
        for needed in needed_distributions():
            for name, content in _contents(needed):
                _put(packed, name, content)
        _put(packed, "answering.py", (PAGE / "answering.py").read_bytes())


def _put(packed: zipfile.ZipFile, name: str, content: bytes) -> None:
    packed.writestr(zipfile.ZipInfo(name, _BEGINNING), content, zipfile.ZIP_DEFLATED)


def needed_distributions() -> list[Distribution]:
    """What signrules needs in the browser, with what that needs, in the order of the names."""
    found: dict[str, Distribution] = {}
    waiting = list(_requirements(distribution("signrules"), EXTRAS))
    while waiting:
        name = waiting.pop()
        if name not in found and name not in NOT_NEEDED:
            found[name] = distribution(name)
            waiting += _requirements(found[name], ("",))
    return [found[name] for name in sorted(found)]


def _requirements(of: Distribution, extras: tuple[str, ...]) -> Iterator[str]:
    for line in of.requires or ():
        needed = Requirement(line)
        wanted = [
            extra
            for extra in extras
            if not needed.marker or needed.marker.evaluate(_IN_THE_BROWSER | {"extra": extra})
        ]
        if wanted:
            yield needed.name.lower().replace("_", "-")


def _contents(of: Distribution) -> Iterator[tuple[str, bytes]]:
    """The files of an installed package that Python reads, and what it says of itself."""
    for file in sorted(of.files or (), key=str):
        about = file.parts[0].endswith(".dist-info")
        wanted = file.suffix == ".py" or (about and file.name not in _NOT_PACKED)
        if wanted and "tests" not in file.parts and ".." not in file.parts:
            yield str(file), Path(str(file.locate())).read_bytes()
