"""The steps of a plan as the sheet shows them: what to do, with which figures, what must not move,
what to check.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property

from attrs import frozen

from signrules.evaluation import Evaluation
from signrules.model.media import Media
from signrules.model.passes import Handling, Pass
from signrules.model.quantities import GUARD_MM
from signrules.physics.flatness import thickness_of
from signrules.physics.machine import Move
from signrules.physics.timeline import Printing, Step
from signrules.sheet.bedplan import bed_plan
from signrules.sheet.cross_section import cross_section
from signrules.sheet.gap_words import gap_setting, over_flat_scrap
from signrules.sheet.hands import (
    CURED,
    SCRAP_ALONE,
    STOPPED,
    bed_is_clear,
    before_reaching,
    steps_on_ink,
)
from signrules.sheet.scene import Scale, Scene, scale_of, scene_of_each
from signrules.sheet.sheet_words import (
    NBSP,
    clean_text,
    count_text,
    figure_text,
    interval_text,
    listed_things,
    mm_text,
    sentence_text,
    span_text,
)

DOES = {
    "reload": "take off and put back",
    "flip": "turn over",
    "release": "release and hold again",
    "pause": "pause",
}

Figure = tuple[str, str, str]


@frozen
class Card:
    """One step.

    `figures` are labels, values and what is to be said of them; the pictures are SVG that is made
    here.
    """

    number: int
    kind: str
    action: str
    subject: str
    figures: tuple[Figure, ...] = ()
    still: tuple[str, ...] = ()
    checks: tuple[str, ...] = ()
    findings: tuple[str, ...] = ()
    section: str | None = None
    plan: str | None = None


class Cards:
    """Makes the cards of an evaluation that has a plan."""

    def __init__(self, result: Evaluation) -> None:
        assert result.plan is not None
        self.result, self.job, self.timeline = result, result.job, result.timeline
        self.machine = result.timeline.machine
        self.steps = result.plan.steps
        self.scenes = scene_of_each(self.timeline)
        self.scale: Scale | None = None
        if self.scenes:
            self.scale = scale_of(self.job, tuple(self.scenes.values()))
        self.number_of = {
            step.printing.pass_index: number
            for number, step in enumerate(self.steps, start=1)
            if step.kind == "print" and step.printing is not None
        }
        self._on_ink = frozenset(steps_on_ink(self.steps))
        self._handled = {
            step.subject: number
            for number, step in enumerate(self.steps, start=1)
            if step.kind == "handle"
        }
        self._findings: dict[str, list[str]] = {}
        for check in result.violations:
            self._findings.setdefault(check.subjects[0], []).append(sentence_text(check.message))

    def before_the_load(self) -> list[Card]:
        """The alignments to make."""
        return [
            self._card(number, step)
            for number, step in enumerate(self.steps, start=1)
            if step.kind == "align"
        ]

    def at_the_machine(self) -> list[Card]:
        """All other steps."""
        return [
            self._card(number, step)
            for number, step in enumerate(self.steps, start=1)
            if step.kind != "align"
        ]

    def _card(self, number: int, step: Step) -> Card:
        match step.kind:
            case "align":
                return self._align(number, step)
            case "load":
                return self._load(number, step)
            case "gap":
                return self._gap(number, step)
            case "print":
                return self._print(number, step)
            case "handle":
                return self._handle(number, step)
            case _:
                load = f"bed load {clean_text(step.subject or '')}"
                return Card(number, step.kind, "Unload", load, checks=self._before_reaching(number))

    def _before_reaching(self, number: int) -> tuple[str, ...]:
        return before_reaching(inked=number in self._on_ink)

    # --- alignments -------------------------------------------------------------------------------

    def served_by(self, extra: float) -> list[int]:
        """The passes, in printing order, that print by an alignment."""
        return self._served.get(extra, [])

    @cached_property
    def _served(self) -> dict[float | None, list[int]]:
        """The passes that print both ways by the alignment that serves them."""
        passes_served: dict[float | None, list[int]] = {}
        for pass_index, printing in self.timeline.printings.items():
            if self.job.passes[pass_index].directions == 2:
                alignment = self.timeline.serving_alignment(printing)
                passes_served.setdefault(alignment, []).append(pass_index)
        return passes_served

    def users(self, extra: float) -> str:
        """The passes that print by an alignment, in words."""
        return self._listed(self.served_by(extra)) or "no pass of this job"

    def _listed(self, passes: list[int]) -> str:
        return listed_things(passes, self._with_step)

    def _with_step(self, pass_index: int) -> str:
        return f"{self.job.passes[pass_index].id} (step{NBSP}{self.number_of[pass_index]})"

    def _align(self, number: int, step: Step) -> Card:
        extra = step.extra or 0.0
        known = self.timeline.windows
        windows = [known[pass_index] for pass_index in self.served_by(extra) if pass_index in known]
        low = max((window.low for window in windows), default=extra)
        high = min((window.high for window in windows), default=extra)
        figures = [("Extra", mm_text(extra), "over a bare sheet")]
        if high - low > GUARD_MM:
            figures.append(("Serves", "", f"from {span_text(low, high)}"))
        figures += [
            ("Set", over_flat_scrap(self.job.printer.gap, extra, low, high), ""),
            ("Why", "", f"used by {self.users(extra)}"),
        ]
        pattern = "Both directions of the test pattern register with each other."
        checks = (STOPPED, SCRAP_ALONE, pattern, CURED)
        return Card(
            number, "align", "Align both directions", "on flat scrap", tuple(figures), checks=checks
        )

    # --- gap --------------------------------------------------------------------------------------

    def _gap(self, number: int, step: Step) -> Card:
        printing = step.printing
        assert printing is not None
        extra, media = printing.plane.gap.stated, clean_text(step.media or "")
        surface = {"media": f"the top of {media}", "build-up": f"the highest ink on {media}"}.get(
            step.above or "", "the bed"
        )
        # Over a sheet the gap comes on top of what the head keeps anyway; over the bed it is all.
        if step.above == "bed":
            extra_over, setting = extra, f"{mm_text(extra.nominal)} over the bed"
        else:
            extra_over = extra + self.job.printer.base_gap
            setting = gap_setting(self.job.printer.gap, extra.nominal)
        figures = [("Head plane", *_plane_text(printing))]
        if not printing.paid:
            is_same = (
                "as for the pass before, at nominal sizes; set and gauge it over this surface all"
                " the same"
            )
            figures.append(("Same height", "", is_same))
        gauge = f"Gauge between the head and {surface}: {interval_text(extra_over)}."
        clear = bed_is_clear(self.job.printer.gap)
        checks = (*self._before_reaching(number), gauge, clear)
        subject = f"{setting}, measured from {surface}"
        return Card(number, "gap", "Set the gap:", subject, tuple(figures), checks=checks)

    # --- printing ---------------------------------------------------------------------------------

    def _print(self, number: int, step: Step) -> Card:
        printing = step.printing
        assert printing is not None
        assert self.scale is not None
        scene = self.scenes[printing.pass_index]
        item = self.job.passes[printing.pass_index]
        return Card(
            number,
            "print",
            "Print",
            clean_text(item.id),
            tuple(self._figures(printing)),
            tuple(self._still(printing.pass_index)),
            tuple(self._checks(scene)),
            tuple(self._findings.get(f"passes.{item.id}", ())),
            cross_section(scene, self.scale, f"section-{number}"),
            bed_plan(scene, f"plan-{number}"),
        )

    def _figures(self, printing: Printing) -> Iterator[Figure]:
        item, printer = self.job.passes[printing.pass_index], self.job.printer
        layers = count_text(item.layers, "layer")
        if item.coverage < 1:
            layers += f", {figure_text(item.coverage * 100)}{NBSP}% covered"
        yield "Ink", f"{clean_text(item.ink)},", layers
        sheet = self.job.media_of(item)
        turned = item.side == "back" or sheet.up == "back" or sheet.id in self.machine.turning
        side_up = f"with its {item.side} up" if turned else ""
        yield "On", clean_text(sheet.id), side_up
        yield "Head plane", *_plane_text(printing)
        least_clearance = mm_text(printer.min_clearance)
        yield "Clearance", interval_text(printing.clearance), f"(at least {least_clearance})"
        yield "Throw", span_text(*printing.throw.span), _at_most(printer.max_throw)
        yield (
            "Surface",
            mm_text(printing.before.nominal),
            f"before, {mm_text(printing.after.nominal)} after",
        )
        if item.directions == 1:
            yield "Directions", "one way", ""
        else:
            yield from self._both_ways(printing, item)
        for source in item.artwork:
            drawn_at = f"page {source.page}, layer {clean_text(source.layer)}"
            yield "Artwork", f"{clean_text(source.file)},", drawn_at
        if item.sheet_temperature is not None:
            yield "Sheet", f"{figure_text(item.sheet_temperature)}{NBSP}degrees Celsius", ""

    def _both_ways(self, printing: Printing, item: Pass) -> Iterator[Figure]:
        """By which alignment a pass prints both ways, and how far apart these land."""
        alignment = self.timeline.serving_alignment(printing)
        if alignment is None:
            yield "Directions", "both,", "no alignment is known"
        else:
            yield "Directions", "both,", f"aligned at {mm_text(alignment)}"
        error = self.timeline.landing_errors[printing.pass_index]
        if error is not None:
            at_layer = "" if item.layers == 1 else " at the first layer"
            allowed = self.job.printer.allowed_landing_error
            yield "Landing", f"within {mm_text(error)}{at_layer}", _at_most(allowed)

    def _still(self, item_index: int) -> Iterator[str]:
        """What must not move, and what this pass must register with."""
        media = self.job.media_of(self.job.passes[item_index])
        sheet, own_position = clean_text(media.id), self.timeline.positions[item_index]
        partners = self.machine.partners(item_index)
        earlier = [other for other in partners if self.timeline.positions[other] < own_position]
        later = [other for other in partners if self.timeline.positions[other] > own_position]
        earlier.sort(key=self.timeline.positions.__getitem__)
        later.sort(key=self.timeline.positions.__getitem__)
        if earlier:
            yield f"Registers with {self._listed(earlier)}."
            yield from map(self._moved_since, self.timeline.moves_between(earlier[0], item_index))
        if later:
            yield self._leave_alone(item_index, later)
        if not partners:
            yield "No other pass registers with this one."
        if media.hold == "none" and partners:
            yield f"Nothing holds {sheet}: it may shift with every pass."

    def _moved_since(self, move: Move) -> str:
        mover = clean_text(move.what)
        if move.what in self._handled:
            mover += f" (step{NBSP}{self._handled[move.what]})"
        if not move.method:
            return f"It has been moved since, by {mover}: nothing locates it."
        how = f"located by {clean_text(move.method)}"
        if move.error is not None:
            how += f", within {mm_text(move.error)}"
        return f"It has been moved since, by {mover}: {how}."

    def _leave_alone(self, pass_index: int, later: list[int]) -> str:
        """Which sheets stay where they lie until the last of the later partners of a pass."""
        sheets = [self.job.media_of(self.job.passes[other]).id for other in (pass_index, *later)]
        sheets = list(dict.fromkeys(sheets))
        they_lie = "it lies" if len(sheets) == 1 else "they lie"
        last_pass = clean_text(self._with_step(later[-1]))
        moved = self.timeline.moves_between(pass_index, later[-1])
        exception = ", except where a step says otherwise" if moved else ""
        return (
            f"Leave {listed_things(sheets)} where {they_lie} until {last_pass} is done{exception}."
        )

    def _checks(self, scene: Scene) -> Iterator[str]:
        printing, job = scene.printing, self.job
        item = job.passes[printing.pass_index]
        low, high = scene.band
        bed_depth = job.printer.bed[1]
        names = listed_things(scene.sheets)
        yield (
            f"Nothing but {names} lies from y = {figure_text(max(low, 0.0))} to"
            f" {mm_text(min(high, bed_depth))} of the bed."
        )
        bowed = [sheet for sheet in map(job.media_named, scene.sheets) if sheet.bow.high > 0]
        for sheet in bowed[:6]:
            yield f"{clean_text(sheet.id)} stands off the bed by at most {mm_text(sheet.bow.high)}."
        last = self._last_building
        done = [feature for feature in item.builds if last[feature] == printing.pass_index]
        if done:
            stands = "stands" if len(done) == 1 else "stand"
            height = interval_text(printing.after)
            yield f"{listed_things(done)} {stands} up to {height} above the bed."

    @cached_property
    def _last_building(self) -> dict[str, int]:
        """The pass that is printed last of those that build a feature, by the feature."""
        in_order = sorted(self.timeline.positions, key=self.timeline.positions.__getitem__)
        passes = [item_index for item_index in in_order if self.machine.is_pass(item_index)]
        return {
            feature: item_index
            for item_index in passes
            for feature in self.job.passes[item_index].builds
        }

    # --- loads and handling -----------------------------------------------------------------------

    @cached_property
    def _sheets_of_load(self) -> dict[str, list[Media]]:
        sheets: dict[str, list[Media]] = {}
        for sheet in self.job.media:
            sheets.setdefault(sheet.load, []).append(sheet)
        return sheets

    def _load(self, number: int, step: Step) -> Card:
        sheets = self._sheets_of_load[step.subject or ""]
        figures, checks = [], list(self._before_reaching(number))
        for sheet in sheets[:40]:
            x, y = sheet.at
            width, depth = sheet.size
            name = clean_text(sheet.id)
            size = f"{figure_text(width)} by {mm_text(depth)}"
            held = {None: "", "none": ", not held"}.get(sheet.hold, f", held by {sheet.hold}")
            back = ", back up" if sheet.id in (step.back_up or ()) else ""
            place_words = f"x = {figure_text(x)}, y = {mm_text(y)}"
            figures.append((name, place_words, f"lower corner; {size}{held}{back}"))
            checks.append(f"{name}: thickness {interval_text(thickness_of(sheet))}.")
            if back:
                checks.append(f"{name} lies with its back up.")
        if len(sheets) > 40:
            figures.append(("More", "", f"{len(sheets) - 40} sheets that are not listed here"))
        return Card(
            number,
            "load",
            "Load",
            f"bed load {clean_text(step.subject or '')}",
            tuple(figures),
            checks=tuple(checks),
        )

    def _handle(self, number: int, step: Step) -> Card:
        item = self.machine.items[self.machine.index[step.subject or ""]]
        assert isinstance(item, Handling)
        figures: list[Figure] = []
        checks: tuple[str, ...] = ()
        if item.does != "pause":
            figures.append(("Sheet", clean_text(self.job.media_of(item).id), ""))
            checks = self._before_reaching(number)
        if item.locates_by is not None:
            error = self.job.printer.locating_error(item.locates_by)
            within = "" if error is None else f"within {mm_text(error)}"
            figures.append(("Put back by", clean_text(item.locates_by), within))
        findings = tuple(self._findings.get(f"handling.{item.id}", ()))
        action = f"{DOES[item.does].capitalize()}:"
        return Card(
            number,
            "handle",
            action,
            clean_text(item.id),
            tuple(figures),
            checks=checks,
            findings=findings,
        )


def _plane_text(printing: Printing) -> tuple[str, str]:
    height = printing.plane.height
    place_words = "above the bed"
    if not height.is_exact:
        place_words += f" ({interval_text(height)})"
    return mm_text(height.nominal), place_words


def _at_most(limit: float | None) -> str:
    """A limit in mm in brackets; nothing where none is stated."""
    if limit is None:
        return ""
    return f"(at most {mm_text(limit)})"
