"""`signrules font`: which clauses the letters of a font can meet, and at which sizes."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from signrules.cli.shared_options import (
    BROKEN,
    FINE,
    Commands,
    add_shared,
    plugins_of,
    print_json,
    without_failed,
)
from signrules.cli.standard_streams import other_input, shown_path
from signrules.errors import ArtworkError, DocumentFault


def add_command(commands: Commands) -> None:
    """Add the command."""
    font = commands.add_parser(
        "font",
        help="which clauses of a standard a font can meet, at which sizes",
        epilog="Exit status: 1 where it can meet neither raised nor visual clauses of a standard.",
    )
    font.add_argument(
        "file", type=other_input, metavar="FILE", help="a font: TrueType, OpenType or CFF"
    )
    font.add_argument(
        "--standard",
        action="append",
        required=True,
        metavar="ID",
        help="a dimension table; may be given several times",
    )
    font.set_defaults(run=_print_font)
    add_shared(font)


def _print_font(options: argparse.Namespace) -> int:
    from signrules.artwork.font_clauses import font_uses
    from signrules.artwork.fonts import measure_font
    from signrules.reports.font_report import font_text, font_to_dict
    from signrules.reports.table_rows import known_table

    plugins = plugins_of(options)
    status, known = without_failed(plugins), dict(plugins.standards)
    standards = [known_table(id, known) for id in options.standard]
    font = measure_font(_bytes_of(options.file), Path(shown_path(options, options.file)).name)
    uses = font_uses(font, standards)
    if options.format == "json":
        print_json(font_to_dict(font, uses))
    else:
        sys.stdout.write(font_text(font, uses))
    # A font that serves for raised characters alone, or for visual ones, is of use.
    usable = {use.standard for use in uses if use.possible}
    lacking = {use.standard for use in uses} - usable
    return max(status, BROKEN if lacking else FINE)


def _bytes_of(file: str) -> bytes:
    try:
        return Path(file).read_bytes()
    except (OSError, ValueError) as error:
        found = (getattr(error, "strerror", None) or str(error)).lower()
        fault = DocumentFault("", found, "a font file that can be read")
        raise ArtworkError([fault], file) from None
