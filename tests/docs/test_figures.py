"""The plots of the site show the library's own numbers, and can be read in light and in dark."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from docs.site_building import ROOT

import signrules

pytest.importorskip("matplotlib", reason="matplotlib is not installed; the extra 'docs' brings it")


@pytest.fixture
def plots(site_modules):
    import plots

    return plots


@pytest.fixture
def clinic():
    return signrules.evaluate(signrules.read_job(ROOT / "docs/examples/clinic.toml"))


def test_landing_errors_are_those_of_two_flights(plots, clinic):
    errors = plots.LandingErrors(clinic)
    # Elementary kinematics: twice the carriage speed times the difference of two flights. The job
    # states 800 mm/s and 6 m/s.
    for throw, aligned_at in ((0.75, 0.75), (1.0, 0.75), (1.3, 1.815)):
        expected = 2 * 800 * abs(throw - aligned_at) / 6000
        assert errors.error(throw, aligned_at) == pytest.approx(expected)
    assert {line.name for line in errors.lines} == {"ground", "dots", "ink-on-dots"}
    # Each of 24 layers but the first lands on one more, 33 um thick.
    [dots] = [line for line in errors.lines if line.name == "dots"]
    assert dots.first - dots.last == pytest.approx(23 * 0.033)
    assert dots.first == pytest.approx(clinic.plan.steps[5].printing.throw.to_lowest.nominal)


def test_the_words_of_the_landing_plot_have_the_numbers_of_the_report(plots, clinic):
    alt = plots.landing_plot(clinic).alt
    [through] = [check for check in clinic.violations if check.rule == "alignment.through"]
    [last] = re.findall(r"dots goes from [\d.]+ to ([\d.]+) mm", alt.replace("ink-on-dots", ""))
    assert through.measured.low <= float(last) <= through.measured.high
    assert "The tolerance is 0.06 mm" in alt


def test_the_growth_plot_has_the_cells_of_the_table(plots):
    counts, stages = plots.growth_table((ROOT / "docs/benchmarks.md").read_text("utf-8"))
    assert counts == [10, 100, 1_000, 10_000, 100_000]
    assert set(stages) == {"heights", "greedy order", "graph", "replay", "evaluate"}
    assert all(len(times) == len(counts) for times in stages.values())
    table = "\n### Growth with passes\n\n| stage | 10 | 100 | exponent |\n|--|--|--|--|\n"
    rows = "| heights | 327 us | 1.2 ms | 0.99 |\n| : sorted edges | 14.1 | 19.8 | |\n"
    assert plots.growth_table(table + rows) == ([10, 100], {"heights": [327e-6, 1.2e-3]})
    with pytest.raises(ValueError, match=r"'fast' is no time"):
        plots.growth_table(table + "| heights | fast | 1 s | 1 |\n")


def test_names_of_lines_keep_apart(plots):
    levels = plots.label_levels({"a": 1.0, "b": 1.1, "c": 100.0}, apart=2)
    assert levels == {"a": 1.0, "b": 2.0, "c": 100.0}


def luminance(colour):
    """The relative luminance of WCAG 2.2."""
    weighted = []
    for at, weight in ((1, 0.2126), (3, 0.7152), (5, 0.0722)):
        share = int(colour[at : at + 2], 16) / 255
        linear = share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4
        weighted.append(weight * linear)
    return sum(weighted)


@pytest.mark.parametrize("mode", ["light", "dark"])
def test_words_and_lines_of_plots_stand_out(mode, plots):
    palette = plots.PALETTES[mode]
    for colour in (palette.words, palette.limit, *palette.curves):
        light, dark = sorted((luminance(colour), luminance(palette.ground)), reverse=True)
        # WCAG 2.2, success criterion 1.4.3.
        assert (light + 0.05) / (dark + 0.05) >= 4.5, colour
    assert (luminance(palette.ground) > 0.5) == (mode == "light")


def test_a_plot_is_the_same_each_time(plots, clinic):
    plot = plots.landing_plot(clinic)
    drawn = [plot.svg(plots.PALETTES["dark"]) for _ in range(2)]
    assert drawn[0] == drawn[1]
    assert ElementTree.fromstring(drawn[0]).tag.endswith("svg")
    assert plots.PALETTES["dark"].ground in drawn[0]


def test_pages_and_pictures_name_each_other(site_modules):
    import figures

    pages = [*(ROOT / "docs").glob("*.md"), ROOT / "README.md"]
    marks = [mark for page in pages for mark in figures.MARK.findall(page.read_text("utf-8"))]
    assert set(marks) == set(figures.PICTURES)
