"""`python -m signrules`."""

import sys

from signrules.cli import main

if __name__ == "__main__":
    sys.exit(main())
