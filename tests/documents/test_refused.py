"""Refusals that carry several faults, and paths that continue one another."""

from __future__ import annotations

import pytest

from signrules.documents import Refused
from signrules.documents.refusal import joined_path, nearest_known, path_label
from signrules.errors import DocumentFault


def test_what_is_said_of_several_faults_is_said_of_the_first() -> None:
    refused = Refused([DocumentFault("a", "1", "text"), DocumentFault("b", "2", "a number")])
    assert (refused.found, refused.expected) == ("1", "text")
    assert [fault.path for fault in refused.under("table")] == ["table.a", "table.b"]


@pytest.mark.parametrize(
    ("path", "inside", "joined"),
    [("", "a", "a"), ("a", "", "a"), ("a", "b", "a.b"), ("a", "[0]", "a[0]"), ("", "", "")],
)
def test_a_path_is_continued(path: str, inside: str, joined: str) -> None:
    assert joined_path(path, inside) == joined


def test_a_key_of_sixty_characters_is_named_in_full_and_a_longer_one_in_short() -> None:
    assert path_label("k" * 60) == "k" * 60
    assert len(path_label("k" * 61)) <= 60
    assert path_label(3) == "3"


def test_what_is_no_text_is_like_no_name() -> None:
    assert nearest_known(3, ["3"]) is None
    assert nearest_known("claer", iter(["clear", "white"])) == "clear"
