"""Code of a plugin runs when it was asked for by file or object, or by entry point where these were
asked for.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from effort import first_quick

import signrules

ROOT = Path(__file__).parents[2]
JOB = str(ROOT / "docs" / "examples" / "clinic.toml")
READ = f"import signrules; job = signrules.read_job({JOB!r});"

NOT_ASKED = {
    "imported": "import signrules",
    "evaluated": f"{READ} signrules.evaluate(job)",
    "live": f"{READ} signrules.Live().evaluate(job)",
    "many": f"{READ} list(signrules.evaluate_many([job]))",
    "reported": (
        f"{READ} r = signrules.evaluate(job); signrules.run_sheet(r); signrules.sarif({{'j': r}});"
        " r.to_dict()"
    ),
    "estimated": f"{READ} signrules.estimate(signrules.evaluate(job))",
    "mended": f"{READ} signrules.mend(job)",
    "built in": "import signrules; signrules.load_plugins()",
    "another file": "import signrules; signrules.load_plugins(files=[])",
    "blocked": "import signrules; signrules.load_plugins(entry_points=True, block=['lurking'])",
    "command, blocked": (
        f"from signrules.cli import main; main(['check', {JOB!r}, '--block', 'lurking'])"
    ),
    "schema": "from signrules.cli import main; main(['schema', 'job'])",
}
ASKED = {
    "entry points": (
        "import signrules; assert 'lurking' in signrules.load_plugins(entry_points=True).names"
    ),
    "command": f"from signrules.cli import main; main(['check', {JOB!r}])",
    "list": "from signrules.cli import main; main(['plugins'])",
}


@pytest.fixture
def installed(tmp_path: Path) -> Path:
    """A folder with an installed plugin that leaves a mark when its code runs."""
    facts = tmp_path / "lurking-1.0.dist-info"
    facts.mkdir()
    (facts / "METADATA").write_text("Metadata-Version: 2.1\nName: lurking\nVersion: 1.0\n", "utf-8")
    (facts / "entry_points.txt").write_text("[signrules]\nlurking = lurking_plugin\n", "utf-8")
    (tmp_path / "lurking_plugin.py").write_text("import sys\nsys.stderr.write('MARK')\n", "utf-8")
    return tmp_path


def ran(code: str, installed: Path) -> bool:
    """Whether the plugin's code ran."""
    path = os.pathsep.join([str(Path(signrules.__file__).parents[1]), str(installed)])
    shown = subprocess.run(
        [sys.executable, "-B", "-c", code],
        capture_output=True,
        env=os.environ | {"PYTHONPATH": path, "PYTHONUTF8": "1"},
        check=False,
    )
    assert b"Traceback" not in shown.stderr, shown.stderr.decode("utf-8", "replace")
    return b"MARK" in shown.stderr


@pytest.mark.parametrize("what", first_quick(2, NOT_ASKED))
def test_nobody_asked(installed, what):
    assert not ran(NOT_ASKED[what], installed)


@pytest.mark.parametrize("what", first_quick(1, ASKED))
def test_somebody_asked(installed, what):
    assert ran(ASKED[what], installed)


@pytest.mark.thorough
def test_the_report_of_the_command_says_what_was_loaded(installed):
    path = os.pathsep.join([str(Path(signrules.__file__).parents[1]), str(installed)])
    code = "from signrules.cli import main; main(['plugins', '--format', 'json'])"
    shown = subprocess.run(
        [sys.executable, "-B", "-c", code],
        capture_output=True,
        env=os.environ | {"PYTHONPATH": path},
        check=True,
    )
    assert "lurking" in json.dumps(json.loads(shown.stdout))
