"""The site sheet beside a recording of our own: what still holds of the sheet that the recording was made with."""

from __future__ import annotations

import tomllib
from pathlib import Path

import tomlkit

from desktop.sheet.editing import SheetDraft
from desktop.site import Site
from desktop.words import Phrase
from recordings.errors import SheetError, UsageError
from recordings.files import write_whole


class SheetBeside:
    """Puts a sheet beside each file of a recording, so that it is reviewed as it was watched.

    sheet  the sheet's file; None where there is none, and nothing is written
    """

    def __init__(self, sheet: Path | None) -> None:
        self._sheet = sheet
        self._text = "" if sheet is None else recorded_text(_text_of(sheet))
        self._done: set[Path] = set()

    def check(self, recording: Path) -> None:
        """UsageError where the sheet would be the recording's own, and would have its columns read wrongly.

        recording  the file that is to be recorded to; a folder is no such file
        """
        sheet = self._sheet
        if sheet is None or not recording.suffix or not _same(recording.with_suffix(".toml"), sheet):
            return
        site = Site.load(sheet)
        if site.columns or site.site.stamp != "instant":
            raise UsageError(
                f"{sheet.name} would become the recording's own sheet, and what it says of another table's "
                "columns or stamps doesn't hold for that",
                where=recording,
                mend="choose another file name",
            )

    def put(self, recording: Path) -> Phrase:
        """Put the sheet beside a file; once for each. What is to be said about that, an empty phrase for nothing.

        Another sheet that is there already stays as it is. WriteError where there is no room.
        """
        sheet, target = self._sheet, recording.with_suffix(".toml")
        if sheet is None or recording in self._done:
            return Phrase("")
        self._done.add(recording)
        if _same(target, sheet):
            return Phrase("")
        if not target.exists():
            heading = tomlkit.comment(
                f"The site sheet of {recording.name}, as {sheet.name} was then."
            ).as_string()
            write_whole(target, f"{heading}\n\n{self._text}".encode())
            return Phrase("")
        if _holds(target, self._text):
            return Phrase("")
        return Phrase(
            "{target} is another site sheet than {sheet}, and stays as it is: {recording} will be reviewed by it.",
            target=str(target),
            sheet=str(sheet),
            recording=recording.name,
        )


def recorded_text(text: str) -> str:
    """What holds of a sheet for a recording of our own.

    Left out is how other tables are to be read, since our columns are channels already, with the right sign and
    UTC instants; and the devices, which a recording doesn't need and whose maps lie elsewhere.
    """
    plain = text.replace("\r\n", "\n")
    draft = SheetDraft(plain)
    try:
        draft.set_devices([])
        draft.set_rules({})
        draft.set("site", "stamp", None)
        draft.set("site", "dates", None)
        return draft.text.lstrip("\n")
    except SheetError:
        # Written in a way that can't be changed in place: its comments are lost, nothing else.
        return _without(tomllib.loads(plain))


def _without(table: dict[str, object]) -> str:
    rest = {name: value for name, value in table.items() if name not in ("device", "columns")}
    site = rest.get("site")
    if isinstance(site, dict):
        rest["site"] = {key: value for key, value in site.items() if key not in ("stamp", "dates")}
    return tomlkit.dumps(rest)


def _text_of(sheet: Path) -> str:
    # A wrong sheet is refused with its file's name.
    Site.load(sheet)
    return sheet.read_text(encoding="utf-8-sig")


def _same(one: Path, other: Path) -> bool:
    try:
        return one.samefile(other)
    except OSError:
        return False


def _holds(sheet: Path, text: str) -> bool:
    """Whether a sheet says just what a text says, however it is written."""
    try:
        return Site.load(sheet) == Site.parse(text)
    except SheetError:
        return False
