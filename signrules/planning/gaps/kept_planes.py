"""Where a stated gap over the build-up cannot be kept, though by itself it might be.

Such a gap is kept only from a pass that states the same and comes just before. Let colour and
varnish of two sheets state one gap each, and let neither colour be printable once the varnish of
the other sheet stands. Then both colours come before both varnishes, and at most one varnish can
come just after the colour of its own sheet: of such varnishes all but one need a setting of their
own.
"""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from signrules.physics.heights import HeadPlane
from signrules.physics.machine import Machine, clears_head
from signrules.planning.predecessors import Before


@frozen
class KeptByOne:
    """Passes of which at most one keeps its plane; the others lie where they are set again.

    `anew` says between which two heights that is.
    """

    members: frozenset[int]
    anew: tuple[float, float]


@frozen
class _Keeper:
    """A pass, where it is set again, and who may come just before it with the same gap."""

    pass_index: int
    anew: tuple[float, float]
    earlier: tuple[int, ...]


def kept_by_one(machine: Machine, active: frozenset[int]) -> tuple[KeptByOne, ...]:
    """The groups of two and more such passes among the `active` items."""
    passes = (item_index for item_index in sorted(active) if machine.is_pass(item_index))
    over_build_up = [
        item_index for item_index in passes if machine.may_keep_after(item_index) is not None
    ]
    if not over_build_up:
        return ()
    return tuple(_Groups(machine, active, over_build_up).found())


class _Groups:
    def __init__(self, machine: Machine, active: frozenset[int], passes: list[int]) -> None:
        self.machine, self.active, self.passes = machine, active, passes
        self.before = Before(machine, active)
        self._clear: dict[tuple[int, int], bool] = {}

    def found(self) -> Iterator[KeptByOne]:
        # Each that may not keep its plane beside any of a group joins it: not always the largest
        # group there is, but a sound one.
        alike: dict[tuple[float, float], list[list[_Keeper]]] = {}
        for keeper in self._keepers():
            groups = alike.setdefault(keeper.anew, [])
            for group in groups:
                if all(self._exclude(keeper, other) for other in group):
                    group.append(keeper)
                    break
            else:
                groups.append([keeper])
        for anew, groups in alike.items():
            for group in groups:
                if len(group) > 1:
                    yield KeptByOne(frozenset(keeper.pass_index for keeper in group), anew)

    def _keepers(self) -> Iterator[_Keeper]:
        """The passes that another one of the same gap and sheet may come just before."""
        for pass_index in self.passes:
            earlier_passes = [
                other for other in self.passes if self._may_come_just_before(other, pass_index)
            ]
            if earlier_passes:
                low, high = (
                    self._plane(pass_index, most=over_most).height.nominal
                    for over_most in (False, True)
                )
                yield _Keeper(pass_index, (round(low, 9), round(high, 9)), tuple(earlier_passes))

    def _may_come_just_before(self, other: int, pass_index: int) -> bool:
        if other == pass_index or self.before.comes_before(pass_index, other):
            return False
        return self.machine.may_keep_after(other) == self.machine.may_keep_after(pass_index)

    def _exclude(self, one: _Keeper, other: _Keeper) -> bool:
        """Whether at most one of two passes can keep a plane."""
        # A run of one gap on one sheet may keep its plane from end to end.
        marks = [self.machine.may_keep_after(keeper.pass_index) for keeper in (one, other)]
        if marks[0] == marks[1]:
            return False
        # Say that one comes first and each keeps its plane. Then what comes just before the other
        # stands after the first, where it may not be safe.
        first = all(not self._may_follow(early, other.pass_index) for early in one.earlier)
        return first and all(not self._may_follow(early, one.pass_index) for early in other.earlier)

    def _may_follow(self, pass_index: int, later: int) -> bool:
        """Whether a pass may be safe once another one, which comes later otherwise, stands."""
        key = (pass_index, later)
        if key not in self._clear:
            self._clear[key] = self._is_clear_after(pass_index, later)
        return self._clear[key]

    def _is_clear_after(self, pass_index: int, later: int) -> bool:
        if self.before.comes_before(pass_index, later):
            return False
        if not self.machine.turning.isdisjoint(self.machine.heights.layout.in_band[pass_index]):
            return True  # Which side of a sheet lies up then is not known.
        passes = range(self.machine.pass_count)
        standing = {
            *self.before.among(pass_index, passes),
            *self.before.among(later, passes),
            later,
            pass_index,
        }
        clearance = self.machine.heights.clearance(
            pass_index, self._plane(pass_index, most=True), standing
        )
        return clears_head(clearance.low, self.machine.job.printer.min_clearance)

    def _plane(self, pass_index: int, *, most: bool) -> HeadPlane:
        """The plane of a pass set again over the least, or the most, that can stand then."""
        item = self.machine.job.passes[pass_index]
        assert item.gap is not None
        media = self.machine.heights.media[pass_index].id
        on_side = self.machine.heights.layout.passes_on[media, item.side] & self.active
        standing = self.before.among(pass_index, on_side)
        if most:
            standing = self.before.not_after(pass_index, on_side)
        return self.machine.heights.head_plane(pass_index, item.gap, standing)
