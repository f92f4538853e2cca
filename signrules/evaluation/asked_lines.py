"""Lines of braille that plugins are asked for, each once."""

from __future__ import annotations

from signrules.plugins import Plugins
from signrules.rules.engine import Fault

Answers = dict[tuple[str, str, str], tuple[str | None, list[Fault]]]
"""By line, grade and language its cells, and the faults of the plugins that failed on it."""

_MOST_ANSWERS = 10_000


class Translator:
    """Asks the plugins once for each line, and gathers the faults of those that failed on it."""

    def __init__(self, plugins: Plugins, seconds: float | None, answers: Answers) -> None:
        self.faults: list[Fault] = []
        self._plugins, self._seconds, self._answers = plugins, seconds, answers
        self._asked: set[tuple[str, str, str]] = set()

    def translate(self, text: str, grade: str, language: str) -> str | None:
        """The cells of a line, None where no plugin translates it."""
        key = text, grade, language
        if key not in self._answers:
            # Someone who types a text asks for every line on the way to it: that must not grow for
            # ever.
            if len(self._answers) >= _MOST_ANSWERS:
                self._answers.clear()
            self._answers[key] = self._plugins.translate(*key, seconds=self._seconds)
        cells, faults = self._answers[key]
        if key not in self._asked:
            self._asked.add(key)
            self.faults += faults
        return cells

    def forget_failures(self) -> None:
        """Keep of the answers those that no plugin failed on."""
        for key in self._asked:
            if key in self._answers and self._answers[key][1]:
                del self._answers[key]
