"""The rule on raised letters that artwork draws as outlines: whether they spell the text."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import evolve

from signrules.model.sign import AS_TEXT, OUTLINES, Sign
from signrules.rules.checks import Draft, Level, geometry, missing, one_of
from signrules.rules.declaration import rule
from signrules.rules.dimensions import path_of

LOOK = (
    "Look at the drawing, and state {path} = 'text' once somebody has read the letters, or have"
    " them drawn as text"
)


@rule(
    "raised.text",
    each="sign",
    source=geometry("the enclosed holes of capitals and digits, and where their ink begins"),
    level=Level.REVIEW,
    breaks={"signs.room-214.raised.drawn": "unlike-text"},
    meets={"signs.room-214.raised.drawn": "text"},
)
def raised_text(item: Sign) -> Iterator[Draft]:
    """Whether letters that are drawn as outlines spell the text of the sign.

    Nothing reads outlines. Where artwork holds its letters so, that they spell the text and are
    neither mirrored nor turned is not checked, whatever else was measured of them. Where their
    shapes do not fit the text (a B without its two holes), that is told.

    Why it matters: two letters that are swapped, or a line that is mirrored, has all its sizes
    right, and is read by fingers alone.
    A job that breaks it: outlines whose third letter has no hole, under the text STORAGE.
    One that meets it: the same, once somebody has read them and states that they say the text.
    """
    if item.raised is None or item.raised.drawn is None:
        return
    path = path_of(item, "raised.drawn")
    spelled = " ".join(" / ".join(item.text).split())
    words = f"spell {spelled!r}" if spelled else "spell the text of the sign"
    what = f"that the drawn letters {words} and are neither mirrored nor turned"
    advice = LOOK.format(path=path)
    if item.raised.drawn == OUTLINES:
        unread = missing(path, what, advice=f"outlines are not read. {advice}")
        yield evolve(unread, told=f"outlines are not read. {advice}")
        return
    draft = one_of(what, found=item.raised.drawn, allowed=(AS_TEXT,), advice=f"{advice}.")
    told = f"the shapes of the raised letters do not fit the text {spelled!r}"
    yield evolve(draft, told=told)
