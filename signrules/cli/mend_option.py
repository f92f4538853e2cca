"""`signrules check JOB --mend FILE`: a mended document beside the job's own."""

from __future__ import annotations

import argparse
import os
import sys
from typing import TYPE_CHECKING

from signrules.cli.many_files import SUFFIXES
from signrules.cli.progress_line import ProgressLine
from signrules.cli.shared_options import shop_of
from signrules.errors import DocumentFault, JobError, SignrulesError

if TYPE_CHECKING:
    from signrules.plugins import Plugins


def refuse_early(options: argparse.Namespace) -> None:
    """Raises SignrulesError where a mended job could not be written, before anything is judged."""
    if options.mend is None:
        return
    if len(options.jobs) != 1 or os.path.isdir(options.jobs[0]):
        raise SignrulesError(
            f"--mend: found {len(options.jobs)} jobs or a folder, expected one job"
        )
    if not options.mend.lower().endswith(SUFFIXES):
        raise JobError(
            [DocumentFault("", "another suffix", "a file name that ends in .toml or .json")],
            options.mend,
        )
    # A link that leads nowhere is a name that is taken as well.
    if os.path.lexists(options.mend):
        fault = DocumentFault(
            "", "a file of that name", "a name that is not taken: nothing is written over a file"
        )
        raise JobError([fault], options.mend)


def mend_file(options: argparse.Namespace, plugins: Plugins) -> None:
    """Writes the mended job, if there is something to mend and a way to, and says what
    came of it.
    """
    if options.mend is None:
        return
    from signrules.documents import read_job
    from signrules.reports.text_report import plain_text
    from signrules.whatif.mended_files import write_mended
    from signrules.whatif.mending import mend

    shop = shop_of(options, plugins)
    # Read again: the evaluation may have been made in another process.
    job = read_job(options.jobs[0], plugins=plugins, shop=shop)
    with ProgressLine() as line:
        line.show("mending")
        mended = mend(
            job, plugins=plugins, shop=shop, seconds=options.seconds, progress=line.trials
        )
    stream = sys.stdout if options.format == "text" else sys.stderr
    print(f"\n{plain_text(mended.message)}", file=stream)
    if mended.job is not None and mended.changes:
        write_mended(mended, options.jobs[0], options.mend, plugins=plugins, shop=shop)
        print(f"Written to {plain_text(options.mend)}. The job itself is as it was.", file=stream)
