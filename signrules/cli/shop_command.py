"""`signrules shop`: what a shop states, what of it applies to a job, and a file to fill in."""

from __future__ import annotations

import argparse
import json

from signrules.cli.shared_options import (
    FINE,
    Commands,
    add_planner_options,
    add_shared,
    add_shop_options,
    plugins_of,
    print_json,
    shop_of,
    write_whole,
)
from signrules.cli.standard_streams import DASH, document_input, shown_path, write_to_output
from signrules.errors import SignrulesError


def add_command(commands: Commands) -> None:
    """Add the command."""
    shop = commands.add_parser(
        "shop", help="what a shop file states, and where each figure of a job comes from"
    )
    shop.add_argument(
        "jobs",
        type=document_input,
        metavar="JOB",
        nargs="*",
        help="job documents, .toml or .json, or folders of them, or - for standard input",
    )
    shop.add_argument(
        "--next",
        action="store_true",
        help="which figures to measure next, so that the verdicts on these jobs are settled",
    )
    shop.add_argument(
        "--new",
        metavar="FILE",
        help="write a commented shop file to fill in, and its schema for an editor",
    )
    add_shared(shop, ("text", "json"))
    add_shop_options(shop)
    add_planner_options(shop)
    shop.set_defaults(run=_run_shop)


def _run_shop(options: argparse.Namespace) -> int:
    if options.new is not None:
        return _write_template(options.new)
    plugins = plugins_of(options)
    if not options.jobs:
        return _print_shop(options, plugins)
    if options.next:
        return _print_next(options, plugins)
    for path in _files_of_jobs(options):
        _print_figures(path, options, plugins)
    return FINE


def _files_of_jobs(options: argparse.Namespace) -> list[str]:
    from signrules.cli.many_files import files_of

    files, errors = files_of(options.jobs, recursive=False)
    # The first stops: figures of some of the jobs would read as those of all.
    for error in errors:
        raise error
    return files


def _print_next(options: argparse.Namespace, plugins: object) -> int:
    from signrules.cli.progress_line import ProgressLine
    from signrules.documents import read_job
    from signrules.measuring.figure_list import procedures_for
    from signrules.plugins import Plugins
    from signrules.reports.text_report import plain_text
    from signrules.whatif.next_figures import what_to_measure

    assert isinstance(plugins, Plugins)
    shop = shop_of(options, plugins)
    jobs = [read_job(path, plugins=plugins, shop=shop) for path in _files_of_jobs(options)]
    with ProgressLine() as line:
        line.show("trying figures")
        found = what_to_measure(jobs, plugins=plugins, shop=shop)
    if options.format == "json":
        print_json([figure.to_dict() for figure in found])
        return FINE
    for figure in found:
        names = [procedure.figure for procedure in procedures_for(figure.path)]
        how = f"; signrules measure {names[0]}" if names else ""
        print(plain_text(f"{figure}{how}"))
    if not found:
        print("No verdict on these jobs hangs on a figure that could be measured.")
    return FINE


def _write_template(path: str) -> int:
    from pathlib import Path

    from signrules.documents.shop_template import SCHEMA_FILE, shop_template
    from signrules.documents.whole_files import put_new
    from signrules.schemas import schema

    if path == DASH:
        write_to_output(shop_template())
        return FINE
    try:
        put_new(Path(path), shop_template().encode())
    except FileExistsError:
        raise SignrulesError(
            f"{path}: found a file of that name, expected a name that is not taken"
        ) from None
    except (OSError, ValueError) as error:
        found = getattr(error, "strerror", None) or str(error)
        raise SignrulesError(
            f"{path}: found {found}, expected a file that can be written"
        ) from None
    beside = Path(path).with_name(SCHEMA_FILE)
    write_whole(str(beside), json.dumps(schema("shop"), indent=2) + "\n")
    print(f"{path} is there: fill in what you know, and measure the rest.")
    print(f"{beside} tells an editor its keys.")
    return FINE


def _print_shop(options: argparse.Namespace, plugins: object) -> int:
    from signrules.plugins import Plugins
    from signrules.reports.text_report import plain_text

    assert isinstance(plugins, Plugins)
    shop = shop_of(options, plugins)
    if not shop.origin:
        raise SignrulesError(
            "found no shop file, expected --shop FILE, or signrules.toml in this folder or one"
            " above; signrules shop --new signrules.toml writes one to fill in"
        )
    stock = shop.stock
    held = {
        "printers": sorted(stock.printers),
        "inks": sorted(stock.inks),
        "sheets": sorted(stock.sheets),
        "materials": sorted(stock.materials),
        "sign_types": sorted(stock.sign_types),
    }
    if options.format == "json":
        print_json({"file": shop.origin, **held, "shop": shop.to_dict()})
        return FINE
    print(plain_text(f"Shop file {shop.origin}"))
    for name, ids in held.items():
        print(plain_text(f"  {name.replace('_', ' ')}: {', '.join(ids) or 'none'}"))
    print(f"  alignments on record: {len(stock.alignments)}")
    rates = "none" if shop.rates is None else "stated"
    print(f"  rates: {rates}")
    for line in shop.in_words():
        print(plain_text(f"  {line}"))
    return FINE


def _print_figures(path: str, options: argparse.Namespace, plugins: object) -> None:
    from signrules.cli.shared_options import evaluated_file
    from signrules.plugins import Plugins
    from signrules.reports.figure_lines import figure_lines
    from signrules.reports.text_report import plain_text

    assert isinstance(plugins, Plugins)
    result = evaluated_file(path, plugins, options)
    if options.format == "json":
        print_json(
            {
                "file": result.shop.origin,
                "job": result.job.name,
                "figures": [figure.to_dict() for figure in result.figures],
            }
        )
        return
    print(plain_text(f"{shown_path(options, path)}, shop file {result.shop.origin or 'none'}"))
    lines = list(figure_lines(result, everything=True))
    for line in lines or ["every figure stands in the job, with nothing said of how it was found"]:
        print(plain_text(f"  {line}"))
