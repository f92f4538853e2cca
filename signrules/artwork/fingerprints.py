"""Fingerprints of files of artwork, and whether one has changed since a job was read from it."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping

from attrs import frozen

from signrules.model.passes import ArtworkSource, Pass

KIND = "sha256"


def fingerprint_of(data: bytes) -> str:
    """The SHA-256 of a file: "sha256:" and 64 hexadecimal digits (FIPS 180-4)."""
    return f"{KIND}:{hashlib.sha256(data).hexdigest()}"


@frozen
class ReadPass:
    """What is asked of a pass here: its id, and what it was read from."""

    id: str
    artwork: tuple[ArtworkSource, ...]


@frozen
class ChangedArtwork:
    """A file that is not, or not as, it was when a job was read from it.

    `passes` are the ids of those that were read from it; `lost` says that it is not there.
    """

    file: str
    passes: tuple[str, ...]
    lost: bool

    def __str__(self) -> str:
        names = ", ".join(self.passes)
        if self.lost:
            return f"{self.file} cannot be read, so nobody knows whether {names} still fit it"
        return f"{self.file} has changed since {names} were read from it: read it again"

    def to_dict(self) -> dict[str, object]:
        """Plain data, ready for JSON."""
        return {
            "file": self.file,
            "passes": list(self.passes),
            "lost": self.lost,
            "text": str(self),
        }


def changed_artwork(
    passes: Iterable[Pass | ReadPass],
    fingerprints: Mapping[str, str] | Callable[[str], str | None],
) -> tuple[ChangedArtwork, ...]:
    """The files of passes that have another fingerprint now, or none.

    `fingerprints` tell that of a file by its name as the passes state it. Nothing is opened here.
    """
    ask = fingerprints.get if isinstance(fingerprints, Mapping) else fingerprints
    stated: dict[str, dict[str, list[str]]] = {}
    for item in passes:
        for source in item.artwork:
            of_fingerprint = stated.setdefault(source.file, {}).setdefault(source.fingerprint, [])
            if item.id not in of_fingerprint:
                of_fingerprint.append(item.id)
    found = []
    for file, by_fingerprint in stated.items():
        now = ask(file)
        # Passes of one file may have been read from it at different times: only the older ones are
        # stale.
        ids = [id for then, ids in by_fingerprint.items() if then != now for id in ids]
        if ids:
            found.append(ChangedArtwork(file, tuple(ids), lost=now is None))
    return tuple(found)
