"""The readers under a coverage-guided fuzzer, by hand: `pip install atheris`, then

python plugins/signrules-artwork/tests/atheris_readers.py pdf -max_total_time=600

for pdf, svg, tiff or png. Whatever is not ArtworkError is a finding.
"""

from __future__ import annotations

import sys

import atheris

with atheris.instrument_imports(include=["signrules_artwork"]):
    from signrules_artwork.image.png import read_png
    from signrules_artwork.image.tiff import read_tiff
    from signrules_artwork.pdf.reader import read_pdf
    from signrules_artwork.svg.reader import read_svg

from signrules.errors import ArtworkError

READERS = {"pdf": read_pdf, "svg": read_svg, "tiff": read_tiff, "png": read_png}


def main() -> None:
    """Fuzzes the reader that the first argument names."""
    read = READERS[sys.argv.pop(1)]

    def try_once(data: bytes) -> None:
        try:
            read("fuzz", data)
        except ArtworkError:
            return

    atheris.Setup(sys.argv, try_once)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
