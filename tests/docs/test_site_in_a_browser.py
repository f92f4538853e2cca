"""Pages of the site as a browser shows them: none is too wide, axe-core finds nothing in light or
dark, and one runs the library.
"""

from __future__ import annotations

import json
import os
from pathlib import Path

import pytest
from docs.site_browser import told_by
from sheet.pages import AXE, needs_axe, needs_browser

import signrules

EXAMPLES = Path(__file__).parents[2] / "docs" / "examples"
PAGES = (
    "index.html",
    "search.html",
    "docs/benchmarks.html",
    "docs/formats.html",
    "docs/how-it-computes.html",
    "docs/job-document.html",
    "docs/reference/model.html",
    "docs/rules.html",
    "docs/run-sheet.html",
    "docs/try-it.html",
)
"""One of each kind, and all with pictures."""

pytestmark = [pytest.mark.slow, needs_browser]
needs_python_for_it = pytest.mark.skipif(
    "SIGNRULES_PYODIDE" not in os.environ,
    reason="SIGNRULES_PYODIDE names no folder of the npm package pyodide",
)


@pytest.mark.parametrize("page", PAGES)
def test_no_page_is_wider_than_a_telephone(page, site):
    script = """
    const root = document.documentElement;
    tell({wide: root.scrollWidth, room: root.clientWidth, inner: window.innerWidth});
    """
    told, _ = told_by(site, page, script, width=390)
    assert told["inner"] <= 500  # the narrowest window that the browser opens
    assert told["wide"] <= told["room"]


SEARCH = """
const found = () => [...document.querySelectorAll("#search-results li > a")];
for (let tries = 0; tries < 200 && found().length < 5; tries += 1) {
  await new Promise((go) => setTimeout(go, 100));
}
tell(found().map((each) => each.getAttribute("href")));
"""


def test_the_search_finds_pages_before_names(site):
    found, _ = told_by(site, "search.html?q=clearance", SEARCH)
    assert "docs/rules.html#clearance" in found
    names = [place for place, link in enumerate(found) if "#signrules." in link]
    pages = [place for place, link in enumerate(found) if link.startswith("docs/rules.html")]
    assert min(pages) < min(names, default=len(found))


def test_on_a_telephone_a_cell_stands_beside_the_heading_of_its_column(site):
    script = """
    const cells = [...document.querySelectorAll("table.stacked td[data-label=meaning]")];
    const head = (cell) => getComputedStyle(cell, "::before").content;
    tell(cells.map((cell) => [cell.getBoundingClientRect().right, head(cell)]));
    """
    told, _ = told_by(site, "docs/job-document.html", script, width=390)
    assert len(told) > 100
    assert all(right <= 500 for right, _ in told)  # the narrowest window that the browser opens
    assert {head for _, head in told} == {'"meaning"'}


@needs_axe
@pytest.mark.parametrize("page", PAGES)
def test_axe_finds_nothing_in_light_or_dark(page, site):
    axe = Path(AXE).read_text(encoding="utf-8").replace("</script", "<\\/script")
    script = f"""
    const module = undefined;
    {axe}
    const found = {{}};
    for (const mode of ["light", "dark"]) {{
      document.body.dataset.theme = mode;
      await new Promise((go) => setTimeout(go, 500));
      const told = await window.axe.run(document, {{iframes: false}});
      found[mode] = {{
        ground: getComputedStyle(document.body).backgroundColor,
        violations: told.violations.map((v) => [v.id, v.nodes.map((n) => n.html.slice(0, 200))]),
        passes: told.passes.map((v) => v.id)}};
    }}
    tell(found);
    """
    told, _ = told_by(site, page, script)
    for mode in ("light", "dark"):
        assert told[mode]["violations"] == [], mode
        # One that judged nothing is not taken for a page without fault.
        assert {"color-contrast", "document-title", "html-has-lang"} <= set(told[mode]["passes"])
    assert told["light"]["ground"] != told["dark"]["ground"]


ASK = """
const part = (name) => document.getElementById(`try-${name}`);
const seen = [];
const settled = () => part("status").textContent.startsWith("This is the answer");
const until = async (what) => {
  for (let tries = 0; tries < 2000 && !what(); tries += 1) {
    if (part("status").dataset.kind === "bad") throw new Error(part("status").textContent);
    await new Promise((go) => setTimeout(go, 100));
  }
};
const look = () => ({
  verdict: part("verdict").textContent,
  text: part("answer").textContent,
  sections: part("answer").querySelectorAll("svg.section").length,
  graphs: part("answer").querySelectorAll("svg.sr").length,
  lines: [...part("answer").querySelectorAll(".try-line")].map((each) => each.textContent),
});
await until(() => part("verdict"));
seen.push(look());
for (const text of TEXTS) {
  part("status").textContent = "";
  part("text").focus();
  part("text").value = text;
  part("text").dispatchEvent(new Event("input"));
  await until(settled);
  seen.push(look());
}
tell(seen);
"""


@needs_python_for_it
def test_the_library_answers_in_the_browser(site):
    clinic = (EXAMPLES / "clinic.toml").read_text("utf-8")
    scrapes = (EXAMPLES / "clinic-scrapes.toml").read_text("utf-8")
    misspelt = clinic.replace("landing_tolerance", "landing_tolerence")
    texts = json.dumps([scrapes, misspelt, clinic])
    seen, asked = told_by(site, "docs/try-it.html", ASK.replace("TEXTS", texts))
    first, unsafe, faulty, again = seen
    # The same as outside the browser.
    sound = signrules.evaluate(signrules.read_job(EXAMPLES / "clinic.toml"))
    judged = signrules.evaluate(signrules.read_job(EXAMPLES / "clinic-scrapes.toml"))
    assert first == again
    assert first["verdict"] == sound.verdict
    assert (first["sections"], first["graphs"]) == (len(sound.job.passes), 1)
    assert "print ink-on-dots" in first["text"]
    assert "Moving carriage" in first["text"]
    assert unsafe["verdict"] == judged.verdict
    assert all(check.message in unsafe["text"] for check in judged.violations)
    row = misspelt.split("\n").index('landing_tolerence = "0.06 mm"') + 1
    assert "landing_tolerence" in faulty["text"]
    assert f"line {row}" in faulty["lines"]
    # What ran came from the site.
    assert {"/_static/browser/packages.zip", "/_static/browser/python/pyodide.asm.wasm"} <= {*asked}


@pytest.mark.skipif(
    "SIGNRULES_PYODIDE" in os.environ, reason="this site has Python for the browser"
)
def test_without_python_the_page_says_so_and_shows_the_example(site):
    script = """
    const status = document.getElementById("try-status").textContent;
    tell({status, verdict: document.getElementById("try-verdict").textContent});
    """
    told, _ = told_by(site, "docs/try-it.html", script)
    assert "built without Python" in told["status"]
    assert told["verdict"].startswith("CHECKS PASS")
