"""The replay of a job: its items done one by one in a given order, with the gaps chosen for it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from signrules.model.passes import Gap, HeadSetting
from signrules.model.quantities import Interval
from signrules.physics.heights import HeadPlane
from signrules.physics.machine import Machine, Move
from signrules.physics.planes import StatedPlane, settings_between
from signrules.physics.timeline import Printing, Step, Timeline

KEEP = None
"""The choice for an "auto" pass that takes the head plane as it stands."""


def replay_items(
    machine: Machine, order: Sequence[int], choices: Mapping[int, HeadSetting | None]
) -> Timeline:
    """The replay of the items in an order.

    `choices` says for each "auto" pass which gap is set, or None to keep the plane. The first pass
    has no plane to keep: kept there, the gap is set over the media with nothing added.
    """
    run = _Run(machine, choices)
    for position, item_index in enumerate(order):
        run.do(position, item_index)
    run.take_off()
    return Timeline(
        machine,
        tuple(order),
        tuple(run.steps),
        run.printings,
        positions={item_index: position for position, item_index in enumerate(order)},
        moves=tuple(run.moves),
        loads=run.loads,
        gap_settings=run.gap_settings,
    )


def count_settings(
    machine: Machine, order: Sequence[int], choices: Mapping[int, HeadSetting | None]
) -> int:
    """How many gap settings the replay of an order would count.

    It takes a fifth of the time of a replay: nothing is asked of what the planes leave.
    """
    run = _Run(machine, choices)
    for item_index in order:
        if machine.is_pass(item_index):
            run.set_plane(item_index, run.add_pass(item_index))
        else:
            run.flip(item_index)
    return run.gap_settings


class _Run:
    """The machine while items are done, one after the other, and what has come of them so far."""

    def __init__(self, machine: Machine, choices: Mapping[int, HeadSetting | None]) -> None:
        self.machine, self.heights, self.choices = machine, machine.heights, choices
        self.standing = machine.heights.standing()
        # Kept while a load is off the bed: whoever puts a sheet back puts it as it lay.
        self.turned = set(machine.job.loaded_back_up)
        self.put_on_before: set[str] = set()
        self.load: str | None = None
        self.plane: HeadPlane | None = None
        self.stated: StatedPlane | None = None
        self.steps: list[Step] = []
        self.printings: dict[int, Printing] = {}
        self.moves: list[tuple[int, Move]] = []
        self.loads = self.gap_settings = 0

    def do(self, position: int, item_index: int) -> None:
        self.put_on(position, self.machine.load_of[item_index])
        if self.machine.is_pass(item_index):
            self.print_pass(position, item_index)
        else:
            self.handle(position, item_index)

    def put_on(self, position: int, load: str | None) -> None:
        if load is None or load == self.load:
            return
        # A load that comes off moves only where something follows: at the end nothing registers.
        if self.load is not None:
            self.take_off()
            self.moves.append((position, Move(self.load, "unload")))
        again = load in self.put_on_before
        self.steps.append(Step("load", load, back_up=self.back_up(load), again=again))
        self.put_on_before.add(load)
        self.loads += 1
        self.load = load

    def back_up(self, load: str) -> tuple[str, ...]:
        """The sheets of a load that go on with their back up.

        Put on again, each lies as it lay when it came off.
        """
        on_it = (sheet.id for sheet in self.machine.job.media if sheet.load == load)
        return tuple(media for media in on_it if media in self.turned)

    def take_off(self) -> None:
        if self.load is not None:
            self.steps.append(Step("unload", self.load))

    def handle(self, position: int, item_index: int) -> None:
        self.steps.append(Step("handle", self.machine.items[item_index].id))
        self.loads += self.machine.counts_as_load(item_index)
        move = self.machine.move_by(item_index)
        if move is not None:
            self.moves.append((position, move))
        self.flip(item_index)

    def flip(self, item_index: int) -> None:
        flipped = self.machine.flips(item_index)
        if flipped is not None:
            self.turned ^= {flipped}

    def print_pass(self, position: int, pass_index: int) -> None:
        item, standing = self.machine.job.passes[pass_index], self.standing
        media = self.heights.media[pass_index].id
        # The first drops land on what stood before, the last ones on the ink of the pass itself.
        before = standing.landing(pass_index)
        plane, plane_before = self.add_pass(pass_index), self.plane
        after = standing.landing(pass_index)
        counts_as_setting = self.set_plane(pass_index, plane)
        first_extras = standing.crisp_extras(before, plane)
        last_extras = standing.crisp_extras(standing.under_last_layer(before, pass_index), plane)
        other_surface = "lowest" if item.crisp_on == "highest" else "highest"
        printing = Printing(
            pass_index=pass_index,
            position=position,
            plane=plane,
            counts_as_setting=counts_as_setting,
            clearance=standing.clearance(pass_index, plane, self.turned),
            throw=standing.throw_onto(before, plane),
            throw_at_end=standing.throw_onto(after, plane),
            crisp_extra=first_extras.onto(item.crisp_on),
            crisp_extra_at_end=last_extras.onto(item.crisp_on),
            other_extra=first_extras.onto(other_surface),
            surface_before=standing.surface_of(before),
            surface_after=standing.surface_of(after),
            side_up="back" if media in self.turned else "front",
        )
        # A level plane over another sheet is set again too, for nothing: its tolerances are others.
        if counts_as_setting or (plane_before is not None and not plane.is_as(plane_before)):
            gap = plane.gap
            set_to = (gap.stated.nominal, gap.above, plane.media)
            self.steps.append(Step("gap", None, *set_to, printing=printing))
        self.steps.append(Step("print", item.id, printing=printing))
        self.printings[pass_index] = printing

    def set_plane(self, pass_index: int, plane: HeadPlane) -> bool:
        """Set the head for a pass, and say whether that counts as a gap setting."""
        # Compared with the plane of the pass before, whatever lay between: the head stays where it
        # was set.
        counts_as_setting = bool(settings_between(self.plane, plane))
        self.gap_settings += counts_as_setting
        self.plane = plane
        item, media = self.machine.job.passes[pass_index], self.heights.media[pass_index].id
        # An open gap in between ends what was stated, so that the next pass over the build-up sets
        # anew.
        self.stated = None if item.gap is None else StatedPlane(item.gap, media, plane)
        return counts_as_setting

    def add_pass(self, pass_index: int) -> HeadPlane:
        """Add the ink of a pass to what stands, and give back the head plane that it prints at."""
        gap = self.machine.job.passes[pass_index].gap
        if gap is not None:
            return self.machine.print_stated(
                pass_index, gap, self.stated, self.standing, self.turned
            )
        choice, plane = self.choices.get(pass_index, KEEP), self.plane
        if choice is not None or plane is None:
            plane_anew = self.standing.head_plane(pass_index, choice or Gap(Interval.exact(0.0)))
            # A gap that stands already, though set from another surface, is not set again.
            if plane is None or not plane_anew.is_as(plane):
                plane = plane_anew
        self.standing.add(pass_index)
        return plane
