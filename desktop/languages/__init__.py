r"""The languages that the program speaks. English is the language of the templates themselves.

Each other language is a folder with a gettext catalogue: `headrace.po` is the text that translators edit,
`headrace.mo` what is read. After texts were changed, gather them (with Babel, at the top of the repository):

    pybabel extract -F desktop/languages/babel.cfg -k Phrase -k template -k tr -k word_in:1c,2 --no-location \
        --omit-header -o headrace.pot . && pybabel update -i headrace.pot -l de --no-fuzzy-matching \
        --ignore-obsolete --width 110 -o desktop/languages/de/headrace.po && rm headrace.pot

translate what is empty in the `.po`, and compile it:

    pybabel compile -i desktop/languages/de/headrace.po -o desktop/languages/de/headrace.mo

Babel takes "30 % of" for a value of its own: write "{share:%} of". A new language is begun with `pybabel init`
in place of `update`, and named in NAMES.
"""

from __future__ import annotations

import gettext
from pathlib import Path

from desktop import words

FOLDER = Path(__file__).parent

NAMES: dict[str, str] = {"en": "English", "de": "Deutsch"}
"""Language code → the language's own name for itself."""

_DECIMAL_SIGN = {"en": ".", "de": ","}


def use(language: str) -> None:
    """Show every text in this language (a key of NAMES) from now on."""
    if language == "en":
        words.speak(str, _DECIMAL_SIGN["en"])
        return
    with (FOLDER / language / "headrace.mo").open("rb") as file:
        catalogue = gettext.GNUTranslations(file)

    def translate(template: str) -> str:
        # The empty key holds the catalogue's own header.
        return catalogue.gettext(template) if template else ""

    words.speak(translate, _DECIMAL_SIGN[language])


def nearest(locale_name: str) -> str:
    """The language to speak in a locale such as "de_AT.UTF-8"; English where none fits."""
    code = locale_name.replace("-", "_").split("_")[0].lower()
    return code if code in NAMES else "en"
