"""What importing costs: signrules beside attrs and cattrs, each in processes of its own, in one
run.

python tests/benchmarks/importing.py
"""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from benchmarks.reporting import Report, ratio, shown

WHAT = {
    "nothing": "",
    "signrules": "import signrules",
    "attrs and cattrs": "import attrs, cattrs",
    "networkx": "import networkx",
    "signrules, and `read_job`": "import signrules; signrules.read_job",
    "signrules, and `evaluate`": "import signrules; signrules.evaluate",
}
"""Statements to time; a name of signrules loads what stands behind it."""

TIMED = "import time; start = time.process_time(); {}; print(time.process_time() - start)"


def importing(report: Report, quick: bool) -> None:
    """Processor time of the statements, the least of some processes for each."""
    times = dict.fromkeys(WHAT, float("inf"))
    for _ in range(5 if quick else 15):
        for name, statement in WHAT.items():
            run = subprocess.run(
                [sys.executable, "-c", TIMED.format(statement or "pass")],
                capture_output=True,
                text=True,
                check=True,
            )
            times[name] = min(times[name], float(run.stdout))
    beside = times["attrs and cattrs"]
    report.table(
        "Import",
        "Processor time of the import alone, the least of several fresh processes with their"
        " bytecode ready. A name of signrules is loaded when it is first used, and its modules"
        " with it.",
        ("what", "time", ": attrs and cattrs"),
        [(name, shown(seconds), ratio(seconds, beside)) for name, seconds in times.items()],
    )
    report.aim(
        "`import signrules` costs little more than attrs and cattrs",
        f"{ratio(times['signrules'], beside)} times; with `evaluate` loaded "
        f"{ratio(times['signrules, and `evaluate`'], beside)} times",
        times["signrules"] <= 1.25 * beside,
    )


if __name__ == "__main__":
    importing(Report([], []), "--quick" in sys.argv)
