"""Cut lines as drawing programs leave them: every edge is that of the path that was drawn."""

from __future__ import annotations

import pytest
from attrs import evolve
from drawn_artwork import SHOP, artwork_of, circle, layer_of, rectangle

import signrules
from signrules.artwork.drawing import Shape
from signrules.artwork.job_making import document_from_artwork, job_from_artwork
from signrules.errors import ArtworkError
from signrules.shop_file import shop_from_dict

GROUND = layer_of("Ground", rectangle(0, 0, 200, 200))
LEFT, LOW, WIDTH, HEIGHT, STROKE = 20.0, 60.0, 100.0, 90.0, 0.35
RIGHT, HIGH = LEFT + WIDTH, LOW + HEIGHT


def job_of(*shapes):
    edge = layer_of("Cut", *shapes, step="Structural", step_type="Cutting")
    return job_from_artwork(artwork_of(GROUND, edge), shop_from_dict(SHOP))


def level_line(x, y, length):
    """A stroke along x whose middle lies on y."""
    return rectangle(x, y - STROKE / 2, length, STROKE)


def upright_line(x, y, length):
    return rectangle(x - STROKE / 2, y, STROKE, length)


def four_lines():
    lines = [level_line(LEFT, y, WIDTH) for y in (LOW, HIGH)]
    return lines + [upright_line(x, LOW, HEIGHT) for x in (LEFT, RIGHT)]


def dashes(length=4.0, gap=2.0):
    """Dashes along each side, from corner to corner."""
    found = []
    for at in range(int(WIDTH // (length + gap)) + 1):
        place = at * (length + gap)
        long = min(length, WIDTH - place)
        found += [level_line(LEFT + place, y, long) for y in (LOW, HIGH)]
        if place < HEIGHT:
            long = min(length, HEIGHT - place)
            found += [upright_line(x, LOW + place, long) for x in (LEFT, RIGHT)]
    return found


def open_path(opening=0.5):
    """One stroke around the sign that ends shortly before it is closed, at the lower left."""
    half = STROKE / 2
    outside = (
        (LEFT + opening, LOW - half),
        (RIGHT + half, LOW - half),
        (RIGHT + half, HIGH + half),
        (LEFT - half, HIGH + half),
        (LEFT - half, LOW),
    )
    inside = (
        (LEFT + half, LOW),
        (LEFT + half, HIGH - half),
        (RIGHT - half, HIGH - half),
        (RIGHT - half, LOW + half),
        (LEFT + opening, LOW + half),
    )
    return [Shape(outside + inside)]


@pytest.mark.parametrize("drawn", [four_lines, dashes, open_path])
def test_pieces_of_a_cut_line_are_joined(drawn):
    [sign] = job_of(*drawn()).signs
    # The sides of the path that the strokes follow.
    found = (sign.area.x, sign.area.y, sign.area.width, sign.area.height)
    assert found == pytest.approx((LEFT, LOW, WIDTH, HEIGHT), abs=0.002)


def test_lines_between_signs_are_edges_of_both():
    middle = upright_line(LEFT + 40, LOW, HEIGHT)
    signs = job_of(*four_lines(), middle).signs
    assert [(sign.area.x, sign.area.width) for sign in signs] == [(20, 40), (60, 60)]


def test_crop_marks_are_no_cut_line():
    marks = [level_line(x, y, 4.0) for x in (5, 190) for y in (10, 190)]
    with pytest.raises(ArtworkError) as error:
        job_of(*marks)
    assert "4 pieces of cut lines that close nothing" in str(error.value)
    assert "one closed path around each sign" in str(error.value)


def test_pieces_too_far_apart_are_not_joined():
    with pytest.raises(ArtworkError, match="close nothing"):
        job_of(*dashes(length=4.0, gap=3.5))


def test_a_piece_within_a_sign_is_a_slit():
    [sign] = job_of(rectangle(LEFT, LOW, WIDTH, HEIGHT), level_line(40, 100, 20)).signs
    assert sign.area == signrules.Area(LEFT, LOW, WIDTH, HEIGHT)


def test_an_edge_smaller_than_any_sign_is_refused():
    with pytest.raises(ArtworkError, match="a cut edge of 4 x 4 mm at 148"):
        job_of(rectangle(LEFT, LOW, WIDTH, HEIGHT), circle(150, 150, 4))


def test_a_line_that_the_page_has_cut_off_lies_on_its_edge():
    """A stroke 1 mm wide along the edge of a page of 200 x 200 mm: its inner half is there."""
    hole = ((0.5, 0.5), (199.5, 0.5), (199.5, 199.5), (0.5, 199.5))
    [sign] = job_of(evolve(rectangle(0, 0, 200, 200), holes=(hole,))).signs
    assert sign.area == signrules.Area(0, 0, 200, 200)


def test_a_page_without_a_cut_line_is_told_and_kept():
    told = "no cut line is drawn, so the whole page of 200 x 200 mm is taken for the sign"
    made = document_from_artwork(artwork_of(GROUND), shop_from_dict(SHOP))
    assert any(told in note for note in made.notes)
    job = job_from_artwork(artwork_of(GROUND), shop_from_dict(SHOP))
    assert [told in note for note in job.read_notes] == [True]
    assert told in signrules.evaluate(job).to_dict()["read_notes"][0]
    assert job_of(rectangle(LEFT, LOW, WIDTH, HEIGHT)).read_notes == ()
