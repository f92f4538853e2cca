"""Fonts built for the tests, letter by letter, by fontTools' own builder. All of it is invented."""

from __future__ import annotations

import io

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.ttLib import newTable
from fontTools.ttLib.tables._k_e_r_n import KernTable_format_0

ROUND = 0.5522847498
"""Where the controls of a cubic quarter circle lie, as a share of the radius."""


def draw_bar(pen, left, low, right, high, slope=0):
    pen.moveTo((left, low))
    pen.lineTo((left + slope, high))
    pen.lineTo((right + slope, high))
    pen.lineTo((right, low))
    pen.closePath()


def draw_ellipse(pen, x, y, across, along):
    """An ellipse of quarter curves; `across` and `along` are its half widths."""
    pen.moveTo((x + across, y))
    for to, first, second in (
        ((x, y + along), (x + across, y + ROUND * along), (x + ROUND * across, y + along)),
        ((x - across, y), (x - ROUND * across, y + along), (x - across, y + ROUND * along)),
        ((x, y - along), (x - across, y - ROUND * along), (x - ROUND * across, y - along)),
        ((x + across, y), (x + ROUND * across, y - along), (x + across, y - ROUND * along)),
    ):
        pen.curveTo(first, second, to)
    pen.closePath()


def built_font(*, slope=0, panose=(2, 11), family_class=0, mac_style=0, features="", kern=None):
    """A CFF font of 1000 units: I 700 high and 98 thick, O 630 wide, x 500 high.

    `features` are those of a feature file, `kern` is what the older table adds between pairs.
    """
    builder = FontBuilder(1000, isTTF=False)
    names = [".notdef", "I", "O", "x", "space"]
    builder.setupGlyphOrder(names)
    builder.setupCharacterMap({ord(letter): letter for letter in "IOx"} | {ord(" "): "space"})
    pens = {name: T2CharStringPen(600, None) for name in names}
    draw_bar(pens["I"], 100, 0, 198, 700, slope)
    draw_ellipse(pens["O"], 400, 350, 315, 360)
    draw_bar(pens["x"], 50, 0, 400, 500)
    strings = {name: pen.getCharString() for name, pen in pens.items()}
    builder.setupCFF("Invented", {}, strings, {})
    builder.setupHorizontalMetrics(dict.fromkeys(strings, (600, 0)))
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({"familyName": "Invented", "styleName": "Regular"})
    builder.setupOS2(sFamilyClass=family_class << 8)
    builder.font["OS/2"].panose.bFamilyType, builder.font["OS/2"].panose.bSerifStyle = panose
    builder.setupPost(italicAngle=0)
    builder.font["head"].macStyle = mac_style
    if features:
        builder.addOpenTypeFeatures(features)
    if kern is not None:
        builder.font["kern"] = kern_table(kern)
    stream = io.BytesIO()
    builder.save(stream)
    return stream.getvalue()


def kern_table(pairs):
    """The older table of kerning."""
    table, part = newTable("kern"), KernTable_format_0()
    part.coverage, part.tupleIndex, part.kernTable = 1, None, dict(pairs)
    table.version, table.kernTables = 0, [part]
    return table
