"""What a run sheet is made of: blocks of steps with what to set, to tick and to write down."""

from __future__ import annotations

from attrs import frozen


@frozen
class Tick:
    """A box to tick, and what to do where it cannot be ticked.

    One with a `short` label is asked at many steps: what it means in full, and what to do without
    it, is said once on the page. A `reaching` one is asked before hands or tools go to the bed.
    """

    label: str
    otherwise: str
    short: str = ""
    reaching: bool = False


@frozen
class Blank:
    """A place to write: what, the nominal value beside it, and between which limits it may lie.

    `key` names it in the record that a browser keeps of the page; `least` and `most` are the limits
    in mm, None where there is none.
    """

    key: str
    label: str
    nominal: str = ""
    limits: str = ""
    least: float | None = None
    most: float | None = None


@frozen
class PrintRow:
    """One pass to print: its own number, what is sent, and what must not move.

    `facts` are what the operator needs at the machine; `figures` pairs of a label and a text for
    whoever wants to know why. `section` and `plan` are SVG that is made here.
    """

    number: int
    name: str
    facts: tuple[str, ...]
    still: tuple[str, ...]
    ticks: tuple[Tick, ...]
    findings: tuple[str, ...]
    figures: tuple[tuple[str, str], ...]
    artwork: str = ""
    section: str = ""
    plan: str = ""


@frozen
class Block:
    """What is done with one setting of the machine: a step, and the passes printed with it.

    `number` is the step's, None for prints that follow without a step of their own. `big` is the
    one number to set, legible at arm's length; `noun` says of what it is. `extra` is that of an
    alignment in mm, `picture` the load that goes on the bed.
    """

    kind: str
    number: int | None
    action: str
    noun: str = ""
    big: str = ""
    where: tuple[str, ...] = ()
    ticks: tuple[Tick, ...] = ()
    blanks: tuple[Blank, ...] = ()
    findings: tuple[str, ...] = ()
    prints: tuple[PrintRow, ...] = ()
    picture: str = ""
    extra: float | None = None


@frozen
class SheetRow:
    """A sheet of a load: where and how it lies, in words, and its thickness to measure."""

    name: str
    place: str
    thickness: Blank
