"""The port that lines go out on: a pseudo-terminal of our own, or a serial port that is there."""

from __future__ import annotations

import contextlib
import os
from typing import Protocol

from recordings.errors import SourceError

_BAUD = 115200


class Port(Protocol):
    """Where lines are sent."""

    name: str

    def send(self, line: bytes) -> None:
        """Send a whole line; it is dropped where nobody has read for long."""
        ...

    def close(self) -> None:
        """Close it."""
        ...


class PseudoTerminal:
    """A serial port without a wire. `name` is the device that a reader opens.

    It holds what nobody reads, as a port without listener doesn't: beyond that lines are dropped, whole.
    """

    def __init__(self) -> None:
        try:
            import tty

            self._own, self._other = os.openpty()
            tty.setraw(self._other)
        except (ImportError, OSError) as error:
            raise SourceError(
                "no pseudo-terminal can be had here", where="pty", mend="name a serial port instead"
            ) from error
        os.set_blocking(self._own, False)
        self.name = os.ttyname(self._other)
        self._rest = b""

    def send(self, line: bytes) -> None:
        """Send a whole line, unless the last one hasn't gone out yet."""
        if not self._rest:
            self._rest = line
        with contextlib.suppress(BlockingIOError):
            self._rest = self._rest[os.write(self._own, self._rest) :]

    def close(self) -> None:
        """Close both ends."""
        os.close(self._own)
        os.close(self._other)


class SerialPort:
    """A serial port of this computer."""

    def __init__(self, path: str) -> None:
        import serial

        self.name = path
        try:
            self._port = serial.Serial(path, _BAUD, write_timeout=0.5, exclusive=True)
        except (OSError, ValueError) as error:
            raise SourceError(
                f"can't be opened: {getattr(error, 'strerror', None) or error}", where=path
            ) from error

    def send(self, line: bytes) -> None:
        """Send a line. SourceError where the port has gone."""
        try:
            self._port.write(line)
        except OSError as error:
            raise SourceError(f"can't be written to: {error}", where=self.name) from error

    def close(self) -> None:
        """Close it."""
        self._port.close()


def open_port(path: str) -> Port:
    """`pty` makes a pseudo-terminal; anything else is a port's path. SourceError where it can't be had."""
    return PseudoTerminal() if path == "pty" else SerialPort(path)
