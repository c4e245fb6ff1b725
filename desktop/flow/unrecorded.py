"""Streams that no channel tells of, but without which a recording's readings can't be."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from desktop.flow.streams import CHANNEL_OF
from recordings.recording import Recording

Floats = NDArray[np.float64]

BATTERY_SIDE = frozenset({"battery", "converter_ac", "converter_dc", "loss"})

_AC_SOURCES = ("generator", "grid", "solar_ac")
_SOURCES = frozenset((*_AC_SOURCES, "solar"))
_DC_SINKS = ("battery", "dc_load")
_ENOUGH = 65_536
_NEAR, _NEAR_W = 0.1, 60.0


def unrecorded(recording: Recording, streams: frozenset[str], idle_w: float) -> frozenset[str]:
    """What must be added to the streams that channels and sheet name.

    A battery side, unless the AC sources alone carry the house load; sources, where none is named and the
    battery doesn't carry it either; one source more, where nobody meters the load and even without it, and with
    an idle converter, more is used than comes from anywhere. They are then unknown, and so is what depends on
    them.

    idle_w  what the converter is taken to lose when idle
    """
    readings = _Readings(recording)
    added: set[str] = set()
    if "battery" not in streams and not readings.agree(_AC_SOURCES, ("load",)):
        added |= BATTERY_SIDE
    if not streams & _SOURCES and not readings.battery_carries_all():
        added |= {"generator", "solar"}
    if not readings.has("load") and readings.has("battery") and readings.lack(_DC_SINKS, idle_w):
        added.add("generator" if "solar" in streams else "solar")
    return frozenset(added)


class _Readings:
    """Metered powers of a recording, of enough rows spread over it."""

    def __init__(self, recording: Recording) -> None:
        stride = 1 + len(recording) // _ENOUGH
        self._powers: dict[str, Floats] = {}
        for stream, channel in CHANNEL_OF.items():
            if channel in recording:
                power = recording.column(channel)[::stride].astype(np.float64)
                if np.isfinite(power).any():
                    self._powers[stream] = np.where(np.isfinite(power), power, np.nan)
        pair = ("battery_voltage", "battery_current")
        if "battery" not in self._powers and all(name in recording for name in pair):
            volts, amperes = (recording.column(name)[::stride].astype(np.float64) for name in pair)
            if np.isfinite(volts * amperes).any():
                self._powers["battery"] = volts * amperes

    def has(self, stream: str) -> bool:
        return stream in self._powers

    def agree(self, sources: tuple[str, ...], sinks: tuple[str, ...]) -> bool:
        """True where what is metered of both sides is the same in most rows."""
        ahead, back = self._sum(sources), self._sum(sinks)
        if ahead is None or back is None:
            return False
        apart = np.abs(ahead - back)
        apart = apart[np.isfinite(apart)]
        return bool(apart.size) and float(np.median(apart)) <= _NEAR_W + _NEAR * float(
            np.nanmedian(np.abs(back))
        )

    def battery_carries_all(self) -> bool:
        """True where what the battery gives is enough for every metered load, over the whole recording."""
        if not (self.has("battery") and self.has("load")):
            return False
        return not self.lack(("load", *_DC_SINKS))

    def lack(self, sinks: tuple[str, ...], lost_w: float = 0.0) -> bool:
        """True where more went to the sinks, and was lost, than came from all sources together."""
        return self._mean(sinks) + lost_w > self._mean(tuple(_SOURCES))

    def _sum(self, streams: tuple[str, ...]) -> Floats | None:
        found = [self._powers[name] for name in streams if name in self._powers]
        return np.sum(found, axis=0) if found else None

    def _mean(self, streams: tuple[str, ...]) -> float:
        return float(sum(np.nanmean(self._powers[name]) for name in streams if name in self._powers))
