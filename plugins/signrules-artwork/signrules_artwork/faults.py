"""Errors of the readers, and the limits on what they take on."""

from __future__ import annotations

from attrs import define, field

from signrules.errors import ArtworkError, DocumentFault

MOST_POINTS = 4_000_000
"""The most corners that the shapes of one file may have in all."""

MOST_STEPS = 2_000_000
"""The most drawing operators or elements that are followed in one file, repeated ones included."""

MOST_CROSSINGS = 2_000_000
"""The most pairs of lines that may lie beside each other in one path, or of shapes in one layer."""

MOST_NOTES = 50


def artwork_error(path: str, found: str, expected: str) -> ArtworkError:
    """One fault at a place of a file."""
    return ArtworkError([DocumentFault(path, found, expected)])


@define
class Reading:
    """What one file has taken so far, and what there is to say of it.

    `where` is the page or part that is being read, `pixel` the size in mm of the largest pixel of
    an image. Raises ArtworkError beyond the limits.
    """

    where: str = ""
    points: int = 0
    steps: int = 0
    pairs: int = 0
    pixel: float | None = None
    notes: dict[str, int] = field(factory=dict)

    def note(self, text: str) -> None:
        """Says something once, however often it comes up."""
        if len(self.notes) < MOST_NOTES or text in self.notes:
            self.notes[text] = self.notes.get(text, 0) + 1

    def spend_points(self, count: int) -> None:
        """Counts corners."""
        self.points += count
        self._refuse(self.points > MOST_POINTS, f"shapes of more than {MOST_POINTS:,} corners")

    def spend_steps(self, count: int = 1) -> None:
        """Counts operators or elements."""
        self.steps += count
        self._refuse(self.steps > MOST_STEPS, f"more than {MOST_STEPS:,} drawing steps")

    def spend_pairs(self, count: int) -> None:
        """Counts what has to be compared with each other."""
        self.pairs += count
        many = f"more than {MOST_CROSSINGS:,} lines or shapes that cross each other"
        self._refuse(self.pairs > MOST_CROSSINGS, many)

    def told(self) -> tuple[str, ...]:
        """The notes, each with how often it came up."""
        return tuple(
            text if count == 1 else f"{text} ({count:,} times)"
            for text, count in self.notes.items()
        )

    def _refuse(self, too_much: bool, found: str) -> None:
        if too_much:
            expected = "less in one file: split it, or simplify its paths"
            raise artwork_error(self.where, found, expected)
