"""Fingerprints of jobs: made of the document alone, in the way that is written down."""

from __future__ import annotations

import hashlib

from signrules import job_from_dict, job_to_dict, sample_job
from signrules.documents.job_fingerprints import job_fingerprint, short_fingerprint


def canonical(value):
    """JSON with sorted keys and escapes, written out by hand."""
    if isinstance(value, dict):
        pairs = [f"{canonical(key)}: {canonical(value[key])}" for key in sorted(value)]
        return "{" + ", ".join(pairs) + "}"
    if isinstance(value, list | tuple):
        return "[" + ", ".join(map(canonical, value)) + "]"
    if isinstance(value, str):
        escaped = value.replace("\\", "\\\\").replace('"', '\\"')
        return '"' + "".join(c if c.isascii() else f"\\u{ord(c):04x}" for c in escaped) + '"'
    if isinstance(value, bool):
        return "true" if value else "false"
    return repr(value)


def test_the_fingerprint_is_that_of_the_document_with_sorted_keys_and_escapes():
    job = job_from_dict(sample_job() | {"name": "Küche"})
    expected = hashlib.sha256(canonical(job_to_dict(job)).encode("ascii")).hexdigest()
    assert job_fingerprint(job) == f"sha256:{expected}"


def test_the_sequence_of_keys_and_units_make_no_difference_and_figures_do():
    document = sample_job()
    job = job_from_dict(document)
    turned = job_from_dict(dict(reversed(document.items())))
    assert job_fingerprint(turned) == job_fingerprint(job)
    warmer = job_from_dict(document | {"temperature": job.temperature + 1})
    assert job_fingerprint(warmer) != job_fingerprint(job)


def test_a_short_one_is_twelve_digits_in_groups_of_four():
    assert short_fingerprint("sha256:0123456789abcdef") == "0123 4567 89ab"
