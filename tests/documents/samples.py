"""A document that uses every key, with invented values."""

from __future__ import annotations

import copy
from typing import Any

FULL_TOML = """
signrules = 1
name = "Lighthouse museum, stairs"
sequence = ["base", "bumps", "tint", "turn", "wait"]
standards = ["us-ada-2010"]
registration_tolerance = "0.2 mm"
temperature = 20

[printer]
name = "bench two"
bed = ["500 mm", "20 in"]
base_gap = "1.4 .. 1.6 mm"
min_clearance = "0.9 mm"
max_throw = "5 mm"
gap = { control = "dial", max = "4 mm", step = "0.1 mm" }
head_length = "35 mm"
carriage_speed = "48 m/min"
drop_speed = "6.5 m/s"
resolution = 720
landing_tolerance = "0.05 mm"
locating = { stops = "0.4 mm", pins = "0.08 mm" }
minutes = { load = 3, gap = 1.5, alignment = 10 }

[[alignments]]
extra = "-0.2 mm"

[[media]]
id = "plate"
material = "acrylic"
thickness = "4 mm +- 0.25 mm"
size = ["180 mm", "120 mm"]
at = ["20 mm", "30 mm"]
bow = "0.1 mm"
hold = "tape"
load = "A"
up = "back"

[[inks]]
id = "blue"
role = "colour"
layer = "9 um"

[[inks]]
id = "gloss"
role = "clear"
layer = "28 um +- 2 um"

[[passes]]
id = "base"
ink = "blue"
media = "plate"
areas = [[0, 0, 180, 120]]
gap = { extra = "0.1 mm" }

[[passes]]
id = "bumps"
ink = "gloss"
areas = [["2 cm", 30, 60, 8], [20, 60, 60, 8]]
layers = 22
coverage = 0.25
gap = "auto"
builds = "stairs.braille"

[[passes]]
id = "tint"
ink = "blue"
over = ["bumps"]
after = ["base"]
areas = [[20, 30, 60, 8]]
gap = { extra = "0.5 mm", above = "build-up" }
side = "front"
directions = 1
crisp_on = "highest"
sheet_temperature = 33
registers_to = ["base"]

[[handling]]
id = "turn"
does = "flip"
media = "plate"
locates_by = "pins"
after = ["tint"]

[[handling]]
id = "wait"
does = "pause"

[[signs]]
id = "stairs"
media = "plate"
kind = "permanent-room"
text = ["STAIRS", "up"]
area = [0, "1 cm", 180, 110]
top = "left"
[signs.braille]
cells = "\u280e\u281e \u2801"
dot_diameter = "1.5 mm"
dot_spacing = "2.35 mm"
cell_spacing = "6.1 mm"
line_spacing = "10 mm"
dot_height = "0.7 mm"
clear_space = "9.6 mm"
dome_radius = "0.78 mm"
below_text = "11 mm"
shape = "domed"
grade = "contracted"
language = "en-GB"
proper = ["Lindgren"]
acronyms = ["IT", "ATM"]
position = "below"
[signs.raised]
height = "22 mm"
stroke = "2.8 mm"
depth = "0.8 mm"
spacing = "4 mm"
line_spacing = "30 mm"
case = "upper"
style = "sans-serif"
width = "18 mm"
word_spacing = "12 mm"
clear_space = "10 mm"
[signs.visual]
height = "18 mm"
stroke = "2 mm"
spacing = "3 mm"
line_spacing = "25 mm"
style = "serif"
viewing_distance = "2000 mm"
above_floor = "1500 mm"
width = "14 mm"
[signs.pictogram]
field_height = "6 in"
field_width = "160 mm"
[signs.surface]
finish = "eggshell"
character_lrv = 75
background_lrv = 6.5
gloss = 12
[signs.mounting]
lowest_tactile = "1250 mm"
highest_tactile = "1380 mm"
centre = "1320 mm"
lowest_part = "1245 mm"
highest_part = "1400 mm"
highest_braille = "1260 mm"
[signs.measured]
dot_height = ["0.66 mm", 0.7]
depth = ["0.81 mm"]

[[waivers]]
rule = "contrast.reflectance"
subject = "signs.stairs"
reason = "shown to the client"
by = "front desk"
until = 2027-02-28
"""

SMALL: dict[str, Any] = {
    "signrules": 1,
    "printer": {
        "bed": [400, 300],
        "base_gap": "1.5 mm",
        "min_clearance": 1,
        "gap": {"control": "spacers", "spacers": [0.5, "1 mm"]},
        "head_length": 40,
        "carriage_speed": "800 mm/s",
        "drop_speed": "6 m/s",
    },
    "media": [{"id": "plate", "thickness": "3 mm +- 0.2 mm", "size": [100, 100]}],
    "inks": [{"id": "clear", "layer": "30 um"}],
    "passes": [
        {"id": "one", "ink": "clear", "areas": [[0, 0, 50, 50]]},
        {"id": "two", "ink": "clear", "after": ["one"], "gap": {"extra": 1, "above": "media"}},
        {"id": "three", "ink": "clear", "over": ["two"], "builds": "door.raised"},
    ],
    "handling": [{"id": "turn", "does": "flip", "after": ["three"]}],
    "signs": [{"id": "door", "braille": {"dot_diameter": "1.5 mm"}, "text": ["DOOR"]}],
    "waivers": [
        {"rule": "a.b", "subject": "signs.door", "reason": "r", "by": "b", "until": "2027-01-31"}
    ],
    "alignments": [{"extra": 0}],
}
"""A document that is sound; take a copy before changing it."""

MISSING = object()


def changed(
    path: tuple[str | int, ...], value: object, document: dict[str, Any] = SMALL
) -> dict[str, Any]:
    """A copy of a document with one value replaced, added, or (MISSING) taken out."""
    result = copy.deepcopy(document)
    holder: Any = result
    for step in path[:-1]:
        holder = holder[step]
    if value is MISSING:
        del holder[path[-1]]
    elif isinstance(holder, list) and path[-1] == len(holder):
        holder.append(value)
    else:
        holder[path[-1]] = value
    return result


def nested(levels: int, value: object, in_lists: bool) -> object:
    """A value inside so many lists, or tables of one key."""
    for _ in range(levels):
        value = [value] if in_lists else {"id": value}
    return value
