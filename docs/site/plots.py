"""The plots of the site, drawn by matplotlib from the numbers of the library and of its benchmarks.

Each is drawn twice, for light pages and for dark ones.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Mapping
from pathlib import Path

import matplotlib
from attrs import frozen
from matplotlib.axes import Axes
from matplotlib.figure import Figure

import signrules
from signrules.model.quantities import Interval
from signrules.physics.landing import landing_error

matplotlib.use("svg")

ROOT = Path(__file__).parents[2]
SIZE_INCHES = (6.4, 4.0)
STEPS = 400
SECONDS = {"us": 1e-6, "ms": 1e-3, "s": 1.0}


@frozen
class Palette:
    """The colours of a plot: ground, words, grid, what is safe, and the curves in their order."""

    ground: str
    words: str
    grid: str
    limit: str
    curves: tuple[str, ...]


# Each curve and the words keep 4.5 to 1 on their ground; tests/docs/test_figures.py computes it.
PALETTES = {
    "light": Palette(
        "#ffffff",
        "#1b1f24",
        "#d5dae0",
        "#b3261e",
        ("#0b5a8a", "#8a4b00", "#5b3a8c", "#1f6b3a", "#a8326e"),
    ),
    "dark": Palette(
        "#131416",
        "#e3e6ea",
        "#3a4048",
        "#ff8a80",
        ("#6cb8ee", "#f0b35a", "#c3a5f5", "#7fd6a0", "#f59ac7"),
    ),
}


@frozen
class Plot:
    """A plot: its name, what it shows in words, the line below it, and how it is drawn."""

    name: str
    alt: str
    caption: str
    draw: Callable[[Axes, Palette], None]

    def svg(self, palette: Palette) -> str:
        """The plot in these colours."""
        colours = {
            "figure.facecolor": palette.ground,
            "axes.facecolor": palette.ground,
            "axes.edgecolor": palette.words,
            "axes.labelcolor": palette.words,
            "text.color": palette.words,
            "xtick.color": palette.words,
            "ytick.color": palette.words,
            "grid.color": palette.grid,
            "axes.grid": True,
            "axes.spines.top": False,
            "axes.spines.right": False,
            "font.size": 11,
            "svg.hashsalt": self.name,
        }
        with matplotlib.rc_context(colours):
            figure = Figure(figsize=SIZE_INCHES, layout="constrained")
            self.draw(figure.add_subplot(), palette)
            text = io.StringIO()
            figure.savefig(text, format="svg", metadata={"Date": None})
        return text.getvalue()


# --- landing error --------------------------------------------------------------------------------


def landing_plot(result: signrules.Evaluation) -> Plot:
    """The landing error of a job's alignments against the throw, and where its passes lie."""
    printer, timeline = result.job.printer, result.timeline
    base, tolerance = printer.base_gap.nominal, printer.landing_tolerance
    used: dict[float, list[signrules.Printing]] = {}
    for printing in timeline.printings.values():
        served = timeline.serving_alignment(printing)
        if served is not None:
            used.setdefault(served, []).append(printing)

    def error_at(throw: float, aligned_at: float) -> float:
        return landing_error(printer, Interval.exact(throw - base), aligned_at).high

    ends = [end for each in timeline.printings.values() for end in _throws(each, base)]
    left, right = min(ends) - 0.25, max(ends) + 0.25
    throws = [left + (right - left) * step / STEPS for step in range(STEPS + 1)]

    def draw(axes: Axes, palette: Palette) -> None:
        axes.axhspan(0, tolerance, color=palette.limit, alpha=0.12, linewidth=0)
        axes.axhline(tolerance, color=palette.limit, linestyle="--", linewidth=1.4)
        axes.text(
            right,
            tolerance,
            f"tolerance {tolerance:g} mm ",
            color=palette.limit,
            ha="right",
            va="bottom",
        )
        for (aligned_at, printings), colour in zip(
            sorted(used.items()), palette.curves, strict=False
        ):
            errors = [error_at(throw, aligned_at) for throw in throws]
            axes.plot(throws, errors, color=colour, linewidth=1.6)
            axes.plot([base + aligned_at], [0], "o", color=colour, clip_on=False)
            for printing in printings:
                _draw_pass(
                    axes, result, printing, base, lambda throw: error_at(throw, aligned_at), colour
                )
        axes.set(
            xlim=(left, right), ylim=(0, None), xlabel="throw in mm", ylabel="landing error in mm"
        )

    aligned = " and ".join(f"{base + each:.3f}".rstrip("0") for each in sorted(used))
    alt = (
        f"Landing error of two-way printing in mm against the throw from {left:.2f} to {right:.2f} mm: a V for each "
        f"alignment, nought where it was made, at throws of {aligned} mm. The tolerance is {tolerance:g} mm."
        f" {_pass_words(result, base, error_at)}"
    )
    caption = (
        "The two directions meet at the throw at which they were aligned and part on either side. Thick lines are "
        "the passes of the clinic's sign, from the first layer to the last; the ground within tolerance is tinted."
    )
    return Plot("landing", alt, caption, draw)


def _throws(printing: signrules.Printing, base: float) -> tuple[float, float]:
    """The throw of a pass at its first layer and at its last one, nominal."""
    return base + printing.crisp.nominal, base + printing.crisp_at_end.nominal


def _draw_pass(
    axes: Axes,
    result: signrules.Evaluation,
    printing: signrules.Printing,
    base: float,
    error: Callable[[float], float],
    colour: str,
) -> None:
    first, last = _throws(printing, base)
    line = [first + (last - first) * step / STEPS for step in range(STEPS + 1)]
    axes.plot(
        line, [error(throw) for throw in line], color=colour, linewidth=4.5, solid_capstyle="round"
    )
    axes.annotate(
        result.job.passes[printing.pass_index].id,
        (last, error(last)),
        xytext=(7, 7),
        textcoords="offset points",
        color=colour,
        weight="bold",
    )


def _pass_words(
    result: signrules.Evaluation, base: float, error_at: Callable[[float, float], float]
) -> str:
    words = []
    for printing in result.timeline.printings.values():
        aligned_at = result.timeline.serving_alignment(printing)
        if aligned_at is not None:
            first, last = (error_at(throw, aligned_at) for throw in _throws(printing, base))
            name = result.job.passes[printing.pass_index].id
            words.append(f"{name} goes from {first:.3f} to {last:.3f} mm")
    return f"{', '.join(words)}."


# --- growth ---------------------------------------------------------------------------------------


def growth_plot(page: str) -> Plot:
    """The times of the first table of growth on the page of benchmarks."""
    counts, stages = growth_table(page)

    def draw(axes: Axes, palette: Palette) -> None:
        for (stage, times), colour in zip(stages.items(), palette.curves, strict=True):
            axes.loglog(counts, times, "o-", color=colour, markersize=4, linewidth=1.8)
            axes.annotate(
                f" {stage}",
                (counts[-1], times[-1]),
                va="center",
                color=colour,
                annotation_clip=False,
            )
        axes.set(xlabel="passes of a job", ylabel="seconds of processor time")
        axes.set_xlim(counts[0], counts[-1] * 12)
        axes.set_xticks(counts, [f"{count:,}" for count in counts])

    told = "; ".join(
        f"{stage} from {times[0]:.2g} s to {times[-1]:.2g} s" for stage, times in stages.items()
    )
    alt = (
        f"Processor time against the number of passes, both logarithmic, from {counts[0]:,} to {counts[-1]:,} "
        f"passes: {told}. All lines rise about as the number of passes does."
    )
    caption = "How the stages grow with the passes, from the table below."
    return Plot("growth", alt, caption, draw)


def growth_table(page: str) -> tuple[list[int], Mapping[str, list[float]]]:
    """The numbers of passes and, for each stage, its seconds, as the page has them."""
    section = page.split("### Growth with passes", 1)[1].split("\n### ", 1)[0]
    rows = [
        [cell.strip() for cell in line.strip("|").split("|")]
        for line in section.splitlines()
        if line.startswith("| ")
    ]
    head, *body = rows
    counts = [int(cell.replace(",", "")) for cell in head[1:-1]]
    stages = {}
    for stage, *cells in body:
        # Rows that begin with a colon are ratios to other libraries.
        if not stage.startswith(":"):
            stages[stage] = [_seconds(cell) for cell in cells[:-1]]
    return counts, stages


def _seconds(cell: str) -> float:
    found = re.fullmatch(r"([\d.]+) (us|ms|s)", cell)
    if found is None:
        raise ValueError(f"docs/benchmarks.md: {cell!r} is no time such as '1.2 ms'")
    return float(found[1]) * SECONDS[found[2]]
