"""Compares three ways to lay out pictures of job graphs: ours, Graphviz and grandalf.

    python tests/benchmarks/graph_layouts.py

Each row is a picture, grouped or with a box for each pass; crossings, longest edge, width, height
and time are those of the other ways as a ratio to ours. Graphviz is its command `dot`, and grandalf
the Python library (`pip install grandalf`); what is not installed is left out.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from importlib.util import find_spec
from itertools import combinations, pairwise
from math import dist
from pathlib import Path
from types import SimpleNamespace

sys.path.insert(0, str(Path(__file__).parents[1]))

from attrs import frozen
from benchmarks.beds import ganged_bed
from benchmarks.cases import rows_of_signs
from benchmarks.reporting import Report, run_parts, shown

from signrules import evaluate, read_job
from signrules.model.job import Job
from signrules.reports.alike_boxes import box_width, grouped_boxes
from signrules.reports.graph_boxes import Boxes, boxes_of
from signrules.reports.layered_drawing import BEND, GAP, ROW, Drawing, Edge, layered_drawing

BOX_HIGH = 46.0
POINTS_OF_AN_INCH = 72.0
MOST_COUNTED = 400
"""Pictures with more edges are left out: their crossings take minutes to count."""

Layout = Callable[[Mapping[str, float], Sequence[Edge]], Drawing]


@frozen
class Measures:
    """What a drawing is judged by: a count, pixels, and seconds."""

    crossings: float
    longest: float
    width: float
    height: float
    seconds: float

    def ratios_to(self, other: Measures) -> Iterator[str]:
        """Each measure as a multiple of that of another drawing."""
        names = ("crossings", "longest", "width", "height", "seconds")
        for name in names:
            mine, theirs = getattr(self, name), getattr(other, name)
            yield f"{mine / theirs:.2f}" if theirs else f"{mine:g} : 0"


def by_dot(widths: Mapping[str, float], edges: Sequence[Edge]) -> Drawing:
    """The layout of Graphviz; its splines are taken as the lines between their control points."""
    key_of = {name: f"n{number}" for number, name in enumerate(widths)}
    name_of = {key: name for name, key in key_of.items()}
    inch = POINTS_OF_AN_INCH
    lines = [f"nodesep={GAP / inch}; ranksep={(ROW - BOX_HIGH) / inch};"]
    lines.append(f"node [shape=box, fixedsize=true, height={BOX_HIGH / inch}];")
    lines += [f"{key_of[name]} [width={width / inch}];" for name, width in widths.items()]
    lines += [f"{key_of[source]} -> {key_of[target]};" for source, target in edges]
    text = "digraph {\n" + "\n".join(lines) + "\n}\n"
    command = ["dot", "-Tplain", "-y"]
    found = subprocess.run(command, input=text, capture_output=True, text=True, check=True)
    centres, routes = {}, {}
    width = height = 0.0
    for line in found.stdout.replace("\\\n", "").splitlines():
        kind, *words = line.split()
        if kind == "graph":
            width, height = float(words[1]) * inch, float(words[2]) * inch
        elif kind == "node":
            centres[name_of[words[0]]] = (float(words[1]) * inch, float(words[2]) * inch)
        elif kind == "edge":
            numbers = [float(word) * inch for word in words[3 : 3 + 2 * int(words[2])]]
            route = tuple(zip(numbers[::2], numbers[1::2], strict=True))
            routes[name_of[words[0]], name_of[words[1]]] = route
    return Drawing(centres, routes, width, height)


def by_grandalf(widths: Mapping[str, float], edges: Sequence[Edge]) -> Drawing:
    """The layout of grandalf: what hangs together by itself, one part beside the other."""
    from grandalf.graphs import Edge as Line
    from grandalf.graphs import Graph, Vertex
    from grandalf.layouts import SugiyamaLayout
    from grandalf.routing import EdgeViewer, route_with_lines

    vertices = {name: Vertex(name) for name in widths}
    for name, vertex in vertices.items():
        vertex.view = SimpleNamespace(w=widths[name], h=BOX_HIGH, xy=(0.0, 0.0))
    lines = [Line(vertices[source], vertices[target]) for source, target in edges]
    for line in lines:
        line.view = EdgeViewer()
    centres, routes = {}, {}
    start, height = 0.0, 0.0
    for part in Graph(list(vertices.values()), lines).C:
        layout = SugiyamaLayout(part)
        layout.xspace, layout.yspace, layout.dw = GAP, ROW - BOX_HIGH, BEND
        layout.route_edge = route_with_lines
        roots = [vertex for vertex in part.sV if not vertex.e_in()]
        layout.init_all(roots=roots or [next(iter(part.sV))])
        layout.draw(8)
        across = [x for line in part.sE for x, _ in line.view._pts]
        for vertex in part.sV:
            middle, half = vertex.view.xy[0], vertex.view.w / 2
            across += [middle - half, middle + half]
        shift = start - min(across)
        for vertex in part.sV:
            x, y = vertex.view.xy
            centres[vertex.data] = (x + shift, y)
            height = max(height, y + BOX_HIGH / 2)
        for line in part.sE:
            route = tuple((x + shift, y) for x, y in line.view._pts)
            routes[line.v[0].data, line.v[1].data] = route
        start += max(across) - min(across) + GAP
    return Drawing(centres, routes, start - GAP, height)


def measures_of(layout: Layout, boxes: Boxes) -> Measures:
    """A drawing measured; its time is that of the clock, since Graphviz is another process."""
    widths = {box.name: box_width(box) for box in boxes.boxes}
    edges = [(edge.source, edge.target) for edge in boxes.edges]
    seconds = []
    for _ in range(3):
        start = time.perf_counter()
        drawing = layout(widths, edges)
        seconds.append(time.perf_counter() - start)
    routes = list(drawing.routes.values())
    longest = max(sum(dist(one, other) for one, other in pairwise(route)) for route in routes)
    return Measures(crossings_of(routes), longest, drawing.width, drawing.height, min(seconds))


def crossings_of(routes: Sequence[Sequence[tuple[float, float]]]) -> int:
    """How often lines of two edges cross, each pair of lines once."""
    lines = [list(pairwise(route)) for route in routes]
    return sum(
        _cross(*mine, *theirs)
        for ours, others in combinations(lines, 2)
        for mine in ours
        for theirs in others
    )


def _cross(
    a: tuple[float, float], b: tuple[float, float], c: tuple[float, float], d: tuple[float, float]
) -> bool:
    if max(a[1], b[1]) <= min(c[1], d[1]) or max(c[1], d[1]) <= min(a[1], b[1]):
        return False
    apart = _turn(a, b, c) * _turn(a, b, d)
    return apart < -1e-6 and _turn(c, d, a) * _turn(c, d, b) < -1e-6


def _turn(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    """Twice the area of the triangle, positive where it turns left."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def jobs() -> Iterator[tuple[str, Job]]:
    """The examples of the documents, and invented jobs of 60 and 300 passes."""
    for path in sorted((Path(__file__).parents[2] / "docs" / "examples").glob("*.toml")):
        yield path.stem, read_job(path)
    for passes in (60, 300):
        yield f"rows of {passes}", rows_of_signs(passes, 6, 1)
        yield f"bed of {passes}", ganged_bed(passes // 5, 5)
    yield "mixed bed of 60", ganged_bed(15, (3, 4, 5), thicknesses=(3.0, 5.0), apart=True)


def other_ways() -> dict[str, Layout]:
    """Those of the other ways that are installed."""
    ways: dict[str, Layout] = {}
    if shutil.which("dot"):
        ways["dot"] = by_dot
    if find_spec("grandalf"):
        ways["grandalf"] = by_grandalf
    return ways


def layouts(report: Report, quick: bool) -> None:
    """The table: a row for each picture and way."""
    head = ("picture", "way", "crossings", "longest edge", "width", "height", "time")
    about = "Ours in counts, pixels and time; the other ways as ratios to it."
    report.table("Layouts of job graphs", about, head, _rows(quick))


def _rows(quick: bool) -> Iterator[tuple[str, ...]]:
    for name, job in jobs():
        every = boxes_of(evaluate(job, audited=False), surfaces=False)
        pictures = {"grouped": grouped_boxes(every)}
        if not quick and len(every.edges) <= MOST_COUNTED:
            pictures["every pass"] = every
        for kind, boxes in pictures.items():
            ours = measures_of(layered_drawing, boxes)
            numbers = (ours.crossings, ours.longest, ours.width, ours.height)
            words = (*(f"{number:.0f}" for number in numbers), shown(ours.seconds))
            yield (f"{name}, {kind}", "ours", *words)
            for way, layout in other_ways().items():
                yield ("", way, *measures_of(layout, boxes).ratios_to(ours))


if __name__ == "__main__":
    run_parts([layouts])
