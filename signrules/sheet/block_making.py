"""From the plan of an evaluation to the blocks of its run sheet."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from attrs import evolve

from signrules.evaluation import Evaluation
from signrules.model.media import Media
from signrules.model.passes import BED, Handling
from signrules.model.printer import Spacers
from signrules.model.quantities import GUARD_MM, Interval
from signrules.physics.flatness import thickness_of
from signrules.physics.gauge_limits import GaugeRoom, gauge_room
from signrules.physics.timeline import Printing, Step
from signrules.sheet.blocks import Blank, Block, PatternReading, PrintRow, SheetRow, Tick
from signrules.sheet.gap_words import Setting, gap_setting, over_flat_scrap, spacer_to_buy
from signrules.sheet.gauge_blanks import aim_at_limit, gauge_blank
from signrules.sheet.hold_words import hold_words
from signrules.sheet.language import Language
from signrules.sheet.print_rows import PrintRows
from signrules.sheet.sheet_words import clean_text, inner_limits
from signrules.sheet.ticks import (
    back_lies_up,
    bed_clear,
    before_reaching,
    cured,
    directions_meet,
    gauge_fits,
    lies_flat,
    nothing_left,
    put_back,
    scrap_alone,
    steps_on_ink,
    stopped,
    stopped_scrap_off,
    thickness_fits,
)

MOST_IN_FULL = 6
"""Of more passes the pictures are folded in: they are there on a screen, and not on paper. Of
what must not move they then say what is new alone."""


class SetupBlocks:
    """Makes the blocks of an evaluation that has a plan."""

    def __init__(self, result: Evaluation, language: Language) -> None:
        assert result.plan is not None
        self.job, self.timeline, self.language = result.job, result.timeline, language
        self.machine = result.timeline.machine
        self.steps = result.plan.steps
        self.rows = PrintRows(result, language)
        self._on_ink = frozenset(steps_on_ink(self.steps))
        self._in_full = len(self.timeline.printings) <= MOST_IN_FULL

    def before_the_load(self) -> list[Block]:
        """The alignments to make."""
        return [
            self._align(number, step) for number, step in self._numbered() if step.kind == "align"
        ]

    def at_the_machine(self) -> list[Block]:
        """All other steps: each setting of the gap with the passes that it serves."""
        blocks: list[Block] = []
        before: PrintRow | None = None
        for number, step in self._numbered():
            if step.kind == "print":
                assert step.printing is not None
                row = self.rows.row(number, step.printing)
                said = said_once(row, before, still=self._in_full)
                if not blocks or blocks[-1].kind != "gap":
                    blocks.append(self._gap_as_it_is(number, step.printing))
                blocks[-1] = evolve(blocks[-1], prints=(*blocks[-1].prints, said))
                before = row
            elif step.kind != "align":
                blocks.append(self._block(number, step))
            if step.kind not in ("print", "gap"):
                before = None
        return blocks

    def sheets_of_load(self, load: str) -> list[SheetRow]:
        """The sheets of a load, with their thickness to measure."""
        return [
            SheetRow(
                clean_text(sheet.id),
                ", ".join(self._place_words(sheet)),
                self._thickness_blank(sheet.id, thickness_of(sheet)),
            )
            for sheet in self.job.media
            if sheet.load == load
        ]

    def _place_words(self, sheet: Media) -> Iterator[str]:
        """Where a sheet lies, how large it is, how it is held and how flat it must lie."""
        language = self.language
        x, y = map(language.figure, sheet.at)
        width, depth = map(language.figure, sheet.size)
        yield language.say("corner nearest origin {x} / {y}", x=x, y=y)
        yield language.unit(f"{width} \N{MULTIPLICATION SIGN} {depth}")
        if sheet.hold is not None:
            yield hold_words(language, sheet.hold)
        if sheet.bow.high > 0:
            yield language.say("flat to {bow}", bow=language.mm(sheet.bow.high))

    def spacers_to_buy(self) -> Iterator[str]:
        """What would save raising the scrap, for each alignment to make."""
        for _, step in self._numbered():
            if step.kind == "align":
                extra = step.extra or 0.0
                ends = self._range_of_alignment(extra)
                if text := spacer_to_buy(self.job.printer.gap, extra, *ends, self.language):
                    aligned = self.language.say(
                        "Aligned at an extra of {extra}", extra=self.language.mm(extra)
                    )
                    yield f"{aligned}: {text}."

    def _numbered(self) -> Iterator[tuple[int, Step]]:
        yield from enumerate(self.steps, start=1)

    def _block(self, number: int, step: Step) -> Block:
        match step.kind:
            case "load":
                return self._load(number, step)
            case "gap":
                return self._gap(number, step)
            case "handle":
                return self._handle(number, step)
            case _:
                return self._unload(number, step)

    def _before_reaching(self, number: int) -> tuple[Tick, ...]:
        return before_reaching(self.language, inked=number in self._on_ink)

    # --- alignments -------------------------------------------------------------------------------

    def _align(self, number: int, step: Step) -> Block:
        language, extra = self.language, step.extra or 0.0
        ends = self._range_of_alignment(extra)
        setting = over_flat_scrap(self.job.printer.gap, extra, *ends, language)
        base = self.job.printer.base_gap.nominal
        gauge = gauge_blank(
            f"alignment-{number}-gauge",
            base + setting.extra,
            base + ends[0],
            base + ends[1],
            language,
        )
        return Block(
            "align",
            number,
            language.say("Align both ways, over flat scrap"),
            setting.noun,
            setting.big,
            where=(
                *setting.notes,
                language.say("measure above top of scrap"),
                *aim_at_limit(gauge, base + setting.extra, language),
                language.say("for {users}", users=self.rows.users(extra)),
            ),
            first=(stopped(language), scrap_alone(language)),
            ticks=(gauge_fits(language), bed_clear(language, self.job.printer.gap)),
            blanks=(gauge, Blank(f"alignment-{number}-by", language.say("Read by"))),
            reading=self._pattern_reading(number, extra),
        )

    def _pattern_reading(self, number: int, extra: float) -> PatternReading:
        language, tolerance = self.language, self.job.printer.allowed_landing_error
        limit = "" if tolerance is None else language.mm(tolerance)
        entered = Blank(f"alignment-{number}-entered", language.say("Entered"))
        return PatternReading(extra, entered, (cured(language), directions_meet(language, limit)))

    def _range_of_alignment(self, extra: float) -> tuple[float, float]:
        """The extras over a bare sheet that serve all passes of an alignment, in mm."""
        known = self.timeline.windows
        served = [each for each in self.rows.served_by(extra) if each in known]
        low = max((known[each].low for each in served), default=extra)
        high = min((known[each].high for each in served), default=extra)
        return low, high

    # --- gap --------------------------------------------------------------------------------------

    def _gap(self, number: int, step: Step) -> Block:
        language, printing = self.language, step.printing
        assert printing is not None
        setting, gauge = self._setting_and_gauge(step, printing)
        where = [*setting.notes, self._surface_words(step)]
        if not printing.counts_as_setting:
            where.append(language.say("same height as before: set and gauge it here all the same"))
        passes = self._passes_of_gap(number)
        room = self._room_of_gap(passes)
        gauge_limits = (gauge.low - room.down, gauge.high + room.up)
        blank = gauge_blank(f"gap-{number}", gauge.nominal, *gauge_limits, language)
        where += aim_at_limit(blank, gauge.nominal, language)
        return Block(
            "gap",
            number,
            language.say("Set the gap"),
            setting.noun,
            setting.big,
            where=tuple(where),
            first=self._before_setting(number, passes[0]),
            ticks=(gauge_fits(language), bed_clear(language, self.job.printer.gap)),
            blanks=(
                blank,
                Blank(f"gap-{number}-by", language.say("Read by")),
            ),
        )

    def _gap_as_it_is(self, number: int, printing: Printing) -> Block:
        """The block of passes for which no gap is set."""
        action = self.language.say("The gap stays as it is set")
        first = self._before_setting(number, printing.pass_index)
        return Block("gap", None, action, first=first)

    def _before_setting(self, number: int, first_pass: int) -> tuple[Tick, ...]:
        clearing = self.rows.clearing_ticks(first_pass, in_full=self._in_full)
        return (*self._before_reaching(number), *clearing)

    def _setting_and_gauge(self, step: Step, printing: Printing) -> tuple[Setting, Interval]:
        """What is set, and what a gauge under the head then shows."""
        extra = printing.plane.gap.stated
        if step.above == "bed":
            # The head plane itself is stated: no base gap comes on top.
            noun = self.language.say("head over the bed")
            return Setting(noun, self.language.mm(extra.nominal), extra.nominal), extra
        setting = gap_setting(self.job.printer.gap, extra.nominal, self.language)
        return setting, extra + self.job.printer.base_gap

    def _surface_words(self, step: Step) -> str:
        media = clean_text(step.media or "")
        if step.above == "media":
            return self.language.say("measure above top of {media}", media=media)
        if step.above == "build-up":
            return self.language.say("measure above highest ink on {media}", media=media)
        return self.language.say("measure from the bed")

    def _room_of_gap(self, passes: list[int]) -> GaugeRoom:
        """How far the gap may be off: no further than halfway to another setting.

        Beyond that a spacer of another pass that was left in would still seem to fit.
        """
        room = gauge_room(self.timeline, passes)
        gap = self.timeline.printings[passes[0]].plane.gap
        if gap.above == BED:
            return room
        extra = gap.stated.nominal
        others = [other for other in self._other_extras if abs(other - extra) > GUARD_MM]
        below = [(extra - other) / 2 for other in others if other < extra]
        above = [(other - extra) / 2 for other in others if other > extra]
        return GaugeRoom(min([room.down, *below]), min([room.up, *above]))

    @cached_property
    def _other_extras(self) -> tuple[float, ...]:
        """What may have been set in place of what is asked: any spacer, or a gap of this job."""
        if isinstance(self.job.printer.gap, Spacers):
            return self.job.printer.gap.extras()
        planes = [printing.plane.gap for printing in self.timeline.printings.values()]
        return tuple({gap.stated.nominal for gap in planes if gap.above != BED})

    def _passes_of_gap(self, number: int) -> list[int]:
        """The passes that print between a gap setting and the next step that is no print."""
        passes = []
        for step in self.steps[number:]:
            if step.kind != "print" or step.printing is None:
                break
            passes.append(step.printing.pass_index)
        return passes

    # --- loads and handling -----------------------------------------------------------------------

    def _load(self, number: int, step: Step) -> Block:
        language, load = self.language, step.subject or ""
        backs = [back_lies_up(language, clean_text(name)) for name in step.back_up or ()]
        flat = []
        if any(sheet.load == load and sheet.bow.high > 0 for sheet in self.job.media):
            flat.append(lies_flat(language))
        sheets = [sheet for sheet in self.job.media if sheet.load == load]
        thick = [thickness_fits(language)]
        if all(thickness_of(sheet).is_exact for sheet in sheets):
            thick = []
        return Block(
            "load",
            number,
            language.say("Load"),
            self._load_words(load),
            first=self._before_loading(number),
            ticks=(*backs, *thick, *flat),
            picture=load,
        )

    def _before_loading(self, number: int) -> tuple[Tick, ...]:
        """What to ask before a load goes on: after an alignment its scrap still lies there."""
        first, *others = self._before_reaching(number)
        if number > 1 and self.steps[number - 2].kind == "align":
            first = stopped_scrap_off(self.language)
        return (first, *others)

    def _load_words(self, load: str) -> str:
        """Which bed load it is; nothing where there is one alone."""
        if len({sheet.load for sheet in self.job.media}) == 1:
            return ""
        return self.language.say("bed load {load}", load=clean_text(load))

    def _unload(self, number: int, step: Step) -> Block:
        language = self.language
        blanks = tuple(
            Blank(f"{key}-{number}", label, counts=key in ("good", "scrap"))
            for key, label in (
                ("good", language.say("Good")),
                ("scrap", language.say("Scrap")),
                ("unload-by", language.say("By")),
                ("remarks", language.say("Notes")),
            )
        )
        bed_load = self._load_words(step.subject or "")
        return Block(
            "unload",
            number,
            language.say("Unload"),
            bed_load,
            first=self._before_reaching(number),
            blanks=blanks,
        )

    def _handle(self, number: int, step: Step) -> Block:
        language = self.language
        item = self.machine.items[self.machine.index[step.subject or ""]]
        assert isinstance(item, Handling)
        kind = self.job.kind_of(item)
        where, ticks = [], list[Tick]()
        if kind.on_sheet:
            media = clean_text(self.job.media_of(item).id)
            where.append(language.say("sheet {media}", media=media))
        if kind.reaches:
            ticks += self._before_reaching(number)
        if kind.minutes:
            where.append(language.say("takes {minutes}", minutes=self._minutes(kind.minutes)))
        if kind.moves and item.locates_by is not None:
            method = clean_text(item.locates_by)
            where.append(self._put_back_words(method, item.locates_by))
            ticks.append(put_back(language, method))
        if kind.tools:
            ticks.append(nothing_left(language))
        findings = tuple(self.rows.findings.get(f"handling.{item.id}", ()))
        return Block(
            "handle",
            number,
            language.say(kind.words),
            clean_text(item.id),
            where=tuple(where),
            ticks=tuple(ticks),
            findings=findings,
        )

    def _put_back_words(self, method: str, named: str) -> str:
        error = self.job.printer.locating_error(named)
        if error is None:
            return self.language.say("put back by {method}", method=method)
        return self.language.say(
            "put back by {method}, within {error}", method=method, error=self.language.mm(error)
        )

    def _minutes(self, minutes: float) -> str:
        return self.language.unit(self.language.figure(minutes), "min")

    def _thickness_blank(self, sheet: str, thickness: Interval) -> Blank:
        limits = self.language.say("no limits given: ask before printing if it differs")
        if not thickness.is_exact:
            ends = inner_limits(thickness.low, thickness.high)
            low, high = map(self.language.figure, ends)
            limits = self.language.say("{low} to {high}", low=low, high=high)
        return Blank(
            f"thickness-{clean_text(sheet)}",
            self.language.say("Thickness"),
            self.language.mm(thickness.nominal),
            limits,
            thickness.low,
            thickness.high,
        )


def said_once(row: PrintRow, before: PrintRow | None, *, still: bool) -> PrintRow:
    """A row without what the row before it says in the same words.

    With `still`, a row that would say nothing of what must not move says it again.
    """
    if before is None:
        return row
    not_said = tuple(text for text in row.still if text not in before.still)
    if still and not not_said:
        not_said = row.still
    return evolve(row, still=not_said)
