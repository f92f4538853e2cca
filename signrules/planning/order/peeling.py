"""A safe order of very many passes, or a proof that there is none, in about linear time.

The order is built from its end, as in the changeover core: of what is left, any pass may stand last
that nothing left must follow and whose head clears all that is left. A pass that does not clear
waits at one place that is too high, and is looked at again only when enough has been taken from
that place. The set-up that came before is kept as long as it can be; then comes the one of which
the greatest part of what is left may stand last. Taken too early, a set-up comes again for the
rest. It is a good order and not a proven one.
"""

from __future__ import annotations

import heapq
from collections.abc import Sequence

from attrs import field, frozen

from signrules.physics.machine import Machine
from signrules.planning.order.integer_lengths import PER_MM, ink_picometres, room_picometres


@frozen(eq=False)
class Peeled:
    """The order, None where none was found, and the passes left when no further one could go."""

    order: tuple[int, ...] | None
    stuck: tuple[int, ...] = ()


@frozen(eq=False)
class Watch:
    """How high ink may stand under the head of a pass on one sheet: picometres, and places."""

    room: int
    media: str
    start: int
    stop: int
    besides: tuple[int, ...]


@frozen(eq=False)
class _Places:
    """The ink left at each place of a sheet in picometres, and who waits there.

    Those with the most room come first.
    """

    left: list[int]
    waiting: dict[int, list[tuple[int, int]]] = field(factory=dict)


def peel_from_end(machine: Machine, classes: Sequence[int], watched: Sequence[bool]) -> Peeled:
    """An order of all items with few changes of class.

    `classes` gives the set-up of each pass; of passes that are not `watched` the head clears at any
    time.
    """
    run = _Peeling(machine, classes, watched)
    return run.result()


class _Peeling:
    def __init__(self, machine: Machine, classes: Sequence[int], watched: Sequence[bool]) -> None:
        self.machine, self.classes, self.layout = machine, classes, machine.heights.layout
        # In whole picometres: sums of floats would depend on the order in which ink is taken away.
        self.thick = [
            ink_picometres(machine.heights, item_index) for item_index in range(machine.pass_count)
        ]
        self.places = {sheet.id: _Places(self._all_ink(sheet.id)) for sheet in machine.job.media}
        self.watches: list[list[Watch]] = [[] for _ in range(machine.pass_count)]
        for item_index, watch in enumerate(watched):
            if watch:
                self.watches[item_index] = self._watches(item_index)
        self.followers = [len(followers) for followers in machine.followers]
        # Of each class the passes that may stand last, and how many are left.
        self.ready: list[list[int]] = [[] for _ in range(max(classes, default=-1) + 1)]
        self.count = [0] * len(self.ready)
        for pass_class in classes:
            self.count[pass_class] += 1
        self.pauses: list[int] = []
        self.backwards: list[int] = []
        # Loads are taken whole, the one whose passes are declared last at the end.
        self.loads = list(
            dict.fromkeys(machine.load_of[item_index] for item_index in range(machine.pass_count))
        )
        self.held: dict[str | None, list[int]] = {load: [] for load in self.loads}

    def _all_ink(self, media: str) -> list[int]:
        """The ink at each place of a sheet once everything is printed, in picometres."""
        covers = self.layout.side(media, "front").covers
        return [sum(self.thick[pass_index] for pass_index in cover) for cover in covers]

    def _watches(self, pass_index: int) -> list[Watch]:
        heights, watches = self.machine.heights, []
        plane = heights.stated_planes[pass_index]
        for media in self.layout.in_band[pass_index]:
            room = room_picometres(heights, plane, media)
            slots = self.layout.slots_in_band(pass_index, media, "front")
            if heights.tallest(pass_index, media, "front") * PER_MM > room:
                watches.append(Watch(room, media, slots.start, slots.stop, slots.besides))
        return watches

    def result(self) -> Peeled:
        for item_index, count in enumerate(self.followers):
            if not count:
                self._offer(item_index)
        # A load is finished before the next: what is left of one would need it put on again.
        current_class: int | None = None
        for load in reversed(self.loads):
            for item_index in self.held.pop(load):
                self._offer(item_index)
            while (taken := self._run(current_class)) is not None:
                current_class = taken
        self._take_pauses()
        if len(self.backwards) == len(self.machine.items):
            return Peeled(tuple(reversed(self.backwards)))
        return Peeled(None, tuple(self._left()))

    def _left(self) -> list[int]:
        done_items = set(self.backwards)
        return [
            pass_index
            for pass_index in range(self.machine.pass_count)
            if pass_index not in done_items
        ]

    def _run(self, current_class: int | None) -> int | None:
        """Take all that may stand last of one class: of `current_class`, if any does.

        Gives the class taken, None where nothing of any class may stand last.
        """
        if current_class is None or not self.ready[current_class]:
            current_class = self._fullest_class()
        if current_class is None:
            return None
        while self.ready[current_class]:
            self.count[current_class] -= 1
            self._take(-heapq.heappop(self.ready[current_class]))
        return current_class

    def _fullest_class(self) -> int | None:
        """The class of which the greatest part of what is left may stand last, the first of them.

        A set-up of which little may go now comes again.
        """
        ready_classes = [ready_class for ready_class, ready in enumerate(self.ready) if ready]
        return max(
            ready_classes,
            key=lambda ready_class: len(self.ready[ready_class]) / self.count[ready_class],
            default=None,
        )

    def _waits(self, pass_index: int) -> bool:
        """Whether a pass must wait, and if so, at the highest place under its head."""
        for watch in self.watches[pass_index]:
            highest_ink, place = self._highest_place(watch)
            # One place that is too high is reason enough: once it is low enough, all are looked at
            # again.
            if highest_ink > watch.room:
                waiting = self.places[watch.media].waiting.setdefault(place, [])
                # By room, most first: as the ink at the place shrinks, they get room in that order.
                heapq.heappush(waiting, (-watch.room, pass_index))
                return True
        return False

    def _highest_place(self, watch: Watch) -> tuple[int, int]:
        """The most ink that is left under a head in picometres, and the first place that has it."""
        ink_left = self.places[watch.media].left
        highest_ink, place = -1, -1
        if watch.start < watch.stop:
            highest_ink = max(ink_left[watch.start : watch.stop])
            place = ink_left.index(highest_ink, watch.start)
        for other in watch.besides:
            if ink_left[other] > highest_ink:
                highest_ink, place = ink_left[other], other
        return highest_ink, place

    def _take(self, item_index: int) -> None:
        self.backwards.append(item_index)
        media = self.machine.heights.media[item_index].id
        places, thick = self.places[media], self.thick[item_index]
        # Who waits at a place has too little room for what stands there; the most room comes first.
        for place in self.layout.side(media, "front").of_pass[item_index]:
            places.left[place] -= thick
            waiting = places.waiting.get(place)
            while waiting and -waiting[0][0] >= places.left[place]:
                self._offer(heapq.heappop(waiting)[1])
        self._released(item_index)
        self._take_pauses()

    def _take_pauses(self) -> None:
        while self.pauses:
            pause = self.pauses.pop()
            self.backwards.append(pause)
            self._released(pause)

    def _released(self, item_index: int) -> None:
        for earlier in sorted(self.machine.before[item_index]):
            self.followers[earlier] -= 1
            if not self.followers[earlier]:
                self._offer(earlier)

    def _offer(self, item_index: int) -> None:
        if not self.machine.is_pass(item_index):
            self.pauses.append(item_index)
        elif self.machine.load_of[item_index] in self.held:
            self.held[self.machine.load_of[item_index]].append(item_index)
        elif not self._waits(item_index):
            # The last declared is taken first, since the order is built from its end.
            heapq.heappush(self.ready[self.classes[item_index]], -item_index)
