"""Where words of pictures are put: widths, lines, rows and free ground."""

from __future__ import annotations

import pytest
from effort import effort
from hypothesis import given, settings
from hypothesis import strategies as st

from signrules.sheet.free_room import APART, Box, FreeRoom, overlap
from signrules.sheet.label_places import cut_words, kept_apart, words_width, wrapped_lines
from signrules.sheet.sheet_words import clean_text

TEXTS = st.text("abil WM1.,\u4e2d\u00a0", max_size=40)
LENGTHS = st.floats(1, 30)


def test_widths_are_those_of_known_fonts_or_larger():
    # Advance widths of Liberation Sans in units of 1/2048 em, read from the font by hand.
    measured = {"0": 1139, "m": 1706, "W": 1933, "i": 455, "A": 1366, "t": 569, " ": 569}
    for letter, units in measured.items():
        width = 11 * units / 2048
        assert width - 0.1 <= words_width(letter) <= width + 2
    assert words_width("0", bold=True) > words_width("0")


@settings(max_examples=effort(200), deadline=None)
@given(TEXTS, st.floats(15, 120))
def test_lines_are_no_wider_than_there_is_room_and_keep_the_words(text, room):
    lines = wrapped_lines(text, room)
    assert all(words_width(line) <= room for line in lines)
    if all(words_width(word) <= room for word in text.split(" ")):
        assert " ".join(lines).split() == text.split()


def test_what_is_cut_says_so():
    assert cut_words("panel", 60) == "panel"
    cut = cut_words("W" * 40, 60)
    assert cut.endswith("\u2026")
    assert words_width(cut) <= 60
    assert words_width(cut[:-1] + "WW\u2026") > 60


def test_a_word_from_right_to_left_that_is_cut_steers_nothing_behind_it():
    # Isolates are U+2068 and U+2069; they take no room.
    word = clean_text("\u05d0" * 40)
    cut = cut_words(word, 60)
    assert cut[0] == "\u2068"
    assert cut[-2:] == "\u2026\u2069"
    assert words_width(cut) == words_width(cut[1:-1])


@settings(max_examples=effort(200), deadline=None)
@given(st.lists(st.tuples(st.floats(0, 100), LENGTHS), max_size=8))
def test_things_in_a_row_keep_their_order_and_apart(things):
    middles = sorted(middle for middle, _ in things)
    lengths = [length for _, length in things]
    starts = kept_apart(middles, lengths, 0, 100)
    ends = [start + length for start, length in zip(starts, lengths, strict=True)]
    assert all(end <= start + 1e-9 for end, start in zip(ends, starts[1:], strict=False))
    assert all(start >= -1e-9 for start in starts)
    assert all(end <= max(100, sum(lengths)) + 1e-9 for end in ends)


def test_what_has_room_stands_where_it_is_wanted():
    assert kept_apart([10, 50, 90], [10, 10, 10], 0, 100) == [5, 45, 85]
    # Two that want the same place move apart downwards, and up again at the end.
    assert kept_apart([50, 50], [10, 10], 0, 100) == [45, 55]
    assert kept_apart([99, 99], [10, 10], 0, 100) == [80, 90]


BOXES = st.builds(Box, st.floats(-5, 45), st.floats(-5, 35), st.floats(0, 20), st.floats(0, 20))


@settings(max_examples=effort(200), deadline=None)
@given(st.lists(BOXES, max_size=6), st.integers(1, 30), st.integers(1, 20), st.data())
def test_free_ground_is_found_where_there_is_some(taken, wide, high, data):
    room = FreeRoom(40, 30)
    for box in taken:
        room.take(box)
    inside = data.draw(BOXES)
    near = data.draw(st.tuples(st.floats(0, 40), st.floats(0, 30)))
    place = room.place(wide, high, inside, near)
    # Each place there is, looked at one by one.
    free = [
        (x, y)
        for x in range(40 - wide + 1)
        for y in range(30 - high + 1)
        if x >= inside.x and y >= inside.y
        if x + wide <= inside.right
        and y + high <= inside.bottom
        and not any(overlap(Box(x, y, wide, high), with_margin(box)) for box in taken)
    ]
    if place is None:
        assert free == []
    else:
        assert (place.x, place.y) in free
        in_row = [x for x, y in free if y == place.y]
        wanted = near[0] - wide / 2
        assert abs(place.x - wanted) <= min(abs(x - wanted) for x in in_row) + 1


def with_margin(box):
    """What a box takes with the px around it, in whole px."""
    x, y = int(box.x // 1) - 1, int(box.y // 1) - 1
    right, bottom = -int(-box.right // 1) + 1, -int(-box.bottom // 1) + 1
    return Box(x, y, right - x, bottom - y)


def test_an_outline_leaves_its_inside_free():
    room, box = FreeRoom(60, 40), Box(10, 10, 30, 20)
    room.take_edges(box)
    # The outline takes a px on either side of it.
    assert room.place(28, 18, box, box.middle) == Box(11, 11, 28, 18)
    assert room.place(29, 18, box, box.middle) is None
    assert room.place(28, 19, box, box.middle) is None


def test_words_stand_beside_what_has_no_room_for_them():
    room, box = FreeRoom(100, 60), Box(40, 25, 20, 10)
    room.take(box)
    right = room.place_beside(20, 10, box, [box])
    assert right is not None
    assert right.x >= box.right
    # Where something is in the way on the right, they stand above; where others are close on all
    # sides, nowhere.
    room.take(Box(62, 0, 38, 60))
    above = room.place_beside(20, 10, box, [box])
    assert above is not None
    assert above.bottom <= box.y
    around = [Box(40, 25 - APART, 20, 1), Box(40, 35 + APART, 20, 1), Box(30, 25, 1, 10)]
    assert room.place_beside(20, 10, box, [box, *around]) is None


@pytest.mark.parametrize("inside", [Box(0, 0, 5, 40), Box(0, 0, 40, 5), Box(90, 0, 50, 40)])
def test_nothing_is_placed_where_it_does_not_fit(inside):
    assert FreeRoom(100, 60).place(12, 12, inside, inside.middle) is None
