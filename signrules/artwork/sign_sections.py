"""A sign as its artwork shows it: the sections of a job document, each figure with its origin.

What is drawn is stated; what a drawing cannot tell (relief, contrast, finish, where the sign hangs)
is left out, and comes out as not checked.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from attrs import evolve, field, frozen

from signrules.artwork.beside_letters import BesideLetters, Speck, beside_letters
from signrules.artwork.braille_reading import BrailleReading
from signrules.artwork.drawing import Shape
from signrules.artwork.geometry import least_distance, union_of
from signrules.artwork.letters import (
    LetterMeasures,
    case_of,
    measured_letters,
)
from signrules.artwork.libraries import shapely_part
from signrules.artwork.line_sizes import LineSizes
from signrules.artwork.mapping import MappedLayer
from signrules.artwork.placing import middle_of
from signrules.artwork.sign_braille import (
    SEEN_ON,
    braille_of,
    cells_of,
    demand_upright,
    notes_on_braille,
)
from signrules.artwork.sign_notes import SignNote, plain_notes
from signrules.artwork.solid_shapes import demand_solid, solid_outlines, solid_shapes
from signrules.braille.styles import Translates
from signrules.documents.lengths import format_toleranced
from signrules.errors import ArtworkError, DocumentFault
from signrules.model.quantities import Interval
from signrules.model.sign import OUTLINES, UNLIKE_TEXT

DECIMALS = 4
"""Measured lengths are stated to a tenth of a micrometre."""


@frozen
class SignDrawing:
    """What is drawn of one sign, by what it builds or marks; each layer cut to the sign."""

    braille: Sequence[MappedLayer] = ()
    raised: Sequence[MappedLayer] = ()
    visual: Sequence[MappedLayer] = ()
    pictogram: Sequence[MappedLayer] = ()


@frozen
class SignSections:
    """The keys of a sign in a job document, and notes for whoever reads the artwork.

    `kept_notes` are those that bear on the verdict.
    """

    keys: dict[str, Any] = field(factory=dict)
    notes: list[SignNote] = field(factory=list)
    kept_notes: list[SignNote] = field(factory=list)


def sign_sections(
    drawing: SignDrawing, translate: Translates, stated_text: tuple[str, ...] = ()
) -> SignSections:
    """What the drawing of a sign tells; `stated_text` is what letters say that are outlines.

    Raises ArtworkError where braille or raised characters are no solid ink, or raised ones are
    turned over, missing or touching. Where its braille cannot be taken for cells: dots that are
    stray, doubled, touching or of another size, shapes that are none, lines that run upwards; and
    where the text tells that it is mirrored or on its head. Also where the file holds another text
    than is stated.
    """
    found = SignSections()
    for layers in (drawing.braille, drawing.raised):
        demand_solid(layers)
    raised = _letters_of(drawing.raised, stated_text)
    visual = _letters_of(drawing.visual, stated_text)
    # What the file holds goes before what is stated: it is what is printed. Another text is an
    # error below.
    text = raised.text or visual.text or stated_text
    if raised.from_outlines and raised.height is not None:
        raised = evolve(raised, case=_case_of_outlines(raised, stated_text))
    _demand_the_text_drawn(raised.text or visual.text, stated_text, drawing)
    _demand_readable_letters(raised, drawing.raised)
    if text:
        found.keys["text"] = list(text)
    reading = braille_of(drawing.braille)
    if reading.blocks:
        found.keys["braille"] = _braille_keys(reading, drawing, raised)
        found.kept_notes.extend(plain_notes(notes_on_braille(reading, drawing.braille[0])))
        demand_upright(reading, text, translate, drawing.braille[0])
        near = _notes_on_near_specks(reading, drawing, raised.specks)
        found.kept_notes.extend(plain_notes(near))
    for name, letters, layers in (
        ("raised", raised, drawing.raised),
        ("visual", visual, drawing.visual),
    ):
        if not layers:
            continue
        found.notes.extend(_notes_on_letters(name, letters, layers[0], stated_text))
        found.kept_notes.extend(plain_notes(_notes_on_figures(name, letters, layers[0])))
        if keys := _letter_keys(name, letters, layers[0]):
            found.keys[name] = keys
    beside = _beside_raised(drawing.raised, stated_text)
    # Of a shape that lies on a letter nobody knows whether it is one to keep clear of.
    if beside.clearance is not None and "raised" in found.keys and not raised.overlaps:
        clear = Interval.exact(beside.clearance)
        found.keys["raised"]["clear_space"] = _figure(clear, drawing.raised[0])
    may_be_letters = beside.like_letters
    found.kept_notes.extend(_notes_on_ornaments(beside, may_be_letters, drawing.raised))
    if may_be_letters and "raised" in found.keys:
        found.keys["raised"]["drawn"] = UNLIKE_TEXT
    if drawing.pictogram:
        found.keys["pictogram"] = _pictogram_keys(drawing.pictogram)
        found.kept_notes.extend(plain_notes(_notes_on_pictogram(drawing)))
    return found


def _demand_the_text_drawn(
    drawn: Sequence[str], stated: Sequence[str], drawing: SignDrawing
) -> None:
    """Raises ArtworkError where the file holds a text and another one is stated."""
    if not drawn or not stated or " ".join(drawn).split() == " ".join(stated).split():
        return
    mapped = [*drawing.raised, *drawing.visual][0]
    expected = f"the text that is stated, {' / '.join(stated)!r}; leave it out or mend the drawing"
    fault = DocumentFault(mapped.place, f"the text {' / '.join(drawn)!r}", expected)
    raise ArtworkError([fault], mapped.artwork.file)


def _case_of_outlines(letters: LetterMeasures, stated_text: Sequence[str]) -> str | None:
    """The case of a text whose letters are outlines; None where they do not show it."""
    case = case_of("".join(stated_text))
    return None if case == "upper" and not letters.case_shown else case


def _demand_readable_letters(letters: LetterMeasures, layers: Sequence[MappedLayer]) -> None:
    """Raises ArtworkError for raised letters that are turned over, missing or touching."""
    faults = []
    if letters.turned_over is not None:
        expected = f"raised characters as they are read {SEEN_ON[layers[0].use.side]}"
        faults.append(DocumentFault(layers[0].place, letters.turned_over, expected))
    if letters.lost_letters is not None:
        expected = "all letters of the text, each apart from the others"
        faults.append(DocumentFault(layers[0].place, letters.lost_letters, expected))
    if faults:
        raise ArtworkError(faults, layers[0].artwork.file)


def _letters_of(layers: Sequence[MappedLayer], stated_text: Sequence[str]) -> LetterMeasures:
    texts = [run for each in layers for run in each.layer.texts]
    return measured_letters(solid_outlines(layers), texts, stated_text)


def _beside_raised(layers: Sequence[MappedLayer], stated_text: Sequence[str]) -> BesideLetters:
    texts = [run for each in layers for run in each.layer.texts]
    return beside_letters(solid_outlines(layers), texts, stated_text)


def _braille_keys(
    reading: BrailleReading, drawing: SignDrawing, raised: LetterMeasures
) -> dict[str, Any]:
    mapped = drawing.braille[0]
    keys: dict[str, Any] = {"cells": "\n".join(cells_of(reading))}
    for name in ("dot_diameter", "dot_spacing", "cell_spacing", "line_spacing"):
        values = [getattr(block, name) for block in reading.blocks]
        known = [value for value in values if value is not None]
        if known:
            keys[name] = _figure(_around_all(known), mapped)
    clear = _clear_space(reading, solid_shapes(drawing.raised))
    if clear is not None:
        keys["clear_space"] = _figure(Interval.exact(clear), mapped)
    dots = [dot for block in reading.blocks for dot in block.dots]
    radius = max(dot.diameter for dot in dots) / 2
    top = max(dot.y for dot in dots) + radius
    bottom = min(dot.y for dot in dots) - radius
    if raised.baseline is not None:
        below = raised.baseline - top
        # Text and braille side by side have no gap one below the other.
        if below >= 0:
            keys["below_text"] = _figure(Interval.exact(below), mapped)
        keys["position"] = _position(top, bottom, raised)
    return keys


def _clear_space(reading: BrailleReading, shapes: Sequence[Shape]) -> float | None:
    """How far shapes stay from the dots of braille, at least; None without any."""
    if not shapes:
        return None
    dots = [dot for block in reading.blocks for dot in block.dots]
    centres = shapely_part().MultiPoint([(dot.x, dot.y) for dot in dots])
    radius = max(dot.diameter for dot in dots) / 2
    return max(least_distance(centres, shapes) - radius, 0.0)


def _notes_on_near_specks(
    reading: BrailleReading, drawing: SignDrawing, specks: Sequence[Speck]
) -> Iterable[str]:
    """That the clear space of braille is that to a speck, and what it would be without any."""
    places = {speck.at for speck in specks}
    shapes = solid_shapes(drawing.raised)
    small = [shape for shape in shapes if middle_of([shape]) in places]
    larger = [shape for shape in shapes if middle_of([shape]) not in places]
    to_specks, to_others = _clear_space(reading, small), _clear_space(reading, larger)
    if to_specks is None or to_others is None or to_specks >= to_others:
        return
    nearest = min(small, key=lambda shape: _clear_space(reading, [shape]) or 0.0)
    x, y = middle_of([nearest])
    yield (
        f"{drawing.braille[0].words}: the clear space of the braille, {to_specks:.3f} mm, is that"
        f" to the speck at {x:.1f}, {y:.1f} mm; without specks it is {to_others:.3f} mm"
    )


def _position(top: float, bottom: float, raised: LetterMeasures) -> str:
    assert raised.baseline is not None
    if top <= raised.baseline:
        return "below"
    return "above" if raised.top is not None and bottom >= raised.top else "beside"


def _letter_keys(name: str, letters: LetterMeasures, mapped: MappedLayer) -> dict[str, Any]:
    keys: dict[str, Any] = {}
    lengths = ["height", "stroke", "width", "spacing", "line_spacing"]
    if name == "raised":
        lengths.append("word_spacing")
    for each in lengths:
        value = getattr(letters, each)
        if value is not None:
            keys[each] = _figure(value, mapped)
    if letters.lines:
        keys["lines"] = [_line_row(line) for line in letters.lines]
    if letters.style is not None:
        keys["style"] = letters.style
    # The job document has no case of visual characters.
    if letters.case is not None and name == "raised":
        keys["case"] = letters.case
    if letters.drawn is not None and name == "raised":
        keys["drawn"] = letters.drawn
    return keys


def _line_row(line: LineSizes) -> dict[str, Any]:
    """What a line measures, as a document writes it."""
    values = ((name, getattr(line, name)) for name in ("height", "stroke", "width", "spacing"))
    return {name: format_toleranced(_rounded(value)) for name, value in values if value is not None}


def _pictogram_keys(layers: Sequence[MappedLayer]) -> dict[str, Any]:
    left, low, right, high = union_of(solid_shapes(layers)).bounds
    return {
        "field_height": _figure(Interval.exact(high - low), layers[0]),
        "field_width": _figure(Interval.exact(right - left), layers[0]),
    }


def _notes_on_pictogram(drawing: SignDrawing) -> Iterable[str]:
    """What of text and braille lies in the field of the pictogram."""
    area = union_of(solid_shapes(drawing.pictogram)).envelope
    for name, layers in (
        ("raised characters", drawing.raised),
        ("braille", drawing.braille),
        ("visual characters", drawing.visual),
    ):
        if layers and union_of(solid_shapes(layers)).intersection(area).area > 0:
            verb = "lies" if name == "braille" else "lie"
            yield f"{layers[0].words}: {name} {verb} in the field of the pictogram"


def _notes_on_letters(
    name: str, letters: LetterMeasures, mapped: MappedLayer, stated_text: Sequence[str]
) -> Iterable[SignNote]:
    if not letters.from_outlines:
        return
    if letters.height is None and not letters.lacking:
        words = f"{mapped.words}: there are too many outlines to measure the {name} characters"
        yield SignNote(words)
        return
    words = f"{mapped.words}: the {name} characters are outlines"
    if stated_text and letters.drawn == OUTLINES:
        trust = "which nothing reads: that they say the text which is stated is on trust"
        yield SignNote(f"{words}, {trust}")
    if letters.not_measured:
        yield SignNote(f"{words}. Not measured", letters.not_measured)


def _notes_on_figures(name: str, letters: LetterMeasures, mapped: MappedLayer) -> Iterable[str]:
    """What was taken for granted of gaps of outlines, and what fonts do not tell."""
    yield from (f"{mapped.words}: {lacking}" for lacking in letters.lacking)
    if letters.turned_over is not None:
        yield f"{mapped.words}: {letters.turned_over}"
    if letters.specks:
        yield f"{mapped.words}: {_specks_in_words(letters.specks)}"
    if not letters.guessed_gaps:
        return
    unknown = f"{mapped.words}: no text tells which gaps of the {name} characters lie between words"
    if letters.word_spacing is None:
        yield f"{unknown}; all are taken as gaps between letters. State the text of each line"
    else:
        yield (
            f"{unknown}; those of {letters.word_spacing.low:.3f} mm and more are taken for such."
            " State the text of each line"
        )


def _notes_on_ornaments(
    beside: BesideLetters, may_be_letters: Sequence[Shape], layers: Sequence[MappedLayer]
) -> Iterable[SignNote]:
    """That shapes beside a text are none of its letters."""
    if beside.ornaments:
        x, y = middle_of(beside.ornaments[:1])
        yield SignNote(
            f"{layers[0].words}: shapes beside the text are taken for borders or ornaments. The"
            " clear space of the raised characters is that to the nearest",
            (f"{len(beside.ornaments)} in all, the first at {x:.1f}, {y:.1f} mm",),
        )
    if may_be_letters:
        x, y = middle_of(may_be_letters[:1])
        yield SignNote(
            f"{layers[0].words}: some of them stand in a line and are of one height, as letters"
            " are. If they are letters, their line is missing in the text",
            (f"{len(may_be_letters)} from {x:.1f}, {y:.1f} mm on",),
        )


def _specks_in_words(specks: Sequence[Speck]) -> str:
    places = [f"{x:.1f}, {y:.1f}" for x, y in (speck.at for speck in specks[:MOST_SPECKS])]
    more = f" and {len(specks) - MOST_SPECKS:,} more" if len(specks) > MOST_SPECKS else ""
    largest = max(speck.size for speck in specks)
    return (
        f"specks of up to {largest:.3f} mm are taken for no part of a letter, and are printed: at"
        f" {'; '.join(places)} mm{more}"
    )


MOST_SPECKS = 5
"""So many specks are told with their places; the others are counted."""


def _around_all(values: Sequence[Interval]) -> Interval:
    low, high = min(value.low for value in values), max(value.high for value in values)
    return Interval.between(low, high)


def _figure(value: Interval, mapped: MappedLayer) -> Mapping[str, Any]:
    """A measured length as a document writes it, with where it was measured."""
    return {"is": format_toleranced(_rounded(value)), "from": mapped.words}


def _rounded(value: Interval) -> Interval:
    return Interval(*(round(each, DECIMALS) for each in (value.low, value.nominal, value.high)))
