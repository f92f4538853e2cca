"""The words of a cross-section, each in a column of its own, with leaders to what they name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from xml.etree.ElementTree import Element

from attrs import frozen

from signrules.model.quantities import GUARD_MM
from signrules.physics.machine import clears_head
from signrules.sheet.label_places import (
    BASELINE,
    LINE,
    cut_words,
    kept_apart,
    words_width,
    wrapped_lines,
)
from signrules.sheet.language import Language
from signrules.sheet.scene import ROOM_X, Scale, Scene
from signrules.sheet.sheet_words import clean_text
from signrules.sheet.svg import put_line, put_words

LEFT = 43.0
"""Where the drawing begins, in px."""

HEIGHTS_END, HEIGHTS_ROOM = 36.0, 31.0
"""Where heights end, at the left of the drawing, and how wide they may be, in px."""

LABELS_START, LABELS_ROOM = LEFT + ROOM_X + 26, 100.0
"""Where labels begin, at the right of the drawing, and how wide they may be, in px."""

WIDTH = LABELS_START + LABELS_ROOM

NAMES_START = 46.0
"""Where the names of sheets may begin, beside the length of the scale bar."""

SPACE = 8.0
"""Between two names in a row."""


@frozen
class Anchor:
    """The point of a picture that a label is about, in px."""

    x: float
    y: float


@frozen
class Label:
    """Lines of words about one thing of a picture, and how each is written."""

    about: str
    lines: tuple[tuple[str, str], ...]


def described(scene: Scene, scale: Scale, language: Language) -> str:
    """The numbers of a cross-section in words, for those who do not see it."""
    printing = scene.printing
    return language.say(
        "Head plane {plane} above the bed. Clearance {clearance}, throw {throw}. Highest surface of"
        " the pass {before} before and {after} after it. In the band: {sheets}. Heights are drawn"
        " {factor} times larger than widths.",
        plane=language.mm(scene.plane),
        clearance=language.interval(printing.clearance),
        throw=language.span(*printing.throw.span),
        before=language.mm(printing.surface_before.nominal),
        after=language.mm(printing.surface_after.nominal),
        sheets=", ".join(map(clean_text, scene.sheets)),
        factor=language.figure(scale.factor),
    )


def labels_of(scene: Scene, language: Language) -> tuple[Label, ...]:
    """Clearance or strike, and throw, from above."""
    printing = scene.printing
    clearance, throw = printing.clearance, printing.throw
    if clearance.low <= GUARD_MM:
        near = _lines("danger", language.say("STRIKE by"))
        near += _lines("danger", language.mm(abs(min(clearance.low, 0.0))))
    else:
        near = _lines("label", language.say("clearance"))
        if clears_head(clearance.low, scene.job.printer.min_clearance):
            near += _lines("value", language.gauged_span(clearance.low, clearance.high))
        else:
            near += _lines("value", language.interval(clearance))
            near = _lines("danger", language.say("TOO NEAR")) + near
    far = _lines("label", language.say("throw"))
    far += _lines("value", language.gauged_span(*throw.span))
    return Label("clearance", near), Label("throw", far)


def _lines(kind: str, text: str) -> tuple[tuple[str, str], ...]:
    # Bold letters are a tenth wider.
    room = LABELS_ROOM / 1.1 if kind == "danger" else LABELS_ROOM
    return tuple([(kind, line) for line in wrapped_lines(text, room)])


def put_labels(
    svg: Element, labels: Sequence[Label], anchors: Mapping[str, Anchor], bottom: float
) -> None:
    """Write the labels beneath each other, each as near to its anchor as the others let it."""
    lengths = [len(label.lines) * LINE for label in labels]
    middles = [anchors[label.about].y for label in labels]
    tops = kept_apart(middles, lengths, 0, bottom)
    for label, top, length in zip(labels, tops, lengths, strict=True):
        anchor = anchors[label.about]
        put_line(svg, "leader", anchor.x, anchor.y, LABELS_START - 3, top + length / 2)
        for number, (kind, text) in enumerate(label.lines):
            put_words(svg, kind, LABELS_START, top + number * LINE + BASELINE, text)


def put_heights(
    svg: Element, places: Sequence[tuple[float, float]], bottom: float, language: Language
) -> None:
    """Write heights above the bed at the left, each as it is drawn and once.

    `places` are heights in mm, each with the y in px at which it is drawn.
    """
    places_of_text: dict[str, float] = {}
    for height, y in sorted(places, reverse=True):
        places_of_text.setdefault(_short_height(height, language), y)
    ys = list(places_of_text.values())
    tops = kept_apart(ys, [LINE] * len(ys), 0, bottom)
    for text, y, top in zip(places_of_text, ys, tops, strict=True):
        put_words(svg, "value end", HEIGHTS_END, top + BASELINE, text)
        put_line(svg, "leader", HEIGHTS_END + 2, top + LINE / 2, LEFT, y)


def _short_height(height: float, language: Language) -> str:
    """A height to a hundredth of a mm, or to as many places as there is room for."""
    for digits in (2, 1):
        text = language.figure(round(height, digits))
        if words_width(text) <= HEIGHTS_ROOM:
            return text
    return language.rounded(height, 0)


def put_sheet_names(
    svg: Element, middles: Mapping[str, float], top: float, language: Language
) -> None:
    """Write the names of the sheets under them; of too many, how many there are.

    `middles` are the middles of the sheets in px by their names.
    """
    names = sorted(middles, key=middles.__getitem__)
    room = WIDTH - NAMES_START
    texts = [cut_words(clean_text(name), room) for name in names]
    lengths = [words_width(text) for text in texts]
    row = top + 3
    if sum(lengths) + SPACE * (len(names) - 1) > room:
        counted = language.say_count(
            "{count} sheet in the band", "{count} sheets in the band", len(names)
        )
        put_words(svg, "label", NAMES_START, row + BASELINE, counted)
        return
    spaced = [length + SPACE for length in lengths]
    starts = kept_apart(
        [middles[name] for name in names], spaced, NAMES_START - SPACE / 2, WIDTH + SPACE / 2
    )
    for name, text, start, length in zip(names, texts, starts, spaced, strict=True):
        middle = start + length / 2
        put_line(svg, "leader", middles[name], top, middle, row - 1.5)
        put_words(svg, "label mid", middle, row + BASELINE, text)
