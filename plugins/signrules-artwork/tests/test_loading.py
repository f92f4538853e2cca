"""The plugin is light until a file is read: commands that read no artwork load it too."""

from __future__ import annotations

import subprocess
import sys

HEAVY = ("numpy", "shapely", "fontTools", "pikepdf", "pypdfium2", "tifffile")
SCRIPT = f"""
import sys
from signrules import load_plugins
plugins = load_plugins(entry_points=True)
assert ".pdf" in plugins.readers, plugins
print([name for name in {HEAVY} if name in sys.modules])
"""


def test_to_load_it_loads_nothing_that_reads():
    run = subprocess.run([sys.executable, "-c", SCRIPT], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "[]"
