"""The dependency graph of a job: passes, media and height states, each edge with its reasons."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from graphlib import CycleError, TopologicalSorter
from itertools import pairwise
from typing import TYPE_CHECKING

from attrs import frozen

from signrules.errors import SignrulesError
from signrules.given_values import demand_given
from signrules.model.job import Job
from signrules.model.quantities import Interval
from signrules.model.wording import clearance_words, joined_names
from signrules.physics.bed_layout import Slots
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine, Precedence, clears_head
from signrules.physics.zones import Cover

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


_Data = dict[str, tuple[Reason, ...]]
"""What an edge carries."""


def job_graph(
    job: Job, *, precedence: Iterable[Precedence] = (), order: Iterable[str] | None = None
) -> networkx.DiGraph[str]:
    """The graph of a job; an edge points from what comes first to what depends on it.

    Nodes are named as checks name their subjects and carry `kind` and `id`: `passes.<id>` (kind
    `pass`),
    `media.<id>` (kind `media`), and `heights.<id>` (kind `height`): the surface that a pass leaves.
    A height carries `surface` as well: how high the ink within the areas of that pass stands above
    the bed once the pass is printed, as (low, high) in mm, the sheet lying flat. What comes later
    is not in it, so it depends on the order. `order` names passes and handling in the order that is
    meant, such as `Evaluation.order`; left out, it is the job's own `sequence`, and without one the
    declared order. Raises SignrulesError where `order` does not hold every pass and handling once.
    Every edge carries `reasons`, a tuple of `Reason`:

    - pass to pass: `declared`, `lands on`, `must clear`. These are the precedence of the passes;
      every safe order is
      a linear extension of them. `must clear` follows from clearance alone: a pass whose gap cannot
      clear a build-up comes before it.
    - media to pass: `prints on`, and `register together` with the passes that must lie on each
      other.
    - pass to height: `leaves`; and `must clear`, where the pass must be done before that height
      stands.
    - height to pass: `lands on`.

    Handling is not part of the graph; what it orders between passes is (a pass after a handling
    that comes after another pass). A job that no order can satisfy gives a graph with a cycle.
    """
    demand_given("job_graph", (job, Job))
    machine = Machine(Heights(job), precedence)
    names = job.sequence if order is None else tuple(order)
    if names is None:
        return graph_of(machine)
    return graph_of(machine, _items_named(machine, names))


def _items_named(machine: Machine, names: Sequence[str]) -> tuple[int, ...]:
    """The items of an order by name."""
    known, named = set(machine.index), set(names)
    wrong = sorted(known ^ named) or sorted(name for name in known if names.count(name) > 1)
    if wrong:
        expected = "an order holds every pass and handling of the job once"
        raise SignrulesError(f"the order: found {names.count(wrong[0])} x {wrong[0]!r}; {expected}")
    return tuple(machine.index[name] for name in names)


def graph_of(machine: Machine, order: Iterable[int] | None = None) -> networkx.DiGraph[str]:
    """The graph of a machine's job; `order` defaults to the declared order."""
    # Only pictures and rules on the graph need it, and it takes long to load.
    import networkx

    job = machine.job
    graph: networkx.DiGraph[str] = networkx.DiGraph(name=job.name)
    for sheet in job.media:
        graph.add_node(f"media.{sheet.id}", kind="media", id=sheet.id)
    if order is None:
        order = machine.declared_order()
    surfaces = _surfaces_left(machine, order)
    for at, item in enumerate(job.passes):
        graph.add_node(f"passes.{item.id}", kind="pass", id=item.id)
        span = (surfaces[at].low, surfaces[at].high)
        graph.add_node(f"heights.{item.id}", kind="height", id=item.id, surface=span)
    graph.add_edges_from(_graph_edges(machine))
    return graph


def _surfaces_left(machine: Machine, order: Iterable[int]) -> dict[int, Interval]:
    """The highest surface within the areas of each pass, just printed, in mm above the bed."""
    standing, found = machine.heights.standing(), dict[int, Interval]()
    for at in filter(machine.is_pass, order):
        standing.add(at)
        found[at] = standing.surface(at)
    return found


def _graph_edges(machine: Machine) -> Iterator[tuple[str, str, _Data]]:
    """The edges; one that comes again has all its reasons then."""
    job, names = machine.job, [item.id for item in machine.job.passes]
    passes, surfaces = [f"passes.{name}" for name in names], [f"heights.{name}" for name in names]
    for at, name in enumerate(names):
        media = machine.heights.media[at].id
        reasons = [Reason(PRINTS_ON, f"{name} prints on {media}")]
        if machine.has_partners(at):
            text = f"{name} registers with {_partners_in_words(machine, at)}"
            reasons.append(Reason(REGISTER, text))
        yield f"media.{media}", passes[at], _edge_data(*reasons)
        yield passes[at], surfaces[at], _edge_data(Reason(LEAVES, f"{name} leaves this surface"))
        for under in job.passes[at].over:
            lands = Reason(LANDS_ON, f"{name} lands on the ink of {under}")
            yield f"heights.{under}", passes[at], _edge_data(lands)
    declared: dict[tuple[int, int], list[Reason]] = {}
    for edge in pass_precedence(machine):
        kind = LANDS_ON if edge.kind == "over" else DECLARED
        declared.setdefault((edge.before, edge.then), []).append(Reason(kind, edge.said))
    for (before, then), said in declared.items():
        yield passes[before], passes[then], _edge_data(*said)
    for before, then, data in _unclear_passes(machine):
        # An edge that is given twice would have the reasons of the second one only.
        said = declared.get((before, then), [])
        yield passes[before], passes[then], _edge_data(*said, *data["reasons"])
        yield passes[before], surfaces[then], data


def _edge_data(*reasons: Reason) -> _Data:
    return {"reasons": tuple(dict.fromkeys(reasons))}


def pass_precedence(machine: Machine) -> Iterator[Precedence]:
    """The declared precedence between passes, also where it runs through handling."""
    for edge in machine.precedence:
        if machine.is_pass(edge.before) and machine.is_pass(edge.then):
            yield edge
    yield from through_handling(machine)


def through_handling(machine: Machine) -> Iterator[Precedence]:
    """The precedence between passes that handling between them brings about."""
    items, said_by = machine.items, _plugins_by_item(machine)
    for handled in range(machine.pass_count, len(items)):
        name = items[handled].id
        for before in sorted(passes_next_to(machine, handled, machine.before)):
            for then in sorted(passes_next_to(machine, handled, machine.followers)):
                text = f"{name} comes after {items[before].id}, and {items[then].id} after it"
                yield Precedence(before, then, "after", text, said_by.get(handled, ""))


def _plugins_by_item(machine: Machine) -> dict[int, str]:
    """The plugins that put something before or after an item, in words."""
    found: dict[int, set[str]] = {}
    for edge in machine.precedence:
        if edge.plugin:
            found.setdefault(edge.before, set()).add(edge.plugin)
            found.setdefault(edge.then, set()).add(edge.plugin)
    return {at: ", ".join(sorted(names)) for at, names in found.items()}


def passes_next_to(machine: Machine, start: int, next_to: Sequence[Iterable[int]]) -> set[int]:
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

    For gaps stated over the media or the bed, whose head plane no order can raise. Of each cover
    under the head it asks what one pass, with those of the same cover that come before either of
    the two in any case, leaves of the clearance; the first that leaves too little is named, not
    those that come after it. Build-ups that strike only together order nothing by themselves.
    """
    for before, then, data in _unclear_passes(machine):
        yield Precedence(before, then, MUST_CLEAR, data["reasons"][0].text)


def _unclear_passes(machine: Machine) -> Iterator[tuple[int, int, _Data]]:
    """Each pass with each build-up that it must come before, and why.

    Passes for which it is the same share it.
    """
    passes, least = machine.job.passes, machine.job.printer.min_clearance
    bands, known = _Bands(machine), dict[tuple[int, float], _Data]()
    for at, item in enumerate(passes):
        if item.gap is not None and item.gap.above != "build-up":
            for too_high in sorted(bands.too_high(at).items()):
                if too_high not in known:
                    other, left = too_high
                    text = clearance_words(left, least, passes[other].id)
                    known[too_high] = _edge_data(Reason(MUST_CLEAR, text))
                yield at, too_high[0], known[too_high]


class _Bands:
    """What stands too high under the head, by band and room above the sheet.

    Only the covers that a pass is part of are looked at for it alone.
    """

    def __init__(self, machine: Machine) -> None:
        self.machine, self.heights, self.layout = machine, machine.heights, machine.heights.layout
        self._known: dict[tuple[float, Slots], dict[int, float]] = {}
        self._of_covers: dict[tuple[float, Cover], dict[int, float]] = {}

    def too_high(self, at: int) -> dict[int, float]:
        """The passes that one must come before, each with the least clearance left in mm.

        Of other sheets only those count that are never turned over.
        """
        found: dict[int, float] = {}
        plane, own = self.heights.stated_planes[at], self.heights.media[at].id
        for media in self.layout.in_band[at]:
            if media != own and media in self.machine.turning:
                continue
            room = self.heights.over_bare(plane, media).low
            job = self.machine.job
            side = job.media_named(media).up
            if media == own:
                side = job.passes[at].side
            # Most bands clear all that will ever stand in them, and need no closer look.
            if room - self.heights.tallest(at, media, side) > job.printer.min_clearance:
                continue
            key = (room, self.layout.slots_in_band(at, media, side))
            if key not in self._known:
                self._known[key] = self._least(room, self.layout.covers_in_band(at, media, side))
            # Passes lie on one sheet each, so that nothing is named twice.
            found |= self._known[key]
            if media == own:
                self._mend(at, room, found)
        return found

    def _least(self, room: float, covers: Iterable[Cover]) -> dict[int, float]:
        found: dict[int, float] = {}
        for cover in covers:
            for other, left in self._of_cover(room, cover).items():
                found[other] = min(left, found.get(other, left))
        return found

    def _of_cover(self, room: float, cover: Cover) -> dict[int, float]:
        key = (room, cover)
        if key not in self._of_covers:
            self._of_covers[key] = dict(_too_high(self.machine, None, room, cover))
        return self._of_covers[key]

    def _mend(self, at: int, room: float, found: dict[int, float]) -> None:
        """Ask again of the covers that a pass is part of, where its own ink stands at the end."""
        mine = self.layout.covers_of(at)
        for other in set().union(*mine):
            found.pop(other, None)
            for cover in self.layout.covers_of(other):
                if at in cover:
                    continue
                left = self._of_cover(room, cover).get(other)
                if left is not None:
                    found[other] = min(left, found.get(other, left))
        for cover in mine:
            for other, left in _too_high(self.machine, at, room, cover):
                found[other] = min(left, found.get(other, left))


def _too_high(
    machine: Machine, at: int | None, room: float, cover: Cover
) -> Iterator[tuple[int, float]]:
    """The passes of a cover that a pass must come before, each with the clearance left in mm.

    `at` is the pass if it is part of the cover, else None.
    """
    thick, least = machine.heights.thickest, machine.job.printer.min_clearance
    own, mine = 0.0, frozenset[int]()
    if at is not None:
        own, mine = thick(at), before_within(machine, at, cover)
    everything = sum(thick(one) for one in cover if one != at)
    if not clears_head(room - own, least) or clears_head(room - everything - own, least):
        return  # It never clears, or it always does.
    before = {one: before_within(machine, one, cover) for one in cover}

    # Where what comes before it in any case is too high already, one of those must come after it:
    # a circle. Then these are asked one by one, else the others together with them.
    stuck = not clears_head(room - own - sum(thick(one) for one in mine), least)
    beneath = frozenset[int]() if stuck else mine
    named: dict[int, float] = {}
    for other in cover:
        if other == at or at in before[other] or stuck != (other in mine):
            continue
        standing = {other, *before[other], *beneath} - {at}
        left = room - own - sum(thick(one) for one in standing)
        if not clears_head(left, least):
            named[other] = left
    # What comes after one that is too high already follows from that one.
    for other, left in sorted(named.items()):
        if stuck or not named.keys() & before[other]:
            yield other, left


def before_within(machine: Machine, at: int, cover: Cover) -> frozenset[int]:
    """The passes of a cover that come before one in any order, as the cover itself says."""
    found: set[int] = set()
    waiting, covering = [at], frozenset(cover)
    while waiting:
        for earlier in machine.before[waiting.pop()] & covering:
            if earlier not in found:
                found.add(earlier)
                waiting.append(earlier)
    return frozenset(found)


def precedence_cycle(machine: Machine) -> tuple[Precedence, ...]:
    """The edges of one cycle in the precedence of the passes, declared or by clearance.

    Empty where there is none.
    """
    precedence = (*pass_precedence(machine), *clearance_precedence(machine))
    edges = {(edge.before, edge.then): edge for edge in precedence}
    sorter: TopologicalSorter[int] = TopologicalSorter()
    for before, then in edges:
        sorter.add(then, before)
    try:
        sorter.prepare()
    except CycleError as error:
        ring: list[int] = error.args[1]
        return tuple(edges[pair] for pair in pairwise(ring))
    return ()


def _partners_in_words(machine: Machine, at: int, most: int = 6) -> str:
    """The passes that register with one, in words that stay short in large jobs."""
    named = sorted(machine.named_partners[at])
    words = [machine.items[other].id for other in named[:most]]
    if len(named) > most:
        words.append(f"{len(named) - most} more")
    if len(machine.register_group(at)) > 1:
        media, side = machine.heights.media[at].id, machine.job.passes[at].side
        words.append(f"the other passes on the {side} of {media}")
    return joined_names(words)
