"""How wide letters are at the least, as shares of the capital O of their typeface.

The shares are lower than those of the upright sans-serif typefaces in common use (common practice,
no published source). In typefaces with a round O, wider than `ROUND_O` of its height, the other
letters are narrower beside it.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Mapping
from types import MappingProxyType

ROUND_O = 0.85
"""An O that is wider than this share of its height belongs to a round typeface."""

BESIDE_ROUND_O = 0.7
"""By how much the shares of other letters are multiplied in a round typeface."""

_GROUPS = {
    1.0: "OQ",
    0.9: "MW",
    0.8: "CG",
    0.7: "ADHNUV",
    0.6: "BKPRSTXYZ",
    0.55: "EFL",
    0.5: "023456789",
    0.35: "J",
}

SHARES: Mapping[str, float] = MappingProxyType(
    {letter: share for share, letters in _GROUPS.items() for letter in letters}
)
"""The least share of the width of the capital O, by capital or digit; I and 1 may be one stroke."""


def least_width(letter: str, *, o_width: float, height: float, stroke: float) -> float:
    """The least width in mm of a letter with or without an accent; one stroke where none is known.

    `o_width` and `height` are those of the capitals O and I, in mm.
    """
    # An accent stands above its letter and makes it no wider.
    plain = unicodedata.normalize("NFD", letter)[:1]
    share = SHARES.get(plain, 0.0)
    if share < 1.0 and o_width > ROUND_O * height:
        share *= BESIDE_ROUND_O
    return max(stroke, share * o_width)
