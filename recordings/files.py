"""Writing a file whole or not at all."""

from __future__ import annotations

import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from os import PathLike
from pathlib import Path
from typing import BinaryIO

from recordings.errors import WriteError


@contextmanager
def replacing(path: str | PathLike[str]) -> Iterator[BinaryIO]:
    """A file to write, which takes the place of `path` in one step at the end, or not at all.

    Readers see the old file or the whole new one. WriteError, in one line, where that can't be done.
    """
    target = Path(path)
    spare = ""
    try:
        handle, spare = tempfile.mkstemp(prefix=f".{target.name}.", dir=target.parent)
        with os.fdopen(handle, "wb") as file:
            yield file
        os.chmod(spare, 0o666 & ~_umask())
        os.replace(spare, target)
        spare = ""
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise WriteError(
            f"can't be written: {reason}", where=target, mend="choose another place or make room"
        ) from error
    finally:
        if spare:
            Path(spare).unlink(missing_ok=True)


def write_whole(path: str | PathLike[str], content: bytes) -> None:
    """Put `content` at `path` in one step. WriteError otherwise."""
    with replacing(path) as file:
        file.write(content)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
