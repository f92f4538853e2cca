"""A picture of a plan: its steps in rows, as SVG."""

from __future__ import annotations

from collections.abc import Sequence
from textwrap import wrap
from xml.etree import ElementTree

from signrules.cautions import CAUTIONS
from signrules.evaluation import Evaluation, why_not_safe
from signrules.given_values import demand_given
from signrules.physics.timeline import Step
from signrules.planning.plan import NoSafeOrder
from signrules.reports.picture_text import as_sentence, text_width, wrapped_text
from signrules.reports.svg_parts import (
    MARGIN,
    MOST_TOLD,
    NARROWEST,
    SMALL,
    add_text,
    svg_document,
    svg_root,
)
from signrules.reports.text_report import MOST_OF_A_NAME, one_line, step_text


def plan_svg(result: Evaluation) -> str:
    """The plan as an SVG document: the verdict, the steps in rows of four, the cautions.

    Raises NoSafeOrder where there is no plan.
    """
    demand_given("plan_svg", (result, Evaluation))
    steps = steps_of(result)
    # Rounded up.
    rows = -(-len(steps) // _ACROSS)
    name = one_line(result.job.name, MOST_OF_A_NAME) or "job"
    sentences = " ".join(
        as_sentence(f"{number}: {step_text(step, result)}")
        for number, step in enumerate(steps[:MOST_TOLD], start=1)
    )
    verdict = one_line(result.verdict, MOST_OF_A_NAME)
    across = min(_ACROSS, max(len(steps), 1))
    width = max(NARROWEST, across * (_BOX_WIDE + 30) + MARGIN, text_width(verdict) + 2 * MARGIN)
    height_of_foot = 60 + rows * (_BOX_HIGH + 36)
    cautions = []
    for caution in CAUTIONS:
        cautions += wrap(str(caution), int((width - 40) / SMALL))
    svg = svg_root(
        width,
        height_of_foot + 16 * len(cautions) + 20,
        f"{name}: plan",
        one_line(f"{result.verdict}. {sentences}", 20_000),
    )
    add_text(svg, MARGIN, 44, verdict)
    for row, line in enumerate(cautions):
        add_text(svg, 20, height_of_foot + 16 * row + 10, line, small=True)
    for place in range(1, len(steps)):
        _draw_arrow_to_step(svg, place)
    for place, step in enumerate(steps):
        _draw_step(svg, place, step, f"{place + 1}. {step_text(step, result)}")
    return svg_document(svg)


_ACROSS = 4
"""The steps in a row."""

_BOX_WIDE, _BOX_HIGH = 210.0, 104.0


def _corner_of_step(place: int) -> tuple[float, float]:
    """The upper left corner of the box of a step."""
    return 20 + place % _ACROSS * (_BOX_WIDE + 30), 60 + place // _ACROSS * (_BOX_HIGH + 36)


def _draw_arrow_to_step(svg: ElementTree.Element, place: int) -> None:
    """The arrow from the step before; at the end of a row it goes back below that row."""
    (x1, y1), (x2, y2) = _corner_of_step(place - 1), _corner_of_step(place)
    group = ElementTree.SubElement(
        svg, "g", {"class": "edge", "data-from": str(place), "data-to": str(place + 1)}
    )
    if y1 == y2:
        path = f"M{x1 + _BOX_WIDE:g} {y1 + _BOX_HIGH / 2:g} H{x2 - 2:g}"
    else:
        # Between the rows, so that the way back crosses no box.
        path_down = f"M{x1 + _BOX_WIDE / 2:g} {y1 + _BOX_HIGH:g} V{y1 + _BOX_HIGH + 18:g}"
        path = f"{path_down} H{x2 + _BOX_WIDE / 2:g} V{y2 - 2:g}"
    ElementTree.SubElement(group, "path", {"d": path, "marker-end": "url(#sr-arrow)"})


def _draw_step(svg: ElementTree.Element, place: int, step: Step, words: str) -> None:
    x, y = _corner_of_step(place)
    attributes = {"class": f"node step {step.kind}", "data-step": str(place + 1)}
    if step.subject is not None:
        attributes["data-subject"] = one_line(step.subject)
    group = ElementTree.SubElement(svg, "g", attributes)
    ElementTree.SubElement(group, "title").text = one_line(words)
    box = {"x": f"{x:g}", "y": f"{y:g}", "width": f"{_BOX_WIDE:g}", "height": f"{_BOX_HIGH:g}"}
    rounding = "12" if step.kind in ("load", "unload") else "0"
    ElementTree.SubElement(group, "rect", {**box, "rx": rounding})
    lines = wrapped_text(words, 26, 5)
    for row, line in enumerate(lines):
        top = y + _BOX_HIGH / 2 - (len(lines) - 1) * 8.5 + row * 17 + 4.5
        add_text(group, x + 12, top, line)


def steps_of(result: Evaluation) -> Sequence[Step]:
    """The steps of the plan. Raises NoSafeOrder where there is none."""
    if result.plan is None:
        raise NoSafeOrder(why_not_safe(result))
    return result.plan.steps
