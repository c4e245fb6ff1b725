"""Which streams a plant has, and the balances between them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from desktop.flow.conversion import assumed_for
from desktop.flow.streams import BALANCE, CHANNEL_OF, INDEX, STREAMS
from desktop.flow.unrecorded import BATTERY_SIDE, unrecorded
from desktop.site import Site
from recordings.channels import CHANNELS
from recordings.recording import Recording

Floats = NDArray[np.float64]

LAW = len(STREAMS)
"""The number of one stream more: what the converter loses beyond its slope times the power that feeds it. The
conversion law says that it is the idle loss, give or take; so the law enters as if it were a meter."""

_HINTS = ("battery", "converter", "charge", "solar_power", "dc_load")


@dataclass(frozen=True, slots=True)
class Network:
    """A plant's streams; all others are exactly zero."""

    present: tuple[str, ...]

    @classmethod
    def of(cls, recording: Recording, site: Site) -> Network:
        """What the recording's channels and the sheet say of the plant.

        House load always exists; battery and converter unless the AC side is whole without them; generator and
        solar by channel or sheet, or where nothing else could feed what is metered; grid and DC loads by their
        channel only. A channel without a single reading says nothing.
        """
        channels = seen(recording)
        streams = {"load"}
        if any(name.startswith(_HINTS) for name in channels) or any(
            site.given(section) for section in ("battery", "charger", "inverter")
        ):
            streams.update(BATTERY_SIDE)
        if site.given("solar"):
            streams.add("solar_ac" if site.solar.coupling == "ac" else "solar")
        if "solar" in streams:
            streams.update(BATTERY_SIDE)
        if site.given("generator") or any(name.startswith("generator") for name in channels):
            streams.add("generator")
        streams.update(name for name, channel in CHANNEL_OF.items() if channel in channels)
        streams |= unrecorded(recording, frozenset(streams), assumed_for(recording, site).idle_w)
        return cls(tuple(name for name in STREAMS if name in streams))

    def has(self, stream: str) -> bool:
        """True where the plant has the stream."""
        return stream in self.present

    def balances(self, slope: float, *, charging: bool) -> Floats:
        """(4, 11) the buses of BUSES and the conversion law, over STREAMS and LAW; balances @ streams = 0.

        Streams that the plant doesn't have keep their weights here.

        slope     share of the power feeding the converter that is lost on top of the idle loss
        charging  True while the AC side feeds the converter
        """
        whole = np.zeros((len(BALANCE) + 1, LAW + 1))
        whole[:-1, :LAW] = BALANCE
        whole[-1, INDEX["loss"]], whole[-1, LAW] = 1.0, -1.0
        if charging:
            whole[-1, INDEX["converter_ac"]] = -slope
        else:
            whole[-1, INDEX["converter_dc"]] = slope
        return whole


def seen(recording: Recording) -> frozenset[str]:
    """The channels with at least one reading."""
    return frozenset(name for name in CHANNELS if name in recording and _any_reading(recording.column(name)))


def _any_reading(column: NDArray[np.float32], at_once: int = 65_536) -> bool:
    return any(
        bool(np.isfinite(column[start : start + at_once]).any()) for start in range(0, len(column), at_once)
    )
