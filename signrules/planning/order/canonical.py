"""The job in an order that its content alone decides, so that the document's order decides nothing.

The planner works on this copy. Sheets stand by load and place on the bed, inks by what they are,
passes and handling by sheet and content; what still looks alike is told apart by what comes before
and after it. Only items that stand alike in every way keep the order in which they were declared.
All sheets of the copy are loaded front up: see `facing`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import cache
from types import MappingProxyType
from typing import Any

from attrs import evolve, frozen, has

from signrules.model.declared import declared_fields
from signrules.model.job import Job
from signrules.model.media import Ink, Media
from signrules.model.passes import Handling, HeadSetting, Pass
from signrules.model.quantities import Interval
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine, Precedence
from signrules.planning.order.facing import front_up

Key = tuple[Any, ...]
"""What sorts things of one kind: numbers and words, never an id."""

ROUNDS = 8
"""How often items that look alike are told apart by their neighbours in the precedence: so many
steps away.
"""

NO_DIFFERENCE_OF_PASSES = ("id", "media", "over", "after", "builds", "artwork", "data")
"""Fields that tell no pass from another: names, where it was read from, what it says to plugins,
and precedence, which is compared as a graph.
"""

NO_DIFFERENCE_OF_HANDLING = ("id", "media", "after")
"""The same of handling."""

NO_DIFFERENCE_OF_SHEETS = ("id", "material", "load", "up", "data")
"""Fields that tell no sheet from another: names, what it says to plugins, and the side up, which is
the same for all.
"""


@frozen(eq=False)
class Canonical:
    """A machine in canonical order, and where each of its items stands in the original."""

    machine: Machine
    origin: Machine
    origin_of: tuple[int, ...]

    def to_origin(self, order: Iterable[int]) -> tuple[int, ...]:
        """Canonical items as items of the origin."""
        return tuple(self.origin_of[item_index] for item_index in order)

    def from_origin(self, order: Iterable[int]) -> tuple[int, ...]:
        """Items of the origin as canonical items."""
        place = {item_index: number for number, item_index in enumerate(self.origin_of)}
        return tuple(place[item_index] for item_index in order)

    def choices_to_origin(
        self, choices: Mapping[int, HeadSetting | None]
    ) -> dict[int, HeadSetting | None]:
        """The gaps that were chosen, by the items of the origin."""
        return {self.origin_of[item_index]: gap for item_index, gap in choices.items()}


def as_declared(machine: Machine) -> Canonical:
    """The machine in its own order, for jobs so long that sorting costs more than it gives."""
    return Canonical(front_up(machine), machine, tuple(range(len(machine.items))))


def canonical_machine(machine: Machine) -> Canonical:
    """The machine with its sheets, inks, passes and handling in canonical order."""
    origin, machine = machine, front_up(machine)
    job = machine.job
    order = _canonical_items(machine)
    # With several sheets their order in the document would still show, so a copy is made.
    if order == list(range(len(order))) and len(job.media) == 1:
        return Canonical(machine, origin, tuple(order))
    passes = tuple(job.passes[item_index] for item_index in order if machine.is_pass(item_index))
    handling = tuple(
        job.handling[item_index - machine.pass_count]
        for item_index in order
        if not machine.is_pass(item_index)
    )
    copy = evolve(
        job,
        media=tuple(sorted(job.media, key=_sheet_key)),
        inks=tuple(sorted(job.inks, key=_ink_key)),
        passes=passes,
        handling=handling,
        waivers=(),
        sequence=None,
    )
    return Canonical(
        Machine(Heights(copy), _renumbered_precedence(machine, order)), origin, tuple(order)
    )


def _renumbered_precedence(machine: Machine, order: Sequence[int]) -> Iterable[Precedence]:
    """The precedence that plugins and handling brought, by canonical items."""
    place = {item_index: number for number, item_index in enumerate(order)}
    for edge in machine.precedence:
        if edge.kind not in ("after", "over"):
            yield evolve(edge, before=place[edge.before], then=place[edge.then])


def _canonical_items(machine: Machine) -> list[int]:
    """The items sorted by content, then by their neighbours; passes before handling."""
    job = machine.job
    loads = _load_keys(job)
    inks = {ink.id: _ink_key(ink) for ink in job.inks}
    keys = [_item_key(machine, item_index, loads, inks) for item_index in range(len(machine.items))]
    ranks = _ranks_of_keys(keys)
    for _ in range(ROUNDS):
        keys = [
            _key_with_neighbours(machine, item_index, ranks) for item_index in range(len(ranks))
        ]
        finer = _ranks_of_keys(keys)
        # What a round does not tell apart no further one does.
        if len(set(finer)) == len(set(ranks)):
            break
        ranks = finer
    return sorted(range(len(ranks)), key=lambda item_index: (ranks[item_index], item_index))


def _ranks_of_keys(keys: Sequence[Key]) -> list[int]:
    """The number of each key among the different ones, ascending."""
    number = {key: rank for rank, key in enumerate(sorted(set(keys)))}
    return [number[key] for key in keys]


def _key_with_neighbours(machine: Machine, item_index: int, ranks: Sequence[int]) -> Key:
    before = tuple(sorted(ranks[other] for other in machine.before[item_index]))
    after = tuple(sorted(ranks[other] for other in machine.followers[item_index]))
    named = machine.named_partners[item_index] if machine.is_pass(item_index) else ()
    return ranks[item_index], before, after, tuple(sorted(ranks[other] for other in named))


def _item_key(
    machine: Machine, item_index: int, loads: Mapping[str, Key], inks: Mapping[str, Key]
) -> Key:
    item = machine.items[item_index]
    if isinstance(item, Handling):
        return (1, *_handling_key(machine, item_index, item, loads))
    sheet = machine.heights.media[item_index]
    # By what lies where first, so that passes of one sheet stand together.
    return (0, loads[sheet.load], _sheet_key(sheet), *_pass_key(machine.job, item, inks))


def _handling_key(
    machine: Machine, item_index: int, item: Handling, loads: Mapping[str, Key]
) -> Key:
    load = machine.load_of[item_index]
    content = _content_key(item, without=NO_DIFFERENCE_OF_HANDLING)
    if load is None:
        return (*content, (), ())
    return (*content, loads[load], _sheet_key(machine.job.media_of(item)))


def _pass_key(job: Job, item: Pass, inks: Mapping[str, Key]) -> Key:
    areas = sorted((area.x, area.y, area.width, area.height) for area in job.areas_of(item))
    partners = () if item.registers_to is None else (len(item.registers_to),)
    keys_told = {"ink": inks[item.ink], "areas": tuple(areas), "registers_to": partners}
    first = ("side", "gap", "ink", "layers", "coverage")
    return _content_key(item, first=first, without=NO_DIFFERENCE_OF_PASSES, keys_told=keys_told)


def _sheet_key(sheet: Media) -> Key:
    # By y first: the place along y decides what the head meets, that along x does not.
    place = (sheet.at[1], sheet.at[0], sheet.size)
    return (*place, *_content_key(sheet, without=("at", "size", *NO_DIFFERENCE_OF_SHEETS)))


def _ink_key(ink: Ink) -> Key:
    return _content_key(ink, first=("role",), without=("id",))


def _content_key(
    part: object,
    *,
    first: tuple[str, ...] = (),
    without: tuple[str, ...] = (),
    keys_told: Mapping[str, Key] = MappingProxyType({}),
) -> Key:
    """What a part of a job is, field by field: those named first, then the others as they are
    declared; `keys_told` has the keys of fields that are more than their value.
    """
    cls: type = type(part)
    names = _fields_in_turn(cls, first, without)
    return tuple(
        keys_told[name] if name in keys_told else _value_key(getattr(part, name)) for name in names
    )


@cache
def _fields_in_turn(cls: type, first: tuple[str, ...], without: tuple[str, ...]) -> tuple[str, ...]:
    others = (name for name in declared_fields(cls) if name not in (*first, *without))
    return (*first, *others)


def _value_key(value: Any) -> Key:
    """The value of a field as something that sorts, whatever its kind; what is left out comes
    first.
    """
    if value is None:
        return ()
    if isinstance(value, Interval):
        return value.low, value.nominal, value.high
    if isinstance(value, HeadSetting):
        return value.above, *_value_key(value.stated)
    if isinstance(value, tuple):
        return tuple(_value_key(element) for element in value)
    if has(type(value)):
        return _content_key(value)
    return (value,)


def _load_keys(job: Job) -> dict[str, Key]:
    """What lies together in each load."""
    sheet_keys: dict[str, list[Key]] = {}
    for sheet in job.media:
        sheet_keys.setdefault(sheet.load, []).append(_sheet_key(sheet))
    return {load: tuple(sorted(sheets)) for load, sheets in sheet_keys.items()}
