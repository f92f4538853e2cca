"""Catalogues of the languages of a page: those that are shipped, and those of plugins laid over
them.

A catalogue is a PO file of GNU gettext. What is laid over another adds texts and changes none: a
plugin translates what is its own, and never what the page itself says.
"""

from __future__ import annotations

import io
from collections.abc import Iterable, Iterator, Sequence
from importlib.resources import files
from typing import TYPE_CHECKING

from signrules.errors import SignrulesError

if TYPE_CHECKING:
    from babel.messages.catalog import Catalog, Message

ENGLISH_TAG = "en"
"""The language in which the pages are written."""

SHIPPED = ("de",)
"""Languages with a catalogue in this library, besides English."""


def shipped_texts(tag: str) -> tuple[str, ...]:
    """The PO file that the library brings of a language; none where it brings none."""
    if tag not in SHIPPED:
        return ()
    folder = files("signrules").joinpath("sheet", "languages")
    return (folder.joinpath(f"{tag}.po").read_text("utf-8"),)


def merged_catalogue(tag: str, texts: Sequence[str]) -> Catalog:
    """One catalogue of several PO files: each adds what those before it do not translate.

    Raises SignrulesError where one of them cannot be read, or where Babel is not installed.
    """
    first, *others = [read_catalogue(tag, text) for text in texts]
    known = set(map(_key_of, _translated(first)))
    for message in (each for other in others for each in _translated(other)):
        key = _key_of(message)
        if key not in known:
            known.add(key)
            # One that stands there without a translation would keep the place.
            first.delete(*key)
            first[message.id] = message
    return first


def texts_without_effect(owned: Iterable[tuple[str, Catalog]]) -> Iterator[tuple[str, str, str]]:
    """Which texts of catalogues of one language change nothing, since one before translates them
    in another way: the owner, the text, and whose translation stands.

    `owned` are owners with their catalogues, in their order.
    """
    standing: dict[tuple[str, str | None], tuple[str, Message]] = {}
    for owner, catalogue in owned:
        for message in _translated(catalogue):
            key = _key_of(message)
            first_owner, first = standing.setdefault(key, (owner, message))
            if first.string != message.string:
                yield owner, key[0], first_owner


def read_catalogue(tag: str, text: str) -> Catalog:
    """The catalogue in the text of a PO file.

    Raises SignrulesError where it cannot be read, or where Babel is not installed.
    """
    try:
        from babel import Locale, UnknownLocaleError
        from babel.messages.pofile import PoFileError, read_po
    except ModuleNotFoundError:
        raise SignrulesError(
            f"a page in {tag!r} needs the package Babel, which is not installed: pip install"
            " 'signrules[sheet]'"
        ) from None

    try:
        locale = Locale.parse(tag, sep="-")
        return read_po(io.StringIO(text), locale=locale, abort_invalid=True)
    except (ValueError, UnknownLocaleError) as error:
        raise SignrulesError(f"language {tag!r}: found {error}, expected a known tag") from None
    except PoFileError as error:
        raise SignrulesError(f"language {tag!r}: found {error}, expected a PO file") from None


def _translated(catalogue: Catalog) -> Iterator[Message]:
    """The messages that a page would take from a catalogue; its head is none of them."""
    for message in catalogue:
        forms = message.string or ""
        whole = bool(forms) and all(forms)
        if message.id and whole and not message.fuzzy:
            yield message


def _key_of(message: Message) -> tuple[str, str | None]:
    one = message.id if isinstance(message.id, str) else message.id[0]
    return one, message.context
