"""What all benchmarks share: Markdown tables, times, and the machine on which they were
measured.
"""

from __future__ import annotations

import gc
import math
import os
import platform
import sys
import time
from collections.abc import Callable, Iterable
from contextlib import suppress
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TypeVar

from attrs import define

T = TypeVar("T")


@define
class Report:
    """Lines of Markdown, and the aims with what was measured."""

    lines: list[str]
    aims: list[tuple[str, str, str]]

    def say(self, *lines: str) -> None:
        """Add lines, and show them as they come."""
        self.lines.extend(lines)
        print("\n".join(lines), flush=True)

    def table(
        self, title: str, about: str, head: tuple[str, ...], rows: Iterable[tuple[object, ...]]
    ) -> None:
        """Add a section with a table; its rows are shown as they are measured."""
        self.say(
            "", f"### {title}", "", about, "", f"| {' | '.join(head)} |", "|--" * len(head) + "|"
        )
        for row in rows:
            self.say(f"| {' | '.join(map(str, row))} |")

    def aim(self, what: str, measured: str, reached: bool | str) -> None:
        """Note what was to be reached and what was measured."""
        word = reached if isinstance(reached, str) else "yes" if reached else "**no**"
        self.aims.append((what, measured, word))

    def say_aims(self) -> None:
        """Add the table of the aims."""
        about = (
            "What was to be reached, and what this run measured. Times are those of one run on one"
            " machine."
        )
        self.table("Aims", about, ("aim", "measured", "reached"), list(self.aims))


def timed(work: Callable[[], T], repeats: int = 1) -> tuple[float, T]:
    """The least time of some runs, and the last result.

    In seconds of processor time, which other work on the machine disturbs less.
    """
    best = math.inf
    for _ in range(repeats):
        gc.collect()
        start = time.process_time()
        result = work()
        best = min(best, time.process_time() - start)
    return best, result


def shown(seconds: float) -> str:
    """A time with two significant digits."""
    if seconds < 1e-3:
        return f"{seconds * 1e6:.0f} us"
    return f"{seconds * 1e3:.2g} ms" if seconds < 0.0995 else f"{seconds:.2g} s"


def ratio(one: float, other: float) -> str:
    """How many times one time is another one."""
    return f"{one / other:.3g}" if one / other < 100 else f"{one / other:.0f}"


def slope(sizes: Iterable[int], values: Iterable[float]) -> float:
    """The exponent of growth: the slope of the line of least squares through the logarithms."""
    points = [(math.log(size), math.log(value)) for size, value in zip(sizes, values, strict=True)]
    x, y = (sum(axis) / len(points) for axis in zip(*points, strict=True))
    return sum((a - x) * (b - y) for a, b in points) / sum((a - x) ** 2 for a, _ in points)


def version_of(name: str) -> str | None:
    """The version of an installed distribution."""
    with suppress(PackageNotFoundError):
        return version(name)
    return None


def run_parts(parts: Iterable[Callable[[Report, bool], None]]) -> None:
    """Measure some parts by themselves and show what comes of it; `--quick` on the command line for
    small sizes.
    """
    report = Report([], [])
    report.say(machine_line())
    for part in parts:
        part(report, "--quick" in sys.argv)
    report.say_aims()


def machine_line() -> str:
    """The machine and the libraries."""
    names = ("attrs", "cattrs", "networkx", "rustworkx", "ortools", "clingo")
    libraries = ", ".join(f"{name} {version_of(name) or 'absent'}" for name in names)
    python = f"{platform.python_implementation()} {platform.python_version()}"
    return f"{os.cpu_count()} cores, {_processor()}, {platform.system()}, {python}; {libraries}."


def _processor() -> str:
    with suppress(OSError), open("/proc/cpuinfo", encoding="utf-8") as lines:
        for line in lines:
            if line.startswith("model name"):
                return f"{line.partition(':')[2].strip()} ({platform.machine()})"
    return platform.machine()


def write_between(page: Path, name: str, lines: Iterable[str]) -> None:
    """Put lines between the marks of that name in a page."""
    begin, end = f"<!-- {name}: begin -->", f"<!-- {name}: end -->"
    text = page.read_text("utf-8") if page.exists() else f"# Benchmarks\n\n{begin}\n{end}\n"
    before, found, rest = text.partition(begin)
    _, closed, after = rest.partition(end)
    if not found or not closed:
        raise SystemExit(f"{page} has no marks {begin} and {end}")
    body = "\n".join(lines).strip()
    page.write_text(f"{before}{begin}\n{body}\n{end}{after}", "utf-8")
