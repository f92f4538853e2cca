"""`signrules order`: the order of the passes of a job."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from signrules.cli.shared_options import (
    Commands,
    add_job_options,
    evaluated_file,
    plugins_of,
    print_json,
    say_cautions,
    say_terms,
    say_verdict,
    say_why_not_safe,
    status_of,
    status_with_artwork,
)
from signrules.cli.standard_streams import shown_path

if TYPE_CHECKING:
    from signrules.evaluation import Evaluation

KEYS = (
    "signrules",
    "job",
    "verdict",
    "settled",
    "order",
    "order_is_safe",
    "plan",
    "conflict",
    "faults",
    "accepted",
    "shop",
    "cautions",
)
"""What JSON has of an evaluation."""


def add_command(commands: Commands) -> None:
    """Add the command."""
    order = commands.add_parser("order", help="the order of the passes of a job, one id a line")
    order.add_argument(
        "--why", action="store_true", help="say why each does not come one place earlier"
    )
    order.set_defaults(run=_print_order)
    add_job_options(order, ("text", "json"))


def _print_order(options: argparse.Namespace) -> int:
    from signrules.reports.text_report import plain_text

    result = evaluated_file(options.job, plugins_of(options), options)
    status = status_of(result, fine=result.order_is_safe)
    status = status_with_artwork(shown_path(options, options.job), result.job, status)
    if options.format == "json":
        # A selection of what `check` prints, so that a key means the same in both.
        data = result.to_dict()
        wanted = {key: data[key] for key in KEYS}
        if options.why:
            wanted["why"] = _why_text(result)
        print_json(wanted)
        return status
    say_verdict(result)
    if result.order_is_safe:
        why: dict[str, str] = {}
        if options.why:
            # An id a line without `--why`, so that the order can be piped on.
            why = {place["item"]: f": {place['text']}" for place in _why_text(result)}
        print("\n".join(plain_text(name + why.get(name, "")) for name in result.order))
    else:
        say_why_not_safe(result)
    say_terms(result)
    say_cautions()
    return status


def _why_text(result: Evaluation) -> list[dict[str, str]]:
    from signrules.planning.why_here import account

    if result.plan is None:
        return []
    places = account(result.plan)
    return [{"item": place.item, "kind": place.kind, "text": place.text} for place in places]
