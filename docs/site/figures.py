"""The pictures of the site: which there are, and the Markdown that stands for them on a page.

A page names a picture by a comment, `<!-- picture on the site: NAME -->`, so that its source reads
well without. The pictures are drawn by the library, or by `plots.py` from its numbers, each time
that the site is built.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from html import escape
from importlib.resources import files
from pathlib import Path

from attrs import frozen
from plots import PALETTES, Plot, growth_plot, landing_plot

import signrules
from signrules.sheet.cross_section import cross_section
from signrules.sheet.load_plan import load_plan
from signrules.sheet.scene import scale_of, scene_of_each

DOCS = Path(__file__).parents[1]
EXAMPLES = DOCS / "examples"
SHEET_PAGE = "clinic-run-sheet.html"
"""The run sheet that a page shows, beside the style sheets of the site."""

MARK = re.compile(r"<!-- picture on the site: ([\w-]+) -->")


@frozen
class Place:
    """Where files of pictures go, and how a page refers to that folder."""

    folder: Path
    address: str

    def put(self, name: str, text: str) -> str:
        """Write a file, and give its address."""
        (self.folder / name).write_text(text, encoding="utf-8")
        return f"{self.address}/{name}"


def with_pictures(page: str, place: Place) -> str:
    """A page with its pictures drawn and in place."""
    if not MARK.search(page):
        return page
    shown = MARK.sub(lambda mark: PICTURES[mark[1]](place), page)
    return f"{shown}\n{raw_html(patterns())}"


@cache
def _evaluated(path: str) -> signrules.Evaluation:
    job = EXAMPLES / path
    shop = job.parent / "signrules.toml"
    known = signrules.read_shop(shop) if shop.is_file() else None
    return signrules.evaluate(signrules.read_job(job, shop=known), shop=known)


@cache
def clinic_sheet() -> str:
    """The run sheet of the clinic's sign."""
    return signrules.run_sheet(_evaluated("clinic.toml"))


def patterns() -> str:
    """The fill patterns that cross-sections and plans of the bed are drawn with."""
    found = re.search(r'<svg class="defs".*?</svg>', clinic_sheet(), flags=re.S)
    if found is None:
        raise LookupError("the run sheet has no patterns")
    return found[0]


def picture_styles() -> str:
    """The styles of cross-sections and plans of the bed, for the inside of `.job-picture`."""
    styles = files("signrules.sheet").joinpath("pictures.css").read_text(encoding="utf-8")
    return f".job-picture {{\n{styles}}}\n"


def _section_of_dots(place: Place) -> str:
    result = _evaluated("clinic.toml")
    scenes = scene_of_each(result.timeline)
    scale = scale_of(result.job, tuple(scenes.values()))
    [at] = [index for index, each in enumerate(result.job.passes) if each.id == "dots"]
    svg = cross_section(scenes[at], scale, "clinic-dots")
    caption = (
        "The head over the clinic's sign as its dots are printed: what must stay free under it, the"
        " clearance over the highest ink, and the throw that drops fly."
    )
    return _drawing(svg, caption, "job-picture")


def _bed_of_wing(place: Place) -> str:
    result = _evaluated("wing/load-01.toml")
    svg = load_plan(result.timeline, result.job.media[0].load, "wing-load")
    caption = "A bed load of the invented wing: where its sheet and signs lie."
    return _drawing(svg, caption, "job-picture bed-plan")


def _graph_of_clinic(place: Place) -> str:
    svg = signrules.graph_svg(_evaluated("clinic.toml"), surfaces=True).partition("?>")[2]
    caption = "The job graph of the clinic's sign with its surfaces: signrules graph --surfaces."
    return _drawing(svg, caption, "job-graph")


def _sheet_of_clinic(place: Place) -> str:
    address = place.put(SHEET_PAGE, clinic_sheet())
    title = "The run sheet of the clinic's sign"
    caption = f'{title}. <a href="{address}">Open it alone</a>.'
    frame = f'<iframe src="{address}" title="{title}" loading="lazy"></iframe>'
    return raw_html(f'<figure class="paper">{frame}<figcaption>{caption}</figcaption></figure>')


def _drawing(svg: str, caption: str, kind: str) -> str:
    """A picture that the library draws. Wider than the page it scrolls, also by keys."""
    box = f'<div class="drawing {kind}" tabindex="0" role="group" aria-label="{escape(caption)}">'
    return raw_html(f"<figure>{box}{svg}</div><figcaption>{escape(caption)}</figcaption></figure>")


def raw_html(html: str) -> str:
    """Markdown that puts HTML on a page as it stands."""
    return f"\n```{{raw}} html\n{html}\n```\n"


def _plot(plot: Plot, place: Place) -> str:
    images = []
    for mode, palette in PALETTES.items():
        address = place.put(f"{plot.name}-{mode}.svg", plot.svg(palette))
        words = escape(plot.alt)
        images.append(f'<img class="only-{mode}" src="{address}" alt="{words}">')
    caption = f"<figcaption>{escape(plot.caption)}</figcaption>"
    return raw_html(f'<figure class="plot">{"".join(images)}{caption}</figure>')


def _landing(place: Place) -> str:
    return _plot(landing_plot(_evaluated("clinic.toml")), place)


def _growth(place: Place) -> str:
    return _plot(growth_plot((DOCS / "benchmarks.md").read_text("utf-8")), place)


PICTURES: dict[str, Callable[[Place], str]] = {
    "cross-section": _section_of_dots,
    "bed-plan": _bed_of_wing,
    "graph": _graph_of_clinic,
    "run-sheet": _sheet_of_clinic,
    "landing": _landing,
    "growth": _growth,
}
