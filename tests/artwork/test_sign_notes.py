"""Notes of one kind are one note, with the signs that they are on."""

from __future__ import annotations

from signrules.artwork.sign_notes import SignNote, notes_with_signs

WIDTH = SignNote("not measured", ("the width", "the style"))
STYLE = SignNote("not measured", ("the style",))
TRUST = SignNote("on trust")


def test_notes_of_several_signs_are_told_once_with_their_signs():
    notes = [("s-1", WIDTH), ("s-1", TRUST), ("s-2", STYLE), ("s-2", TRUST), ("s-3", STYLE)]
    assert notes_with_signs(notes, several=True) == [
        "not measured: the width (of 's-1'); the style (of 's-1', 's-2', 's-3')",
        "on trust (of 's-1', 's-2')",
    ]


def test_notes_of_one_sign_name_none():
    notes = [("s-1", WIDTH), ("s-1", TRUST)]
    assert notes_with_signs(notes, several=False) == [
        "not measured: the width; the style",
        "on trust",
    ]
