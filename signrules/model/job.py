"""The job: what is printed in one go."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Mapping
from functools import cached_property

from attrs import field, fields, frozen

from signrules.errors import JobError
from signrules.model.declaring import (
    any_text,
    calendar_day,
    ids_of,
    list_of,
    part_of,
    plain_length,
    plain_number,
    plugin_tables,
    rows_of,
    said_text,
    short_name,
)
from signrules.model.handling_kinds import HandlingKind, kinds_known
from signrules.model.limits import CELSIUS
from signrules.model.media import Ink, Media
from signrules.model.origins import Origin
from signrules.model.passes import Area, Handling, Pass
from signrules.model.plugin_data import PluginData
from signrules.model.printer import Printer
from signrules.model.quantities import GUARD_MM
from signrules.model.sign import Sign

ROOM_TEMPERATURE_C = 22.0


@frozen
class Alignment:
    """A bidirectional alignment on record, made at an extra in mm over a bare sheet (negative: a
    raised one).

    `date` is the day on which it was made, None where nobody noted it.
    """

    extra: float = field(
        metadata=plain_length(
            "over a bare sheet; negative where the scrap was raised",
            usual=(-10.0, 20.0),
        )
    )
    date: datetime.date | None = field(
        default=None,
        metadata=calendar_day(
            "when it was made; one older than `printer.head_work` counts as not on record"
        ),
    )

    def stale_by(self, head_work: datetime.date | None) -> int | None:
        """Days from the alignment to later work on the heads: 0 without any, None if not known."""
        if head_work is None or self.date is None:
            return None
        # Of the same day the alignment is taken for the later: heads are aligned after work on
        # them.
        return max(0, (head_work - self.date).days)


@frozen
class Waiver:
    """A finding that someone answers for: which rule, on what, why, who, until when."""

    rule: str = field(metadata=short_name("the name of the rule"))
    subject: str = field(
        metadata=short_name("the first subject of the check, such as `signs.room-214`")
    )
    reason: str = field(metadata=said_text("why it may stay; not blank"))
    by: str = field(metadata=said_text("who answers for it; not blank"))
    until: datetime.date | None = field(
        default=None, metadata=calendar_day("the last day on which it holds")
    )


@frozen
class Job:
    """Printer, media, inks, passes, handling and signs of one job, and the standards that it is
    sold under.

    A job that exists is consistent: ids are unique, what they name is there, areas lie on their
    sheets and sheets on the bed, `after` and `over` have no cycle. Raises JobError, which lists
    everything that is not so.

    `origins` say by path, such as `printer.drop_speed` or `inks.clear.layer`, where figures come
    from that the job does not state itself or that say how they came about; they make no
    difference between two jobs. `handling_kinds` are the kinds of its handling that plugins
    brought; `kind_of` says of which kind a handling is.
    """

    printer: Printer = field(metadata=part_of(Printer, "see below"))
    media: tuple[Media, ...] = field(metadata=rows_of(Media, "the sheets"))
    inks: tuple[Ink, ...] = field(metadata=rows_of(Ink, "what is laid"))
    passes: tuple[Pass, ...] = field(metadata=rows_of(Pass, "the prints"))
    handling: tuple[Handling, ...] = field(
        default=(), metadata=rows_of(Handling, "anything else that is done at the machine")
    )
    signs: tuple[Sign, ...] = field(default=(), metadata=rows_of(Sign, "what comes of it"))
    alignments: tuple[Alignment, ...] = field(
        default=(), metadata=rows_of(Alignment, "bidirectional alignments on record")
    )
    standards: tuple[str, ...] = field(
        default=(),
        metadata=list_of(
            any_text(""), "a list of texts", "the dimension tables that the signs are sold under"
        ),
    )
    sequence: tuple[str, ...] | None = field(
        default=None,
        metadata=ids_of(
            "passes or handling",
            "an order to judge; it lists every pass and handling once",
            otherwise="the planner chooses",
        ),
    )
    registration_tolerance: float | None = field(
        default=None,
        metadata=plain_length(
            "how far passes that register may lie apart", least=GUARD_MM, usual=(0.01, 2.0)
        ),
    )
    temperature: float = field(
        default=ROOM_TEMPERATURE_C,
        metadata=plain_number(CELSIUS, -50, 300, "of the room", usual=(5.0, 45.0), unit=CELSIUS),
    )
    waivers: tuple[Waiver, ...] = field(
        default=(), metadata=rows_of(Waiver, "findings that someone answers for")
    )
    name: str = field(default="", metadata=any_text("what the report calls the job"))
    revision: str | None = field(
        default=None, metadata=short_name("which state of the job this is; the run sheet shows it")
    )
    revised: datetime.date | None = field(
        default=None, metadata=calendar_day("the day of this revision; the run sheet shows it")
    )
    read_notes: tuple[str, ...] = field(
        default=(),
        metadata=list_of(
            any_text(""),
            "a list of texts",
            "what was taken for granted when the job was read from artwork; the report shows it",
        ),
    )
    data: PluginData = field(
        default=(), metadata=plugin_tables("what it says to plugins, a table for each by its name")
    )
    handling_kinds: tuple[HandlingKind, ...] = ()
    origins: Mapping[str, Origin] = field(factory=dict, eq=False, repr=False)

    def __attrs_post_init__(self) -> None:
        # Here and not above: that module reads the declarations of this class.
        from signrules.model.consistency import inconsistencies

        faults = inconsistencies(self)
        if faults:
            raise JobError(faults)

    @property
    def items(self) -> tuple[Pass | Handling, ...]:
        """The passes and after them the handling: what an order puts in order."""
        return (*self.passes, *self.handling)

    @property
    def usable_alignments(self) -> tuple[Alignment, ...]:
        """The alignments on record that hold: none older than the last work on the heads."""
        return tuple(a for a in self.alignments if not a.stale_by(self.printer.head_work))

    @cached_property
    def loaded_back_up(self) -> frozenset[str]:
        """The ids of the sheets that first go on the bed with their back up."""
        return frozenset(sheet.id for sheet in self.media if sheet.up == "back")

    def media_named(self, id: str | None) -> Media:
        """The sheet of that id; None stands for the only one."""
        return self._media_by_id[id]

    def media_of(self, item: Pass | Handling | Sign) -> Media:
        """The sheet that a pass prints on, that is handled, or that carries a sign."""
        return self.media_named(item.media)

    def areas_of(self, item: Pass) -> tuple[Area, ...]:
        """The rectangles of a pass; the whole sheet where it names none."""
        if item.areas is not None:
            return item.areas
        width, height = self.media_of(item).size
        return (Area(0.0, 0.0, width, height),)

    def ink_of(self, item: Pass) -> Ink:
        """The ink of a pass."""
        return self.ink_named(item.ink)

    def ink_named(self, id: str) -> Ink:
        """The ink of that id."""
        return self._inks_by_id[id]

    def sign_named(self, id: str) -> Sign:
        """The sign of that id."""
        return self._signs_by_id[id]

    def handling_named(self, id: str | None) -> Handling:
        """The handling of that id."""
        return self._handling_by_id[id]

    def kind_of(self, item: Handling) -> HandlingKind:
        """What a handling means for sheets, time and people."""
        return self._kinds_by_name[item.does]

    def handling_words(self, item: Handling) -> str:
        """What a handling does, in words, with its sheet and the method that puts it back."""
        kind = self.kind_of(item)
        sheet = self.media_of(item).id if kind.on_sheet else ""
        method = "" if item.locates_by is None else f", located by {item.locates_by}"
        return f"{kind.told_of(sheet)}{method}"

    @cached_property
    def _kinds_by_name(self) -> Mapping[str, HandlingKind]:
        return kinds_known(self.handling_kinds)

    @cached_property
    def _signs_by_id(self) -> dict[str, Sign]:
        return {sign.id: sign for sign in self.signs}

    @cached_property
    def _media_by_id(self) -> dict[str | None, Media]:
        # Only a job of one sheet leaves the name out: consistency has seen to that.
        return {None: self.media[0], **{sheet.id: sheet for sheet in self.media}}

    @cached_property
    def _inks_by_id(self) -> dict[str, Ink]:
        return {ink.id: ink for ink in self.inks}

    @cached_property
    def _handling_by_id(self) -> dict[str | None, Handling]:
        return {item.id: item for item in self.handling}


def same_work(one: Job, other: Job) -> bool:
    """Whether two jobs print the same in the same way; signs, standards, waivers aside."""
    return all(getattr(one, name) == getattr(other, name) for name in _WORK)


_WORDS = ("name", "signs", "standards", "waivers", "origins")
"""What says something of a job and not what is done."""

_WORK = tuple(each.name for each in fields(Job) if each.name not in _WORDS)


def free_id(wanted: str, taken: Iterable[str]) -> str:
    """An id that nothing has yet: the wanted one, or that with a number."""
    ids = set(taken)
    id, number = wanted, 2
    while id in ids:
        id, number = f"{wanted}-{number}", number + 1
    return id
