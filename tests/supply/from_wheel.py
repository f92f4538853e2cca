"""Builds sdist and wheel, installs the wheel into a fresh venv, and runs tests of the sdist against
it.

    python tests/supply/from_wheel.py newest      # the newest releases of what is needed
    python tests/supply/from_wheel.py lowest      # the lowest that pyproject.toml allows

It needs hatchling and a package index. What it makes lies in a temporary folder, which is taken
away.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tarfile
import tempfile
import time
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]
TESTS = {
    "newest": (
        "tests/test_main_job.py",
        "tests/test_cli.py",
        "tests/test_catalogue.py",
        "tests/reports/test_text.py",
    ),
    "lowest": (
        "tests/documents",
        "tests/physics",
        "tests/rules",
        "tests/test_plugins.py",
        "tests/test_main_job.py",
    ),
}
EXTRAS = {"newest": ("test",), "lowest": ("test",)}


def lowest(requirements: list[str]) -> list[str]:
    """Each requirement held to its lower bound."""
    found = []
    for requirement in requirements:
        match = re.match(r"([A-Za-z0-9_.-]+)>=([0-9.]+)", requirement)
        if match:
            found.append(f"{match[1]}=={match[2]}")
    return found


def run(*command: str | Path, where: Path, environment: dict[str, str] | None = None) -> None:
    """Run a command; the whole ends where it fails."""
    subprocess.run([str(part) for part in command], cwd=where, check=True, env=environment)


def main(which: str) -> None:
    """Build, install, test."""
    began = time.monotonic()
    with tempfile.TemporaryDirectory(prefix="signrules-") as name:
        folder = Path(name)
        run(sys.executable, "-m", "hatchling", "build", "-d", folder, where=ROOT)
        (wheel,) = folder.glob("*.whl")
        (sdist,) = folder.glob("*.tar.gz")
        with tarfile.open(sdist) as archive:
            archive.extractall(
                folder, **({"filter": "data"} if hasattr(tarfile, "data_filter") else {})
            )
        (unpacked,) = (path for path in folder.iterdir() if path.is_dir())
        shutil.rmtree(unpacked / "signrules")
        project = tomllib.loads((unpacked / "pyproject.toml").read_text("utf-8"))["project"]
        python = venv(folder / "venv", wheel, project, which)
        environment = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
        code = (
            "import signrules, sys; assert signrules.__file__.startswith(sys.prefix),"
            " signrules.__file__"
        )
        run(python, "-c", code, where=unpacked, environment=environment)
        example = "docs/examples/clinic.toml"
        run(python.parent / "signrules", "check", example, where=unpacked, environment=environment)
        run(
            python,
            "-m",
            "pytest",
            "-p",
            "no:cacheprovider",
            "-n",
            "auto",
            *TESTS[which],
            where=unpacked,
            environment=environment,
        )
    print(f"{which}: {time.monotonic() - began:.0f} s")


def venv(where: Path, wheel: Path, project: dict[str, object], which: str) -> Path:
    """A fresh venv with the wheel and what the tests need; the path of its Python."""
    run(sys.executable, "-m", "venv", where, where=where.parent)
    python = where / ("Scripts" if os.name == "nt" else "bin") / "python"
    extras = project["optional-dependencies"]
    assert isinstance(extras, dict)
    held = (
        []
        if which == "newest"
        else lowest([*_listed(project["dependencies"]), *_all(extras, EXTRAS[which])])
    )
    wanted = f"{wheel}[{','.join(EXTRAS[which])}]"
    run(
        python,
        "-m",
        "pip",
        "install",
        "-q",
        "--disable-pip-version-check",
        wanted,
        *held,
        where=where.parent,
    )
    return python


def _all(extras: dict[str, list[str]], names: tuple[str, ...]) -> list[str]:
    return [requirement for name in names for requirement in extras[name]]


def _listed(value: object) -> list[str]:
    assert isinstance(value, list)
    return value


if __name__ == "__main__":
    if len(sys.argv) != 2 or sys.argv[1] not in TESTS:
        sys.exit(__doc__)
    main(sys.argv[1])
