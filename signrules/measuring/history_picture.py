"""A small plot of a figure over time, as SVG."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from html import escape

from signrules.errors import DocumentFault, ReadingsError
from signrules.measuring.drifting import drift, histories_of
from signrules.measuring.figure_records import Record, Records
from signrules.model.wording import NOTHING

WIDTH, HEIGHT = 480, 200
LEFT, RIGHT, TOP, BOTTOM = 64, 16, 28, 32
"""Room for the labels around the plot, in pixels."""


def history_svg(records: Records, figure: str) -> str:
    """The records of a figure over time: values, tolerances, and the stated tolerance as a band.

    A plot for each part that has records, one beneath the other. Raises ReadingsError where there
    is no record.
    """
    histories = histories_of(records, figure)
    if not histories:
        raise ReadingsError([DocumentFault(figure, NOTHING, f"a record of {figure}")])
    height = HEIGHT * len(histories)
    parts = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}"'
        f' viewBox="0 0 {WIDTH} {height}" font-family="sans-serif" font-size="11">',
        f"<title>{escape(figure)} over time</title>",
        f'<rect width="{WIDTH}" height="{height}" fill="#fff" />',
    ]
    for row_number, history in enumerate(histories):
        parts.append(f'<g transform="translate(0 {row_number * HEIGHT})">')
        parts += _plot_of(history)
        parts.append("</g>")
    return "\n".join([*parts, "</svg>"]) + "\n"


def _plot_of(history: Sequence[Record]) -> Iterator[str]:
    newest = history[-1]
    stated = drift(history, newest.figure, newest.of).stated
    ends = [end for record in history for end in (record.value.low, record.value.high)]
    low, high = min(ends), max(ends)
    # A single value has no height of its own, and one at 0 none in proportion to itself either.
    margin = (high - low) * 0.08 or abs(high) * 0.1 or 1.0
    low, high = low - margin, high + margin
    first, last = history[0].date.toordinal(), newest.date.toordinal()

    def across(record: Record) -> float:
        # Records of one day stand in the middle, on each other.
        share = (record.date.toordinal() - first) / (last - first) if last > first else 0.5
        return round(LEFT + 10 + share * (WIDTH - LEFT - RIGHT - 20), 1)

    def down(value: float) -> float:
        return round(TOP + (high - value) / (high - low) * (HEIGHT - TOP - BOTTOM), 1)

    title = f"{newest.figure} of {newest.of}" if newest.of else newest.figure
    yield f'<text x="8" y="16" font-weight="700">{escape(title)}, {escape(newest.unit)}</text>'
    if stated is not None:
        top, bottom = down(stated.value.high), down(stated.value.low)
        yield (
            f'<rect x="{LEFT}" y="{top}" width="{WIDTH - LEFT - RIGHT}"'
            f' height="{round(bottom - top, 1)}" fill="#ddd"><title>stated</title></rect>'
        )
    floor = HEIGHT - BOTTOM
    yield f'<path d="M{LEFT} {TOP}V{floor}H{WIDTH - RIGHT}" fill="none" stroke="#333" />'
    for value in (min(ends), max(ends)):
        yield f'<text x="{LEFT - 6}" y="{down(value) + 4}" text-anchor="end">{value:.4g}</text>'
    for record, anchor in ((history[0], "start"), (newest, "end")):
        record_x = across(record)
        day = record.date.isoformat()
        yield f'<text x="{record_x}" y="{floor + 16}" text-anchor="{anchor}">{day}</text>'
    for record in history:
        record_x, measured = across(record), record.value
        yield f'<path d="M{record_x} {down(measured.low)}V{down(measured.high)}" stroke="#111" />'
        yield f'<circle cx="{record_x}" cy="{down(measured.nominal)}" r="3" fill="#111" />'
