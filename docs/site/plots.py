"""The plots of the site, drawn by matplotlib from the numbers of the library and of its benchmarks.

Each is drawn twice, for light pages and for dark ones.
"""

from __future__ import annotations

import io
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path

import matplotlib
from attrs import frozen
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patheffects import withStroke

import signrules
from signrules.model.quantities import Interval
from signrules.physics.landing import landing_error

matplotlib.use("svg")

ROOT = Path(__file__).parents[2]
SIZE_INCHES = (5.8, 4.0)
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


# Words and curves keep 4.5 to 1 on their ground: a test computes it.
PALETTES = {
    "light": Palette(
        ground="#ffffff",
        words="#1b1f24",
        grid="#d5dae0",
        limit="#b3261e",
        curves=("#0b5a8a", "#8a4b00", "#5b3a8c", "#1f6b3a", "#a8326e"),
    ),
    "dark": Palette(
        ground="#131416",
        words="#e3e6ea",
        grid="#3a4048",
        limit="#ff8a80",
        curves=("#6cb8ee", "#f0b35a", "#c3a5f5", "#7fd6a0", "#f59ac7"),
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


@frozen
class PassLine:
    """A pass in the plot of landing errors: from which throw to which it goes, in mm, and the
    throw at which the alignment was made that serves it.
    """

    name: str
    first: float
    last: float
    aligned_at: float


class LandingErrors:
    """The landing errors of a job's two-way passes as its plan has them; throws in mm."""

    def __init__(self, result: signrules.Evaluation) -> None:
        self.printer = result.job.printer
        self.base = self.printer.base_gap.nominal
        self.tolerance = self.printer.landing_tolerance
        self.lines = tuple(self._lines(result))
        ends = [end for line in self.lines for end in (line.first, line.last)]
        self.left, self.right = min(ends) - 0.25, max(ends) + 0.25
        self.alignments = sorted({line.aligned_at for line in self.lines})

    def _lines(self, result: signrules.Evaluation) -> Iterator[PassLine]:
        for printing in result.timeline.printings.values():
            extra = result.timeline.serving_alignment(printing)
            if extra is not None:
                yield PassLine(
                    result.job.passes[printing.pass_index].id,
                    self.base + printing.crisp_extra.nominal,
                    self.base + printing.crisp_extra_at_end.nominal,
                    self.base + extra,
                )

    def error(self, throw: float, aligned_at: float) -> float:
        """How far apart the two directions land at a throw, in mm."""
        extra = Interval.exact(throw - self.base)
        return landing_error(self.printer, extra, aligned_at - self.base).high

    def between(
        self, low: float, high: float, aligned_at: float
    ) -> tuple[list[float], list[float]]:
        """Throws from one to another, and the errors there."""
        throws = [low + (high - low) * step / STEPS for step in range(STEPS + 1)]
        return throws, [self.error(throw, aligned_at) for throw in throws]


def landing_plot(result: signrules.Evaluation) -> Plot:
    """The landing error of a job's alignments against the throw, and where its passes lie."""
    errors = LandingErrors(result)
    aligned = " and ".join(f"{throw:.3f}" for throw in errors.alignments)
    passes = ", ".join(
        f"{line.name} goes from {errors.error(line.first, line.aligned_at):.3f}"
        f" to {errors.error(line.last, line.aligned_at):.3f} mm"
        for line in errors.lines
    )
    alt = (
        f"Landing error of two-way printing against the throw, from {errors.left:.2f} to"
        f" {errors.right:.2f} mm. It is nought where an alignment was made, at throws of {aligned}"
        f" mm, and rises on either side. The tolerance is {errors.tolerance:g} mm. From the first"
        f" layer to the last, {passes}."
    )
    caption = (
        "The two directions meet at the throw at which they were aligned, and part on either side."
        " Thick lines are the passes of the clinic's sign, from the first layer to the last. The"
        " tinted band is within tolerance."
    )
    return Plot("landing", alt, caption, lambda axes, palette: _draw_landing(axes, palette, errors))


def _draw_landing(axes: Axes, palette: Palette, errors: LandingErrors) -> None:
    tolerance = errors.tolerance
    axes.axhspan(0, tolerance, color=palette.limit, alpha=0.12, linewidth=0)
    axes.axhline(tolerance, color=palette.limit, linestyle="--", linewidth=1.4)
    colour_of = dict(zip(errors.alignments, palette.curves, strict=False))
    for aligned_at, colour in colour_of.items():
        axes.plot(
            *errors.between(errors.left, errors.right, aligned_at), color=colour, linewidth=1.6
        )
        axes.plot([aligned_at], [0], "o", color=colour, clip_on=False)
    halo = [withStroke(linewidth=3.5, foreground=palette.ground)]
    for line in errors.lines:
        colour = colour_of[line.aligned_at]
        along = errors.between(line.first, line.last, line.aligned_at)
        axes.plot(*along, color=colour, linewidth=4.5, solid_capstyle="round")
        end = (line.last, errors.error(line.last, line.aligned_at))
        axes.annotate(
            line.name,
            end,
            xytext=(0, 11),
            textcoords="offset points",
            ha="center",
            color=colour,
            weight="bold",
            path_effects=halo,
        )
    # Between the throws at which lines come down into the band, so that none crosses the words.
    axes.text(
        sum(errors.alignments) / len(errors.alignments),
        tolerance / 2,
        f"tolerance {tolerance:g} mm",
        color=palette.limit,
        ha="center",
        va="center",
        path_effects=halo,
    )
    axes.set(xlabel="throw in mm", ylabel="landing error in mm")
    axes.set(xlim=(errors.left, errors.right), ylim=(0, None))


# --- growth ---------------------------------------------------------------------------------------


def growth_plot(page: str) -> Plot:
    """The times of the first table of growth on the page of benchmarks."""
    counts, stages = growth_table(page)
    told = "; ".join(
        f"{stage} from {times[0]:.2g} s to {times[-1]:.2g} s" for stage, times in stages.items()
    )
    alt = (
        "Processor time against the number of passes of a job, both logarithmic, from"
        f" {counts[0]:,} to {counts[-1]:,} passes: {told}."
    )
    caption = "How the stages grow with the passes: the first table below, as lines."
    return Plot(
        "growth", alt, caption, lambda axes, palette: _draw_growth(axes, palette, counts, stages)
    )


def _draw_growth(
    axes: Axes, palette: Palette, counts: Sequence[int], stages: Mapping[str, Sequence[float]]
) -> None:
    labels = label_levels({stage: times[-1] for stage, times in stages.items()})
    for (stage, times), colour in zip(stages.items(), palette.curves, strict=True):
        axes.loglog(counts, times, "o-", color=colour, markersize=4, linewidth=1.8)
        axes.text(counts[-1] * 1.25, labels[stage], stage, va="center", color=colour)
    axes.set(xlabel="passes of a job", ylabel="seconds of processor time")
    axes.set_xlim(counts[0], counts[-1] * 15)
    axes.set_xticks(counts, [f"{count:,}" for count in counts])


def label_levels(ends: Mapping[str, float], *, apart: float = 2.1) -> dict[str, float]:
    """Where the names of lines stand on a logarithmic axis: at their ends, and each at least so
    many times as high as the one below it.
    """
    levels: dict[str, float] = {}
    lowest = 0.0
    for name in sorted(ends, key=lambda each: ends[each]):
        levels[name] = max(ends[name], lowest)
        lowest = levels[name] * apart
    return levels


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
