"""What measured dots of signs say of the pass that built them, and which passes would help."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from attrs import evolve

from signrules.continuing.more_layers import (
    FINE,
    MORE,
    SCRAP,
    UNKNOWN,
    DotsAnswer,
    layer_shown,
    more_layers,
)
from signrules.continuing.progress import Progress
from signrules.errors import DocumentFault, RecordError
from signrules.evaluation import Evaluation
from signrules.model.job import Job
from signrules.model.passes import Area, Pass
from signrules.model.sign import Sign
from signrules.model.wording import joined_names


def dots_answers(whole: Evaluation, progress: Progress) -> Iterator[DotsAnswer]:
    """What the measured dots of each sign mean.

    Raises RecordError for a sign whose dots are not printed, or not by one pass alone.
    """
    job = whole.job
    for sign, heights in progress.measured:
        builder = _builder_of(job, sign, progress)
        on_top = _height_on_top(job, builder, progress)
        layer = layer_shown(heights, builder.layers, on_top)
        least, most = _range_of(whole, sign)
        verdict, count = UNKNOWN, 0
        if least is not None or most is not None:
            more = None
            if layer is not None:
                more = more_layers(min(heights), max(heights), least, most, layer)
            verdict, count = (SCRAP, 0) if more is None else (MORE if more else FINE, more)
        yield DotsAnswer(
            sign, builder.id, tuple(heights), least, most, verdict, count, layer, builder.ink
        )


def further_passes(job: Job, answers: Sequence[DotsAnswer], progress: Progress) -> tuple[Pass, ...]:
    """The passes that add what is missing: one for all signs of a pass that lack as many layers."""
    lacking: dict[tuple[str, int], list[str]] = {}
    for answer in answers:
        if answer.verdict == MORE:
            lacking.setdefault((answer.built_by, answer.layers), []).append(answer.sign)
    passes = {item.id: item for item in job.passes}
    taken = {item.id for item in job.items}
    made: list[Pass] = []
    for (name, count), signs in lacking.items():
        builder = passes[name]
        id_of_more = f"{name} more" if len(made) == 0 else f"{name} more {len(made) + 1}"
        while id_of_more in taken:
            id_of_more += " again"
        taken.add(id_of_more)
        made.append(
            evolve(
                builder,
                id=id_of_more,
                layers=count,
                areas=_areas_of_signs(job, builder, signs),
                gap=None,
                over=(name,),
                after=progress.done,
                builds=tuple(f"{sign}.braille" for sign in signs),
            )
        )
    return tuple(made)


def _builder_of(job: Job, sign: str, progress: Progress) -> Pass:
    """The pass that has built the dots of a sign."""
    builders = [
        item for item in job.passes if f"{sign}.braille" in item.builds and item.id in progress.done
    ]
    if len(builders) == 1:
        return builders[0]
    found = "no pass that builds its dots is done"
    if builders:
        found = f"{len(builders)} passes have built its dots"
    raise RecordError(
        [DocumentFault(f"measured.{sign}", found, f"one pass that builds {sign}.braille, done")]
    )


def _height_on_top(job: Job, builder: Pass, progress: Progress) -> float:
    """What done passes have laid on the dots since, in mm, nominal."""
    return sum(
        item.layers * job.ink_of(item).layer.nominal
        for item in job.passes
        if builder.id in item.over and item.id in progress.done
    )


def _range_of(whole: Evaluation, sign: str) -> tuple[float | None, float | None]:
    """The range in mm that every standard of the job allows the dots of a sign."""
    limits = [
        check.limit
        for check in whole.checks
        if check.rule == "braille.dot-height" and check.subjects[0] == f"signs.{sign}"
    ]
    least = max((low for low, _ in limits if low is not None), default=None)
    most = min((high for _, high in limits if high is not None), default=None)
    return least, most


def _areas_of_signs(job: Job, builder: Pass, signs: Sequence[str]) -> tuple[Area, ...] | None:
    """Where a pass prints on some signs alone.

    Raises RecordError where the job does not say where the signs lie.
    """
    if set(builder.built_signs) <= set(signs):
        return builder.areas
    stated = {sign.id: sign for sign in job.signs}
    unknown = [sign for sign in signs if stated[sign].area is None]
    if unknown:
        names = joined_names([f"signs.{sign}.area" for sign in unknown])
        raise RecordError(
            [
                DocumentFault(
                    f"measured.{unknown[0]}",
                    f"{builder.id}, which builds the dots of several signs",
                    f"{names} in the job, so that layers are added to these signs alone",
                )
            ]
        )
    return tuple(
        area
        for area in job.areas_of(builder)
        if any(_lies_in(area, stated[sign]) for sign in signs)
    )


def _lies_in(area: Area, sign: Sign) -> bool:
    frame = sign.area
    assert frame is not None
    middle_x, middle_y = area.x + area.width / 2, area.y + area.height / 2
    return (
        frame.x <= middle_x <= frame.x + frame.width
        and frame.y <= middle_y <= frame.y + frame.height
    )
