"""What a picture of the job graph shows: a box for each pass, sheet, handling and surface, and the
edges between them.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import field, frozen

from signrules.evaluation import Evaluation
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
from signrules.physics.machine import Machine
from signrules.reports.picture_text import clipped_text
from signrules.rules.check_messages import quantity_text

HANDLES = "handles"
KINDS = (MUST_CLEAR, LANDS_ON, DECLARED, REGISTER, PRINTS_ON, HANDLES, LEAVES)
"""The kinds of reasons; an edge with several is drawn as the first of them."""


@frozen
class Box:
    """What a picture shows: `name` as checks name it, its kind, the two lines that stand in it, and
    all of it in words.

    `traits` are what boxes must share to be shown as one, what tells most first; `members` are the
    names of all that it stands for.
    """

    name: str
    kind: str
    lines: tuple[str, str]
    title: str
    traits: tuple[object, ...] = ()
    members: tuple[str, ...] = field(default=(), kw_only=True)

    @property
    def count(self) -> int:
        """How many it stands for."""
        return max(1, len(self.members))


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

    @property
    def kinds(self) -> str:
        """The names of its kinds, each once."""
        return ", ".join(dict.fromkeys(reason.kind for reason in self.reasons))


@frozen
class Boxes:
    """What one picture shows; `grouped` where a box may stand for several, `alike` where all that a
    box stands for have the same edges.
    """

    boxes: tuple[Box, ...]
    edges: tuple[Edge, ...]
    grouped: bool = False
    alike: bool = True


def boxes_of(result: Evaluation, *, surfaces: bool) -> Boxes:
    """A box for everything in `job_graph` and for the handling; `surfaces` shows these as well.

    Surfaces are those of the plan's order; where there is no plan, those of the declared order.
    """
    machine = result.timeline.machine
    graph = graph_of(machine, result.timeline.order)
    boxes = [
        _box_of_node(machine, name, data)
        for name, data in graph.nodes(data=True)
        if surfaces or data["kind"] != "height"
    ]
    boxes += _handling_boxes(machine)
    shown = {box.name for box in boxes}
    reasons = {
        (source, target): list(data["reasons"])
        for source, target, data in graph.edges(data=True)
        # An edge to a surface that is not shown has no box to end at.
        if source in shown and target in shown
    }
    for source, target, reason in _handling_reasons(machine):
        known = reasons.setdefault((source, target), [])
        # Precedence between a pass and handling may be in the graph already.
        if reason not in known:
            known.append(reason)
    edges = (Edge(source, target, tuple(why)) for (source, target), why in reasons.items())
    return Boxes(tuple(boxes), tuple(edges))


def _box_of_node(machine: Machine, name: str, data: dict[str, object]) -> Box:
    kind, node_id = str(data["kind"]), str(data["id"])
    if kind == "media":
        sheet = machine.job.media_named(node_id)
        traits: tuple[object, ...] = (sheet.thickness, sheet.size)
        return Box(name, kind, (clipped_text(node_id), kind), f"{kind} {node_id}", traits)
    at = machine.index[node_id]
    item = machine.job.passes[at]
    traits = (item.ink, item.side, item.layers, item.gap, item.directions)
    surface = data.get("surface")
    if not isinstance(surface, tuple):
        return Box(name, kind, (clipped_text(node_id), kind), f"{kind} {node_id}", traits)
    # The height is a trait too: passes that end at other heights are not alike in this picture.
    span = quantity_text(Interval.between(*surface), "mm")
    title = f"the surface within the areas of {node_id} once it is printed: {span} above the bed"
    return Box(name, kind, (f"surface of {clipped_text(node_id)}", span), title, (*traits, span))


def _handling_boxes(machine: Machine) -> Iterator[Box]:
    for item in machine.job.handling:
        lines = clipped_text(item.id), item.does
        title = f"{item.does}: {item.id}"
        yield Box(f"handling.{item.id}", "handling", lines, title, (item.does, item.locates_by))


def _handling_reasons(machine: Machine) -> Iterator[tuple[str, str, Reason]]:
    """What handling is done to, and what must come before it and after it."""
    for item in machine.job.handling:
        # A pause is done to the machine and to no sheet.
        if machine.job.kind_of(item).on_sheet:
            media = machine.job.media_of(item).id
            reason = Reason(HANDLES, f"{item.id} is done to {media}")
            yield f"media.{media}", f"handling.{item.id}", reason
    for edge in machine.precedence:
        if not (machine.is_pass(edge.before) and machine.is_pass(edge.then)):
            reason = Reason(DECLARED, edge.said)
            yield machine.path(edge.before), machine.path(edge.then), reason
