"""The transfer switch: takes a source that has been good for a while, lets go of one that isn't."""

from __future__ import annotations

_LOWEST_HZ, _HIGHEST_HZ = 0.84, 1.12
_LOWEST_V, _HIGHEST_V = 0.75, 1.20
_LOST_S = 1.0


class Transfer:
    """`closed` while the house hangs on the source.

    accept_s  how long a source must have been good before it is taken
    """

    __slots__ = ("_accept_s", "_bad_s", "_good_s", "closed", "held_open")

    def __init__(self, accept_s: float) -> None:
        self._accept_s = accept_s
        self._good_s = self._bad_s = 0.0
        self.closed = False
        self.held_open = False

    def watch(self, hz: float, volts: float, dt: float) -> None:
        """Look at the source for `dt` seconds; both values per unit of nominal, 0 where there is none."""
        good = _LOWEST_HZ < hz < _HIGHEST_HZ and _LOWEST_V < volts < _HIGHEST_V and not self.held_open
        if not self.closed:
            self._good_s = self._good_s + dt if good else 0.0
            if good and self._good_s >= self._accept_s:
                self.closed, self._bad_s = True, 0.0
            return
        self._bad_s = 0.0 if good else self._bad_s + dt
        gone = hz < 0.5 or volts < 0.3 or self.held_open
        if gone or self._bad_s >= _LOST_S:
            self.closed, self._good_s = False, 0.0
