"""Where signs lie on a page: within their cut edges, or one on the whole page. Lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from attrs import evolve, frozen

from signrules.artwork.beside_letters import without_borders
from signrules.artwork.cut_lines import cut_edges
from signrules.artwork.drawing import ArtworkLayer, Point, Shape, TextRun
from signrules.artwork.geometry import turned
from signrules.artwork.letter_regions import shapes_by_letter
from signrules.artwork.libraries import numpy_library
from signrules.artwork.mapping import MappedLayer, layers_that_mark
from signrules.errors import ArtworkError, DocumentFault
from signrules.model.layer_uses import EDGE
from signrules.model.passes import Area
from signrules.model.wording import counted_things

CUT_MM = 0.02
"""What reaches less far over a cut edge lies within it."""

BLEED_MM = 0.01
"""Ink that reaches further over the sheet is told."""


@frozen
class SignFrame:
    """One sign on a page: its number from 1, and its edge as a rectangle where one is drawn."""

    number: int
    edge: Area | None = None


def sign_frames(mapped: Sequence[MappedLayer]) -> list[SignFrame]:
    """The signs of a page, from the top down and from left to right: one for each cut edge that
    lies in no other, or one for the page.

    Raises ArtworkError for cut lines that close no edge, and for edges too small for a sign.
    """
    marking = layers_that_mark(mapped, EDGE)
    shapes = [shape for each in marking for shape in each.layer.inked()]
    if not shapes:
        return [SignFrame(1)]
    first = marking[0]
    page = Area(0.0, 0.0, first.page.width, first.page.height)
    found = cut_edges(shapes, page, first.place)
    if found.faults:
        raise ArtworkError(list(found.faults), first.artwork.file)
    # Rounded to whole mm: signs of one row drawn by hand differ by a hair, and would be numbered by
    # it.
    ordered = sorted(found.edges, key=lambda edge: (-round(edge.y + edge.height), edge.x))
    frames = [SignFrame(number, edge) for number, edge in enumerate(ordered, 1)]
    return frames or [SignFrame(1)]


def area_around(areas: Sequence[Area]) -> Area:
    """The rectangle around some areas."""
    left, low = min(area.x for area in areas), min(area.y for area in areas)
    right = max(area.x + area.width for area in areas)
    high = max(area.y + area.height for area in areas)
    return Area(left, low, right - left, high - low)


def notes_on_frames(mapped: Sequence[MappedLayer], frames: Sequence[SignFrame]) -> list[str]:
    """What whoever prints must know of where signs lie: no cut line, texts across an edge."""
    if not mapped:
        return []
    notes = []
    first = mapped[0]
    if frames[0].edge is None:
        size = f"{first.page.width:g} x {first.page.height:g} mm"
        notes.append(
            f"{first.artwork.file}, page {first.page.number}: no cut line is drawn, so the whole"
            f" page of {size} is taken for the sign"
        )
    for each in mapped:
        if each.use.builds:
            texts = texts_over_edges(each.layer, frames)
            notes += [f"{each.words}: the text {text!r} reaches over a cut edge" for text in texts]
    return notes


def notes_on_bleed(mapped: MappedLayer, sheet: Area) -> Iterable[str]:
    """How far ink reaches over the sheet, where it does."""
    corners = _corners_around(list(mapped.layer.inked()))
    if not corners:
        return
    left, low = sheet.x, sheet.y
    right, high = left + sheet.width, low + sheet.height
    over = max(max(left - x, x - right, low - y, y - high) for x, y in corners)
    if over > BLEED_MM:
        yield f"{mapped.words}: {over:.1f} mm reach over the sheet and are left out"


@frozen
class SplitLayer:
    """A layer, what of it lies on each sign of its page, and places of what lies on none."""

    mapped: MappedLayer
    parts: Sequence[ArtworkLayer]
    outside: Sequence[Point]


def split_layer(mapped: MappedLayer, frames: Sequence[SignFrame]) -> SplitLayer:
    """A layer by the signs of its page."""
    layer = mapped.layer
    shapes: list[list[Shape]] = [[] for _ in frames]
    texts: list[list[TextRun]] = [[] for _ in frames]
    outside = []
    places = [middle_of([shape]) for shape in layer.shapes]
    placed = zip(layer.shapes, places, _frames_at(places, frames), strict=True)
    for shape, place, at in placed:
        if at is not None:
            shapes[at].append(shape)
        elif shape.outline:
            outside.append(place)
    for run in _split_runs(layer, frames):
        # Text whose letters the reader could not draw still stands somewhere.
        place = middle_of(run.shapes) if run.shapes else run.baseline
        at = _frame_at(place, frames)
        if at is None:
            outside.append(place)
        else:
            texts[at].append(run)
    parts = [
        evolve(layer, shapes=tuple(some), texts=tuple(runs))
        for some, runs in zip(shapes, texts, strict=True)
    ]
    return SplitLayer(mapped, parts, outside)


def demand_within_edges(split: Sequence[SplitLayer], frames: Sequence[SignFrame]) -> None:
    """Raises ArtworkError where a cut edge runs through dots or raised characters.

    A border around them may run off the sign.
    """
    faults: list[DocumentFault] = []
    for each in split:
        # Flat ink is meant to bleed over the edge, so that no bare rim is left where the knife is
        # off.
        if not {"braille", "raised"} & set(each.mapped.use.builds):
            continue
        for part, frame in zip(each.parts, frames, strict=True):
            if frame.edge is not None:
                faults += _cut_through(each.mapped, part, frame.edge)
    if faults:
        raise ArtworkError(faults, split[0].mapped.artwork.file)


def _cut_through(mapped: MappedLayer, part: ArtworkLayer, edge: Area) -> Iterator[DocumentFault]:
    """A fault where shapes of a sign reach over its edge, but for borders."""
    shapes = [shape for shape in part.inked() if shape.outline]
    over = {id(shape): _reach_over(shape, edge) for shape in shapes}
    if max(over.values(), default=0.0) <= CUT_MM:
        return
    cut = [(over[id(shape)], shape) for shape in without_borders(shapes)[0]]
    cut = [(reach, shape) for reach, shape in cut if reach > CUT_MM]
    if cut:
        most = max(reach for reach, _ in cut)
        x, y = middle_of([cut[0][1]])
        reaching = f"{counted_things(len(cut), 'shape')} reaching up to {most:.2f} mm over it"
        found = f"a cut edge through the {mapped.use.builds[0]} ink: {reaching}"
        expected = "dots and raised characters within the cut edge, which the knife follows"
        yield DocumentFault(mapped.place, f"{found}, the first at {x:.1f}, {y:.1f} mm", expected)


def demand_edges_for_all(split: Sequence[SplitLayer], frames: Sequence[SignFrame]) -> None:
    """Raises ArtworkError where ink that builds part of a sign lies in no cut edge: each sign needs
    one.
    """
    faults = []
    for each in split:
        if not each.mapped.use.builds or not each.outside:
            continue
        features = " and ".join(each.mapped.use.builds)
        found = f"{features} ink in no cut edge, {_places_in_words(each.outside)}"
        drawn = counted_things(len(frames), "edge")
        expected = f"a cut edge around each sign; of {drawn} drawn none lies there"
        faults.append(DocumentFault(each.mapped.place, found, expected))
    if faults:
        raise ArtworkError(faults, split[0].mapped.artwork.file)


def _places_in_words(places: Sequence[Point]) -> str:
    across, along = zip(*places, strict=True)
    first = f"{min(across):.1f}, {min(along):.1f}"
    last = f"{max(across):.1f}, {max(along):.1f}"
    return f"at {first} mm" if first == last else f"from {first} to {last} mm"


def _reach_over(shape: Shape, area: Area) -> float:
    """How far a shape reaches over a rectangle in mm; below 0 where it lies within."""
    corners = _corners_around([shape])
    right, high = area.x + area.width, area.y + area.height
    return max(max(area.x - x, x - right, area.y - y, y - high) for x, y in corners)


def _split_runs(layer: ArtworkLayer, frames: Sequence[SignFrame]) -> list[TextRun]:
    return [piece for run in layer.texts for piece in split_run(run, frames)]


def split_run(run: TextRun, frames: Sequence[SignFrame]) -> list[TextRun]:
    """A run by the signs on which its words lie: neighbours of a sheet may stand on one line.

    A run whose letters do not match its text stays whole.
    """
    if len(_frames_of(run.shapes, frames)) < 2:
        return [run]
    letters = shapes_by_letter(run)
    words = run.text.split()
    # Where they do not match, nothing tells which letters are those of a word.
    if sum(map(len, words)) != len(letters):
        return [run]
    pieces: list[tuple[int | None, list[str], list[Shape]]] = []
    start = 0
    for word in words:
        drawn = [shape for letter in letters[start : start + len(word)] for shape in letter]
        start += len(word)
        at = _frame_at(middle_of(drawn), frames)
        if pieces and pieces[-1][0] == at:
            pieces[-1][1].append(word)
            pieces[-1][2].extend(drawn)
        else:
            pieces.append((at, [word], drawn))
    return [_piece_of(run, " ".join(said), drawn) for _, said, drawn in pieces]


def _piece_of(run: TextRun, text: str, shapes: Sequence[Shape]) -> TextRun:
    """A part of a run, with the place on its baseline where the part starts."""
    corners = [turned(corner, -run.angle) for shape in shapes for corner in shape.outline]
    start = (min(x for x, _ in corners), turned(run.baseline, -run.angle)[1])
    baseline = turned(start, run.angle)
    return evolve(run, text=text, baseline=baseline, shapes=tuple(shapes))


def _frames_of(shapes: Sequence[Shape], frames: Sequence[SignFrame]) -> set[int | None]:
    """On which signs shapes lie; None is beside all of them."""
    places = [middle_of([shape]) for shape in shapes if shape.outline]
    return {_frame_at(place, frames) for place in places}


def texts_over_edges(layer: ArtworkLayer, frames: Sequence[SignFrame]) -> list[str]:
    """What runs say that lie partly on one sign and partly elsewhere."""
    return [
        piece.text.strip()
        for piece in _split_runs(layer, frames)
        if len({_frame_at(corner, frames) for corner in _corners_around(piece.shapes)}) > 1
    ]


def _corners_around(shapes: Sequence[Shape]) -> list[Point]:
    """The corners of the rectangle around some shapes; none where they have no corner."""
    corners = [corner for shape in shapes for corner in shape.outline]
    if not corners:
        return []
    across, along = [x for x, _ in corners], [y for _, y in corners]
    return [(x, y) for x in (min(across), max(across)) for y in (min(along), max(along))]


def _frames_at(places: Sequence[Point], frames: Sequence[SignFrame]) -> list[int | None]:
    """The sign within whose edge each of many places lies, the first one if there are several;
    None is beside all of them.
    """
    numpy = numpy_library()
    if not places:
        return []
    x, y = numpy.array(places).T
    found = numpy.full(len(places), -1)
    # Backwards, so that the first of several edges around a place is written last and stays.
    for at in reversed(range(len(frames))):
        edge = frames[at].edge
        if edge is None:
            found[:] = at
            continue
        across, along = x - edge.x, y - edge.y
        inside = (across >= 0) & (across <= edge.width) & (along >= 0) & (along <= edge.height)
        found[inside] = at
    return [None if at < 0 else at for at in found.tolist()]


def _frame_at(place: Point, frames: Sequence[SignFrame]) -> int | None:
    return _frames_at([place], frames)[0]


def middle_of(shapes: Sequence[Shape]) -> Point:
    """The middle of the rectangle around some shapes; the origin where they have no corner."""
    corners = [corner for shape in shapes for corner in shape.outline]
    if not corners:
        return 0.0, 0.0
    across, along = [x for x, _ in corners], [y for _, y in corners]
    return (min(across) + max(across)) / 2, (min(along) + max(along)) / 2
