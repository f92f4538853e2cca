"""What rules made of a job, kept for the next one as long as nothing that they read has changed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from attrs import field, frozen

from signrules.physics.timeline import Printing
from signrules.rules.checks import Check
from signrules.rules.declaration import Rule

if TYPE_CHECKING:
    from signrules.rules.engine import Facts, Fault

OF_THE_REPLAY = frozenset({"timeline", "heights", "graph", "cycle"})
"""What is the same as long as the replay is: it holds all of a job but its name, signs, standards
and waivers.
"""

OF_THE_SUBJECT = frozenset({"item", "printing"})
ALWAYS_THE_SAME = frozenset({"settings", "translate", "data"})
"""`data` reads what a part of the job holds, and the part itself is compared."""


@frozen
class Kept:
    """What a rule yielded about one subject, and what it had read of it."""

    item: Any
    printing: Printing | None
    checks: tuple[Check, ...]
    faults: tuple[Fault, ...] = ()

    def holds_for(self, item: Any, printing: Printing | None) -> bool:
        """Whether the rule would yield the same again, all else being the same."""
        # Identity first: it is all that is needed for most parts, and costs nothing.
        return (self.item is item or self.item == item) and _are_alike(self.printing, printing)


Found = Mapping[str, Kept]
"""What one rule yielded, by subject."""


@frozen(eq=False)
class Memory:
    """The facts of the last evaluation and what each rule made of them.

    `Memory()` knows nothing.
    """

    facts: Facts | None = None
    found: Mapping[str, Found] = field(factory=dict)

    def of(self, rule: Rule, facts: Facts) -> Found:
        """What the rule yielded, where whatever it reads besides its subject is still the same;
        else nothing.
        """
        if self.facts is None or rule.name not in self.found:
            return {}
        reads = set(rule.reads) - OF_THE_SUBJECT - ALWAYS_THE_SAME
        if not all(_is_unchanged(name, self.facts, facts) for name in reads):
            return {}
        return self.found[rule.name]

    def holds_whole(self, rule: Rule, facts: Facts) -> bool:
        """Whether the subjects are the same too."""
        before = self.facts
        # Another replay has other printings, also of passes that are the same.
        if before is None or ("printing" in rule.reads and before.timeline is not facts.timeline):
            return False
        return before.unchanged_subjects(rule.each, facts)


def _is_unchanged(name: str, before: Facts, now: Facts) -> bool:
    if name in OF_THE_REPLAY:
        return before.timeline is now.timeline
    # By value: a form that writes a job anew gives equal parts that are other objects.
    return bool(getattr(before, name) == getattr(now, name))


def _are_alike(one: Printing | None, other: Printing | None) -> bool:
    # Field by field and not as a whole: planes are compared by what they consist of.
    if one is other or one is None or other is None:
        return one is other
    return (
        one.pass_index == other.pass_index
        and one.position == other.position
        and one.clearance == other.clearance
        and one.throw == other.throw
        and one.throw_at_end == other.throw_at_end
        and one.surface_before == other.surface_before
        and one.surface_after == other.surface_after
        and one.crisp_extra_at_end == other.crisp_extra_at_end
        and (one.crisp_extra, one.other_extra, one.counts_as_setting, one.side_up)
        == (other.crisp_extra, other.other_extra, other.counts_as_setting, other.side_up)
        and (one.plane.gap, one.plane.media, one.plane.key)
        == (other.plane.gap, other.plane.media, other.plane.key)
    )
