"""Places that are told count from the lower left corner of the page, whatever the sheet's is."""

from __future__ import annotations

import pytest
from attrs import evolve
from drawn_artwork import (
    SHOP,
    artwork_of,
    circle,
    dot_centres,
    dot_shapes,
    layer_of,
    rectangle,
)

from signrules.artwork.job_making import document_from_artwork, job_from_artwork
from signrules.errors import ArtworkError
from signrules.shop_file import shop_from_dict

BLANKS = shop_from_dict(SHOP | {"sheets": {"blank": {"thickness": "3 mm"}}})
"""A shop whose sheets are as large as the cut edge."""

GROUND = layer_of("Ground", rectangle(0, 0, 200, 200))
EDGE = layer_of("Cut", rectangle(20, 60, 100, 90), step="Structural", step_type="Cutting")
DOTS = layer_of("Dots", *dot_shapes(dot_centres(["⠗⠕⠕⠍"], at=(40.0, 90.0))), step="Braille")


@pytest.mark.parametrize("shop", [shop_from_dict(SHOP), BLANKS])
def test_a_wrong_dot_is_told_where_it_lies_on_the_page(shop):
    stray = evolve(DOTS, shapes=(*DOTS.shapes, circle(57.5, 87.0, 1.55)))
    with pytest.raises(ArtworkError, match=r"the dot at 57\.500, 87\.000 mm"):
        job_from_artwork(artwork_of(GROUND, EDGE, stray), shop)


@pytest.mark.parametrize("shop", [shop_from_dict(SHOP), BLANKS])
def test_specks_are_told_where_they_lie_on_the_page(shop):
    letters = [rectangle(40 + 7 * at, 110, 3, 25) for at in range(3)]
    specks = [rectangle(99.99 - at, 70.99, 0.02, 0.02) for at in range(7)]
    raised = layer_of("Raised letters", *letters, *specks)
    made = document_from_artwork(artwork_of(GROUND, EDGE, raised), shop)
    (told,) = [note for note in made.document["read_notes"] if "speck" in note]
    assert "specks of up to 0.020 mm are taken for no part of a letter, and are printed" in told
    places = "100.0, 71.0; 99.0, 71.0; 98.0, 71.0; 97.0, 71.0; 96.0, 71.0 mm and 2 more"
    assert told.endswith(f"at {places}")


def test_areas_of_the_job_count_from_the_corner_of_the_sheet():
    edge = layer_of("Cut", rectangle(-0.0, 0, 100, 95), step="Structural", step_type="Cutting")
    made = document_from_artwork(artwork_of(GROUND, edge, DOTS), BLANKS).document
    assert str(made["signs"][0]["area"]) == "[0.0, 0.0, 100.0, 95.0]"
    moved = document_from_artwork(artwork_of(GROUND, EDGE, DOTS), BLANKS).document
    areas = {each["id"]: each["areas"] for each in moved["passes"]}
    assert areas["ground"] == [[0.0, 0.0, 100.0, 90.0]]
    # By hand: the first dot lies at 40, 90 mm of the page, which is 20, 30 mm of the sheet.
    x, _, _, _ = areas["dots"][0]
    assert x == pytest.approx(20 - 1.55 / 2, abs=0.01)
    assert moved["signs"][0]["area"] == [0.0, 0.0, 100.0, 90.0]
