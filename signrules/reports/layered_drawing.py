"""A layered drawing of a directed graph: the layer and place of each node, the run of each edge.

Layers by the longest path, order within a layer by barycentres (K. Sugiyama, S. Tagawa, M. Toda,
1981), places by least squares under the order of the layer (pooling of adjacent violators).
Everything is deterministic.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise

from attrs import frozen

SWEEPS = 12
MOST_BENDS = 5_000
"""The most bends that are placed; a graph with more has its long edges drawn straight."""

GAP = 26.0
ROW = 96.0
BEND = 10.0

Edge = tuple[str, str]


@frozen
class Drawing:
    """Centres of nodes, the points that each edge runs through, and the whole size; in pixels."""

    centres: Mapping[str, tuple[float, float]]
    routes: Mapping[Edge, tuple[tuple[float, float], ...]]
    width: float
    height: float


def layered_drawing(widths: Mapping[str, float], edges: Iterable[Edge]) -> Drawing:
    """The drawing of nodes of these widths, in their order, and edges between them."""
    names, edges = list(widths), list(edges)
    forward = _acyclic_directions(names, edges)
    layer = _layer_of_nodes(names, forward)
    chains = _edge_chains(forward, layer)
    nodes: dict[object, float] = {name: widths[name] for name in names}
    rows: list[list[object]] = [[] for _ in range(max(layer.values(), default=-1) + 1)]
    for name in names:
        rows[layer[name]].append(name)
    links: list[tuple[object, object]] = []
    for chain in chains.values():
        for offset, bend in enumerate(chain[1:-1], start=1):
            nodes[bend] = BEND
            rows[layer[str(chain[0])] + offset].append(bend)
        links += pairwise(chain)
    above, below = _neighbours_of(nodes, links)
    _order_rows(rows, above, below)
    x = _place_nodes(rows, nodes, above, below)
    row_of = {node: number for number, row in enumerate(rows) for node in row}

    def point(node: object) -> tuple[float, float]:
        return x[node], (row_of[node] + 0.5) * ROW

    routes = {}
    for edge, there in forward.items():
        points = tuple(point(node) for node in chains[there])
        # Laid out the other way round, it is drawn from its own source all the same.
        if edge != there:
            points = points[::-1]
        routes[edge] = points
    width = max((x[name] + widths[name] / 2 for name in names), default=0.0)
    return Drawing({name: point(name) for name in names}, routes, width, len(rows) * ROW)


def _acyclic_directions(names: Sequence[str], edges: Sequence[Edge]) -> dict[Edge, Edge]:
    """For each edge the direction in which it is laid out: turned round where it closes a circle.

    Layers are longest paths, which a graph with a circle does not have. An edge to a node on the
    path of the depth-first walk closes one; without those edges no circle is left.
    """
    followers: dict[str, list[str]] = {name: [] for name in names}
    for source, target in edges:
        followers[source].append(target)
    done_nodes: set[str] = set()
    backward: set[Edge] = set()
    for start in names:
        if start in done_nodes:
            continue
        path, on_path = [(start, iter(followers[start]))], {start}
        while path:
            node, targets = path[-1]
            for there in targets:
                if there in on_path:
                    backward.add((node, there))
                elif there not in done_nodes:
                    path.append((there, iter(followers[there])))
                    on_path.add(there)
                    break
            else:
                path.pop()
                on_path.discard(node)
                done_nodes.add(node)
    forward = {edge: edge for edge in edges}
    for source, target in backward:
        forward[source, target] = (target, source)
    return forward


def _layer_of_nodes(names: Sequence[str], forward: Mapping[Edge, Edge]) -> dict[str, int]:
    """The longest path to each node."""
    followers: dict[str, list[str]] = {name: [] for name in names}
    missing = dict.fromkeys(names, 0)
    # Each direction once: two edges between the same nodes may be laid out alike.
    for source, target in {edge: None for edge in forward.values() if edge[0] != edge[1]}:
        followers[source].append(target)
        missing[target] += 1
    layer = dict.fromkeys(names, 0)
    ready = [name for name in names if not missing[name]]
    for name in ready:  # It grows while it is gone through.
        for follower in followers[name]:
            layer[follower] = max(layer[follower], layer[name] + 1)
            missing[follower] -= 1
            if not missing[follower]:
                ready.append(follower)
    return layer


def _edge_chains(
    forward: Mapping[Edge, Edge], layer: Mapping[str, int]
) -> dict[Edge, list[object]]:
    """For each edge as it is laid out its nodes in order, with a bend on each layer in between.

    Bends take places in their layers as nodes do, so that no edge runs through a node.
    """
    laid_out = list(dict.fromkeys(forward.values()))
    bends = {edge: range(1, layer[edge[1]] - layer[edge[0]]) for edge in laid_out}
    if sum(map(len, bends.values())) > MOST_BENDS:
        bends = dict.fromkeys(laid_out, range(0))
    chains: dict[Edge, list[object]] = {}
    for source, target in laid_out:
        between = [(source, target, bend) for bend in bends[source, target]]
        chains[source, target] = [source, *between, target]
    return chains


def _neighbours_of(
    nodes: Iterable[object], links: Iterable[tuple[object, object]]
) -> tuple[dict[object, list[object]], dict[object, list[object]]]:
    above: dict[object, list[object]] = {node: [] for node in nodes}
    below: dict[object, list[object]] = {node: [] for node in above}
    for upper, lower in links:
        above[lower].append(upper)
        below[upper].append(lower)
    return above, below


def _order_rows(
    rows: list[list[object]],
    above: Mapping[object, list[object]],
    below: Mapping[object, list[object]],
) -> None:
    """Puts each row in the order of the means of its neighbours, going down and up in turn."""
    place: dict[object, float] = {}
    for row in rows:
        place |= {node: position for position, node in enumerate(row)}

    def sort(row: list[object], neighbours: Mapping[object, list[object]]) -> None:
        means = {node: _mean_of(neighbours[node], place, place[node]) for node in row}
        # Ties keep their places: otherwise rows would swing to and fro between sweeps.
        row.sort(key=lambda node: (means[node], place[node]))
        place.update({node: position for position, node in enumerate(row)})

    for sweep in range(SWEEPS):
        if sweep % 2 == 0:
            for row in rows[1:]:
                sort(row, above)
        else:
            for row in rows[-2::-1]:
                sort(row, below)


def _mean_of(nodes: Sequence[object], place: Mapping[object, float], otherwise: float) -> float:
    """The mean of the places of nodes; another place where there are none."""
    if not nodes:
        return otherwise
    return sum(place[node] for node in nodes) / len(nodes)


def _place_nodes(
    rows: Sequence[Sequence[object]],
    widths: Mapping[object, float],
    above: Mapping[object, list[object]],
    below: Mapping[object, list[object]],
) -> dict[object, float]:
    """The x of each node: near its neighbours, in the order of its row, without overlaps.

    The least edge is at 0. With the room that a node and those before it need taken off, the order
    of a row says no more than that the rest may not fall.
    """
    extras: dict[object, float] = {}
    for row in rows:
        reached_x = 0.0
        for node in row:
            extras[node] = reached_x + widths[node] / 2
            reached_x += widths[node]
            reached_x += GAP if widths[node] > BEND else GAP / 2
    x = dict(extras)
    downwards = list(rows)
    for sweep in range(2 * SWEEPS):
        # Down and up in turn, so that neither end of the graph decides alone.
        going = downwards if sweep % 2 == 0 else downwards[::-1]
        for row in going:
            wanted = [_mean_of((*above[node], *below[node]), x, x[node]) for node in row]
            slack = _ascending_values(
                [wanted_x - extras[node] for wanted_x, node in zip(wanted, row, strict=True)]
            )
            x.update({node: extras[node] + offset for node, offset in zip(row, slack, strict=True)})
    leftmost = min((x[node] - widths[node] / 2 for node in x), default=0.0)
    return {node: middle - leftmost for node, middle in x.items()}


def _ascending_values(values: Sequence[float]) -> list[float]:
    """The numbers that never fall and are nearest to the given ones by least squares.

    Where one falls below those before it, they share their mean (pooling of adjacent violators).
    """
    blocks: list[tuple[float, int]] = []
    for value in values:
        mean, count = value, 1
        while blocks and blocks[-1][0] > mean:
            other, other_count = blocks.pop()
            mean, count = (
                (mean * count + other * other_count) / (count + other_count),
                count + other_count,
            )
        blocks.append((mean, count))
    values_placed: list[float] = []
    for mean, count in blocks:
        values_placed += [mean] * count
    return values_placed
