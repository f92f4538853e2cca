"""Measures every command, and what has no command, on some ganged beds beside one bare
evaluation.
"""

from __future__ import annotations

import io
import tempfile
from collections.abc import Callable, Iterable
from contextlib import redirect_stderr, redirect_stdout
from pathlib import Path

from attrs import evolve
from benchmarks.beds import ganged_bed
from benchmarks.reporting import Report, ratio, shown, timed

from signrules import Live, evaluate, headroom, write_job
from signrules.cli import main
from signrules.cli.shared_options import BROKEN, FINE
from signrules.model import Job

COMMANDS = {
    "`check`": ("check", "{job}"),
    "`check --all --format json`": ("check", "--all", "--format", "json", "{job}"),
    "`check --format sarif`": ("check", "--format", "sarif", "{job}"),
    "`check --mend`": ("check", "--mend", "{mended}", "{job}"),
    "`order`": ("order", "{job}"),
    "`order --why`": ("order", "--why", "{job}"),
    "`sheet`": ("sheet", "-o", "{sheet}", "{job}"),
    "`estimate`": ("estimate", "{job}"),
    "`graph`": ("graph", "-o", "{graph}", "{job}"),
    "`graph --plan`": ("graph", "--plan", "-o", "{plan}", "{job}"),
}
"""Every command that takes a job; names in braces are files."""

FILES = {"mended": "mended.toml", "sheet": "sheet.html", "graph": "graph.svg", "plan": "plan.svg"}
NUMBER = "printer.min_clearance"
"""The number of which the headroom is asked: everything that the planner does depends on it."""


def commands(report: Report, quick: bool) -> None:
    """A table with a column for each bed."""
    beds = {
        "4 x 6, 10 signs": ganged_bed(4, 6, signs=10),
        "the same, a wrong gap": ganged_bed(4, 6, signs=10, mistake="gap"),
        "2 x 4, open gaps": ganged_bed(2, 4, stated=False),
    }
    if not quick:
        beds |= {
            "4 x 8, 50 signs, a wrong sign": ganged_bed(4, 8, signs=50, mistake="sign"),
            "12 x 6": ganged_bed(12, 6),
            "4 x 4, open gaps": ganged_bed(4, 4, stated=False),
        }
    bare = {name: timed(lambda job=job: evaluate(job), 2)[0] for name, job in beds.items()}

    def rows() -> Iterable[tuple[object, ...]]:
        yield "one evaluation", *(shown(seconds) for seconds in bare.values())
        with tempfile.TemporaryDirectory() as folder:
            paths = _written(Path(folder), beds)
            for what, arguments in COMMANDS.items():
                yield (
                    what,
                    *(ratio(_seconds_of(arguments, paths[name]), bare[name]) for name in beds),
                )
        live = {name: _live_seconds(job) for name, job in beds.items()}
        yield (
            "live, a layer more of one pass",
            *(ratio(seconds, bare[name]) for name, seconds in live.items()),
        )
        asked = {
            name: timed(lambda job=job: headroom(job, NUMBER))[0] for name, job in beds.items()
        }
        yield (
            "headroom of `min_clearance`",
            *(ratio(seconds, bare[name]) for name, seconds in asked.items()),
        )

    about = (
        "Each command beside one evaluation of the same bed as an object, both in one process that"
        " has everything loaded; reading the document counts for the command. The last two have no"
        " command."
    )
    report.table("Commands on ganged beds", about, ("command : evaluation", *beds), rows())


def _written(folder: Path, beds: dict[str, Job]) -> dict[str, Path]:
    """Each bed as a document in a folder of its own."""
    paths = {}
    for number, (name, job) in enumerate(beds.items()):
        (folder / str(number)).mkdir()
        paths[name] = folder / str(number) / "job.toml"
        write_job(job, paths[name])
    return paths


def _seconds_of(arguments: tuple[str, ...], path: Path) -> float:
    """Processor seconds of a command on a job document; the files that it writes go beside that."""
    places = {"job": str(path)} | {name: str(path.parent / file) for name, file in FILES.items()}
    return timed(_quietly([word.format(**places) for word in arguments]))[0]


def _live_seconds(job: Job) -> float:
    """Processor seconds to evaluate a changed bed live."""
    middle = len(job.passes) // 2
    thicker = evolve(job.passes[middle], layers=job.passes[middle].layers + 1)
    changed = evolve(job, passes=(*job.passes[:middle], thicker, *job.passes[middle + 1 :]))
    live = Live()
    live.evaluate(job)
    return timed(lambda: live.evaluate(changed))[0]


def _quietly(words: list[str]) -> Callable[[], int]:
    def run() -> int:
        said = io.StringIO()
        with redirect_stdout(said), redirect_stderr(said):
            status = main(words)
        if status not in (FINE, BROKEN):
            raise SystemExit(f"signrules {' '.join(words)} came to nothing: {said.getvalue()}")
        return status

    return run
