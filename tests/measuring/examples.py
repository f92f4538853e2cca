"""The examples of the procedures, measured."""

from __future__ import annotations

import tomllib

from signrules import Measurement, measure, procedures

EXAMPLES = {each.figure: tomllib.loads(each.example) for each in procedures()}


def measured(figure: str, **changes: object) -> Measurement:
    return measure(figure, EXAMPLES[figure] | changes)
