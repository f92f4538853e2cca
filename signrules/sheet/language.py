"""The language of a page: its texts from a catalogue, and numbers as that language writes them.

A page is written in English in the code. A catalogue, a PO file of GNU gettext, holds the same
texts in another language. What rules and plugins say of a job stays in English: it is quoted.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Mapping, Sequence
from gettext import GNUTranslations, NullTranslations
from typing import TypeVar

from attrs import field, frozen

from signrules.errors import SignrulesError
from signrules.model.quantities import Interval
from signrules.model.wording import expected_name, shown_value
from signrules.page_languages import ENGLISH_TAG, SHIPPED, merged_catalogue, shipped_texts
from signrules.sheet.sheet_words import NBSP, clean_text, figure_text, inner_limits

Thing = TypeVar("Thing")


@frozen(eq=False)
class Language:
    """The texts and numbers of one language; `tag` is its language tag, such as "en".

    `decimal` is the mark between whole numbers and parts. There is never one between thousands.
    """

    tag: str = ENGLISH_TAG
    decimal: str = "."
    texts: NullTranslations = field(factory=NullTranslations)

    def say(self, text: str, /, **values: object) -> str:
        """A text of the page with its values filled in."""
        translated = self.texts.gettext(text)
        return translated.format(**values) if values else translated

    def say_count(self, one: str, many: str, /, count: float, **values: object) -> str:
        """A text that names a number of things, which stands in it as `{count}`."""
        # Plural forms are chosen by whole numbers; a part of one counts as several.
        whole = int(count) if count == int(count) else 2
        translated = self.texts.ngettext(one, many, whole)
        return translated.format(count=self.figure(count), **values)

    def figure(self, value: float) -> str:
        """A number to a tenth of a micrometre (in mm)."""
        return self.with_mark(figure_text(value))

    def rounded(self, value: float, digits: int) -> str:
        """A number with so many digits after the mark."""
        return self.with_mark(f"{value:.{digits}f}")

    def unit(self, text: str, unit: str = "mm") -> str:
        """A number that is written already, with its unit."""
        return f"{text}{NBSP}{unit}"

    def mm(self, value: float) -> str:
        """A length in mm."""
        return self.unit(self.figure(value))

    def gauged(self, value: float) -> str:
        """A length in mm as a gauge shows it, to a hundredth."""
        return self.mm(round(value, 2))

    def gauged_span(self, low: float, high: float) -> str:
        """A range in mm, each end to a hundredth."""
        return self.span(round(low, 2), round(high, 2))

    def at_most(self, value: float) -> str:
        """A length in mm that is not to be exceeded, to a hundredth, never more than it is."""
        return self.mm(inner_limits(0.0, value)[1])

    def span(self, low: float, high: float) -> str:
        """A range in mm, or one number where both ends are written alike."""
        first, last = self.figure(low), self.figure(high)
        if first == last:
            return self.unit(first)
        return self.unit(self.say("{low} to {high}", low=first, high=last))

    def interval(self, value: Interval) -> str:
        """A length in mm with its tolerance."""
        return self.span(value.low, value.high)

    def listed(
        self, things: Sequence[Thing], name: Callable[[Thing], str] = str, most: int = 12
    ) -> str:
        """The names of things in a row, cleaned; of very many the first ones."""
        shown = [clean_text(name(thing)) for thing in things[:most]]
        if len(things) > most:
            shown.append(self.say("{count} more", count=len(things) - most))
        if len(shown) < 2:
            return "".join(shown)
        return self.say("{first} and {last}", first=", ".join(shown[:-1]), last=shown[-1])

    def with_mark(self, text: str) -> str:
        """A number that is written with a point, as this language writes it."""
        return text.replace(".", self.decimal)


ENGLISH = Language()


def language_of(tag: str, catalogues: Mapping[str, tuple[str, ...]] | None = None) -> Language:
    """The language of a tag: English, one that is shipped, or one of `catalogues`.

    `catalogues` are texts of PO files by the tag of their language, as plugins bring them. They are
    laid over what is shipped: each adds what those before it do not translate. Raises
    SignrulesError where there is no catalogue of the language, where it cannot be read, or where
    Babel is not installed.
    """
    if tag == ENGLISH.tag:
        return ENGLISH
    brought = dict(catalogues or {})
    further = brought.get(tag, ())
    if isinstance(further, str):
        raise TypeError(f"catalogues[{tag!r}] is {shown_value(further)}, expected a tuple of texts")
    texts = (*shipped_texts(tag), *further)
    if texts:
        return _catalogue_language(tag, texts)
    known = tuple(sorted({ENGLISH.tag, *SHIPPED, *brought}))
    expected = expected_name(tag, known, ", ".join(known))
    raise SignrulesError(f"language {tag!r}: found no catalogue of it, expected {expected}")


def _catalogue_language(tag: str, texts: Sequence[str]) -> Language:
    catalogue = merged_catalogue(tag, texts)
    # There is a catalogue, so Babel is installed.
    from babel import Locale
    from babel.messages.mofile import write_mo
    from babel.numbers import get_decimal_symbol

    compiled = io.BytesIO()
    write_mo(compiled, catalogue)
    compiled.seek(0)
    locale = Locale.parse(tag, sep="-")
    return Language(tag, get_decimal_symbol(locale), GNUTranslations(compiled))
