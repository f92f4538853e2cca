"""What a plugin gives to have files of its formats read."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from attrs import frozen

if TYPE_CHECKING:
    from signrules.artwork.drawing import Artwork


@frozen
class ArtworkReader:
    """A reader of files of drawings, as the hook `signrules_read_artwork` gives it.

    `suffixes` are endings of names in lower case (".pdf"). `read` is given the name of the file and
    its bytes; it opens nothing else, fetches nothing, and raises `ArtworkError` for a file that it
    cannot read, which names the place in the file.
    """

    suffixes: tuple[str, ...]
    read: Callable[[str, bytes], Artwork]
