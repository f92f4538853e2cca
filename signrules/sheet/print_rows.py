"""The passes of a run sheet: what is sent, what to look at, what must not move, and pictures."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from signrules.evaluation import Evaluation
from signrules.model.passes import Pass
from signrules.physics.machine import Move
from signrules.physics.timeline import Printing
from signrules.sheet.bed_clearing import Band, Clearing, cleared_scenes, clearings_of, next_over
from signrules.sheet.bed_plan import bed_plan
from signrules.sheet.blocks import Blank, Finding, PrintRow, Tick
from signrules.sheet.cross_section import cross_section
from signrules.sheet.dots_form import signs_to_measure
from signrules.sheet.finding_words import finding_words
from signrules.sheet.language import Language
from signrules.sheet.scene import Scale, scale_of, scene_of_each
from signrules.sheet.sheet_words import clean_text
from signrules.sheet.ticks import band_alone, head_keeps_off, put_on_again, taken_off

MOST_PARTNERS = 3
"""Passes to register with that are named; of more the first and how many."""

MOST_SOURCES = 3
"""Layers of artwork of a pass that are named; of more the first and how many."""


class PrintRows:
    """Makes the rows of the passes of an evaluation that has a plan."""

    def __init__(self, result: Evaluation, language: Language) -> None:
        assert result.plan is not None
        self.job, self.timeline, self.language = result.job, result.timeline, language
        self.machine = result.timeline.machine
        whole = scene_of_each(self.timeline)
        self._clearings = clearings_of(self.timeline, result.plan.steps, whole)
        self.scenes = cleared_scenes(whole, self._clearings.values())
        self.scale: Scale | None = None
        if self.scenes:
            self.scale = scale_of(self.job, tuple(self.scenes.values()))
        self.number_of = {
            step.printing.pass_index: number
            for number, step in enumerate(result.plan.steps, start=1)
            if step.kind == "print" and step.printing is not None
        }
        self._step_of_alignment = {
            step.extra: number
            for number, step in enumerate(result.plan.steps, start=1)
            if step.kind == "align"
        }
        self._handled = {
            step.subject: number
            for number, step in enumerate(result.plan.steps, start=1)
            if step.kind == "handle"
        }
        unloaded = {
            step.subject: number
            for number, step in enumerate(result.plan.steps, start=1)
            if step.kind == "unload"
        }
        # A load that nothing is printed on never comes off, and its signs have no dots yet.
        self._measured = {
            form.load: unloaded[form.load]
            for form in signs_to_measure(result, language)
            if form.load in unloaded
        }
        self.findings: dict[str, list[Finding]] = {}
        for check in result.violations:
            found = self.findings.setdefault(check.subjects[0], [])
            found.append(finding_words(check, language))

    def row(self, number: int, printing: Printing) -> PrintRow:
        """The row of a pass as it is printed."""
        assert self.scale is not None
        item, scene = self.job.passes[printing.pass_index], self.scenes[printing.pass_index]
        return PrintRow(
            number,
            clean_text(item.id),
            tuple(self._facts(printing, item)),
            tuple(self._still(printing.pass_index)),
            tuple(self.findings.get(f"passes.{item.id}", ())),
            tuple(self._figures(printing, item)),
            self._artwork_words(item),
            self._entry(number, printing, item),
            cross_section(scene, self.scale, f"section-{number}", self.language),
            bed_plan(scene, f"plan-{number}", self.language),
        )

    def steps_to_review(self) -> tuple[list[int], bool]:
        """The steps at which a finding stands, and whether there are others."""
        step_of = {
            f"passes.{self.job.passes[pass_index].id}": number
            for pass_index, number in self.number_of.items()
        }
        step_of |= {f"handling.{name}": number for name, number in self._handled.items()}
        steps = sorted(step_of[each] for each in self.findings if each in step_of)
        return steps, len(steps) < len(self.findings)

    # --- by which alignment -----------------------------------------------------------------------

    def served_by(self, extra: float) -> list[int]:
        """The passes, in printing order, that print both ways by an alignment."""
        return self._served.get(extra, [])

    @cached_property
    def _served(self) -> dict[float | None, list[int]]:
        passes_served: dict[float | None, list[int]] = {}
        for pass_index, printing in self.timeline.printings.items():
            if self.job.passes[pass_index].directions == 2:
                alignment = self.timeline.serving_alignment(printing)
                passes_served.setdefault(alignment, []).append(pass_index)
        return passes_served

    def users(self, extra: float) -> str:
        """The passes that print by an alignment, in words."""
        return self._listed(self.served_by(extra)) or self.language.say("no pass of this job")

    def _listed(self, passes: list[int]) -> str:
        return self.language.listed(passes, self._with_step)

    def _with_step(self, pass_index: int) -> str:
        name, number = self.job.passes[pass_index].id, self.number_of[pass_index]
        return self.language.say("{name} ({number})", name=name, number=number)

    # --- what is sent -----------------------------------------------------------------------------

    def _facts(self, printing: Printing, item: Pass) -> Iterator[str]:
        """What the operator sets or knows for the pass."""
        language = self.language
        layers = language.say_count("{count} layer", "{count} layers", item.layers)
        ink = f"{clean_text(item.ink)}, {layers}"
        if item.coverage < 1:
            percent = language.unit(language.figure(item.coverage * 100), "%")
            ink += ", " + language.say("{percent} covered", percent=percent)
        yield ink
        if len(self.job.media) > 1 or self._is_turned(item):
            yield self._media_words(item)
        yield self._direction_words(printing, item)
        if item.sheet_temperature is not None:
            degrees = language.unit(language.figure(item.sheet_temperature), "\N{DEGREE SIGN}C")
            yield language.say("sheet at {degrees}", degrees=degrees)

    def _media_words(self, item: Pass) -> str:
        name = clean_text(self.job.media_of(item).id)
        if not self._is_turned(item):
            return self.language.say("on {media}", media=name)
        if item.side == "back":
            return self.language.say("on {media}, its back up", media=name)
        return self.language.say("on {media}, its front up", media=name)

    def _is_turned(self, item: Pass) -> bool:
        """Whether the sheet of a pass lies with its back up at some time."""
        sheet = self.job.media_of(item)
        return item.side == "back" or sheet.up == "back" or sheet.id in self.machine.turning

    def _direction_words(self, printing: Printing, item: Pass) -> str:
        if item.directions == 1:
            return self.language.say("one way")
        if self.timeline.serving_alignment(printing) is None:
            return self.language.say("both ways, no alignment is known")
        return self.language.say("both ways")

    def _entry(self, number: int, printing: Printing, item: Pass) -> Blank | None:
        """Where the alignment value of a pass is written that prints both ways.

        The job tells at which extra an alignment on record was made, and not what was entered.
        """
        language = self.language
        alignment = self.timeline.serving_alignment(printing)
        if item.directions == 1 or alignment is None:
            return None
        if alignment in self._step_of_alignment:
            step = self._step_of_alignment[alignment]
            label = language.say("enter value ({step})", step=step)
            return Blank(f"entered-{number}", label, counts=True)
        gauge = language.gauged(self.job.printer.base_gap.nominal + alignment)
        dates = [each.date for each in self.job.usable_alignments if each.extra == alignment]
        date = dates[0] if dates else None
        if date is None:
            label = language.say("enter value on record, gauge {gauge}", gauge=gauge)
        else:
            label = language.say(
                "enter value on record of {date}, gauge {gauge}",
                date=date.isoformat(),
                gauge=gauge,
            )
        return Blank(f"entered-{number}", label, counts=True)

    def _artwork_words(self, item: Pass) -> str:
        """The layers that a pass was read from; of very many the first."""
        words = [
            self.language.say(
                "{file}, page {page}, layer {layer}",
                file=clean_text(source.file),
                page=source.page,
                layer=clean_text(source.layer),
            )
            for source in item.artwork[:MOST_SOURCES]
        ]
        if len(item.artwork) > MOST_SOURCES:
            more = len(item.artwork) - MOST_SOURCES
            words.append(self.language.say("{count} more", count=more))
        return "; ".join(words)

    # --- why --------------------------------------------------------------------------------------

    def _figures(self, printing: Printing, item: Pass) -> Iterator[tuple[str, str]]:
        """The numbers on which the verdict of the pass rests."""
        language, printer = self.language, self.job.printer
        height = printing.plane.height
        yield language.say("Head plane above the bed"), language.interval(height)
        least = language.mm(printer.min_clearance)
        clearance = language.interval(printing.clearance)
        yield (
            language.say("Clearance"),
            language.say("{value}, at least {least}", value=clearance, least=least),
        )
        yield (
            language.say("Throw"),
            self._at_most(language.span(*printing.throw.span), printer.max_throw),
        )
        yield (
            language.say("Highest surface above the bed"),
            language.say(
                "{before} before, {after} after",
                before=language.mm(printing.surface_before.nominal),
                after=language.interval(printing.surface_after),
            ),
        )
        error = self.timeline.landing_errors[printing.pass_index]
        if item.directions == 2 and error is not None:
            label = language.say("Two-way landing error")
            if item.layers > 1:
                label = language.say("Two-way landing error at the first layer")
            yield label, self._at_most(language.mm(error), printer.allowed_landing_error)

    def _at_most(self, value: str, limit: float | None) -> str:
        if limit is None:
            return value
        return self.language.say(
            "{value}, at most {limit}", value=value, limit=self.language.mm(limit)
        )

    # --- what must not move -----------------------------------------------------------------------

    def _still(self, pass_index: int) -> Iterator[str]:
        """What must not move, and what this pass must register with."""
        language = self.language
        media = self.job.media_of(self.job.passes[pass_index])
        partners = self.machine.partners(pass_index)
        earlier, later = self._earlier_and_later(pass_index, partners)
        if earlier:
            yield self._registers_with(pass_index, earlier)
            yield from map(self._moved_since, self.timeline.moves_between(earlier[0], pass_index))
        if media.load in self._measured:
            yield self._until_measured(pass_index, later)
        elif later:
            yield self._leave_alone(pass_index, later)
        if not partners:
            yield language.say("No other pass registers with this one.")
        if media.hold == "none" and partners:
            yield language.say(
                "Nothing holds {media}: it may shift with every pass.", media=clean_text(media.id)
            )

    def _registers_with(self, pass_index: int, earlier: list[int]) -> str:
        positions = self.timeline.positions
        printed = [each for each in self.number_of if positions[each] < positions[pass_index]]
        if len(printed) == len(earlier) > 1:
            return self.language.say("Registers with every pass before it.")
        if len(earlier) <= MOST_PARTNERS:
            return self.language.say("Registers with {passes}.", passes=self._listed(earlier))
        return self.language.say(
            "Registers with the {count} passes from {first} on.",
            count=len(earlier),
            first=clean_text(self._with_step(earlier[0])),
        )

    def _earlier_and_later(
        self, pass_index: int, partners: frozenset[int] | set[int] | tuple[int, ...]
    ) -> tuple[list[int], list[int]]:
        """The partners that are printed before a pass and after it, in the order of printing."""
        positions = self.timeline.positions
        in_order = sorted(partners, key=positions.__getitem__)
        earlier = [other for other in in_order if positions[other] < positions[pass_index]]
        later = [other for other in in_order if positions[other] > positions[pass_index]]
        return earlier, later

    def _moved_since(self, move: Move) -> str:
        language, mover = self.language, clean_text(move.what)
        if move.what in self._handled:
            mover = language.say("{name} ({number})", name=mover, number=self._handled[move.what])
        if not move.method:
            return language.say("Moved since, by {mover}: nothing locates it.", mover=mover)
        method = clean_text(move.method)
        if move.error is None:
            return language.say(
                "Moved since, by {mover}: located by {method}.", mover=mover, method=method
            )
        return language.say(
            "Moved since, by {mover}: located by {method}, within {error}.",
            mover=mover,
            method=method,
            error=language.mm(move.error),
        )

    def _until_measured(self, pass_index: int, later: list[int]) -> str:
        """Which sheets stay until their dots are measured: for more layers they must not move."""
        language, position = self.language, self.timeline.positions[pass_index]
        load = self.machine.load_of[pass_index]
        sheets = [self.job.media_of(self.job.passes[other]).id for other in (pass_index, *later)]
        names = language.listed(list(dict.fromkeys(sheets)))
        step = self._measured[self.job.media_of(self.job.passes[pass_index]).load]
        if any(place > position and move.load == load for place, move in self.timeline.moves):
            return language.say(
                "Leave {media} in place until dots are measured ({step}a), but for the steps that"
                " move it.",
                media=names,
                step=step,
            )
        return language.say(
            "Leave {media} in place until dots are measured ({step}a).", media=names, step=step
        )

    def _leave_alone(self, pass_index: int, later: list[int]) -> str:
        """Which sheets stay where they lie until the last of the later partners of a pass."""
        language = self.language
        sheets = [self.job.media_of(self.job.passes[other]).id for other in (pass_index, *later)]
        names = language.listed(list(dict.fromkeys(sheets)))
        last_pass = clean_text(self._with_step(later[-1]))
        if self.timeline.moves_between(pass_index, later[-1]):
            return language.say(
                "Leave {media} in place until {last} is done, but for the steps that move it.",
                media=names,
                last=last_pass,
            )
        return language.say(
            "Leave {media} in place until {last} is done.", media=names, last=last_pass
        )

    # --- what must be off the bed -----------------------------------------------------------------

    def clearing_ticks(self, first_pass: int, *, in_full: bool) -> tuple[Tick, ...]:
        """What is asked of the bed before the gap is set for some passes, by the first of them.

        Unless `in_full`, a band is not asked for again that lies in one asked for before.
        """
        clearing = self._clearings[first_pass]
        bands = clearing.bands if in_full else clearing.new_bands
        return (*self._moving_ticks(clearing), *map(self._band_tick, bands))

    def _moving_ticks(self, clearing: Clearing) -> Iterator[Tick]:
        language = self.language
        again = next_over(self.timeline, clearing, self.scenes)
        for media in clearing.off:
            later = self._listed([again[media]] if media in again else [])
            yield taken_off(language, clean_text(media), later)
        for media in clearing.back:
            x, y = map(language.figure, self.job.media_named(media).at)
            yield put_on_again(language, clean_text(media), x, y)
        for media in clearing.staying:
            yield head_keeps_off(language, clean_text(media))

    def _band_tick(self, band: Band) -> Tick:
        language = self.language
        names, span = language.listed(band.sheets), language.span(band.low, band.high)
        return band_alone(language, names, span, language.at_most(band.highest))
