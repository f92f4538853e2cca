"""Golden cells: from the law, from the rulebook, and of common sign texts; and the translator's
known traps.
"""

from __future__ import annotations

import pytest
from signrules_liblouis.binding import LiblouisError, liblouis
from signrules_liblouis.plugin import signrules_translate_braille

from signrules.braille.cells import from_dots, to_dots
from signrules.braille.spelling import cells_of_text

try:
    liblouis()
except LiblouisError as error:
    pytest.skip(str(error), allow_module_level=True)

# The six buttons whose cells the 2010 ADA Standards fix in table 407.4.7.1.3: contractions in
# brackets there, the number of cells, and the dots.
BUTTONS = [
    ("stop", 3, "34-135-1234"),
    ("alarm", 4, "1-123-345-134"),
    ("open", 3, "135-1234-26"),
    ("close", 5, "14-123-135-234-15"),
    ("main", 3, "134-1-35"),
    ("phone", 4, "1234-125-5-135"),
]

# Examples printed in The Rules of Unified English Braille, second edition 2013, with their places.
RULEBOOK = [
    ("3b", "3456-14-56-12", "6.5.2"),
    ("3B", "3456-14-6-12", "6.5.2"),
    ("3m", "3456-14-134", "6.5.2"),
    ("3-D", "3456-14-36-56-6-145", "6.5.4"),
    ("living room:", "123-24-1236-346-0-1235-135-135-134-25", "3.12.1"),
    ("dining room:", "145-35-346-0-1235-135-135-134-25", "3.12.1"),
    ("kitchen:", "13-24-2345-16-26-25", "3.12.1"),
    ("office", "12356-124-24-14-15", "10.10.3"),
    ("CAN Network", "6-6-14-0-6-1345-15-2345-5-2456", "10.1.3"),
    (
        "CAUTION: WET PAINT!",
        "6-6-6-14-1-136-56-1345-25-0-2456-15-2345-0-1234-1-35-2345-235-6-3",
        "8.5.3",
    ),
]
ACRONYMS = [("IT", "6-6-24-2345"), ("US", "6-6-136-234")]
"""Examples of 10.1.3 on which the translator goes wrong."""

# Texts of common signs in lower case, contracted and uncontracted: one independent run of version
# 3.24.0.
COMMON = [
    ("restroom", "⠗⠑⠌⠗⠕⠕⠍", "⠗⠑⠎⠞⠗⠕⠕⠍"),
    ("restrooms", "⠗⠑⠌⠗⠕⠕⠍⠎", "⠗⠑⠎⠞⠗⠕⠕⠍⠎"),
    ("men", "⠍⠢", "⠍⠑⠝"),
    ("women", "⠺⠕⠍⠢", "⠺⠕⠍⠑⠝"),
    ("all gender restroom", "⠁⠇⠇⠀⠛⠢⠙⠻⠀⠗⠑⠌⠗⠕⠕⠍", "⠁⠇⠇⠀⠛⠑⠝⠙⠑⠗⠀⠗⠑⠎⠞⠗⠕⠕⠍"),
    ("unisex", "⠥⠝⠊⠎⠑⠭", "⠥⠝⠊⠎⠑⠭"),
    ("stair", "⠌⠁⠊⠗", "⠎⠞⠁⠊⠗"),
    ("stairs", "⠌⠁⠊⠗⠎", "⠎⠞⠁⠊⠗⠎"),
    ("stair 1", "⠌⠁⠊⠗⠀⠼⠁", "⠎⠞⠁⠊⠗⠀⠼⠁"),
    ("exit", "⠑⠭⠊⠞", "⠑⠭⠊⠞"),
    ("exit stair", "⠑⠭⠊⠞⠀⠌⠁⠊⠗", "⠑⠭⠊⠞⠀⠎⠞⠁⠊⠗"),
    ("exit route", "⠑⠭⠊⠞⠀⠗⠳⠞⠑", "⠑⠭⠊⠞⠀⠗⠕⠥⠞⠑"),
    ("fire exit", "⠋⠊⠗⠑⠀⠑⠭⠊⠞", "⠋⠊⠗⠑⠀⠑⠭⠊⠞"),
    ("not an exit", "⠝⠀⠁⠝⠀⠑⠭⠊⠞", "⠝⠕⠞⠀⠁⠝⠀⠑⠭⠊⠞"),
    ("elevator", "⠑⠇⠑⠧⠁⠞⠕⠗", "⠑⠇⠑⠧⠁⠞⠕⠗"),
    ("room", "⠗⠕⠕⠍", "⠗⠕⠕⠍"),
    ("room 101", "⠗⠕⠕⠍⠀⠼⠁⠚⠁", "⠗⠕⠕⠍⠀⠼⠁⠚⠁"),
    ("room 101a", "⠗⠕⠕⠍⠀⠼⠁⠚⠁⠰⠁", "⠗⠕⠕⠍⠀⠼⠁⠚⠁⠰⠁"),
    ("room 12B", "⠗⠕⠕⠍⠀⠼⠁⠃⠠⠃", "⠗⠕⠕⠍⠀⠼⠁⠃⠠⠃"),
    ("101", "⠼⠁⠚⠁", "⠼⠁⠚⠁"),
    ("office", "⠷⠋⠊⠉⠑", "⠕⠋⠋⠊⠉⠑"),
    ("conference", "⠒⠋⠻⠰⠑", "⠉⠕⠝⠋⠑⠗⠑⠝⠉⠑"),
    ("conference room", "⠒⠋⠻⠰⠑⠀⠗⠕⠕⠍", "⠉⠕⠝⠋⠑⠗⠑⠝⠉⠑⠀⠗⠕⠕⠍"),
    ("meeting room", "⠍⠑⠑⠞⠬⠀⠗⠕⠕⠍", "⠍⠑⠑⠞⠊⠝⠛⠀⠗⠕⠕⠍"),
    ("classroom", "⠉⠇⠁⠎⠎⠗⠕⠕⠍", "⠉⠇⠁⠎⠎⠗⠕⠕⠍"),
    ("laboratory", "⠇⠁⠃⠕⠗⠁⠞⠕⠗⠽", "⠇⠁⠃⠕⠗⠁⠞⠕⠗⠽"),
    ("library", "⠇⠊⠃⠗⠜⠽", "⠇⠊⠃⠗⠁⠗⠽"),
    ("kitchen", "⠅⠊⠞⠡⠢", "⠅⠊⠞⠉⠓⠑⠝"),
    ("break room", "⠃⠗⠂⠅⠀⠗⠕⠕⠍", "⠃⠗⠑⠁⠅⠀⠗⠕⠕⠍"),
    ("storage", "⠌⠕⠗⠁⠛⠑", "⠎⠞⠕⠗⠁⠛⠑"),
    ("janitor", "⠚⠁⠝⠊⠞⠕⠗", "⠚⠁⠝⠊⠞⠕⠗"),
    ("custodian", "⠉⠥⠌⠕⠙⠊⠁⠝", "⠉⠥⠎⠞⠕⠙⠊⠁⠝"),
    ("electrical room", "⠑⠇⠑⠉⠞⠗⠊⠉⠁⠇⠀⠗⠕⠕⠍", "⠑⠇⠑⠉⠞⠗⠊⠉⠁⠇⠀⠗⠕⠕⠍"),
    ("mechanical", "⠍⠑⠡⠁⠝⠊⠉⠁⠇", "⠍⠑⠉⠓⠁⠝⠊⠉⠁⠇"),
    ("data", "⠙⠁⠞⠁", "⠙⠁⠞⠁"),
    ("reception", "⠗⠑⠉⠑⠏⠰⠝", "⠗⠑⠉⠑⠏⠞⠊⠕⠝"),
    ("lobby", "⠇⠕⠆⠽", "⠇⠕⠃⠃⠽"),
    ("entrance", "⠢⠞⠗⠨⠑", "⠑⠝⠞⠗⠁⠝⠉⠑"),
    ("no smoking", "⠝⠕⠀⠎⠍⠕⠅⠬", "⠝⠕⠀⠎⠍⠕⠅⠊⠝⠛"),
    ("first floor", "⠋⠌⠀⠋⠇⠕⠕⠗", "⠋⠊⠗⠎⠞⠀⠋⠇⠕⠕⠗"),
    ("floor 2", "⠋⠇⠕⠕⠗⠀⠼⠃", "⠋⠇⠕⠕⠗⠀⠼⠃"),
    ("level 3", "⠇⠑⠧⠑⠇⠀⠼⠉", "⠇⠑⠧⠑⠇⠀⠼⠉"),
    ("area of refuge", "⠜⠑⠁⠀⠷⠀⠗⠑⠋⠥⠛⠑", "⠁⠗⠑⠁⠀⠕⠋⠀⠗⠑⠋⠥⠛⠑"),
    ("locker room", "⠇⠕⠉⠅⠻⠀⠗⠕⠕⠍", "⠇⠕⠉⠅⠑⠗⠀⠗⠕⠕⠍"),
    ("shower", "⠩⠪⠻", "⠎⠓⠕⠺⠑⠗"),
    ("laundry", "⠇⠁⠥⠝⠙⠗⠽", "⠇⠁⠥⠝⠙⠗⠽"),
    ("mother's room", "⠐⠍⠄⠎⠀⠗⠕⠕⠍", "⠍⠕⠞⠓⠑⠗⠄⠎⠀⠗⠕⠕⠍"),
    ("employees only", "⠑⠍⠏⠇⠕⠽⠑⠑⠎⠀⠕⠝⠇⠽", "⠑⠍⠏⠇⠕⠽⠑⠑⠎⠀⠕⠝⠇⠽"),
    ("authorized personnel only", "⠁⠥⠹⠕⠗⠊⠵⠫⠀⠏⠻⠎⠕⠝⠝⠑⠇⠀⠕⠝⠇⠽", "⠁⠥⠞⠓⠕⠗⠊⠵⠑⠙⠀⠏⠑⠗⠎⠕⠝⠝⠑⠇⠀⠕⠝⠇⠽"),
    ("roof access", "⠗⠕⠷⠀⠁⠒⠑⠎⠎", "⠗⠕⠕⠋⠀⠁⠉⠉⠑⠎⠎"),
    ("push", "⠏⠥⠩", "⠏⠥⠎⠓"),
    ("pull", "⠏⠥⠇⠇", "⠏⠥⠇⠇"),
    ("up", "⠥⠏", "⠥⠏"),
    ("down", "⠙⠪⠝", "⠙⠕⠺⠝"),
    ("John Smith", "⠠⠚⠕⠓⠝⠀⠠⠎⠍⠊⠹", "⠠⠚⠕⠓⠝⠀⠠⠎⠍⠊⠞⠓"),
    ("B", "⠰⠠⠃", "⠠⠃"),
    ("stop", "⠌⠕⠏", "⠎⠞⠕⠏"),
    ("alarm", "⠁⠇⠜⠍", "⠁⠇⠁⠗⠍"),
    ("open", "⠕⠏⠢", "⠕⠏⠑⠝"),
    ("close", "⠉⠇⠕⠎⠑", "⠉⠇⠕⠎⠑"),
    ("main", "⠍⠁⠔", "⠍⠁⠊⠝"),
    ("phone", "⠏⠓⠐⠕", "⠏⠓⠕⠝⠑"),
    ("changing room", "⠡⠁⠝⠛⠬⠀⠗⠕⠕⠍", "⠉⠓⠁⠝⠛⠊⠝⠛⠀⠗⠕⠕⠍"),
    ("family restroom", "⠋⠁⠍⠊⠇⠽⠀⠗⠑⠌⠗⠕⠕⠍", "⠋⠁⠍⠊⠇⠽⠀⠗⠑⠎⠞⠗⠕⠕⠍"),
    ("storage room", "⠌⠕⠗⠁⠛⠑⠀⠗⠕⠕⠍", "⠎⠞⠕⠗⠁⠛⠑⠀⠗⠕⠕⠍"),
    ("waiting room", "⠺⠁⠊⠞⠬⠀⠗⠕⠕⠍", "⠺⠁⠊⠞⠊⠝⠛⠀⠗⠕⠕⠍"),
    ("exam 3", "⠑⠭⠁⠍⠀⠼⠉", "⠑⠭⠁⠍⠀⠼⠉"),
    ("nurse station", "⠝⠥⠗⠎⠑⠀⠌⠁⠰⠝", "⠝⠥⠗⠎⠑⠀⠎⠞⠁⠞⠊⠕⠝"),
    ("women's locker room", "⠺⠕⠍⠢⠄⠎⠀⠇⠕⠉⠅⠻⠀⠗⠕⠕⠍", "⠺⠕⠍⠑⠝⠄⠎⠀⠇⠕⠉⠅⠑⠗⠀⠗⠕⠕⠍"),
    ("parking", "⠏⠜⠅⠬", "⠏⠁⠗⠅⠊⠝⠛"),
    ("stairway", "⠌⠁⠊⠗⠺⠁⠽", "⠎⠞⠁⠊⠗⠺⠁⠽"),
    ("ramp", "⠗⠁⠍⠏", "⠗⠁⠍⠏"),
    ("quiet room", "⠟⠥⠊⠑⠞⠀⠗⠕⠕⠍", "⠟⠥⠊⠑⠞⠀⠗⠕⠕⠍"),
    ("nursing mothers", "⠝⠥⠗⠎⠬⠀⠐⠍⠎", "⠝⠥⠗⠎⠊⠝⠛⠀⠍⠕⠞⠓⠑⠗⠎"),
    ("information", "⠔⠿⠍⠁⠰⠝", "⠊⠝⠋⠕⠗⠍⠁⠞⠊⠕⠝"),
    ("main entrance", "⠍⠁⠔⠀⠢⠞⠗⠨⠑", "⠍⠁⠊⠝⠀⠑⠝⠞⠗⠁⠝⠉⠑"),
    ("ambulatory", "⠁⠍⠃⠥⠇⠁⠞⠕⠗⠽", "⠁⠍⠃⠥⠇⠁⠞⠕⠗⠽"),
    ("children", "⠡⠝", "⠉⠓⠊⠇⠙⠗⠑⠝"),
]

# What becomes of capitals: marked word by word, or as a passage, which no sign under the 2010 ADA
# Standards may have.
TRAPS = [
    ("EXIT", "⠠⠠⠑⠭⠊⠞"),
    ("STAIR", "⠠⠠⠌⠁⠊⠗"),
    ("ROOM 101", "⠠⠠⠗⠕⠕⠍⠀⠼⠁⠚⠁"),
    ("ALL GENDER RESTROOM", "⠠⠠⠠⠁⠇⠇⠀⠛⠢⠙⠻⠀⠗⠑⠌⠗⠕⠕⠍⠠⠄"),
    ("IT", "⠠⠠⠭"),
    ("US", "⠠⠠⠥"),
    ("CAN", "⠠⠠⠉"),
    ("GO", "⠠⠠⠛"),
    ("ATM", "⠠⠠⠁⠞⠍"),
    ("VIP", "⠠⠠⠧⠊⠏"),
    ("3b", "⠼⠉⠰⠃"),
    ("3B", "⠼⠉⠠⠃"),
    ("3-D", "⠼⠉⠤⠰⠠⠙"),
    ("STOP RUNNING NOW", "⠠⠠⠠⠌⠕⠏⠀⠗⠥⠝⠝⠬⠀⠝⠪⠠⠄"),
    ("CAUTION: WET PAINT!", "⠠⠠⠠⠉⠁⠥⠰⠝⠒⠀⠺⠑⠞⠀⠏⠁⠔⠞⠖⠠⠄"),
    ("ROOM 3B", "⠠⠠⠗⠕⠕⠍⠀⠼⠉⠠⠃"),
    ("1st floor", "⠼⠁⠎⠞⠀⠋⠇⠕⠕⠗"),
]


def contracted(text):
    return signrules_translate_braille(text, "contracted", "en")


@pytest.mark.parametrize(("text", "count", "dots"), BUTTONS)
def test_the_buttons_of_the_law(text, count, dots):
    cells = contracted(text)
    assert to_dots(cells) == dots
    assert len(cells) == count


@pytest.mark.parametrize(("text", "dots", "place"), RULEBOOK)
def test_examples_of_the_rulebook(text, dots, place):
    assert contracted(text) == from_dots(dots), place


@pytest.mark.parametrize(("text", "dots"), ACRONYMS)
def test_acronyms_are_wrong_here_and_right_where_the_sign_lists_them(text, dots):
    assert to_dots(contracted(text)) != dots
    (cells,) = cells_of_text([text], contracted, acronyms=[text])
    assert to_dots(cells) == dots


@pytest.mark.parametrize(("text", "cells", "spelled"), COMMON)
def test_common_signs(text, cells, spelled):
    assert contracted(text) == cells
    assert signrules_translate_braille(text, "uncontracted", "en-US") == spelled


@pytest.mark.parametrize(("text", "cells"), TRAPS)
def test_traps(text, cells):
    assert contracted(text) == cells


@pytest.mark.parametrize(
    "text", ["EXIT", "STAIR", "ROOM 101", "ALL GENDER RESTROOM", "AREA OF REFUGE"]
)
def test_raised_text_becomes_braille_without_capitals(text):
    assert cells_of_text([text], contracted) == (contracted(text.lower()),)
    assert "⠠" not in contracted(text.lower())
