"""The language of the window: one that the user chose, or the system's; Qt's own dialogs follow."""

from __future__ import annotations

from PySide6.QtCore import QLibraryInfo, QLocale, QTranslator
from PySide6.QtWidgets import QApplication

from desktop import languages

LANGUAGES: tuple[str, ...] = ("system", *languages.NAMES)

_OURS = "headraceTranslator"


def resolved(wanted: str) -> str:
    """A key of `languages.NAMES` for a choice of LANGUAGES; `system` is the first that the system asks for."""
    if wanted != "system":
        return wanted
    system = QLocale.system()
    return languages.nearest(next(iter(system.uiLanguages()), system.name()))


def apply(wanted: str) -> str:
    """Speak a language of LANGUAGES from now on. The language that is spoken then.

    What is shown already stays as it is.
    """
    name = resolved(wanted)
    languages.use(name)
    app = QApplication.instance()
    for before in app.findChildren(QTranslator, _OURS):
        app.removeTranslator(before)
        before.setParent(None)
    translator = QTranslator(app)
    translator.setObjectName(_OURS)
    # Qt itself speaks English, and has no file for it: nothing is loaded then.
    translator.load(f"qtbase_{name}", QLibraryInfo.path(QLibraryInfo.LibraryPath.TranslationsPath))
    app.installTranslator(translator)
    return name
