"""Every text that can be shown is there in every language, with the same values in it."""

import io
import string
from pathlib import Path

import pytest
from babel.messages.extract import extract_from_dir
from babel.messages.mofile import read_mo, write_mo
from babel.messages.pofile import read_po

from desktop import languages, words
from desktop.words import Phrase, tr, word_in

HOUSE = Path(__file__).resolve().parents[2]
METHODS = [
    ("desktop/**.py", "python"),
    ("desktop/report/*.jinja", "jinja2.ext:babel_extract"),
    ("recordings/demo/index.toml", "desktop.languages.demo_texts:extract"),
    ("recordings/demo/*.notes.toml", "desktop.languages.demo_texts:extract_lesson"),
]
KEYWORDS = {"Phrase": None, "template": None, "tr": None, "word_in": ((1, "c"), 2)}
OTHERS = sorted(set(languages.NAMES) - {"en"})


@pytest.fixture(scope="module")
def templates():
    """Context (None for none) and text of all that stands in the code."""
    found = extract_from_dir(
        HOUSE, METHODS, keywords=KEYWORDS, directory_filter=lambda path: not Path(path).name.startswith(".")
    )
    return {(context, text) for _, _, text, _, context in found if text}


def catalogue(language):
    with (languages.FOLDER / language / "headrace.po").open("rb") as file:
        return read_po(file, locale=language)


def texts(catalogue):
    return {(message.context, message.id): message.string for message in catalogue if message.id}


def fields(template):
    return sorted((name, spec) for _, name, spec, _ in string.Formatter().parse(template) if name is not None)


@pytest.fixture(autouse=True)
def english_again():
    yield
    languages.use("en")


def test_the_texts_are_found(templates):
    assert len(templates) > 400
    assert (None, "A spring morning: sun and generator") in templates
    assert ("carries or charges", "Solar") in templates


@pytest.mark.parametrize("language", OTHERS)
def test_every_text_is_translated(language, templates):
    assert templates - set(texts(catalogue(language))) == set()
    assert [message.id for message in catalogue(language) if message.id and message.fuzzy] == []
    assert [text for text, said in texts(catalogue(language)).items() if not said] == []


@pytest.mark.parametrize("language", OTHERS)
def test_no_translation_is_left_of_a_text_that_is_gone(language, templates):
    assert set(texts(catalogue(language))) - templates == set()


@pytest.mark.parametrize("language", OTHERS)
def test_translations_carry_the_same_values(language):
    said = texts(catalogue(language))
    assert [text for (_, text), other in said.items() if fields(text) != fields(other)] == []


@pytest.mark.parametrize("language", OTHERS)
def test_what_is_read_was_made_from_what_is_edited(language):
    made = io.BytesIO()
    write_mo(made, catalogue(language))
    made.seek(0)
    with (languages.FOLDER / language / "headrace.mo").open("rb") as file:
        assert texts(read_mo(file)) == texts(read_mo(made))


@pytest.mark.parametrize("language", OTHERS)
def test_what_is_joined_to_a_sentence_keeps_its_blanks(language):
    starts = [(text[:1] == " ", said[:1] in " ,;") for (_, text), said in texts(catalogue(language)).items()]
    assert [pair for pair in starts if pair[0] and not pair[1]] == []


def test_german_words_and_digits():
    languages.use("de")
    assert words.power(6234.0) == "6,23 kW"
    assert words.power(float("nan")) == "nicht bekannt"
    assert str(Phrase("")) == ""
    assert str(Phrase("{share:.1f}", share=0.5)) == "0,5"


def test_a_word_is_translated_as_its_context_asks_for():
    solar = word_in("carries or charges", "Solar")
    assert tr(solar) == "Solar"
    languages.use("de")
    assert tr(solar) == "Die Solaranlage"
    assert tr("Solar") == "Solar"
    assert (
        str(Phrase("{source} gives {power:W}.", source=solar, power=810.0))
        == "Die Solaranlage liefert 0,81 kW."
    )


@pytest.mark.parametrize(
    ("locale", "language"),
    [("de_AT.UTF-8", "de"), ("de", "de"), ("en_GB", "en"), ("fr_FR", "en"), ("C", "en")],
)
def test_the_nearest_language_is_spoken(locale, language):
    assert languages.nearest(locale) == language
