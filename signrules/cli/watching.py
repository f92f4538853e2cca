"""`signrules check --watch`: judge again whenever a file has changed, for an editor beside it."""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable, Iterator

from signrules.cli.many_files import files_of
from signrules.cli.shared_options import BAD_INPUT, found_shop_file
from signrules.cli.standard_streams import is_spooled
from signrules.errors import SignrulesError

LOOK_AGAIN_S = 0.3
"""Seconds between two looks at the files: less than it takes to look up from an editor."""

FORMATS = ("text", "jsonl")
"""What can be read while more of it comes."""

Stamps = dict[str, tuple[int, int]]
"""When each file was written last, in ns, and how large it is; nothing of one that is not there."""


def add_watch_option(command: argparse.ArgumentParser) -> None:
    """The option that judges again and again."""
    command.add_argument(
        "--watch",
        action="store_true",
        help="judge again whenever a job, the shop file or a plugin's file has changed; an"
        " interrupt ends it",
    )


def refuse_beside_watch(options: argparse.Namespace) -> None:
    """Raises SignrulesError for what makes no sense again and again."""
    if any(is_spooled(options, path) for path in options.jobs):
        raise SignrulesError("--watch: found standard input, expected files that can change")
    if options.mend is not None or options.kept_in is not None:
        raise SignrulesError("--watch: found --mend or --kept-in, expected neither")
    if options.format not in FORMATS:
        raise SignrulesError(
            f"--watch: found --format {options.format}, expected {' or '.join(FORMATS)}: the others"
            " are one document"
        )


def watch_files(options: argparse.Namespace, judge: Callable[[argparse.Namespace], int]) -> int:
    """Judge, and again whenever a file has changed, until an interrupt ends it.

    Gives back the status of the last judgement that was made.
    """
    status = 0
    try:
        while True:
            # Taken before: what is saved meanwhile is judged next.
            stamps = stamps_of(options)
            status = _judged_once(options, judge)
            _tell("Watching. An interrupt (Ctrl-C) ends it.")
            changed = _wait_for_change(options, stamps)
            _tell(f"\n{', '.join(changed)} changed.")
    except KeyboardInterrupt:
        return status


def _judged_once(options: argparse.Namespace, judge: Callable[[argparse.Namespace], int]) -> int:
    """The status of one judgement. What is wrong with an input is told, and may be mended."""
    from signrules.reports.text_report import plain_text

    try:
        return judge(options)
    except SignrulesError as error:
        print(plain_text(str(error)), file=sys.stderr)
        return BAD_INPUT
    finally:
        sys.stdout.flush()


def _wait_for_change(options: argparse.Namespace, stamps: Stamps) -> list[str]:
    """The files that were written, added or taken away since, by name."""
    while True:
        now = stamps_of(options)
        changed = {path for path, _ in stamps.items() ^ now.items()}
        if changed:
            return sorted(changed)
        time.sleep(LOOK_AGAIN_S)


def stamps_of(options: argparse.Namespace) -> Stamps:
    """The stamps of every file that a verdict hangs on and that people edit."""
    stamps: Stamps = {}
    for path in _watched_files(options):
        try:
            found = os.stat(path)
        except (OSError, ValueError):
            continue
        stamps[path] = (found.st_mtime_ns, found.st_size)
    return stamps


def _watched_files(options: argparse.Namespace) -> Iterator[str]:
    files, _ = files_of(options.jobs, recursive=options.recursive)
    yield from files
    yield from options.plugin
    shop = options.shop or found_shop_file(options)
    if shop is not None:
        yield shop


def _tell(text: str) -> None:
    from signrules.reports.text_report import plain_text

    print(plain_text(text), file=sys.stderr, flush=True)
