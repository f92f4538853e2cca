"""What the measured dots and characters of a sign let expect of those that were not measured."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from signrules.model.passes import Pass
from signrules.model.sign import Sign
from signrules.physics.measured_dots import measured_dots
from signrules.rules.binding_rows import rows_binding
from signrules.rules.checks import Draft, Level, check
from signrules.rules.declaration import rule
from signrules.rules.dimensions import TABLES, source_of
from signrules.standards.dimension_tables import Standard

Standards = tuple[Standard, ...]


@rule(
    "braille.measured-spread",
    each="sign",
    source=TABLES,
    level=Level.NOTE,
    meets={"signs.room-214.measured": {"dot_height": ["0.74 mm", "0.75 mm", "0.76 mm"]}},
)
def braille_measured_spread(
    item: Sign, standards: Standards, passes: Mapping[str, Pass]
) -> Iterator[Draft]:
    """How many of the dots that were not measured may lie outside the range, going by those that
    were.

    It is the share of a normal distribution with the mean and the standard deviation of the
    measured heights, from two on. It has no limit and is only a hint: a handful of dots says
    little, and systematic differences are not normally distributed.

    Why it matters: dots that were measured within the range say little where they lie near its end
    or far apart.
    A job that breaks it: none, for it only informs; heights of 0.64, 0.70 and 0.76 mm are all
    within 0.6 to 0.9 mm, and yet 5 % of the dots are expected outside.
    One that meets it: heights of 0.74, 0.75 and 0.76 mm, of which none is.
    """
    heights = () if item.measured is None else item.measured.dot_height
    yield from _spread_of_sample(
        item,
        heights,
        "braille.dot_height",
        "dots",
        _layers_of_feature(passes, f"{item.id}.braille"),
        standards,
    )


@rule(
    "raised.measured-spread",
    each="sign",
    source=TABLES,
    level=Level.NOTE,
    meets={"signs.room-214.measured": {"depth": ["0.99 mm", "1.00 mm", "1.01 mm"]}},
)
def raised_measured_spread(
    item: Sign, standards: Standards, passes: Mapping[str, Pass]
) -> Iterator[Draft]:
    """How many of the raised characters that were not measured may lie outside the range, going by
    those that were.

    Reckoned as for dots: a normal distribution with the mean and the standard deviation of the
    measured depths. It has no limit and is a hint.

    Why it matters: characters that were measured just deep enough say little about their
    neighbours.
    A job that breaks it: none, for it only informs; depths of 0.80, 0.84 and 0.88 mm let expect 12
    % below 0.794 mm.
    One that meets it: depths of 0.99, 1.00 and 1.01 mm, which let expect none.
    """
    depths = () if item.measured is None else item.measured.depth
    yield from _spread_of_sample(
        item,
        depths,
        "raised.depth",
        "characters",
        _layers_of_feature(passes, f"{item.id}.raised"),
        standards,
    )


def _layers_of_feature(passes: Mapping[str, Pass], feature: str) -> int | None:
    """The layers of the one pass that builds a feature; None where several do, or none."""
    builders = [builder.layers for builder in passes.values() if feature in builder.builds]
    return builders[0] if len(builders) == 1 else None


def _spread_of_sample(
    item: Sign,
    values: Sequence[float],
    quantity: str,
    things: str,
    layers: int | None,
    standards: Standards,
) -> Iterator[Draft]:
    if len(values) < 2:
        return
    for standard, row in rows_binding(item, standards, quantity):
        # A share of another length has no range in mm to hold a sample against.
        if row.of is not None:
            continue
        least_value, most_value = (
            None if bound is None else bound.number for bound in (row.least, row.most)
        )
        # A height of nothing, which only a missing dot has, shows no layer.
        sample = measured_dots(values, least_value, most_value, layers if min(values) > 0 else None)
        assert sample.spread is not None  # There are two heights at the least.
        assert sample.expected_outside is not None
        expected_outside = round(sample.outside * sample.count)
        sample_text = (
            f"mean {sample.mean:.3f} mm, standard deviation {sample.spread:.3f} mm,"
            f" {expected_outside} of {sample.count} outside"
        )
        if sample.layer is not None:
            sample_text += f", {1000 * sample.layer.nominal:.1f} um a layer"
        yield check(
            f"the share of {things} expected outside the range ({sample_text})",
            measured=min(100.0 * sample.expected_outside, 100.0),
            unit="%",
            source=source_of(standard, row),
        )
