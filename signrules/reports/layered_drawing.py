"""A layered drawing of a directed graph: the layer and place of each node, the run of each edge.

Layers by the longest path, order within a layer by barycentres (K. Sugiyama, S. Tagawa, M. Toda,
1981). Everything is deterministic.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import accumulate, pairwise
from statistics import fmean
from typing import TYPE_CHECKING

from attrs import frozen

if TYPE_CHECKING:
    import networkx

# More sweeps hardly change the drawings of jobs: common practice, no published source.
SWEEPS = 24
MOST_BENDS = 5_000
"""The most bends that are placed; a graph with more has its long edges drawn straight."""

GAP = 26.0
ROW = 80.0
BEND = 10.0
"""Between nodes, from row to row, and the room of an edge that passes a row; in pixels."""

Edge = tuple[str, str]
Point = tuple[float, float]
Bend = tuple[str, str, int]
Node = str | Bend
"""A node, or the place where an edge passes a row in between."""


@frozen
class Drawing:
    """Centres of nodes, the points that each edge runs through, and the whole size; in pixels."""

    centres: Mapping[str, Point]
    routes: Mapping[Edge, tuple[Point, ...]]
    width: float
    height: float


def layered_drawing(widths: Mapping[str, float], edges: Iterable[Edge]) -> Drawing:
    """The drawing of nodes of these widths, in their order, and edges between them."""
    import networkx

    edges = list(edges)
    graph = _acyclic_graph(widths, edges)
    names_by_row = list(networkx.topological_generations(graph))
    row_of = {name: row for row, names in enumerate(names_by_row) for name in names}
    rows: list[list[Node]] = [list(names) for names in names_by_row]
    chains = _edge_chains(graph, row_of)
    links: networkx.DiGraph[Node] = networkx.DiGraph()
    links.add_nodes_from(widths)
    for chain in chains.values():
        networkx.add_path(links, chain)
        for row, bend in enumerate(chain[1:-1], start=row_of[str(chain[0])] + 1):
            rows[row].append(bend)
    _order_rows(rows, links)
    room = {node: widths[node] if isinstance(node, str) else BEND for node in links}
    x = _place_nodes(rows, links, room)
    points = {
        node: (x[node], (row + 0.5) * ROW) for row, nodes in enumerate(rows) for node in nodes
    }
    routes = {}
    for source, target in edges:
        # An edge that was turned for the layout is drawn in its own direction.
        turned = chains.get((target, source), ())[::-1]
        chain = chains.get((source, target), turned)
        routes[source, target] = tuple(points[node] for node in chain)
    width = max((x[node] + room[node] / 2 for node in x), default=0.0)
    return Drawing({name: points[name] for name in widths}, routes, width, len(rows) * ROW)


def _acyclic_graph(names: Iterable[str], edges: Iterable[Edge]) -> networkx.DiGraph[str]:
    """The graph with an edge of each circle turned round: layers are longest paths, which a graph
    with a circle does not have.
    """
    import networkx

    graph: networkx.DiGraph[str] = networkx.DiGraph()
    graph.add_nodes_from(names)
    for source, target in edges:
        graph.add_edge(source, target)
    while not networkx.is_directed_acyclic_graph(graph):
        source, target = networkx.find_cycle(graph)[-1]
        graph.remove_edge(source, target)
        graph.add_edge(target, source)
    return graph


def _edge_chains(
    graph: networkx.DiGraph[str], row_of: Mapping[str, int]
) -> dict[Edge, tuple[Node, ...]]:
    """For each edge its nodes in order, with a bend on each row in between.

    Bends take places in their rows as nodes do, so that no edge runs through a node.
    """
    between = {
        (source, target): range(row_of[source] + 1, row_of[target])
        for source, target in graph.edges
    }
    # Time grows with the bends; straight edges may run through boxes, which titles still tell.
    if sum(map(len, between.values())) > MOST_BENDS:
        between = dict.fromkeys(between, range(0))
    return {
        (source, target): (source, *((source, target, row) for row in passed), target)
        for (source, target), passed in between.items()
    }


def _order_rows(rows: Sequence[list[Node]], links: networkx.DiGraph[Node]) -> None:
    """Puts each row in the order of the means of its neighbours, going down and up in turn."""
    place: dict[Node, float] = {}
    for row in rows:
        place |= {node: position for position, node in enumerate(row)}
    for sweep in range(SWEEPS):
        is_down = sweep % 2 == 0
        near = links.pred if is_down else links.succ
        for row in rows[1:] if is_down else rows[-2::-1]:
            means = {node: _mean_place(near[node], place, place[node]) for node in row}
            # Ties keep their places: sorting is stable. Otherwise rows would swing to and fro.
            row.sort(key=means.__getitem__)
            place |= {node: position for position, node in enumerate(row)}


def _mean_place(nodes: Iterable[Node], place: Mapping[Node, float], otherwise: float) -> float:
    places = [place[node] for node in nodes]
    return fmean(places) if places else otherwise


def _place_nodes(
    rows: Sequence[Sequence[Node]], links: networkx.DiGraph[Node], room: Mapping[Node, float]
) -> dict[Node, float]:
    """The x of each node: near its neighbours, in the order of its row, without overlaps.

    The least edge is at 0.
    """
    x: dict[Node, float] = dict.fromkeys(links, 0.0)
    for sweep in range(SWEEPS):
        # Down and up in turn, so that neither end of the graph decides alone.
        for row in rows if sweep % 2 == 0 else rows[::-1]:
            wanted = [
                _mean_place((*links.pred[node], *links.succ[node]), x, x[node]) for node in row
            ]
            x |= zip(row, _kept_apart(wanted, [room[node] for node in row]), strict=True)
    leftmost = min((x[node] - room[node] / 2 for node in x), default=0.0)
    return {node: middle - leftmost for node, middle in x.items()}


def _kept_apart(wanted: Sequence[float], room: Sequence[float]) -> list[float]:
    """The places nearest to the wanted ones by least squares, each far enough from that before it.

    With the room that a node and those before it need taken off, that means that places never fall.
    """
    steps = [0.0, *((one + other) / 2 + _gap(one, other) for one, other in pairwise(room))]
    starts = list(accumulate(steps))
    free = [place - start for place, start in zip(wanted, starts, strict=True)]
    return [start + place for start, place in zip(starts, ascending_values(free), strict=True)]


def _gap(one: float, other: float) -> float:
    # An edge that passes needs less air than a box beside a box.
    return GAP / 2 if BEND in (one, other) else GAP


def ascending_values(values: Sequence[float]) -> list[float]:
    """The numbers that never fall and are nearest to the given ones by least squares.

    Where one falls below those before it, they share their mean (pooling of adjacent violators).
    """
    blocks: list[list[float]] = []
    for value in values:
        block = [value]
        # The pooled block may now lie below the one before it, so look back again.
        while blocks and fmean(blocks[-1]) > fmean(block):
            block = blocks.pop() + block
        blocks.append(block)
    return [mean for block in blocks for mean in [fmean(block)] * len(block)]
