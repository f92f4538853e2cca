"""The graph of a job and its plan as Mermaid text."""

from __future__ import annotations

from itertools import pairwise

from signrules.cautions import CAUTIONS
from signrules.evaluation import Evaluation
from signrules.given_values import demand_given
from signrules.reports.alike_boxes import grouping_words, shown_boxes
from signrules.reports.plan_picture import steps_of
from signrules.reports.text_report import MOST_OF_A_NAME, one_line, step_text

_SHAPES = {
    "pass": ("[", "]"),
    "media": ("[[", "]]"),
    "height": ("(", ")"),
    "handling": ("{{", "}}"),
}


def graph_mermaid(result: Evaluation, *, surfaces: bool = False, every_pass: bool = False) -> str:
    """The job graph as Mermaid text: a flowchart whose edges are labelled by kinds of reasons.

    It shows what `graph_svg` shows; where passes are grouped, a box of its own says so.
    """
    demand_given("graph_mermaid", (result, Evaluation))
    shown = shown_boxes(result, surfaces=surfaces, every_pass=every_pass)
    # Ids of jobs may be words of the syntax, such as "end".
    keys = {box.name: f"n{number}" for number, box in enumerate(shown.boxes)}
    lines = ["flowchart TD"]
    for box in shown.boxes:
        left, right = _SHAPES[box.kind]
        words = mermaid_text(": ".join(box.lines[::-1]))
        lines.append(f'    {keys[box.name]}{left}"{words}"{right}')
    for edge in shown.edges:
        label = mermaid_text(edge.kinds)
        lines.append(f'    {keys[edge.source]} -->|"{label}"| {keys[edge.target]}')
    if shown.grouped:
        lines.append(f'    grouped["{mermaid_text(" ".join(grouping_words(shown)))}"]')
    return "\n".join(lines) + "\n"


def plan_mermaid(result: Evaluation) -> str:
    """The plan as Mermaid text: a flowchart of the verdict and the steps, with the cautions below.

    Raises NoSafeOrder where there is no plan.
    """
    demand_given("plan_mermaid", (result, Evaluation))
    steps = steps_of(result)
    words = [
        result.verdict,
        *(f"{number}. {step_text(step, result)}" for number, step in enumerate(steps, start=1)),
    ]
    nodes = {f"s{number}": text for number, text in enumerate(words)}
    arrows = [f"    {source} --> {target}" for source, target in pairwise(nodes)]
    below = {f"c{number}": str(caution) for number, caution in enumerate(CAUTIONS, start=1)}
    # Links of this kind are not drawn: they only keep what is linked one below the other.
    hidden = [
        f"    {source} ~~~ {target}" for source, target in pairwise([f"s{len(steps)}", *below])
    ]
    shown = [f'    {key}["{mermaid_text(text)}"]' for key, text in (nodes | below).items()]
    return "\n".join(["flowchart TD", *shown, *arrows, *hidden]) + "\n"


def mermaid_text(text: str) -> str:
    """Text as it stands between quotes in Mermaid: everything but letters, digits and a few signs
    as its number.

    Entity codes of the form `#35;` are part of the syntax of its flowcharts.
    """
    return "".join(map(_mermaid_char, one_line(text, MOST_OF_A_NAME * 2)))


def _mermaid_char(char: str) -> str:
    if char.isalnum() or char in " .,:-_()/":
        return char
    return f"#{ord(char)};"
