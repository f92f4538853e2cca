"""Boxes of a picture that are alike shown as one, so that a large job can be taken in.

Boxes are told apart first by what they are (ink, side, layers, gap; thickness), then again and
again by the boxes that they have edges to and from: the refinement of a partition until nothing
changes (P. Kanellakis, S. Smolka, "CCS expressions, finite state processes, and three problems of
equivalence", 1990; from memory). Boxes of one group of the last round have edges to and from the
same groups.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from signrules.evaluation import Evaluation
from signrules.job_graphs import Reason
from signrules.reports.graph_boxes import Box, Boxes, Edge, boxes_of
from signrules.reports.id_runs import runs_of_ids
from signrules.reports.layered_drawing import Drawing, layered_drawing
from signrules.reports.picture_text import clipped_text, text_width

SCREEN = (1560.0, 1000.0)
"""The most that a drawing takes of a screen of 1600 x 1200 pixels: it has margins, and the legend
stands below it.
"""

FEW_BOXES = 24
MOST_BOXES = 60
MOST_EDGES = 80
"""So few boxes are shown in a picture that is too tall for a screen rather than in a coarser one;
more boxes and more edges nobody takes in. Common practice, no published source.
"""

Groups = Mapping[str, int]
"""The group of each box, by its name. Groups are numbered in the order of their first boxes."""


def shown_boxes(result: Evaluation, *, surfaces: bool, every_pass: bool) -> Boxes:
    """What a picture of the job graph shows; alike passes as one, unless `every_pass` is set."""
    every = boxes_of(result, surfaces=surfaces)
    return every if every_pass else grouped_boxes(every)


def grouping_words(shown: Boxes) -> Sequence[str]:
    """What to know of a picture whose boxes stand for several; nothing for another."""
    if not shown.grouped:
        return ()
    if shown.alike:
        how = "What is alike is one box: it is the same and has the same edges."
    else:
        how = "What is similar is one box: an edge holds for some of what stands in it."
    return how, "For a box each: --every-pass."


def box_width(box: Box) -> float:
    """How wide a box is in a drawing, in pixels."""
    return max(70.0, *(text_width(line) + 20 for line in box.lines))


def laid_out(shown: Boxes) -> Drawing:
    """Where boxes stand and edges run."""
    widths = {box.name: box_width(box) for box in shown.boxes}
    return layered_drawing(widths, [(edge.source, edge.target) for edge in shown.edges])


def grouped_boxes(every: Boxes) -> Boxes:
    """Alike boxes as one: in the finest grouping that a screen has room for, else in the
    coarsest.
    """
    chosen: Boxes | None = None
    for groups, is_last in _groupings(every):
        finer = _shown_as(every, groups, alike=is_last)
        if chosen is None or _fits_screen(finer):
            chosen = finer
        # Each further grouping has as many boxes or more, so none of them fits.
        if len(finer.boxes) > MOST_BOXES:
            break
    return chosen or every


def _fits_screen(shown: Boxes) -> bool:
    if len(shown.boxes) > MOST_BOXES or len(shown.edges) > MOST_EDGES:
        return False
    laid = laid_out(shown)
    may_be_tall = len(shown.boxes) <= FEW_BOXES
    return laid.width <= SCREEN[0] and (laid.height <= SCREEN[1] or may_be_tall)


def _groupings(every: Boxes) -> Iterator[tuple[Groups, bool]]:
    """Finer and finer groupings, each with whether it is the last."""
    # One trait more at a time: between the coarsest picture and all boxes some steps may fit a
    # screen.
    looks: dict[str, object] = {box.name: (box.kind, *box.traits[:1]) for box in every.boxes}
    groups = _numbered(looks)
    most_traits = max((len(box.traits) for box in every.boxes), default=0)
    for known in range(2, most_traits + 1):
        yield groups, False
        looks = {box.name: (box.kind, *box.traits[:known]) for box in every.boxes}
        groups = _numbered(looks)
    while True:
        finer = _told_by_edges(every.edges, groups)
        # Groups are only ever split, so as many as before are the same ones.
        is_last = len(set(finer.values())) == len(set(groups.values()))
        yield groups, is_last
        if is_last:
            return
        groups = finer


def _told_by_edges(edges: Sequence[Edge], groups: Groups) -> Groups:
    """The groups split by the groups that their boxes have edges to and from, and the kinds of
    these.
    """
    met: dict[str, set[tuple[str, int, str]]] = {name: set() for name in groups}
    for edge in edges:
        met[edge.source].add(("to", groups[edge.target], edge.kinds))
        met[edge.target].add(("from", groups[edge.source], edge.kinds))
    return _numbered({name: (groups[name], frozenset(met[name])) for name in groups})


def _numbered(looks: Mapping[str, object]) -> Groups:
    numbers: dict[object, int] = {}
    return {name: numbers.setdefault(look, len(numbers)) for name, look in looks.items()}


def _shown_as(every: Boxes, groups: Groups, *, alike: bool) -> Boxes:
    """One box for each group, and one edge where any of its boxes has one.

    An edge within a group has no arrow: the title of the box says so.
    """
    members: dict[int, list[Box]] = {}
    for box in every.boxes:
        members.setdefault(groups[box.name], []).append(box)
    reasons: dict[tuple[int, int], dict[Reason, None]] = {}
    for edge in every.edges:
        between = groups[edge.source], groups[edge.target]
        reasons.setdefault(between, {}).update(dict.fromkeys(edge.reasons))
    order = [box.name.partition(".")[2] for box in every.boxes]
    shown = {
        group: _one_box(boxes, order, ordered=(group, group) in reasons)
        for group, boxes in members.items()
    }
    edges = (
        Edge(shown[source].name, shown[target].name, tuple(why))
        for (source, target), why in reasons.items()
        if source != target
    )
    grouped = len(shown) < len(every.boxes)
    return Boxes(tuple(shown.values()), tuple(edges), grouped, alike)


def _one_box(boxes: Sequence[Box], order: Sequence[str], *, ordered: bool) -> Box:
    """The box that stands for some; `ordered` where some of them must come before others."""
    first = boxes[0]
    if len(boxes) == 1:
        return first
    names = tuple(box.name for box in boxes)
    ids = [name.partition(".")[2] for name in names]
    runs = runs_of_ids(ids, order)
    many = f"{len(boxes)} {_PLURALS.get(first.kind, first.lines[1])}"
    if first.kind == "pass":
        many = f"{many}, {clipped_text(str(first.traits[0]), 16)}"
    title = f"{many}: {runs}"
    if ordered:
        many = f"{many}, in an order"
        title = f"{title}; some of them must come before others"
    return Box(first.name, first.kind, (_short_runs(runs, ids), many), title, members=names)


def _short_runs(runs: str, ids: Sequence[str]) -> str:
    """Ids in the room of a box: all of them as runs, or the first and the last."""
    if len(runs) <= _MOST_PLACES:
        return clipped_text(runs, _MOST_PLACES)
    # Five places for " ... ".
    half = (_MOST_PLACES - 5) // 2
    return f"{clipped_text(ids[0], half)} ... {clipped_text(ids[-1], half)}"


_MOST_PLACES = 30
_PLURALS = {"pass": "passes", "media": "sheets", "height": "surfaces"}
