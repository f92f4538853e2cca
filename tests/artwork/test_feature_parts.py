"""Dots and letters on one layer: told apart, each with its own areas, or refused with places."""

from __future__ import annotations

import math
import random

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
    ring_shape,
)
from effort import effort

import signrules
from signrules.artwork.choices import ArtworkChoices
from signrules.artwork.dot_drawing import drawn_dots
from signrules.artwork.drawing import FontMeasures, TextRun
from signrules.artwork.job_making import job_from_artwork
from signrules.errors import ArtworkError, ShopError
from signrules.model.built_areas import areas_building
from signrules.shop_file import shop_from_dict

SHARED = {"name": "Relief", "ink": "clear", "layers": 24, "builds": ["braille", "raised"]}
LETTERS = [rectangle(40 + 7 * at, 110, 3, 25) for at in range(3)]
ROUND_O = ring_shape(75, 122.5, 25, 3)
CELLS = ("⠗⠕⠕⠍",)


def shop_with(*rows):
    return shop_from_dict(SHOP | {"layers": [*rows, *SHOP["layers"]]})


def dots_at(x=40.0, y=90.0, lines=CELLS):
    return dot_shapes(dot_centres(lines, at=(x, y)))


def relief(*more, dots=None):
    return layer_of("Relief", *(dots_at() if dots is None else dots), *LETTERS, ROUND_O, *more)


def job_of(*layers, **choices):
    return job_from_artwork(artwork_of(*layers), shop_with(SHARED), ArtworkChoices(**choices))


def test_one_pass_builds_both_and_each_is_judged_on_its_own_areas():
    job = job_of(relief(), text=("ROOM",), kind="permanent-room", standards=("us-ada-2010",))
    [item] = job.passes
    assert item.builds == ("sign.braille", "sign.raised")
    [sign] = job.signs
    assert sign.braille.cells == CELLS[0]
    assert sign.raised.height.nominal == pytest.approx(25)
    # By hand: dots lie below 92, letters from 110 to 135.
    assert sign.braille.area.y + sign.braille.area.height < 92
    assert (sign.raised.area.y, sign.raised.area.height) == pytest.approx((110, 25), abs=0.01)
    of_dots = areas_building(job, item, "sign.braille")
    of_letters = areas_building(job, item, "sign.raised")
    assert set(of_dots) | set(of_letters) == set(item.areas)
    assert not set(of_dots) & set(of_letters)
    unassessed = {
        check.rule for check in signrules.evaluate(job).checks if check.outcome.name == "UNASSESSED"
    }
    assert not unassessed & {"braille.dot-height", "raised.depth"}


def test_it_measures_what_two_layers_do():
    apart = job_of(
        layer_of("Dots", *dots_at(), step="Braille"), layer_of("Raised", *LETTERS, ROUND_O)
    ).signs[0]
    together = job_of(relief()).signs[0]
    assert evolve(together.braille, area=None) == apart.braille
    assert evolve(together.raised, area=None) == apart.raised


def test_what_was_read_is_drawn_where_it_lay():
    job = job_of(relief())
    [drawn] = drawn_dots(job).signs
    expected = dot_centres(CELLS, at=(40.0, 90.0))
    assert len(drawn.layout.dots) == len(expected)
    for place in expected:
        assert min(math.dist(place, dot) for dot in drawn.layout.dots) < 0.01


def test_signs_of_one_page_have_areas_of_their_own():
    edges = layer_of(
        "Cut",
        rectangle(0, 60, 95, 90),
        rectangle(100, 60, 95, 90),
        step="Structural",
        step_type="Cutting",
    )
    other = [*dots_at(110, 90, ("⠓⠁⠇⠇",)), rectangle(110, 110, 3, 25), rectangle(120, 110, 3, 25)]
    job = job_of(relief(*other), edges)
    [item] = job.passes
    assert item.builds == ("sign-1.braille", "sign-1.raised", "sign-2.braille", "sign-2.raised")
    assert [sign.braille.cells for sign in job.signs] == ["⠗⠕⠕⠍", "⠓⠁⠇⠇"]
    for feature in item.builds:
        on_second = feature.startswith("sign-2")
        areas = areas_building(job, item, feature)
        assert areas
        assert all((area.x > 97) == on_second for area in areas)


def test_a_layer_of_letters_alone_builds_them_alone():
    job = job_of(layer_of("Relief", *LETTERS, ROUND_O))
    assert job.passes[0].builds == ("sign.raised",)
    assert job.signs[0].braille is None
    job = job_of(layer_of("Relief", *dots_at()))
    assert job.passes[0].builds == ("sign.braille",)
    assert job.signs[0].raised is None


def test_the_dot_of_a_letter_far_from_braille_is_a_letter():
    job = job_of(relief(circle(95, 112, 3.5)))
    assert job.signs[0].braille.cells == CELLS[0]
    assert job.signs[0].braille.dot_diameter.high == pytest.approx(1.55, abs=0.005)


def test_text_is_letters_and_braille_of_a_font_is_dots():
    sans = FontMeasures("Invented Sans", 0.7, 0.5, 0.13, 0.9, serif=False)
    letters = TextRun("ROOM", (40, 110), 36, 0.0, sans, tuple(LETTERS))
    font = TextRun("⠗⠕⠕⠍", (40, 85), 24, 0.0, None, tuple(dots_at()))
    job = job_of(layer_of("Relief", texts=(letters, font)))
    [sign] = job.signs
    assert sign.text == ("ROOM",)
    assert sign.braille.cells == CELLS[0]
    assert sign.raised.style == "sans-serif"


@pytest.mark.parametrize(
    ("shape", "said"),
    [
        (circle(68.0, 90.0, 1.55), r"68\.000, 90\.000"),
        (circle(66.0, 88.0, 3.0), r"66\.000, 88\.000"),
        (rectangle(64.0, 86.0, 1.5, 1.5), r"64\.750, 86\.750"),
        (circle(120.0, 180.0, 1.55), r"120\.000, 180\.000"),
        (ring_shape(66.0, 88.0, 1.55, 0.4), r"66\.000, 88\.000"),
        (rectangle(30, 80, 3, 40), "within the rectangle around sign.raised"),
    ],
    ids=["stray", "odd size", "square", "lone", "hollow", "around"],
)
def test_what_could_be_either_is_refused_with_its_place(shape, said):
    with pytest.raises(ArtworkError, match=said) as refused:
        job_of(relief(shape))
    assert "page 1, layer 'Relief'" in str(refused.value)


def test_dots_moved_out_of_their_cells_are_never_taken_for_letters():
    randoms = random.Random(8)
    dots = dot_centres(("⠗⠕⠕⠍⠀⠼⠃⠁⠙",), at=(40.0, 90.0))
    for _ in range(effort(60)):
        at = randoms.randrange(len(dots))
        x, y = dots[at]
        moved = [*dots[:at], (x + randoms.choice((-0.6, 0.6)), y), *dots[at + 1 :]]
        # Where a cell has one dot alone, it is the cells from there on that lie beside the others.
        with pytest.raises(ArtworkError, match=r"the dot at|lies 0\.60 mm too far to the"):
            job_of(relief(dots=dot_shapes(moved)))


def random_letters(randoms):
    """Bars, rings and round full stops over the braille, now and then near to it."""
    for at in range(randoms.randint(1, 6)):
        x, y = 40 + 25 * at + randoms.uniform(0, 3), randoms.uniform(94, 120)
        match randoms.randrange(4):
            case 0:
                yield rectangle(x, y, randoms.uniform(1, 8), randoms.uniform(1, 30))
            case 1:
                yield ring_shape(x + 8, y + 8, randoms.uniform(6, 16), 1.0)
            case 2:
                yield circle(x + 2, y + 2, randoms.choice([1.5, 1.55, 2.0, 4.0]))
            case _:
                yield rectangle(x, y, 4, 25)


@pytest.mark.parametrize("seed", range(effort(200)))
def test_random_letters_are_told_apart_rightly_or_refused(seed):
    """What two layers say, or an error: nothing in between."""
    randoms = random.Random(seed)
    letters = list(random_letters(randoms))
    cells = ["".join(randoms.choices("⠃⠉⠙⠑⠋⠛⠓⠊⠚⠍⠝⠕⠏⠟⠗⠎⠞⠥⠧⠺⠭⠽⠵", k=randoms.randint(2, 9)))]
    dots = dots_at(lines=cells)
    apart = job_of(layer_of("Dots", *dots, step="Braille"), layer_of("Raised", *letters))
    shapes = randoms.sample([*dots, *letters], len(dots + letters))
    try:
        together = job_of(layer_of("Relief", *shapes))
    except ArtworkError:
        with pytest.raises(ArtworkError, match="page 1, layer 'Relief'"):
            job_of(layer_of("Relief", *shapes))
        return
    assert together.passes[0].builds == ("sign.braille", "sign.raised")
    for feature in ("braille", "raised"):
        read = getattr(together.signs[0], feature)
        expected = getattr(apart.signs[0], feature)
        assert (read and evolve(read, area=None)) == expected


@pytest.mark.parametrize("lines", [("⠁",), ("⠃",), ("⠉⠉⠉",)])
def test_lines_of_few_dots_need_a_layer_of_their_own(lines):
    with pytest.raises(ArtworkError, match=r"too few, or in one row") as refused:
        job_of(relief(dots=dots_at(lines=lines)))
    assert "40.000, 90.000" in str(refused.value)


@pytest.mark.parametrize(
    ("builds", "said"),
    [
        (["raised", "visual"], "which letters are raised"),
        (["braille", "raised", "visual"], "which letters are raised"),
        (["braille", "braille"], "each feature once"),
        (["braille", "text"], "braille"),
    ],
)
def test_features_that_shapes_do_not_tell_apart_are_refused(builds, said):
    with pytest.raises(ShopError, match=said):
        shop_with(SHARED | {"builds": builds})


def test_a_single_feature_needs_no_list():
    one, listed = (shop_with(SHARED | {"builds": each}) for each in ("raised", ["raised"]))
    assert one.stock.layers == listed.stock.layers
