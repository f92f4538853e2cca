"""`signrules shop`: what a shop states, what of it applies to a job, and a file to fill in."""

from __future__ import annotations

import argparse
import sys

from signrules.cli.shared_options import (
    FINE,
    Commands,
    add_planner_options,
    add_shared,
    add_shop_options,
    plugins_of,
    print_json,
    shop_of,
)
from signrules.errors import SignrulesError


def add_command(commands: Commands) -> None:
    """Add the command."""
    shop = commands.add_parser(
        "shop", help="what a shop file states, and where each figure of a job comes from"
    )
    shop.add_argument("job", metavar="JOB", nargs="?", help="a job document, .toml or .json")
    shop.add_argument(
        "--new", metavar="FILE", help="write a commented shop file to fill in; nothing else"
    )
    add_shared(shop, ("text", "json"))
    add_shop_options(shop)
    add_planner_options(shop)
    shop.set_defaults(run=_run_shop)


def _run_shop(options: argparse.Namespace) -> int:
    if options.new is not None:
        return _write_template(options.new)
    plugins = plugins_of(options)
    if options.job is None:
        return _print_shop(options, plugins)
    return _print_figures(options, plugins)


def _write_template(path: str) -> int:
    from pathlib import Path

    from signrules.documents.shop_template import shop_template
    from signrules.documents.whole_files import put_new

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
    print(f"{path} is there: fill in what you know, and measure the rest.")
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
    }
    if options.format == "json":
        print_json({"file": shop.origin, **held, "shop": shop.to_dict()})
        return FINE
    print(plain_text(f"Shop file {shop.origin}"))
    for name, ids in held.items():
        print(plain_text(f"  {name}: {', '.join(ids) or 'none'}"))
    print(f"  alignments on record: {len(stock.alignments)}")
    rates = "none" if shop.rates is None else "stated"
    print(f"  rates: {rates}")
    for line in shop.in_words():
        print(plain_text(f"  {line}"))
    return FINE


def _print_figures(options: argparse.Namespace, plugins: object) -> int:
    from signrules.cli.shared_options import evaluated_file
    from signrules.plugins import Plugins
    from signrules.reports.figure_lines import figure_lines
    from signrules.reports.text_report import plain_text

    assert isinstance(plugins, Plugins)
    result = evaluated_file(options.job, plugins, options)
    if options.format == "json":
        print_json(
            {
                "file": result.shop.origin,
                "job": result.job.name,
                "figures": [figure.to_dict() for figure in result.figures],
            }
        )
        return FINE
    print(plain_text(f"Shop file {result.shop.origin or 'none'}"))
    lines = list(figure_lines(result, everything=True))
    for line in lines or ["every figure stands in the job, with nothing said of how it was found"]:
        print(plain_text(f"  {line}"))
    sys.stdout.flush()
    return FINE
