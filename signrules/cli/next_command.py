"""`signrules next`: the way on from a sheet that is printed in part."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING

from signrules.cli.shared_options import (
    FINE,
    STOPPED,
    Commands,
    add_job_options,
    plugins_of,
    print_json,
    say_cautions,
    shop_of,
)
from signrules.errors import DocumentFault, RecordError

if TYPE_CHECKING:
    from signrules.continuing import Progress
    from signrules.model.job import Job


def add_command(commands: Commands) -> None:
    """Add the command."""
    command = commands.add_parser(
        "next", help="say what is left to do on a sheet that is printed in part"
    )
    command.add_argument(
        "--done", action="append", default=[], metavar="PASS", help="a pass or handling that is done, in order"
    )
    command.add_argument(
        "--measured",
        action="append",
        default=[],
        metavar="SIGN=HEIGHTS",
        help="heights in mm of dots of a sign, with commas between: room-214=0.62,0.65",
    )
    command.add_argument(
        "--moved",
        action="append",
        default=[],
        metavar="SHEET[=METHOD]",
        help="a sheet that has moved, and the method that puts it back, if any",
    )
    command.add_argument("--struck", action="store_true", help="the head has hit something")
    command.add_argument(
        "--record", metavar="FILE", help="the record that the page of a run sheet has saved"
    )
    command.set_defaults(run=_say_next)
    add_job_options(command)
