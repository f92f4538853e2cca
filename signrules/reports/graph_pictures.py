"""A picture of the job graph, as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from textwrap import wrap
from xml.etree import ElementTree

from signrules.evaluation import Evaluation
from signrules.given_values import demand_given
from signrules.reports.alike_boxes import box_width, grouping_words, laid_out, shown_boxes
from signrules.reports.graph_boxes import KINDS, Box, Edge
from signrules.reports.layered_drawing import Drawing, Point
from signrules.reports.picture_text import as_sentence
from signrules.reports.svg_parts import (
    MARGIN,
    MOST_TOLD,
    NARROWEST,
    SMALL,
    add_text,
    svg_document,
    svg_root,
)
from signrules.reports.text_report import MOST_OF_A_NAME, one_line

_TOP = 40.0
_HALF = 23.0
"""Pixels: where the drawing starts, and half the height of a box."""


def graph_svg(result: Evaluation, *, surfaces: bool = False, every_pass: bool = False) -> str:
    """The job graph as an SVG document: passes, media and handling, each edge with its reasons as
    its title.

    Alike passes are one box, unless `every_pass` is set; `surfaces` shows what each pass leaves as
    well. Kinds are told apart by shape and by dashes, and only besides by colour. What comes first
    stands higher.
    """
    demand_given("graph_svg", (result, Evaluation))
    shown = shown_boxes(result, surfaces=surfaces, every_pass=every_pass)
    laid = laid_out(shown)
    name = one_line(result.job.name, MOST_OF_A_NAME) or "job"
    kinds = sorted({edge.kind for edge in shown.edges})
    width = max(NARROWEST, laid.width + 2 * MARGIN)
    notes = list(grouping_words(shown))
    if any("," in edge.kinds for edge in shown.edges):
        notes.insert(0, "An edge of several kinds is drawn as the topmost of them.")
    # SVG 1.1 breaks no lines itself.
    lines = [line for note in notes for line in wrap(note, int((width - 2 * MARGIN) / SMALL))]
    svg = svg_root(
        width,
        laid.height + 90 + 20 * len(kinds) + 16 * len(lines),
        f"{name}: job graph",
        one_line(" ".join([*grouping_words(shown), _edges_in_words(shown.edges)]), 20_000),
    )
    boxes = {box.name: box for box in shown.boxes}
    # Edges first: what is drawn later lies on top, and boxes hide the ends of edges.
    for edge in shown.edges:
        _draw_edge(svg, edge, _edge_points(edge, laid, box_width(boxes[edge.target])))
    for box in shown.boxes:
        _draw_box(svg, box, laid.centres[box.name])
    _draw_legend(svg, kinds, lines, laid.height + _TOP + 10)
    return svg_document(svg)


def _draw_legend(
    svg: ElementTree.Element, kinds: Sequence[int], notes: Sequence[str], top: float
) -> None:
    legend = ElementTree.SubElement(svg, "g", {"class": "legend"})
    for row, kind in enumerate(kinds):
        y = top + 20 * row + 10
        group = ElementTree.SubElement(legend, "g", {"class": f"edge kind-{kind}"})
        ElementTree.SubElement(
            group, "path", {"d": f"M20 {y:g} H80", "marker-end": "url(#sr-arrow)"}
        )
        add_text(legend, 90, y + 4, KINDS[kind])
    for row, line in enumerate(notes):
        add_text(legend, MARGIN, top + 20 * len(kinds) + 16 * row + 14, line, small=True)


def _edges_in_words(edges: Sequence[Edge]) -> str:
    """The reasons of the edges one after the other; of very many those of the first."""
    reasons = [reason for edge in edges for reason in edge.reasons]
    sentences = [as_sentence(reason.text) for reason in reasons[:MOST_TOLD]]
    untold = len(reasons) - MOST_TOLD
    if untold > 0:
        sentences.append(f"And {untold} more reasons.")
    return " ".join(sentences)


def _edge_points(edge: Edge, laid: Drawing, target_width: float) -> list[Point]:
    """Where an edge runs, from the border of one box to that of the other.

    It arrives towards where it comes from, so that arrows lie apart.
    """
    points = [(x + MARGIN, y + _TOP) for x, y in laid.routes[edge.source, edge.target]]
    # An edge of a circle was turned round for the layout and runs upwards.
    is_downwards = points[-1][1] >= points[0][1]
    leave, arrive = (_HALF, -_HALF - 2) if is_downwards else (-_HALF, _HALF + 2)
    # The arrow stays on the straight part of the border, off its corners.
    room = target_width / 2 - 12
    offset = max(-room, min(room, (points[-2][0] - points[-1][0]) * 0.35))
    points[0] = points[0][0], points[0][1] + leave
    points[-1] = points[-1][0] + offset, points[-1][1] + arrive
    return points


def _draw_edge(svg: ElementTree.Element, edge: Edge, points: Sequence[Point]) -> None:
    attributes = {
        "class": f"edge kind-{edge.kind}",
        "data-from": one_line(edge.source),
        "data-to": one_line(edge.target),
        "data-kinds": edge.kinds,
    }
    group = ElementTree.SubElement(svg, "g", attributes)
    words = one_line("; ".join(reason.text for reason in edge.reasons))
    ElementTree.SubElement(group, "title").text = words
    # Curves that leave and arrive upright, so that an edge can be followed where several cross.
    path = f"M{points[0][0]:.1f} {points[0][1]:.1f}"
    for (x1, y1), (x2, y2) in pairwise(points):
        middle = (y1 + y2) / 2
        path += f" C{x1:.1f} {middle:.1f} {x2:.1f} {middle:.1f} {x2:.1f} {y2:.1f}"
    ElementTree.SubElement(group, "path", {"d": path, "marker-end": "url(#sr-arrow)"})


def _draw_box(svg: ElementTree.Element, box: Box, centre: Point) -> None:
    x, y = centre[0] + MARGIN, centre[1] + _TOP
    attributes = {
        "class": f"node {box.kind}",
        "data-name": one_line(box.name),
        "data-count": str(box.count),
    }
    group = ElementTree.SubElement(svg, "g", attributes)
    ElementTree.SubElement(group, "title").text = one_line(box.title)
    width = box_width(box)
    left, top = x - width / 2, y - _HALF
    if box.kind == "handling":
        ElementTree.SubElement(group, "polygon", {"points": _hexagon(left, top, width)})
    else:
        rounding = "20" if box.kind == "height" else "3"
        outline = {"x": left, "y": top, "width": width, "height": 2 * _HALF}
        shape = {name: f"{value:.1f}" for name, value in outline.items()}
        ElementTree.SubElement(group, "rect", {**shape, "rx": rounding})
    first, second = box.lines
    add_text(group, x, y - 3, first, middle=True)
    add_text(group, x, y + 14, second, middle=True, small=True)


def _hexagon(left: float, top: float, width: float, side: float = 12.0) -> str:
    """The corners of a box with a point at its left and one at its right."""
    right, middle, bottom = left + width, top + _HALF, top + 2 * _HALF
    corners = (
        (left, middle),
        (left + side, top),
        (right - side, top),
        (right, middle),
        (right - side, bottom),
        (left + side, bottom),
    )
    return " ".join(f"{x:.1f},{y:.1f}" for x, y in corners)
