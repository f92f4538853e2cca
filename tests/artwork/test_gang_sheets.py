"""Signs beside each other on one sheet: each has its own text."""

from __future__ import annotations

import pytest
from drawn_artwork import SHOP, artwork_of, layer_of, rectangle

from signrules.artwork.drawing import FontMeasures, Shape, TextRun
from signrules.artwork.job_making import document_from_artwork, job_from_artwork
from signrules.errors import ArtworkError
from signrules.shop_file import shop_from_dict

SANS = FontMeasures("Invented Sans", 0.7, 0.5, 0.13, 0.9, serif=False, slanted=False)
GROUND = layer_of("Ground", rectangle(0, 0, 200, 200))
EDGES = layer_of(
    "Cut",
    rectangle(0, 100, 90, 90),
    rectangle(100, 100, 90, 90),
    step="Structural",
    step_type="Cutting",
)


def bars(*places):
    return tuple(rectangle(x, 140, 3, 25.2) for x in places)


def sheet_of(run):
    return artwork_of(GROUND, layer_of("Raised letters", texts=(run,)), EDGES)


def test_one_run_over_two_signs_is_the_text_of_each():
    """The bars of "11 12 13": two words on the left sign and one on the right."""
    shapes = bars(10, 17, 40, 47, 110, 117)
    run = TextRun("11 12 13", (10.0, 140.0), 36.0, 0.0, SANS, shapes)
    left, right = job_from_artwork(sheet_of(run), shop_from_dict(SHOP)).signs
    assert (left.text, right.text) == (("11 12",), ("13",))
    # By hand: from 10 + 3 to 17, and from 17 + 3 to 40.
    assert left.raised.spacing.nominal == pytest.approx(4, abs=0.002)
    assert left.raised.word_spacing.high == pytest.approx(20, abs=0.002)
    assert right.raised.word_spacing is None


def test_raised_text_across_a_cut_edge_is_refused():
    """The last bar reaches from 88 to 91 mm, and the edge lies at 90."""
    run = TextRun("11 12", (50.0, 140.0), 36.0, 0.0, SANS, bars(50, 57, 81, 88))
    with pytest.raises(ArtworkError, match=r"1 shape reaching up to 1\.00 mm over it, .* at 89\.5"):
        document_from_artwork(sheet_of(run), shop_from_dict(SHOP))


def test_a_border_may_run_off_its_sign():
    ring = rectangle(-3, 97, 96, 96)
    border = Shape(ring.outline, (rectangle(2, 102, 86, 86).outline,))
    raised = layer_of("Raised letters", border, *bars(10, 17))
    [note] = [
        note
        for note in document_from_artwork(
            artwork_of(GROUND, raised, EDGES), shop_from_dict(SHOP)
        ).notes
        if "reach over the sheet" in note
    ]
    assert "3.0 mm" in note


def test_text_within_its_sign_is_not_told():
    run = TextRun("11", (10.0, 140.0), 36.0, 0.0, SANS, bars(10, 17))
    assert "read_notes" not in document_from_artwork(sheet_of(run), shop_from_dict(SHOP)).document


def test_what_outlines_leave_open_names_its_signs():
    raised = layer_of("Raised letters", *bars(10, 17, 110, 117))
    made = document_from_artwork(artwork_of(GROUND, raised, EDGES), shop_from_dict(SHOP))
    [note] = [note for note in made.notes if "characters are outlines" in note]
    left, right = (sign["id"] for sign in made.document["signs"])
    assert note.endswith(f"(of {left!r}, {right!r})")
