"""The dependency graph of a job: passes, media and height states, each edge with its reasons."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import TYPE_CHECKING, Any

from attrs import frozen

from signrules.model.job import Job
from signrules.physics.heights import HeadPlane, Heights
from signrules.physics.machine import Machine, Precedence, clears

if TYPE_CHECKING:
    import networkx

DECLARED = "declared"
LANDS_ON = "lands on"
MUST_CLEAR = "must clear"
REGISTER = "register together"
PRINTS_ON = "prints on"
LEAVES = "leaves"


@frozen
class Reason:
    """Why an edge is there: one of the kinds of this module, and a sentence."""

    kind: str
    text: str


def job_graph(job: Job, *, precedence: Iterable[Precedence] = ()) -> networkx.DiGraph[str]:
    """The graph of a job; an edge points from what comes first to what depends on it.

    Nodes are named as checks name their subjects and carry `kind` and `id`: `passes.<id>` (kind `pass`),
    `media.<id>` (kind `media`), and `heights.<id>` (kind `height`): the surface that a pass leaves. Every edge
    carries `reasons`, a tuple of `Reason`:

    - pass to pass: `declared`, `lands on`, `must clear`. These are the precedence of the passes; every safe order is
      a linear extension of them. `must clear` follows from clearance alone: a pass whose gap cannot clear a build-up
      comes before it.
    - media to pass: `prints on`, and `register together` with the passes that must lie on each other.
    - pass to height: `leaves`; and `must clear`, where the pass must be done before that height stands.
    - height to pass: `lands on`.

    Handling is not part of the graph; what it orders between passes is (a pass after a handling that comes after
    another pass). A job that no order can satisfy gives a graph with a cycle.
    """
    return graph_of(Machine(Heights(job), precedence))


def graph_of(machine: Machine) -> networkx.DiGraph[str]:
    """The same for a machine that is there already."""
    import networkx

    job = machine.job
    graph: networkx.DiGraph[str] = networkx.DiGraph(name=job.name)
    for sheet in job.media:
        graph.add_node(f"media.{sheet.id}", kind="media", id=sheet.id)
    everything = range(len(job.passes))
    for at, item in enumerate(job.passes):
        graph.add_node(f"passes.{item.id}", kind="pass", id=item.id)
        surface = machine.heights.surface(at, everything)
        graph.add_node(f"heights.{item.id}", kind="height", id=item.id, surface=(surface.low, surface.high))
    for source, target, reason in _edges(machine):
        if graph.has_edge(source, target):
            known: tuple[Any, ...] = graph.edges[source, target]["reasons"]
            if reason not in known:
                graph.edges[source, target]["reasons"] = (*known, reason)
        else:
            graph.add_edge(source, target, reasons=(reason,))
    return graph


def _edges(machine: Machine) -> Iterator[tuple[str, str, Reason]]:
    job, names = machine.job, [item.id for item in machine.job.passes]
    for at, name in enumerate(names):
        media = machine.heights.media[at].id
        yield f"media.{media}", f"passes.{name}", Reason(PRINTS_ON, f"{name} prints on {media}")
        partners = [names[other] for other in machine.partners(at)]
        if partners:
            text = f"{name} registers with {_listed(partners)}"
            yield f"media.{media}", f"passes.{name}", Reason(REGISTER, text)
        yield f"passes.{name}", f"heights.{name}", Reason(LEAVES, f"{name} leaves this surface")
        for under in job.passes[at].over:
            yield f"heights.{under}", f"passes.{name}", Reason(LANDS_ON, f"{name} lands on the ink of {under}")
    for edge in pass_precedence(machine):
        kind = LANDS_ON if edge.kind == "over" else DECLARED
        yield f"passes.{names[edge.before]}", f"passes.{names[edge.then]}", Reason(kind, edge.reason)
    for edge in clearance_precedence(machine):
        before, then = names[edge.before], names[edge.then]
        yield f"passes.{before}", f"passes.{then}", Reason(MUST_CLEAR, edge.reason)
        yield f"passes.{before}", f"heights.{then}", Reason(MUST_CLEAR, edge.reason)


def pass_precedence(machine: Machine) -> Iterator[Precedence]:
    """The declared precedence between passes, also where it runs through handling."""
    for edge in machine.precedence:
        if machine.is_pass(edge.before) and machine.is_pass(edge.then):
            yield edge
    yield from through_handling(machine)


def through_handling(machine: Machine) -> Iterator[Precedence]:
    """The precedence between passes that follows from handling which comes after the one and before the other."""
    items = machine.items
    for handled in range(machine.pass_count, len(items)):
        name = items[handled].id
        for before in sorted(_reach(machine, handled, machine.before)):
            for then in sorted(_reach(machine, handled, machine.followers)):
                text = f"{name} comes after {items[before].id}, and {items[then].id} after it"
                yield Precedence(before, then, "after", text)


def _reach(machine: Machine, start: int, next_to: Sequence[Iterable[int]]) -> set[int]:
    """The passes next to a handling on one side of the precedence, through other handling."""
    seen, waiting = {start}, [start]
    while waiting:
        for far in next_to[waiting.pop()]:
            if far not in seen:
                seen.add(far)
                if not machine.is_pass(far):
                    waiting.append(far)
    return {at for at in seen if machine.is_pass(at)}


def clearance_precedence(machine: Machine) -> Iterator[Precedence]:
    """Passes that must come before a build-up because their gap cannot clear it.

    Exact for pairs: only gaps stated over the media or the bed, whose head plane no order can raise, and only what
    one pass adds beyond those that come before either of the two in any case. Build-ups that strike only together
    order nothing by themselves.
    """
    ancestors = _ancestors(machine)
    for at, item in enumerate(machine.job.passes):
        if item.gap is None or item.gap.reference == "build-up":
            continue
        plane = machine.heights.head_plane(at, item.gap, ())
        if _shortfall(machine, at, plane, {at}) is not None:
            continue  # Never clears, whatever comes when: not a matter of order.
        settled = {at, *ancestors[at]}
        stuck = _shortfall(machine, at, plane, settled) is not None
        # Where what comes before it in any case is too high already, one of those must come after it: a circle.
        for other in sorted(ancestors[at] if stuck else _under_head(machine, at) - settled):
            standing = {at, other, *ancestors[other]} | (set() if stuck else settled)
            short = None if at in ancestors[other] else _shortfall(machine, at, plane, standing)
            if short is not None:
                text = f"{item.id} cannot clear {machine.job.passes[other].id}: {short}"
                yield Precedence(at, other, MUST_CLEAR, text)


def _shortfall(machine: Machine, at: int, plane: HeadPlane, standing: set[int]) -> str | None:
    """By how much a pass cannot clear what stands, in words; None where it clears."""
    turned = {machine.heights.media[at].id} if machine.job.passes[at].side == "back" else set()
    clearance = machine.heights.clearance(at, plane, standing, turned).low
    least = machine.job.printer.min_clearance
    if clears(clearance, least):
        return None
    return f"it would be left {clearance:.3f} mm of the {least:g} mm that it needs"


def precedence_cycle(machine: Machine) -> tuple[Precedence, ...]:
    """The edges of one cycle in the precedence of the passes, as declared and by clearance; empty where none is."""
    edges = {(e.before, e.then): e for e in (*pass_precedence(machine), *clearance_precedence(machine))}
    sorter: TopologicalSorter[int] = TopologicalSorter()
    for before, then in edges:
        sorter.add(then, before)
    try:
        sorter.prepare()
    except CycleError as error:
        ring: list[int] = error.args[1]
        return tuple(edges[pair] for pair in pairwise(ring))
    return ()


def _under_head(machine: Machine, at: int) -> set[int]:
    """The passes whose ink faces the head in the band of a pass whatever the order; sheets that turn over, left out."""
    heights, item = machine.heights, machine.job.passes[at]
    own = heights.media[at].id
    turning = {machine.flips(handled) for handled in range(machine.pass_count, len(machine.items))}
    found: set[int] = set()
    for media in heights.layout.in_band[at]:
        if media == own or media not in turning:
            side = item.side if media == own else "front"
            found.update(*heights.layout.covers_in_band(at, media, side))
    return found


def _ancestors(machine: Machine) -> list[frozenset[int]]:
    """For each pass, the passes that the declared precedence puts before it in every order."""
    before: dict[int, set[int]] = {at: set() for at in range(machine.pass_count)}
    for edge in pass_precedence(machine):
        before[edge.then].add(edge.before)
    found: dict[int, frozenset[int]] = {}
    for start in before:
        seen: set[int] = set()
        waiting = list(before[start])
        while waiting:
            here = waiting.pop()
            if here not in seen:
                seen.add(here)
                waiting.extend(found[here] if here in found else before[here])
        found[start] = frozenset(seen)
    return [found[at] for at in range(machine.pass_count)]


def _listed(names: list[str], most: int = 6) -> str:
    shown = ", ".join(names[:most])
    return shown if len(names) <= most else f"{shown} and {len(names) - most} more"
