"""Run sheets in other languages: catalogues that are whole, numbers as the language writes them."""

from __future__ import annotations

import string
import sys
from types import SimpleNamespace

import pytest
from sheet.page_texts import page_catalogue, shipped_catalogue
from sheet.pages import EXAMPLES, example, of_class, seen, tree

import signrules
from signrules.cli import main
from signrules.sheet.language import ENGLISH, SHIPPED, language_of

CLINIC = str(EXAMPLES / "clinic.toml")


def forms(message):
    """A text, or the singular and the plural of one that counts."""
    return message if isinstance(message, (tuple, list)) else (message,)


def fields(text):
    return {name for _, name, _, _ in string.Formatter().parse(text) if name}


@pytest.mark.parametrize("tag", SHIPPED)
def test_a_shipped_catalogue_has_every_text_of_the_page_and_no_other(tag):
    wanted = {message.id for message in page_catalogue() if message.id}
    shipped = {message.id: message for message in shipped_catalogue(tag) if message.id}
    assert len(wanted) > 200
    assert set(shipped) == wanted
    for message in shipped.values():
        assert all(text.strip() for text in forms(message.string)), message.id
        assert not message.fuzzy


@pytest.mark.parametrize("tag", SHIPPED)
def test_a_translation_fills_in_what_the_text_fills_in(tag):
    for message in shipped_catalogue(tag):
        if message.id:
            expected = {name for text in forms(message.id) for name in fields(text)}
            for text in forms(message.string):
                assert fields(text) == expected, message.id


def test_a_page_in_german():
    result = example("clinic")[0]
    german = language_of("de")
    page = signrules.run_sheet(result, language=german)
    root = tree(page)
    assert root.get("lang") == "de"
    words = seen(root.find("body/main"))
    assert "Abstand einstellen Distanz 1,3\u00a0mm über der Oberseite von panel" in words
    assert "Lehre 2,05\u00a0mm (1,70 bis 2,05)" in words
    assert "Signalwörter" in words
    # What rules say stays in English and is marked so.
    assert "Every check" not in words
    assert "Letzte Lagen bis 0,15\u00a0mm versetzt (0,06 erlaubt)." in words
    for kind in ("verdict", "violations"):
        for each in of_class(root, kind):
            marked = [each, *each.iter()]
            assert any(part.get("lang") == "en" for part in marked), kind


def test_numbers_in_german_have_a_comma_and_no_mark_between_thousands():
    german = language_of("de")
    assert german.mm(1234.5) == "1234,5\u00a0mm"
    assert german.span(-0.25, 1.5) == "\N{MINUS SIGN}0,25 bis 1,5\u00a0mm"
    assert german.rounded(2.5, 2) == "2,50"
    assert german.say_count("{count} layer", "{count} layers", 1) == "1 Lage"
    assert german.say_count("{count} layer", "{count} layers", 24) == "24 Lagen"
    assert ENGLISH.say_count("{count} layer", "{count} layers", 24) == "24 layers"
    assert german.listed(["a", "b", "c"]) == "a, b und c"


def test_the_command_writes_it(tmp_path, capsys):
    target = tmp_path / "blatt.html"
    assert main(["sheet", CLINIC, "-o", str(target), "--language", "de"]) == 0
    assert "Laufzettel" in target.read_text("utf-8")
    assert main(["sheet", CLINIC, "-o", str(target), "--language", "dee"]) == 2
    told = capsys.readouterr().err
    assert "language 'dee': found no catalogue of it, expected 'de' perhaps" in told


FRENCH = """
msgid ""
msgstr ""
"Content-Type: text/plain; charset=utf-8\\n"
"Plural-Forms: nplurals=2; plural=(n > 1);\\n"

msgid "Set the gap"
msgstr "Régler l'écart"

msgid "{count} layer"
msgid_plural "{count} layers"
msgstr[0] "{count} couche"
msgstr[1] "{count} couches"
"""


def french_plugin(text=FRENCH):
    def signrules_languages():
        return {"fr": text}

    return SimpleNamespace(
        __name__="parler", signrules_languages=signrules.hookimpl(signrules_languages)
    )


def test_a_plugin_brings_a_language():
    plugins = signrules.load_plugins(objects=[french_plugin()])
    assert plugins.languages == {"fr": (FRENCH,)}
    (loaded,) = [one for one in plugins.loaded if one.name == "parler"]
    assert loaded.adds == ("language fr",)
    french = language_of("fr", plugins.languages)
    page = signrules.run_sheet(example("clinic")[0], language=french)
    assert "Régler l&#39;écart" in page
    # Texts that it does not have stay in English; numbers have the comma of French.
    assert "24 couches" in page
    assert "Unload" in page
    assert "1,3\u00a0mm" in page


def test_plugins_that_bring_no_catalogue_are_told():
    for answer in (["fr"], {"fr": 3}, {"": "x"}):

        def signrules_languages(answer=answer):
            return answer

        bad = SimpleNamespace(
            __name__="bad", signrules_languages=signrules.hookimpl(signrules_languages)
        )
        (failed,) = signrules.load_plugins(objects=[bad]).failed
        assert "signrules_languages gave back" in failed.error
    with pytest.raises(signrules.SignrulesError, match="expected a PO file"):
        language_of("fr", {"fr": ("this is no catalogue",)})
    with pytest.raises(signrules.SignrulesError, match="expected a known tag"):
        language_of("qqq", {"qqq": (FRENCH,)})
    with pytest.raises(TypeError, match="expected a tuple of texts"):
        language_of("fr", {"fr": FRENCH})


def catalogue_of(**texts):
    head = 'msgid ""\nmsgstr "Content-Type: text/plain; charset=utf-8\\n"\n'
    return head + "".join(f'\nmsgid "{text}"\nmsgstr "{said}"\n' for text, said in texts.items())


def speaking(name, **catalogues):
    return SimpleNamespace(
        __name__=name, signrules_languages=signrules.hookimpl(lambda: catalogues)
    )


def noted(plugins):
    return {one.name: one.unusual for one in plugins.loaded if one.unusual}


def test_a_plugin_adds_to_a_language_that_is_shipped_and_changes_nothing_of_it():
    shipped = language_of("de")
    text = catalogue_of(Wipe="Abwischen", Unload="Herunter damit")
    plugins = signrules.load_plugins(objects=[speaking("wiping", de=text)])
    german = language_of("de", plugins.languages)
    assert german.say("Wipe") == "Abwischen"
    # What the library says in German it says as before, the text that the plugin has too.
    for english in ("Set the gap", "Unload", "Moving carriage"):
        assert shipped.say(english) != english
        assert german.say(english) == shipped.say(english)
    assert german.say_count("{count} layer", "{count} layers", 3) == shipped.say_count(
        "{count} layer", "{count} layers", 3
    )
    told = "language de: 'Unload' is translated by signrules already, and stays so"
    assert noted(plugins) == {"wiping": (told,)}


def test_the_same_translation_is_in_nobodys_way():
    text = catalogue_of(Unload=language_of("de").say("Unload"))
    assert noted(signrules.load_plugins(objects=[speaking("wiping", de=text)])) == {}


def test_several_plugins_translate_their_own_texts_into_one_language():
    first = speaking("first", fr=catalogue_of(Wipe="Essuyer", Rinse=""))
    second = speaking("second", fr=catalogue_of(Wipe="Nettoyer", Rinse="Rincer"))
    for objects in ([first, second], [second, first]):
        plugins = signrules.load_plugins(objects=objects)
        french = language_of("fr", plugins.languages)
        assert (french.say("Wipe"), french.say("Rinse")) == ("Essuyer", "Rincer")
        told = "language fr: 'Wipe' is translated by first already, and stays so"
        assert noted(plugins) == {"second": (told,)}


def test_a_catalogue_of_english_is_refused_when_loaded():
    plugins = signrules.load_plugins(objects=[speaking("plain", en=catalogue_of(Unload="Off"))])
    (failed,) = plugins.failed
    assert "a catalogue of 'en', in which pages are written" in failed.error
    assert "another tag, such as 'en-GB'" in failed.error


def test_a_catalogue_beside_another_that_cannot_be_read_is_told_when_loaded():
    plugins = signrules.load_plugins(objects=[speaking("torn", de="this is no catalogue")])
    ((name, (told,)),) = noted(plugins).items()
    assert name == "torn"
    assert "language 'de': found" in told
    assert "expected a PO file" in told


def test_the_plugins_command_counts_languages(tmp_path, capsys):
    file = tmp_path / "wiping.py"
    file.write_text(
        "from signrules import hookimpl\n\n\n@hookimpl\ndef signrules_languages():\n"
        f"    return {{'de': {catalogue_of(Unload='Herunter damit')!r}}}\n"
    )
    assert main(["plugins", "--plugin", str(file)]) == 0
    told = capsys.readouterr().out
    assert "  adds: 1 language\n" in told
    assert "  LOOK AT language de: 'Unload' is translated by signrules already" in told


def test_without_babel_it_says_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "babel", None)
    monkeypatch.setitem(sys.modules, "babel.messages.mofile", None)
    with pytest.raises(signrules.SignrulesError, match=r"pip install 'signrules\[sheet\]'"):
        language_of("de")
    # English needs none.
    assert language_of("en") is ENGLISH
