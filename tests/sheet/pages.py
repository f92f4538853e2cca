"""Pages for the tests: jobs evaluated and written, read back as XML, and looked at in a browser
without a window.
"""

from __future__ import annotations

import base64
import functools
import json
import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from pypdf import PdfReader

import signrules

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
NBSP = "\u00a0"


@functools.cache
def example(name: str) -> tuple[signrules.Evaluation, str]:
    """An example job evaluated, and its page."""
    result = signrules.evaluate(signrules.read_job(EXAMPLES / f"{name}.toml"))
    return result, signrules.run_sheet(result)


def sheet_of(data: dict[str, Any]) -> tuple[signrules.Evaluation, str]:
    """The same for a job as plain data."""
    result = signrules.evaluate(signrules.job_from_dict(data))
    return result, signrules.run_sheet(result)


def tree(page: str) -> ElementTree.Element:
    """The page as XML; it must be well-formed."""
    head, _, body = page.partition("<!DOCTYPE html>")
    assert not head.strip()
    return ElementTree.fromstring(body)


def seen(element: ElementTree.Element) -> str:
    """What a reader sees or hears of an element, on one line."""
    return re.sub(r"[ \n\t]+", " ", " ".join(_texts_of(element))).strip()


def _texts_of(element: ElementTree.Element) -> Iterator[str]:
    if element.tag not in ("style", "script"):
        yield element.text or ""
    for each in element:
        yield from _texts_of(each)
        yield each.tail or ""


def of_class(element: ElementTree.Element, *kinds: str) -> list[ElementTree.Element]:
    """The elements that are of all these classes."""
    return [each for each in element.iter() if set(kinds) <= set(each.get("class", "").split())]


# --- a browser ------------------------------------------------------------------------------------

BROWSER = next(
    (
        found
        for name in ("chromium", "chromium-browser", "google-chrome")
        if (found := shutil.which(name))
    ),
    None,
)
needs_browser = pytest.mark.skipif(
    BROWSER is None, reason="no Chromium on this machine: install the package chromium"
)
AXE = os.environ.get("SIGNRULES_AXE")
needs_axe = pytest.mark.skipif(
    AXE is None, reason="SIGNRULES_AXE names no axe.min.js of the npm package axe-core"
)

FLAGS = """
    --headless --no-sandbox --disable-gpu --disable-quic --no-first-run
    --disable-background-networking
    --disable-component-update --disable-sync --hide-scrollbars --virtual-time-budget=20000
""".split()  # noqa: SIM905, one flag a line is no easier to read


def browse(page: str, folder: Path, *flags: str) -> str:
    """Open a page in a new browser, with nothing left of an earlier one; gives its
    standard output.
    """
    file = folder / "page.html"
    file.write_text(page, encoding="utf-8")
    assert BROWSER is not None
    with tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile:
        command = [BROWSER, *FLAGS, f"--user-data-dir={profile}", *flags, file.as_uri()]
        done = subprocess.run(
            command, capture_output=True, text=True, encoding="utf-8", timeout=180, check=False
        )
    assert done.returncode == 0, done.stderr[-2000:]
    return done.stdout


def ask(page: str, folder: Path, script: str, width: int) -> str:
    """Open a copy of a page and give what a script, which must call `tell(text)` at some time,
    tells of it.
    """
    tell = (
        "function tell(text) { const e = document.createElement('pre'); e.id = 'told';"
        " e.textContent = "
    )
    tell += "btoa(unescape(encodeURIComponent(text))); document.body.replaceChildren(e); }"
    copy = page.replace("</body>", f"<script>{tell}\n{script}</script></body>")
    assert copy != page
    dom = browse(copy, folder, f"--window-size={width},1000", "--dump-dom")
    told = re.search(r'<pre id="told">([^<]*)</pre>', dom)
    assert told, dom[-2000:]
    return base64.b64decode(told[1]).decode("utf-8")


def printed(page: str, folder: Path, size: str) -> list[str]:
    """Print a page on a size of paper; gives the text of each sheet."""
    target = folder / "page.pdf"
    copy = page.replace("</style>", f"@page {{ size: {size}; }}</style>")
    browse(copy, folder, "--no-pdf-header-footer", f"--print-to-pdf={target}")
    return [sheet.extract_text() for sheet in PdfReader(target).pages]


def axe_findings(page: str, folder: Path) -> dict[str, Any]:
    """What axe-core finds on a page: `violations`, and the rules that it `passes`."""
    assert AXE is not None
    axe = Path(AXE).read_text(encoding="utf-8").replace("</script", "<\\/script")
    script = f"""{axe}
    const wanted = {{resultTypes: ['violations', 'incomplete', 'passes']}};
    const nodes = v => v.nodes.map(n => n.html.slice(0, 200));
    window.addEventListener('load', () => axe.run(document, wanted)
      .then(found => tell(JSON.stringify({{
        violations: found.violations.map(v => [v.id, v.help, nodes(v)]),
        passes: found.passes.map(v => v.id)}})),
        error => tell(JSON.stringify({{violations: [String(error)]}}))));
    """
    found: dict[str, Any] = json.loads(ask(page, folder, script, 794))
    return found
