"""Reading a pack that anybody may have made: everything is checked before anything is unpacked."""

from __future__ import annotations

import tempfile
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path, PurePosixPath
from types import TracebackType
from typing import BinaryIO, cast

from desktop.pack.bounds import CHUNK, MOST_TEXT_BYTES
from desktop.pack.checks import checked_end, checked_entries
from desktop.pack.manifest import Manifest, Packed, parsed
from desktop.pack.names import LIST
from recordings.errors import ReadError

_BROKEN = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError)
_SUFFIXES = (".csv", ".txt", ".tsv", ".log", ".parquet")


class Pack:
    """An open pack, used as a context manager. ReadError where it isn't one, or could do harm.

    path  the zip file
    """

    def __init__(self, path: str | Path) -> None:
        self.path = Path(path)
        with _read_errors(self.path):
            checked_end(self.path)
            self._archive = zipfile.ZipFile(self.path)
        try:
            with _read_errors(self.path):
                self._entries = checked_entries(self._archive, self.path)
                self._list = self._contents()
        except BaseException:
            self._archive.close()
            raise

    def __enter__(self) -> Pack:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._archive.close()

    @property
    def recordings(self) -> tuple[Packed, ...]:
        """The recordings in it, one or more."""
        return tuple(self._list.recording)

    def sheet(self) -> str:
        """The text of the site sheet; empty where there is none."""
        return self.text(self._list.sheet) if self._list.sheet else ""

    def notes(self) -> dict[str, str]:
        """The text of each recording's notes by the recording's name, where there are any."""
        return {
            PurePosixPath(one.file).name: self.text(one.notes)
            for one in self._list.recording
            if one.notes is not None
        }

    def text(self, name: str) -> str:
        """A file that was written by hand. ReadError where it is too long, or no text."""
        where = f"{self.path}: {name}"
        if self._entries[name].file_size > MOST_TEXT_BYTES:
            raise ReadError("is too long", where=where, expected=f"{MOST_TEXT_BYTES >> 20} MB at most")
        with _read_errors(where), self._archive.open(self._entries[name]) as file:
            content = file.read(MOST_TEXT_BYTES)
        try:
            return content.decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise ReadError("is not UTF-8 text", where=where) from error

    def length(self, name: str) -> int:
        """How many bytes a file of the pack has, unpacked."""
        return self._entries[name].file_size

    @contextmanager
    def opened(self, name: str) -> Iterator[BinaryIO]:
        """A file of the pack, to be read bit by bit. ReadError where it is damaged."""
        with _read_errors(f"{self.path}: {name}"), self._archive.open(self._entries[name]) as file:
            yield cast(BinaryIO, file)

    @contextmanager
    def unpacked(self, name: str) -> Iterator[Path]:
        """A file of the pack in a folder that only this user can look into, and which is gone afterwards.

        It has a name of our own choice, and the kind of recording by its suffix.
        """
        suffix = PurePosixPath(name).suffix.lower()
        with _read_errors(self.path):
            private = tempfile.TemporaryDirectory(prefix="headrace-")
        with private as folder:
            file = Path(folder) / ("recording" + (suffix if suffix in _SUFFIXES else ".csv"))
            with self.opened(name) as packed, file.open("xb") as copy:
                left = self._entries[name].file_size
                while chunk := packed.read(min(CHUNK, left)):
                    copy.write(chunk)
                    left -= len(chunk)
            yield file

    def _contents(self) -> Manifest:
        if LIST not in self._entries:
            raise ReadError(
                "is no pack",
                where=self.path,
                expected=f"a zip file with {LIST}, made by `headrace pack`",
                mend="unpack it, and open the recording in it",
            )
        found = parsed(self.text(LIST), f"{self.path}: {LIST}")
        named = found.paths()
        missing = [name for name in named if name not in self._entries]
        if missing:
            raise ReadError("a file is missing", where=self.path, expected=missing[0])
        if len(set(named)) < len(named) or set(self._entries) - set(named):
            odd = sorted(set(self._entries) - set(named)) or named
            raise ReadError("its files aren't those of its list of contents", where=self.path, found=odd[0])
        return found


@contextmanager
def _read_errors(where: str | Path) -> Iterator[None]:
    try:
        yield
    except _BROKEN as error:
        raise ReadError("is no zip file, or a damaged one", where=where, mend="fetch it once more") from error
    except OSError as error:
        raise ReadError(
            f"can't be read: {error.strerror or error}", where=where, mend="choose a recording"
        ) from error
