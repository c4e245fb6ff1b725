"""The languages that the program speaks. English is the language of the templates themselves.

Each other language is a folder with a gettext catalogue: `headrace.po` is the text that translators edit,
`headrace.mo` what is read. How both are made stands in DEVELOPERS.md.
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
