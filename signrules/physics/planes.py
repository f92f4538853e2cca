"""Head planes and throws."""

from __future__ import annotations

from collections.abc import Hashable
from functools import cached_property
from typing import NamedTuple

from attrs import field, frozen

from signrules.model.passes import HeadSetting
from signrules.model.quantities import GUARD_MM, Interval, greatest_of
from signrules.physics.forms import Form, Unknown


@frozen(eq=False)
class HeadPlane:
    """Where the underside of the head runs: the highest of `forms`, in mm above the bed.

    `gap` and `media` say how it was set, and over which sheet.
    """

    forms: tuple[Form, ...]
    gap: HeadSetting
    media: str
    known: dict[Hashable, Interval] = field(factory=dict, repr=False, init=False)
    """How far the plane lies above what has been asked for, by whatever name that goes."""
    clearances: dict[Hashable, Interval] = field(factory=dict, repr=False, init=False)
    """What the plane leaves over what has been asked for."""
    throws: dict[Hashable, Throw] = field(factory=dict, repr=False, init=False)
    """The throws from the plane onto what has been asked for."""
    _lower: dict[Unknown, HeadPlane] = field(factory=dict, repr=False, init=False)

    @cached_property
    def height(self) -> Interval:
        """Height above the bed in mm."""
        return greatest_of(form.interval() for form in self.forms)

    @cached_property
    def key(self) -> frozenset[frozenset[tuple[Unknown, int]]]:
        """What the plane consists of.

        Two planes of one key are one plane, whatever the unknowns turn out to be.
        """
        return frozenset(frozenset(form.terms.items()) for form in self.forms)

    def key_without(self, own: str) -> frozenset[frozenset[tuple[str, Interval, int]]]:
        """What the plane consists of, unknowns whose names begin with `own` going without a name.

        Planes over sheets that are alike have this in common.
        """
        return frozenset(_terms_without(form, own) for form in self.forms)

    def is_as(self, other: HeadPlane) -> bool:
        """Whether two planes are one."""
        return self is other or self.key == other.key

    def is_level_with(self, other: HeadPlane | None) -> bool:
        """Whether two planes have the same nominal height, so that the change costs nothing."""
        if other is None:
            return False
        # What the machine is set to are nominal heights: tolerances change the clearance, not the
        # dial.
        return abs(self.height.nominal - other.height.nominal) <= GUARD_MM

    def above(self, surface: Form) -> Interval:
        """How far the plane lies above a surface, in mm; what stands in both cancels."""
        return greatest_of((form - surface).interval() for form in self.forms)

    @property
    def holds_ink(self) -> bool:
        """Whether ink stands in the plane, so that ink under it may cancel."""
        return self.gap.above == "build-up"

    def less(self, unknown: Unknown) -> HeadPlane:
        """The plane lower by one unknown, the same object each time."""
        if unknown not in self._lower:
            # One object each time, since it keeps what has been asked of it.
            forms = tuple(form - Form.of(unknown) for form in self.forms)
            self._lower[unknown] = HeadPlane(forms, self.gap, self.media)
        return self._lower[unknown]

    def above_known(self, name: Hashable, ground: Form, ink: Form) -> Interval:
        """The plane above ink on a ground, computed once for each name."""
        height = self.known.get(name)
        if height is None:
            height = self.known[name] = self.above(ground + ink)
        return height


class StatedGap(NamedTuple):
    """A gap as a pass states it, and on which sheet."""

    gap: HeadSetting
    media: str


@frozen
class StatedPlane:
    """The head plane of a pass that states its gap, with what it stated and on which sheet."""

    gap: HeadSetting
    media: str
    plane: HeadPlane


def _terms_without(form: Form, prefix: str) -> frozenset[tuple[str, Interval, int]]:
    """The terms of a form, those whose names begin with `prefix` without a name."""
    terms = []
    for term, count in form.terms.items():
        name = "" if term.name.startswith(prefix) else term.name
        terms.append((name, term.value, count))
    return frozenset(terms)


def settings_between(before: HeadPlane | None, plane: HeadPlane) -> int:
    """The gap settings that count for a plane after another one: 0 for level planes, else 1.

    `before` is None for the first plane.
    """
    return int(not plane.is_level_with(before))


@frozen
class Throw:
    """Head plane minus the surfaces on which a pass lands, in mm, before its own ink."""

    to_highest: Interval
    to_lowest: Interval

    def onto(self, surface: str) -> Interval:
        """The throw to one of the surfaces, `lowest` or `highest`."""
        return self.to_lowest if surface == "lowest" else self.to_highest

    @property
    def span(self) -> tuple[float, float]:
        """The least and the largest throw at the bad ends."""
        return (self.to_highest.low, self.to_lowest.high)
