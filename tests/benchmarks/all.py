"""Measures everything and puts it into the page.

    python tests/benchmarks/all.py [--quick] [--write docs/benchmarks.md]

It takes some ten minutes; with `--quick`, small sizes only, about one. Nothing is written before
all is measured.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks import artwork, ganged, planner, size, small
from benchmarks.engines import engines
from benchmarks.importing import importing
from benchmarks.reporting import Report, machine_line, write_between
from benchmarks.scale import scale


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true", help="small sizes only")
    parser.add_argument("--write", type=Path, metavar="FILE", help="a page that takes the tables")
    chosen = parser.parse_args()
    report = Report([], [])
    report.say(
        machine_line(), *(["A quick run: small sizes and few jobs."] if chosen.quick else [])
    )
    parts = (*small.PARTS, *planner.PARTS, *ganged.PARTS, *size.PARTS, *artwork.PARTS)
    for part in (importing, scale, engines, *parts):
        part(report, chosen.quick)
    report.say_aims()
    if chosen.write:
        write_between(chosen.write, "measured", report.lines)


if __name__ == "__main__":
    main()
