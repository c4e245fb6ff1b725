"""The list of contents of a pack."""

from __future__ import annotations

import tomllib
from typing import Annotated

import tomlkit
from pydantic import Field

from desktop.pack.names import LIST
from recordings.errors import ReadError, SheetError
from recordings.sheets import Section, Sheet

FORMAT = 1


class Packed(Section):
    """A recording in a pack, and its notes; paths in the zip."""

    file: str
    notes: str | None = None


class Manifest(Sheet):
    """What a pack holds.

    sheet   the site sheet that holds for all recordings, None where there is none
    report  a page about them, None where there is none
    """

    KIND = "list of contents"

    format: int
    sheet: str | None = None
    report: str | None = None
    recording: Annotated[list[Packed], Field(min_length=1)]

    def paths(self) -> list[str]:
        """Every path that is named, the list's own first; a path named twice comes twice."""
        parts = [path for one in self.recording for path in (one.file, one.notes)]
        return [LIST, *(path for path in (*parts, self.sheet, self.report) if path is not None)]

    def as_toml(self) -> str:
        """The list as it stands in the pack."""
        return tomlkit.dumps(self.model_dump(exclude_none=True))


def parsed(text: str, where: str) -> Manifest:
    """A list of contents. ReadError where it is none, or one that a later version made."""
    try:
        made = tomllib.loads(text).get("format")
        if isinstance(made, int) and made > FORMAT:
            raise ReadError(
                "was packed by a later version",
                where=where,
                expected=f"format {FORMAT} at most",
                found=made,
                mend="install the latest version",
            )
        return Manifest.parse(text, where)
    except (SheetError, ValueError, RecursionError) as error:
        if isinstance(error, SheetError):
            raise
        raise ReadError("the list of contents is no valid TOML", where=where) from error
