"""`signrules sheet`: the run sheet of a job."""

from __future__ import annotations

import argparse
import os
from pathlib import Path

from signrules.cli.common import (
    Commands,
    add_plugin_options,
    add_shop_options,
    evaluated,
    plugins_of,
    status_of,
    write_whole,
)
from signrules.errors import SignrulesError


def add(commands: Commands) -> None:
    """Add the command."""
    sheet = commands.add_parser("sheet", help="write the run sheet of a job: an HTML page to print")
    sheet.add_argument("job", metavar="JOB", help="a job document, .toml or .json")
    sheet.add_argument(
        "-o", "--output", required=True, metavar="FILE", help="where to write; what stands there is replaced"
    )
    sheet.set_defaults(run=_sheet)
    add_plugin_options(sheet)
    add_shop_options(sheet)


def _sheet(options: argparse.Namespace) -> int:
    from signrules.reports.text import plain, verdict
    from signrules.sheet.page import run_sheet

    target = Path(os.path.realpath(options.output))
    if target.exists() and Path(options.job).exists() and os.path.samefile(options.job, target):
        raise SignrulesError(f"{options.output}: found the job document itself, expected another file to write to")
    result = evaluated(options.job, plugins_of(options), options)
    write_whole(target, run_sheet(result))
    print(plain(f"{options.output}: {verdict(result)}"))
    return status_of(result, fine=result.ok)
