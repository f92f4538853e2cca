"""Marks that differ from those of the text are told with their place, and are no ornaments."""

from __future__ import annotations

import pytest
from font_outlines import HEIGHT, UPRIGHT, outlines

from signrules.artwork.beside_letters import beside_letters
from signrules.artwork.letters import measured_letters


@pytest.mark.parametrize("font", UPRIGHT)
def test_another_mark_of_more_shapes_is_told_and_is_no_ornament(font):
    shapes, text = outlines(font, "SEÜOR"), ("SEÑOR",)
    found = measured_letters(shapes, (), text)
    [words] = [words for words in found.lacking if "mark on it" in words]
    assert "for 'Ñ' of 'SEÑOR' has another mark on it" in words
    assert found.drawn == "unlike-text"
    assert found.height.nominal == pytest.approx(HEIGHT, rel=0.005)
    assert beside_letters(shapes, (), text).clearance is None


def test_a_mark_of_as_many_shapes_is_taken_on_trust():
    found = measured_letters(outlines(UPRIGHT[0], "CAFÈ"), (), ("CAFÉ",))
    assert (found.drawn, found.lacking) == ("outlines", ())


def test_another_mark_of_one_letter_says_nothing_of_the_others():
    found = measured_letters(outlines(UPRIGHT[0], "CAFÉÜ"), (), ("CAFÉÑ",))
    assert not any("'É'" in words for words in found.lacking)
    assert any("'Ñ' of 'CAFÉÑ' has another mark" in words for words in found.lacking)
