"""`signrules graph`: pictures of a job's graph and of its plan."""

from __future__ import annotations

import argparse
import sys
from typing import TYPE_CHECKING

from signrules.cli.shared_options import (
    Commands,
    add_job_options,
    demand_other_file,
    evaluated_file,
    plugins_of,
    print_xml,
    say_verdict,
    say_why_not_safe,
    status_of,
    write_whole,
)
from signrules.cli.standard_streams import DASH
from signrules.errors import SignrulesError

if TYPE_CHECKING:
    from signrules.evaluation import Evaluation


def add_command(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser(
        "graph", help="a picture of the job graph or of the plan, as SVG or Mermaid text"
    )
    command.add_argument(
        "--plan", action="store_true", help="the plan's steps in place of the graph"
    )
    command.add_argument(
        "--every-pass", action="store_true", help="a box for each pass, also where some are alike"
    )
    command.add_argument(
        "--surfaces", action="store_true", help="the surface that each pass leaves as well"
    )
    command.add_argument(
        "-o", "--output", metavar="FILE", help="where to write; left out or -, it is printed"
    )
    add_job_options(command, ("svg", "mermaid"))
    command.set_defaults(run=_run_graph)


def _run_graph(options: argparse.Namespace) -> int:
    if options.plan and (options.every_pass or options.surfaces):
        raise SignrulesError(
            "--plan with --every-pass or --surfaces: a plan has every pass and no surfaces;"
            " leave these options out"
        )
    if options.output is not None:
        demand_other_file(options.output, options.job)
    result = evaluated_file(options.job, plugins_of(options), options)
    fine = result.order_is_safe or not options.plan  # A graph says nothing of any order.
    # On standard error: the picture may go to standard output.
    if not (fine and result.complete):
        say_verdict(result)
        say_why_not_safe(result)
    if options.plan and result.plan is None:
        return status_of(result, fine=fine)
    drawn = _drawn_picture(result, options)
    if options.output not in (None, DASH):
        write_whole(options.output, drawn)
    elif options.format == "svg":
        print_xml(drawn)
    else:
        sys.stdout.write(drawn)
    return status_of(result, fine=fine)


def _drawn_picture(result: Evaluation, options: argparse.Namespace) -> str:
    from signrules.reports.graph_pictures import graph_svg
    from signrules.reports.mermaid import graph_mermaid, plan_mermaid
    from signrules.reports.plan_picture import plan_svg

    is_svg = options.format == "svg"
    if options.plan:
        return plan_svg(result) if is_svg else plan_mermaid(result)
    draw = graph_svg if is_svg else graph_mermaid
    return draw(result, surfaces=options.surfaces, every_pass=options.every_pass)
