"""Text drawn otherwise than its font has it counts as it is drawn, and letters are counted."""

from __future__ import annotations

import pytest
from attrs import evolve
from drawn_artwork import SHOP, artwork_of, layer_of, rectangle, ring_shape
from font_outlines import UPRIGHT, outlines

from signrules.artwork.choices import ArtworkChoices
from signrules.artwork.drawing import FontMeasures, Shape, TextRun
from signrules.artwork.job_making import document_from_artwork
from signrules.artwork.letters import measured_letters
from signrules.errors import ArtworkError
from signrules.shop_file import shop_from_dict

SANS = FontMeasures("Invented Sans", 0.7, 0.5, 0.13, 0.9, serif=False, slanted=False)
EM = 30.0
"""Its capitals are 21 mm tall, its strokes 2.73 mm, its O is 18.9 mm wide (0.7, 0.13, 0.9)."""


def run_of_bars(text, *, stroke=4.0, height=20.0, at=(30.0, 120.0), **more):
    """A line of bars, 8 mm from one to the next, in the place of letters."""
    x, y = at
    letters = "".join(text.split())
    bars = tuple(rectangle(x + 8 * place, y, stroke, height) for place in range(len(letters)))
    return TextRun(text, at, EM, font=SANS, shapes=bars, **more)


def test_letters_that_are_altered_are_measured_as_they_are_drawn():
    plain = measured_letters((), [run_of_bars("ILI")])
    assert (plain.height.nominal, plain.stroke.nominal) == pytest.approx((21, 2.73))
    assert (plain.style, plain.lacking) == ("sans-serif", ())
    altered = measured_letters((), [run_of_bars("ILI", altered=("drawn with lines of 1 mm",))])
    # The bars are 4 mm wide and 20 mm tall; no O is drawn, and nothing shows that they are plain.
    assert (altered.height.nominal, altered.stroke.nominal) == pytest.approx((20, 4))
    assert (altered.width, altered.style) == (None, None)
    [told] = altered.lacking
    assert told.startswith("'ILI' at 30.0, 120.0 mm is drawn with lines of 1 mm")
    assert "Not measured: the width of O" in told


def test_the_width_of_an_altered_o_is_that_of_what_is_drawn():
    run = TextRun("O", (30, 120), EM, font=SANS, shapes=(ring_shape(40, 130, 20, 3),))
    found = measured_letters((), [evolve(run, altered=("set to 50.0 % of its width",))])
    assert found.width.nominal == pytest.approx(20, abs=0.01)


def test_a_serif_font_stays_one_whatever_befalls_its_letters():
    run = run_of_bars("ILI", altered=("partly clipped away",))
    serif = evolve(run, font=evolve(SANS, serif=True))
    assert measured_letters((), [serif]).style == "serif"


def test_altered_text_without_outlines_is_not_measured_and_told():
    run = TextRun("TOILET", (30, 120), EM, font=SANS, altered=("slanted by 12.0 degrees",))
    found = measured_letters((), [run])
    assert (found.height, found.stroke, found.width, found.style) == (None,) * 4
    assert "Not measured: anything, since the file has no outlines of it" in found.lacking[0]


def test_a_text_that_is_written_twice_is_one_as_thick_as_both():
    one = run_of_bars("ILI", stroke=3.0)
    other = run_of_bars("ILI", stroke=3.0, at=(30.5, 120.0))
    found = measured_letters((), [one, other])
    assert found.text == ("ILI",)
    # By hand: bars of 3 mm, the same ones 0.5 mm further right.
    assert found.stroke.nominal == pytest.approx(3.5)
    assert "drawn once more at 30.50, 120.00 mm" in found.lacking[0]
    apart = measured_letters((), [one, run_of_bars("ILI", at=(30.0, 80.0))])
    assert apart.text == ("ILI", "ILI")


def read(*layers, text=()):
    return document_from_artwork(
        artwork_of(*layers), shop_from_dict(SHOP), ArtworkChoices(text=text)
    )


def test_raised_letters_that_cannot_be_read_from_the_front_are_refused():
    mirrored = run_of_bars("ILI", altered=("mirrored",))
    with pytest.raises(ArtworkError, match=r"'ILI' at 30\.0, 120\.0 mm, which is mirrored"):
        read(layer_of("Raised letters", texts=(mirrored,)))
    upended = run_of_bars("ILI", angle=180.0)
    with pytest.raises(ArtworkError, match="which is on its head"):
        read(layer_of("Raised letters", texts=(upended,)))


@pytest.mark.parametrize(
    ("count", "text"),
    [(5, ("TOILET",)), (6, ("TOILET", "KIOSK")), (1, ("IL",))],
)
def test_letters_that_are_missing_are_refused(count, text):
    bars = [rectangle(40 + 8 * at, 110, 3, 25) for at in range(count)]
    with pytest.raises(ArtworkError, match=rf"1 line of {count} letters drawn, and the text has"):
        read(layer_of("Raised letters", *bars), text=text)


def test_letters_of_live_text_that_are_not_drawn_are_refused():
    run = evolve(run_of_bars("ILI"), text="ILILI", altered=("partly covered by white",))
    with pytest.raises(ArtworkError, match="'ILILI': 1 line of 3 letters drawn"):
        read(layer_of("Raised letters", texts=(run,)))


def test_a_line_with_a_shape_too_many_is_measured_and_told():
    bars = [rectangle(40 + 8 * at, 110, 3, 25) for at in range(5)]
    made = read(layer_of("Raised letters", *bars), text=("LIFT",))
    raised = made.document["signs"][0]["raised"]
    assert (raised["height"]["is"], raised["stroke"]["is"]) == (25, 3)
    assert raised["drawn"] == "unlike-text"
    assert not {"width", "style", "case"} & set(raised)
    notes = " ".join(made.document["read_notes"])
    # A bar is as wide at its top as at its foot, as no L is: 40 + 3 / 2 and 110 + 25 / 2.
    assert "5 letters are drawn for 'LIFT', which has 4" in notes
    assert "the first that does not fit is at 41.5, 122.5 mm" in notes


def test_letters_below_accents_are_counted_as_others():
    bars = [rectangle(40 + 8 * at, 110, 3, 25) for at in range(4)]
    with pytest.raises(ArtworkError, match="and the text has 1 line of 5 letters"):
        read(layer_of("Raised letters", *bars), text=("CAFÉS",))


def test_outlines_show_that_they_are_capitals_by_their_heights():
    # Of "kin" n would be lower than k; of "men" all letters are alike.
    assert measured_letters(outlines(UPRIGHT[0], "KIN"), (), ("KIN",)).case_shown
    assert not measured_letters(outlines(UPRIGHT[0], "MEN"), (), ("MEN",)).case_shown
    first, second, third = outlines(UPRIGHT[0], "KIN")
    lower = tuple((x, 0.7 * y) for x, y in third.outline)
    small = measured_letters([first, second, Shape(lower)], (), ("KIN",))
    assert not small.case_shown
    [words] = small.lacking
    assert words.startswith("the letters drawn for 'KIN' differ in height, as capitals do not")
    # By the outline: the middle of its box.
    across, along = zip(*lower, strict=True)
    at = f"{(min(across) + max(across)) / 2:.1f}, {max(along) / 2:.1f} mm"
    assert f"{at}, which should be 'N'" in words
    assert small.drawn == "unlike-text"


@pytest.mark.parametrize("tint", [0.4, 0.99])
def test_tints_are_refused_where_ink_is_to_stand_up(tint):
    bars = [rectangle(40 + 8 * at, 110, 3, 25, tint=tint) for at in range(3)]
    with pytest.raises(ArtworkError, match=rf"3 shapes in a tint, of {100 * tint:.0f} % at least"):
        read(layer_of("Raised letters", *bars))
    solid = [evolve(bar, tint=1.0) for bar in bars]
    assert read(layer_of("Raised letters", *solid)).document["signs"][0]["raised"]["height"]
