"""Pictures of a job: its graph, and its plan as a line of steps, as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from textwrap import wrap
from xml.etree import ElementTree

from attrs import frozen

from signrules.evaluation import Evaluation, why_not_safe
from signrules.evaluation.cautions import CAUTIONS
from signrules.job_graphs import (
    DECLARED,
    LANDS_ON,
    LEAVES,
    MUST_CLEAR,
    PRINTS_ON,
    REGISTER,
    Reason,
    graph_of,
)
from signrules.model.quantities import Interval
from signrules.physics.timeline import Step
from signrules.planning.plan import NoSafeOrder
from signrules.reports.layered_drawing import Drawing, layered_drawing
from signrules.reports.picture_text import as_sentence, clipped_text, text_width, wrapped_text
from signrules.reports.text_report import MOST_OF_A_NAME, one_line, step_text
from signrules.rules.check_messages import quantity_text

HANDLES = "handles"
KINDS = (MUST_CLEAR, LANDS_ON, DECLARED, REGISTER, PRINTS_ON, HANDLES, LEAVES)
"""The kinds of reasons; an edge with several is drawn as the first of them."""

_MOST_TOLD = 200
"""The most edges or steps of which the description of a picture tells."""

_NARROWEST = 420.0
_SMALL = 6.5
"""Pixels: the least width of a picture, and about how wide a small character is, an upper bound for
usual fonts.
"""

_FONT = "font-family: sans-serif; font-size: 13px"
_STYLE = f"""
.sr text {{ {_FONT}; fill: #111; }}
.sr .small {{ font-size: 11px; fill: #333; }}
.sr .edge path {{ fill: none; stroke: #444; stroke-width: 1.4; }}
.sr .node rect, .sr .node polygon {{ fill: #fff; stroke: #222; stroke-width: 1.4; }}
.sr .pass rect {{ fill: #e8f1fa; stroke-width: 2; }}
.sr .media rect {{ fill: #f1f1f1; stroke-width: 3; }}
.sr .height rect {{ fill: #fff; stroke-dasharray: 2 2; }}
.sr .handling polygon {{ fill: #fdf3dc; }}
.sr .kind-0 path {{ stroke: #a33; stroke-width: 2.4; }}
.sr .kind-1 path {{ stroke: #05588f; stroke-width: 2.4; stroke-dasharray: 9 3; }}
.sr .kind-2 path {{ stroke: #111; stroke-dasharray: 2 3; stroke-width: 2.4; }}
.sr .kind-3 path {{ stroke: #7a4a8a; stroke-dasharray: 9 3 2 3; }}
.sr .kind-4 path {{ stroke: #777; }}
.sr .kind-5 path {{ stroke: #8a6d00; stroke-dasharray: 5 5; }}
.sr .kind-6 path {{ stroke: #777; stroke-dasharray: 1 3; }}
.sr .print rect {{ fill: #e8f1fa; stroke-width: 2.4; }}
.sr .align rect {{ fill: #fdf3dc; }}
"""


@frozen
class Node:
    """What a picture shows: `name` as checks name it, its kind, the lines that stand in it, and all
    of it in words.
    """

    name: str
    kind: str
    lines: tuple[str, ...]
    title: str


@frozen
class Edge:
    """What must come before or carries what, and why."""

    source: str
    target: str
    reasons: tuple[Reason, ...]

    @property
    def kind(self) -> int:
        """The place of its first kind in `KINDS`."""
        return min(KINDS.index(reason.kind) for reason in self.reasons)


def graph_svg(result: Evaluation) -> str:
    """The job graph as an SVG document: passes, media, heights and handling, each edge with its
    reasons as its title.

    Kinds are told apart by shape and by dashes, and only besides by colour. What comes first stands
    higher.
    """
    nodes, edges = graph_picture(result)
    widths = {
        node.name: max(70.0, *(text_width(line) + 20 for line in node.lines)) for node in nodes
    }
    laid = layered_drawing(widths, [(edge.source, edge.target) for edge in edges])
    name = one_line(result.job.name, MOST_OF_A_NAME) or "job"
    kinds = sorted({edge.kind for edge in edges})
    mixed = any(len({reason.kind for reason in edge.reasons}) > 1 for edge in edges)
    legend = 30 + 20 * (len(kinds) + mixed)
    svg = _svg_root(
        laid.width + 40,
        laid.height + legend + 60,
        f"{name}: job graph",
        one_line(_edges_in_words(edges), 20_000),
    )
    for edge in edges:
        _draw_edge(svg, edge, laid, widths)
    for node in nodes:
        _draw_node(svg, node, laid.centres[node.name], widths[node.name])
    _draw_legend(svg, kinds, laid.height + 50, mixed=mixed)
    return _svg_document(svg)


def _edges_in_words(edges: Sequence[Edge]) -> str:
    """The reasons of the edges one after the other; of very many those of the first."""
    sentences = []
    for edge in edges[:_MOST_TOLD]:
        sentences += [as_sentence(reason.text) for reason in edge.reasons]
    untold = len(edges) - _MOST_TOLD
    if untold > 0:
        return f"{' '.join(sentences)} And {untold} more edges."
    return " ".join(sentences)


def graph_picture(result: Evaluation) -> tuple[list[Node], list[Edge]]:
    """What a picture of the job graph shows: nodes and edges of `job_graph`, and the handling.

    Heights are those of the plan's order; where there is no plan, those of the declared order.
    """
    machine = result.timeline.machine
    graph = graph_of(machine, result.timeline.order)
    nodes = [_node(name, data) for name, data in graph.nodes(data=True)]
    shown_nodes = {
        (source, target): list(data["reasons"]) for source, target, data in graph.edges(data=True)
    }
    for item in machine.job.handling:
        name = f"handling.{item.id}"
        nodes.append(
            Node(name, "handling", (clipped_text(item.id), item.does), f"{item.does}: {item.id}")
        )
        if item.does != "pause":
            media = machine.job.media_of(item).id
            shown_nodes[f"media.{media}", name] = [Reason(HANDLES, f"{item.id} is done to {media}")]
    for edge in machine.precedence:
        if not (machine.is_pass(edge.before) and machine.is_pass(edge.then)):
            reason = Reason(DECLARED, edge.said)
            reasons = shown_nodes.setdefault(
                (machine.path(edge.before), machine.path(edge.then)), []
            )
            if reason not in reasons:
                reasons.append(reason)
    return nodes, [
        Edge(source, target, tuple(reasons)) for (source, target), reasons in shown_nodes.items()
    ]


def _node(name: str, data: dict[str, object]) -> Node:
    kind, node_id = str(data["kind"]), str(data["id"])
    surface = data.get("surface")
    if isinstance(surface, tuple):
        span = quantity_text(Interval.between(*surface), "mm")
        title = (
            f"the surface within the areas of {node_id} once it is printed: {span} above the bed"
        )
        return Node(name, kind, (f"surface of {clipped_text(node_id)}", span), title)
    return Node(name, kind, (clipped_text(node_id), kind), f"{kind} {node_id}")


def plan_svg(result: Evaluation) -> str:
    """The plan as an SVG document: the verdict, the steps in rows of four, the cautions.

    Raises NoSafeOrder where there is no plan.
    """
    steps = steps_of(result)
    rows = -(-len(steps) // _ACROSS)
    name = one_line(result.job.name, MOST_OF_A_NAME) or "job"
    sentences = " ".join(
        as_sentence(f"{number}: {step_text(step, result)}")
        for number, step in enumerate(steps[:_MOST_TOLD], start=1)
    )
    width = max(_NARROWEST, min(_ACROSS, max(len(steps), 1)) * (_BOX_WIDE + 30) + 20)
    height_of_foot = 60 + rows * (_BOX_HIGH + 36)
    cautions = []
    for caution in CAUTIONS:
        cautions += wrap(str(caution), int((width - 40) / _SMALL))
    svg = _svg_root(
        width,
        height_of_foot + 16 * len(cautions) + 20,
        f"{name}: plan",
        one_line(f"{result.verdict}. {sentences}", 20_000),
    )
    _add_text(svg, 20, 44, one_line(result.verdict, MOST_OF_A_NAME))
    for row, line in enumerate(cautions):
        _add_text(svg, 20, height_of_foot + 16 * row + 10, line, small=True)
    for place in range(1, len(steps)):
        _draw_arrow_to_step(svg, place)
    for place, step in enumerate(steps):
        _draw_step(svg, place, step, f"{place + 1}. {step_text(step, result)}")
    return _svg_document(svg)


_ACROSS = 4
"""The steps in a row."""

_BOX_WIDE, _BOX_HIGH = 210.0, 104.0


def _corner_of_step(place: int) -> tuple[float, float]:
    """The upper left corner of the box of a step."""
    return 20 + place % _ACROSS * (_BOX_WIDE + 30), 60 + place // _ACROSS * (_BOX_HIGH + 36)


def _draw_arrow_to_step(svg: ElementTree.Element, place: int) -> None:
    """The arrow from the step before; at the end of a row it goes back below that row."""
    (x1, y1), (x2, y2) = _corner_of_step(place - 1), _corner_of_step(place)
    group = ElementTree.SubElement(
        svg, "g", {"class": "edge", "data-from": str(place), "data-to": str(place + 1)}
    )
    if y1 == y2:
        path = f"M{x1 + _BOX_WIDE:g} {y1 + _BOX_HIGH / 2:g} H{x2 - 2:g}"
    else:
        path_down = f"M{x1 + _BOX_WIDE / 2:g} {y1 + _BOX_HIGH:g} V{y1 + _BOX_HIGH + 18:g}"
        path = f"{path_down} H{x2 + _BOX_WIDE / 2:g} V{y2 - 2:g}"
    ElementTree.SubElement(group, "path", {"d": path, "marker-end": "url(#sr-arrow)"})


def _draw_step(svg: ElementTree.Element, place: int, step: Step, words: str) -> None:
    x, y = _corner_of_step(place)
    attributes = {"class": f"node step {step.kind}", "data-step": str(place + 1)}
    if step.subject is not None:
        attributes["data-subject"] = one_line(step.subject)
    group = ElementTree.SubElement(svg, "g", attributes)
    ElementTree.SubElement(group, "title").text = one_line(words)
    box = {"x": f"{x:g}", "y": f"{y:g}", "width": f"{_BOX_WIDE:g}", "height": f"{_BOX_HIGH:g}"}
    rounding = "12" if step.kind in ("load", "unload") else "0"
    ElementTree.SubElement(group, "rect", {**box, "rx": rounding})
    lines = wrapped_text(words, 26, 5)
    for row, line in enumerate(lines):
        top = y + _BOX_HIGH / 2 - (len(lines) - 1) * 8.5 + row * 17 + 4.5
        _add_text(group, x + 12, top, line)


def steps_of(result: Evaluation) -> Sequence[Step]:
    """The steps of the plan. Raises NoSafeOrder where there is none."""
    if result.plan is None:
        raise NoSafeOrder(why_not_safe(result))
    return result.plan.steps


def _svg_root(width: float, height: float, title: str, described: str) -> ElementTree.Element:
    width = max(width, _NARROWEST)
    svg = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {width:.0f} {height:.0f}",
            "width": f"{width:.0f}",
            "height": f"{height:.0f}",
            "class": "sr",
            "role": "img",
            "aria-labelledby": "sr-title sr-desc",
        },
    )
    ElementTree.SubElement(svg, "title", {"id": "sr-title"}).text = title
    ElementTree.SubElement(svg, "desc", {"id": "sr-desc"}).text = described or "Nothing."
    ElementTree.SubElement(svg, "style").text = _STYLE
    definitions = ElementTree.SubElement(svg, "defs")
    marker = ElementTree.SubElement(
        definitions,
        "marker",
        {"id": "sr-arrow", "viewBox": "0 0 10 10", "refX": "9", "refY": "5", "orient": "auto"}
        | {"markerWidth": "9", "markerHeight": "9", "markerUnits": "userSpaceOnUse"},
    )
    ElementTree.SubElement(
        marker, "path", {"d": "M0 0 L10 5 L0 10 z", "fill": "#222", "stroke": "none"}
    )
    ElementTree.SubElement(svg, "rect", {"width": "100%", "height": "100%", "fill": "#fff"})
    _add_text(svg, 20, 24, title)
    return svg


def _draw_edge(
    svg: ElementTree.Element, edge: Edge, laid: Drawing, widths: dict[str, float]
) -> None:
    names = ", ".join(dict.fromkeys(reason.kind for reason in edge.reasons))
    group = ElementTree.SubElement(
        svg,
        "g",
        {
            "class": f"edge kind-{edge.kind}",
            "data-from": one_line(edge.source),
            "data-to": one_line(edge.target),
        }
        | {"data-kinds": names},
    )
    ElementTree.SubElement(group, "title").text = one_line(
        "; ".join(reason.text for reason in edge.reasons)
    )
    points = [(x + 20, y + 40) for x, y in laid.routes[edge.source, edge.target]]
    is_downwards = points[-1][1] >= points[0][1]
    leave, arrive = (_HALF, -_HALF - 2) if is_downwards else (-_HALF, _HALF + 2)
    points[0] = points[0][0], points[0][1] + leave
    points[-1] = points[-1][0] + _arrival_offset(edge, laid, widths), points[-1][1] + arrive
    path = f"M{points[0][0]:.1f} {points[0][1]:.1f}"
    for (x1, y1), (x2, y2) in pairwise(points):
        middle = (y1 + y2) / 2
        path += f" C{x1:.1f} {middle:.1f} {x2:.1f} {middle:.1f} {x2:.1f} {y2:.1f}"
    ElementTree.SubElement(group, "path", {"d": path, "marker-end": "url(#sr-arrow)"})


_HALF = 23.0


def _arrival_offset(edge: Edge, laid: Drawing, widths: dict[str, float]) -> float:
    """How far from the middle of its target an edge arrives: towards where it comes from, so that
    arrows lie apart.
    """
    points = laid.routes[edge.source, edge.target]
    room = widths[edge.target] / 2 - 12
    return max(-room, min(room, (points[-2][0] - points[-1][0]) * 0.35))


def _draw_node(
    svg: ElementTree.Element, node: Node, centre: tuple[float, float], width: float
) -> None:
    x, y = centre[0] + 20, centre[1] + 40
    group = ElementTree.SubElement(
        svg, "g", {"class": f"node {node.kind}", "data-name": one_line(node.name)}
    )
    ElementTree.SubElement(group, "title").text = one_line(node.title)
    left_edge, top = x - width / 2, y - _HALF
    if node.kind == "handling":
        side = 12.0
        corners = (
            (left_edge, y),
            (left_edge + side, top),
            (left_edge + width - side, top),
            (left_edge + width, y),
            (left_edge + width - side, top + 2 * _HALF),
            (left_edge + side, top + 2 * _HALF),
        )
        ElementTree.SubElement(
            group,
            "polygon",
            {
                "points": " ".join(
                    f"{corner_x:.1f},{corner_y:.1f}" for corner_x, corner_y in corners
                )
            },
        )
    else:
        box = {
            "x": f"{left_edge:.1f}",
            "y": f"{top:.1f}",
            "width": f"{width:.1f}",
            "height": f"{2 * _HALF:.1f}",
            "rx": "3",
        }
        if node.kind == "height":
            box["rx"] = "20"
        ElementTree.SubElement(group, "rect", box)
    first, second = node.lines
    _add_text(group, x, y - 3, first, middle=True)
    _add_text(group, x, y + 14, second, middle=True, small=True)


def _draw_legend(
    svg: ElementTree.Element, kinds: Sequence[int], top: float, *, mixed: bool
) -> None:
    legend = ElementTree.SubElement(svg, "g", {"class": "legend"})
    for row, kind in enumerate(kinds):
        y = top + 20 * row + 10
        group = ElementTree.SubElement(legend, "g", {"class": f"edge kind-{kind}"})
        ElementTree.SubElement(
            group, "path", {"d": f"M20 {y:g} H80", "marker-end": "url(#sr-arrow)"}
        )
        _add_text(legend, 90, y + 4, KINDS[kind])
    if mixed:
        _add_text(
            legend,
            20,
            top + 20 * len(kinds) + 14,
            "An edge of several kinds is drawn as the topmost of them.",
            small=True,
        )


def _add_text(
    parent: ElementTree.Element,
    x: float,
    y: float,
    text: str,
    *,
    middle: bool = False,
    small: bool = False,
) -> None:
    attributes = {"x": f"{x:.1f}", "y": f"{y:.1f}"}
    if middle:
        attributes["text-anchor"] = "middle"
    if small:
        attributes["class"] = "small"
    ElementTree.SubElement(parent, "text", attributes).text = text


def _svg_document(svg: ElementTree.Element) -> str:
    ElementTree.indent(svg)
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n{ElementTree.tostring(svg, encoding="unicode")}\n'
    )
