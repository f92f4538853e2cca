"""Invented ganged beds: several sheets or blanks on one bed, each with a chain of passes, mostly
the same.

No real shop, printer or sign stands behind them. Sheets lie in a grid whose rows are so close that
the head, passing over one, reaches into the next, unless they lie `apart`. The gaps are those of a
careful shop: with them the order kind by kind (every ground, then every white...) is safe, which
`constructive_plan` confirms by replay and audit.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator
from typing import Any

from attrs import evolve, frozen
from benchmarks.bed_kinds import BACKS, CHAINS, INKS, KINDS, RANK, REGIONS, Kind
from benchmarks.bed_signs import alike_signs, building, with_wide_dots

from signrules.model import (
    Alignment,
    Dial,
    Gap,
    Handling,
    Interval,
    Job,
    Media,
    Minutes,
    Pass,
    Printer,
    Spacers,
)
from signrules.physics.heights import Heights
from signrules.physics.machine import Machine
from signrules.planning.audit import audit
from signrules.planning.plan import Plan
from signrules.planning.planner import replay_order
from signrules.planning.setup_cost import Costs

EXACT = Interval.exact
Order = tuple[int, ...]
"""Items of a job by index (passes, after them handling) in the order in which they are done."""

SHEET = (180.0, 60.0)  # This and all other lengths in mm.
ROW_GAP, COLUMN_GAP, FAR_GAP = 10.0, 10.0, 70.0
HEAD_LENGTH, BASE_GAP, CLEARANCE, BOW = 40.0, 1.5, 1.0, 0.05
SPACERS = (0.5, 1.0, 1.5, 2.0)
DIAL, THROW = 3.0, 4.0
REGISTRATION, PINS = 0.4, 0.25
"""One flip between two passes is within the registration tolerance, two are not."""


@frozen
class _Bed:
    """What a bed is made of: as the arguments of `ganged_bed`."""

    sheets: int
    chains: tuple[tuple[str, ...], ...]
    thicknesses: tuple[float, ...]
    tolerance: float
    control: str
    dial_steps: int
    flips: int
    columns: int
    apart: bool
    colour_over: str
    stated: bool
    ordered: bool
    one_way: bool

    def names(self) -> list[str]:
        return [f"s{number + 1:02}" for number in range(self.sheets)]

    def thickness(self, number: int) -> float:
        """Sheets alternate between the thicknesses; where they lie apart, each row is of one."""
        step = number // self.columns if self.apart else number
        return self.thicknesses[step % len(self.thicknesses)]

    def tallest_near(self, number: int) -> float:
        """The thickest sheet that the head may pass over while it prints on one, nominally."""
        return (
            self.thickness(number) if self.apart else max(map(self.thickness, range(self.sheets)))
        )

    def spread(self) -> float:
        """By how much a neighbour may stand higher than it should, seen from a plane set over
        another sheet.
        """
        return BOW + (2 * self.tolerance if self.sheets > 1 else 0.0)

    def chain_of(self, number: int) -> tuple[str, ...]:
        return self.chains[number % len(self.chains)]

    def stands(self, chain: tuple[str, ...], upto: int) -> float:
        """The highest ink of a chain once the kinds up to a rank are printed, at the most."""
        printed = [KINDS[kind] for kind in chain if RANK[kind] <= upto]
        return max(sum(kind.grows(region).high for kind in printed) for region in REGIONS)

    def needs(self, chain: tuple[str, ...], kind: str) -> float:
        """How far above its reference, less the base gap, the head must be for a kind
        of a chain.
        """
        highest = max(self.stands(one, RANK[kind]) for one in self.chains)
        if kind in BACKS:
            highest += sum(BACKS[one].grows("logo").high for one in BACKS)
        if self.reference(kind) == "build-up":
            highest -= self.stands(chain, RANK[kind] - 1)
        return highest + self.spread() + CLEARANCE - BASE_GAP

    def reference(self, kind: str) -> str:
        return self.colour_over if kind in ("colour", "varnish") else "media"

    def gap_control(self) -> Spacers | Dial:
        if self.control == "dial":
            return Dial(DIAL, DIAL / self.dial_steps)
        return Spacers(SPACERS if self.control == "spacers" else ())

    def base_gap(self) -> float:
        """Without a control the machine is set up once, high enough for everything."""
        if self.control != "none":
            return BASE_GAP
        needs = [
            self.needs(chain, kind)
            for chain in self.chains
            for kind in (*chain, *(BACKS if self.flips else ()))
        ]
        difference = 0.0 if self.apart else max(self.thicknesses) - min(self.thicknesses)
        return round(BASE_GAP + difference + max(0.0, *needs), 1) + 0.1

    def gap(self, number: int, kind: str) -> Gap | None:
        """The least gap that the printer can set and that clears what stands when the kind is
        printed everywhere.
        """
        if not self.stated:
            return None
        if self.control == "none":
            return Gap(EXACT(0.0), self.reference(kind))
        need = (
            self.needs(self.chain_of(number), kind)
            + self.tallest_near(number)
            - self.thickness(number)
        )
        extras = self.gap_control().extras()
        return Gap(
            EXACT(next(extra for extra in extras if extra >= need - 1e-9)), self.reference(kind)
        )

    def passes_of(self, number: int, name: str) -> Iterator[Pass]:
        """The chain of one sheet and, where it is turned over, what is printed on its back."""
        chain = self.chain_of(number)
        for kind in chain:
            yield self._pass(number, name, kind, KINDS[kind], chain, "front")
        for kind in BACKS if number >= self.sheets - self.flips else ():
            yield self._pass(number, name, kind, BACKS[kind], tuple(BACKS), "back")

    def _pass(
        self, number: int, name: str, kind: str, made: Kind, chain: tuple[str, ...], side: str
    ) -> Pass:
        def named(kinds: tuple[str, ...]) -> tuple[str, ...]:
            return tuple(f"{name}-{one}" for one in kinds if one in chain and self.ordered)

        return Pass(
            id=f"{name}-{kind}",
            ink=made.ink,
            media=name,
            areas=tuple(REGIONS[region] for region in made.regions) or None,
            layers=made.layers,
            coverage=made.coverage,
            gap=self.gap(number, kind),
            side=side,
            directions=1 if self.one_way and made.thick else 2,
            crisp_on="highest" if self.one_way and kind in ("colour", "varnish") else "lowest",
            over=named(made.over),
            after=named(made.after),
        )

    def place(self, number: int) -> tuple[float, float]:
        row, column = divmod(number, self.columns)
        width, height = SHEET
        return column * (width + COLUMN_GAP), row * (height + (FAR_GAP if self.apart else ROW_GAP))

    def size(self) -> tuple[float, float]:
        places = [self.place(number) for number in range(self.sheets)]
        return max(x for x, _ in places) + SHEET[0], max(y for _, y in places) + SHEET[1]

    def media(self) -> list[Media]:
        give = Interval(-self.tolerance, 0.0, self.tolerance)
        return [
            Media(
                name,
                give.moved_to(self.thickness(at)),
                SHEET,
                self.place(at),
                bow=EXACT(BOW),
                hold="vacuum",
            )
            for at, name in enumerate(self.names())
        ]

    def handling(self) -> tuple[Handling, ...]:
        return tuple(
            Handling(
                f"{name}-flip",
                "flip",
                name,
                "pins",
                (f"{name}-{self.chain_of(at)[-1]}",) if self.ordered else (),
            )
            for at, name in list(enumerate(self.names()))[self.sheets - self.flips :]
        )


def ganged_bed(
    sheets: int,
    passes: int | tuple[int, ...],
    *,
    stated: bool = True,
    thicknesses: tuple[float, ...] = (3.0,),
    tolerance: float = 0.2,
    control: str = "spacers",
    dial_steps: int = 30,
    flips: int = 0,
    listed: str = "sheet by sheet",
    signs: int = 0,
    mistake: str | None = None,
    columns: int | None = None,
    ordered: bool = True,
    apart: bool = False,
    colour_over: str = "build-up",
    landing: float | None = None,
    throw: float = THROW,
    records: tuple[float, ...] = (),
    one_way: bool = False,
    seed: int = 0,
) -> Job:
    """So many sheets with so many passes each (see CHAINS); of the last `flips` sheets the back is
    printed as well.

    Several numbers of passes are taken in turn, as are several thicknesses: they make sheets of
    different types.
    `stated` says whether the passes state their gaps, `colour_over` above what colour and varnish
    state theirs (`media` or `build-up`), `ordered` whether `over` and `after` are given.
    `landing` is the landing tolerance, left out 0.3 mm for stated gaps and 0.06 mm for open ones,
    where alignments then matter; `throw` is how far the drops reach, and
    `records` are the extras of alignments on record. `one_way` says that thick clear ink is printed
    one way and that what lies over it must be crisp on its top, so that an alignment on record at
    0 may serve all the others.

    With `mistake` there is one in the middle of the bed: `gap`, of the dots, is stated far too low;
    `sign` has its dots too far apart. `seed` is that of the shuffled listing.
    """
    across = columns or max(min(sheets, 2), round(sheets**0.5))
    lengths = passes if isinstance(passes, tuple) else (passes,)
    chains = tuple(CHAINS[length] for length in lengths)
    form = (
        thicknesses,
        tolerance,
        control,
        dial_steps,
        flips,
        across,
        apart,
        colour_over,
        stated,
        ordered,
        one_way,
    )
    bed = _Bed(sheets, chains, *form)
    made = [item for number, name in enumerate(bed.names()) for item in bed.passes_of(number, name)]
    made = building(made, described := alike_signs(bed.names(), signs))
    if mistake == "gap":
        wrong = [item.id for item in made].index(f"s{(sheets + 1) // 2:02}-dots")
        made[wrong] = evolve(made[wrong], gap=Gap(EXACT(0.0)))
    if mistake == "sign":
        described[signs // 2] = with_wide_dots(described[signs // 2])
    printer = Printer(
        bed=bed.size(),
        base_gap=EXACT(bed.base_gap()),
        min_clearance=CLEARANCE,
        gap=bed.gap_control(),
        head_length=HEAD_LENGTH,
        carriage_speed=800,
        drop_speed=6000,
        max_throw=throw,
        landing_tolerance=landing or (0.3 if stated else 0.06),
        locating=(("pins", PINS),),
        minutes=Minutes(4, 2, 12),
    )
    job = Job(
        printer,
        tuple(bed.media()),
        INKS,
        tuple(made),
        bed.handling(),
        tuple(described),
        tuple(map(Alignment, records)),
        standards=("us-ada-2010",) if signs else (),
        registration_tolerance=REGISTRATION,
        name=f"an invented bed of {sheets} sheets, {len(made)} passes",
    )
    return relisted(job, listed, seed)


def relisted(job: Job, listed: str, seed: int = 0) -> Job:
    """The same job with its passes listed another way; shuffled, everything else is as well."""
    if listed == "shuffled":
        return _shuffled(job, random.Random(seed))
    key = _sheet_then_kind if listed == "sheet by sheet" else _kind_then_sheet
    return evolve(job, passes=tuple(sorted(job.passes, key=lambda item: key(item.id))))


def _shuffled(job: Job, chance: random.Random) -> Job:
    def mixed(some: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(chance.sample(some, len(some)))

    passes = [
        evolve(item, areas=item.areas and mixed(item.areas), over=mixed(item.over))
        for item in job.passes
    ]
    others = ("media", "inks", "handling", "signs", "alignments")
    return evolve(
        job, passes=mixed(tuple(passes)), **{name: mixed(getattr(job, name)) for name in others}
    )


# --- constructive orders --------------------------------------------------------------------------


def kind_by_kind(job: Job) -> Order:
    """Every ground, then every white, and so on; all that is turned is turned between fronts and
    backs.
    """
    return _sorted(job, _kind_then_sheet)


def thinnest_first(job: Job) -> Order:
    """Kind by kind on the thinnest sheets, then on the next; what is turned comes last."""
    nominal = {sheet.id: sheet.thickness.nominal for sheet in job.media}

    def key(name: str) -> tuple[object, ...]:
        sheet, _, kind = name.partition("-")
        front = RANK[kind] < RANK["flip"]
        return not front, nominal[sheet] if front else 0.0, RANK[kind], sheet

    return _sorted(job, key)


def kinds_by_thickness(job: Job) -> Order:
    """Kind by kind, each kind on the thinnest sheets first."""
    nominal = {sheet.id: sheet.thickness.nominal for sheet in job.media}

    def key(name: str) -> tuple[object, ...]:
        sheet, _, kind = name.partition("-")
        return RANK[kind], nominal[sheet], sheet

    return _sorted(job, key)


def sheet_by_sheet(job: Job) -> Order:
    """The fronts sheet by sheet, then all flips, then the backs sheet by sheet."""

    def key(name: str) -> tuple[object, ...]:
        kind = name.partition("-")[2]
        return (RANK[kind] > RANK["flip"]) - (RANK[kind] < RANK["flip"]), _sheet_then_kind(name)

    return _sorted(job, key)


def declared(job: Job) -> Order:
    """As listed, so far as the precedence allows."""
    return Machine(Heights(job)).declared_order()


CONSTRUCTIVE: dict[str, Callable[[Job], Order]] = {
    "kind by kind": kind_by_kind,
    "kinds by thickness": kinds_by_thickness,
    "thinnest first": thinnest_first,
    "sheet by sheet": sheet_by_sheet,
    "declared": declared,
}


def _sorted(job: Job, key: Callable[[str], tuple[object, ...]]) -> Order:
    return tuple(sorted(range(len(job.items)), key=lambda at: key(job.items[at].id)))


def _kind_then_sheet(name: str) -> tuple[object, ...]:
    sheet, _, kind = name.partition("-")
    return RANK[kind], sheet


def _sheet_then_kind(name: str) -> tuple[object, ...]:
    sheet, _, kind = name.partition("-")
    return sheet, RANK[kind]


def constructive_plan(job: Job, order: Order) -> Plan | None:
    """An order with its cheapest gaps, as a plan that the audit has nothing to say against; None
    where it has.
    """
    timeline = replay_order(Machine(Heights(job)), order)
    costs = Costs.of(job.printer.minutes)
    plan = Plan(timeline, costs.of_timeline(timeline), (0, 0.0), False, costs.stated)
    return None if audit(job, plan) else plan


def best_constructive(job: Job) -> tuple[int, float] | None:
    """The least cost of the constructive orders that are safe; None where none of them is."""
    orders = dict.fromkeys(order_of(job) for order_of in CONSTRUCTIVE.values())
    plans = (constructive_plan(job, order) for order in orders)
    return min((plan.cost for plan in plans if plan is not None), default=None)
