"""Drawings become jobs: passes, areas, signs, and errors that say what a shop has to state."""

from __future__ import annotations

import math

import pytest
from attrs import evolve
from drawn_artwork import (
    FINGERPRINT,
    SHOP,
    artwork_of,
    circle,
    dot_centres,
    dot_shapes,
    layer_of,
    rectangle,
)

import signrules
from signrules.artwork.choices import ArtworkChoices, SignChoice
from signrules.artwork.drawing import Artwork, ArtworkPage, FontMeasures, Shape, TextRun
from signrules.artwork.job_making import (
    document_from_artwork,
    job_from_artwork,
)
from signrules.errors import ArtworkError, ShopError
from signrules.model.passes import ArtworkSource
from signrules.shop_file import shop_from_dict

SANS = FontMeasures("Invented Sans", 0.7, 0.5, 0.13, 0.9, serif=False, slanted=False)


def shop_with(**changes):
    return shop_from_dict(SHOP | changes)


def letters(text="ROOM", at=(40.0, 110.0), em=36.0):
    """A run of text whose letters are bars, 4 mm apart."""
    x, y = at
    shapes = tuple(rectangle(x + 7 * n, y, 3, 0.7 * em) for n in range(len(text.replace(" ", ""))))
    return TextRun(text, at, em, 0.0, SANS, shapes)


def braille_layer(lines=("⠗⠕⠕⠍",), at=(40.0, 90.0)):
    return layer_of("Dots", *dot_shapes(dot_centres(lines, at=at)), step="Braille")


GROUND = layer_of("Ground", rectangle(0, 0, 200, 200))
RAISED = layer_of("Raised letters", texts=(letters(),))
EDGE = layer_of("Cut", rectangle(20, 60, 100, 90), step="Structural", step_type="Cutting")
SIGN = artwork_of(GROUND, braille_layer(), RAISED, EDGE)


def by_id(parts):
    return {part.id: part for part in parts}


def test_a_drawing_becomes_a_job():
    job = job_from_artwork(SIGN, shop_with(), ArtworkChoices(standards=("us-ada-2010",)))
    passes = by_id(job.passes)
    assert list(passes) == ["ground", "dots", "Raised letters"]
    assert passes["ground"].areas == (signrules.Area(0, 0, 200, 200),)
    assert passes["ground"].coverage == 1
    assert (passes["dots"].ink, passes["dots"].layers) == ("clear", 24)
    assert passes["dots"].builds == ("sign.braille",)
    assert passes["Raised letters"].over == ("ground",)
    assert passes["dots"].artwork == (ArtworkSource("sign.pdf", 1, "Dots", FINGERPRINT),)
    [sign] = job.signs
    assert sign.text == ("ROOM",)
    assert sign.braille.cells == "⠗⠕⠕⠍"
    assert sign.braille.cell_spacing.nominal == pytest.approx(6.2, abs=0.002)
    assert sign.raised.height.nominal == pytest.approx(25.2)
    assert (sign.raised.case, sign.raised.style) == ("upper", "sans-serif")
    assert sign.area == signrules.Area(20, 60, 100, 90)
    assert job.standards == ("us-ada-2010",)


def test_dots_and_text_are_measured_against_each_other():
    [sign] = job_from_artwork(SIGN, shop_with()).signs
    # By hand: the text stands on 110, the uppermost dots end at 90 + 1.55 / 2.
    assert sign.braille.below_text.nominal == pytest.approx(110 - 90.775, abs=0.002)
    assert sign.braille.clear_space.nominal == pytest.approx(110 - 90.775, abs=0.002)
    assert sign.braille.position == "below"


def test_figures_say_where_they_were_measured():
    job = job_from_artwork(SIGN, shop_with())
    assert job.origins["signs.sign.braille.dot_diameter"].how == "sign.pdf, page 1, layer Dots"


def test_the_job_can_be_judged():
    job = job_from_artwork(SIGN, shop_with(), ArtworkChoices(standards=("us-ada-2010",)))
    result = signrules.evaluate(job)
    said = {check.rule for check in result.checks if check.outcome.name == "MET"}
    assert {"braille.text", "raised.height", "braille.cell-spacing"} & said


def test_the_document_can_be_written_and_read(tmp_path):
    job = job_from_artwork(SIGN, shop_with())
    signrules.write_job(job, tmp_path / "job.toml")
    assert signrules.read_job(tmp_path / "job.toml") == job


def test_a_sheet_without_a_size_is_as_large_as_the_cut_edge():
    shop = shop_with(sheets={"blank": {"thickness": "3 mm"}})
    job = job_from_artwork(SIGN, shop)
    assert job.media[0].size == (100, 90)
    assert by_id(job.passes)["ground"].areas == (signrules.Area(0, 0, 100, 90),)
    assert job.signs[0].area == signrules.Area(0, 0, 100, 90)
    notes = document_from_artwork(SIGN, shop).notes
    assert any("80.0 mm reach over the sheet" in note for note in notes)


def test_without_a_cut_edge_it_is_as_large_as_the_page():
    shop = shop_with(sheets={"blank": {"thickness": "3 mm"}})
    job = job_from_artwork(artwork_of(GROUND, width=210.0, height=297.0), shop)
    assert job.media[0].size == (210, 297)
    assert job.signs[0].area is None


def test_a_cut_line_lies_in_its_middle():
    line = Shape(
        ((19.9, 59.9), (120.1, 59.9), (120.1, 150.1), (19.9, 150.1)),
        (((20.1, 60.1), (119.9, 60.1), (119.9, 149.9), (20.1, 149.9)),),
    )
    hole = circle(30, 140, 5)
    edge = evolve(EDGE, shapes=(hole, line))
    job = job_from_artwork(artwork_of(GROUND, edge), shop_with())
    assert job.signs[0].area == signrules.Area(20, 60, 100, 90)


def test_several_cut_edges_are_several_signs():
    edges = layer_of(
        "Cut",
        rectangle(0, 100, 90, 90),
        rectangle(100, 100, 90, 90),
        step="Structural",
        step_type="Cutting",
    )
    dots = layer_of(
        "Dots",
        *dot_shapes(dot_centres(("⠗⠕⠕⠍",), at=(110, 150))),
        *dot_shapes(dot_centres(("⠎⠞⠁⠋⠋",), at=(10, 150))),
        step="Braille",
    )
    job = job_from_artwork(artwork_of(GROUND, dots, edges), shop_with())
    assert [(sign.id, sign.braille.cells) for sign in job.signs] == [
        ("sign-1", "⠎⠞⠁⠋⠋"),
        ("sign-2", "⠗⠕⠕⠍"),
    ]
    [dots_pass] = [item for item in job.passes if item.builds]
    assert dots_pass.builds == ("sign-1.braille", "sign-2.braille")
    # Rectangles on both signs, and ink as drawn: 1.55 mm dots.
    covered = sum(area.width * area.height for area in dots_pass.areas)
    assert {area.x > 100 for area in dots_pass.areas} == {True, False}
    ink = len(dots.shapes) * math.pi / 4 * 1.55**2
    assert dots_pass.coverage * covered == pytest.approx(ink, rel=1e-2)
    outside = evolve(dots, shapes=(*dots.shapes, *dot_shapes([(50, 20)])))
    with pytest.raises(ArtworkError, match=r"braille ink in no cut edge, at 50\.0, 20\.0 mm"):
        job_from_artwork(artwork_of(GROUND, outside, edges), shop_with())


def test_pages_are_sheets_of_their_own():
    first = SIGN.pages[0]
    art = evolve(SIGN, pages=(first, evolve(first, number=2)))
    job = job_from_artwork(art, shop_with())
    assert [(sheet.id, sheet.load) for sheet in job.media] == [("sheet-1", "1"), ("sheet-2", "2")]
    assert [sign.id for sign in job.signs] == ["sign-1", "sign-2"]
    assert len({item.id for item in job.passes}) == 6
    only = job_from_artwork(art, shop_with(), ArtworkChoices(pages=(2,)))
    assert {item.artwork[0].page for item in only.passes} == {2}
    with pytest.raises(ArtworkError, match="page 3"):
        job_from_artwork(art, shop_with(), ArtworkChoices(pages=(3,)))


def test_notes_on_pages_that_are_not_taken_are_left_out():
    first = SIGN.pages[0]
    notes = ("page 1: the first", "page 2, layer 'Dots': the second", "the file")
    art = evolve(SIGN, pages=(first, evolve(first, number=2)), notes=notes)

    def told(**choices):
        return " ".join(document_from_artwork(art, shop_with(), ArtworkChoices(**choices)).notes)

    assert "the first" not in told(pages=(2,))
    assert "the second" in told(pages=(2,))
    assert "the file" in told(pages=(2,))
    assert "the first" in told()


def test_drawings_lie_on_each_other():
    ground = artwork_of(GROUND, file="ground.png", pixel=0.1)
    dots = artwork_of(braille_layer(), file="dots.png")
    job = job_from_artwork([ground, dots], shop_with())
    assert [item.artwork[0].file for item in job.passes] == ["ground.png", "dots.png"]
    # Pixels make no difference where the sheet ends.
    assert by_id(job.passes)["ground"].areas == (signrules.Area(0, 0, 200, 200),)


@pytest.mark.parametrize(
    ("layer", "said"),
    [
        (layer_of("Blue", rectangle(0, 0, 1, 1)), "name = 'Blue'"),
        (layer_of("x", rectangle(0, 0, 1, 1), step="Braille"), "how many layers make a dot"),
        (layer_of("x", rectangle(0, 0, 1, 1), colorants=("Spot 1",)), "Spot 1"),
    ],
)
def test_a_layer_that_nothing_maps_is_refused(layer, said):
    shop = shop_with(layers=[{"name": "ground", "ink": "blue"}])
    with pytest.raises(ArtworkError, match=said) as refused:
        job_from_artwork(artwork_of(GROUND, layer), shop)
    assert "'blue', 'clear', 'white'" in str(refused.value)
    assert "sign.pdf" in str(refused.value)


def test_layers_that_are_not_printed_are_told():
    hidden = layer_of("Old", rectangle(0, 0, 1, 1), hidden=True)
    sizes = layer_of("Sizes", rectangle(0, 0, 1, 1))
    legend = layer_of("Text for the press", rectangle(0, 0, 1, 1), step="Legend")
    empty = layer_of("Empty")
    made = document_from_artwork(artwork_of(GROUND, hidden, sizes, legend, empty), shop_with())
    assert [row["id"] for row in made.document["passes"]] == ["ground"]
    told = "\n".join(made.notes)
    for words in ("hidden", "dimensions for the customer", "marks it as Legend", "is empty"):
        assert words in told


def test_white_and_varnish_find_their_ink_by_its_role():
    white = layer_of("W", rectangle(0, 0, 50, 50), step="White")
    varnish = layer_of("V", rectangle(0, 0, 50, 50), step="Varnish")
    job = job_from_artwork(artwork_of(white, varnish), shop_with())
    assert [(item.id, item.ink) for item in job.passes] == [("W", "white"), ("V", "clear")]
    two = SHOP["inks"] | {"matt": {"role": "clear", "layer": "10 um"}}
    with pytest.raises(ArtworkError, match="step = 'Varnish'"):
        job_from_artwork(artwork_of(varnish), shop_with(inks=two))


def test_rows_with_a_step_come_before_those_with_a_name():
    rows = [
        {"name": "*", "ink": "blue"},
        {"step": "white", "ink": "white", "layers": 3},
        {"colorant": "Gold*", "ink": "clear"},
    ]
    white = layer_of("W", rectangle(0, 0, 50, 50), step="White")
    job = job_from_artwork(artwork_of(white), shop_with(layers=rows))
    assert (job.passes[0].ink, job.passes[0].layers) == ("white", 3)
    gold = layer_of("G", rectangle(0, 0, 50, 50), colorants=("GOLD 2",))
    job = job_from_artwork(artwork_of(gold), shop_with(layers=rows[1:]))
    assert job.passes[0].ink == "clear"


@pytest.mark.parametrize(
    ("move", "words"),
    [
        (lambda x, y: (200 - x, y), "mirrored from left to right"),
        (lambda x, y: (200 - x, 180 - y), "on its head"),
    ],
)
def test_braille_that_is_turned_over_is_refused(move, words):
    centres = [move(x, y) for x, y in dot_centres(("⠗⠕⠕⠍",), at=(100, 90))]
    layer = layer_of("Dots", *dot_shapes(centres), step="Braille")
    with pytest.raises(ArtworkError, match=words):
        job_from_artwork(artwork_of(layer, RAISED), shop_with())
    # Nothing tells where there is no text to say.
    assert job_from_artwork(artwork_of(layer), shop_with()).signs[0].braille.cells != "⠗⠕⠕⠍"


def test_dots_that_are_wrong_are_refused_with_their_places():
    layer = braille_layer()
    stray = evolve(layer, shapes=(*layer.shapes, circle(57.5, 87.0, 1.55)))
    with pytest.raises(ArtworkError, match=r"57\.500, 87\.000") as refused:
        job_from_artwork(artwork_of(stray), shop_with())
    assert "page 1, layer 'Dots'" in str(refused.value)
    square = evolve(layer, shapes=(*layer.shapes, rectangle(100, 20, 5, 5)))
    with pytest.raises(ArtworkError, match="no dot of braille"):
        job_from_artwork(artwork_of(square), shop_with())


def test_a_border_and_a_pictogram_are_measured():
    border = Shape(
        ((10, 10), (190, 10), (190, 190), (10, 190)),
        (((11, 11), (189, 11), (189, 189), (11, 189)),),
    )
    raised = layer_of("Raised letters", border, texts=(letters(at=(50.0, 110.0)),))
    field = layer_of("Field", rectangle(45, 20, 152.4, 152.4))
    rows = [*SHOP["layers"], {"name": "field", "marks": "pictogram"}]
    made = document_from_artwork(artwork_of(raised, field), shop_with(layers=rows))
    [sign] = made.document["signs"]
    assert sign["pictogram"]["field_height"]["is"] == pytest.approx(152.4)
    # By hand: the first letter begins at 50, the border ends at 11.
    assert sign["raised"]["clear_space"]["is"] == pytest.approx(39)
    assert any("raised characters lie in the field" in note for note in made.notes)


def test_outlines_are_given_their_text():
    letters = [rectangle(40 + 7 * at, 110, 3, 25) for at in range(4)]
    art = artwork_of(layer_of("Raised letters", *letters), braille_layer())
    made = document_from_artwork(art, shop_with(), ArtworkChoices(text=("ROOM",)))
    [sign] = made.document["signs"]
    assert sign["text"] == ["ROOM"]
    # Small letters of ROOM would be alike in height too, so outlines do not show the case.
    assert "case" not in sign["raised"]
    assert any("outlines" in note for note in made.notes)
    two = evolve(art, pages=(*art.pages, evolve(art.pages[0], number=2)))
    with pytest.raises(ArtworkError, match="2 signs"):
        document_from_artwork(two, shop_with(), ArtworkChoices(text=("ROOM",)))


def sheet_of_two(right="⠗⠕⠕⠍"):
    """Two signs beside each other, whose letters are outlines."""
    edges = layer_of(
        "Cut",
        rectangle(10, 60, 80, 90),
        rectangle(110, 60, 80, 90),
        step="Structural",
        step_type="Cutting",
    )
    bars = [rectangle(x + 7 * at, 110, 3, 25) for x in (20, 120) for at in range(4)]
    centres = dot_centres(["⠓⠁⠇⠇"], at=(20.0, 90.0)) + dot_centres([right], at=(120.0, 90.0))
    dots = layer_of("Dots", *dot_shapes(centres), step="Braille")
    return artwork_of(layer_of("Raised letters", *bars), dots, edges)


TWO_TEXTS = {
    "sign-1": SignChoice(("HALL",), "stairs"),
    "sign-2": SignChoice(("ROOM",), "permanent-room"),
}


def test_each_sign_of_a_sheet_is_given_its_text():
    made = document_from_artwork(sheet_of_two(), shop_with(), ArtworkChoices(signs=TWO_TEXTS))
    left, right = made.document["signs"]
    assert (left["text"], left["kind"]) == (["HALL"], "stairs")
    assert (right["text"], right["kind"]) == (["ROOM"], "permanent-room")
    assert not any("nobody has said" in note for note in made.notes)


def test_signs_without_a_text_are_told():
    made = document_from_artwork(sheet_of_two(), shop_with())
    [note] = [note for note in made.document["read_notes"] if "nobody has said" in note]
    assert "'sign-1', 'sign-2'" in note


def test_the_mirrored_one_of_two_signs_is_told():
    """The cells of ROOM as they lie where left and right are changed."""
    art = sheet_of_two(right="⠩⠪⠪⠺")
    with pytest.raises(ArtworkError) as refused:
        document_from_artwork(art, shop_with(), ArtworkChoices(signs=TWO_TEXTS))
    [fault] = refused.value.faults
    assert fault.path.startswith("signs.sign-2, page 1, layer 'Dots'")
    assert "mirrored from left to right" in fault.found


def test_every_sign_is_chosen_for_and_none_that_is_not_there():
    signs = {"sign-1": SignChoice(("HALL",)), "sign-3": SignChoice(("ROOM",))}
    with pytest.raises(ArtworkError) as refused:
        document_from_artwork(sheet_of_two(), shop_with(), ArtworkChoices(signs=signs))
    assert [(fault.path, fault.found) for fault in refused.value.faults] == [
        ("signs.sign-3", "no sign 'sign-3'"),
        ("signs", "nothing for 'sign-2'"),
    ]


@pytest.mark.parametrize(
    ("choices", "said"),
    [
        (ArtworkChoices(printer="press"), "press"),
        (ArtworkChoices(sheet="steel"), "acrylic"),
    ],
)
def test_choices_that_the_shop_does_not_have_are_refused(choices, said):
    with pytest.raises(ArtworkError, match=said):
        job_from_artwork(SIGN, shop_with(), choices)


def test_a_shop_with_two_sheets_asks_for_one():
    sheets = SHOP["sheets"] | {"steel": {"thickness": "1 mm"}}
    with pytest.raises(ArtworkError, match="'acrylic', 'steel'"):
        job_from_artwork(SIGN, shop_with(sheets=sheets))


@pytest.mark.parametrize(
    "art", [[], artwork_of(), Artwork("none.pdf", FINGERPRINT), artwork_of(EDGE)]
)
def test_nothing_to_print_is_refused(art):
    with pytest.raises(ArtworkError):
        job_from_artwork(art, shop_with())


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ({"ink": "blue"}, "which layers it is for"),
        ({"name": "x"}, "one of ink, marks, leave_out"),
        ({"name": "x", "ink": "blue", "leave_out": "no"}, "one of ink, marks, leave_out"),
        ({"name": "x", "ink": "bleu"}, "'blue' perhaps"),
        ({"name": "x", "ink": "violet"}, r"\[inks.ID\]"),
        ({"name": "x", "leave_out": "why", "builds": "raised"}, "an ink beside it"),
        ({"name": "x", "ink": "blue", "over": ["nothing"]}, "the id of a row"),
        ({"name": "x", "ink": "blue", "layer": 3}, "the key layers"),
        ({"name": "x", "marks": "hole"}, "edge"),
        ("ground", "a table"),
    ],
)
def test_rows_that_say_nothing_clear_are_refused(row, said):
    with pytest.raises(ShopError, match=said):
        shop_with(layers=[row])


def test_rows_are_a_list():
    with pytest.raises(ShopError, match="a list of tables"):
        shop_with(layers={"name": "x"})


def test_layers_of_one_name_get_ids_of_their_own():
    page = ArtworkPage(1, 200, 200, (GROUND, GROUND, layer_of("a.b[c]", rectangle(0, 0, 9, 9))))
    rows = [*SHOP["layers"], {"name": "a.b*", "ink": "blue"}]
    job = job_from_artwork(Artwork("s.pdf", FINGERPRINT, (page,)), shop_with(layers=rows))
    assert [item.id for item in job.passes] == ["ground", "ground-2", "a-b-c-"]


def test_what_was_measured_on_the_drawing_is_not_compared_with_rectangles():
    """A round letter over the dots: its rectangle reaches 0.3 mm nearer than the letter does."""
    text = TextRun("OO", (40, 110), 36, 0.0, SANS, (circle(44, 120, 20), circle(70, 122, 20)))
    dots = braille_layer(at=(52.0, 90.0))
    job = job_from_artwork(artwork_of(dots, layer_of("Raised", texts=(text,))), shop_with())
    assert [c for c in signrules.evaluate(job).checks if c.rule == "braille.fit"] == []
    apart = evolve(job, passes=tuple(evolve(item, artwork=()) for item in job.passes))
    found = [c for c in signrules.evaluate(apart).checks if c.rule == "braille.fit"]
    assert any(check.outcome.name == "BROKEN" for check in found)


def test_choices_of_the_shop_are_taken():
    sheets = SHOP["sheets"] | {"steel": {"thickness": "1 mm", "size": [300, 300]}}
    job = job_from_artwork(SIGN, shop_with(sheets=sheets), ArtworkChoices(sheet="steel"))
    assert job.media[0].size == (300, 300)


def test_what_a_row_says_of_a_pass_goes_into_the_job():
    row = {
        "name": "ground",
        "ink": "blue",
        "gap": {"extra": "0.3 mm", "above": "media"},
        "side": "back",
        "directions": 1,
        "crisp_on": "highest",
    }
    [item] = job_from_artwork(artwork_of(GROUND), shop_with(layers=[row])).passes
    assert (item.gap.extra.nominal, item.side, item.directions) == (0.3, "back", 1)
    assert item.crisp_on == "highest"


def test_layers_that_ink_nothing_or_too_much_are_told():
    faint = layer_of("Ground", rectangle(0, 0, 9, 9, tint=0.0))
    beyond = layer_of("Ground", rectangle(300, 300, 9, 9), Shape(()))
    scattered = layer_of(
        "Ground", *(circle(10 + 12 * (at % 13), 10 + 12 * (at // 13), 1) for at in range(169))
    )
    art = artwork_of(faint, beyond, scattered)
    made = document_from_artwork(art, shop_with())
    assert len(made.document["passes"]) == 1
    told = "\n".join(made.notes)
    assert "nothing is inked" in told
    assert "309.0" not in told
    assert "109.0 mm reach over the sheet" in told
    assert "60 rectangles cover" in told


def test_the_place_of_braille_is_told():
    above = artwork_of(braille_layer(at=(40.0, 160.0)), RAISED)
    beside = artwork_of(braille_layer(at=(120.0, 125.0)), RAISED)
    for art, position in ((above, "above"), (beside, "beside")):
        [sign] = job_from_artwork(art, shop_with()).signs
        assert sign.braille.position == position
        assert sign.braille.below_text is None


def test_blocks_beside_each_other_are_one_line():
    dots = [
        *dot_centres(("⠗⠕⠕⠍",), at=(20, 50)),
        *dot_centres(("⠼⠃⠁⠙",), at=(100, 50.1), turn=0.5),
    ]
    made = document_from_artwork(
        artwork_of(layer_of("Dots", *dot_shapes(dots), step="Braille")), shop_with()
    )
    assert made.document["signs"][0]["braille"]["cells"] == "⠗⠕⠕⠍⠀⠼⠃⠁⠙"
    assert any("turned by 0.50 degrees" in note for note in made.notes)


def test_visual_characters_are_measured_too():
    rows = [{"name": "print", "ink": "blue", "builds": "visual"}]
    visual = layer_of("Print", texts=(letters("Room"),))
    [sign] = job_from_artwork(artwork_of(visual), shop_with(layers=rows)).signs
    assert sign.text == ("Room",)
    assert (sign.visual.height.nominal, sign.visual.style) == (pytest.approx(25.2), "sans-serif")
    assert sign.raised is None


def test_types_of_steps_are_told_apart():
    rows = [{"step": "Structural", "step_type": "Drilling", "leave_out": "drilled by hand"}]
    crease = layer_of("C", rectangle(0, 0, 9, 9), step="Structural", step_type="Creasing")
    drill = layer_of("D", rectangle(0, 0, 9, 9), step="Structural", step_type="Drilling")
    white = layer_of("W", rectangle(0, 0, 9, 9), step="White")
    notes = document_from_artwork(artwork_of(crease, drill, white), shop_with(layers=rows)).notes
    assert any("'D' is left out: drilled by hand" in note for note in notes)
    assert any("'C' is left out: the file marks it as Structural Creasing" in n for n in notes)


def test_edges_without_an_area_and_text_outside_of_them():
    edges = layer_of(
        "Cut",
        rectangle(0, 100, 90, 90),
        rectangle(100, 100, 90, 90),
        Shape(((0, 0), (1, 1), (2, 2))),
        step="Structural",
        step_type="Cutting",
    )
    away = layer_of("Raised", texts=(letters(at=(40.0, 20.0)), TextRun("X", (5, 5), 9)))
    said = r"raised ink in no cut edge, from 5\.0, 5\.0 to 52\.0, 32\.6 mm, .* of 2 edges drawn"
    with pytest.raises(ArtworkError, match=said):
        job_from_artwork(artwork_of(away, edges), shop_with())
    within = layer_of("Raised", Shape(()), texts=(letters(at=(20.0, 120.0)),))
    signs = job_from_artwork(artwork_of(within, edges), shop_with()).signs
    assert [sign.text for sign in signs] == [("ROOM",), ()]


def test_a_hole_in_a_cut_area_is_no_edge():
    cut = Shape(((0, 0), (100, 0), (100, 100), (0, 100)), (((5, 5), (9, 5), (9, 9), (5, 9)),))
    edge = evolve(EDGE, shapes=(cut,))
    assert job_from_artwork(artwork_of(GROUND, edge), shop_with()).signs[0].area == signrules.Area(
        0, 0, 100, 100
    )


def test_cells_that_nothing_reads_are_left_to_the_rules():
    dots = braille_layer(("⠸⠼⠸⠼",))
    [sign] = job_from_artwork(artwork_of(dots, RAISED), shop_with()).signs
    assert sign.braille.cells == "⠸⠼⠸⠼"


def test_very_many_outlines_are_not_measured_and_that_is_told():
    specks = [rectangle(at % 100, at // 100, 0.5, 0.5) for at in range(5001)]
    made = document_from_artwork(artwork_of(layer_of("Raised", *specks)), shop_with())
    assert "raised" not in made.document["signs"][0]
    assert any("too many outlines" in note for note in made.notes)


def test_layers_without_anything_on_them_are_told():
    """One with an ink, whose pass is missing then, and one that should mark the edge."""
    empty_edge = evolve(EDGE, shapes=())
    made = document_from_artwork(
        artwork_of(GROUND, layer_of("Raised letters"), empty_edge), shop_with()
    )
    kept = made.document["read_notes"]
    assert any(
        "layer Raised letters: nothing is inked, so there is no pass" in note for note in kept
    )
    assert any("nothing of it lies on the page, so it marks no edge" in note for note in made.notes)


def test_a_stated_text_that_is_not_the_one_drawn_is_refused():
    with pytest.raises(
        ArtworkError, match="the text 'ROOM', expected the text that is stated, 'DOOR'"
    ):
        job_from_artwork(SIGN, shop_with(), ArtworkChoices(text=("DOOR",)))
    assert job_from_artwork(SIGN, shop_with(), ArtworkChoices(text=("ROOM",))).signs[0].text == (
        "ROOM",
    )


def flat_dots(share):
    """The dots of ROOM, lower than they are wide."""
    centres = dot_centres(["⠗⠕⠕⠍"], at=(40.0, 90.0))
    return [
        Shape(tuple((px, y + (py - y) * share) for px, py in shape.outline))
        for shape, (_, y) in zip(dot_shapes(centres), centres, strict=True)
    ]


def test_dots_that_are_ovals_are_told():
    def notes_of(share):
        dots = layer_of("Dots", *flat_dots(share), step="Braille")
        return document_from_artwork(artwork_of(dots), shop_with()).notes

    assert any("up to 1.053 times as long as wide" in note for note in notes_of(0.95))
    assert not any("ovals" in note for note in notes_of(1.0))


def test_what_is_no_dot_is_told_with_its_size():
    dots = layer_of("Dots", *dot_shapes(dot_centres(["⠗⠕⠕⠍"])), rectangle(90, 90, 2, 1.5))
    art = artwork_of(evolve(dots, step="Braille"))
    with pytest.raises(ArtworkError, match=r"2\.000 x 1\.500 mm, and not round") as refused:
        document_from_artwork(art, shop_with())
    assert "too coarse" not in str(refused.value)
    with pytest.raises(ArtworkError, match="too coarse for it, with 150 pixels to the inch"):
        document_from_artwork(evolve(art, pixel=25.4 / 150), shop_with())


def test_soft_pixels_at_the_edges_of_an_image_are_no_shapes():
    pixel = 25.4 / 600
    soft = rectangle(90, 90, pixel, 3 * pixel, tint=0.02)
    dots = layer_of("Dots", *dot_shapes(dot_centres(["⠗⠕⠕⠍"])), soft, step="Braille")
    [sign] = job_from_artwork(artwork_of(dots, pixel=pixel), shop_with()).signs
    assert sign.braille.cells == "⠗⠕⠕⠍"
    with pytest.raises(ArtworkError, match="1 shape in a tint"):
        job_from_artwork(artwork_of(dots), shop_with())


@pytest.mark.parametrize("side", ["front", "back"])
def test_what_is_felt_is_drawn_as_it_is_seen_on_its_side(side):
    rows = [SHOP["layers"][0] | {"side": side}, {**SHOP["layers"][1], "over": [], "side": side}]
    shop = shop_with(layers=rows)
    words = "with the back up" if side == "back" else "on the front"
    mirrored = evolve(letters(), altered=("mirrored",))
    with pytest.raises(ArtworkError, match=f"raised characters as they are read {words}"):
        job_from_artwork(artwork_of(layer_of("Raised", texts=(mirrored,))), shop)
    turned = evolve(braille_layer(), shapes=tuple(map(mirrored_shape, braille_layer().shapes)))
    art = artwork_of(layer_of("Raised", texts=(letters(),)), turned)
    with pytest.raises(ArtworkError, match=f"braille as a reader finds it {words}"):
        job_from_artwork(art, shop)


def mirrored_shape(shape):
    return Shape(tuple((150 - x, y) for x, y in shape.outline))


def checks_of(artwork, rule):
    checks = signrules.evaluate(job_from_artwork(artwork, shop_with())).checks
    return [check for check in checks if check.rule == rule]


def test_measures_of_one_drawing_are_not_held_against_each_other():
    aside = artwork_of(GROUND, braille_layer(at=(120.0, 90.0)), RAISED)
    [sign] = job_from_artwork(aside, shop_with()).signs
    # By hand: the letters end at 64, 56 mm to the left of the dots and 19.2 mm above them.
    assert sign.braille.clear_space.nominal > 50 > sign.braille.below_text.nominal
    assert checks_of(aside, "braille.text-clearance") == []


def test_cells_are_not_laid_out_again_in_areas_made_around_them():
    lines = ("⠗⠕⠕⠍", "⠗⠕⠕⠍")
    dots = dot_centres(lines, at=(40.0, 90.0))
    wide = [(40 + (x - 40) * 1.08, y) if y < 82 else (x, y) for x, y in dots]
    layer = layer_of("Dots", *dot_shapes(wide), step="Braille")
    drawn = artwork_of(GROUND, layer)
    [sign] = job_from_artwork(drawn, shop_with()).signs
    # 8 % of 2.34 mm; nothing is any higher for it.
    assert sign.braille.dot_spacing.high == pytest.approx(2.34 * 1.08, abs=0.005)
    checks = checks_of(drawn, "braille.fit")
    assert [check for check in checks if "cells with their dots" in check.message] == []


def test_a_speck_that_lies_nearest_to_the_braille_is_named():
    speck = rectangle(60.0, 80.0, 0.1, 0.1)
    drawn = artwork_of(braille_layer(), layer_of("Raised letters", speck, texts=(letters(),)))
    made = document_from_artwork(drawn, shop_with())
    said = next(note for note in made.notes if "to the speck" in note)
    # By hand: the letters stand 110 - 90.775 mm above the dots.
    assert "at 60.0, 80.0 mm; without specks it is 19.22" in said


def test_outlines_are_told_as_taken_on_trust():
    bars = letters().shapes
    drawn = artwork_of(layer_of("Raised letters", *bars))

    def told(*text):
        made = document_from_artwork(drawn, shop_with(), ArtworkChoices(text=text))
        return " ".join(made.notes)

    assert "outlines, which nothing reads" in told("IIII")
    assert "outlines, which nothing reads" not in told()
