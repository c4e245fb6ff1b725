"""A serial port that prints values, as a live source."""

from __future__ import annotations

import errno
import threading
from collections.abc import Iterator
from typing import TYPE_CHECKING

from drivers.backoff import Backoff
from drivers.serial_lines.decoding import Decoder
from drivers.serial_lines.framing import LineCutter
from drivers.serial_lines.rows import Rows
from drivers.serial_lines.sheet import LineMap
from drivers.source import Frame, Phase, State
from drivers.timing import RisingClock, Timing
from recordings.errors import SourceError

if TYPE_CHECKING:
    from serial import Serial

_LOOK_S = 0.1
_STALE_INTERVALS = 3.0

_HELP = {
    errno.ENOENT: "there is no such port; is the device plugged in?",
    errno.EACCES: "this user may not open the port; serial ports belong to a group, often dialout",
    errno.EBUSY: "another program has the port open",
    errno.EWOULDBLOCK: "another program has the port open",
}


class SerialSource:
    """Lines of text from a serial port. Frames of one row; `drivers.source.Source` says how it behaves.

    port        "/dev/ttyUSB0", "COM3"
    line_map    what the lines mean
    interval_s  rows at most so often, each channel's freshest reading in them; None for every row that comes

    What can't be read, or comes no more, gives rows of NaN once three intervals have passed without a reading.
    `decoder` counts good and bad lines. It only listens: nothing is ever sent.
    """

    def __init__(
        self,
        port: str,
        line_map: LineMap,
        *,
        baud: int = 115200,
        interval_s: float | None = None,
        name: str = "",
        timing: Timing | None = None,
    ) -> None:
        self._port, self._baud, self._map = port, baud, line_map
        self._name = name or port
        self._timing = timing or Timing()
        self._clock = RisingClock(self._timing)
        self._backoff = Backoff(self._timing.chance)
        self._stopped = threading.Event()
        self._interval_s = max(line_map.line.interval_s, interval_s or 0.0)
        self._rows = Rows(line_map.channels, line_map.line.interval_s, interval_s or 0.0)
        self._state = State("connecting", self._timing.utc())
        self._began = 0.0
        self._heard_at: float | None = None
        self._missing_at: float | None = None
        self.decoder = Decoder(line_map)

    @property
    def name(self) -> str:
        """What to call it."""
        return self._name

    @property
    def state(self) -> State:
        """What it is doing now; "waiting" without `retry_at` while the port is open but nothing can be read."""
        return self._state

    @property
    def channels(self) -> tuple[str, ...]:
        """The channels of its map."""
        return self._map.channels

    def frames(self) -> Iterator[Frame]:
        """Rows until it is stopped. SourceError where the port can't be had at this speed at all."""
        try:
            while not self._stopped.is_set():
                self._tell("connecting")
                try:
                    with self._open() as port:
                        yield from self._listen(port)
                except OSError as error:
                    yield from self._wait(_HELP.get(error.errno or 0) or _clause(error))
        finally:
            self._tell("ended", self._state.reason if self._state.phase == "ended" else "stopped")

    def stop(self) -> None:
        """Make `frames` end within a fraction of a second."""
        self._stopped.set()

    def _open(self) -> Serial:
        import serial

        try:
            return serial.Serial(self._port, self._baud, timeout=_LOOK_S, exclusive=True)
        except ValueError as error:
            reason = f"can't be opened: {error}"
            self._tell("ended", reason)
            raise SourceError(reason, where=self._name, mend="mend the address") from error

    def _listen(self, port: Serial) -> Iterator[Frame]:
        cutter = LineCutter()
        self.decoder.begin()
        self._began = self._timing.monotonic()
        self._heard_at = None
        while not self._stopped.is_set():
            data = port.read(port.in_waiting or 1)
            torn = cutter.torn
            for line in cutter.cut(data):
                readings = self.decoder.decode(line)
                if readings:
                    self._heard()
                    yield from self._rows.take(self._clock.stamp(), readings)
            self.decoder.bad += cutter.torn - torn
            yield from self._rows.tick(self._clock.stamp())
            yield from self._stale()

    def _heard(self) -> None:
        self._heard_at = self._missing_at = self._timing.monotonic()
        self._backoff.reset()
        if self._state.phase != "reading":
            self._tell("reading")

    def _stale(self) -> Iterator[Frame]:
        """What is to be said of a port that is open and gives no readings."""
        now = self._timing.monotonic()
        silent_s = now - (self._began if self._heard_at is None else self._heard_at)
        if silent_s < _STALE_INTERVALS * self._interval_s:
            return
        if self._state.phase != "waiting":
            bad = self.decoder.bad
            told = f"; {bad} lines could not be understood" if bad else ""
            self._tell("waiting", f"nothing that can be read comes{told}")
        yield from self._missing(now)

    def _missing(self, now: float) -> Iterator[Frame]:
        # Before the first reading there is nothing that could be missing.
        if self._missing_at is not None and now - self._missing_at >= self._interval_s:
            self._missing_at = now
            yield self._rows.missing(self._clock.stamp())

    def _wait(self, reason: str) -> Iterator[Frame]:
        """Until the next try; rows of NaN meanwhile."""
        delay = self._backoff.next()
        until = self._timing.monotonic() + delay
        self._tell("waiting", reason, self._timing.utc() + round(delay * 1e9))
        while (left := until - self._timing.monotonic()) > 0:
            if self._timing.wait(self._stopped, min(left, self._interval_s)):
                return
            yield from self._missing(self._timing.monotonic())

    def _tell(self, phase: Phase, reason: str = "", retry_at: int | None = None) -> None:
        self._state = State(phase, self._timing.utc(), reason, retry_at)


def _clause(error: OSError) -> str:
    """What the system says, without pyserial's own frame around it."""
    text = error.strerror or str(error)
    return "the device is gone" if "returned no data" in text or error.errno == errno.EIO else text
