"""Rows of a schedule in words."""

from __future__ import annotations

from collections.abc import Iterable

from signrules.errors import MOST_OF_A_KIND


def rows_in_words(numbers: Iterable[int]) -> str:
    """Rows as a path names them: "row 3", "rows 3 and 5 to 9", of very many the first; nothing for
    the number 0.
    """
    every = sorted(set(numbers))
    if every == [0]:
        return ""
    runs: list[list[int]] = []
    for number in every:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    if len(every) == 1:
        return f"row {every[0]}"
    words = [word for run in runs[:MOST_OF_A_KIND] for word in _run_in_words(run)]
    if more := sum(map(len, runs[MOST_OF_A_KIND:])):
        words.append(f"{more:,} more")
    if len(words) == 1:
        return f"rows {words[0]}"
    return f"rows {', '.join(words[:-1])} and {words[-1]}"


def _run_in_words(run: list[int]) -> list[str]:
    """Rows that follow each other, two of them as two."""
    return [f"{run[0]} to {run[-1]}"] if len(run) > 2 else [str(number) for number in run]
