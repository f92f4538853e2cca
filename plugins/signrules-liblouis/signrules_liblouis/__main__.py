"""`python -m signrules_liblouis`: says which library answers, or what is missing.

Exit status 0 or 1.
"""

from __future__ import annotations

import sys

from signrules_liblouis.binding import LiblouisError, liblouis
from signrules_liblouis.plugin import TABLES


def main() -> int:
    """Try every table once."""
    try:
        library = liblouis()
        for tables in TABLES.values():
            library.translate("stop", tables)
    except LiblouisError as error:
        print(error, file=sys.stderr)
        return 1
    print(
        f"liblouis {library.version}:"
        f" {', '.join(f'{language} {grade}' for language, grade in TABLES)}"
    )
    return 0


if __name__ == "__main__":
    sys.exit(main())
