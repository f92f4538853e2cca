"""`signrules graph`: pictures of a job's graph and of its plan."""

from __future__ import annotations

import argparse
import sys

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


def add_command(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser(
        "graph", help="a picture of the job graph or of the plan, as SVG or Mermaid text"
    )
    command.add_argument(
        "--plan", action="store_true", help="the plan's steps in place of the graph"
    )
    command.add_argument(
        "-o", "--output", metavar="FILE", help="where to write; left out, it is printed"
    )
    add_job_options(command, ("svg", "mermaid"))
    command.set_defaults(run=_run_graph)


def _run_graph(options: argparse.Namespace) -> int:
    from signrules.reports.graph_pictures import graph_svg, plan_svg
    from signrules.reports.mermaid import graph_mermaid, plan_mermaid

    if options.output is not None:
        demand_other_file(options.output, options.job)
    result = evaluated_file(options.job, plugins_of(options), options)
    fine = result.order_is_safe or not options.plan  # A graph says nothing of any order.
    if not (fine and result.complete):
        say_verdict(result)
        say_why_not_safe(result)
    if options.plan and result.plan is None:
        return status_of(result, fine=fine)
    draw = {
        ("svg", False): graph_svg,
        ("svg", True): plan_svg,
        ("mermaid", False): graph_mermaid,
        ("mermaid", True): plan_mermaid,
    }[options.format, options.plan]
    if options.output is not None:
        write_whole(options.output, draw(result))
    elif options.format == "svg":
        print_xml(draw(result))
    else:
        sys.stdout.write(draw(result))
    return status_of(result, fine=fine)
