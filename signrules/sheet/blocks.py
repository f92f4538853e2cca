"""What a run sheet is made of: blocks of steps with what to set, to tick and to write down."""

from __future__ import annotations

from attrs import frozen


@frozen
class Tick:
    """A box to tick, and what to do where it cannot be ticked.

    One with a `short` label is asked at many steps: what it means in full, and what to do without
    it, is said once on the page, under `listed_as` where the short words differ from step
    to step. A `reaching` one is asked before hands or tools go to the bed.
    """

    label: str
    otherwise: str
    short: str = ""
    reaching: bool = False
    listed_as: str = ""

    @property
    def term(self) -> str:
        """The words under which the page explains it."""
        return self.listed_as or self.short

    @property
    def in_full(self) -> str:
        """What is asked, where nothing on the page explains short words."""
        return self.short if self.listed_as else self.label


@frozen
class Blank:
    """A place to write: what, the nominal value beside it, and between which limits it may lie.

    `key` names it in the record that a browser keeps of the page; `least` and `most` are the limits
    in mm, None where there is none. `counts` says that a short number is written.
    """

    key: str
    label: str
    nominal: str = ""
    limits: str = ""
    least: float | None = None
    most: float | None = None
    counts: bool = False


@frozen
class Finding:
    """What is to review at a step; `quoted` where it is told in English, in any language."""

    text: str
    quoted: bool


@frozen
class PatternReading:
    """What is read off a test pattern: for which extra over a bare sheet in mm, where the value to
    enter is written, and what is asked once it is entered.
    """

    extra: float
    entered: Blank
    ticks: tuple[Tick, ...]


@frozen
class PrintRow:
    """One pass to print: its own number, what is sent, and what must not move.

    `facts` are what the operator needs at the machine, `entry` the alignment value to enter, for a
    pass that prints both ways; `figures` pairs of a label and a text for whoever wants to know why.
    `section` and `plan` are SVG that is made here.
    """

    number: int
    name: str
    facts: tuple[str, ...]
    still: tuple[str, ...]
    findings: tuple[Finding, ...]
    figures: tuple[tuple[str, str], ...]
    artwork: str = ""
    entry: Blank | None = None
    section: str = ""
    plan: str = ""


@frozen
class Block:
    """What is done with one setting of the machine: a step, and the passes printed with it.

    `number` is the step's, None for prints that follow without a step of their own. `big` is the
    one number to set, legible at arm's length; `noun` says of what it is. `first` is asked before
    anything is set, `ticks` after it. `picture` is the load that goes on the bed.
    """

    kind: str
    number: int | None
    action: str
    noun: str = ""
    big: str = ""
    where: tuple[str, ...] = ()
    first: tuple[Tick, ...] = ()
    ticks: tuple[Tick, ...] = ()
    blanks: tuple[Blank, ...] = ()
    findings: tuple[Finding, ...] = ()
    prints: tuple[PrintRow, ...] = ()
    picture: str = ""
    reading: PatternReading | None = None

    @property
    def all_ticks(self) -> tuple[Tick, ...]:
        """Everything that the step asks."""
        read = () if self.reading is None else self.reading.ticks
        return (*self.first, *self.ticks, *read)


@frozen
class SheetRow:
    """A sheet of a load: where and how it lies, in words, and its thickness to measure."""

    name: str
    place: str
    thickness: Blank
