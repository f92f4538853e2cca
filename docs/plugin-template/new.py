"""Makes a plugin of your own from the template beside this file: `python3 new.py lighthouse`.

It copies the template to the folder `signrules-lighthouse` where you are, with your word in the
place of `ourshop`. It needs nothing but Python.
"""

from __future__ import annotations

import re
import sys
import tempfile
from pathlib import Path

TEMPLATE = Path(__file__).resolve().parent
PLACEHOLDER = "ourshop"
SETS_OF_SIGNRULES = [
    "alignment",
    "braille",
    "clearance",
    "contrast",
    "data",
    "document",
    "drawing",
    "figures",
    "finish",
    "gap",
    "hold",
    "material",
    "mounting",
    "order",
    "pictogram",
    "raised",
    "registration",
    "scope",
    "tables",
    "thickness",
    "throw",
    "visual",
    "waivers",
]
"""Words that rules of others may not begin with: the plugin would not load."""

LEFT_OUT = {"new.py", "__pycache__", ".venv", ".pytest_cache", ".mypy_cache", ".ruff_cache", "dist"}


def new(word: str, where: Path) -> Path:
    """Make the plugin under `where`; its folder.

    Raises ValueError where the word or the place will not do.
    """
    if not re.fullmatch(r"[a-z][a-z0-9]*", word):
        raise ValueError(
            f"found {word!r}, expected one word of small letters and digits, such as 'lighthouse'"
        )
    if word in SETS_OF_SIGNRULES:
        raise ValueError(
            f"found {word!r}, the word of a set of rules that belongs to signrules, expected"
            " another, such as that of your shop"
        )
    target = where / f"signrules-{word}"
    if target.exists():
        raise ValueError(
            f"{target} is there already: choose another word, or take the folder away first"
        )
    # Written beside and moved into place at the end, so that a folder which is there is a whole
    # one.
    with tempfile.TemporaryDirectory(dir=where) as beside:
        for source in sorted(TEMPLATE.rglob("*")):
            parts = source.relative_to(TEMPLATE).parts
            if source.is_file() and not LEFT_OUT & set(parts):
                file = Path(beside, "plugin", *(part.replace(PLACEHOLDER, word) for part in parts))
                file.parent.mkdir(parents=True, exist_ok=True)
                file.write_text(
                    source.read_text("utf-8").replace(PLACEHOLDER, word), encoding="utf-8"
                )
        Path(beside, "plugin").rename(target)
    return target


if __name__ == "__main__":
    if len(sys.argv) != 2:
        sys.exit("usage: python3 new.py WORD, such as python3 new.py lighthouse")
    try:
        made = new(sys.argv[1], Path.cwd())
    except (ValueError, OSError) as error:
        sys.exit(f"new.py: {error}")
    print(f"made {made.name}: read its README.md next")
