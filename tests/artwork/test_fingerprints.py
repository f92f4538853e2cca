"""Which artwork has changed since a job was read from it."""

from __future__ import annotations

import hashlib

import pytest
from attrs import evolve

import signrules
from signrules.artwork.fingerprints import changed_artwork, fingerprint_of
from signrules.model.passes import ArtworkSource


def passes(*sources):
    job = signrules.job_from_dict(signrules.sample_job())
    plain = job.passes[0]
    read = [
        evolve(plain, id=f"pass-{at}", artwork=(ArtworkSource(file, 1, "dots", fingerprint),))
        for at, (file, fingerprint) in enumerate(sources)
    ]
    return [plain, *read]


def test_a_fingerprint_is_the_sha_256_of_a_file():
    assert fingerprint_of(b"abc") == "sha256:" + hashlib.sha256(b"abc").hexdigest()


def test_only_what_has_changed_is_told():
    found = changed_artwork(
        passes(("a.pdf", "1"), ("b.pdf", "2"), ("a.pdf", "old")), {"a.pdf": "1", "b.pdf": "2"}
    )
    [changed] = found
    assert (changed.file, changed.passes, changed.lost) == ("a.pdf", ("pass-2",), False)
    assert "has changed since pass-2 were read" in str(changed)


@pytest.mark.parametrize("fingerprints", [{}, lambda file: None])
def test_a_file_that_is_not_there_is_lost(fingerprints):
    [lost] = changed_artwork(passes(("a.pdf", "1")), fingerprints)
    assert lost.lost
    assert "cannot be read" in str(lost)


def test_passes_without_artwork_say_nothing():
    assert changed_artwork(passes(), {}) == ()
