"""Everything that can go wrong for the person in front of the program, as one small tree.

    HeadraceError
    ├── RecordingError        the store was handed rows that it can't keep in order
    │   ├── ReadError         a file can't be opened or understood
    │   │   └── UnclearError  a table can be read as soon as a person says what is what in it
    │   │       ├── UnclearColumnsError   which column is which channel, or in which unit
    │   │       └── UnclearDatesError     whether day or month comes first
    │   └── WriteError        a file can't be written
    ├── SheetError            a site sheet, register map or scenario is wrong
    ├── SourceError           a device or line can't be reached or understood
    └── UsageError            a command was given something that it can't use

Each is one line: what is wrong, where, what was expected, what was found, what to do.
"""

from __future__ import annotations

from os import PathLike


class HeadraceError(Exception):
    """A fault that is told in one line.

    what      what is wrong, a short clause without full stop
    where     file, line, column, key, device or address, as the user names it
    expected  what would have been right
    found     what stood there instead (quoted and shortened by this class)
    mend      what to do about it, an imperative clause
    """

    def __init__(
        self,
        what: str,
        *,
        where: str | PathLike[str] = "",
        expected: str = "",
        found: object = "",
        mend: str = "",
    ) -> None:
        self.what = what
        self.where = str(where)
        self.expected = expected
        self.found = shortened(found)
        self.mend = mend
        super().__init__(str(self))

    def __str__(self) -> str:
        line = f"{self.where}: {self.what}" if self.where else self.what
        if self.expected:
            line += f"; expected {self.expected}"
        if self.found:
            line += f", found {self.found}" if self.expected else f"; found {self.found}"
        if self.mend:
            line += f". {self.mend[0].upper()}{self.mend[1:]}"
        return printable(line.rstrip(".") + ".")

    def __reduce__(self) -> tuple[object, ...]:
        return _restored, (type(self), self.what, self.where, self.expected, self.found, self.mend)


class RecordingError(HeadraceError):
    """Rows that a recording can't take: times that don't rise, columns of unequal length, unknown channels."""


class ReadError(RecordingError):
    """A recording that can't be opened or understood."""


class UnclearError(ReadError):
    """A table that can be read as soon as a person says what is what in it."""


class UnclearColumnsError(UnclearError):
    """Which column is which channel, or in which unit, is open or wrongly told."""


class UnclearDatesError(UnclearError):
    """Dates whose day and month may be either way round."""


class WriteError(RecordingError):
    """A file that can't be written."""


class SheetError(HeadraceError):
    """A site sheet, register map or scenario that doesn't say what it must."""


class SourceError(HeadraceError):
    """A device or a line that can't be reached or understood."""


class UsageError(HeadraceError):
    """A command that was given something it can't use."""


def _restored(
    kind: type[HeadraceError], what: str, where: str, expected: str, found: str, mend: str
) -> HeadraceError:
    error = kind(what, where=where, expected=expected, mend=mend)
    error.found = found
    return error


def shortened(found: object, most: int = 60) -> str:
    """What stood in the file, as text of at most `most` characters in double quotes; numbers stay bare."""
    if found is None or (isinstance(found, str) and not found):
        return ""
    if isinstance(found, (int, float)):
        return str(found)
    text = printable(str(found))
    if len(text) > most:
        text = text[: most - 1] + "…"
    return f'"{text}"'


def printable(text: str) -> str:
    """The text on one line, with control characters and lone surrogates shown as �."""
    folded = " ".join(text.split())
    return "".join(c if c.isprintable() else "�" for c in folded)
