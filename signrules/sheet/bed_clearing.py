"""What comes off the bed before a gap is set, what goes back on, and what must stay."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from attrs import evolve, frozen

from signrules.model.quantities import GUARD_MM
from signrules.physics.timeline import Step, Timeline
from signrules.sheet.scene import Scene
from signrules.sheet.tall_sheets import height_beside, too_high_beside


@frozen
class Band:
    """What may lie under the way of the head: sheets, from which y to which, in mm on the bed.

    Whatever else is on the bed may stand no higher than `highest`, in mm above it.
    """

    sheets: tuple[str, ...]
    low: float
    high: float
    highest: float


@frozen
class Clearing:
    """What to do with the bed before the passes of one setting, and how it then is.

    `off` are sheets to take off, `back` those to put on again, `staying` those that the head could
    hit and that must not move. `absent` are all that are off the bed. `new_bands` are those of
    the bands that lie in none asked for since sheets were last put on or moved.
    """

    passes: tuple[int, ...]
    bands: tuple[Band, ...]
    new_bands: tuple[Band, ...]
    off: tuple[str, ...]
    back: tuple[str, ...]
    staying: tuple[str, ...]
    absent: frozenset[str]


def clearings_of(
    timeline: Timeline, steps: Sequence[Step], scenes: Mapping[int, Scene]
) -> dict[int, Clearing]:
    """The clearing before each setting, by the first pass that is printed with it.

    A sheet that was taken off goes back on before the head passes over its place again, for so the
    heights of the job are reckoned. Whatever is put on the bed anew is all there.
    """
    found: dict[int, Clearing] = {}
    absent: frozenset[str] = frozenset()
    asked: list[Band] = []
    for kind, passes in _settings(steps):
        if kind == "load":
            absent = frozenset()
        if kind != "print":
            asked = []
            continue
        clearing = _clearing(timeline, passes, [scenes[each] for each in passes], absent, asked)
        absent = clearing.absent
        asked += clearing.bands
        found[passes[0]] = clearing
    return found


def cleared_scenes(scenes: Mapping[int, Scene], clearings: Iterable[Clearing]) -> dict[int, Scene]:
    """The scenes without the sheets that were taken off the bed."""
    cleared = dict(scenes)
    for clearing in clearings:
        for each in clearing.passes:
            cleared[each] = evolve(scenes[each], absent=clearing.absent)
    return cleared


def _settings(steps: Sequence[Step]) -> Iterator[tuple[str, tuple[int, ...]]]:
    """The passes that are printed with each setting of the gap; the kinds of other steps."""
    passes: list[int] = []
    for step in steps:
        if step.kind == "print" and step.printing is not None:
            passes.append(step.printing.pass_index)
            continue
        if passes:
            yield "print", tuple(passes)
        passes = []
        if step.kind != "gap":
            yield step.kind, ()
    if passes:
        yield "print", tuple(passes)


def _clearing(
    timeline: Timeline,
    passes: tuple[int, ...],
    scenes: Sequence[Scene],
    absent: frozenset[str],
    asked: Sequence[Band],
) -> Clearing:
    in_band = {sheet for scene in scenes for sheet in scene.sheets}
    too_high = dict.fromkeys(media for scene in scenes for media in too_high_beside(scene))
    position = timeline.positions[passes[0]]
    staying, off = [], []
    for media in too_high:
        if media in in_band or media in absent:
            continue
        if _carries_register(timeline, position, media):
            staying.append(media)
        else:
            off.append(media)
    back = [media for media in sorted(absent) if media in in_band]
    still_absent = (absent - set(back)) | set(off)
    bands = tuple(_bands(scenes))
    return Clearing(
        passes,
        bands,
        tuple([band for band in bands if not any(_covers(other, band) for other in asked)]),
        tuple(off),
        tuple(back),
        tuple(staying),
        still_absent,
    )


def _bands(scenes: Sequence[Scene]) -> Iterator[Band]:
    """The bands of some passes, without those that lie in another over the same sheets."""
    bands = [_band(scene) for scene in scenes]
    for place, band in enumerate(bands):
        others = [*bands[:place], *(other for other in bands[place + 1 :] if other != band)]
        if not any(_covers(other, band) for other in others):
            yield band


def _band(scene: Scene) -> Band:
    low, high = scene.band
    bed_depth = scene.job.printer.bed[1]
    return Band(scene.sheets, max(low, 0.0), min(high, bed_depth), height_beside(scene))


def _covers(wide: Band, narrow: Band) -> bool:
    spans = wide.low <= narrow.low + GUARD_MM and narrow.high <= wide.high + GUARD_MM
    return spans and wide.sheets == narrow.sheets and wide.highest <= narrow.highest + GUARD_MM


def _carries_register(timeline: Timeline, position: int, media: str) -> bool:
    """Whether a sheet carries the register of a pass before a position to one at or after it."""
    job, positions = timeline.machine.job, timeline.positions
    before = [each for each in timeline.printings if positions[each] < position]
    for earlier in before:
        for later in timeline.machine.partners(earlier):
            sheets = {job.media_of(job.passes[each]).id for each in (earlier, later)}
            if positions[later] >= position and media in sheets:
                return True
    return False


def next_over(
    timeline: Timeline, clearing: Clearing, scenes: Mapping[int, Scene]
) -> dict[str, int]:
    """For each sheet to take off the next pass in whose band it lies, if there is one."""
    last = max(timeline.positions[each] for each in clearing.passes)
    later = [each for each in timeline.printings if timeline.positions[each] > last]
    later.sort(key=timeline.positions.__getitem__)
    found: dict[str, int] = {}
    for each in later:
        for media in clearing.off:
            if media in scenes[each].sheets:
                found.setdefault(media, each)
    return found
