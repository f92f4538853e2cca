"""Letters of installed fonts, as outlines, are measured as their fonts say."""

from __future__ import annotations

import pytest
from font_outlines import HEIGHT, UPRIGHT, opened, outlines

from signrules.artwork.known_letters import known_letters, strokes_of_line
from signrules.artwork.letter_regions import letters_of
from signrules.artwork.letters import measured_letters


@pytest.mark.parametrize("path", UPRIGHT)
@pytest.mark.parametrize("text", ["ROOM 214", "MEN", "STAIR", "PUSH"])
@pytest.mark.parametrize("is_told", [True, False])
def test_the_stroke_is_that_of_the_font_to_two_in_a_hundred(path, text, is_told):
    _, measures = opened(path)
    found = measured_letters(outlines(path, text), (), (text,) if is_told else ())
    assert found.stroke.nominal == pytest.approx(measures.stroke_share * HEIGHT, rel=0.02)


@pytest.mark.parametrize("path", UPRIGHT)
def test_the_width_of_o_is_that_of_the_font(path):
    _, measures = opened(path)
    found = measured_letters(outlines(path, "ROOM"), (), ("ROOM",))
    assert found.width.nominal == pytest.approx(measures.width_share * HEIGHT, abs=0.002)


@pytest.mark.parametrize(
    ("path", "style"),
    [
        ("liberation/LiberationSerif-Regular.ttf", "serif"),
        ("dejavu/DejaVuSerif-Bold.ttf", "serif"),
        ("liberation/LiberationSans-Italic.ttf", "italic"),
        ("dejavu/DejaVuSans-BoldOblique.ttf", "italic"),
        ("liberation/LiberationSans-Regular.ttf", None),
        ("dejavu/DejaVuSans-Bold.ttf", None),
    ],
)
@pytest.mark.parametrize("text", ["EXIT", "PUSH", "STAFF ONLY"])
def test_serifs_and_slant_are_seen(path, style, text):
    assert measured_letters(outlines(path, text), (), (text,)).style == style


def test_what_outlines_do_not_tell_is_said():
    path = UPRIGHT[0]
    unknown = measured_letters(outlines(path, "EXIT"), ())
    assert [words.split(",")[0] for words in unknown.not_measured] == [
        "which letters they are",
        "the stroke of I",
    ]
    assert (unknown.width, unknown.style) == (None, None)
    known = measured_letters(outlines(path, "EXIT"), (), ("EXIT",))
    assert known.not_measured == (
        "the width of O, which the text does not have",
        "whether they are ornate; they have no serifs and do not slant",
    )
    thin = measured_letters(outlines(path, "VAN"), (), ("VAN",))
    assert thin.not_measured[0].startswith("whether they are capitals")
    assert thin.not_measured[1].startswith("the stroke of I, since no letter has a stem like it")
    # The stems of N are thinner than that of I in this font: 2.443 and 2.711 mm of 20 (its table).
    assert thin.stroke.nominal < 2.5


def test_a_text_of_another_number_of_letters_tells_nothing_of_them():
    found = measured_letters(outlines(UPRIGHT[0], "ROOM"), (), ("ROOMS",))
    assert found.width is None
    assert found.not_measured[0].startswith("which letters they are")


@pytest.mark.parametrize("text", ["LEFT", "HALL", "TOUR", "ROBOT"])
@pytest.mark.parametrize("path", UPRIGHT)
def test_letters_like_i_tell_its_stroke_within_a_doubt(path, text):
    """The truth is the stem of the I of the same font."""
    [true] = strokes_of_line(known_letters(letters_of(outlines(path, "I")), "I"), (), HEIGHT)
    least, likely, most = strokes_of_line(
        known_letters(letters_of(outlines(path, text)), text), (), HEIGHT
    )
    assert least <= true <= most
    # By hand: 0.3 % of the height either way.
    assert most - likely == pytest.approx(0.003 * HEIGHT)
    assert likely - least == pytest.approx(0.003 * HEIGHT)
