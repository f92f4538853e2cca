"""Builds the documentation site as a person does, in a Python of its own."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def build_site(root: Path, target: Path) -> subprocess.CompletedProcess[str]:
    """Run the command that DEVELOPERS.md gives, in a checkout."""
    command = [sys.executable, str(root / "docs" / "site" / "build.py"), str(target)]
    return subprocess.run(command, cwd=root, capture_output=True, text=True, check=False)
