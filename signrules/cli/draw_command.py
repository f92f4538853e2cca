"""`signrules draw`: the braille of a job as artwork, on a layer marked as braille."""

from __future__ import annotations

import argparse
from pathlib import Path

from signrules.cli.shared_options import (
    FINE,
    Commands,
    add_plugin_options,
    add_shop_options,
    demand_other_file,
    plugins_of,
    shop_of,
    status_with_artwork,
    write_whole,
    write_whole_bytes,
)
from signrules.cli.standard_streams import DASH, document_input, say_beside, shown_path
from signrules.errors import SignrulesError


def add_command(commands: Commands) -> None:
    """Add the command."""
    draw = commands.add_parser(
        "draw", help="draw the braille dots of a job as artwork: SVG, or PDF"
    )
    draw.add_argument(
        "job",
        metavar="JOB",
        type=document_input,
        help="a job document, .toml or .json, or - for standard input",
    )
    draw.add_argument(
        "-o",
        "--output",
        required=True,
        metavar="FILE",
        help="where to write, .svg or .pdf; what stands there is replaced; - prints SVG",
    )
    draw.add_argument("--sheet", metavar="ID", help="the sheet of the job; its only one else")
    add_plugin_options(draw)
    add_shop_options(draw)
    draw.set_defaults(run=_draw_dots)


def _draw_dots(options: argparse.Namespace) -> int:
    from signrules.artwork.dot_drawing import dots_svg, drawn_dots
    from signrules.artwork.dot_pdf import dots_pdf
    from signrules.documents import read_job
    from signrules.reports.text_report import plain_text

    suffix = Path(options.output).suffix.lower()
    if options.output != DASH and suffix not in (".svg", ".pdf"):
        raise SignrulesError(f"{options.output}: found {suffix!r}, expected .svg or .pdf")
    # Before anything is read: a slip in the command must not cost the job.
    demand_other_file(options.output, options.job)
    plugins = plugins_of(options)
    job = read_job(options.job, plugins=plugins, shop=shop_of(options, plugins))
    # An unknown standard is the concern of `check`; dots can be drawn without it.
    standards = [plugins.standards[id] for id in job.standards if id in plugins.standards]
    drawing = drawn_dots(job, sheet=options.sheet, standards=standards)
    if suffix != ".pdf":
        write_whole(options.output, dots_svg(drawing))
    else:
        write_whole_bytes(options.output, dots_pdf(drawing))
    signs = ", ".join(drawn.sign for drawn in drawing.signs)
    lines = [f"{options.output}: {len(drawing.dots)} dots of {signs}"]
    for drawn in drawing.signs:
        lines += [f"  {note}" for note in drawn.notes]
    say_beside(options.output, plain_text("\n".join(lines)))
    return status_with_artwork(shown_path(options, options.job), job, FINE)
