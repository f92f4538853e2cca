"""Sheets that are alike: exchange what is done to two of them, and nothing has changed.

They lie in the same load at the same place along y, so that every band that meets one meets the
other, and carry the same passes and handling, which stand to each other and to everything else in
the same way.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable
from functools import cache
from itertools import chain

from attrs import evolve

from signrules.model.media import Media
from signrules.model.passes import Handling
from signrules.physics.machine import Machine
from signrules.physics.planes import HeadPlane
from signrules.planning.bitmasks import as_mask
from signrules.planning.order.next_items import NextItems, State

Block = tuple[int, ...]
"""The items of one sheet.

Items at the same place of two blocks that are alike stand for each other.
"""


def alike_sheets(machine: Machine) -> tuple[tuple[Block, ...], ...]:
    """The blocks of alike sheets in groups of two and more, of a machine in canonical order."""
    blocks = _blocks_of_sheets(machine)
    groups: dict[Hashable, list[Block]] = {}
    for sheet in machine.job.media:
        block = blocks[sheet.id]
        if block:
            # The canonical order puts the items of alike sheets in the same order, place by place.
            groups.setdefault(_sheet_signature(machine, sheet, block), []).append(block)
    return tuple(tuple(group) for group in groups.values() if len(group) > 1)


def _blocks_of_sheets(machine: Machine) -> dict[str, Block]:
    blocks: dict[str, list[int]] = {sheet.id: [] for sheet in machine.job.media}
    for item_index, item in enumerate(machine.items):
        if machine.is_pass(item_index):
            blocks[machine.heights.media[item_index].id].append(item_index)
        elif machine.load_of[item_index] is not None:
            blocks[machine.job.media_of(item).id].append(item_index)
    return {media: tuple(items) for media, items in blocks.items()}


def _sheet_signature(machine: Machine, sheet: Media, block: Block) -> Hashable:
    # The carriage travels over all of x, so only the place along y decides what meets a sheet.
    sheet_without_names = evolve(sheet, id="", at=(0.0, sheet.at[1]), material=None, data=())
    place = {item_index: number for number, item_index in enumerate(block)}
    return sheet_without_names, tuple(
        _item_signature(machine, item_index, place) for item_index in block
    )


def _item_signature(machine: Machine, item_index: int, place: dict[int, int]) -> Hashable:
    """What an item is, and how it stands to those of its block (by place) and to others."""
    item = machine.items[item_index]
    if isinstance(item, Handling):
        content: Hashable = evolve(item, id="", media=None, after=())
        partners: tuple[Hashable, ...] = ()
    else:
        areas = machine.job.areas_of(item)
        names = None if item.registers_to is None else ()
        content = evolve(
            item,
            id="",
            media=None,
            after=(),
            over=(),
            areas=areas,
            registers_to=names,
            builds=(),
            artwork=(),
            data=(),
        )
        partners = _relation_to(machine.named_partners[item_index], place)
    before = _relation_to(machine.before[item_index], place)
    return content, before, _relation_to(machine.followers[item_index], place), partners


def _relation_to(others: Collection[int], place: dict[int, int]) -> tuple[Hashable, ...]:
    inside = tuple(sorted(place[other] for other in others if other in place))
    outside = tuple(sorted(other for other in others if other not in place))
    return inside, outside


class TwinStates:
    """Names for the states of a search under which those that alike sheets exchange are one."""

    def __init__(self, machine: Machine, active: int, next_items: NextItems) -> None:
        self.next_items = next_items
        self.groups: list[list[Block]] = []
        for group in alike_sheets(machine):
            # A sheet of which only a part takes part is like none of the others.
            whole = [
                block for block in group if all(active >> item_index & 1 for item_index in block)
            ]
            if len(whole) > 1:
                self.groups.append(whole)
        self.sheets = [
            [machine.job.media_of(machine.items[block[0]]).id for block in group]
            for group in self.groups
        ]
        blocks = chain.from_iterable(self.groups)
        self.in_groups = set(chain.from_iterable(blocks))
        self.others = active & ~as_mask(self.in_groups)
        self.masks = [[as_mask(block) for block in group] for group in self.groups]
        self.grouped_sheets = set(chain.from_iterable(self.sheets))
        self._done_of_block = cache(_done_of_block)
        self._plane_name = cache(self._plane_name_unshared)
        self._sheet_of_plane = cache(self._sheet_of_plane_unshared)

    def key(self, state: State) -> Hashable:
        """What names a state: of alike sheets how far each has got, in no order."""
        if not self.groups:
            return state
        moved = tuple(
            (pass_index, shift)
            for pass_index, shift in state.shifts
            if pass_index not in self.in_groups
        )
        stated_gap = None if state.stated is None else state.stated.gap
        # Sorted, so that it makes no difference which of the alike sheets got how far.
        parts = tuple(tuple(sorted(parts)) for parts in self._parts(state))
        return (
            state.done & self.others,
            state.load,
            self._plane_name(state.plane),
            stated_gap,
            moved,
            state.needs,
            parts,
        )

    def repeated(self, state: State) -> int:
        """The items, as a bitmask, of sheets before which an alike one stands that got as far.

        Doing one of these next leads to no state that the alike one does not lead to.
        """
        repeated_items = 0
        for parts, masks in zip(self._parts(state), self.masks, strict=True):
            seen = set()
            for part, mask in zip(parts, masks, strict=True):
                if part in seen:
                    repeated_items |= mask
                seen.add(part)
        return repeated_items

    def _parts(self, state: State) -> list[list[tuple[object, ...]]]:
        """What is done to each alike sheet, and whether plane and last stated gap are its own."""
        plane = self._sheet_of_plane(state.plane)
        stated_on = None if state.stated is None else state.stated.media
        shifts = dict(state.shifts)
        parts_of_groups = []
        for group, sheets in zip(self.groups, self.sheets, strict=True):
            parts: list[tuple[object, ...]] = []
            for block, sheet in zip(group, sheets, strict=True):
                done = self._done_of_block(state.done, block)
                moved: tuple[float, ...] = ()
                if shifts:
                    moved = tuple(shifts.get(pass_index, -1.0) for pass_index in block)
                parts.append((done, sheet == plane, sheet == stated_on, moved))
            parts_of_groups.append(parts)
        return parts_of_groups

    def _sheet_of_plane_unshared(self, plane: int | None) -> str | None:
        """The sheet whose thickness stands in a head plane; None for a plane from the bed."""
        if plane is None:
            return None
        head_plane = self.next_items.planes[plane]
        names = {term.name for term in chain.from_iterable(form.terms for form in head_plane.forms)}
        if _thickness_of(head_plane) not in names:
            return None
        return head_plane.media

    def _plane_name_unshared(self, plane: int | None) -> Hashable:
        """What a head plane is, whichever of the alike sheets it was set over."""
        # Over a sheet that is like no other, a plane is only like itself.
        if plane is None or self._sheet_of_plane(plane) not in self.grouped_sheets:
            return plane
        head_plane = self.next_items.planes[plane]
        return head_plane.key_without(_thickness_of(head_plane))


def _thickness_of(plane: HeadPlane) -> str:
    """The name of the thickness of the sheet over which a plane was set."""
    return f"media.{plane.media}.thickness"


def _done_of_block(done: int, block: Block) -> int:
    """What is done of a block, as a bitmask by place in the block."""
    return sum(1 << place for place, item_index in enumerate(block) if done >> item_index & 1)
